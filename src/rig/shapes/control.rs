//! Controls: a knob on a stem.

use super::{Surface, SurfaceKind, draft::Draft};
use crate::{
    geometry::{Pose, Vec3, from_axes},
    rig::{ControlPoint, RigPart},
    units::mm,
};

/// Profile of a knob and its stem: up from the grip's middle, radius, mm.
const KNOB: [[f64; 2]; 14] = [
    [-70.0, 0.0],
    [-70.0, 6.0],
    [-30.0, 6.0],
    [-24.0, 9.0],
    [-20.0, 14.0],
    [-14.0, 19.0],
    [-6.0, 22.5],
    [2.0, 24.0],
    [9.0, 23.0],
    [15.0, 19.5],
    [19.5, 14.0],
    [22.0, 8.0],
    [22.8, 3.0],
    [23.0, 0.0],
];

pub(super) fn surfaces(controls: &[ControlPoint]) -> Vec<Surface> {
    let profile = KNOB.map(|[up, radius]| [mm(up), mm(radius)]);
    let upright = from_axes(Vec3::z(), Vec3::x(), Vec3::y());
    controls
        .iter()
        .enumerate()
        .map(|(index, control)| {
            let pose = Pose::from_parts(control.at.into(), upright);
            let mesh = Draft::turned(&profile, 24).at(&pose).mesh();
            Surface::new(RigPart::Control(index), SurfaceKind::Control, mesh)
        })
        .collect()
}
