//! From a tapered capsule to one triangle of many, in closed form; most are left out by cheaper bounds.

use super::Run;
use crate::geometry::Vec3;

/// Where a capsule and a surface come nearest.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hit {
    pub(super) gap: f64,
    /// Place of the ball along the run.
    pub(super) place: f64,
    /// Point on the surface, in its frame.
    pub(super) on: Vec3,
    pub(super) triangle: u32,
}

/// An axis and an edge are parallel below this squared sine.
const PARALLEL: f64 = 1e-10;

/// A run of balls with what bounds of its distances need.
pub(super) struct Spine<'a> {
    run: &'a Run,
    end: Vec3,
    /// The box round its axis.
    low: Vec3,
    high: Vec3,
    /// The greatest radius, and that of the end.
    round: f64,
    radius_end: f64,
    /// Cosine and tangent of half the angle of its cone.
    cos: f64,
    tan: f64,
}

impl<'a> Spine<'a> {
    pub(super) fn of(run: &'a Run) -> Self {
        let end = run.centre(run.length);
        let radius_end = run.radius(run.length);
        let cos = (1.0 - run.slope * run.slope).sqrt();
        Self {
            run,
            end,
            low: run.start.inf(&end),
            high: run.start.sup(&end),
            round: run.radius.max(radius_end),
            radius_end,
            cos,
            tan: run.slope / cos,
        }
    }

    /// Distance from a point to the surface of the run: that to its cone, or to the ball at one end.
    fn to_point(&self, point: Vec3) -> f64 {
        let off = point - self.run.start;
        let foot = off.dot(&self.run.along);
        let height = (off - self.run.along * foot).norm();
        let place = foot + height * self.tan;
        if place <= 0.0 {
            off.norm() - self.run.radius
        } else if place >= self.run.length {
            (point - self.end).norm() - self.radius_end
        } else {
            height * self.cos - self.run.radius - self.run.slope * foot
        }
    }

    /// What the distance to anything in a box can't be less than.
    pub(super) fn to_box(&self, low: [f32; 3], high: [f32; 3]) -> f64 {
        let (mut squared, mut size) = (0.0, 0.0);
        let mut centre = Vec3::zeros();
        for i in 0..3 {
            let (low, high) = (f64::from(low[i]), f64::from(high[i]));
            let off = (low - self.high[i]).max(self.low[i] - high).max(0.0);
            squared += off * off;
            size += (high - low) * (high - low);
            centre[i] = f64::midpoint(low, high);
        }
        (squared.sqrt() - self.round).max(self.to_point(centre) - size.sqrt() / 2.0)
    }

    /// The least distance to a triangle and to those of its edges that are its own to look at, if it is less than the best
    /// so far; whether it is.
    ///
    /// It is reached in the inside of the triangle only by a ball at an end of the run or by one whose centre lies in it;
    /// else on an edge.
    pub(super) fn to_triangle(&self, corners: &[Vec3; 3], own: [bool; 3], triangle: u32, best: &mut Hit) -> bool {
        let before = best.gap;
        let [a, b, c] = *corners;
        let run = self.run;
        let normal = (b - a).cross(&(c - a));
        let area = normal.norm();
        if area > 0.0 {
            let unit = normal / area;
            let (from, to) = (unit.dot(&(run.start - a)), unit.dot(&(self.end - a)));
            let same_side = from * to > 0.0;
            // Over its plane the gap runs linearly from end to end.
            if same_side && (from.abs() - run.radius).min(to.abs() - self.radius_end) >= best.gap {
                return false;
            }
            let is_over = |p: Vec3| {
                let beside = |u: Vec3, v: Vec3| normal.dot(&(v - u).cross(&(p - u))) >= 0.0;
                beside(a, b) && beside(b, c) && beside(c, a)
            };
            let mut try_place = |place: f64, off: f64| {
                let gap = off.abs() - run.radius(place);
                let centre = run.centre(place);
                if gap < best.gap && is_over(centre) {
                    *best = Hit { gap, place, on: centre - unit * off, triangle };
                }
            };
            try_place(0.0, from);
            if run.length > 0.0 {
                try_place(run.length, to);
                if !same_side && (from - to).abs() > 0.0 {
                    try_place(run.length * from / (from - to), 0.0);
                }
            }
        }
        for (from, to, own) in [(a, b, own[0]), (b, c, own[1]), (c, a, own[2])] {
            if own {
                self.to_edge(from, to - from, triangle, best);
            }
        }
        best.gap < before
    }

    /// The least distance to an edge, if it is less than the best so far.
    ///
    /// Seen along the edge the run is a run in a plane, shorter by m, and the edge a point: without their ends the two are
    /// nearest where that run is nearest to that point. The gap is a convex function of both places, so if one of them
    /// lies beyond an end, the least is found with one at the end.
    fn to_edge(&self, from: Vec3, edge: Vec3, triangle: u32, best: &mut Hit) {
        let Run { start, along, length, radius, slope } = *self.run;
        let squared = edge.norm_squared();
        let off = start - from;
        let beside = off - edge * (off.dot(&edge) / squared);
        let share_at = |place: f64| (off + along * place).dot(&edge) / squared;
        let seen = along - edge * (along.dot(&edge) / squared);
        let m_squared = seen.norm_squared();
        let steep = m_squared - slope * slope;
        // Places of the least without ends, if there is one.
        let mut free = None;
        if m_squared > PARALLEL && steep > 1e-12 {
            let foot = -beside.dot(&seen) / m_squared;
            let height = (beside + seen * foot).norm();
            let root = (m_squared * steep).sqrt();
            if height * root / m_squared - radius - slope * foot >= best.gap {
                return;
            }
            let place = foot + slope * height / root;
            free = Some((place, share_at(place)));
        }
        let mut offer = |place: f64, share: f64| {
            let on = from + edge * share;
            let gap = (start + along * place - on).norm() - radius - slope * place;
            if gap < best.gap {
                *best = Hit { gap, place, on, triangle };
            }
        };
        let (place, share) = free.unzip();
        let below = |at: Option<f64>| at.is_none_or(|at| at < 0.0);
        let above = |at: Option<f64>, end: f64| at.is_none_or(|at| at > end);
        let beyond = [below(place), above(place, length), below(share), above(share, 1.0)];
        if let (Some((place, share)), [false, false, false, false]) = (free, beyond) {
            return offer(place, share);
        }
        if beyond[0] {
            offer(0.0, share_at(0.0).clamp(0.0, 1.0));
        }
        if beyond[1] && length > 0.0 {
            offer(length, share_at(length).clamp(0.0, 1.0));
        }
        if beyond[2] {
            offer(self.run.nearest_to(from), 0.0);
        }
        if beyond[3] {
            offer(self.run.nearest_to(from + edge), 1.0);
        }
    }
}
