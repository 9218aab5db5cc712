//! What the driver would set otherwise.

use super::{Figure, Place};
use crate::{
    geometry::Vec3,
    posture::{Moment, chosen_seat},
    study::Solved,
    units::{Unit, to_mm},
};

/// The seat from where the driver would put it.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let forward = chosen_seat(&study.body, &study.rig, study.project.driver.brakes_with);
    let value = to_mm(forward);
    let show = Unit::Millimetre.show(value.abs());
    let where_to = if value < 0.0 { "further back" } else { "further forward" };
    vec![Figure {
        id: "seat_choice",
        side: None,
        item: None,
        value,
        sentence: format!(
            "For wheel and pedals as they stand you would be most at ease with the seat {show} {where_to}; people of one \
             size differ by about 30 mm."
        ),
        place: Place::Point { at: study.rest.sitting.h_point + Vec3::x() * forward },
        moment: Moment::REST,
        parts: vec!["seat".into()],
    }]
}
