//! Discomfort of joint angles: the distance from a published neutral in published spreads, `shared/comfort.csv`.

use std::sync::OnceLock;

use nalgebra::{SMatrix, SVector};
use serde::Deserialize;

use super::descend::Slope;
use crate::{body::Range, units::deg};

const TABLE: &str = include_str!("../../shared/comfort.csv");

/// Neutral and spread of one joint angle, rad.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Comfort {
    /// Most comfortable angle.
    pub neutral: f64,
    /// Distance at which discomfort is 1.
    pub spread: f64,
    /// One by that, for the searches.
    per: f64,
}

impl Comfort {
    /// From a neutral and a spread, rad or, of a length, m.
    pub const fn new(neutral: f64, spread: f64) -> Self {
        Self { neutral, spread, per: 1.0 / spread }
    }

    /// Distance of `angle` from the neutral in spreads.
    pub const fn residual(self, angle: f64) -> f64 {
        (angle - self.neutral) * self.per
    }
}

/// The neutrals of an arm and of a leg, in the order of their angles' arrays; those of the neck's flexion and of the eyes
/// below straight ahead of the head.
#[derive(Clone, Copy, Debug)]
pub(super) struct ComfortTable {
    pub(super) arm: [Comfort; 7],
    pub(super) leg: [Comfort; 7],
    pub(super) head: [Comfort; 2],
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
        ComfortTable { arm: of(&rows, "arm"), leg: of(&rows, "leg"), head: of(&rows, "head") }
    })
}

fn of<const N: usize>(rows: &[Row], limb: &str) -> [Comfort; N] {
    let mut out = [Comfort::default(); N];
    for (slot, row) in out.iter_mut().zip(rows.iter().filter(|row| row.limb == limb)) {
        *slot = Comfort::new(deg(row.neutral_deg), deg(row.spread_deg));
    }
    out
}

/// The neutrals and spreads of an arm, in the order of [`super::ArmAngles::array`].
pub(crate) fn comfort_of_arm() -> &'static [Comfort; 7] {
    &table().arm
}

/// The neutrals and spreads of a leg, in the order of [`super::LegAngles::array`].
pub(crate) fn comfort_of_leg() -> &'static [Comfort; 7] {
    &table().leg
}

/// The width of the soft edge inside each joint limit, rad: a pose that can keep all limits keeps this far inside
/// them, up to the small part that comfort pushes in.
const EDGE: f64 = 0.012;

/// Residual that keeps an angle inside its range: 0 well inside, 1 at the limit.
fn edge(range: Range, angle: f64) -> f64 {
    (range.low + EDGE - angle).max(angle - range.high + EDGE).max(0.0) * (1.0 / EDGE)
}

/// What measures of a pose cost, the first of them with a range to keep: Σ residual² + Σ edge².
pub(super) fn discomfort<const M: usize, const J: usize>(
    measures: &[f64; M],
    comfort: &[Comfort; M],
    ranges: &[Range; J],
) -> f64 {
    let off: f64 = measures.iter().zip(comfort).map(|(x, comfort)| comfort.residual(*x).powi(2)).sum();
    let out: f64 = measures.iter().zip(ranges).map(|(x, range)| edge(*range, *x).powi(2)).sum();
    off + out
}

/// [`discomfort`] and how it changes, from the rates of the measures, one array a freedom.
pub(super) fn slope<const M: usize, const J: usize, const F: usize>(
    measures: &[f64; M],
    rates: &[[f64; M]; F],
    comfort: &[Comfort; M],
    ranges: &[Range; J],
) -> Slope<F> {
    let mut slope = Slope::<F> { cost: 0.0, gradient: SVector::zeros(), normal: SMatrix::zeros() };
    for i in 0..M {
        let (residual, per) = (comfort[i].residual(measures[i]), comfort[i].per);
        let (mut cost, mut pull, mut stiffness) = (residual * residual, residual * per, per * per);
        if let Some(range) = ranges.get(i) {
            let edge = edge(*range, measures[i]);
            if edge > 0.0 {
                let outward = if measures[i] + measures[i] > range.low + range.high { 1.0 } else { -1.0 };
                cost += edge * edge;
                pull += edge * outward / EDGE;
                stiffness += 1.0 / (EDGE * EDGE);
            }
        }
        slope.cost += cost;
        for f in 0..F {
            slope.gradient[f] += pull * rates[f][i];
            for g in 0..F {
                slope.normal[(f, g)] += stiffness * rates[f][i] * rates[g][i];
            }
        }
    }
    slope
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_names_seven_angles_of_each_limb_and_two_of_the_head_in_their_order() {
        let mut reader = csv::Reader::from_reader(TABLE.as_bytes());
        let names: Vec<String> = reader.records().map(|row| row.unwrap()[1].to_owned()).collect();
        assert_eq!(names[..7], super::super::ArmAngles::NAMES.map(str::to_owned));
        assert_eq!(names[7..14], super::super::LegAngles::NAMES.map(str::to_owned));
        assert_eq!(names[14..], ["neck_flexion", "eyes_down"].map(str::to_owned));
        assert!(table().arm.iter().chain(&table().leg).chain(&table().head).all(|comfort| comfort.spread > 0.0));
    }

    #[test]
    fn the_edge_is_one_at_the_limit_and_nothing_well_inside() {
        let range = Range { low: -1.0, high: 1.0 };
        assert!((edge(range, 1.0) - 1.0).abs() < 1e-12);
        assert!(edge(range, 0.9) == 0.0);
        assert!(edge(range, -1.01) > 1.0);
    }
}
