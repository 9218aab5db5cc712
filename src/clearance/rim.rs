//! The rim as it turns: arcs about the shaft sweep longer arcs, every other piece is followed over the wheel angle.

use super::course::{Axis, Course, Span};
use crate::{
    geometry::{MeshSolid, Pose, RimPath, RimPiece, RimSolid, Solid, Vec3},
    rig::WheelPart,
    units::{deg, mm},
};

/// A rim over a range of wheel angles.
pub(super) struct Turning {
    /// What the arcs about the shaft sweep; the whole rim where the wheel does not turn.
    pub(super) swept: Vec<Solid>,
    /// Straight pieces, and other arcs as short tubes, over the wheel angle. Empty where the wheel does not turn.
    pub(super) tubes: Vec<Course>,
    /// The whole rim for distances from boxes: balls on their way along what the arcs sweep (their time is the place
    /// on it), and the tubes.
    pub(super) beads: Vec<Course>,
    /// Where the arcs about the shaft begin and how far they go, rad from up to the left.
    arcs: Vec<(f64, f64)>,
    range: [f64; 2],
}

/// A wheel whose shape came from a file, over a range of wheel angles.
pub(super) struct Spin {
    wheel: WheelPart,
    solid: MeshSolid,
    /// Wheel angles to the right and to the left, rad.
    pub(super) range: [f64; 2],
    /// How far its surface is from the shaft at most, and from the wheel's centre, m.
    arm: f64,
    reach: f64,
}

impl Spin {
    pub(super) fn of(wheel: &WheelPart, solid: &MeshSolid, range: [f64; 2]) -> Self {
        let to_rim = wheel.X_WR.inverse() * solid.pose;
        let corner = |p: &[f32; 3]| (to_rim * nalgebra::Point3::from(p.map(f64::from))).coords;
        let (mut arm, mut reach) = (0.0_f64, 0.0_f64);
        for p in solid.mesh.points().iter().map(corner) {
            arm = arm.max(p.y.hypot(p.z));
            reach = reach.max(p.norm());
        }
        Self { wheel: wheel.clone(), solid: solid.clone(), range, arm, reach }
    }

    /// The surface at a wheel angle.
    pub(super) fn at(&self, steer: f64) -> Solid {
        let pose: Pose = self.wheel.turned(steer) * self.solid.pose;
        Solid::Mesh(MeshSolid { mesh: self.solid.mesh.clone(), pose })
    }

    pub(super) fn centre(&self) -> Vec3 {
        self.wheel.X_WR.translation.vector
    }

    pub(super) const fn reach(&self) -> f64 {
        self.reach
    }

    /// The wheel angle in the middle of a stretch: shares of the range.
    pub(super) fn middle(&self, span: Span) -> f64 {
        let share = if let Span::Within(_, from, to) = span { f64::midpoint(from, to) } else { 0.0 };
        self.range[0] + (self.range[1] - self.range[0]) * share
    }

    /// The way that its surface goes at most within a stretch, m.
    pub(super) fn way(&self, span: Span) -> f64 {
        let share = if let Span::Within(_, from, to) = span { to - from } else { 0.0 };
        self.arm * (self.range[1] - self.range[0]) * share
    }
}

/// A tube in place of an arc leaves it by this much at most, m.
const SAGITTA: f64 = mm(0.02);
/// Steps of the courses: a cubic with known ends leaves a circle of 0.3 m by 4 µm over so much.
const STEP: f64 = deg(15.0);

impl Turning {
    /// Of a wheel that turns between two angles, rad.
    pub(super) fn of(wheel: &WheelPart, range: [f64; 2]) -> Self {
        let [right, left] = range;
        let turns = left > right;
        let frame = wheel.X_WR;
        let along = |angle: f64| {
            let (sin, cos) = angle.sin_cos();
            [frame.rotation * Vec3::new(0.0, sin, cos), frame.rotation * Vec3::new(0.0, cos, -sin)]
        };
        let mut turning = Self { swept: Vec::new(), tubes: Vec::new(), beads: Vec::new(), arcs: Vec::new(), range };
        let tube = |from: [f64; 2], to: [f64; 2], error: f64| {
            let polar = [from, to].map(|end| (end[0].hypot(end[1]), end[0].atan2(end[1])));
            let steps = steps(right, left).map(move |steer| {
                let ends = polar.map(|(radius, at)| along(at + steer).map(|v| v * radius));
                let place = |i: usize| frame.translation.vector + ends[i][0];
                (steer, [place(0), place(1)], [ends[0][1], ends[1][1]])
            });
            Course::known(Axis::Steer, wheel.tube, error, steps)
        };
        let mut tubes = Vec::new();
        for piece in &wheel.path.pieces {
            match *piece {
                RimPiece::Arc { centre, radius, start, sweep } if centre[0].hypot(centre[1]) < 1e-9 => {
                    turning.arcs.push((start, sweep));
                    let start = start + right;
                    let sweep = (sweep + left - right).min(std::f64::consts::TAU);
                    let swept = RimPath { pieces: vec![RimPiece::Arc { centre, radius, start, sweep }] };
                    if turns {
                        turning.swept.push(Solid::Rim(RimSolid { pose: frame, path: swept, tube: wheel.tube }));
                    }
                    let bead = steps(start, start + sweep).map(|angle| {
                        let [out, ahead] = along(angle);
                        (angle, [frame.translation.vector + out * radius; 2], [ahead * radius; 2])
                    });
                    turning.beads.push(Course::known(Axis::Still, wheel.tube, 0.0, bead));
                }
                RimPiece::Arc { radius, sweep, .. } => {
                    let one = 2.0 * (1.0 - SAGITTA / radius).clamp(0.0, 1.0).acos();
                    let count = (sweep / one).ceil().max(1.0);
                    for i in 0..count as usize {
                        let at = |i: usize| piece.point(i as f64 / count);
                        tubes.push(tube(at(i), at(i + 1), SAGITTA));
                    }
                }
                RimPiece::Line { from, to } => tubes.push(tube(from, to, 0.0)),
            }
        }
        turning.beads.extend(tubes.iter().cloned());
        if turns {
            turning.tubes = tubes;
        } else {
            turning.swept.push(Solid::Rim(wheel.rim(right)));
        }
        turning
    }

    /// The wheel angle nearest to straight ahead at which an arc about the shaft reaches a point that it sweeps.
    pub(super) fn steer_at(&self, wheel: &WheelPart, point: Vec3) -> f64 {
        let local = wheel.X_WR.inverse_transform_point(&point.into()).coords;
        let place = local.y.atan2(local.z);
        let [right, left] = self.range;
        let mut best = (f64::INFINITY, 0.0_f64.clamp(right, left));
        for &(start, sweep) in &self.arcs {
            for turn in -2..=2 {
                // From the arc's end at the point to its start there.
                let past = place - start + f64::from(turn) * std::f64::consts::TAU;
                let (low, high) = ((past - sweep).max(right), past.min(left));
                let steer = 0.0_f64.clamp(low.min(high), high.max(low)).clamp(right, left);
                // An arc that does not reach is as far off as that.
                let cost = 1e3 * (low - high).max(0.0) + steer.abs();
                if cost < best.0 {
                    best = (cost, steer);
                }
            }
        }
        best.1
    }
}

/// Angles from one to another in even steps.
fn steps(from: f64, to: f64) -> impl Iterator<Item = f64> {
    let count = ((to - from) / STEP).ceil().max(1.0);
    let last = if to > from { count as usize } else { 0 };
    (0..=last).map(move |i| from + (to - from) * i as f64 / count)
}
