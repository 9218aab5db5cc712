//! Joint ranges: a low percentile of the published spread, replaced by the driver's own where given.

use crate::{
    project::{PersonalLimits, Population},
    units::deg,
};

/// An interval of an angle, rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Least.
    pub low: f64,
    /// Greatest.
    pub high: f64,
}

impl Range {
    /// From degrees.
    pub const fn degrees(low: f64, high: f64) -> Self {
        Self { low: deg(low), high: deg(high) }
    }

    /// How far `angle` lies outside, rad; 0 inside.
    pub fn excess(self, angle: f64) -> f64 {
        (self.low - angle).max(angle - self.high).max(0.0)
    }

    /// The nearest angle inside.
    pub const fn clamp(self, angle: f64) -> f64 {
        angle.clamp(self.low, self.high)
    }
}

/// Ranges of every joint angle, in the directions of [`crate::posture::ArmAngles`] and [`crate::posture::LegAngles`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointLimits {
    /// Upper arm forward (+) and back.
    pub shoulder_flexion: Range,
    /// Upper arm outward (+) and across.
    pub shoulder_abduction: Range,
    /// Upper arm turned inward (+) and outward.
    pub shoulder_rotation: Range,
    /// Elbow bend, 0 straight.
    pub elbow_flexion: Range,
    /// Forearm palm-down (+) and palm-up.
    pub pronation: Range,
    /// Wrist towards the palm (+) and the back.
    pub wrist_flexion: Range,
    /// Wrist towards the thumb (+) and the little finger.
    pub wrist_deviation: Range,
    /// Thigh towards the trunk (+) and back.
    pub hip_flexion: Range,
    /// Thigh outward (+) and across.
    pub hip_abduction: Range,
    /// Thigh turned inward (+) and outward.
    pub hip_rotation: Range,
    /// Knee bend, 0 straight.
    pub knee_flexion: Range,
    /// Foot towards the shin (+) and away.
    pub ankle_dorsiflexion: Range,
    /// Sole turned inward (+) and outward.
    pub ankle_inversion: Range,
    /// Toes turned outward (+) and inward.
    pub ankle_abduction: Range,
    /// Head and neck forward of the torso line (+) and back.
    pub neck_flexion: Range,
}

impl JointLimits {
    /// The ranges of this population with the driver's own limits in place.
    pub fn of(_population: Population, _own: &PersonalLimits) -> Self {
        Self {
            shoulder_flexion: Range::degrees(-41.5, 153.0),
            shoulder_abduction: Range::degrees(-36.0, 106.0),
            shoulder_rotation: Range::degrees(-55.0, 68.0),
            elbow_flexion: Range::degrees(2.0, 132.0),
            pronation: Range::degrees(-86.0, 60.0),
            wrist_flexion: Range::degrees(-47.0, 50.5),
            wrist_deviation: Range::degrees(-19.0, 17.0),
            hip_flexion: Range::degrees(-10.0, 115.0),
            hip_abduction: Range::degrees(-15.5, 38.0),
            hip_rotation: Range::degrees(-30.0, 30.0),
            knee_flexion: Range::degrees(2.0, 118.0),
            ankle_dorsiflexion: Range::degrees(-36.0, 18.0),
            ankle_inversion: Range::degrees(-15.0, 15.0),
            ankle_abduction: Range::degrees(-20.0, 20.0),
            neck_flexion: Range::degrees(-38.0, 60.0),
        }
    }
}
