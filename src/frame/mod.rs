//! The frame of profile rail: how it gives under pedals and wheel, what carries it, what to cut and buy.

pub mod beam;
mod factor;
mod frequency;
mod model;

pub use model::{Energy, Joint, Loads, Member, Model, Node, Response, Stiff};
