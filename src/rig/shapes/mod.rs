//! The rig's surfaces as triangle meshes, for the eye.
//!
//! They follow the solids that distances are measured to: nowhere more than 3 mm outside them but for fillets and
//! small parts such as hinges, nowhere more than 2 mm inside.

mod control;
mod draft;
pub(super) mod hardware;
mod imported;
mod pedals;
mod rail;
mod screens;
mod seat;
mod wheel;

use super::{Rig, RigPart};
use crate::{
    geometry::{Mesh, Vec3},
    project::StandsFor,
};

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

/// A triangle mesh in W with every part at rest, m.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// What it belongs to, and moves with: see [`Rig::part_pose`].
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

impl Surface {
    fn new(part: RigPart, kind: SurfaceKind, mesh: Mesh) -> Self {
        Self { part, kind, positions: mesh.positions, normals: mesh.normals, triangles: mesh.triangles }
    }
}

/// All surfaces of a rig but for small parts, with the wheel straight and the pedals released.
pub fn surfaces(rig: &Rig) -> Vec<Surface> {
    let mut out = seat::surfaces(&rig.seat);
    out.extend(wheel::surfaces(&rig.wheel));
    out.extend(pedals::surfaces(&rig.pedals));
    out.extend(rail::surfaces(&rig.rails));
    out.extend(screens::surfaces(rig.screens.as_ref()));
    out.extend(control::surfaces(&rig.controls, &rig.rails));
    // What came from a file stands in place of what the dimensions say.
    let is_replaced = |part: RigPart| match part {
        RigPart::Seat(_) => rig.is_imported(StandsFor::Seat),
        RigPart::Rim | RigPart::Hub => rig.is_imported(StandsFor::Rim),
        RigPart::WheelUnit => rig.is_imported(StandsFor::WheelUnit),
        RigPart::PedalBase => rig.is_imported(StandsFor::PedalPlate),
        _ => false,
    };
    out.retain(|surface| !is_replaced(surface.part));
    out.extend(imported::surfaces(&rig.imported));
    out
}
