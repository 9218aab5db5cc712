//! One leg: hip, knee and ankle to a foot whose heel rests and whose ball is on a pedal.

use super::Sitting;
use crate::{
    body::Body,
    geometry::{Pose, Side, Vec3},
    project::PedalKind,
    rig::Rig,
};

/// Joint angles of a leg, rad, zero standing.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct LegAngles {
    /// Thigh towards the trunk (+); the hip angle (trunk to thigh) is π less this, seen from the side.
    pub hip_flexion: f64,
    /// Thigh outward (+).
    pub hip_abduction: f64,
    /// Thigh turned inward (+).
    pub hip_rotation: f64,
    /// Knee bend; the included angle is π less this.
    pub knee_flexion: f64,
    /// Foot towards the shin (+); the ankle angle (shank to sole) is 90° less this.
    pub ankle_dorsiflexion: f64,
    /// Sole turned inward (+).
    pub ankle_inversion: f64,
    /// Toes turned outward (+).
    pub ankle_abduction: f64,
}

/// What a foot has to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FootTask {
    /// The pedal it is on; `None` for a foot that rests.
    pub pedal: Option<PedalKind>,
    /// Travel of that pedal, m.
    pub travel: f64,
}

/// One leg in place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Thigh, origin in the hip.
    pub thigh: Pose,
    /// Shank, origin in the knee.
    pub shank: Pose,
    /// Foot, origin in the ankle; x along the sole to the toes, z normal to the sole.
    pub foot: Pose,
    /// Joint angles.
    pub angles: LegAngles,
    /// Rear of the heel at the bottom of the sole, W.
    pub heel: Vec3,
    /// Ball of the foot at the bottom of the sole, W.
    pub ball: Vec3,
    /// The pedal it is on.
    pub pedal: Option<PedalKind>,
    /// How far the ball stays from the pedal, m; 0 where it is on the face.
    pub shortfall: f64,
    /// How far the heel is above its rest, m.
    pub heel_lift: f64,
    /// How far the heel has slid from where it stood with the pedal released, m, forward positive.
    pub heel_slide: f64,
    /// Spare freedom: the knee out of the plane of hip, ankle and vertical, outward positive, rad.
    pub splay: f64,
    /// What the pose costs in discomfort.
    pub discomfort: f64,
}

impl Leg {
    /// Hip joint centre.
    pub fn hip(&self) -> Vec3 {
        self.thigh.translation.vector
    }

    /// Knee centre.
    pub fn knee(&self) -> Vec3 {
        self.shank.translation.vector
    }

    /// Ankle centre.
    pub fn ankle(&self) -> Vec3 {
        self.foot.translation.vector
    }
}

impl FootTask {
    /// What this foot does while nothing is pressed.
    pub fn at_rest(_rig: &Rig, _body: &Body, _sitting: &Sitting, _side: Side) -> Self {
        todo!()
    }
}

/// Solves a leg; `from` is a neighbouring solution to follow without a jump.
pub fn solve_leg(_body: &Body, _sitting: &Sitting, _side: Side, _task: &FootTask, _from: Option<&Leg>) -> Leg {
    todo!()
}

/// A leg as on a pedal, for making the skin.
pub(super) fn for_skin(_body: &Body, _sitting: &Sitting, _side: Side) -> Leg {
    todo!()
}
