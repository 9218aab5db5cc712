//! Effort over the travel of a pedal, and the greatest push over the knee's angle.

use super::{Effort, Presser};
use crate::{
    geometry::Vec3,
    geometry::{Side, unit_or},
    posture::{FootTask, Leg, PedalSweep, solve_leg},
    project::PedalKind,
    rig::Pedals,
    units::{deg, mm},
};

/// The greatest push with the pedal at the distance that gives the knee an angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KneePoint {
    /// Included knee angle, rad.
    pub knee: f64,
    /// How far the pedals stand from where they are, along the line from hip to ball, m; away positive.
    pub shift: f64,
    /// The greatest push with the ball of the foot, N.
    pub greatest: f64,
    /// The greatest push that hip and knee alone allow, N.
    pub thigh: f64,
    /// What hip, knee and ankle each allow in the direction of the greatest push, N.
    pub limits: [f64; 3],
}

/// Knee angles of the curve, rad: every 5° from 90 to 175.
pub const KNEES: usize = 18;

impl Presser<'_> {
    /// The effort at each position of a sweep.
    pub fn over_travel(&self, sweep: &PedalSweep) -> Vec<Effort> {
        sweep.steps.iter().filter_map(|(travel, leg)| self.press(sweep.side, sweep.kind, leg, *travel)).collect()
    }

    /// The greatest push on a pedal at `travel` (m) over the knee's angle: hip and direction of the pedal stay, the
    /// pedals move along the line from hip to ball, the leg follows as it always does. Angles at which the foot
    /// does not reach its place are left out.
    pub fn over_knee(&self, side: Side, kind: PedalKind, leg: &Leg, travel: f64) -> Vec<KneePoint> {
        let (Some(pedal), Some(task)) = (self.rig.pedals.get(kind), FootTask::on_pedal(self.rig, kind, travel)) else {
            return Vec::new();
        };
        let away = unit_or(leg.ball - leg.hip(), Vec3::x());
        let at = |shift: f64, from: Option<&Leg>| {
            let X_WP = nalgebra::Translation3::from(away * shift) * task.X_WP;
            let leg = solve_leg(self.body, self.sitting, side, &FootTask { X_WP, ..task }, from);
            (Pedals { X_WP, ..self.rig.pedals.clone() }, leg)
        };
        let reach = self.body.skeleton.thigh + self.body.skeleton.shank;
        (0..KNEES)
            .filter_map(|step| {
                let knee = deg(90.0 + 5.0 * step as f64);
                let opening = |leg: &Leg| deg(180.0) - leg.angles.knee_flexion;
                // The knee opens as the pedal goes away.
                let (mut near, mut far) = (-reach, 0.5 * reach);
                let mut from = *leg;
                for _ in 0..24 {
                    let middle = 0.5 * (near + far);
                    let tried = at(middle, Some(&from)).1;
                    if tried.shortfall < mm(0.1) {
                        from = tried;
                    }
                    if opening(&tried) < knee { near = middle } else { far = middle }
                }
                let shift = 0.5 * (near + far);
                let (pedals, leg) = at(shift, Some(&from));
                if leg.shortfall > mm(0.5) || (opening(&leg) - knee).abs() > deg(0.5) {
                    return None;
                }
                let effort = self.effort(side, pedal, &pedals, &leg, travel);
                Some(KneePoint {
                    knee,
                    shift,
                    greatest: effort.greatest,
                    thigh: effort.thigh,
                    limits: effort.joints.map(|joint| joint.limit),
                })
            })
            .collect()
    }
}
