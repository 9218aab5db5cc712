//! Every dimension of one person: the survey's normal distribution conditioned on what was measured.

use crate::project::{Measured, Measurements, Population};

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
}

/// All dimensions of one person.
#[derive(Clone, Debug)]
pub struct Dimensions {}

impl Dimensions {
    /// Conditions the survey on what was measured; with nothing measured, the population's mean.
    pub fn estimate(_population: Population, _measured: &Measurements) -> Self {
        Self {}
    }

    /// What is known of a variable.
    ///
    /// # Panics
    /// If the survey has no such variable: a slip of ours, caught by the tests.
    pub fn get(&self, _variable: &str) -> Estimate {
        Estimate { mean: 0.0, sd: 0.0, measured: None, percentile: 0.5 }
    }

    /// A length, m.
    pub fn m(&self, variable: &str) -> f64 {
        crate::units::mm(self.get(variable).mean)
    }

    /// A mass, kg.
    pub fn kg(&self, variable: &str) -> f64 {
        self.get(variable).mean
    }
}
