//! What dimensions are called (`shared/dimensions.csv`).

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

/// Dimensions that are listed together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DimensionGroup {
    /// Stature, mass, span.
    Whole,
    /// Over the floor.
    Standing,
    /// Over the seat or the foot support, and along the thigh.
    Sitting,
    /// Across and through the trunk.
    Breadths,
    /// Reach, arms, hands, back.
    Arms,
    /// Feet.
    Feet,
    /// Girths.
    Girths,
    /// Head and face.
    Head,
}

impl DimensionGroup {
    /// All groups in reading order.
    pub const ALL: [Self; 8] =
        [Self::Whole, Self::Standing, Self::Sitting, Self::Breadths, Self::Arms, Self::Feet, Self::Girths, Self::Head];

    /// The heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Whole => "Whole body",
            Self::Standing => "Heights, standing",
            Self::Sitting => "Sitting",
            Self::Breadths => "Breadths and depths",
            Self::Arms => "Arms and back",
            Self::Feet => "Feet",
            Self::Girths => "Girths",
            Self::Head => "Head",
        }
    }
}

/// What one dimension is called.
#[derive(Clone, Debug, Deserialize)]
pub struct DimensionName {
    /// Its name in the survey.
    pub variable: String,
    /// Where it is listed.
    pub group: DimensionGroup,
    /// What a person calls it.
    pub label: String,
    /// Number and name in ISO 7250-1:2008, from memory, where it has one.
    pub iso_7250: Option<String>,
}

impl DimensionName {
    /// Every dimension, in reading order.
    #[expect(clippy::missing_panics_doc, reason = "the table is compiled in and read by the tests")]
    pub fn all() -> &'static [Self] {
        static TABLE: OnceLock<Vec<DimensionName>> = OnceLock::new();
        TABLE.get_or_init(|| {
            csv::Reader::from_reader(include_str!("../../shared/dimensions.csv").as_bytes())
                .into_deserialize()
                .collect::<Result<_, _>>()
                .expect("the compiled-in table of dimensions is well-formed")
        })
    }

    /// What a variable of the survey is called.
    ///
    /// # Panics
    /// If the table has no such variable: a slip of ours, caught by the tests.
    pub fn of(variable: &str) -> &'static Self {
        let name = Self::all().iter().find(|name| name.variable == variable);
        name.unwrap_or_else(|| panic!("no row {variable} in the table of dimensions"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        body::Survey,
        project::{Measurements, Population},
    };

    #[test]
    fn every_dimension_has_a_name_of_its_own() {
        let survey = Survey::of(Population::Men);
        assert_eq!(DimensionName::all().len(), survey.variables().len());
        let mut labels: Vec<&str> =
            survey.variables().iter().map(|variable| DimensionName::of(&variable.name).label.as_str()).collect();
        labels.sort_unstable();
        labels.dedup();
        assert_eq!(labels.len(), survey.variables().len());
        for &(_, variable, label, ..) in Measurements::LIST {
            assert_eq!(DimensionName::of(variable).label, label);
        }
    }
}
