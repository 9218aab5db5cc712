//! Steering from side to side with the hands on the rim, and each pedal from rest to full travel.

use super::{
    Arm, ArmAngles, ArmTask, Around, FootTask, Leg, Moment, Posture, Touch, Vicinity, solve_arm_among, solve_leg_among,
};
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
    /// What stopped the hands on each side; `None` where they went all the way asked for.
    pub stopped_by: [Option<Stop>; 2],
}

/// What ends steering with the hands on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// A joint has come to the end of its range.
    Joint {
        /// The arm.
        side: Side,
        /// Which of [`ArmAngles::NAMES`].
        joint: usize,
        /// Whether it is the upper end.
        high: bool,
    },
    /// An arm is in something's way.
    Touch(Touch),
    /// A joint would have to turn more than [`FASTEST`] times as fast as the wheel.
    Fast {
        /// The arm.
        side: Side,
        /// Which of [`ArmAngles::NAMES`].
        joint: usize,
        /// What turns the arm aside, if anything does.
        touch: Option<Touch>,
    },
}

/// Where an arm leans on something while the wheel turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lean {
    /// The arm's part and what it leans on, where the gap is least.
    pub touch: Touch,
    /// Wheel angles between which it does, rad.
    pub steer: [f64; 2],
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
    /// What arms and legs keep clear of.
    around: [Around; 2],
}

/// A hand lets go where a joint would have to turn this many times as fast as the wheel; own choice: an arm that is
/// stretched, or squeezed between things, whips.
pub const FASTEST: f64 = 3.0;
/// An arm that leans on something is followed in steps of at most this, rad.
const FINE: f64 = deg(1.0);
/// One that does not is followed in steps of at most this, rad: a hand then goes less than half its thickness, and
/// nothing that it would meet slips through.
const STRIDE: f64 = deg(5.0);
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
    let around = [Around::arms(body, rig, &rest.sitting, &rest.legs), Around::legs(rig)];
    let pedals = rig
        .pedals
        .list
        .iter()
        .filter(|pedal| project.motion.pedals == PedalsUsed::All || pedal.kind != PedalKind::Clutch)
        .map(|pedal| {
            let side = foot_of(pedal.kind, brakes_with);
            let count = project.motion.pedal_steps;
            let steps = pedal_steps(body, rig, rest, &around[1], pedal.kind, side, pedal.travel, count);
            PedalSweep { kind: pedal.kind, side, steps }
        })
        .collect();
    let arms = Steering::new(body, rig, rest, &around[0]).sweep(project);
    Motion { brakes_with, arms, pedals, around }
}

#[expect(clippy::too_many_arguments, reason = "what is pressed, by which leg, how far")]
fn pedal_steps(
    body: &Body,
    rig: &Rig,
    rest: &Posture,
    around: &Around,
    kind: PedalKind,
    side: Side,
    travel: f64,
    count: usize,
) -> Vec<(f64, Leg)> {
    let resting = &rest.legs[side.index()];
    let mut from = (resting.pedal == Some(kind)).then_some(*resting);
    let last = (count.max(2) - 1) as f64;
    let mut near = Vicinity::of(around);
    (0..count.max(2))
        .filter_map(|step| {
            let travel = travel * step as f64 / last;
            let task = FootTask::on_pedal(rig, kind, travel)?;
            let leg = solve_leg_among(body, &rest.sitting, side, &task, from.as_ref(), &mut near);
            from = Some(leg);
            Some((travel, leg))
        })
        .collect()
}

/// The arms round the turned wheel.
struct Steering<'a> {
    body: &'a Body,
    rig: &'a Rig,
    rest: &'a Posture,
    near: [Vicinity; 2],
}

impl<'a> Steering<'a> {
    fn new(body: &'a Body, rig: &'a Rig, rest: &'a Posture, around: &Around) -> Self {
        Self { body, rig, rest, near: Side::BOTH.map(|_| Vicinity::of(around)) }
    }

    fn arms(&mut self, steer: f64, from: &[Arm; 2]) -> [Arm; 2] {
        Side::BOTH.map(|side| {
            let (task, from) = (ArmTask::on_rim(self.rig, side, steer), &from[side.index()]);
            solve_arm_among(self.body, &self.rest.sitting, side, &task, Some(from), &mut self.near[side.index()])
        })
    }

    /// Follows the rim from the wheel angle and arms in `last` up to `steer`, both counted from straight to the side of
    /// `sign`; what stops them on the way, once their last place is known to [`HANDS_ON_TOLERANCE`]. Tells where on the
    /// way an arm has come to lean on something or has come off it.
    fn follow(
        &mut self,
        last: &mut (f64, [Arm; 2]),
        steer: f64,
        sign: f64,
        mut tell: impl FnMut(f64, [Arm; 2]),
    ) -> Option<Stop> {
        let leans = |arms: &[Arm; 2]| arms.iter().any(|arm| arm.touch.is_some());
        while last.0 < steer {
            let mut next = steer.min(last.0 + if leans(&last.1) { FINE } else { STRIDE });
            let mut arms = self.arms(sign * next, &last.1);
            if leans(&arms) && next - last.0 > FINE {
                next = last.0 + FINE;
                arms = self.arms(sign * next, &last.1);
            }
            let Some(stop) = self.stops(last, next, &arms) else {
                if next < steer && Side::BOTH.iter().any(|side| changed(&last.1, &arms, *side)) {
                    tell(next, arms);
                }
                *last = (next, arms);
                continue;
            };
            let (mut beyond, began) = ((next, stop), *last);
            while beyond.0 - last.0 > HANDS_ON_TOLERANCE {
                let middle = 0.5 * (last.0 + beyond.0);
                let arms = self.arms(sign * middle, &last.1);
                // Nor may an arm get there in small steps from one thing to another and back.
                let stops = self.stops(last, middle, &arms);
                match stops.or_else(|| too_fast(&began.1, &arms, middle - began.0)) {
                    None => *last = (middle, arms),
                    Some(stop) => beyond = (middle, stop),
                }
            }
            return Some(beyond.1);
        }
        None
    }

    /// What keeps the hands from getting there from the last place.
    fn stops(&self, last: &(f64, [Arm; 2]), steer: f64, arms: &[Arm; 2]) -> Option<Stop> {
        self.stop(arms).or_else(|| too_fast(&last.1, arms, steer - last.0))
    }

    /// What keeps the hands from holding the rim like this.
    fn stop(&self, arms: &[Arm; 2]) -> Option<Stop> {
        if let Some(stop) = joint_at_its_end(self.body, arms) {
            return Some(stop);
        }
        let touches = arms.iter().filter_map(|arm| arm.touch).chain(self.crossed(arms));
        touches.filter(Touch::blocks).min_by(|a, b| a.gap.total_cmp(&b.gap)).map(Stop::Touch)
    }

    /// The arms against each other: hands and forearms.
    fn crossed(&self, arms: &[Arm; 2]) -> Option<Touch> {
        let [left, right] = Side::BOTH.map(|side| self.body.arm(&arms[side.index()], side));
        Touch::between_arms(&left, &right)
    }

    fn sweep(mut self, project: &Project) -> ArmSweep {
        let asked = deg(project.motion.steer_deg).min(self.rig.wheel.lock);
        let each_side = (project.motion.steer_steps.max(3) - 1) / 2;

        let mut sides = [Vec::new(), Vec::new()];
        let mut hands_on = [0.0; 2];
        let mut stopped_by = [self.stop(&self.rest.arms); 2];
        for turn in Side::BOTH {
            let (steps, sign) = (&mut sides[turn.index()], turn.sign());
            let mut last = (0.0, self.rest.arms);
            let each = if stopped_by[turn.index()].is_some() { 0 } else { each_side };
            for step in 1..=each {
                let steer = asked * step as f64 / each_side as f64;
                let held = last;
                let mut changes = Vec::new();
                let stop = self.follow(&mut last, steer, sign, |steer, arms| changes.push((sign * steer, arms)));
                // What bends the way is shown where the steps alone would not show it.
                if too_fast(&held.1, &last.1, last.0 - held.0).is_some() {
                    steps.append(&mut changes);
                }
                if last.0 > held.0 {
                    steps.push((sign * last.0, last.1));
                }
                if stop.is_some() {
                    stopped_by[turn.index()] = stop;
                    break;
                }
            }
            hands_on[turn.index()] = last.0;
        }
        let [left, mut right] = sides;
        right.reverse();
        right.push((0.0, self.rest.arms));
        right.extend(left);
        ArmSweep { steps: right, hands_on, stopped_by }
    }
}

/// Whether an arm leans on something else than before.
fn changed(from: &[Arm; 2], to: &[Arm; 2], side: Side) -> bool {
    let [from, to] = [from, to].map(|arms| arms[side.index()].touch.map(|touch| touch.partner));
    from != to
}

/// The joint that would have to turn too fast as the wheel turns by `steer`. Where an arm comes to lean on something or
/// comes off, its way bends, and that is allowed.
fn too_fast(from: &[Arm; 2], to: &[Arm; 2], steer: f64) -> Option<Stop> {
    let mut fastest = (FASTEST * steer, None);
    for side in Side::BOTH {
        if changed(from, to, side) {
            continue;
        }
        let (from, to) = (&from[side.index()], &to[side.index()]);
        for (joint, (a, b)) in from.angles.array().into_iter().zip(to.angles.array()).enumerate() {
            if (b - a).abs() > fastest.0 {
                fastest = ((b - a).abs(), Some(Stop::Fast { side, joint, touch: to.touch }));
            }
        }
    }
    fastest.1
}

/// The joint that has come to its end in an arm that does not come to the rim.
fn joint_at_its_end(body: &Body, arms: &[Arm; 2]) -> Option<Stop> {
    let ranges = ArmAngles::ranges(&body.limits);
    let mut nearest = (f64::INFINITY, None);
    for side in Side::BOTH {
        let arm = &arms[side.index()];
        if arm.reaches() {
            continue;
        }
        for (joint, (range, angle)) in ranges.iter().zip(arm.angles.array()).enumerate() {
            for (room, high) in [(angle - range.low, false), (range.high - angle, true)] {
                if room < nearest.0 {
                    nearest = (room, Some(Stop::Joint { side, joint, high }));
                }
            }
        }
    }
    nearest.1
}

impl ArmSweep {
    /// Where either arm leans on something between the largest angles: the pose is then the one that keeps clear, and
    /// may turn faster than the wheel where it comes to lean and where it comes off.
    pub fn leans(&self) -> Vec<Lean> {
        let mut leans: Vec<Lean> = Vec::new();
        for side in Side::BOTH {
            let mut open = false;
            for (steer, arms) in &self.steps {
                let Some(touch) = arms[side.index()].touch else {
                    open = false;
                    continue;
                };
                match leans.last_mut().filter(|lean| open && lean.touch.partner == touch.partner) {
                    Some(lean) => {
                        lean.steer[1] = *steer;
                        if touch.gap < lean.touch.gap {
                            lean.touch = touch;
                        }
                    }
                    None => leans.push(Lean { touch, steer: [*steer; 2] }),
                }
                open = true;
            }
        }
        leans
    }
}

/// Limbs at moments between the steps of a motion. Moments near the last one asked for are found soonest.
pub struct Between<'a> {
    motion: &'a Motion,
    steering: Steering<'a>,
    legs: [Vicinity; 2],
}

impl Between<'_> {
    /// The posture at any moment. Past the largest angle that the arms allow the hands stay there; a foot is on the
    /// pedal of its own that is pressed furthest, or where it rests.
    pub fn posture(&mut self, moment: &Moment) -> Posture {
        let arms = self.arms(moment.steer);
        let legs = Side::BOTH.map(|side| self.leg(side, moment));
        Posture { sitting: self.steering.rest.sitting.clone(), arms, legs }
    }

    /// Both arms at a wheel angle, followed from the last step on the way there as the steps themselves were: what an
    /// arm leans on may leave it more than one pose.
    pub fn arms(&mut self, steer: f64) -> [Arm; 2] {
        let sweep = &self.motion.arms;
        let steer = steer.clamp(-sweep.hands_on[1], sweep.hands_on[0]);
        let sign = if steer < 0.0 { -1.0 } else { 1.0 };
        let before = sweep.steps.iter().filter(|(at, _)| at * sign >= 0.0 && at * sign <= steer * sign);
        let last = before.max_by(|a, b| (a.0 * sign).total_cmp(&(b.0 * sign)));
        let mut last = last.map_or((0.0, self.steering.rest.arms), |(at, arms)| (at * sign, *arms));
        self.steering.follow(&mut last, steer * sign, sign, |_, _| ());
        last.1
    }

    /// One leg at any moment.
    pub fn leg(&mut self, side: Side, moment: &Moment) -> Leg {
        let (rest, rig) = (self.steering.rest, self.steering.rig);
        let pressed = self
            .motion
            .pedals
            .iter()
            .filter(|sweep| sweep.side == side && moment.travel_of(sweep.kind) > 0.0)
            .max_by(|a, b| moment.travel_of(a.kind).total_cmp(&moment.travel_of(b.kind)));
        let Some(sweep) = pressed else { return rest.legs[side.index()] };
        let travel = moment.travel_of(sweep.kind);
        let before = sweep.steps.iter().rev().find(|(at, _)| *at <= travel);
        match (before.or(sweep.steps.first()), FootTask::on_pedal(rig, sweep.kind, travel)) {
            (Some((_, leg)), Some(task)) => {
                let near = &mut self.legs[side.index()];
                solve_leg_among(self.steering.body, &rest.sitting, side, &task, Some(leg), near)
            }
            _ => rest.legs[side.index()],
        }
    }
}

impl Motion {
    /// The limbs between the steps; body, rig and rest are those of the motion.
    pub fn between<'a>(&'a self, body: &'a Body, rig: &'a Rig, rest: &'a Posture) -> Between<'a> {
        let [arms, legs] = &self.around;
        let steering = Steering::new(body, rig, rest, arms);
        Between { motion: self, steering, legs: Side::BOTH.map(|_| Vicinity::of(legs)) }
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
