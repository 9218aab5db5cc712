//! The survey tables: means, spreads and correlations of ANSUR II (`shared/ansur2/README.md`).

use std::sync::OnceLock;

use nalgebra::DMatrix;
use serde::Deserialize;

use crate::{project::Population, units::Unit};

/// One variable of the survey, in its unit.
#[derive(Clone, Debug, Deserialize)]
pub struct Variable {
    /// Its name in the survey.
    #[serde(rename = "variable")]
    pub name: String,
    /// Millimetres or kilograms.
    pub unit: Unit,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// The smallest person measured.
    #[serde(rename = "min")]
    pub least: f64,
    /// The largest person measured.
    #[serde(rename = "max")]
    pub greatest: f64,
}

/// One population of the survey.
#[derive(Debug)]
pub struct Survey {
    variables: Vec<Variable>,
    covariance: DMatrix<f64>,
}

impl Survey {
    /// The tables of a population, read once.
    pub fn of(population: Population) -> &'static Self {
        static MEN: OnceLock<Survey> = OnceLock::new();
        static WOMEN: OnceLock<Survey> = OnceLock::new();
        match population {
            Population::Men => MEN.get_or_init(|| {
                Self::read(
                    include_str!("../../shared/ansur2/men_stats.csv"),
                    include_str!("../../shared/ansur2/men_correlation.csv"),
                )
            }),
            Population::Women => WOMEN.get_or_init(|| {
                Self::read(
                    include_str!("../../shared/ansur2/women_stats.csv"),
                    include_str!("../../shared/ansur2/women_correlation.csv"),
                )
            }),
        }
    }

    /// Every variable, in table order.
    pub fn variables(&self) -> &[Variable] {
        &self.variables
    }

    /// Place of a variable in [`Survey::variables`]; `None` for a name that the survey does not have.
    pub fn index(&self, variable: &str) -> Option<usize> {
        self.variables.iter().position(|known| known.name == variable)
    }

    /// Mean of a variable, mm or kg; `None` for a name that the survey does not have.
    pub fn mean(&self, variable: &str) -> Option<f64> {
        Some(self.variables[self.index(variable)?].mean)
    }

    /// Covariance of all variables in table order, in products of their units.
    pub fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// Reads both tables. They are compiled in, so a fault in them is ours and the tests meet it.
    fn read(stats: &str, correlation: &str) -> Self {
        let stats: Vec<Variable> = csv::Reader::from_reader(stats.as_bytes())
            .into_deserialize()
            .collect::<Result<_, _>>()
            .expect("the compiled-in table of statistics is well-formed");
        let rows: Vec<(String, Vec<f64>)> = csv::Reader::from_reader(correlation.as_bytes())
            .into_deserialize()
            .collect::<Result<_, _>>()
            .expect("the compiled-in table of correlations is well-formed");

        // The correlations leave out what is a sum of other variables.
        let variables: Vec<Variable> = rows
            .iter()
            .map(|(name, _)| {
                let known = stats.iter().find(|variable| variable.name == *name);
                known.expect("each correlated variable has its statistics").clone()
            })
            .collect();
        let covariance = DMatrix::from_fn(rows.len(), rows.len(), |row, column| {
            rows[row].1[column] * variables[row].sd * variables[column].sd
        });
        Self { variables, covariance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn covariance_is_symmetric_and_positive_definite() {
        for population in [Population::Men, Population::Women] {
            let survey = Survey::of(population);
            assert_eq!(survey.variables().len(), 77);
            let covariance = survey.covariance();
            assert!((covariance - covariance.transpose()).amax() < 1e-9);
            assert!(covariance.clone().cholesky().is_some());
        }
    }

    #[test]
    fn a_row_reads_as_the_table_says() {
        // The second and third rows of shared/ansur2/men_stats.csv and their correlation, copied by hand.
        let survey = Survey::of(Population::Men);
        let (mass, sitting) = (survey.index("weightkg").unwrap(), survey.index("sittingheight").unwrap());
        let variable = &survey.variables()[mass];
        assert_eq!(variable.unit, Unit::Kilogram);
        assert!((variable.mean - 85.36).abs() < 1e-12 && (variable.sd - 14.23).abs() < 1e-12);
        let expected = 0.41741 * 14.23 * 36.08;
        assert!((survey.covariance()[(mass, sitting)] - expected).abs() < 1e-9);
        assert_eq!(survey.mean("acromialheightsitting_derived"), None);
    }
}
