//! What comes close: the least distance of each pair that can touch, over the whole motion, with where and when.

use crate::{
    body::{Body, BodyPart},
    geometry::{Nearest, Side},
    posture::{Moment, Motion, Posture},
    rig::{Rig, RigPart},
};

/// The other partner of a clearance.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Partner {
    /// A part of the rig.
    Rig(RigPart),
    /// A part of the body.
    Body(BodyPart),
}

/// The least distance of one pair over the motion.
#[derive(Clone, Debug)]
pub struct Clearance {
    /// Row of the table of bands: "knee_wheel".
    pub id: &'static str,
    /// Side of the body, if one.
    pub side: Option<Side>,
    /// The body's part.
    pub body: BodyPart,
    /// What it comes close to.
    pub partner: Partner,
    /// Gap and nearest points: `on_a` on the body.
    pub nearest: Nearest,
    /// When.
    pub moment: Moment,
}

/// Clearances at one moment.
pub fn at(body: &Body, rig: &Rig, posture: &Posture, moment: &Moment) -> Vec<Clearance> {
    let _ = (body, rig, posture, moment);
    Vec::new()
}

/// The least clearances over the whole motion.
pub fn over(body: &Body, rig: &Rig, rest: &Posture, motion: &Motion) -> Vec<Clearance> {
    let _ = (body, rig, rest, motion);
    Vec::new()
}
