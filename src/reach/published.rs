//! The program's people beside published tables of reach, row by row.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::{
    Grip, Reach, Zone,
    people::{anybody, sampled},
};
use crate::{
    body::{Body, Segments},
    geometry::{Side, Vec3},
    posture::{ArmAngles, LegAngles, Posture},
    project::Population,
    units::{mm, to_mm},
};

/// A row of a published table and what the program's people have there.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Published {
    /// What is measured, in words.
    pub measure: &'static str,
    /// Men or women.
    pub population: Population,
    /// Percentile of them.
    pub percentile: f64,
    /// The table's value, mm.
    pub published_mm: f64,
    /// The program's, mm.
    pub program_mm: f64,
    /// The program's less the table's, mm.
    pub difference_mm: f64,
    /// The table.
    pub source: String,
}

#[derive(Deserialize)]
struct Row {
    measure: String,
    population: Population,
    percentile: f64,
    published_mm: f64,
    source: String,
}

impl Published {
    /// One line of a table.
    pub fn words(&self) -> String {
        let of = match self.population {
            Population::Men => "men",
            Population::Women => "women",
        };
        format!(
            "{:<46}{:>3.0}th percentile, {of:<6}{:>6.0} mm, here {:>4.0} mm ({:+.0} mm)  {}",
            self.measure, self.percentile, self.published_mm, self.program_mm, self.difference_mm, self.source
        )
    }
}

/// People drawn of each population.
const PEOPLE: usize = 400;

/// Every row of `shared/reach.csv` with what people drawn from the survey reach: sitting upright against a wall, the arm
/// straight forward.
pub fn published() -> Vec<Published> {
    let rows: Vec<Row> = csv::Reader::from_reader(include_str!("../../shared/reach.csv").as_bytes())
        .into_deserialize()
        .filter_map(Result::ok)
        .collect();
    let people = [Population::Men, Population::Women].map(|population| {
        let bodies: Vec<[f64; 3]> = (0..PEOPLE as u64)
            .into_par_iter()
            .map(|index| measures(&sampled(&anybody(population), 1, index)))
            .collect();
        std::array::from_fn::<Vec<f64>, 3, _>(|at| {
            let mut values: Vec<f64> = bodies.iter().map(|body| to_mm(body[at])).collect();
            values.sort_by(f64::total_cmp);
            values
        })
    });
    rows.into_iter()
        .filter_map(|row| {
            let (at, measure) = match row.measure.as_str() {
                "thumb_tip_from_wall" => (0, "Wall to thumb tip, shoulders on the wall"),
                "thumb_tip_extended" => (1, "Wall to thumb tip, shoulder forward"),
                "shoulder_grip" => (2, "Tip of the shoulder to grip, arm straight"),
                _ => return None,
            };
            let values = &people[usize::from(row.population == Population::Women)][at];
            let place = row.percentile / 100.0 * (values.len() - 1) as f64;
            let (low, high) = (values[place.floor() as usize], values[place.ceil() as usize]);
            let program = low + (high - low) * place.fract();
            Some(Published {
                measure,
                population: row.population,
                percentile: row.percentile,
                published_mm: row.published_mm,
                program_mm: (10.0 * program).round() / 10.0,
                difference_mm: (10.0 * (program - row.published_mm)).round() / 10.0,
                source: row.source,
            })
        })
        .collect()
}

/// Wall to thumb tip with the shoulders on the wall and with the shoulder forward, then the tip of the shoulder to the
/// grip along the straight arm, m.
fn measures(body: &Body) -> [f64; 3] {
    let posture = Posture::of_angles(body, mm(15.0), &ArmAngles::default(), &LegAngles::default());
    let sitting = &posture.sitting;
    // The wall touches the rearmost buttock, and the upper back.
    let wall = sitting.h_point.x - body.skeleton.buttock_to_hip;
    let ahead = |grip: Grip, zone: Zone| {
        let reach = Reach::unobstructed(body, sitting, Side::Right, grip, 0.0);
        let shoulder = sitting.shoulders[Side::Right.index()];
        reach.furthest(zone, shoulder, shoulder + Vec3::x() * 3.0)
    };
    let grip = ahead(Grip::Full, Zone::Attainable);
    let from_acromion = Segments::of(body.dimensions.population()).get("shoulder_below_acromion")
        * body.dimensions.m("acromionradialelength");
    [
        ahead(Grip::Pinch, Zone::Attainable).joints[3].x - wall,
        ahead(Grip::Pinch, Zone::ShoulderLift).joints[3].x - wall,
        (grip.joints[3] - grip.joints[0]).norm() + from_acromion,
    ]
}

/// The general package factor of SAE J287 (2007 and later) and its hand-reach reference plane aft of the heel point, from
/// H30 (height of the seat's reference point over the heel, m) and H17 (height of the wheel's centre over the heel, m).
///
/// G = 0.00327 H30 + 0.00285 H17 − 3.21, HR = 786 − 99 G, mm (J287:2022, summary page).
pub fn j287(h30: f64, h17: f64) -> (f64, f64) {
    let factor = 0.003_27 * to_mm(h30) + 0.002_85 * to_mm(h17) - 3.21;
    (factor, mm(786.0 - 99.0 * factor))
}

impl Grip {
    /// How much further than with three fingers' grasp SAE J287 lets a hand reach, m: finger +50 mm, full grasp −50 mm.
    pub const fn j287_correction(self) -> f64 {
        match self {
            Self::Full => mm(-50.0),
            Self::Pinch => 0.0,
            Self::Fingertip => mm(50.0),
        }
    }
}
