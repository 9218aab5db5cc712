//! What joins rails, as it is drawn: brackets, bolt heads, caps over open ends, feet. Distances don't know it.

use crate::geometry::{Pose, Vec3};

/// A piece of hardware in W, and the rail that it belongs to by its place in the project.
#[derive(Clone, Debug, PartialEq)]
pub struct Hardware {
    /// The rail that it goes with.
    pub rail: usize,
    /// What it is.
    pub piece: Piece,
}

/// What joins or ends rails.
#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    /// A corner bracket: its corner is the origin, its legs lie along x and y, its width along z about the middle.
    Bracket {
        /// Where it is.
        pose: Pose,
        /// Length of a leg, m.
        leg: f64,
        /// Width, m.
        width: f64,
    },
    /// A hinged bracket clamped at its angle: its corner is the origin, one leg lies along x, the other is turned from x
    /// towards y, its width along z about the middle.
    Pivot {
        /// Where it is.
        pose: Pose,
        /// Lengths of its legs, m.
        legs: [f64; 2],
        /// Width, m.
        width: f64,
        /// From one leg to the other, rad.
        angle: f64,
    },
    /// The head of a bolt on a face.
    Bolt {
        /// Middle of the head's underside.
        at: Vec3,
        /// Outward.
        axis: Vec3,
        /// The thread's size, m.
        thread: f64,
    },
    /// A cap over an open end: a plate on it, z outward.
    Cap {
        /// Middle of the end, z outward, x and y along the section.
        pose: Pose,
        /// Half of the section, m.
        half: [f64; 2],
    },
    /// A foot that can be turned up and down: a plate on the floor and its screw.
    Foot {
        /// Where it stands on the floor.
        at: Vec3,
        /// How far the rail is above the floor, m.
        height: f64,
    },
}
