//! What comes close, from the clearances over the motion.

use super::{
    Figure, Place,
    sentence::{body_part, partner, when},
};
use crate::{
    clearance::Clearance,
    study::Solved,
    units::{Unit, to_mm},
    words::first_upper,
};

/// The figures.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    study.clearances.iter().map(|clearance| figure(study, clearance)).collect()
}

fn figure(study: &Solved, clearance: &Clearance) -> Figure {
    let value = to_mm(clearance.nearest.gap);
    let who = clearance.body.map_or_else(|| "the rim".to_owned(), |part| format!("your {}", body_part(part)));
    let other = partner(&clearance.partner, &study.project);
    let other = if clearance.id == "chest_wheel" { "the wheel centre".to_owned() } else { other };
    let moment = when(&clearance.moment);
    let who_begins = first_upper(&who);
    let sentence = if value < -0.5 {
        format!("{who_begins} would be {} inside {other}{moment}.", Unit::Millimetre.show(-value))
    } else if value < 0.5 {
        format!("{who_begins} touches {other}{moment}.")
    } else {
        format!("{who_begins} comes within {} of {other}{moment}.", Unit::Millimetre.show(value))
    };
    let bare = |name: &str| name.trim_start_matches("your ").trim_start_matches("the ").to_owned();
    Figure {
        id: clearance.id,
        side: clearance.side,
        item: None,
        value,
        sentence,
        place: Place::Gap { from: clearance.nearest.on_a, to: clearance.nearest.on_b },
        moment: clearance.moment,
        parts: vec![bare(&who), bare(&other)],
    }
}
