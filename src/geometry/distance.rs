//! Signed distances between solids, with the two nearest points.
//!
//! A tapered capsule is the union of balls whose centres and radii run linearly from end to end, so its distance to
//! anything is the least, over that run, of the distance from the centre less the radius. To a convex solid this is a
//! convex function of one number.

use super::{RimPiece, RimSolid, RoundedBox, Solid, TaperedCapsule, Vec3, unit_or};

/// The least distance between two solids and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// The gap, m; negative where the solids overlap: by how far the deepest ball of the capsule reaches in.
    pub gap: f64,
    /// Nearest point on the first solid, W.
    pub on_a: Vec3,
    /// Nearest point on the second solid, W.
    pub on_b: Vec3,
}

/// The least distance from a tapered capsule to any solid; nearest points lie on the surfaces.
pub fn distance(capsule: &TaperedCapsule, solid: &Solid) -> Nearest {
    match solid {
        Solid::Capsule(other) => to_capsule(capsule, other),
        Solid::Box(other) => to_box(capsule, other),
        Solid::Rim(other) => to_rim(capsule, other),
    }
}

/// A lower bound of [`distance`] from the bounding balls of both, a few nanoseconds cheap.
pub fn bound(capsule: &TaperedCapsule, solid: &Solid) -> f64 {
    let middle = (capsule.a + capsule.b) * 0.5;
    let radius = (capsule.b - capsule.a).norm() * 0.5 + capsule.radius_a.max(capsule.radius_b);
    let (other_middle, other_radius) = match solid {
        Solid::Capsule(other) => {
            ((other.a + other.b) * 0.5, (other.b - other.a).norm() * 0.5 + other.radius_a.max(other.radius_b))
        }
        // To the box itself rather than its ball: long rails would bound nothing.
        Solid::Box(other) => return point_to_box(middle, other).0 - radius,
        Solid::Rim(other) => (other.pose.translation.vector, other.path.reach() + other.tube),
    };
    (middle - other_middle).norm() - radius - other_radius
}

fn at(capsule: &TaperedCapsule, t: f64) -> (Vec3, f64) {
    (capsule.a + (capsule.b - capsule.a) * t, capsule.radius_a + (capsule.radius_b - capsule.radius_a) * t)
}

/// Nearest points from a point with radius to a point with radius, along the line between them.
fn between(p: Vec3, radius_p: f64, q: Vec3, radius_q: f64) -> Nearest {
    let apart = (q - p).norm();
    let way = unit_or(q - p, Vec3::z());
    Nearest { gap: apart - radius_p - radius_q, on_a: p + way * radius_p, on_b: q - way * radius_q }
}

/// The segment parameter of the ball of `capsule` that comes nearest to a fixed ball: closed form.
///
/// With u the place along the axis of the foot of the perpendicular, h its length, L the axis and c the slope of the
/// radius, d(s) = √((s − u)² + h²) − r(s) is least where (s − u)/√((s − u)² + h²) = c.
fn nearest_parameter(capsule: &TaperedCapsule, point: Vec3) -> f64 {
    let axis = capsule.b - capsule.a;
    let length_squared = axis.norm_squared();
    if length_squared < 1e-18 {
        return if capsule.radius_a >= capsule.radius_b { 0.0 } else { 1.0 };
    }
    let length = length_squared.sqrt();
    let slope = (capsule.radius_b - capsule.radius_a) / length;
    let u = (point - capsule.a).dot(&axis) / length;
    let h = ((point - capsule.a).norm_squared() - u * u).max(0.0).sqrt();
    if slope.abs() >= 1.0 {
        // One ball holds the other.
        return if slope > 0.0 { 1.0 } else { 0.0 };
    }
    ((u + h * slope / (1.0 - slope * slope).sqrt()) / length).clamp(0.0, 1.0)
}

/// Alternating projection between two convex runs of balls: each step is the closed form for one of them.
fn to_capsule(a: &TaperedCapsule, b: &TaperedCapsule) -> Nearest {
    // Start from the nearest points of the two axes, then let the radii shift them.
    let (mut s, mut t) = axes(a, b);
    let value = |s: f64, t: f64| {
        let ((p, rp), (q, rq)) = (at(a, s), at(b, t));
        (q - p).norm() - rp - rq
    };
    let mut gap = value(s, t);
    for _ in 0..40 {
        let s_new = nearest_parameter(a, at(b, t).0);
        let t_new = nearest_parameter(b, at(a, s_new).0);
        let gap_new = value(s_new, t_new);
        let done = gap - gap_new < 1e-10;
        if gap_new < gap {
            (s, t, gap) = (s_new, t_new, gap_new);
        }
        if done {
            break;
        }
    }
    let ((p, rp), (q, rq)) = (at(a, s), at(b, t));
    between(p, rp, q, rq)
}

/// Parameters of the nearest points of two segments (Ericson, Real-Time Collision Detection, 5.1.9).
fn axes(a: &TaperedCapsule, b: &TaperedCapsule) -> (f64, f64) {
    let (d1, d2, r) = (a.b - a.a, b.b - b.a, a.a - b.a);
    let (aa, e, f) = (d1.norm_squared(), d2.norm_squared(), d2.dot(&r));
    if aa < 1e-18 {
        return (0.0, if e < 1e-18 { 0.0 } else { (f / e).clamp(0.0, 1.0) });
    }
    let c = d1.dot(&r);
    if e < 1e-18 {
        return ((-c / aa).clamp(0.0, 1.0), 0.0);
    }
    let b2 = d1.dot(&d2);
    let denominator = aa * e - b2 * b2;
    let mut s = if denominator > 1e-15 { ((b2 * f - c * e) / denominator).clamp(0.0, 1.0) } else { 0.5 };
    let mut t = (b2 * s + f) / e;
    if t < 0.0 {
        t = 0.0;
        s = (-c / aa).clamp(0.0, 1.0);
    } else if t > 1.0 {
        t = 1.0;
        s = ((b2 - c) / aa).clamp(0.0, 1.0);
    }
    (s, t)
}

/// Distance from a point to the surface of a rounded box, negative inside, and the nearest surface point.
fn point_to_box(point: Vec3, solid: &RoundedBox) -> (f64, Vec3) {
    let local = solid.pose.inverse_transform_point(&point.into()).coords;
    let (distance, on) = local_box(local, solid);
    (distance, (solid.pose * nalgebra::Point3::from(on)).coords)
}

fn local_box(local: Vec3, solid: &RoundedBox) -> (f64, Vec3) {
    let core = solid.half.map(|h| (h - solid.round).max(0.0));
    let clamped = local.zip_map(&core, |x, h| x.clamp(-h, h));
    let outside = local - clamped;
    let distance = outside.norm();
    if distance > 1e-12 {
        return (distance - solid.round, clamped + outside * (solid.round / distance));
    }
    // Inside the core: out through the nearest face.
    let depth = core.zip_map(&local, |h, x| h - x.abs());
    let axis = depth.imin();
    let mut on = local;
    on[axis] = solid.half[axis].copysign(local[axis]);
    (-depth[axis] - solid.round, on)
}

fn to_box(capsule: &TaperedCapsule, solid: &RoundedBox) -> Nearest {
    let inverse = solid.pose.inverse();
    let (a, b) =
        ((inverse * nalgebra::Point3::from(capsule.a)).coords, (inverse * nalgebra::Point3::from(capsule.b)).coords);
    let slope = capsule.radius_b - capsule.radius_a;
    let value = |t: f64| local_box(a + (b - a) * t, solid).0 - capsule.radius_a - slope * t;
    let t = least_convex(value);
    let (p, radius) = at(capsule, t);
    let (gap, on_b) = point_to_box(p, solid);
    let way = if gap > 1e-9 { (on_b - p) / (on_b - p).norm().max(1e-12) } else { -unit_or(on_b - p, Vec3::z()) };
    Nearest { gap: gap - radius, on_a: p + way * radius, on_b }
}

/// Where a convex function of [0, 1] is least, to 1e-6: golden section with parabolic steps (Brent 1973, ch. 5).
fn least_convex(f: impl Fn(f64) -> f64) -> f64 {
    const GOLDEN: f64 = 0.381_966_011_250_105;
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    let (f0, f1) = (f(0.0), f(1.0));
    let mut x = 0.5;
    let mut fx = f(x);
    if f0 <= fx && f0 <= f1 {
        // Convex and not rising towards the middle from 0 would have been lower: look just inside.
        if f(1e-3) >= f0 {
            return 0.0;
        }
        high = 0.5;
        x = 0.1;
        fx = f(x);
    } else if f1 <= fx {
        if f(1.0 - 1e-3) >= f1 {
            return 1.0;
        }
        low = 0.5;
        x = 0.9;
        fx = f(x);
    }
    let (mut w, mut v, mut fw, mut fv) = (x, x, fx, fx);
    let (mut step, mut before) = (0.0_f64, 0.0_f64);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        let tolerance = 5e-7;
        if (x - middle).abs() <= 2.0 * tolerance - 0.5 * (high - low) {
            break;
        }
        let mut parabolic = false;
        if before.abs() > tolerance {
            let r = (x - w) * (fx - fv);
            let mut q = (x - v) * (fx - fw);
            let mut p = (x - v) * q - (x - w) * r;
            q = 2.0 * (q - r);
            if q > 0.0 {
                p = -p;
            }
            q = q.abs();
            if p.abs() < (0.5 * q * before).abs() && p > q * (low - x) && p < q * (high - x) {
                before = step;
                step = p / q;
                parabolic = true;
            }
        }
        if !parabolic {
            before = if x < middle { high - x } else { low - x };
            step = GOLDEN * before;
        }
        let u = if step.abs() >= tolerance { x + step } else { x + tolerance.copysign(step) };
        let fu = f(u);
        if fu <= fx {
            if u < x {
                high = x
            } else {
                low = x
            }
            (v, fv, w, fw, x, fx) = (w, fw, x, fx, u, fu);
        } else {
            if u < x {
                low = u
            } else {
                high = u
            }
            if fu <= fw || w == x {
                (v, fv, w, fw) = (w, fw, u, fu);
            } else if fu <= fv || v == x || v == w {
                (v, fv) = (u, fu);
            }
        }
    }
    if f0 <= fx && f0 <= f1 {
        0.0
    } else if f1 < fx {
        1.0
    } else {
        x
    }
}

/// Nearest point of a rim's centre line to a point in the rim's frame.
fn nearest_on_path(rim: &RimSolid, local: Vec3) -> Vec3 {
    let flat = [local.y, local.z];
    let mut best = (f64::INFINITY, [0.0; 2]);
    for piece in &rim.path.pieces {
        let on = match piece {
            RimPiece::Arc { centre, radius, start, sweep } => {
                let (left, up) = (flat[0] - centre[0], flat[1] - centre[1]);
                let angle = left.atan2(up);
                let past = (angle - start).rem_euclid(std::f64::consts::TAU);
                let angle = if past <= *sweep {
                    angle
                } else if past - sweep < std::f64::consts::TAU - past {
                    start + sweep
                } else {
                    *start
                };
                [centre[0] + radius * angle.sin(), centre[1] + radius * angle.cos()]
            }
            RimPiece::Line { from, to } => {
                let d = [to[0] - from[0], to[1] - from[1]];
                let length = d[0] * d[0] + d[1] * d[1];
                let t = (((flat[0] - from[0]) * d[0] + (flat[1] - from[1]) * d[1]) / length.max(1e-18)).clamp(0.0, 1.0);
                [from[0] + d[0] * t, from[1] + d[1] * t]
            }
        };
        let away = (on[0] - flat[0]).powi(2) + (on[1] - flat[1]).powi(2);
        if away < best.0 {
            best = (away, on);
        }
    }
    Vec3::new(0.0, best.1[0], best.1[1])
}

/// Not convex: a few samples along the capsule, the best of them refined.
fn to_rim(capsule: &TaperedCapsule, rim: &RimSolid) -> Nearest {
    const SAMPLES: u32 = 6;
    let inverse = rim.pose.inverse();
    let (a, b) =
        ((inverse * nalgebra::Point3::from(capsule.a)).coords, (inverse * nalgebra::Point3::from(capsule.b)).coords);
    let slope = capsule.radius_b - capsule.radius_a;
    let value = |t: f64| {
        let p = a + (b - a) * t;
        (p - nearest_on_path(rim, p)).norm() - capsule.radius_a - slope * t
    };
    let mut best = (f64::INFINITY, 0.0);
    for sample in 0..=SAMPLES {
        let t = f64::from(sample) / f64::from(SAMPLES);
        let here = value(t);
        if here < best.0 {
            best = (here, t);
        }
    }
    let step = 1.0 / f64::from(SAMPLES);
    let (low, high) = ((best.1 - step).max(0.0), (best.1 + step).min(1.0));
    let t = low + (high - low) * least_convex(|s| value(low + (high - low) * s));
    let t = if value(t) <= best.0 { t } else { best.1 };
    let (p, radius) = at(capsule, t);
    let q = (rim.pose * nalgebra::Point3::from(nearest_on_path(rim, a + (b - a) * t))).coords;
    between(p, radius, q, rim.tube)
}
