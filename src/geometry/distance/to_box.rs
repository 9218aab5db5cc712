//! From a tapered capsule to a rounded box: closed form between the planes of the box's faces.

use super::{Nearest, Run, placed};
use crate::geometry::{RoundedBox, TaperedCapsule, Vec3};

pub(super) fn distance(capsule: &TaperedCapsule, solid: &RoundedBox) -> Nearest {
    let run = Run::seen_from(capsule, &solid.pose);
    let place = nearest_place(&run, core_of(solid));
    let centre = run.centre(place);
    let radius = run.radius(place);
    let (gap, on_box, way) = to_point(centre, solid);
    Nearest { gap: gap - radius, on_a: placed(&solid.pose, centre - way * radius), on_b: placed(&solid.pose, on_box) }
}

/// Half extents of the box without its rounding.
fn core_of(solid: &RoundedBox) -> Vec3 {
    solid.half.map(|half| (half - solid.round).max(0.0))
}

/// From a point in the box's frame to its surface: distance, negative inside; nearest surface point; way outward.
pub(super) fn to_point(point: Vec3, solid: &RoundedBox) -> (f64, Vec3, Vec3) {
    let core = core_of(solid);
    let clamped = clamp(point, core);
    let off = point - clamped;
    let distance = off.norm();
    if distance > 1e-12 {
        let way = off / distance;
        return (distance - solid.round, clamped + way * solid.round, way);
    }
    // Inside the core: out through the nearest face.
    let (axis, inside) = nearest_face(point, core);
    let mut way = Vec3::zeros();
    way[axis] = 1.0_f64.copysign(point[axis]);
    let mut on = point;
    on[axis] = way[axis] * solid.half[axis];
    (inside - solid.round, on, way)
}

fn clamp(point: Vec3, core: Vec3) -> Vec3 {
    Vec3::new(point.x.clamp(-core.x, core.x), point.y.clamp(-core.y, core.y), point.z.clamp(-core.z, core.z))
}

/// The face of the core through which a point inside gets out soonest: its axis, and how far the point is beyond it
/// (negative).
fn nearest_face(point: Vec3, core: Vec3) -> (usize, f64) {
    let mut best = (0, point.x.abs() - core.x);
    for axis in 1..3 {
        let beyond = point[axis].abs() - core[axis];
        if beyond > best.1 {
            best = (axis, beyond);
        }
    }
    best
}

/// Distance from the core, negative inside, and how fast it grows along `along`.
fn value_and_rate(point: Vec3, along: Vec3, core: Vec3) -> (f64, f64) {
    let off = point - clamp(point, core);
    let distance = off.norm();
    if distance > 1e-12 {
        (distance, off.dot(&along) / distance)
    } else {
        let (axis, beyond) = nearest_face(point, core);
        (beyond, along[axis].copysign(along[axis] * point[axis]))
    }
}

/// The place on a run whose ball comes nearest to a box.
///
/// Between two of the six planes that the core's faces lie in, the distance is the root of a quadratic. It is convex,
/// so that its slope at each plane tells on which side the minimum lies: the planes narrow the run down to a piece
/// without any, and there the minimum has a closed form.
fn nearest_place(run: &Run, core: Vec3) -> f64 {
    let rises_at = |place: f64| value_and_rate(run.centre(place), run.along, core).1 > run.slope;
    if run.length == 0.0 || rises_at(0.0) {
        return 0.0;
    }
    if !rises_at(run.length) {
        return run.length;
    }
    let (mut low, mut high) = (0.0, run.length);
    for axis in 0..3 {
        if run.along[axis].abs() < 1e-12 {
            continue;
        }
        for face in [-core[axis], core[axis]] {
            let place = (face - run.start[axis]) / run.along[axis];
            if place > low && place < high {
                if rises_at(place) {
                    high = place;
                } else {
                    low = place;
                }
            }
        }
    }
    let middle = 0.5 * (low + high);
    let point = run.centre(middle);
    let off = point - clamp(point, core);
    if off.norm_squared() < 1e-24 {
        return deepest_place(run, core, low, high);
    }
    // Only the axes on which the point is outside count: distance² = a τ² + 2 b τ + c from the middle.
    let active = run.along.zip_map(&off, |along, off| if off == 0.0 { 0.0 } else { along });
    let (a, b, c) = (active.norm_squared(), active.dot(&off), off.norm_squared());
    if a < 1e-18 {
        return if run.slope > 0.0 { high } else { low };
    }
    let relative = run.slope / a.sqrt();
    if relative.abs() >= 1.0 {
        return if relative > 0.0 { high } else { low };
    }
    let height = ((c - b * b / a).max(0.0) / a).sqrt();
    (middle - b / a + height * relative / (1.0 - relative * relative).sqrt()).clamp(low, high)
}

/// Inside the core the distance is the greatest of six linear functions: cut by tangents from both ends, which ends
/// after as many steps as there are kinks.
fn deepest_place(run: &Run, core: Vec3, low: f64, high: f64) -> f64 {
    let at = |place: f64| {
        let (value, rate) = value_and_rate(run.centre(place), run.along, core);
        (value - run.slope * place, rate - run.slope)
    };
    // From just inside: at the planes themselves the distance has a kink.
    let inset = 1e-9 * (high - low);
    let (mut low, mut high) = (low + inset, high - inset);
    let (mut value_low, mut rate_low) = at(low);
    let (mut value_high, mut rate_high) = at(high);
    for _ in 0..12 {
        if rate_low >= 0.0 {
            return low;
        }
        if rate_high <= 0.0 {
            return high;
        }
        let place = (value_high - value_low + rate_low * low - rate_high * high) / (rate_low - rate_high);
        let place = place.clamp(low, high);
        let (value, rate) = at(place);
        if value <= value_low + rate_low * (place - low) + 1e-12 || rate == 0.0 {
            return place;
        }
        if rate > 0.0 {
            (high, value_high, rate_high) = (place, value, rate);
        } else {
            (low, value_low, rate_low) = (place, value, rate);
        }
    }
    0.5 * (low + high)
}
