//! The driver's body: measurements → dimensions → skeleton and joint ranges → flesh and skin.

mod dimensions;
mod flesh;
mod limits;
mod segments;
mod skeleton;
mod skin;
mod survey;

pub use dimensions::{Dimensions, Estimate};
pub use flesh::{BodyPart, BodySolid, Flesh};
pub use limits::{JointLimits, Range};
pub use segments::Segments;
pub use skeleton::Skeleton;
pub use skin::{Binding, Skin, SkinDetail, SkinPart};
pub use survey::{Survey, Variable};

use crate::project::Driver;

/// One person, sized.
#[derive(Clone, Debug)]
pub struct Body {
    /// Every dimension, measured or estimated, with its uncertainty.
    pub dimensions: Dimensions,
    /// Links between joint centres.
    pub skeleton: Skeleton,
    /// Joint ranges, this person's own included.
    pub limits: JointLimits,
    /// Collision shapes.
    pub flesh: Flesh,
}

impl Body {
    /// The body of `driver`, whose project has been checked.
    pub fn of(driver: &Driver) -> Self {
        let dimensions = Dimensions::estimate(driver.population, &driver.measured);
        let skeleton = Skeleton::of(&dimensions, &driver.footwear);
        let limits = JointLimits::of(driver.population, &driver.limits);
        let flesh = Flesh::of(&dimensions, &skeleton);
        Self { dimensions, skeleton, limits, flesh }
    }

    /// Body mass, kg.
    pub fn mass(&self) -> f64 {
        self.dimensions.kg("weightkg")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        geometry::Side,
        project::{Footwear, Measured, Measurements, PersonalLimits, Population},
    };

    /// A person of whom stature (mm) and mass (kg) are known.
    pub(super) fn person(population: Population, stature: f64, mass: f64) -> Body {
        Body::of(&Driver {
            name: String::new(),
            population,
            measured: Measurements {
                stature_mm: Some(Measured { value: stature, error: 5.0 }),
                mass_kg: Some(Measured { value: mass, error: 1.0 }),
                ..Measurements::default()
            },
            footwear: Footwear::default(),
            brakes_with: Side::Left,
            limits: PersonalLimits::default(),
        })
    }
}
