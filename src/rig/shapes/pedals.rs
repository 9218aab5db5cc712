//! Pedals: faces with their arms and hinges on a plate.

use super::{
    Surface, SurfaceKind,
    draft::{Draft, rounded_rectangle},
};
use crate::{
    geometry::{Pose, RoundedBox, Vec3, from_axes, unit_or},
    rig::{PedalPart, Pedals, RigPart},
    units::mm,
};

pub(super) fn surfaces(pedals: &Pedals) -> Vec<Surface> {
    let mut out = Vec::new();
    for pedal in &pedals.list {
        out.extend(pedal_surfaces(pedals, pedal));
    }
    let RoundedBox { pose, half, round } = pedals.base;
    out.push(Surface::new(RigPart::PedalBase, SurfaceKind::Metal, Draft::rounded_box(half, round, 2).at(&pose).mesh()));
    let mut dark = treads(pedals);
    for pedal in &pedals.list {
        dark = dark.and(hinge(pedals, pedal));
    }
    out.push(Surface::new(RigPart::PedalBase, SurfaceKind::Housing, dark.mesh()));
    out
}

/// Face, arm and the dark pads on the face.
fn pedal_surfaces(pedals: &Pedals, pedal: &PedalPart) -> [Surface; 2] {
    let (plate, arm) = pedal.solids(pedals, 0.0);
    let face = Draft::rounded_box(plate.half, plate.round, 2).at(&plate.pose);
    // A flat bar along the arm's axis, as thick as the capsule that it is measured as.
    let axis = arm.b - arm.a;
    let along = unit_or(axis, Vec3::z());
    let left = pedals.X_WP.rotation * Vec3::y();
    let across = unit_or(left.cross(&along), Vec3::x());
    let bar = Draft::rounded_box(
        Vec3::new(arm.radius_a, arm.radius_a - mm(1.0), axis.norm() / 2.0 + arm.radius_a * 0.8),
        mm(3.5),
        2,
    )
    .at(&Pose::from_parts(((arm.a + arm.b) / 2.0).into(), from_axes(across, along.cross(&across), along)));
    let metal = face.and(bar).mesh();
    let part = RigPart::Pedal(pedal.kind);
    [
        Surface::new(part, SurfaceKind::Metal, metal),
        Surface::new(part, SurfaceKind::Housing, pads(pedals, pedal).mesh()),
    ]
}

/// Round grip pads on the pressed surface, half a millimetre proud.
fn pads(pedals: &Pedals, pedal: &PedalPart) -> Draft {
    let pose = pedal.face_pose(pedals, 0.0);
    let [width, height] = pedal.size;
    let pitch = mm(15.0);
    let count = |size: f64| (((size - mm(14.0)) / pitch).floor() as i32 + 1).max(1);
    let (columns, rows) = (count(width), count(height));
    let place = |index: i32, count: i32| pitch * (f64::from(index) - f64::from(count - 1) / 2.0);
    let radius = mm(4.2);
    let pad = Draft::turned(&[[-mm(0.6), 0.0], [-mm(0.6), radius - mm(0.6)], [mm(0.5), radius]], 9);
    let mut all = Draft::default();
    for row in 0..rows {
        for column in 0..columns {
            all = all.and(pad.clone().at(&(pose * Pose::translation(0.0, place(column, columns), place(row, rows)))));
        }
    }
    all
}

/// The block that carries a pivot, and its pin across.
fn hinge(pedals: &Pedals, pedal: &PedalPart) -> Draft {
    let [forward, up] = pedal.pivot;
    let plate_top = pedals.heel_rest;
    let pin = mm(11.0);
    let pivot = pedals.X_WP * Pose::translation(forward, pedal.sideways, up);
    let half_width = mm(17.0);
    let barrel = Draft::turned(
        &[
            [-half_width - mm(3.0), 0.0],
            [-half_width - mm(3.0), pin - mm(4.0)],
            [-half_width, pin - mm(4.0)],
            [-half_width, pin - mm(1.0)],
            [-half_width + mm(1.0), pin],
            [half_width - mm(1.0), pin],
            [half_width, pin - mm(1.0)],
            [half_width, pin - mm(4.0)],
            [half_width + mm(3.0), pin - mm(4.0)],
            [half_width + mm(3.0), 0.0],
        ],
        24,
    )
    .at(&(pivot * Pose::rotation(Vec3::z() * std::f64::consts::FRAC_PI_2)));
    // Two cheeks down to the plate, or up to a beam where the pedal hangs.
    let to_plate = up - plate_top;
    let (low, high) = if up < pedal.face[1] { (-to_plate.max(mm(2.0)), pin * 0.6) } else { (-pin * 0.6, mm(45.0)) };
    let cheek = Draft::rounded_box(Vec3::new(pin + mm(2.0), mm(3.0), (high - low) / 2.0), mm(1.5), 2);
    [-1.0, 1.0].into_iter().fold(barrel, |all, side: f64| {
        all.and(
            cheek
                .clone()
                .at(&(pivot * Pose::translation(0.0, side * (half_width - mm(3.0)), f64::midpoint(low, high)))),
        )
    })
}

/// Dark strips across the heel plate, where the heels rest.
fn treads(pedals: &Pedals) -> Draft {
    let RoundedBox { pose, half, .. } = pedals.base;
    let strip = rounded_rectangle([mm(2.5), (half.y - mm(14.0)).max(mm(10.0))], mm(2.5), 3);
    let strip = Draft::extruded(&strip, half.z - mm(1.0), half.z + mm(0.5), mm(0.4));
    let first = -half.x + mm(22.0);
    let count = (((half.x * 2.0 * 0.45) / mm(14.0)).floor() as i32).clamp(1, 9);
    (0..count).fold(Draft::default(), |all, index| {
        all.and(strip.clone().at(&(pose * Pose::translation(first + mm(14.0) * f64::from(index), 0.0, 0.0))))
    })
}
