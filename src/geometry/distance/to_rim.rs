//! From a tapered capsule to a rim: closed form to its straight pieces, a short search along the capsule for its arcs.

use super::{Nearest, Run, between_balls, placed, to_capsule};
use crate::geometry::{RimPiece, RimSolid, TaperedCapsule, Vec3};

pub(super) fn distance(capsule: &TaperedCapsule, rim: &RimSolid) -> Nearest {
    let run = Run::seen_from(capsule, &rim.pose);
    let mut best = Best { gap: f64::INFINITY, place: 0.0, on_path: Vec3::zeros() };
    // The piece that seems nearest first: it spares most of the others a search.
    let pieces = &rim.path.pieces;
    let first = if pieces.len() < 2 {
        0
    } else {
        let bounds = pieces.iter().map(|piece| bound(&run, piece));
        bounds.enumerate().min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(index, _)| index)
    };
    for index in (first..pieces.len()).chain(0..first) {
        let piece = &pieces[index];
        if index != first && bound(&run, piece) >= best.gap {
            continue;
        }
        match *piece {
            RimPiece::Line { from, to } => {
                let line = Run::between(in_rim(from), in_rim(to), 0.0, 0.0);
                let (s, t) = to_capsule::nearest_places(&run, &line);
                best.offer(&run, s, line.centre(t));
            }
            RimPiece::Arc { centre, radius, start, sweep } => {
                to_arc(&run, &Arc { centre: in_rim(centre), radius, start, sweep }, &mut best);
            }
        }
    }
    let centre = run.centre(best.place);
    let nearest = between_balls(centre, run.radius(best.place), best.on_path, rim.tube, Vec3::x());
    Nearest { on_a: placed(&rim.pose, nearest.on_a), on_b: placed(&rim.pose, nearest.on_b), ..nearest }
}

/// A lower bound of the gap to a piece of the centre line: from the run to a ball that holds the piece.
fn bound(run: &Run, piece: &RimPiece) -> f64 {
    let (middle, round) = match piece {
        RimPiece::Line { from, to } => {
            ([(from[0] + to[0]) * 0.5, (from[1] + to[1]) * 0.5], (to[0] - from[0]).hypot(to[1] - from[1]) * 0.5)
        }
        RimPiece::Arc { centre, radius, .. } => (*centre, *radius),
    };
    run.point_distance(in_rim(middle)) - round
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
        for end in ends {
            best.offer(run, run.nearest_to(end), end);
        }
    }
    let offer = |best: &mut Best, place: f64| {
        if let Some(point) = arc.towards(run.centre(place) - arc.centre) {
            best.offer(run, place, point);
        }
    };
    offer(best, 0.0);
    if run.length == 0.0 {
        return;
    }
    offer(best, run.length);

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
            if circle.may_undercut(&low, &high, best.gap)
                && let Some(ends) = circle.bracket(low, high)
            {
                offer(best, circle.least_between(ends));
            }
            before = here;
        }
    }
}

/// Places looked at on each side of the circle's axis.
const STEPS: u32 = 8;

/// The gap from the balls of a run to a full circle's line, as a function of the place on the run.
struct Circle {
    off: Vec3,
    along: Vec3,
    radius: f64,
    ball: f64,
    slope: f64,
    /// Where the run passes the circle's axis; `None` if it runs along it.
    axis_place: Option<f64>,
}

/// The gap at a place with its first and second derivative.
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
        Self { off, along, radius: arc.radius, ball: run.radius, slope: run.slope, axis_place }
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
        Sample { place, gap: distance - self.ball - self.slope * place, rate: rate - self.slope, bend }
    }

    /// Whether the gap between two places could be less than `best`: it changes no faster than place and radius.
    fn may_undercut(&self, low: &Sample, high: &Sample, best: f64) -> bool {
        let steepest = 1.0 + self.slope.abs();
        0.5 * (low.gap + high.gap - steepest * (high.place - low.place)) < best
    }

    /// Two places between `low` and `high` at which the gap falls and rises, if there seem to be any.
    fn bracket(&self, mut low: Sample, mut high: Sample) -> Option<(f64, f64)> {
        for _ in 0..6 {
            let falls = match (low.rate < 0.0, high.rate < 0.0) {
                (true, false) => return Some((low.place, high.place)),
                (false, true) => return None,
                (falls, _) => falls,
            };
            // With the same sense at both ends, there is a minimum between if the gap at the far end belies it, and
            // there may be one if the rate turns back on its way.
            let belied = if falls { high.gap > low.gap } else { high.gap < low.gap };
            let turns = if falls { low.bend > 0.0 && high.bend < 0.0 } else { low.bend < 0.0 && high.bend > 0.0 };
            if !belied && !turns {
                return None;
            }
            let middle = self.at(0.5 * (low.place + high.place));
            let on_left = if (middle.rate < 0.0) != falls {
                falls
            } else if belied {
                (middle.gap > low.gap) == falls
            } else {
                (middle.bend < 0.0) == falls
            };
            if on_left { high = middle } else { low = middle }
        }
        None
    }

    /// The minimum between two places with slopes of opposite sign: Newton's steps, halved where they leave.
    fn least_between(&self, (mut low, mut high): (f64, f64)) -> f64 {
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
