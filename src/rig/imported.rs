//! Parts whose shape came from a file, placed on the part that they stand for.

use nalgebra::{Translation3, UnitQuaternion};

use super::{Pedals, SeatPart, WheelPart};
use crate::{
    geometry::{MeshSolid, Pose},
    project::{Shape, StandsFor},
    units::{deg, mm_point},
};

/// A part whose shape came from a file.
#[derive(Clone, Debug)]
pub struct ImportedPart {
    /// Its place in the project.
    pub index: usize,
    /// Its name in the project.
    pub name: String,
    /// What it stands for.
    pub stands_for: StandsFor,
    /// Its surface, with the wheel straight.
    pub solid: MeshSolid,
}

impl ImportedPart {
    /// Places a shape; `None` where its file was not read.
    pub(super) fn place(
        index: usize,
        shape: &Shape,
        seat: &SeatPart,
        wheel: &WheelPart,
        pedals: &Pedals,
    ) -> Option<Self> {
        let mesh = shape.mesh.0.clone()?;
        let frame = match shape.stands_for {
            StandsFor::Seat => seat.X_WS,
            StandsFor::Rim | StandsFor::WheelUnit => wheel.X_WR,
            StandsFor::PedalPlate => pedals.X_WP,
            StandsFor::Screen | StandsFor::Other => Pose::identity(),
        };
        let [forward, left, up] = shape.turn_deg.map(deg);
        let turn = UnitQuaternion::from_euler_angles(forward, left, up);
        let pose = frame * Pose::from_parts(Translation3::from(mm_point(shape.at_mm)), turn);
        let (name, stands_for) = (shape.name.clone(), shape.stands_for);
        Some(Self { index, name, stands_for, solid: MeshSolid { mesh, pose } })
    }

    /// Whether it turns with the wheel.
    pub fn turns(&self) -> bool {
        self.stands_for == StandsFor::Rim
    }
}
