//! From a tapered capsule to a rim: closed form to its straight pieces, a short search along the capsule for its arcs.

use super::{Nearest, Run, between_balls, placed, to_capsule};
use crate::geometry::{RimPiece, RimSolid, TaperedCapsule, Vec3};

pub(super) fn distance(capsule: &TaperedCapsule, rim: &RimSolid) -> Nearest {
    let run = Run::seen_from(capsule, &rim.pose);
    let mut best = Best { gap: f64::INFINITY, place: 0.0, on_path: Vec3::zeros() };
    // Straight pieces first: they are cheap and spare most of the arcs a search.
    for piece in &rim.path.pieces {
        if let RimPiece::Line { from, to } = piece {
            let line = Run::between(in_rim(*from), in_rim(*to), 0.0, 0.0);
            let (s, t) = to_capsule::nearest_places(&run, &line);
            best.offer(&run, s, line.centre(t));
        }
    }
    for piece in &rim.path.pieces {
        if let RimPiece::Arc { centre, radius, start, sweep } = *piece {
            to_arc(&run, &Arc { centre: in_rim(centre), radius, start, sweep }, &mut best);
        }
    }
    let centre = run.centre(best.place);
    let nearest = between_balls(centre, run.radius(best.place), best.on_path, rim.tube, Vec3::x());
    Nearest { on_a: placed(&rim.pose, nearest.on_a), on_b: placed(&rim.pose, nearest.on_b), ..nearest }
}

/// A point of the wheel plane in the rim's frame.
const fn in_rim([left, up]: [f64; 2]) -> Vec3 {
    Vec3::new(0.0, left, up)
}

/// The nearest pair so far: gap to the centre line, place on the run, point of the centre line.
struct Best {
    gap: f64,
    place: f64,
    on_path: Vec3,
}

impl Best {
    fn offer(&mut self, run: &Run, place: f64, on_path: Vec3) {
        let gap = (run.centre(place) - on_path).norm() - run.radius(place);
        if gap < self.gap {
            *self = Self { gap, place, on_path };
        }
    }
}

struct Arc {
    centre: Vec3,
    radius: f64,
    start: f64,
    sweep: f64,
}

impl Arc {
    const FULL: f64 = std::f64::consts::TAU - 1e-9;

    fn point(&self, angle: f64) -> Vec3 {
        self.centre + Vec3::new(0.0, angle.sin(), angle.cos()) * self.radius
    }

    /// The point of the arc on the ray from its centre towards `off`, if the arc reaches there.
    fn towards(&self, off: Vec3) -> Option<Vec3> {
        let across = off.y.hypot(off.z);
        if across < 1e-12 {
            // From its axis every point of a circle is as near.
            return Some(self.point(self.start));
        }
        if self.sweep < Self::FULL {
            let past = (off.y.atan2(off.z) - self.start).rem_euclid(std::f64::consts::TAU);
            if past > self.sweep {
                return None;
            }
        }
        Some(self.centre + Vec3::new(0.0, off.y, off.z) * (self.radius / across))
    }
}

/// Looks for a nearer pair on an arc.
///
/// To a full circle the squared distance along a line is a parabola less a hyperbola centred where the line passes
/// the circle's axis: its slope is a straight line less a sigmoid, so it has at most one minimum on each side of that
/// place. Taper moves both. Minima whose nearest point the arc doesn't reach give way to the arc's ends, which have a closed form.
fn to_arc(run: &Run, arc: &Arc, best: &mut Best) {
    if arc.sweep < Arc::FULL {
        let ends = [arc.point(arc.start), arc.point(arc.start + arc.sweep)];
        // Up to half a turn an arc lies in the ball over its chord.
        if arc.sweep <= std::f64::consts::PI {
            let middle = (ends[0] + ends[1]) * 0.5;
            if run.to_point(middle) - (ends[0] - middle).norm() >= best.gap {
                return;
            }
        }
        for end in ends {
            best.offer(run, run.nearest_to(end), end);
        }
    }
    let mut offer = |place: f64| {
        if let Some(point) = arc.towards(run.centre(place) - arc.centre) {
            best.offer(run, place, point);
        }
    };
    offer(0.0);
    if run.length == 0.0 {
        return;
    }
    offer(run.length);

    let circle = Circle::of(run, arc);
    let pieces = match circle.axis_place {
        Some(middle) if middle > 0.0 && middle < run.length => [(middle, 0.0), (middle, run.length)],
        Some(middle) if middle >= run.length => [(run.length, 0.0); 2],
        _ => [(0.0, run.length); 2],
    };
    for (index, &(near, far)) in pieces.iter().enumerate() {
        if index == 1 && pieces[0] == pieces[1] {
            break;
        }
        // Closer together near the axis, where the distance bends most.
        let mut before = circle.at(near);
        for step in 1..=STEPS {
            let share = f64::from(step) / f64::from(STEPS);
            let here = circle.at(near + (far - near) * share * share);
            let (low, high) = if near < far { (before, here) } else { (here, before) };
            if let Some((low, high)) = circle.bracket(low, high) {
                offer(circle.least_between(low.place, high.place));
            }
            before = here;
        }
    }
}

/// Places looked at on each side of the circle's axis.
const STEPS: u32 = 6;

/// The gap from the balls of a run to a full circle's line, as a function of the place on the run.
struct Circle {
    off: Vec3,
    along: Vec3,
    radius: f64,
    slope: f64,
    /// Where the run passes the circle's axis; `None` if it runs along it.
    axis_place: Option<f64>,
}

/// The gap at a place, less what is the same everywhere, with its first and second derivative.
#[derive(Clone, Copy)]
struct Sample {
    place: f64,
    gap: f64,
    rate: f64,
    bend: f64,
}

impl Circle {
    fn of(run: &Run, arc: &Arc) -> Self {
        let (off, along) = (run.start - arc.centre, run.along);
        let flat = along.y * along.y + along.z * along.z;
        let axis_place = (flat > 1e-12).then(|| -(off.y * along.y + off.z * along.z) / flat);
        Self { off, along, radius: arc.radius, slope: run.slope, axis_place }
    }

    /// The gap at a place and how it changes.
    fn at(&self, place: f64) -> Sample {
        let p = self.off + self.along * place;
        let u = self.along;
        let across = (p.y * p.y + p.z * p.z).sqrt().max(1e-12);
        let across_rate = (p.y * u.y + p.z * u.z) / across;
        let across_bend = (u.y * u.y + u.z * u.z - across_rate * across_rate) / across;
        let beyond = across - self.radius;
        let distance = (p.x * p.x + beyond * beyond).sqrt().max(1e-12);
        let rate = (p.x * u.x + beyond * across_rate) / distance;
        let bend = (u.x * u.x + across_rate * across_rate + beyond * across_bend - rate * rate) / distance;
        Sample { place, gap: distance - self.slope * place, rate: rate - self.slope, bend }
    }

    /// A part of the piece from `low` to `high` at whose ends the gap falls and rises, if there seems to be one.
    fn bracket(&self, mut low: Sample, mut high: Sample) -> Option<(Sample, Sample)> {
        for _ in 0..8 {
            let middle = match (low.rate < 0.0, high.rate < 0.0) {
                (true, false) => return Some((low, high)),
                (false, true) => return None,
                // The gap falls at both ends and yet is greater at the far one, or rises at both and is less there:
                // a minimum and a maximum lie between.
                (true, true) if high.gap > low.gap => self.at(0.5 * (low.place + high.place)),
                (false, false) if high.gap < low.gap => self.at(0.5 * (low.place + high.place)),
                _ => return None,
            };
            let falls = low.rate < 0.0;
            let left = if falls {
                middle.rate >= 0.0 || middle.gap > low.gap
            } else {
                middle.rate >= 0.0 && middle.gap < low.gap
            };
            if left { high = middle } else { low = middle }
        }
        None
    }

    /// The minimum between two places with slopes of opposite sign: Newton's steps, halved where they leave.
    fn least_between(&self, mut low: f64, mut high: f64) -> f64 {
        let mut place = 0.5 * (low + high);
        for _ in 0..60 {
            let Sample { rate, bend, .. } = self.at(place);
            if rate < 0.0 {
                low = place;
            } else {
                high = place;
            }
            let newton = place - rate / bend;
            let next = if bend > 0.0 && newton > low && newton < high { newton } else { 0.5 * (low + high) };
            let moved = (next - place).abs();
            place = next;
            if moved < 1e-9 {
                break;
            }
        }
        place
    }
}
