//! The shapes that bodies and rigs are made of for distances.

use super::{Pose, Vec3};

/// The hull of two balls: a limb segment, a bolster crest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TaperedCapsule {
    /// Centre of the first ball, W.
    pub a: Vec3,
    /// Centre of the second ball, W.
    pub b: Vec3,
    /// Radius at `a`, m.
    pub radius_a: f64,
    /// Radius at `b`, m.
    pub radius_b: f64,
}

/// A box with rounded edges: rails, units, plates, slabs of a seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundedBox {
    /// Pose of the box, its origin in the middle.
    pub pose: Pose,
    /// Half extents over the outside, m; each at least `round`.
    pub half: Vec3,
    /// Radius of edges and corners, m.
    pub round: f64,
}

/// A piece of a rim's centre line in the plane of the wheel: coordinates (left, up) from the wheel centre, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RimPiece {
    /// Part of a circle.
    Arc {
        /// Its centre.
        centre: [f64; 2],
        /// Its radius.
        radius: f64,
        /// Where it begins: angle from "up" towards "left" (anticlockwise as the driver sees it), rad.
        start: f64,
        /// How far it goes anticlockwise, rad, in (0, 2π].
        sweep: f64,
    },
    /// A straight piece.
    Line {
        /// One end.
        from: [f64; 2],
        /// Other end.
        to: [f64; 2],
    },
}

/// The centre line of a rim, anticlockwise as the driver sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct RimPath {
    /// The pieces in order; consecutive ones meet.
    pub pieces: Vec<RimPiece>,
}

/// A rim: a tube along a path in the wheel plane.
#[derive(Clone, Debug, PartialEq)]
pub struct RimSolid {
    /// Pose of the rim frame R in W, wheel angle included.
    pub pose: Pose,
    /// Centre line.
    pub path: RimPath,
    /// Radius of the tube, m.
    pub tube: f64,
}

/// Any of them.
#[derive(Clone, Debug, PartialEq)]
pub enum Solid {
    /// Hull of two balls.
    Capsule(TaperedCapsule),
    /// Rounded box.
    Box(RoundedBox),
    /// Rim.
    Rim(RimSolid),
}
