//! In which units lengths are shown: millimetres, or inches where a person thinks in them. Files stay metric.

use std::sync::atomic::{AtomicBool, Ordering};

use super::{Unit, typed::MM_PER_INCH};

/// In which units lengths are shown and typed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum System {
    /// Millimetres.
    #[default]
    Metric,
    /// Inches.
    Inch,
}

/// What [`System::shown`] answers.
static INCHES: AtomicBool = AtomicBool::new(false);

impl System {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Metric, Self::Inch];

    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Metric => "Millimetres",
            Self::Inch => "Inches",
        }
    }

    /// The system that this run shows lengths in.
    pub fn shown() -> Self {
        if INCHES.load(Ordering::Relaxed) { Self::Inch } else { Self::Metric }
    }

    /// Shows lengths in this system from now on. A face says so once, before words are made; words that are there
    /// already stay as they are.
    pub fn show(self) {
        INCHES.store(self == Self::Inch, Ordering::Relaxed);
    }

    /// How much of `unit` one of what is shown is.
    pub const fn bare(self, unit: Unit) -> f64 {
        match (self, unit) {
            (Self::Inch, Unit::Millimetre | Unit::FineMillimetre) => MM_PER_INCH,
            _ => 1.0,
        }
    }

    /// How far an arrow key moves a length, in what is shown.
    pub const fn nudge(self) -> f64 {
        match self {
            Self::Metric => 1.0,
            Self::Inch => 0.05,
        }
    }

    /// What is printed behind a value of `unit`.
    pub const fn suffix(self, unit: Unit) -> &'static str {
        match (self, unit) {
            (Self::Inch, Unit::Millimetre | Unit::FineMillimetre) => " in",
            (_, unit) => unit.suffix(),
        }
    }

    /// Digits behind the point that a reader of a value (in `unit`) needs: a millimetre is 0.04 in.
    pub fn decimals(self, unit: Unit, value: f64) -> usize {
        match (self, unit) {
            (Self::Inch, Unit::Millimetre) if value.abs() >= 10.0 * MM_PER_INCH => 1,
            (Self::Inch, Unit::Millimetre) => 2,
            (Self::Inch, Unit::FineMillimetre) => 3,
            (_, unit) => unit.decimals(),
        }
    }
}
