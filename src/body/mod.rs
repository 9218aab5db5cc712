//! The driver's body: measurements → dimensions → skeleton and joint ranges → flesh and skin.

mod dimensions;
mod draw;
mod flesh;
mod limits;
mod names;
mod segments;
mod skeleton;
mod skin;
mod slips;
mod survey;
mod worn;

pub use dimensions::{Dimensions, Estimate};
pub use draw::Draw;
pub use flesh::{BodyPart, BodySolid, Flesh};
pub use limits::{JointLimits, Range};
pub use names::{DimensionGroup, DimensionName};
pub use segments::Segments;
pub use skeleton::Skeleton;
pub use skin::{Binding, Skin, SkinDetail, SkinPart};
pub use slips::{BodySlip, Seen, Warning};
pub use survey::{Survey, Variable};
pub use worn::Worn;

use crate::project::{Driver, Pelvis};

/// One person, sized.
#[derive(Clone, Debug)]
pub struct Body {
    /// Every dimension, measured or estimated, with its uncertainty.
    pub dimensions: Dimensions,
    /// Links between joint centres.
    pub skeleton: Skeleton,
    /// Joint ranges, this person's own included.
    pub limits: JointLimits,
    /// Collision shapes of the bare body in its shoes.
    pub flesh: Flesh,
    /// What is worn over it.
    pub worn: Worn,
    /// How the pelvis is held.
    pub pelvis: Pelvis,
}

impl Body {
    /// The body of `driver`, whose project has been checked.
    pub fn of(driver: &Driver) -> Self {
        Self::sized(driver, Dimensions::estimate(driver.population, &driver.measured))
    }

    /// A body of these dimensions, in the clothes and with the joints of `driver`.
    pub fn sized(driver: &Driver, dimensions: Dimensions) -> Self {
        let skeleton = Skeleton::of(&dimensions, &driver.footwear);
        let limits = JointLimits::of(driver.population, &driver.limits);
        let flesh = Flesh::of(&dimensions, &skeleton);
        Self { dimensions, skeleton, limits, flesh, worn: Worn::by(driver), pelvis: driver.pelvis }
    }

    /// Body mass, kg.
    pub fn mass(&self) -> f64 {
        self.dimensions.kg("weightkg")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Measured, Measurements, Population};

    /// A person of whom stature (mm) and mass (kg) are known.
    pub(super) fn person(population: Population, stature: f64, mass: f64) -> Body {
        let measured = Measurements {
            stature_mm: Some(Measured::new(stature, 5.0)),
            mass_kg: Some(Measured::new(mass, 1.0)),
            ..Measurements::default()
        };
        Body::of(&Driver::measured(population, measured))
    }
}
