//! Joint angles and gaps over the wheel's turn and over each pedal's travel.

use rayon::prelude::*;
use serde::Serialize;

use crate::{
    clearance,
    findings::{Level, arm_angles, hip_angle, knee_and_ankle, sided},
    geometry::Side,
    posture::Moment,
    project::{Band, Bands, PedalKind},
    study::Solved,
    units::{Unit, to_deg, to_mm},
};

/// What moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Over {
    /// The wheel, in degrees, left positive.
    Wheel,
    /// The clutch pedal, in millimetres of travel.
    Clutch,
    /// The brake pedal, likewise.
    Brake,
    /// The throttle pedal, likewise.
    Throttle,
}

impl Over {
    /// The pedal, unless it is the wheel.
    pub const fn pedal(self) -> Option<PedalKind> {
        match self {
            Self::Wheel => None,
            Self::Clutch => Some(PedalKind::Clutch),
            Self::Brake => Some(PedalKind::Brake),
            Self::Throttle => Some(PedalKind::Throttle),
        }
    }

    const fn of(pedal: PedalKind) -> Self {
        match pedal {
            PedalKind::Clutch => Self::Clutch,
            PedalKind::Brake => Self::Brake,
            PedalKind::Throttle => Self::Throttle,
        }
    }

    /// "Wheel", "Clutch", "Brake" or "Throttle".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Wheel => "Wheel",
            Self::Clutch => "Clutch",
            Self::Brake => "Brake",
            Self::Throttle => "Throttle",
        }
    }

    /// The moment at a place along the axis (degrees or millimetres), the rest as in `moment`.
    #[must_use]
    pub const fn moment(self, place: f64, moment: Moment) -> Moment {
        match self.pedal() {
            None => moment.with_steer(crate::units::deg(place)),
            Some(pedal) => moment.with_travel(pedal, crate::units::mm(place)),
        }
    }

    /// Where a moment stands along the axis, degrees or millimetres.
    pub const fn place(self, moment: &Moment) -> f64 {
        match self.pedal() {
            None => to_deg(moment.steer),
            Some(pedal) => to_mm(moment.travel_of(pedal)),
        }
    }
}

/// One figure over a motion.
#[derive(Clone, Debug, Serialize)]
pub struct Curve {
    /// Row of the table of bands whose band it is set beside: "`elbow`".
    pub id: &'static str,
    /// Side of the body, if one.
    pub side: Option<Side>,
    /// Its title: "Left elbow angle".
    pub title: String,
    /// The band; a joint's is that of the posture at rest or at work.
    pub band: Band,
    /// In the band's unit, one for each place of the motion.
    pub values: Vec<f64>,
}

impl Curve {
    /// The worst level along it.
    pub fn worst(&self) -> Level {
        self.values.iter().map(|&value| Level::of(value, &self.band)).max().unwrap_or(Level::Good)
    }

    /// Least and greatest value.
    pub fn span(&self) -> [f64; 2] {
        let low = self.values.iter().copied().fold(f64::INFINITY, f64::min);
        [low, self.values.iter().copied().fold(f64::NEG_INFINITY, f64::max)]
    }
}

/// What one motion does to joints and gaps; everything else is at rest.
#[derive(Clone, Debug, Serialize)]
pub struct Motion {
    /// What moves.
    pub over: Over,
    /// Where it was looked at, in degrees or millimetres, rising.
    pub places: Vec<f64>,
    /// The figures: joints first, then what comes close.
    pub curves: Vec<Curve>,
}

/// A gap that changes by less than this stands still, mm: it is shown in whole ones.
const STILL: f64 = 0.5;

/// A figure on its way: row of the table, side, value.
type Value = (&'static str, Option<Side>, f64);

/// The curves of wheel and pedals, at the places that the project's motion looks at; the wheel as far as the hands stay
/// on it.
pub fn curves(solved: &Solved) -> Vec<Motion> {
    let bands = Bands::of(&solved.project);
    let mut motions = vec![(Over::Wheel, solved.motion.arms.steps.iter().map(|(steer, _)| to_deg(*steer)).collect())];
    motions.extend(solved.motion.pedals.iter().map(|sweep| {
        let places: Vec<f64> = sweep.steps.iter().map(|(travel, _)| to_mm(*travel)).collect();
        (Over::of(sweep.kind), places)
    }));
    motions
        .into_iter()
        .map(|(over, mut places): (Over, Vec<f64>)| {
            places.sort_by(f64::total_cmp);
            let rows: Vec<Vec<Value>> =
                places.par_iter().map(|&place| values(solved, over, over.moment(place, Moment::REST))).collect();
            let keys: Vec<_> = rows.first().into_iter().flatten().map(|&(id, side, _)| (id, side)).collect();
            let curves = keys.into_iter().map(|(id, side)| {
                let find = |row: &Vec<Value>| {
                    row.iter().find(|(an, a, _)| (*an, *a) == (id, side)).map_or(f64::NAN, |&(.., value)| value)
                };
                let band = bands.get(id).clone();
                Curve { id, side, title: sided(side, &band.label), band, values: rows.iter().map(find).collect() }
            });
            // What the motion doesn't change is no curve.
            let curves = curves.filter(|curve| {
                let [low, high] = curve.span();
                curve.values.iter().all(|value| value.is_finite())
                    && (curve.band.unit == Unit::Degree || high - low > STILL)
            });
            let curves = curves.collect();
            Motion { over, places, curves }
        })
        .collect()
}

/// Every figure at a moment that what moves can change.
fn values(solved: &Solved, over: Over, moment: Moment) -> Vec<Value> {
    let posture = solved.posture_at(&moment);
    let mut out: Vec<Value> = Vec::new();
    let gaps = clearance::at(&solved.body, &solved.rig, &posture, &moment);
    let foot = over.pedal().and_then(|pedal| solved.motion.pedal(pedal)).map(|sweep| sweep.side);
    match foot {
        None => {
            for side in Side::BOTH {
                let angles = arm_angles(&posture.arms[side.index()]);
                out.extend(angles.map(|(id, value)| (id, Some(side), value)));
            }
        }
        Some(side) => {
            let leg = &posture.legs[side.index()];
            let [knee, ankle] = knee_and_ankle(leg);
            let rows =
                if over == Over::Throttle { ["knee_throttle", "ankle_hold"] } else { ["knee_brake", "ankle_brake"] };
            out.push((rows[0], Some(side), knee));
            out.push((rows[1], Some(side), ankle));
            out.push(("trunk_thigh", Some(side), to_deg(hip_angle(leg))));
        }
    }
    out.extend(gaps.into_iter().map(|gap| (gap.id, gap.side, to_mm(gap.nearest.gap))));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::parse;

    fn solved(text: &str) -> Solved {
        Solved::of(&parse(text).unwrap())
    }

    const DEMOS: [&str; 3] = [
        include_str!("../assets/closed_car.ron"),
        include_str!("../assets/formula.ron"),
        include_str!("../assets/three_pedals.ron"),
    ];

    /// The findings look for the least gap over all motions, between the steps too: no curve, which moves one thing and
    /// leaves the rest at rest, may come closer, and the closest is nearly met where one motion alone makes it.
    #[test]
    fn no_curve_comes_closer_than_the_least_gap_that_was_found() {
        for text in DEMOS {
            let solved = solved(text);
            let motions = curves(&solved);
            assert!(motions.len() >= 3);
            let mut met = 0;
            for found in &solved.clearances {
                let least = motions
                    .iter()
                    .flat_map(|motion| &motion.curves)
                    .filter(|curve| (curve.id, curve.side) == (found.id, found.side))
                    .map(|curve| curve.span()[0])
                    .fold(f64::INFINITY, f64::min);
                let gap = to_mm(found.nearest.gap);
                assert!(least > gap - to_mm(found.within) - 0.1, "{} {:?}: {least} {gap}", found.id, found.side);
                met += usize::from(least < gap + 1.0);
            }
            assert!(met >= 4, "only {met} of {} are met by one motion", solved.clearances.len());
        }
    }

    /// A wheel straight ahead is the posture at rest.
    #[test]
    fn curves_pass_through_the_posture_at_rest() {
        for text in DEMOS {
            let solved = solved(text);
            for motion in curves(&solved) {
                let rest = motion.places.iter().position(|place| place.abs() < 1e-9).expect("rest is looked at");
                for curve in motion.curves.iter().filter(|curve| matches!(curve.id, "elbow" | "wrist_deviation")) {
                    let side = curve.side.unwrap();
                    let arm = &solved.rest.arms[side.index()];
                    let wanted = arm_angles(arm).into_iter().find(|(id, _)| *id == curve.id).unwrap().1;
                    assert!(
                        (curve.values[rest] - wanted).abs() < 0.2,
                        "{}: {} {wanted}",
                        curve.title,
                        curve.values[rest]
                    );
                }
            }
        }
    }

    #[test]
    fn places_and_moments_are_each_others_inverse() {
        for over in [Over::Wheel, Over::Clutch, Over::Brake, Over::Throttle] {
            let moment = over.moment(33.0, Moment::REST);
            assert!((over.place(&moment) - 33.0).abs() < 1e-9);
        }
    }
}
