//! Discomfort of joint angles: the distance from a published neutral in published spreads, `shared/comfort.csv`.

use std::sync::OnceLock;

use serde::Deserialize;

use crate::{body::Range, units::deg};

const TABLE: &str = include_str!("../../shared/comfort.csv");

/// Neutral and spread of one joint angle, rad.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Comfort {
    /// Most comfortable angle.
    pub neutral: f64,
    /// Distance at which discomfort is 1.
    pub spread: f64,
}

impl Comfort {
    /// Distance of `angle` from the neutral in spreads.
    pub const fn residual(self, angle: f64) -> f64 {
        (angle - self.neutral) / self.spread
    }
}

/// The neutrals of an arm and of a leg, in the order of their angles' arrays.
#[derive(Clone, Copy, Debug)]
pub(super) struct ComfortTable {
    pub(super) arm: [Comfort; 7],
    pub(super) leg: [Comfort; 7],
}

#[derive(Deserialize)]
struct Row {
    limb: String,
    neutral_deg: f64,
    spread_deg: f64,
}

/// The table, read once.
pub(super) fn table() -> &'static ComfortTable {
    static READ: OnceLock<ComfortTable> = OnceLock::new();
    READ.get_or_init(|| {
        let rows: Vec<Row> = csv::Reader::from_reader(TABLE.as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("shared/comfort.csv is part of the program and is read by its tests");
        let limb = |name: &str| {
            let mut out = [Comfort::default(); 7];
            for (slot, row) in out.iter_mut().zip(rows.iter().filter(|row| row.limb == name)) {
                *slot = Comfort { neutral: deg(row.neutral_deg), spread: deg(row.spread_deg) };
            }
            out
        };
        ComfortTable { arm: limb("arm"), leg: limb("leg") }
    })
}

/// The width of the soft edge inside each joint limit, rad: a pose that can keep all limits keeps this far inside
/// them, up to the small part that comfort pushes in.
const EDGE: f64 = 0.012;

/// Residual that keeps an angle inside its range: 0 well inside, 1 at the limit.
pub(super) fn edge(range: Range, angle: f64) -> f64 {
    (range.low + EDGE - angle).max(angle - range.high + EDGE).max(0.0) / EDGE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_names_seven_angles_of_each_limb_in_their_order() {
        let mut reader = csv::Reader::from_reader(TABLE.as_bytes());
        let names: Vec<String> = reader.records().map(|row| row.unwrap()[1].to_owned()).collect();
        assert_eq!(names[..7], super::super::ArmAngles::NAMES.map(str::to_owned));
        assert_eq!(names[7..], super::super::LegAngles::NAMES.map(str::to_owned));
        assert!(table().arm.iter().chain(&table().leg).all(|comfort| comfort.spread > 0.0));
    }

    #[test]
    fn the_edge_is_one_at_the_limit_and_nothing_well_inside() {
        let range = Range { low: -1.0, high: 1.0 };
        assert!((edge(range, 1.0) - 1.0).abs() < 1e-12);
        assert!(edge(range, 0.9) == 0.0);
        assert!(edge(range, -1.01) > 1.0);
    }
}
