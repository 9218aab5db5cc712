//! What is worn over the body: clothes, helmet or headset. Shoes are part of the skeleton.

use super::{Body, BodyPart, BodySolid};
use crate::{
    geometry::{Side, TaperedCapsule, Vec3},
    posture::{Arm, Leg, Sitting},
    project::{Driver, Headgear},
    units::mm,
};

/// Thicknesses of what is worn, m.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Worn {
    /// One layer of clothes.
    pub clothes: f64,
    /// Helmet or headset: over the skull, and ahead of the eyes.
    pub headgear: Option<[f64; 2]>,
}

impl Worn {
    /// What a driver wears.
    pub fn by(driver: &Driver) -> Self {
        let headgear = driver.headgear.map(|Headgear { over_mm, ahead_mm }| [mm(over_mm), mm(ahead_mm)]);
        Self { clothes: mm(driver.clothing_mm), headgear }
    }

    /// A part of the body with what is worn over it: all but hands and feet is clothed, the head under its headgear.
    fn over(self, solid: BodySolid) -> BodySolid {
        let thickness = match solid.part {
            BodyPart::Hand(_) | BodyPart::Foot(_) | BodyPart::Neck => 0.0,
            BodyPart::Head => self.headgear.map_or(0.0, |[over, _]| over),
            _ => self.clothes,
        };
        let TaperedCapsule { a, b, radius_a, radius_b } = solid.shape;
        let shape = TaperedCapsule { a, b, radius_a: radius_a + thickness, radius_b: radius_b + thickness };
        BodySolid { shape, ..solid }
    }
}

/// The outside of the body in a posture, W: its flesh with what is worn.
impl Body {
    /// Trunk and head.
    pub fn trunk(&self, sitting: &Sitting) -> Vec<BodySolid> {
        let mut solids: Vec<_> = self.flesh.trunk(sitting).into_iter().map(|solid| self.worn.over(solid)).collect();
        if let Some([_, ahead]) = self.worn.headgear.filter(|[_, ahead]| *ahead > 0.0) {
            // A bar across the face, as wide as the eyes and cheeks.
            let turn = sitting.head.rotation;
            let radius = (ahead / 2.0).min(mm(40.0));
            let middle = sitting.eyes + turn * Vec3::x() * (ahead - radius);
            let beside = turn * Vec3::y() * (0.35 * self.dimensions.m("headbreadth"));
            let shape = TaperedCapsule { a: middle + beside, b: middle - beside, radius_a: radius, radius_b: radius };
            solids.push(BodySolid { part: BodyPart::Head, shape });
        }
        solids
    }

    /// One arm, upper arm first.
    pub fn arm(&self, arm: &Arm, side: Side) -> Vec<BodySolid> {
        self.flesh.arm(arm, side).into_iter().map(|solid| self.worn.over(solid)).collect()
    }

    /// One leg, thigh first.
    pub fn leg(&self, leg: &Leg, side: Side) -> Vec<BodySolid> {
        self.flesh.leg(leg, side).into_iter().map(|solid| self.worn.over(solid)).collect()
    }
}
