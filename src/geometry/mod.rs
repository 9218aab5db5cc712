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
mod solid;

pub use distance::{Nearest, bound, distance};
pub use isosurface::{Field, Mesh, isosurface};
pub use solid::{RimPath, RimPiece, RimSolid, RoundedBox, Solid, TaperedCapsule};

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

/// The included angle at `at` between the rays to `a` and to `b`, radians in [0, π]; 0 if a ray has no length.
pub fn angle_at(at: Vec3, a: Vec3, b: Vec3) -> f64 {
    let (u, v) = (a - at, b - at);
    u.cross(&v).norm().atan2(u.dot(&v))
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
