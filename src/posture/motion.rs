//! Steering from side to side with the hands on the rim, and each pedal from rest to full travel.

use super::{Arm, Leg, Moment, Posture};
use crate::{
    body::Body,
    geometry::Side,
    project::{PedalKind, Project},
    rig::Rig,
};

/// Both arms over the steering range, from the largest angle right to the largest left.
#[derive(Clone, Debug)]
pub struct ArmSweep {
    /// Wheel angle, both arms.
    pub steps: Vec<(f64, [Arm; 2])>,
    /// Largest hands-on angle to left and right, rad, both positive.
    pub hands_on: [f64; 2],
    /// What stopped the hands on each side: a joint or reach, in words; `None` where they went all the way asked for.
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
    /// Steering.
    pub arms: ArmSweep,
    /// Pedals.
    pub pedals: Vec<PedalSweep>,
}

/// Moves everything that the project asks for.
pub fn sweep(_body: &Body, _rig: &Rig, _rest: &Posture, _project: &Project) -> Motion {
    todo!()
}

impl Motion {
    /// The posture at any moment.
    pub fn posture_at(&self, _body: &Body, _rig: &Rig, _rest: &Posture, _moment: &Moment) -> Posture {
        todo!()
    }
}
