//! The frame of profile rail: how it gives under pedals and wheel, what carries it, what to cut and buy.

mod answer;
pub mod beam;
mod build;
mod cut;
mod duty;
mod factor;
mod frequency;
mod hardware;
mod lists;
mod loose;
mod model;
mod parts;
mod screens;
mod slip;
mod stiffen;
mod study;
pub mod tipping;
mod touch;

pub use answer::{Answers, Give, Giver, SPIKE, Worst, answers};
pub use build::{Built, Foot, Found, Tie};
pub use cut::{Bar, Cut, CutList, Stock};
pub use duty::{Carried, Duty, PEDALS, Push, SEAT, WHEEL};
pub use hardware::hardware;
pub use lists::Lists;
pub use loose::{Loose, Way, looseness};
pub use model::{Energy, Joint, Loads, Member, Model, Node, Response, Stiff};
pub use parts::{Mass, Part, parts};
pub use slip::of_bolt;
pub use stiffen::Stiffening;
pub use study::{FrameStudy, check, check_and_stiffen, giver_words};
