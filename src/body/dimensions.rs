//! Every dimension of one person: the survey's normal distribution conditioned on what was measured.

use nalgebra::{DMatrix, DVector};

use super::{DimensionName, Survey, Warning, slips};
use crate::{
    project::{Measured, Measurements, Population},
    units::Unit,
};

/// Least estimate of a dimension that was not measured, as a share of the survey's mean: a linear model
/// extrapolated to a body far outside the survey would pass zero. Own choice, below any adult.
pub(super) const FLOOR: f64 = 0.4;

/// No tape and no scale is finer, mm or kg; it keeps measurements that follow from one another apart.
pub(super) const FINEST: f64 = 0.01;

/// What is known of one dimension, mm or kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Most likely value.
    pub mean: f64,
    /// One standard deviation.
    pub sd: f64,
    /// What was measured, if it was.
    pub measured: Option<Measured>,
    /// Share of the population below the value, 0 to 1.
    pub percentile: f64,
    /// Outside everyone in the survey, so resting on extrapolation.
    pub beyond_survey: bool,
}

/// All dimensions of one person.
#[derive(Clone, Debug)]
pub struct Dimensions {
    population: Population,
    survey: &'static Survey,
    estimates: Vec<Estimate>,
    /// Places of the measured variables in the survey.
    taken: Vec<usize>,
    /// K, from measured to all variables.
    gain: DMatrix<f64>,
    warnings: Vec<Warning>,
}

impl Dimensions {
    /// Conditions the survey on what was measured; with nothing measured, the population's mean.
    ///
    /// K = Σ Hᵀ (H Σ Hᵀ + R)⁻¹, mean μ + K (z − H μ), covariance Σ − K H Σ, with H picking the measured variables and
    /// R their measuring errors squared. A dimension that was not measured is held above 0.4 of the survey's
    /// mean, with a warning.
    #[expect(clippy::missing_panics_doc, reason = "each expectation holds whatever was measured")]
    pub fn estimate(population: Population, measured: &Measurements) -> Self {
        let survey = Survey::of(population);
        let (variables, sigma) = (survey.variables(), survey.covariance());
        let (taken, measured): (Vec<usize>, Vec<Measured>) = measured
            .taken()
            .map(|(name, value)| {
                (survey.index(name).expect("every dimension that can be measured is in the survey"), value)
            })
            .unzip();

        // S = H Σ Hᵀ + R is positive definite because R is.
        let spread = DMatrix::from_fn(taken.len(), taken.len(), |row, column| {
            let error = if row == column { measured[row].error.max(FINEST).powi(2) } else { 0.0 };
            sigma[(taken[row], taken[column])] + error
        });
        let precision =
            spread.cholesky().expect("a covariance plus a positive diagonal is positive definite").inverse();
        let innovation = DVector::from_iterator(
            taken.len(),
            taken.iter().zip(&measured).map(|(&at, measured)| measured.value - variables[at].mean),
        );
        let crossed = sigma.select_columns(&taken);
        let gain = &crossed * &precision;
        let shift = &gain * &innovation;

        let mut estimates: Vec<Estimate> = variables
            .iter()
            .enumerate()
            .map(|(at, variable)| {
                let explained = gain.row(at).dot(&crossed.row(at));
                let linear = variable.mean + shift[at];
                let mean = linear.max(FLOOR * variable.mean);
                Estimate {
                    mean,
                    sd: (sigma[(at, at)] - explained).max(0.0).sqrt(),
                    measured: None,
                    percentile: normal_share_below((mean - variable.mean) / variable.sd),
                    beyond_survey: !(variable.least..=variable.greatest).contains(&mean),
                }
            })
            .collect();
        for (&at, &measured) in taken.iter().zip(&measured) {
            estimates[at].measured = Some(measured);
        }

        let pairs: Vec<(usize, Measured)> = taken.iter().copied().zip(measured).collect();
        let mut warnings = slips::warnings(population, &pairs);
        let held: Vec<&str> = variables
            .iter()
            .zip(&estimates)
            .filter(|(variable, estimate)| estimate.measured.is_none() && estimate.mean <= FLOOR * variable.mean)
            .map(|(variable, _)| DimensionName::of(&variable.name).label.as_str())
            .collect();
        if !held.is_empty() {
            warnings.push(Warning::Held { labels: held });
        }
        Self { population, survey, estimates, taken, gain, warnings }
    }

    /// The survey behind what was not measured.
    pub const fn population(&self) -> Population {
        self.population
    }

    /// What is known of a variable.
    ///
    /// # Panics
    /// If the survey has no such variable: a slip of ours, caught by the tests.
    pub fn get(&self, variable: &str) -> Estimate {
        self.known(variable).1
    }

    /// Unit of a variable and what is known of it.
    ///
    /// # Panics
    /// As [`Dimensions::get`].
    pub fn known(&self, variable: &str) -> (Unit, Estimate) {
        let at = self.survey.index(variable).unwrap_or_else(|| panic!("the survey has no variable {variable}"));
        (self.survey.variables()[at].unit, self.estimates[at])
    }

    /// A length, m.
    pub fn m(&self, variable: &str) -> f64 {
        crate::units::mm(self.get(variable).mean)
    }

    /// A mass, kg.
    pub fn kg(&self, variable: &str) -> f64 {
        self.get(variable).mean
    }

    /// Every dimension in table order: name, unit, what is known.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, Unit, Estimate)> + '_ {
        let known = self.survey.variables().iter().zip(&self.estimates);
        known.map(|(variable, &estimate)| (variable.name.as_str(), variable.unit, estimate))
    }

    /// Names of the measured dimensions, in the order of [`Measurements::LIST`].
    pub fn measured(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.taken.iter().map(|&at| self.survey.variables()[at].name.as_str())
    }

    /// Covariance of all dimensions in table order, in products of their units.
    pub fn covariance(&self) -> DMatrix<f64> {
        let sigma = self.survey.covariance();
        let covariance = sigma - &self.gain * sigma.select_rows(&self.taken);
        0.5 * (&covariance + covariance.transpose())
    }

    /// What a person should look at again: measurements and estimates that may not be trusted.
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    pub(super) const fn survey(&self) -> &'static Survey {
        self.survey
    }

    pub(super) fn taken(&self) -> &[usize] {
        &self.taken
    }

    /// Measuring errors of [`Dimensions::taken`], one standard deviation.
    pub(super) fn errors(&self) -> Vec<f64> {
        let error = |&at: &usize| self.estimates[at].measured.map_or(0.0, |measured| measured.error.max(FINEST));
        self.taken.iter().map(error).collect()
    }

    pub(super) const fn gain(&self) -> &DMatrix<f64> {
        &self.gain
    }

    /// Someone of whom all is known: each dimension moved by so much, none below its floor.
    pub(super) fn moved(&self, by: &DVector<f64>) -> Self {
        let mut person = self.clone();
        for ((estimate, variable), by) in person.estimates.iter_mut().zip(self.survey.variables()).zip(by.iter()) {
            estimate.mean = (estimate.mean + by).max(FLOOR * variable.mean);
            estimate.sd = 0.0;
        }
        person.warnings.clear();
        person
    }
}

/// The share of a standard normal distribution below `z`.
///
/// Abramowitz & Stegun, Handbook of Mathematical Functions (1964), 7.1.26; error at most 1.5e-7.
fn normal_share_below(z: f64) -> f64 {
    let x = z.abs() / std::f64::consts::SQRT_2;
    let t = (1.0 + 0.327_591_1 * x).recip();
    let polynomial =
        t * (0.254_829_592 + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let above = 0.5 * polynomial * (-x * x).exp();
    if z < 0.0 { above } else { 1.0 - above }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(value: f64, error: f64) -> Measured {
        Measured::new(value, error)
    }

    #[test]
    fn normal_shares_are_those_of_the_printed_table() {
        // Any table of the normal distribution: Φ(1) = 0.841345, Φ(1.644854) = 0.95, Φ(2.326348) = 0.99.
        for (z, share) in [(0.0, 0.5), (1.0, 0.841_345), (1.644_854, 0.95), (2.326_348, 0.99)] {
            assert!((normal_share_below(z) - share).abs() < 1e-6);
            assert!((normal_share_below(-z) - (1.0 - share)).abs() < 1e-6);
        }
    }

    #[test]
    fn nothing_measured_is_the_mean_of_the_survey() {
        let dimensions = Dimensions::estimate(Population::Women, &Measurements::default());
        let survey = Survey::of(Population::Women);
        for ((_, _, estimate), variable) in dimensions.iter().zip(survey.variables()) {
            assert!((estimate.mean - variable.mean).abs() < 1e-9 && (estimate.sd - variable.sd).abs() < 1e-6);
            assert!((estimate.percentile - 0.5).abs() < 1e-6);
        }
        assert!(dimensions.warnings().is_empty());
    }

    #[test]
    fn an_error_pulls_the_measurement_to_the_mean_by_the_hand_calculated_share() {
        // One variable: weight σ² / (σ² + r²) = 68.87² / (68.87² + 30²) = 0.840509; 1756.01 + 0.840509 · 143.99 = 1877.035,
        // sd = √(σ² r² / (σ² + r²)) = 68.87 · 30 / √(68.87² + 30²) = 27.5038.
        let taken = Measurements { stature_mm: Some(measured(1900.0, 30.0)), ..Measurements::default() };
        let stature = Dimensions::estimate(Population::Men, &taken).get("stature");
        assert!((stature.mean - 1877.035).abs() < 0.01, "{stature:?}");
        assert!((stature.sd - 27.5038).abs() < 0.001, "{stature:?}");
        assert_eq!(stature.measured, Some(measured(1900.0, 30.0)));
    }

    #[test]
    fn a_strange_body_is_said_to_be_outside() {
        let small = Measurements { stature_mm: Some(measured(900.0, 8.0)), ..Measurements::default() };
        let dimensions = Dimensions::estimate(Population::Men, &small);
        let kinds: Vec<_> = dimensions.warnings().iter().map(Warning::kind).collect();
        assert_eq!(kinds, ["child", "beyond_survey", "held"]);
        assert!(dimensions.warnings()[1].to_string().contains("outside the survey (1491 mm to 1993 mm)"));
        assert!(dimensions.get("stature").beyond_survey && dimensions.get("weightkg").beyond_survey);
    }

    #[test]
    fn every_dimension_of_an_impossible_body_is_finite_and_positive() {
        for population in [Population::Men, Population::Women] {
            for stature in [600.0, 900.0, 2400.0, 3300.0] {
                for mass in [None, Some(measured(30.0, 1.0)), Some(measured(250.0, 1.0))] {
                    let taken = Measurements {
                        stature_mm: Some(measured(stature, 8.0)),
                        mass_kg: mass,
                        ..Measurements::default()
                    };
                    let dimensions = Dimensions::estimate(population, &taken);
                    for (name, _, estimate) in dimensions.iter() {
                        assert!(estimate.mean.is_finite() && estimate.mean > 0.0, "{name} {estimate:?}");
                        assert!(estimate.sd.is_finite() && (0.0..=1.0).contains(&estimate.percentile), "{name}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_shoulder_height_over_the_seat_is_a_sum_and_pulls_what_it_is_made_of() {
        // One man 40 mm over the mean of 602.71 mm (shared/ansur2/men_stats.csv), measured exactly: the estimates add up to
        // it, as the README there has the sum; the trunk is longer than the mean, of which the stature knows.
        let taken = Measurements { shoulder_height_sitting_mm: Some(measured(642.71, 0.0)), ..Measurements::default() };
        let dimensions = Dimensions::estimate(Population::Men, &taken);
        let mean = |name: &str| dimensions.get(name).mean;
        let sum = mean("acromialheight") - mean("stature") + mean("sittingheight");
        assert!((sum - 642.71).abs() < 0.02 && (mean("acromialheightsitting_derived") - 642.71).abs() < 0.02, "{sum}");
        assert!(mean("sittingheight") > 918.18 + 20.0 && mean("stature") > 1756.01 + 5.0);

        // Measurements that follow from one another, and such that contradict one another by a centimetre.
        for seated in [602.71, 612.71] {
            let taken = Measurements {
                stature_mm: Some(measured(1756.01, 0.0)),
                sitting_height_mm: Some(measured(918.18, 0.0)),
                shoulder_height_mm: Some(measured(1440.54, 0.0)),
                shoulder_height_sitting_mm: Some(measured(seated, 0.0)),
                ..Measurements::default()
            };
            let dimensions = Dimensions::estimate(Population::Men, &taken);
            assert!(dimensions.iter().all(|(_, _, estimate)| estimate.mean.is_finite() && estimate.mean > 0.0));
        }
    }

    #[test]
    fn covariance_agrees_with_the_single_deviations() {
        let taken = Measurements {
            stature_mm: Some(measured(1700.0, 8.0)),
            mass_kg: Some(measured(90.0, 1.0)),
            ..Measurements::default()
        };
        let dimensions = Dimensions::estimate(Population::Men, &taken);
        let covariance = dimensions.covariance();
        for (at, (name, _, estimate)) in dimensions.iter().enumerate() {
            assert!((covariance[(at, at)].sqrt() - estimate.sd).abs() < 1e-6, "{name}");
        }
    }
}
