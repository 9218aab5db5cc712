//! The rig's surfaces as triangle meshes, for the eye.

use super::{Rig, RigPart};
use crate::{geometry::Vec3, posture::Moment};

/// What a surface is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SurfaceKind {
    /// The hard shell of the seat.
    Shell,
    /// Its foam pads.
    Foam,
    /// The grip of the rim.
    Grip,
    /// Spokes, hub, wheel unit, pedal bodies: dark metal and plastic.
    Housing,
    /// Bright machined metal: pedal faces and arms.
    Metal,
    /// Profile rail.
    Rail,
    /// A control to be reached.
    Control,
}

/// A triangle mesh in W, m.
#[derive(Clone, Debug)]
pub struct Surface {
    /// What it belongs to.
    pub part: RigPart,
    /// What it is made of.
    pub kind: SurfaceKind,
    /// Positions.
    pub positions: Vec<Vec3>,
    /// Unit normals, one a position.
    pub normals: Vec<Vec3>,
    /// Triangles, anticlockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// All surfaces of a rig at a moment.
pub fn surfaces(_rig: &Rig, _moment: &Moment) -> Vec<Surface> {
    Vec::new()
}
