//! What to move: for each finding that is not good, the adjuster that brings it back, tried out.

use serde::Serialize;

use crate::study::Study;

/// A move of one adjuster and what it does.
#[derive(Clone, Debug, Serialize)]
pub struct Mend {
    /// The project's field: `seat.slider.at_mm`.
    pub path: String,
    /// How far, in the field's unit.
    pub by: f64,
    /// The finding's value afterwards, re-solved.
    pub then: f64,
    /// In words: "Move the seat slider back by 18 mm."
    pub sentence: String,
}

/// Looks for a mend of every finding that is not good.
pub fn mend(_study: &mut Study) {}
