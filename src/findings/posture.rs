//! Figures of this group.

use super::Figure;
use crate::study::Solved;

/// The figures.
pub(super) fn figures(_study: &Solved) -> Vec<Figure> {
    Vec::new()
}
