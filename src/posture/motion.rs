//! Steering from side to side with the hands on the rim, and each pedal from rest to full travel.

use super::{Arm, ArmAngles, ArmTask, FootTask, Leg, Moment, Posture, solve_arm, solve_leg};
use crate::{
    body::Body,
    geometry::Side,
    project::{PedalKind, PedalsUsed, Project},
    rig::Rig,
    units::{deg, to_deg},
};

/// Both arms over the steering range, from the largest angle right to the largest left.
#[derive(Clone, Debug)]
pub struct ArmSweep {
    /// Wheel angle, both arms.
    pub steps: Vec<(f64, [Arm; 2])>,
    /// Largest hands-on angle to left and right, rad, both positive.
    pub hands_on: [f64; 2],
    /// What stopped the hands on each side, in words: "the left wrist, bent back"; `None` where they went all the way
    /// asked for.
    pub stopped_by: [Option<String>; 2],
}

/// One foot on one pedal from rest to full travel.
#[derive(Clone, Debug)]
pub struct PedalSweep {
    /// The pedal.
    pub kind: PedalKind,
    /// The foot.
    pub side: Side,
    /// Travel and leg.
    pub steps: Vec<(f64, Leg)>,
}

/// Every position looked at.
#[derive(Clone, Debug)]
pub struct Motion {
    /// The foot that brakes.
    pub brakes_with: Side,
    /// Steering.
    pub arms: ArmSweep,
    /// Pedals.
    pub pedals: Vec<PedalSweep>,
}

/// The largest hands-on angle is known to this, rad.
const HANDS_ON_TOLERANCE: f64 = deg(0.1);

/// The foot that works a pedal.
pub const fn foot_of(kind: PedalKind, brakes_with: Side) -> Side {
    match kind {
        PedalKind::Clutch => Side::Left,
        PedalKind::Brake => brakes_with,
        PedalKind::Throttle => Side::Right,
    }
}

/// Moves everything that the project asks for.
pub fn sweep(body: &Body, rig: &Rig, rest: &Posture, project: &Project) -> Motion {
    let brakes_with = project.driver.brakes_with;
    let pedals = rig
        .pedals
        .list
        .iter()
        .filter(|pedal| project.motion.pedals == PedalsUsed::All || pedal.kind != PedalKind::Clutch)
        .map(|pedal| {
            let side = foot_of(pedal.kind, brakes_with);
            let steps = pedal_steps(body, rig, rest, pedal.kind, side, pedal.travel, project.motion.pedal_steps);
            PedalSweep { kind: pedal.kind, side, steps }
        })
        .collect();
    Motion { brakes_with, arms: arm_sweep(body, rig, rest, project), pedals }
}

fn pedal_steps(
    body: &Body,
    rig: &Rig,
    rest: &Posture,
    kind: PedalKind,
    side: Side,
    travel: f64,
    count: usize,
) -> Vec<(f64, Leg)> {
    let resting = &rest.legs[side.index()];
    let mut from = (resting.pedal == Some(kind)).then_some(*resting);
    let last = (count.max(2) - 1) as f64;
    (0..count.max(2))
        .filter_map(|step| {
            let travel = travel * step as f64 / last;
            let task = FootTask::on_pedal(rig, kind, travel)?;
            let leg = solve_leg(body, &rest.sitting, side, &task, from.as_ref());
            from = Some(leg);
            Some((travel, leg))
        })
        .collect()
}

fn arms_at(body: &Body, rig: &Rig, rest: &Posture, steer: f64, from: &[Arm; 2]) -> [Arm; 2] {
    Side::BOTH.map(|side| {
        let task = ArmTask::on_rim(rig, side, steer);
        solve_arm(body, &rest.sitting, side, &task, Some(&from[side.index()]))
    })
}

fn arm_sweep(body: &Body, rig: &Rig, rest: &Posture, project: &Project) -> ArmSweep {
    let asked = deg(project.motion.steer_deg).min(rig.wheel.lock);
    let each_side = (project.motion.steer_steps.max(3) - 1) / 2;
    let held = |arms: &[Arm; 2]| arms.iter().all(Arm::holds);

    let mut sides = [Vec::new(), Vec::new()];
    let mut hands_on = [0.0; 2];
    let mut stopped_by = [None, None];
    for turn in Side::BOTH {
        let (steps, sign) = (&mut sides[turn.index()], turn.sign());
        let mut last = (0.0, rest.arms);
        if !held(&last.1) {
            stopped_by[turn.index()] = Some(what_stops(body, &last.1));
            continue;
        }
        for step in 1..=each_side {
            let steer = asked * step as f64 / each_side as f64;
            let arms = arms_at(body, rig, rest, sign * steer, &last.1);
            if held(&arms) {
                last = (steer, arms);
                steps.push((sign * steer, arms));
                continue;
            }
            // Between the last step held and this one lies the largest angle.
            let mut beyond = (steer, arms);
            while beyond.0 - last.0 > HANDS_ON_TOLERANCE {
                let middle = 0.5 * (last.0 + beyond.0);
                let arms = arms_at(body, rig, rest, sign * middle, &last.1);
                if held(&arms) {
                    last = (middle, arms);
                } else {
                    beyond = (middle, arms);
                }
            }
            if steps.last().is_none_or(|(at, _)| (at * sign - last.0).abs() > 0.0) && last.0 > 0.0 {
                steps.push((sign * last.0, last.1));
            }
            stopped_by[turn.index()] = Some(what_stops(body, &beyond.1));
            break;
        }
        hands_on[turn.index()] = last.0;
    }
    let [left, mut right] = sides;
    right.reverse();
    right.push((0.0, rest.arms));
    right.extend(left);
    ArmSweep { steps: right, hands_on, stopped_by }
}

/// The joint that has come to its end in arms that no longer hold the rim.
fn what_stops(body: &Body, arms: &[Arm; 2]) -> String {
    const WORDS: [[&str; 2]; 7] = [
        ["shoulder, arm back", "shoulder, arm raised"],
        ["shoulder, arm across", "shoulder, arm out"],
        ["shoulder, turned out", "shoulder, turned in"],
        ["reach, arm straight", "elbow, fully bent"],
        ["forearm, palm up", "forearm, palm down"],
        ["wrist, bent back", "wrist, bent to the palm"],
        ["wrist, bent to the little finger", "wrist, bent to the thumb"],
    ];
    let ranges = ArmAngles::ranges(&body.limits);
    let mut nearest = (f64::INFINITY, String::from("reach"));
    for side in Side::BOTH {
        let arm = &arms[side.index()];
        if arm.holds() {
            continue;
        }
        for ((range, angle), words) in ranges.iter().zip(arm.angles.array()).zip(WORDS) {
            for (room, word) in [(angle - range.low, words[0]), (range.high - angle, words[1])] {
                if room < nearest.0 {
                    nearest = (room, format!("the {} {word}", side.word()));
                }
            }
        }
    }
    nearest.1
}

impl Motion {
    /// The posture at any moment. Past the largest angle that the arms allow the hands stay there; a foot is on the
    /// pedal of its own that is pressed furthest, or where it rests.
    pub fn posture_at(&self, body: &Body, rig: &Rig, rest: &Posture, moment: &Moment) -> Posture {
        let steer = moment.steer.clamp(-self.arms.hands_on[1], self.arms.hands_on[0]);
        let near = self.arms.steps.iter().min_by(|a, b| (a.0 - steer).abs().total_cmp(&(b.0 - steer).abs()));
        let arms = near.map_or(rest.arms, |(_, arms)| arms_at(body, rig, rest, steer, arms));
        let legs = Side::BOTH.map(|side| self.leg_at(body, rig, rest, side, moment));
        Posture { sitting: rest.sitting.clone(), arms, legs }
    }

    fn leg_at(&self, body: &Body, rig: &Rig, rest: &Posture, side: Side, moment: &Moment) -> Leg {
        let pressed = self
            .pedals
            .iter()
            .filter(|sweep| sweep.side == side && moment.travel_of(sweep.kind) > 0.0)
            .max_by(|a, b| moment.travel_of(a.kind).total_cmp(&moment.travel_of(b.kind)));
        let Some(sweep) = pressed else { return rest.legs[side.index()] };
        let travel = moment.travel_of(sweep.kind);
        let near = sweep.steps.iter().min_by(|a, b| (a.0 - travel).abs().total_cmp(&(b.0 - travel).abs()));
        match (near, FootTask::on_pedal(rig, sweep.kind, travel)) {
            (Some((_, leg)), Some(task)) => solve_leg(body, &rest.sitting, side, &task, Some(leg)),
            _ => rest.legs[side.index()],
        }
    }

    /// The sweep of one pedal.
    pub fn pedal(&self, kind: PedalKind) -> Option<&PedalSweep> {
        self.pedals.iter().find(|sweep| sweep.kind == kind)
    }

    /// Both hands-on angles in degrees: left, right.
    pub fn hands_on_deg(&self) -> [f64; 2] {
        self.arms.hands_on.map(to_deg)
    }
}
