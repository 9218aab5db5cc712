//! From a tapered capsule to a tapered capsule: closed form.

use super::{Nearest, Run, between_balls};
use crate::geometry::{TaperedCapsule, Vec3, unit_or};

/// Two axes are parallel below this squared sine: so nearly parallel, an end of one of them is as near as any place.
const PARALLEL: f64 = 1e-10;

pub(super) fn distance(a: &TaperedCapsule, b: &TaperedCapsule) -> Nearest {
    let (a, b) = (Run::of(a), Run::of(b));
    let (s, t) = nearest_places(&a, &b);
    // Where the axes cross there is no line of centres: go out across both.
    let across = a.along.cross(&b.along);
    let across = unit_or(across, if a.along.z.abs() < 0.9 { Vec3::z() } else { Vec3::x() });
    between_balls(a.centre(s), a.radius(s), b.centre(t), b.radius(t), across)
}

/// Places on both runs whose balls come nearest to one another.
pub(super) fn nearest_places(a: &Run, b: &Run) -> (f64, f64) {
    let free = free_places(a, b);
    if let Some((s, t)) = free
        && (0.0..=a.length).contains(&s)
        && (0.0..=b.length).contains(&t)
    {
        return (s, t);
    }
    // The gap is a convex function of both places: its least over the rectangle of places lies on an edge that faces
    // the free minimum, or on any edge where there is none.
    let (s, t) = free.unwrap_or((f64::NAN, f64::NAN));
    let mut best = (f64::INFINITY, 0.0, 0.0);
    let outside = |place: f64, low: f64, high: f64| (place < low || place.is_nan(), place > high || place.is_nan());
    let mut try_places = |s: f64, t: f64| {
        let gap = (a.centre(s) - b.centre(t)).norm() - a.radius(s) - b.radius(t);
        if gap < best.0 {
            best = (gap, s, t);
        }
    };
    // Written so that an edge is skipped only where the free minimum is known to lie on its other side.
    if outside(s, 0.0, a.length).0 {
        try_places(0.0, b.nearest_to(a.start));
    }
    if outside(s, 0.0, a.length).1 {
        try_places(a.length, b.nearest_to(a.centre(a.length)));
    }
    if outside(t, 0.0, b.length).0 {
        try_places(a.nearest_to(b.start), 0.0);
    }
    if outside(t, 0.0, b.length).1 {
        try_places(a.nearest_to(b.centre(b.length)), b.length);
    }
    (best.1, best.2)
}

/// Places of the least gap on the two axes without their ends; `None` where it has none.
///
/// With u, v the axes, α, β the slopes and w the unit vector from ball to ball, the gap is stationary where
/// w·u = α and w·v = −β. These fix w up to the sign of its part along u × v, which the lines' own offset decides;
/// its length along u × v then gives the distance of the centres, and that the places.
fn free_places(a: &Run, b: &Run) -> Option<(f64, f64)> {
    let (u, v, alpha, beta) = (a.along, b.along, a.slope, b.slope);
    let cos = u.dot(&v);
    // Of the cross product itself: 1 − cos² has lost its digits where the axes are nearly parallel.
    let across = u.cross(&v);
    let sin_squared = across.norm_squared();
    if sin_squared < PARALLEL {
        return None;
    }
    let in_plane_u = (alpha + cos * beta) / sin_squared;
    let in_plane_v = (-beta - cos * alpha) / sin_squared;
    let out_of_plane_squared = 1.0 - (in_plane_u * alpha - in_plane_v * beta);
    if out_of_plane_squared <= 1e-12 {
        return None;
    }
    let offset = a.start - b.start;
    let apart = offset.dot(&across).abs() / (sin_squared * out_of_plane_squared).sqrt();
    let along_u = apart * alpha - offset.dot(&u);
    let along_v = -apart * beta - offset.dot(&v);
    Some(((along_u - cos * along_v) / sin_squared, (cos * along_u - along_v) / sin_squared))
}
