//! The survey tables: means, spreads and correlations of ANSUR II (`shared/ansur2/README.md`).

use std::sync::OnceLock;

use nalgebra::DMatrix;
use serde::Deserialize;

use crate::{project::Population, units::Unit};

/// Heights over the seat that the survey did not measure, as sums of what it did: the trunk is taken to be as long
/// sitting as standing. Their name in the table of statistics, and the height standing that each comes from.
const OVER_SEAT: [(&str, &str); 3] = [
    ("acromialheightsitting_derived", "acromialheight"),
    ("cervicaleheightsitting_derived", "cervicaleheight"),
    ("suprasternaleheightsitting_derived", "suprasternaleheight"),
];

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

/// One population of the survey: its variables, and behind them the sums of variables that are dimensions too.
#[derive(Debug)]
pub struct Survey {
    variables: Vec<Variable>,
    covariance: DMatrix<f64>,
    /// F with F Fᵀ the covariance; one column for each variable that is no sum.
    factor: DMatrix<f64>,
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
    pub const fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// F with F Fᵀ the covariance: a person is μ + F n with n standard normal.
    pub const fn factor(&self) -> &DMatrix<f64> {
        &self.factor
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
        let known = |name: &str| {
            let known = stats.iter().find(|variable| variable.name == name);
            known.expect("each dimension has its statistics").clone()
        };
        let mut variables: Vec<Variable> = rows.iter().map(|(name, _)| known(name)).collect();
        let own = DMatrix::from_fn(rows.len(), rows.len(), |row, column| {
            rows[row].1[column] * variables[row].sd * variables[column].sd
        });

        // C: each dimension as a sum of variables.
        let index = |name: &str| rows.iter().position(|(other, _)| other == name).expect("a variable of the survey");
        let mut sums = DMatrix::identity(rows.len() + OVER_SEAT.len(), rows.len());
        for (place, (_, standing)) in OVER_SEAT.into_iter().enumerate() {
            for (variable, weight) in [(standing, 1.0), ("stature", -1.0), ("sittingheight", 1.0)] {
                sums[(rows.len() + place, index(variable))] = weight;
            }
        }
        let covariance = &sums * &own * sums.transpose();
        let factor = &sums * own.cholesky().expect("the correlations are positive definite as written").l();
        for (place, (name, standing)) in OVER_SEAT.into_iter().enumerate() {
            let at = rows.len() + place;
            let mean = |name: &str| variables[index(name)].mean;
            let mean = mean(standing) - mean("stature") + mean("sittingheight");
            variables.push(Variable { mean, sd: covariance[(at, at)].sqrt(), ..known(name) });
        }
        Self { variables, covariance, factor }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn covariance_is_symmetric_and_that_of_the_factor() {
        for population in [Population::Men, Population::Women] {
            let survey = Survey::of(population);
            assert_eq!(survey.variables().len(), 77 + 3);
            let (covariance, factor) = (survey.covariance(), survey.factor());
            assert!((covariance - covariance.transpose()).amax() < 1e-9);
            assert!((covariance - factor * factor.transpose()).amax() < 1e-8);
        }
    }

    #[test]
    fn sums_have_the_statistics_of_the_people_they_were_summed_over() {
        // The table has them person by person; here they come from means and correlations.
        let tables = [
            (Population::Men, include_str!("../../shared/ansur2/men_stats.csv")),
            (Population::Women, include_str!("../../shared/ansur2/women_stats.csv")),
        ];
        for (population, table) in tables {
            let survey = Survey::of(population);
            for (name, _) in OVER_SEAT {
                let row = table.lines().find(|line| line.starts_with(name)).unwrap();
                let number = |at: usize| row.split(',').nth(at).unwrap().parse::<f64>().unwrap();
                let variable = &survey.variables()[survey.index(name).unwrap()];
                assert!((variable.mean - number(3)).abs() < 0.02, "{name}: {}", variable.mean);
                assert!((variable.sd - number(4)).abs() < 0.02, "{name}: {} for {}", variable.sd, number(4));
            }
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
        assert_eq!(survey.mean("tailbone"), None);
    }
}
