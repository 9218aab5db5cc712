//! The body in the rig: sitting by contact, arms to the rim, legs to the pedals, and their motion.
//!
//! Bone frames: origin in the proximal joint; standing upright with the arms hanging, thumbs forward, every bone
//! frame is parallel to W (x forward, y left, z up), so a limb runs along −z and a foot along +x. Every joint
//! angle is measured from there.

#![allow(non_snake_case, reason = "frame notation: X_WB is the pose of B in W, p_WQ the point Q seen from W")]

mod arm;
mod choice;
mod comfort;
mod contact;
mod descend;
mod joint;
mod leg;
mod motion;
mod nearest;
mod sitting;

pub(crate) use arm::of_angles as arm_of_angles;
pub use arm::{Arm, ArmAngles, ArmTask, forward as forward_arm, solve_arm, solve_arm_among};
pub use choice::chosen_seat;
pub use comfort::Comfort;
pub(crate) use comfort::{comfort_of_arm, comfort_of_leg};
pub use contact::{Around, Partner, Touch, Vicinity};
pub(crate) use leg::of_angles as leg_of_angles;
pub use leg::{FootTask, HeelAndToe, Leg, LegAngles, forward as forward_leg, heel_and_toe, solve_leg, solve_leg_among};
pub use motion::{ArmSweep, Between, FASTEST, Lean, Motion, PedalSweep, Stop, foot_of, sweep};
pub use sitting::{Pad, Sitting, sit};

use crate::{
    body::Body,
    geometry::{Pose, Side},
    project::PedalKind,
    rig::Rig,
    units::deg,
};

/// One moment of the motion: where the wheel and the pedals stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct Moment {
    /// Wheel angle, rad, left positive.
    pub steer: f64,
    /// Travel of clutch, brake and throttle, m.
    pub travel: [f64; 3],
}

impl Moment {
    /// Wheel straight, pedals released.
    pub const REST: Self = Self { steer: 0.0, travel: [0.0; 3] };

    /// Travel of one pedal, m.
    pub const fn travel_of(&self, kind: PedalKind) -> f64 {
        self.travel[kind as usize]
    }

    /// The same moment with one pedal moved.
    #[must_use]
    pub const fn with_travel(mut self, kind: PedalKind, travel: f64) -> Self {
        self.travel[kind as usize] = travel;
        self
    }

    /// The same moment with the wheel turned.
    #[must_use]
    pub const fn with_steer(mut self, steer: f64) -> Self {
        self.steer = steer;
        self
    }
}

/// The whole body at one moment.
#[derive(Clone, Debug)]
pub struct Posture {
    /// Pelvis, spine and head.
    pub sitting: Sitting,
    /// Left and right arm.
    pub arms: [Arm; 2],
    /// Left and right leg.
    pub legs: [Leg; 2],
}

/// A bone of the skin's skeleton.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Bone {
    /// Pelvis: origin midway between the hip joints.
    Pelvis,
    /// Belly: origin at L5/S1.
    Abdomen,
    /// Rib cage: origin at T12/L1.
    Thorax,
    /// Neck: origin at C7/T1.
    Neck,
    /// Head: origin at the joint between head and neck.
    Head,
    /// Collar bone and shoulder blade: origin at the neck end.
    Clavicle(Side),
    /// Upper arm, without its turn about its own axis.
    UpperArm(Side),
    /// Forearm at the elbow.
    Forearm(Side),
    /// Forearm at the wrist: half the hand's turn.
    ForearmTwist(Side),
    /// Hand: origin in the wrist.
    Hand(Side),
    /// Thigh, without its turn about its own axis.
    Thigh(Side),
    /// Shank.
    Shank(Side),
    /// Foot: origin in the ankle.
    Foot(Side),
}

impl Bone {
    /// How many bones there are.
    pub const COUNT: usize = 21;

    /// All bones in the order of their [`Bone::index`].
    pub const ALL: [Self; Self::COUNT] = {
        use Side::{Left, Right};
        [
            Self::Pelvis,
            Self::Abdomen,
            Self::Thorax,
            Self::Neck,
            Self::Head,
            Self::Clavicle(Left),
            Self::UpperArm(Left),
            Self::Forearm(Left),
            Self::ForearmTwist(Left),
            Self::Hand(Left),
            Self::Thigh(Left),
            Self::Shank(Left),
            Self::Foot(Left),
            Self::Clavicle(Right),
            Self::UpperArm(Right),
            Self::Forearm(Right),
            Self::ForearmTwist(Right),
            Self::Hand(Right),
            Self::Thigh(Right),
            Self::Shank(Right),
            Self::Foot(Right),
        ]
    };

    /// Place in [`Bone::ALL`].
    pub const fn index(self) -> usize {
        const fn limb(side: Side, at: usize) -> usize {
            5 + 8 * side.index() + at
        }
        match self {
            Self::Pelvis => 0,
            Self::Abdomen => 1,
            Self::Thorax => 2,
            Self::Neck => 3,
            Self::Head => 4,
            Self::Clavicle(side) => limb(side, 0),
            Self::UpperArm(side) => limb(side, 1),
            Self::Forearm(side) => limb(side, 2),
            Self::ForearmTwist(side) => limb(side, 3),
            Self::Hand(side) => limb(side, 4),
            Self::Thigh(side) => limb(side, 5),
            Self::Shank(side) => limb(side, 6),
            Self::Foot(side) => limb(side, 7),
        }
    }
}

impl Posture {
    /// Pose of every bone in W, by [`Bone::index`].
    pub fn bones(&self) -> [Pose; Bone::COUNT] {
        std::array::from_fn(|index| match Bone::ALL[index] {
            Bone::Pelvis => self.sitting.pelvis,
            Bone::Abdomen => self.sitting.abdomen,
            Bone::Thorax => self.sitting.thorax,
            Bone::Neck => self.sitting.neck,
            Bone::Head => self.sitting.head,
            Bone::Clavicle(side) => self.arms[side.index()].clavicle(&self.sitting, side),
            Bone::UpperArm(side) => self.arms[side.index()].upper_arm,
            Bone::Forearm(side) => self.arms[side.index()].forearm,
            Bone::ForearmTwist(side) => self.arms[side.index()].forearm_twist(side),
            Bone::Hand(side) => self.arms[side.index()].hand,
            Bone::Thigh(side) => self.legs[side.index()].thigh,
            Bone::Shank(side) => self.legs[side.index()].shank,
            Bone::Foot(side) => self.legs[side.index()].foot,
        })
    }

    /// The pose in which the skin is made: sitting with the back upright, arms forward with the hands round a rod of
    /// radius `tube` (m), legs forward.
    pub fn for_skin(body: &Body, tube: f64) -> Self {
        let arm = ArmAngles::from_array([35.0, 32.0, 5.0, 65.0, 0.0, 0.0, 0.0].map(deg));
        let leg = LegAngles::from_array([85.0, 14.0, 0.0, 55.0, 0.0, 0.0, 0.0].map(deg));
        Self::of_angles(body, tube, &arm, &leg)
    }

    /// An upright trunk with the H-point at the origin, both arms and both legs at these angles, the hands closed
    /// round a rod of radius `tube` (m).
    pub fn of_angles(body: &Body, tube: f64, arm: &ArmAngles, leg: &LegAngles) -> Self {
        let sitting = sitting::upright(body);
        let arms = Side::BOTH.map(|side| arm::of_angles(body, &sitting, side, tube, arm));
        let legs = Side::BOTH.map(|side| leg::of_angles(body, &sitting, side, leg));
        Self { sitting, arms, legs }
    }
}

/// The posture with the wheel straight and the pedals released, clear of what the limbs can keep clear of.
pub fn at_rest(body: &Body, rig: &Rig, brakes_with: Side) -> Posture {
    let sitting = sit(body, rig);
    let legs = legs_at_rest(body, rig, &sitting, brakes_with, &Around::legs(rig));
    let around = Around::arms(body, rig, &sitting, &legs);
    let arms = arms_at_rest(body, rig, &sitting, &around);
    Posture { sitting, arms, legs }
}

fn legs_at_rest(body: &Body, rig: &Rig, sitting: &Sitting, brakes_with: Side, around: &Around) -> [Leg; 2] {
    Side::BOTH.map(|side| leg_at_rest(body, rig, sitting, side, brakes_with, around))
}

fn leg_at_rest(body: &Body, rig: &Rig, sitting: &Sitting, side: Side, brakes_with: Side, around: &Around) -> Leg {
    let task = FootTask::at_rest(rig, brakes_with, side);
    solve_leg_among(body, sitting, side, &task, None, &mut Vicinity::of(around))
}

fn arms_at_rest(body: &Body, rig: &Rig, sitting: &Sitting, around: &Around) -> [Arm; 2] {
    Side::BOTH.map(|side| {
        let task = ArmTask::on_rim(rig, side, 0.0);
        solve_arm_among(body, sitting, side, &task, None, &mut Vicinity::of(around))
    })
}
