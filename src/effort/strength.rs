//! How strong hip, knee and ankle are, by angle, speed, sex, age, mass and stature (`shared/strength.csv`).

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use crate::{
    body::Body,
    project::{AgeGroup, Population},
    units::GRAVITY,
};

const TABLE: &str = include_str!("../../shared/strength.csv");

/// A joint of the leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Joint {
    /// Thigh against trunk.
    Hip,
    /// Shank against thigh.
    Knee,
    /// Foot against shank.
    Ankle,
}

impl Joint {
    /// The three from above.
    pub const ALL: [Self; 3] = [Self::Hip, Self::Knee, Self::Ankle];

    /// "hip", "knee" or "ankle".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hip => "hip",
            Self::Knee => "knee",
            Self::Ankle => "ankle",
        }
    }
}

/// Which way a joint turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// The leg opens: hip and knee extend, the foot points.
    Extension,
    /// The leg folds: hip and knee flex, the foot is pulled up.
    Flexion,
}

#[derive(Debug, Deserialize)]
struct Row {
    joint: Joint,
    direction: Way,
    population: Population,
    age: AgeGroup,
    c1: f64,
    c2: f64,
    c3: f64,
    c4: f64,
    c5: f64,
}

/// Strength of one joint one way: Anderson, Madigan and Nussbaum 2007, J Biomech 40:3105, table 3, in their symbols.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Curve {
    /// Greatest torque, N·m: C1 · mass · g · stature.
    peak: f64,
    c2: f64,
    c3: f64,
    c4: f64,
    c5: f64,
}

/// Outside the angles that were measured the cosine falls to nothing; a joint keeps this share of its peak.
const LEAST: f64 = 0.05;

impl Curve {
    fn at(&self, angle: f64, speed: f64) -> f64 {
        let Self { peak, c2, c3, c4, c5 } = *self;
        let of_angle = (c2 * (angle - c3)).cos().max(LEAST);
        let of_speed = (2.0 * c4 * c5 + speed * (c5 - 3.0 * c4)) / (2.0 * c4 * c5 + speed * (2.0 * c5 - 4.0 * c4));
        peak * of_angle * of_speed.max(0.0)
    }
}

/// Greatest joint torques of one person's leg: what the muscles give of their own will, without what stretched tissue
/// adds at the ends of the range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegStrength {
    /// By joint, extension and flexion.
    curves: [[Curve; 2]; 3],
}

impl LegStrength {
    /// The strength of a body, by its population, mass and stature.
    pub fn of(body: &Body, age: AgeGroup) -> Self {
        Self::of_size(body.dimensions.population(), age, body.mass(), body.dimensions.m("stature"))
    }

    /// The mean strength of people of one sex, age group, mass (kg) and stature (m).
    pub fn of_size(population: Population, age: AgeGroup, mass: f64, stature: f64) -> Self {
        let mut curves = [[Curve::default(); 2]; 3];
        for row in rows().iter().filter(|row| row.population == population && row.age == age) {
            let peak = row.c1 * mass * GRAVITY * stature;
            curves[row.joint as usize][row.direction as usize] =
                Curve { peak, c2: row.c2, c3: row.c3, c4: row.c4, c5: row.c5 };
        }
        Self { curves }
    }

    /// Greatest torque, N·m, at a joint angle as in [`crate::posture::LegAngles`] (flexion, for the ankle
    /// dorsiflexion, positive), rad, while the joint shortens its muscles at `speed`, rad/s; 0 for holding still.
    pub fn torque(&self, joint: Joint, way: Way, angle: f64, speed: f64) -> f64 {
        self.curves[joint as usize][way as usize].at(angle, speed)
    }
}

fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        csv::Reader::from_reader(TABLE.as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("shared/strength.csv is part of the program and is read by its tests")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_has_every_joint_way_population_and_age_once() {
        let mut seen: Vec<String> = rows()
            .iter()
            .map(|row| format!("{:?} {:?} {:?} {:?}", row.joint, row.direction, row.population, row.age))
            .collect();
        seen.sort();
        seen.dedup();
        assert_eq!((seen.len(), rows().len()), (36, 36));
    }
}
