//! Heelpoint fits a driving-simulator cockpit to a body before anyone buys parts or cuts rail.
//!
//! The core, in reading order: a [`project`] says who drives what; a [`body`] is sized from it, a [`rig`] placed;
//! [`posture`] puts the one into the other and moves both, [`effort`] says what pressing a pedal asks of the leg,
//! [`measuring`] shows where the tape goes; [`clearance`] finds what comes close; [`findings`] says what is good and
//! what is not; [`frame`] how the rails hold and what to cut, [`reach`] where hands and feet get; [`study`] does all of it in
//! one call, [`uncertainty`] many times, [`compare`] for two projects; [`curves`] follows joints and gaps over the motion, [`principal`]
//! names the dimensions that a drawing of the fit shows.
//! [`watch`] tells how far long work is and stops it; [`home`] is what is kept between two starts. [`command`] and `viewer` are faces over it.

pub mod body;
pub mod clearance;
pub mod command;
pub mod compare;
pub mod curves;
pub mod effort;
pub mod findings;
pub mod frame;
pub mod geometry;
pub mod home;
pub mod measuring;
pub mod posture;
pub mod principal;
pub mod project;
pub mod reach;
pub mod rig;
pub mod study;
pub mod uncertainty;
pub mod units;
#[cfg(feature = "viewer")]
pub mod viewer;
pub mod watch;
mod words;

pub use project::Project;
pub use study::{Study, check};
