//! How surely a rig's numbers are known (`shared/tolerances.csv`).

use std::sync::OnceLock;

use serde::Deserialize;

use super::{Field, Page, Tolerances};
use crate::units::Unit;

/// A row of the table: one standard deviation of every number under a path, in the number's unit.
#[derive(Debug, Deserialize)]
struct Row {
    path: String,
    sd: f64,
}

/// One standard deviation of a number, in its unit: how far a rig set up with rule and angle gauge is off, or the
/// project's own figure for lengths and angles of the rig.
pub fn tolerance(field: &Field, own: Option<Tolerances>) -> f64 {
    let usual = usual(&field.path);
    match (own, field.unit) {
        (Some(own), Unit::Millimetre) if usual > 0.0 && field.page != Page::You => own.length_mm,
        (Some(own), Unit::Degree) if usual > 0.0 && field.page != Page::You => own.angle_deg,
        _ => usual,
    }
}

/// The table's figure for the number at a path.
fn usual(path: &str) -> f64 {
    static TABLE: OnceLock<Vec<Row>> = OnceLock::new();
    let table = TABLE.get_or_init(|| {
        csv::Reader::from_reader(include_str!("../../shared/tolerances.csv").as_bytes())
            .into_deserialize()
            .collect::<Result<_, _>>()
            .expect("the compiled-in table of tolerances is well-formed")
    });
    let bare = without_indices(path);
    let under = |row: &&Row| bare.strip_prefix(&row.path).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    let row = table.iter().filter(under).max_by_key(|row| row.path.len());
    row.unwrap_or_else(|| panic!("no row for {path} in the table of tolerances")).sd
}

/// `pedals.pedals[2].face_mm[1]` → `pedals.pedals.face_mm`.
fn without_indices(path: &str) -> String {
    let mut bare = String::new();
    for piece in path.split('[') {
        bare.push_str(piece.split_once(']').map_or(piece, |(_, rest)| rest));
    }
    bare
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{fields, parse, starter};

    #[test]
    fn every_number_has_its_tolerance() {
        let mut project = parse(starter()).unwrap().into_inner();
        let mut seen = 0;
        fields(&mut project, &mut |field| {
            // At most the tenth part of the field's range.
            let (low, high) = field.range;
            assert!(usual(&field.path) <= 0.1 * (high - low).max(1.0), "{}", field.path);
            seen += 1;
        });
        assert!(seen > 60);
        let known = ["pedals.pedals[1].tilt_deg", "seat.cushion.foam_mm", "seat.cushion_angle_deg"].map(usual);
        // The project's own figures, but for what is exact.
        let own = Some(Tolerances { length_mm: 5.0, angle_deg: 2.0 });
        fields(&mut project, &mut |field| match field.path.as_str() {
            "wheel.centre_mm[2]" => assert!((tolerance(&field, own) - 5.0).abs() < 1e-12),
            "wheel.column_angle_deg" => assert!((tolerance(&field, own) - 2.0).abs() < 1e-12),
            "pedals.pedals[0].travel_mm" => assert!(tolerance(&field, own) < 1e-12),
            _ => {}
        });
        assert!((known[0] - 0.5).abs() < 1e-12 && (known[1] - 2.0).abs() < 1e-12 && (known[2] - 0.5).abs() < 1e-12);
    }
}
