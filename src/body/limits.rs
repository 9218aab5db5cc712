//! Joint ranges: a low percentile of the published spread, replaced by the driver's own where given.

use std::sync::OnceLock;

use serde::Deserialize;

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

    /// Ends the range at a limit of the driver's own, if there is one.
    fn end_at(&mut self, own_deg: Option<f64>) {
        if let Some(own) = own_deg {
            self.high = deg(own);
            self.low = self.low.min(self.high);
        }
    }

    /// Begins the range at a limit of the driver's own, counted in the negative direction, if there is one.
    fn begin_at(&mut self, own_deg: Option<f64>) {
        if let Some(own) = own_deg {
            self.low = -deg(own);
            self.high = self.high.max(self.low);
        }
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

/// Which end of a range a row of the table gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum End {
    Low,
    High,
}

/// A row of `shared/joint_ranges.csv`: how far a motion goes, degrees, positive in the direction of its name.
#[derive(Debug, Deserialize)]
struct Row {
    joint: String,
    end: End,
    men: f64,
    women: f64,
}

fn table() -> &'static [Row] {
    static TABLE: OnceLock<Vec<Row>> = OnceLock::new();
    TABLE.get_or_init(|| {
        csv::Reader::from_reader(include_str!("../../shared/joint_ranges.csv").as_bytes())
            .into_deserialize()
            .collect::<Result<_, _>>()
            .expect("the compiled-in table of joint ranges is well-formed")
    })
}

/// The published range of a joint. Each joint has both ends in the table: the tests read them all.
fn published(population: Population, joint: &str) -> Range {
    let reach = |end: End| {
        let row = table().iter().find(|row| row.joint == joint && row.end == end);
        let row = row.unwrap_or_else(|| panic!("no row for {joint}, {end:?} in the table of joint ranges"));
        match population {
            Population::Men => row.men,
            Population::Women => row.women,
        }
    };
    Range::degrees(-reach(End::Low), reach(End::High))
}

impl JointLimits {
    /// The ranges of this population (`shared/joint_ranges.csv`) with the driver's own limits in place.
    pub fn of(population: Population, own: &PersonalLimits) -> Self {
        let published = |joint: &str| published(population, joint);
        let mut limits = Self {
            shoulder_flexion: published("shoulder_flexion"),
            shoulder_abduction: published("shoulder_abduction"),
            shoulder_rotation: published("shoulder_rotation"),
            elbow_flexion: published("elbow_flexion"),
            pronation: published("pronation"),
            wrist_flexion: published("wrist_flexion"),
            wrist_deviation: published("wrist_deviation"),
            hip_flexion: published("hip_flexion"),
            hip_abduction: published("hip_abduction"),
            hip_rotation: published("hip_rotation"),
            knee_flexion: published("knee_flexion"),
            ankle_dorsiflexion: published("ankle_dorsiflexion"),
            ankle_inversion: published("ankle_inversion"),
            ankle_abduction: published("ankle_abduction"),
            neck_flexion: published("neck_flexion"),
        };
        limits.hip_flexion.end_at(own.hip_flexion_deg);
        limits.knee_flexion.end_at(own.knee_flexion_deg);
        limits.ankle_dorsiflexion.end_at(own.ankle_dorsiflexion_deg);
        limits.ankle_dorsiflexion.begin_at(own.ankle_plantarflexion_deg);
        limits.elbow_flexion.end_at(own.elbow_flexion_deg);
        limits.wrist_flexion.end_at(own.wrist_flexion_deg);
        limits.wrist_flexion.begin_at(own.wrist_extension_deg);
        limits
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_belongs_to_a_joint_and_every_range_is_one() {
        for population in [Population::Men, Population::Women] {
            // A joint without both rows panics here.
            let limits = JointLimits::of(population, &PersonalLimits::default());
            for range in [limits.shoulder_flexion, limits.hip_flexion, limits.knee_flexion, limits.neck_flexion] {
                assert!(range.low < range.high);
            }
        }
        assert_eq!(table().len(), 2 * 15);
    }

    #[test]
    fn own_limits_replace_the_table() {
        let own = PersonalLimits {
            ankle_dorsiflexion_deg: Some(4.0),
            ankle_plantarflexion_deg: Some(10.0),
            knee_flexion_deg: Some(90.0),
            wrist_extension_deg: Some(0.0),
            ..PersonalLimits::default()
        };
        let limits = JointLimits::of(Population::Men, &own);
        assert_eq!(limits.ankle_dorsiflexion, Range::degrees(-10.0, 4.0));
        assert_eq!(limits.knee_flexion, Range::degrees(2.0, 90.0));
        assert_eq!(limits.wrist_flexion, Range::degrees(0.0, 50.5));
    }

    #[test]
    fn a_stiff_straight_knee_is_still_a_range() {
        let own = PersonalLimits { knee_flexion_deg: Some(0.0), ..PersonalLimits::default() };
        let knee = JointLimits::of(Population::Women, &own).knee_flexion;
        assert!(knee.low <= knee.high);
        assert!(knee.clamp(1.0).abs() < 1e-12);
    }
}
