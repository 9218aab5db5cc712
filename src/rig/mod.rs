//! Parts and settings of a project, placed in the world: frames, solids for distances, surfaces for the eye.

#![allow(non_snake_case, reason = "frame notation: X_WS is the pose of S in W, p_WQ the point Q seen from W")]

mod pedals;
mod seat;
mod shapes;
mod wheel;

pub use pedals::{Face, PedalPart, Pedals};
pub use seat::SeatPart;
pub use shapes::{Surface, SurfaceKind};
pub use wheel::WheelPart;

use crate::{
    geometry::{RoundedBox, Side, Vec3},
    posture::Moment,
    project::Checked,
};

/// A fixed part of the frame.
#[derive(Clone, Debug)]
pub struct RailPart {
    /// Its name in the project.
    pub name: String,
    /// Its outer box; z along the rail.
    pub solid: RoundedBox,
    /// Section across and upright, m.
    pub section: [f64; 2],
}

/// A control, placed.
#[derive(Clone, Debug)]
pub struct ControlPoint {
    /// Its name.
    pub name: String,
    /// Where it is gripped, W.
    pub at: Vec3,
    /// By which hand.
    pub hand: Side,
}

/// Everything but the person, in SI units and world coordinates.
#[derive(Clone, Debug)]
pub struct Rig {
    /// Seat.
    pub seat: SeatPart,
    /// Wheel and wheel unit.
    pub wheel: WheelPart,
    /// Pedals.
    pub pedals: Pedals,
    /// Rails.
    pub rails: Vec<RailPart>,
    /// Controls.
    pub controls: Vec<ControlPoint>,
}

/// What a solid of the rig belongs to.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum RigPart {
    /// Cushion, back, bolsters or wings.
    Seat(&'static str),
    /// The rim.
    Rim,
    /// Spokes and hub.
    Hub,
    /// The box behind the wheel.
    WheelUnit,
    /// A pedal's face and arm.
    Pedal(crate::project::PedalKind),
    /// A rail, by its place in the project.
    Rail(usize),
}

impl Rig {
    /// Places every part of a project.
    pub fn place(project: &Checked) -> Self {
        Self {
            seat: SeatPart::place(&project.seat),
            wheel: WheelPart::place(project),
            pedals: Pedals::place(&project.pedals),
            rails: project.frame.iter().map(RailPart::place).collect(),
            controls: project
                .controls
                .iter()
                .map(|control| ControlPoint {
                    name: control.name.clone(),
                    at: crate::units::mm_point(control.at_mm),
                    hand: control.hand,
                })
                .collect(),
        }
    }

    /// Surfaces to draw at a moment; those of fixed parts do not depend on it.
    pub fn surfaces(&self, moment: &Moment) -> Vec<Surface> {
        shapes::surfaces(self, moment)
    }
}

impl RailPart {
    /// Places a rail.
    pub fn place(rail: &crate::project::Rail) -> Self {
        let _ = rail;
        todo!()
    }
}
