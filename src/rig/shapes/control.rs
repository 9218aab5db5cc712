//! Controls: a knob on a stem that stands on the nearest rail.

use super::{Surface, SurfaceKind, draft::Draft};
use crate::{
    geometry::{Pose, Solid, TaperedCapsule, Vec3, distance, from_axes, unit_or},
    rig::{ControlPoint, RailPart, RigPart},
    units::mm,
};

/// Profile of a knob: out from the grip's middle, radius, mm.
const KNOB: [[f64; 2]; 12] = [
    [-24.0, 9.0],
    [-20.0, 14.0],
    [-14.0, 18.5],
    [-6.0, 22.0],
    [2.0, 23.0],
    [9.0, 22.0],
    [15.0, 18.5],
    [19.0, 13.5],
    [21.5, 8.0],
    [22.5, 4.0],
    [22.8, 2.0],
    [23.0, 0.0],
];
/// Radius of a stem and its least and greatest length, mm.
const STEM: f64 = 6.0;
const LENGTHS: [f64; 2] = [70.0, 260.0];

pub(super) fn surfaces(controls: &[ControlPoint], rails: &[RailPart]) -> Vec<Surface> {
    controls
        .iter()
        .enumerate()
        .map(|(index, control)| {
            let (way, length) = foot(control.at, rails);
            let mut profile = vec![[-length, 0.0], [-length, mm(STEM)], [-mm(30.0), mm(STEM)]];
            profile.extend(KNOB.map(|[out, radius]| [mm(out), mm(radius)]));
            let across = unit_or(way.cross(&Vec3::y()), Vec3::x());
            let pose = Pose::from_parts(control.at.into(), from_axes(-way, across, -way.cross(&across)));
            let mesh = Draft::turned(&profile, 24).at(&pose).mesh();
            Surface::new(RigPart::Control(index), SurfaceKind::Control, mesh)
        })
        .collect()
}

/// Which way a stem runs from the grip and how far: to the nearest rail, or a little down where none is near.
fn foot(at: Vec3, rails: &[RailPart]) -> (Vec3, f64) {
    let grip = TaperedCapsule { a: at, b: at, radius_a: 0.0, radius_b: 0.0 };
    let [least, most] = LENGTHS.map(mm);
    rails
        .iter()
        .map(|rail| distance(&grip, &Solid::Box(rail.solid)))
        .min_by(|a, b| a.gap.total_cmp(&b.gap))
        .filter(|nearest| nearest.gap > mm(30.0) && nearest.gap < most)
        .map_or((-Vec3::z(), least), |nearest| (unit_or(nearest.on_b - at, -Vec3::z()), nearest.gap))
}
