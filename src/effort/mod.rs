//! What pressing a pedal asks of a leg: joint torques, their share of this person's strength, the greatest push and
//! the force into the seat.
//!
//! Everything stands still. The pedal is a lever with a linear spring: nothing at rest, its working force at its
//! working travel, measured along the arc of the face's centre. The moment of the ball's force about the pivot is the
//! spring's; its direction is up to the driver as far as the sole does not slip on the face, and is taken to be the
//! one in which this pose can push hardest. Hip, knee and ankle are taken one by one: muscles that span two joints are
//! not.
//!
//! What carries the leg's own weight cannot be known from statics alone. A planted heel is taken to carry as much as
//! keeps weight from the knee, as in a leg at rest; the cushion as much of the thigh as makes the hip's effort least.
//! Each share with a heel that carries nothing stands beside it.

#![allow(non_snake_case, reason = "frame notation: X_WB is the pose of B in W, p_WQ the point Q seen from W")]

mod back;
mod balance;
mod curve;
mod strength;

pub use back::BackReaction;
pub use curve::KneePoint;
pub use strength::{Joint, LegStrength, Way};

pub use crate::project::AgeGroup;

use balance::{Chain, FLEXIONS, Force, Segment, weights};
use nalgebra::Point3;

use crate::{
    body::Body,
    geometry::{Side, Vec3},
    posture::{Leg, Sitting},
    project::PedalKind,
    rig::{PedalPart, Pedals, Rig},
    units::mm,
};

/// A push is never said to be greater than this, N: young men on a rigid pedal push 2000 to 2600, from memory.
pub const GREATEST_PUSH: f64 = 2500.0;
/// Friction of a sole on a pedal face: common practice, no published source.
const FRICTION: f64 = 0.5;
/// A push that passes nearer to the pivot than this share of the arm is taken as if it did not: it can hardly move the
/// pedal.
const LEAST_LEVER: f64 = 0.3;
/// A heel less than this above its rest carries weight.
const HEEL_DOWN: f64 = mm(1.0);

/// What one joint does for a push.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointEffort {
    /// Which.
    pub joint: Joint,
    /// What its muscles give, N·m; positive where they open the leg (extend hip or knee, point the foot).
    pub torque: f64,
    /// What they could give that way at this angle, N·m.
    pub strength: f64,
    /// The torque's share of the strength.
    pub share: f64,
    /// The same share with a heel that carries nothing.
    pub share_heel_free: f64,
    /// The push on the pedal at which this joint gives all it can, N, at most [`GREATEST_PUSH`].
    pub limit: f64,
}

/// One leg pressing one pedal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// The pedal.
    pub kind: PedalKind,
    /// The leg.
    pub side: Side,
    /// Travel of the pedal, m.
    pub travel: f64,
    /// Force along the pedal's arc, N.
    pub force: f64,
    /// The pedal's force on the ball of the foot, W, N.
    pub on_foot: Vec3,
    /// What the heel carries, N.
    pub heel: f64,
    /// What the muscles give at each angle of [`crate::posture::LegAngles`], in the sense in which it grows, N·m,
    /// where the cushion carries nothing.
    pub torques: [f64; 7],
    /// Moment at the hip to the side and in twist, N·m.
    pub hip_aside: f64,
    /// Hip, knee and ankle.
    pub joints: [JointEffort; 3],
    /// The greatest push on the pedal in this pose, N, at most [`GREATEST_PUSH`].
    pub greatest: f64,
    /// The same where hip and knee alone count, as with the pedal under the arch of the foot instead of the ball, N.
    pub thigh: f64,
    /// What the calf alone could hold along the normal of the face with the heel down, N: its strength over the lever
    /// of the ball about the ankle, at most [`GREATEST_PUSH`].
    pub calf: f64,
    /// Into the seat.
    pub back: BackReaction,
}

impl Effort {
    /// What one joint does.
    pub const fn joint(&self, joint: Joint) -> &JointEffort {
        &self.joints[joint as usize]
    }

    /// How many times its force the pedal could be pushed with.
    pub fn reserve(&self) -> f64 {
        self.greatest / self.force.max(1.0)
    }

    /// The joints that set the greatest push: more than one where the direction of the push shares it out; none where
    /// [`GREATEST_PUSH`] does.
    pub fn give_out_first(&self) -> impl Iterator<Item = Joint> {
        let least = if self.greatest < GREATEST_PUSH { 1.01 * self.greatest } else { 0.0 };
        self.joints.into_iter().filter(move |joint| joint.limit <= least).map(|joint| joint.joint)
    }
}

/// A seated person who presses the pedals of a rig.
#[derive(Clone, Copy, Debug)]
pub struct Presser<'a> {
    body: &'a Body,
    rig: &'a Rig,
    sitting: &'a Sitting,
    strength: LegStrength,
}

impl<'a> Presser<'a> {
    /// This person, as strong as the mean of the sex, age group, mass and stature.
    pub fn new(body: &'a Body, rig: &'a Rig, sitting: &'a Sitting, age: AgeGroup) -> Self {
        Self { body, rig, sitting, strength: LegStrength::of(body, age) }
    }

    /// What a leg whose foot is on a pedal at `travel` (m) has to give there; `None` where the rig has no such pedal.
    /// A foot that falls short of the pedal is taken to press where it ends.
    pub fn press(&self, side: Side, kind: PedalKind, leg: &Leg, travel: f64) -> Option<Effort> {
        let pedal = self.rig.pedals.get(kind)?;
        Some(self.effort(side, pedal, &self.rig.pedals, leg, travel))
    }

    fn effort(&self, side: Side, pedal: &PedalPart, pedals: &Pedals, leg: &Leg, travel: f64) -> Effort {
        let force = spring(pedal, travel);
        let chain = Chain::of(self.body, self.sitting, side, leg);
        let at = |on_foot: Vec3| [Force { on: Segment::Foot, at: leg.ball, newtons: on_foot }];
        let contact = Contact::of(pedal, pedals, leg.ball, travel);
        let by_push = contact.across.map(|across| chain.torques(&at(across)));
        let weights = weights(self.body, leg);
        let under_heel = [Force { on: Segment::Foot, at: leg.heel, newtons: pedals.X_WP.rotation * Vec3::z() }];
        let (by_weight, by_heel) = (chain.torques(&weights), chain.torques(&under_heel));

        // The heel takes the weight of shank and foot off the knee, as far as it can.
        let knee = FLEXIONS[Joint::Knee as usize];
        let most = weights.iter().filter(|weight| weight.on > Segment::Thigh).map(|weight| weight.newtons.norm()).sum();
        let relief = -by_weight[knee] / by_heel[knee];
        let heel = if leg.heel_lift < HEEL_DOWN && relief > 0.0 { relief.min(most) } else { 0.0 };

        let asked = Joint::ALL.map(|joint| {
            let index = FLEXIONS[joint as usize];
            let strength = |way: Way| self.strength.torque(joint, way, leg.angles.array()[index], 0.0);
            Asked {
                joint,
                push: by_push.map(|torques| -torques[index]),
                weight: -by_weight[index] - heel * by_heel[index],
                weight_heel_free: -by_weight[index],
                strength: [strength(Way::Extension), strength(Way::Flexion)],
            }
        });
        let components = contact.for_newton(contact.strongest(&asked));
        let of_thigh = contact.for_newton(contact.strongest(&asked[..2]));
        let ankle = &asked[Joint::Ankle as usize];
        let joints = asked.map(|asked| asked.effort(components, force));

        let on_foot = (contact.across[0] * components[0] + contact.across[1] * components[1]) * force;
        let [push] = at(on_foot);
        let heel_force = Force { newtons: under_heel[0].newtons * heel, ..under_heel[0] };
        let acting = [push, heel_force, weights[0], weights[1], weights[2]];
        Effort {
            kind: pedal.kind,
            side,
            travel,
            force,
            on_foot,
            heel,
            torques: chain.torques(&acting),
            hip_aside: chain.hip_aside(&acting),
            joints,
            greatest: joints.iter().map(|joint| joint.limit).fold(GREATEST_PUSH, f64::min),
            thigh: asked[..2].iter().map(|asked| asked.limit(of_thigh)).fold(GREATEST_PUSH, f64::min),
            calf: (ankle.strength[0] / ankle.rate(contact.for_newton(0.0)).max(1e-9)).min(GREATEST_PUSH),
            back: BackReaction::of(self.rig, self.sitting, on_foot, asked[0].rate(components) * force),
        }
    }
}

/// What is asked of a joint, opening positive.
#[derive(Clone, Copy, Debug)]
struct Asked {
    joint: Joint,
    /// Torque for each newton along and across the face, N·m.
    push: [f64; 2],
    /// Torque that holds the leg's weight, the heel carrying its part, N·m.
    weight: f64,
    /// The same with a heel that carries nothing.
    weight_heel_free: f64,
    /// Greatest torque opening and folding, N·m.
    strength: [f64; 2],
}

impl Asked {
    /// Torque for each newton of push, N·m.
    fn rate(&self, components: [f64; 2]) -> f64 {
        self.push[0] * components[0] + self.push[1] * components[1]
    }

    /// Least and greatest torque that weight may ask: the cushion carries any part of what the thigh's weight would
    /// ask the hip to hold up.
    fn carried(&self, weight: f64) -> [f64; 2] {
        if self.joint == Joint::Hip { [weight, weight.max(0.0)] } else { [weight; 2] }
    }

    /// The push at which the joint gives all it can, N.
    fn limit(&self, components: [f64; 2]) -> f64 {
        let (rate, [low, high]) = (self.rate(components), self.carried(self.weight));
        let most = if rate > 0.0 { self.strength[0] - low } else { self.strength[1] + high };
        most.max(0.0) / rate.abs().max(1e-9)
    }

    fn effort(&self, components: [f64; 2], force: f64) -> JointEffort {
        let push = self.rate(components) * force;
        let torque = |weight: f64| {
            let [low, high] = self.carried(weight);
            0.0_f64.clamp(push + low, push + high)
        };
        let strength = |torque: f64| self.strength[usize::from(torque < 0.0)];
        let (planted, free) = (torque(self.weight), torque(self.weight_heel_free));
        JointEffort {
            joint: self.joint,
            torque: planted,
            strength: strength(planted),
            share: planted.abs() / strength(planted),
            share_heel_free: free.abs() / strength(free),
            limit: self.limit(components).min(GREATEST_PUSH),
        }
    }
}

/// The ball of a foot on a face.
#[derive(Clone, Copy, Debug)]
struct Contact {
    /// Unit forces on the foot, W: out of the face along its normal, and along the face upward.
    across: [Vec3; 2],
    /// Moment about the pivot that pushes the pedal in, for each newton of the two, m.
    levers: [f64; 2],
    /// From the pivot to the centre of the face, m.
    arm: f64,
}

impl Contact {
    fn of(pedal: &PedalPart, pedals: &Pedals, ball: Vec3, travel: f64) -> Self {
        let (sin, cos) = pedal.face_at(travel).tilt.sin_cos();
        let p_PB = pedals.X_WP.inverse_transform_point(&Point3::from(ball)).coords;
        let (ahead, above) = (p_PB.x - pedal.pivot[0], p_PB.z - pedal.pivot[1]);
        // Out of the face, and up along it; on the pedal acts the opposite.
        let across = [[-cos, sin], [sin, cos]];
        Self {
            across: across.map(|[x, z]| pedals.X_WP.rotation * Vec3::new(x, 0.0, z)),
            levers: across.map(|[x, z]| pedal.turn(1.0).signum() * (z * ahead - x * above)),
            arm: (pedal.face[0] - pedal.pivot[0]).hypot(pedal.face[1] - pedal.pivot[1]).max(1e-6),
        }
    }

    /// The two forces on the foot that hold 1 N along the arc, the second `slip` times the first.
    fn for_newton(&self, slip: f64) -> [f64; 2] {
        let lever = self.levers[0] + slip * self.levers[1];
        let normal = self.arm / lever.max(LEAST_LEVER * self.arm);
        [normal, slip * normal]
    }

    /// The share of friction with which the joints allow the greatest push: each joint's limit has one maximum over
    /// the direction, and so has the least of them.
    fn strongest(&self, asked: &[Asked]) -> f64 {
        let greatest = |slip: f64| {
            let components = self.for_newton(slip);
            asked.iter().map(|asked| asked.limit(components)).fold(f64::INFINITY, f64::min)
        };
        let (mut low, mut high) = (-FRICTION, FRICTION);
        for _ in 0..40 {
            let third = (high - low) / 3.0;
            if greatest(low + third) < greatest(high - third) { low += third } else { high -= third }
        }
        0.5 * (low + high)
    }
}

/// Force along the arc at `travel` (m), N: a linear spring.
fn spring(pedal: &PedalPart, travel: f64) -> f64 {
    pedal.working_force * travel.max(0.0) / pedal.working_travel.max(1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: on a pedal hinged 200 mm below its face, 100 N along the arc are 20 N·m: 100 N at the centre of the
    /// upright face, 80 N where the ball stands 50 mm higher, and half a newton of friction for each changes nothing
    /// where the face runs through the pivot.
    #[test]
    fn the_ball_presses_with_the_moment_of_the_spring() {
        let project = crate::project::parse(include_str!("../../assets/closed_car.ron")).unwrap();
        let mut pedals = Rig::place(&project).pedals;
        let pedal = &mut pedals.list[0];
        (pedal.face, pedal.pivot, pedal.tilt, pedal.working_force, pedal.working_travel) =
            ([0.2, 0.2], [0.2, 0.0], 0.0, 100.0, 0.02);
        let pedal = pedal.clone();
        for (height, force) in [(0.2, 1.0), (0.25, 0.8)] {
            let ball = (pedals.X_WP * Point3::new(0.2, pedal.sideways, height)).coords;
            let contact = Contact::of(&pedal, &pedals, ball, 0.0);
            for slip in [0.0, 0.5] {
                let [normal, along] = contact.for_newton(slip);
                assert!((normal - force).abs() < 1e-9 && (along - slip * force).abs() < 1e-9, "{normal} {along}");
            }
        }
        assert!((spring(&pedal, 0.01) - 50.0).abs() < 1e-9 && spring(&pedal, 0.0) == 0.0);
    }
}
