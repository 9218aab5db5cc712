//! How a driver is measured at home: each dimension's definition, how it is taken, and a drawing of this very body that
//! shows where the tape goes.

mod figure;
mod hand_and_foot;
mod outline;
mod rig;
mod sheet;

pub use figure::{Figure, Figures, Stroke, StrokeKind, Tape};
pub use rig::RigGuide;
pub use sheet::sheet;

use std::sync::OnceLock;

use serde::Deserialize;

use crate::{body::DimensionName, project::Measurements, units::Unit};

/// How the person stands or sits, and from where they are seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stance {
    /// Standing, seen from the right side.
    StandingSide,
    /// Standing, seen from the front.
    StandingFront,
    /// Standing, arms straight forward, seen from the right side.
    ReachingSide,
    /// Sitting erect on a bench, forearms level, seen from the right side.
    SittingSide,
    /// Sitting erect on a bench, seen from the front.
    SittingFront,
    /// The right hand flat, palm up.
    Hand,
    /// The right foot from above.
    Foot,
}

impl Stance {
    /// Every stance.
    pub const ALL: [Self; 7] = [
        Self::StandingSide,
        Self::StandingFront,
        Self::ReachingSide,
        Self::SittingSide,
        Self::SittingFront,
        Self::Hand,
        Self::Foot,
    ];
}

/// How one dimension is taken: a row of `shared/measuring.csv`.
#[derive(Clone, Debug, Deserialize)]
pub struct Guide {
    /// The project's field, as in [`Measurements::LIST`].
    pub field: String,
    /// How the person stands or sits.
    pub stance: Stance,
    /// From where to where, by the standard, in own words.
    pub definition: String,
    /// How to take it at home with a helper, a wall and a tape: common practice, no published source.
    pub how: String,
}

impl Guide {
    /// Every guide, in the order of [`Measurements::LIST`].
    #[expect(clippy::missing_panics_doc, reason = "the table is part of the program and is read by its tests")]
    pub fn all() -> &'static [Self] {
        static GUIDES: OnceLock<Vec<Guide>> = OnceLock::new();
        GUIDES.get_or_init(|| {
            csv::Reader::from_reader(include_str!("../../shared/measuring.csv").as_bytes())
                .into_deserialize()
                .collect::<Result<_, _>>()
                .expect("shared/measuring.csv is part of the program and is read by its tests")
        })
    }

    /// The guide of a field.
    pub fn of(field: &str) -> Option<&'static Self> {
        Self::all().iter().find(|guide| guide.field == field)
    }

    /// The dimension in the survey.
    pub fn variable(&self) -> &'static str {
        Measurements::LIST.iter().find(|(field, ..)| *field == self.field).map_or("stature", |entry| entry.1)
    }

    /// Its number and name in ISO 7250-1 (from memory) or, where that has none, its name in the ANSUR II survey.
    pub fn standard(&self) -> String {
        let variable = self.variable();
        match &DimensionName::of(variable).iso_7250 {
            Some(name) => format!("ISO 7250-1:2008, {name}"),
            None => format!("ANSUR II: {variable}"),
        }
    }

    /// What a person calls the dimension, its unit and the usual error of measuring it at home.
    pub fn label(&self) -> (&'static str, Unit, f64) {
        let entry = Measurements::LIST.iter().find(|(field, ..)| *field == self.field);
        entry.map_or(("", Unit::Millimetre, 0.0), |&(_, _, label, unit, error)| (label, unit, error))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_dimension_that_can_be_entered_has_a_guide_in_its_place() {
        let fields: Vec<_> = Guide::all().iter().map(|guide| guide.field.as_str()).collect();
        let listed: Vec<_> = Measurements::LIST.iter().map(|&(field, ..)| field).collect();
        assert_eq!(fields, listed);
        for guide in Guide::all() {
            assert!(guide.definition.len() > 20 && guide.how.len() > 40, "{}", guide.field);
        }
    }
}
