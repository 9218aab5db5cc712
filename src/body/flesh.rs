//! The flesh on the bones as tapered capsules, sized from breadths, depths and girths.

use super::{Dimensions, Skeleton};
use crate::{
    geometry::{Side, TaperedCapsule},
    posture::Posture,
    project::Footwear,
};

/// A part of the body that can touch something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BodyPart {
    /// Head with hair, no helmet.
    Head,
    /// Neck.
    Neck,
    /// Rib cage.
    Chest,
    /// Belly.
    Abdomen,
    /// Pelvis and buttocks.
    Pelvis,
    /// Upper arm down to a hand's breadth above the elbow.
    UpperArm(Side),
    /// The elbow: the end of the upper arm and the start of the forearm.
    Elbow(Side),
    /// Forearm below the elbow.
    Forearm(Side),
    /// Hand, closed round the rim.
    Hand(Side),
    /// Thigh up to a hand's breadth above the knee.
    Thigh(Side),
    /// The knee: the end of the thigh and the start of the shank.
    Knee(Side),
    /// Shank below the knee.
    Shank(Side),
    /// Foot in its shoe.
    Foot(Side),
}

/// A collision shape with its part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodySolid {
    /// What it belongs to.
    pub part: BodyPart,
    /// Its shape, W.
    pub shape: TaperedCapsule,
}

/// Radii and places of all collision shapes of one person, in the frames of the bones.
#[derive(Clone, Debug)]
pub struct Flesh {}

impl Flesh {
    /// The flesh of a sized person.
    pub fn of(_dimensions: &Dimensions, _skeleton: &Skeleton, _shoes: &Footwear) -> Self {
        Self {}
    }

    /// The shapes of trunk and head in a posture, W.
    pub fn trunk(&self, _posture: &Posture) -> Vec<BodySolid> {
        Vec::new()
    }

    /// The shapes of one arm, W, upper arm first.
    pub fn arm(&self, _arm: &crate::posture::Arm, _side: Side) -> Vec<BodySolid> {
        Vec::new()
    }

    /// The shapes of one leg, W, thigh first.
    pub fn leg(&self, _leg: &crate::posture::Leg, _side: Side) -> Vec<BodySolid> {
        Vec::new()
    }
}
