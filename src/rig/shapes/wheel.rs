//! Wheel and wheel unit: the grip with its mark at 12 o'clock, spokes or panel, hub and housing.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use nalgebra::Translation3;

use super::{
    Surface, SurfaceKind,
    draft::{Draft, rounded_rectangle},
};
use crate::{
    geometry::{Pose, RimPiece, RoundedBox, Vec3, from_axes},
    rig::{RigPart, WheelPart},
    units::mm,
};

/// Steps round the tube and along a full circle of it.
const ROUND: usize = 16;
const ALONG: usize = 96;
/// Half the thickness of spokes and panel, m: common practice, no published source.
const PLATE: f64 = mm(2.5);
/// Radius of the plate that the spokes run into, m: common practice, no published source.
const DISC: f64 = mm(43.0);

pub(super) fn surfaces(wheel: &WheelPart) -> Vec<Surface> {
    let pose = &wheel.X_WR;
    let points = path_points(&wheel.path.pieces);
    let closed = points.len() > 2 && {
        let (first, last) = (points[0].0, points[points.len() - 1].0);
        (first[0] - last[0]).hypot(first[1] - last[1]) < 1e-6
    };
    let grip = Draft::tube(if closed { &points[1..] } else { &points }, wheel.tube, ROUND, closed);
    let mut out = vec![Surface::new(RigPart::Rim, SurfaceKind::Grip, grip.at(pose).mesh())];
    if let Some(mark) = mark(wheel, &points) {
        out.push(Surface::new(RigPart::Rim, SurfaceKind::Metal, mark.at(pose).mesh()));
    }
    let body = if is_panel(wheel) { panel(wheel) } else { spider(wheel) };
    out.push(Surface::new(RigPart::Hub, SurfaceKind::Housing, body.and(boss(wheel)).at(pose).mesh()));
    out.push(Surface::new(RigPart::Hub, SurfaceKind::Metal, bolts(wheel).at(pose).mesh()));
    out.extend(unit(wheel));
    out
}

/// Points of the centre line with the direction of travel, anticlockwise as the driver sees it: (left, up).
fn path_points(pieces: &[RimPiece]) -> Vec<([f64; 2], [f64; 2])> {
    let mut out: Vec<([f64; 2], [f64; 2])> = Vec::new();
    for piece in pieces {
        let steps = match piece {
            RimPiece::Arc { sweep, .. } => ((ALONG as f64 * sweep / TAU).ceil() as usize).max(2),
            RimPiece::Line { .. } => 1,
        };
        for step in 0..=steps {
            let share = step as f64 / steps as f64;
            let point = piece.point(share);
            let along = match piece {
                RimPiece::Arc { start, sweep, .. } => {
                    let (sin, cos) = (start + sweep * share).sin_cos();
                    [cos, -sin]
                }
                RimPiece::Line { from, to } => {
                    let d = [to[0] - from[0], to[1] - from[1]];
                    let length = d[0].hypot(d[1]).max(1e-12);
                    [d[0] / length, d[1] / length]
                }
            };
            match out.last_mut() {
                // Where two pieces meet, one ring across the bisector.
                Some(last) if (last.0[0] - point[0]).hypot(last.0[1] - point[1]) < 1e-9 => {
                    let sum = [last.1[0] + along[0], last.1[1] + along[1]];
                    let length = sum[0].hypot(sum[1]).max(1e-9);
                    last.1 = [sum[0] / length, sum[1] / length];
                }
                _ => out.push((point, along)),
            }
        }
    }
    out
}

/// A light band round the grip at 12 o'clock, so that the eye sees the wheel turn; none where the rim is open there.
fn mark(wheel: &WheelPart, points: &[([f64; 2], [f64; 2])]) -> Option<Draft> {
    const HALF: f64 = mm(6.0);
    let top = points.iter().map(|(point, _)| point[1]).fold(f64::MIN, f64::max);
    let (centre, along, _) = wheel.grip_point(0.0, 0.0);
    let local = wheel.X_WR.inverse_transform_point(&centre.into()).coords;
    if (local.z - top).abs() > mm(2.0) || local.y.abs() > mm(2.0) {
        return None;
    }
    let along = wheel.X_WR.rotation.inverse() * along;
    // A short tube bent like the rim: its middle on the rim, its ends on the same circle.
    let sagitta = HALF * HALF / (2.0 * top.abs().max(mm(50.0)));
    let bent = matches!(wheel.path.pieces.first(), Some(RimPiece::Arc { centre: [y, z], .. }) if y.hypot(*z) < 1e-9);
    let drop = if bent { sagitta } else { 0.0 };
    let ring = |share: f64| {
        let slope = -2.0 * drop * share.abs() / HALF * share.signum();
        ([local.y + HALF * share * along.y, local.z - drop * share * share], [along.y, slope])
    };
    let radius = wheel.tube + mm(0.4);
    let rings: Vec<Draft> = [(-1.0, 0.0), (0.0, 1.0)]
        .into_iter()
        .map(|(from, to)| {
            let (from, to) = (ring(from), ring(to));
            Draft::sleeve(from, to, radius, ROUND)
        })
        .collect();
    rings.into_iter().reduce(Draft::and)
}

/// Whether the rim is a rounded rectangle, whose middle is a panel rather than spokes.
fn is_panel(wheel: &WheelPart) -> bool {
    wheel.path.pieces.len() > 2
}

/// A plate in the wheel plane: its outline in (left, up), walked from left towards up; from `near` to `far` along the
/// shaft, away from the driver positive.
fn plate(outline: &[[f64; 2]], near: f64, far: f64, bevel: f64) -> Draft {
    let axes = from_axes(Vec3::y(), Vec3::z(), Vec3::x());
    Draft::extruded(outline, near, far, bevel).at(&Pose::from_parts(Translation3::identity(), axes))
}

/// Three spokes at 3, 6 and 9 o'clock that run out of one disc.
fn spider(wheel: &WheelPart) -> Draft {
    // Angles from left towards up, as the outline is walked: 9, 3 and 6 o'clock.
    let spokes = [0.0, PI, 1.5 * PI];
    let reach = |angle: f64| {
        let clock = FRAC_PI_2 * 3.0 + angle;
        let (point, ..) = wheel.grip_point(clock, 0.0);
        (point - wheel.X_WR.translation.vector).norm()
    };
    let (root, tip) = (mm(17.0), mm(12.0));
    let mut outline = Vec::new();
    for (index, &angle) in spokes.iter().enumerate() {
        let (sin, cos) = angle.sin_cos();
        let at = |out: f64, across: f64| [cos * out - sin * across, sin * out + cos * across];
        let end = reach(angle);
        let start = (DISC * DISC - root * root).sqrt() + mm(6.0);
        outline.push(at(start, -root));
        for share in [0.25, 0.5, 0.75, 1.0] {
            outline.push(at(start + (end - start) * share, -(root + (tip - root) * share)));
        }
        for share in [1.0, 0.75, 0.5, 0.25, 0.0] {
            outline.push(at(start + (end - start) * share, root + (tip - root) * share));
        }
        // Round the disc to the next spoke.
        let leave = angle + (root / DISC).asin() + 0.16;
        let mut next = spokes[(index + 1) % spokes.len()];
        if next <= angle {
            next += TAU;
        }
        let arrive = next - (root / DISC).asin() - 0.16;
        let steps = ((arrive - leave) / 0.16).ceil().max(1.0) as usize;
        for step in 0..=steps {
            let (sin, cos) = (leave + (arrive - leave) * step as f64 / steps as f64).sin_cos();
            outline.push([DISC * cos, DISC * sin]);
        }
    }
    plate(&outline, -PLATE, PLATE, mm(1.0))
}

/// A panel from top to bottom of a rounded rectangle, with arms to its sides; the hands go round it.
fn panel(wheel: &WheelPart) -> Draft {
    let (width, height) = path_half_size(wheel);
    let body = rounded_rectangle([(width - wheel.tube - mm(42.0)).max(mm(45.0)), height], mm(16.0), 4);
    let arm = (height * 0.22).max(mm(12.0));
    let arms = rounded_rectangle([width, arm], mm(4.0), 2);
    let screen = rounded_rectangle([mm(38.0), mm(20.0)], mm(4.0), 3);
    let raised = screen.iter().map(|p| [p[0], p[1] + height * 0.42]).collect::<Vec<_>>();
    plate(&body, -mm(6.0), mm(8.0), mm(2.0)).and(plate(&arms, -mm(4.0), mm(4.0), mm(1.5))).and(plate(
        &raised,
        -mm(8.0),
        -mm(4.0),
        mm(1.0),
    ))
}

fn path_half_size(wheel: &WheelPart) -> (f64, f64) {
    wheel.path.pieces.iter().fold((0.0, 0.0), |(w, h): (f64, f64), piece| {
        let ends = [piece.point(0.0), piece.point(1.0)];
        (w.max(ends[0][0]).max(ends[1][0]), h.max(ends[0][1]).max(ends[1][1]))
    })
}

/// Hub and shaft from the plate to the wheel unit.
fn boss(wheel: &WheelPart) -> Draft {
    let far = wheel.X_WR.inverse_transform_point(&wheel.hub.b.into()).x.max(mm(10.0));
    let radius = wheel.hub.radius_a;
    let groove = |x: f64| {
        [[x - mm(2.0), radius], [x - mm(2.0), radius - mm(1.6)], [x + mm(2.0), radius - mm(1.6)], [x + mm(2.0), radius]]
    };
    let mut profile = vec![[PLATE, 0.0], [PLATE, radius - mm(1.5)], [PLATE + mm(1.5), radius]];
    for share in [0.34, 0.67] {
        if far > mm(40.0) {
            profile.extend(groove(far * share));
        }
    }
    profile.extend([[far, radius], [far, 0.0]]);
    Draft::turned(&profile, 40)
}

/// Six bolt heads round the plate's middle, and a centre cap.
fn bolts(wheel: &WheelPart) -> Draft {
    let front = if is_panel(wheel) { mm(6.0) } else { PLATE };
    let head = |x: f64, radius: f64, height: f64| {
        let profile = [
            [-x - height, 0.0],
            [-x - height, radius - mm(0.8)],
            [-x - height + mm(0.8), radius],
            [-x, radius],
            [-x, 0.0],
        ];
        Draft::turned(&profile, 14)
    };
    (0..6).fold(Draft::default(), |all, index| {
        let (sin, cos) = (TAU * (f64::from(index) + 0.5) / 6.0).sin_cos();
        let place = Pose::translation(0.0, mm(30.0) * sin, mm(30.0) * cos);
        all.and(head(front, mm(4.5), mm(2.5)).at(&place))
    })
}

/// The housing: a bevelled box, the motor's flange before it.
fn unit(wheel: &WheelPart) -> Vec<Surface> {
    let RoundedBox { pose, half, round } = wheel.unit;
    let shaft = pose.inverse_transform_point(&wheel.hub.b.into());
    // Cooling bands round the rear of the housing.
    let band = Draft::rounded_box(Vec3::new(mm(2.2), half.y + mm(2.0), half.z + mm(2.0)), mm(2.0), 1);
    let count = ((half.x * 1.1 / mm(11.0)).floor() as i32).clamp(0, 10);
    let body = (0..count).fold(Draft::rounded_box(half, round, 3), |all, index| {
        all.and(band.clone().at(&Pose::translation(half.x - mm(16.0) - mm(11.0) * f64::from(index), 0.0, 0.0)))
    });
    let radius = (wheel.hub.radius_a + mm(10.0)).min(half.y - mm(2.0)).min(half.z - mm(2.0)).max(mm(10.0));
    let front = -half.x;
    let flange = Draft::turned(
        &[
            [front - mm(2.5), 0.0],
            [front - mm(2.5), radius - mm(1.5)],
            [front - mm(1.0), radius],
            [front + mm(1.0), radius],
            [front + mm(1.0), 0.0],
        ],
        48,
    )
    .at(&Pose::translation(0.0, shaft.y, shaft.z));
    vec![
        Surface::new(RigPart::WheelUnit, SurfaceKind::Housing, body.at(&pose).mesh()),
        Surface::new(RigPart::WheelUnit, SurfaceKind::Metal, flange.at(&pose).mesh()),
    ]
}
