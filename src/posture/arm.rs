//! One arm: shoulder, elbow and wrist to a hand that holds the rim.

use super::Sitting;
use crate::{
    body::Body,
    geometry::{Pose, Side, Vec3},
    rig::Rig,
};

/// Joint angles of an arm, rad, zero hanging with the thumb forward.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct ArmAngles {
    /// Upper arm forward (+) of the trunk line.
    pub shoulder_flexion: f64,
    /// Upper arm outward (+).
    pub shoulder_abduction: f64,
    /// Upper arm turned inward (+).
    pub shoulder_rotation: f64,
    /// Elbow bend; the included angle is π less this.
    pub elbow_flexion: f64,
    /// Palm turned down or back (+).
    pub pronation: f64,
    /// Towards the palm (+), towards the back of the hand (−).
    pub wrist_flexion: f64,
    /// Towards the thumb (+), towards the little finger (−).
    pub wrist_deviation: f64,
}

/// What a hand has to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArmTask {
    /// Where the middle of the grip has to be, W.
    pub grip: Vec3,
    /// The rod's direction towards the thumb, W, unit.
    pub tangent: Vec3,
    /// Away from the driver along the shaft, W, unit: where the hand points before it is rolled.
    pub away: Vec3,
    /// Radius of the rod, m.
    pub tube: f64,
}

/// One arm in place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arm {
    /// Collar bone, origin at the neck end.
    pub clavicle: Pose,
    /// Upper arm.
    pub upper_arm: Pose,
    /// Forearm at the elbow.
    pub forearm: Pose,
    /// Forearm with half the hand's turn.
    pub forearm_twist: Pose,
    /// Hand, origin in the wrist.
    pub hand: Pose,
    /// Joint angles.
    pub angles: ArmAngles,
    /// Middle of the closed hand, W.
    pub grip: Vec3,
    /// How far the grip stays from its target, m; 0 where it holds it.
    pub shortfall: f64,
    /// How far the shoulder has left the seat to get there, m.
    pub protraction: f64,
    /// Spare freedom: swivel of the elbow about the line from shoulder to wrist, outward positive, rad.
    pub swivel: f64,
    /// Spare freedom: roll of the hand about the rod, rad.
    pub roll: f64,
    /// What the pose costs in discomfort.
    pub discomfort: f64,
}

impl Arm {
    /// Shoulder joint centre.
    pub fn shoulder(&self) -> Vec3 {
        self.upper_arm.translation.vector
    }

    /// Elbow centre.
    pub fn elbow(&self) -> Vec3 {
        self.forearm.translation.vector
    }

    /// Wrist centre.
    pub fn wrist(&self) -> Vec3 {
        self.hand.translation.vector
    }
}

impl ArmTask {
    /// To hold the rim where this hand holds it, with the wheel turned by `steer`.
    pub fn on_rim(_rig: &Rig, _body: &Body, _side: Side, _steer: f64) -> Self {
        todo!()
    }
}

/// Solves an arm; `from` is a neighbouring solution to follow without a jump.
pub fn solve_arm(_body: &Body, _sitting: &Sitting, _side: Side, _task: &ArmTask, _from: Option<&Arm>) -> Arm {
    todo!()
}

/// Arms as on a wheel, for making the skin.
pub(super) fn for_skin(_body: &Body, _sitting: &Sitting, _side: Side) -> Arm {
    todo!()
}
