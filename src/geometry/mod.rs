//! Poses, named frames, solids and the distances between them.
//!
//! Frames, each right-handed; `X_AB` is the pose of B in A and `p_AQ` the point Q seen from A:
//!
//! | letter | frame | origin and axes |
//! |---|---|---|
//! | W | world | floor, centre plane, under the rear face of the frame; x forward, y left, z up (ISO 8855 directions) |
//! | S | seat | where cushion and back surfaces meet, centre plane; x forward along the cushion, z normal to it |
//! | K | seat back | the same point; x normal to the back surface towards the driver, z up along it |
//! | R | rim | wheel centre; x along the shaft away from the driver, y left, z to 12 o'clock; turns with the wheel |
//! | P | pedal set | reference point of the set; x forward along its plate, z normal to it |
//! | F | pedal face | centre of the face; x into the face (the way the foot pushes), y left, z up along it |
//! | B | pelvis | midpoint of the hip joints; x forward, z along the torso line |
//! | T | thorax | midpoint of the shoulder joints at rest; axes of the torso |

mod distance;
mod isosurface;
mod mesh;
mod screw;
mod solid;

pub use distance::{Nearest, between, bound, distance, distance_within, furthest};
pub use isosurface::{Field, Mesh, isosurface};
pub use mesh::{Light, MeshState, TriangleMesh};
pub use screw::screw;
pub use solid::{MeshSolid, RimPath, RimPiece, RimSolid, RoundedBox, Solid, TaperedCapsule};

/// A vector or a point, metres.
pub type Vec3 = nalgebra::Vector3<f64>;
/// A rotation.
pub type Rot = nalgebra::UnitQuaternion<f64>;
/// A rigid pose: rotation, then translation.
pub type Pose = nalgebra::Isometry3<f64>;

/// Left or right, seen by the driver.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub enum Side {
    /// Towards +y.
    Left,
    /// Towards −y.
    Right,
}

impl Side {
    /// Both sides, left first.
    pub const BOTH: [Self; 2] = [Self::Left, Self::Right];

    /// +1 for left, −1 for right: the sign of y.
    pub const fn sign(self) -> f64 {
        match self {
            Self::Left => 1.0,
            Self::Right => -1.0,
        }
    }

    /// 0 for left, 1 for right: the place in a `[_; 2]`.
    pub const fn index(self) -> usize {
        match self {
            Self::Left => 0,
            Self::Right => 1,
        }
    }

    /// The other side.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// "left" or "right".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// `y.atan2(x)` to 3e-8 rad in a third of the time, for searches whose last word is spoken exactly: Abramowitz and Stegun,
/// Handbook of Mathematical Functions, 4.4.49.
pub fn quick_atan2(y: f64, x: f64) -> f64 {
    const A: [f64; 9] = [
        1.0,
        -0.333_331_452_8,
        0.199_935_508_5,
        -0.142_088_994_4,
        0.106_562_639_3,
        -0.075_289_640_0,
        0.042_909_613_8,
        -0.016_165_736_7,
        0.002_866_225_7,
    ];
    let (ax, ay) = (x.abs(), y.abs());
    let (small, large) = if ax > ay { (ay, ax) } else { (ax, ay) };
    let t = small / large.max(1e-300);
    let t2 = t * t;
    // Halves of halves rather than one after the other, so that a processor can do them side by side (Estrin's scheme).
    let t4 = t2 * t2;
    let pair = |i: usize| A[i] + A[i + 1] * t2;
    let (low, high) = (pair(0) + pair(2) * t4, pair(4) + pair(6) * t4 + A[8] * (t4 * t4));
    let octant = t * (low + high * (t4 * t4));
    let quarter = if ay > ax { std::f64::consts::FRAC_PI_2 - octant } else { octant };
    let half = if x < 0.0 { std::f64::consts::PI - quarter } else { quarter };
    half.copysign(y)
}

/// The mirror image of a point or direction through the centre plane.
pub fn mirrored(v: Vec3) -> Vec3 {
    Vec3::new(v.x, -v.y, v.z)
}

/// The rotation whose columns are the given axes, which must be orthonormal and right-handed.
pub fn from_axes(x: Vec3, y: Vec3, z: Vec3) -> Rot {
    let m = nalgebra::Matrix3::from_columns(&[x, y, z]);
    Rot::from_rotation_matrix(&nalgebra::Rotation3::from_matrix_unchecked(m))
}

/// `v` scaled to length 1, or `otherwise` where it has none.
pub fn unit_or(v: Vec3, otherwise: Vec3) -> Vec3 {
    v.try_normalize(1e-12).unwrap_or(otherwise)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quick_arc_tangent_is_right_to_3e_8_all_round() {
        for step in 0..10_000_u32 {
            let angle = f64::from(step) * 6.283_185e-4 - std::f64::consts::PI;
            let (y, x) = (2.5 * angle.sin(), 2.5 * angle.cos());
            assert!((quick_atan2(y, x) - y.atan2(x)).abs() < 3e-8, "{angle}");
        }
        assert!(quick_atan2(0.0, 0.0).is_finite());
    }
}
