//! Steering wheel and wheel unit, placed.

use crate::{
    geometry::{Pose, RimPath, RimSolid, RoundedBox, TaperedCapsule, Vec3},
    project::Project,
};

/// The placed wheel.
#[derive(Clone, Debug)]
pub struct WheelPart {
    /// Rim frame R in W with the wheel straight: x along the shaft towards the driver, y left, z to 12 o'clock.
    pub X_WR: Pose,
    /// Centre line of the rim.
    pub path: RimPath,
    /// Radius of the rim's tube, m.
    pub tube: f64,
    /// Wheel angle at the stop, rad, each way.
    pub lock: f64,
    /// Clock angle of the hands, rad from 12 o'clock, clockwise as the driver sees it: left, right.
    pub hands: [f64; 2],
    /// The wheel unit.
    pub unit: RoundedBox,
    /// The shaft and hub between rim plane and unit.
    pub hub: TaperedCapsule,
}

impl WheelPart {
    /// Places the wheel of a project.
    pub fn place(_project: &Project) -> Self {
        todo!()
    }

    /// Pose of the rim frame with the wheel turned by `steer` (rad, left positive).
    pub fn rim_pose(&self, steer: f64) -> Pose {
        let turn = nalgebra::UnitQuaternion::from_axis_angle(&Vec3::x_axis(), steer);
        self.X_WR * Pose::from_parts(nalgebra::Translation3::identity(), turn)
    }

    /// The rim at a wheel angle.
    pub fn rim(&self, steer: f64) -> RimSolid {
        RimSolid { pose: self.rim_pose(steer), path: self.path.clone(), tube: self.tube }
    }
}
