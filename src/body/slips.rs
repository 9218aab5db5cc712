//! Measurements that do not go together: questioned, with the slip that would explain them.

use std::fmt;

use nalgebra::{DMatrix, DVector};
use serde::{Serialize, Serializer, ser::SerializeStruct};

use super::Survey;
use crate::{
    project::{Measured, Measurements, Population, digits_changed_back},
    units::Unit,
};

/// A measurement this many standard deviations from what the others imply is questioned; one in 2000 is by chance.
const QUESTIONED: f64 = 3.5;
/// A slip explains a measurement that, taken back, lies this near to what the others imply. Own choice: one in 80 is
/// further off by chance.
const EXPLAINED: f64 = 2.5;
/// How many times likelier all measurements must be in the other survey before it is named. Of people of the chosen
/// survey at most one in this many is told so by chance (Markov's inequality for a ratio of likelihoods).
const LIKELIER: f64 = 200.0;
/// How much commoner slips with a name are than numbers typed without any rhyme; own choice.
const COMMONER: f64 = 100.0;
/// Questions asked at once.
const QUESTIONS: usize = 4;

/// What a person should look at again.
#[derive(Clone, Debug, PartialEq)]
pub enum Warning {
    /// A measurement beyond everyone in the survey: what follows from it is extrapolated.
    BeyondSurvey {
        /// The measurement.
        seen: Seen,
        /// The smallest in the survey.
        least: f64,
        /// The largest in the survey.
        greatest: f64,
    },
    /// Smaller than every adult of both surveys.
    Child {
        /// Stature, mm.
        stature: f64,
    },
    /// A measurement that the others make implausible.
    Questioned {
        /// The measurement.
        seen: Seen,
        /// What the others imply, with the slip taken back.
        implied: f64,
        /// Its standard deviation, measuring error included.
        sd: f64,
        /// True where it is the only one, so that only the population speaks against it.
        alone: bool,
        /// What may have happened.
        slip: Option<BodySlip>,
    },
    /// All measurements together go much better with the other survey.
    OtherPopulation {
        /// That survey.
        other: Population,
    },
    /// Estimates that extrapolation would have made impossible.
    Held {
        /// What they are called.
        labels: Vec<&'static str>,
    },
}

/// A measurement as the person knows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// Field of [`Measurements`].
    pub field: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// The value given.
    pub value: f64,
}

impl Seen {
    /// The measurement of a variable of the survey.
    fn of(variable: &str, value: f64) -> Self {
        let entry = Measurements::LIST.iter().find(|(_, name, ..)| *name == variable);
        let &(field, _, label, unit, _) = entry.expect("only what is in the list can be measured");
        Self { field, label, unit, value }
    }

    fn words(&self) -> String {
        format!("{} {}", self.label, self.unit.show(self.value))
    }
}

/// A slip that would explain a measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BodySlip {
    /// Typed in another unit, or with a digit too many or too few.
    Factor {
        /// In words: "pounds".
        typed_in: &'static str,
        /// The value in the field's unit.
        meant: f64,
    },
    /// Two neighbouring digits in each other's place.
    Digits {
        /// The value with the two changed back.
        meant: f64,
    },
    /// Two measurements in each other's place.
    Swapped {
        /// The other one.
        with: Seen,
    },
}

impl BodySlip {
    /// "factor", "digits" or "swapped".
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Factor { .. } => "factor",
            Self::Digits { .. } => "digits",
            Self::Swapped { .. } => "swapped",
        }
    }
}

impl Warning {
    /// "`beyond_survey`", "child", "questioned", "`other_population`" or "held".
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::BeyondSurvey { .. } => "beyond_survey",
            Self::Child { .. } => "child",
            Self::Questioned { .. } => "questioned",
            Self::OtherPopulation { .. } => "other_population",
            Self::Held { .. } => "held",
        }
    }

    /// What to write in the project's file, where that settles it.
    pub fn way_out(&self) -> Option<String> {
        match self {
            Self::Questioned { seen, .. } => {
                Some(format!("If it is right, add `confirmed: true` to driver.measured.{}.", seen.field))
            }
            Self::OtherPopulation { other } => Some(format!("Try `population: {other:?}`, which estimates the rest.")),
            Self::BeyondSurvey { .. } | Self::Child { .. } | Self::Held { .. } => None,
        }
    }

    /// The measurement that it is about, a field of [`Measurements`].
    pub const fn field(&self) -> Option<&'static str> {
        match self {
            Self::BeyondSurvey { seen, .. } | Self::Questioned { seen, .. } => Some(seen.field),
            Self::Child { .. } => Some("stature_mm"),
            Self::OtherPopulation { .. } | Self::Held { .. } => None,
        }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BeyondSurvey { seen, least, greatest } => {
                let [least, greatest] = [least, greatest].map(|&end| seen.unit.show(end));
                let words = seen.words();
                write!(
                    f,
                    "{words} is outside the survey ({least} to {greatest}); what follows from it is extrapolated."
                )
            }
            Self::Child { stature } => write!(
                f,
                "Stature {} is a child's size. What was not measured is estimated with an adult's proportions: measure \
                 as much as you can.",
                Unit::Millimetre.show(*stature)
            ),
            Self::Questioned { seen, implied, sd, alone, slip } => {
                let (words, implied, sd) = (seen.words(), seen.unit.show(*implied), seen.unit.show(*sd));
                if *alone {
                    write!(f, "{words} does not go with the survey, which has {implied} ± {sd}")?;
                } else {
                    write!(f, "{words} does not go with the other measurements, which imply {implied} ± {sd}")?;
                }
                match slip {
                    Some(BodySlip::Factor { typed_in, meant }) => {
                        write!(f, ": typed in {typed_in}? Then it is {}.", seen.unit.show(*meant))
                    }
                    Some(BodySlip::Digits { meant }) => {
                        write!(f, ": two digits in each other's place? {} would fit.", seen.unit.show(*meant))
                    }
                    Some(BodySlip::Swapped { with }) => {
                        let (label, value) = (with.label.to_lowercase(), with.unit.show(with.value));
                        write!(f, ": swapped with {label}, {value}? Both fit the other way round.")
                    }
                    None => f.write_str(": check it for a slip."),
                }
            }
            Self::OtherPopulation { other } => {
                let theirs = match other {
                    Population::Men => "men",
                    Population::Women => "women",
                };
                write!(f, "The measurements together go much better with the {theirs} of the survey.")
            }
            Self::Held { labels } => write!(
                f,
                "The body is so far outside the survey that these estimates were held at {} of the mean: {}.",
                super::dimensions::FLOOR,
                labels.join(", ").to_lowercase()
            ),
        }
    }
}

impl Serialize for Warning {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let slip = match self {
            Self::Questioned { slip: Some(slip), .. } => Some(slip.kind()),
            _ => None,
        };
        let mut warning = serializer.serialize_struct("Warning", 4)?;
        warning.serialize_field("kind", self.kind())?;
        warning.serialize_field("field", &self.field())?;
        warning.serialize_field("slip", &slip)?;
        warning.serialize_field("sentence", &self.to_string())?;
        warning.end()
    }
}

/// Measured variables beside what a survey says of them.
struct Beside {
    /// Measured less the survey's means.
    off: DVector<f64>,
    /// S⁻¹.
    precision: DMatrix<f64>,
    /// ln det S.
    log_det: f64,
}

impl Beside {
    /// The measurements `places` of `taken`, places of variables in `survey`, with their values.
    fn of(survey: &Survey, taken: &[(usize, Measured)], places: &[usize]) -> Option<Self> {
        let at = |place: usize| taken[places[place]];
        let spread = DMatrix::from_fn(places.len(), places.len(), |row, column| {
            let error = if row == column { at(row).1.error.max(super::dimensions::FINEST).powi(2) } else { 0.0 };
            survey.covariance()[(at(row).0, at(column).0)] + error
        });
        let factored = spread.cholesky()?;
        let log_det = 2.0 * factored.l_dirty().diagonal().iter().map(|x| x.ln()).sum::<f64>();
        let off = DVector::from_fn(places.len(), |place, _| {
            let (variable, measured) = at(place);
            measured.value - survey.variables()[variable].mean
        });
        Some(Self { off, precision: factored.inverse(), log_det })
    }

    /// −2 ln of the density of measurements that lie `off` the means, without its constant.
    fn unlikely(&self, off: &DVector<f64>) -> f64 {
        off.dot(&(&self.precision * off)) + self.log_det
    }

    /// For each measurement: how far it lies from what the others imply, and the standard deviation of that.
    ///
    /// Leaving measurement i out, the others predict it with the error (S⁻¹ ν)ᵢ / (S⁻¹)ᵢᵢ and the variance 1 / (S⁻¹)ᵢᵢ.
    fn against_others(&self, off: &DVector<f64>) -> Vec<(f64, f64)> {
        let weighted = &self.precision * off;
        let one = |place: usize| {
            let own = self.precision[(place, place)];
            (weighted[place] / own, own.sqrt().recip())
        };
        (0..off.len()).map(one).collect()
    }

    /// How unlikely the measurements are with the best one left out, which may then be anything: −2 ln of their density
    /// without its constant, as of all of them.
    fn without_one(&self, off: &DVector<f64>, widths: &[f64]) -> f64 {
        let all = self.unlikely(off);
        let count = off.len() as f64;
        let without = |(place, (error, sd)): (usize, (f64, f64))| {
            all - (error / sd).powi(2) - (std::f64::consts::TAU * sd * sd).ln()
                + 2.0 * (COMMONER * count * widths[place]).ln()
        };
        self.against_others(off).into_iter().enumerate().map(without).fold(f64::INFINITY, f64::min)
    }

    /// The measurement that goes worst with the others: its place and by how many standard deviations.
    fn worst(&self, off: &DVector<f64>) -> Option<(usize, f64)> {
        let against = self.against_others(off).into_iter().map(|(error, sd)| error.abs() / sd);
        against.enumerate().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// A slip with what it would make of the measurements.
struct Candidate {
    place: usize,
    slip: BodySlip,
    changed: Vec<(usize, f64)>,
    /// −2 ln of how unlikely such a slip is before looking at the body.
    rare: f64,
}

/// Everything that should be said about the measurements; `taken` are places in the survey of `population`.
pub(super) fn warnings(population: Population, taken: &[(usize, Measured)]) -> Vec<Warning> {
    let survey = Survey::of(population);
    let seen = |place: usize| Seen::of(&survey.variables()[taken[place].0].name, taken[place].1.value);
    let mut out = Vec::new();
    let child = (0..taken.len()).map(seen).find(|seen| seen.field == "stature_mm" && seen.value < smallest_adult());
    if let Some(stature) = child {
        out.push(Warning::Child { stature: stature.value });
    }
    for (place, &(at, measured)) in taken.iter().enumerate() {
        let variable = &survey.variables()[at];
        let (least, greatest) = (variable.least, variable.greatest);
        if !(least..=greatest).contains(&measured.value) {
            out.push(Warning::BeyondSurvey { seen: seen(place), least, greatest });
        }
    }

    // Questions, the worst first; each time with what was explained put right and what was not left out.
    let mut places: Vec<usize> = (0..taken.len()).collect();
    let mut right: Vec<(usize, Measured)> = taken.to_vec();
    let mut doubted = Vec::new();
    while doubted.len() < QUESTIONS
        && let Some(beside) = Beside::of(survey, &right, &places)
        && let Some((worst, off)) = beside.worst(&beside.off)
        && off > QUESTIONED
    {
        let found = explained(&beside, &right, &places, survey);
        if doubted.is_empty()
            && child.is_none()
            && let Some(other) = better(population, taken, found.as_ref().map(|found| found.1))
        {
            out.push(Warning::OtherPopulation { other });
            return out;
        }
        let alone = places.len() == 1;
        if let Some((candidate, _, off)) = found {
            let (error, sd) = beside.against_others(&off)[candidate.place];
            let place = places[candidate.place];
            let mean = survey.variables()[taken[place].0].mean;
            let implied = mean + off[candidate.place] - error;
            doubted.push(Warning::Questioned { seen: seen(place), implied, sd, alone, slip: Some(candidate.slip) });
            for (place, value) in candidate.changed {
                right[places[place]].1.value = value;
            }
        } else {
            let (error, sd) = beside.against_others(&beside.off)[worst];
            let place = places.remove(worst);
            let implied = taken[place].1.value - error;
            // A child goes with no adult: only a slip that has a name is worth asking about.
            if !taken[place].1.confirmed && child.is_none() {
                doubted.push(Warning::Questioned { seen: seen(place), implied, sd, alone, slip: None });
            }
        }
    }
    if doubted.is_empty()
        && child.is_none()
        && let Some(other) = better(population, taken, None)
    {
        out.push(Warning::OtherPopulation { other });
    }
    out.extend(doubted);
    out
}

/// Stature of the smallest adult of both surveys, mm.
fn smallest_adult() -> f64 {
    let least = |population: Population| {
        let survey = Survey::of(population);
        survey.index("stature").map_or(0.0, |at| survey.variables()[at].least)
    };
    least(Population::Men).min(least(Population::Women))
}

/// The slip that makes the measurements likeliest, if one explains them: with how unlikely they are then, and where
/// they then lie off the means.
fn explained(
    beside: &Beside,
    taken: &[(usize, Measured)],
    places: &[usize],
    survey: &Survey,
) -> Option<(Candidate, f64, DVector<f64>)> {
    let before: Vec<f64> = beside.against_others(&beside.off).into_iter().map(|(error, sd)| error.abs() / sd).collect();
    // Typed without any rhyme, a measurement is about as likely anywhere in twice the survey's width.
    let width = |&place: &usize| {
        let variable = &survey.variables()[taken[place].0];
        2.0 * (variable.greatest - variable.least)
    };
    let unexplained = beside.without_one(&beside.off, &places.iter().map(width).collect::<Vec<_>>());
    let weigh = |candidate: Candidate| {
        let mut off = beside.off.clone();
        for &(place, value) in &candidate.changed {
            off[place] += value - taken[places[place]].1.value;
        }
        let after = beside.against_others(&off);
        let fits = candidate.changed.iter().all(|&(place, _)| after[place].0.abs() <= EXPLAINED * after[place].1);
        // One of those that were changed must have been in the way of the others.
        let odd = candidate.changed.iter().any(|&(place, _)| before[place] > QUESTIONED);
        let unlikely = beside.unlikely(&off) + candidate.rare;
        (fits && odd && unlikely < unexplained).then_some((candidate, unlikely, off))
    };
    candidates(taken, places, survey).filter_map(weigh).min_by(|a, b| a.1.total_cmp(&b.1))
}

/// Every slip that these measurements may hold.
fn candidates(taken: &[(usize, Measured)], places: &[usize], survey: &Survey) -> impl Iterator<Item = Candidate> {
    let open = |place: usize| !taken[places[place]].1.confirmed;
    let seen = |place: usize| {
        let (at, measured) = taken[places[place]];
        Seen::of(&survey.variables()[at].name, measured.value)
    };
    let mut out = Vec::new();
    for place in (0..places.len()).filter(|&place| open(place)) {
        let Seen { unit, value, .. } = seen(place);
        let factors: &[(&str, f64)] = if unit == Unit::Kilogram {
            &[
                ("pounds", 0.453_592_37),
                ("stone", 6.350_293),
                ("tenths of a kilogram", 0.1),
                ("tens of kilograms", 10.0),
            ]
        } else {
            &[
                ("centimetres", 10.0),
                ("inches", 25.4),
                ("inches as though they were centimetres", 2.54),
                ("tenths of a millimetre", 0.1),
            ]
        };
        for &(typed_in, factor) in factors {
            let meant = (10.0 * value * factor).round() / 10.0;
            let rare = 2.0 * ((factors.len() * places.len()) as f64).ln() - 2.0 * factor.ln();
            let changed = vec![(place, meant)];
            out.push(Candidate { place, slip: BodySlip::Factor { typed_in, meant }, changed, rare });
        }
        let digits = digits_changed_back(value);
        for &meant in &digits {
            let rare = 2.0 * ((digits.len() * places.len()) as f64).ln();
            out.push(Candidate { place, slip: BodySlip::Digits { meant }, changed: vec![(place, meant)], rare });
        }
        for other in (place + 1..places.len()).filter(|&other| open(other) && seen(other).unit == unit) {
            let (a, b) = (seen(place), seen(other));
            let changed = vec![(place, b.value), (other, a.value)];
            let rare = 2.0 * ((places.len() * (places.len() - 1)) as f64 / 2.0).ln();
            out.push(Candidate { place, slip: BodySlip::Swapped { with: b }, changed, rare });
        }
    }
    out.into_iter()
}

/// The other population, where all measurements go together in it and are much likelier than in this one, and than
/// they are, `unlikely`, with a slip taken back.
fn better(population: Population, taken: &[(usize, Measured)], unlikely: Option<f64>) -> Option<Population> {
    let other = match population {
        Population::Men => Population::Women,
        Population::Women => Population::Men,
    };
    let places: Vec<usize> = (0..taken.len()).collect();
    // Both surveys list the same variables in the same order.
    let [here, there] = [population, other].map(|survey| Beside::of(Survey::of(survey), taken, &places));
    let (here, there) = (here?, there?);
    let (as_is, in_other) = (here.unlikely(&here.off), there.unlikely(&there.off));
    let goes = there.worst(&there.off).is_none_or(|(_, off)| off <= QUESTIONED);
    (goes && as_is - in_other > 2.0 * LIKELIER.ln() && unlikely.is_none_or(|unlikely| in_other < unlikely))
        .then_some(other)
}
