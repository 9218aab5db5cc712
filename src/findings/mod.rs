//! What is good, borderline or outside, in sentences with value, band, source and what to move.

mod alignment;
mod choice;
mod clear;
mod fit;
mod load;
mod mend;
mod posture;
mod reach;
mod room;
mod sentence;
mod sight;
mod spread;
mod support;

pub use alignment::LegLine;
pub use mend::{Adjuster, Effect, Mend, Move, Rates, mend};
pub(crate) use posture::{arm_angles, hip_angle, knee_and_ankle};
pub use reach::{hands_stopped_by, leans};
pub use sight::Sight;
pub use spread::{Advice, DOUBTFUL, Narrowed, Sampled, Spread};

use serde::Serialize;

use crate::{
    geometry::{Side, Vec3},
    posture::Moment,
    project::{Band, Bands},
};

pub use crate::project::Group;

/// How a value stands to its band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Inside the band.
    Good,
    /// Outside the band, within its limit.
    Borderline,
    /// Beyond the limit.
    Outside,
}

impl Level {
    /// The level of `value` in `band`.
    pub fn of(value: f64, band: &Band) -> Self {
        if Band::within(band.good, value) {
            Self::Good
        } else if Band::within(band.limit, value) {
            Self::Borderline
        } else {
            Self::Outside
        }
    }

    /// "good", "borderline" or "outside".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Borderline => "borderline",
            Self::Outside => "outside",
        }
    }

    /// The word as a heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Good => "Good",
            Self::Borderline => "Borderline",
            Self::Outside => "Outside",
        }
    }

    /// The level's own mark, so that colour is never needed.
    pub const fn mark(self) -> char {
        match self {
            Self::Good => '●',
            Self::Borderline => '▲',
            Self::Outside => '■',
        }
    }
}

/// Where a finding is in space, W, metres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// An angle at a joint between two rays.
    Angle {
        /// The joint.
        at: Vec3,
        /// A point on one ray.
        from: Vec3,
        /// A point on the other.
        to: Vec3,
    },
    /// A distance between two points.
    Gap {
        /// On the body.
        from: Vec3,
        /// On the rig.
        to: Vec3,
    },
    /// A point.
    Point {
        /// Where.
        at: Vec3,
    },
}

impl Place {
    /// The middle of the place: what a camera flies to and a balloon points at.
    pub fn centre(&self) -> Vec3 {
        match *self {
            Self::Angle { at, .. } | Self::Point { at } => at,
            Self::Gap { from, to } => (from + to) / 2.0,
        }
    }
}

/// One checked figure.
#[derive(Clone, Debug, Serialize)]
pub struct Finding {
    /// Its number in lists, balloons and reports; 1 is the first.
    pub number: usize,
    /// Row of the table of bands.
    pub id: String,
    /// Which side of the body, if one.
    pub side: Option<Side>,
    /// Which of several, where `id` and `side` do not tell: a control's name.
    pub item: Option<String>,
    /// Its group.
    pub group: Group,
    /// What it is about, with its side: "Left knee to wheel".
    pub title: String,
    /// How it stands.
    pub level: Level,
    /// The figure, in `band.unit`.
    pub value: f64,
    /// What is good, with source.
    pub band: Band,
    /// One plain sentence in the second person.
    pub sentence: String,
    /// Where in space.
    pub place: Place,
    /// When in the motion.
    pub moment: Moment,
    /// Body and rig parts, in words.
    pub parts: Vec<String>,
    /// What to move, once it has been looked for.
    pub mend: Option<Mend>,
    /// How it scatters with body and rig, once they have been drawn.
    pub spread: Option<Spread>,
}

impl Finding {
    /// What tells this finding from every other of a study, and stays when the rig changes.
    pub fn key(&self) -> String {
        let mut key = self.id.clone();
        for part in [self.side.map(|side| side.word().to_owned()), self.item.clone()].into_iter().flatten() {
            key.push('.');
            key.push_str(&part);
        }
        key
    }

    /// How far the value is past the good band, as a share of the way from there to the limit: 0 within the band, up to 1
    /// borderline, more outside.
    pub fn urgency(&self) -> f64 {
        let back = self.band.way_back(self.value);
        let end = usize::from(back < 0.0);
        let room = self.band.limit[end].zip(self.band.good[end]).map_or(1.0, |(limit, good)| (limit - good).abs());
        back.abs() / room.max(1e-6)
    }

    /// Whether the value is near the limit of its band: not good, or good by less than its ±. Before that is known, by less
    /// than a quarter of the way from the band to its limit; own choice.
    pub fn is_close(&self) -> bool {
        let Band { good, limit, .. } = &self.band;
        let near = |end: usize| {
            let Some(good) = good[end] else { return false };
            let unsure = limit[end].map_or(0.0, |limit| (limit - good).abs() / 4.0);
            (self.value - good).abs() < self.spread.map_or(unsure, |spread| spread.sd)
        };
        self.level != Level::Good || near(0) || near(1)
    }

    /// The value as a reader wants it.
    pub fn value_words(&self) -> String {
        self.band.unit.show(self.value)
    }
}

/// A figure on its way to becoming a [`Finding`].
pub(crate) struct Figure {
    pub(crate) id: &'static str,
    pub(crate) side: Option<Side>,
    pub(crate) item: Option<String>,
    /// In the band's unit.
    pub(crate) value: f64,
    pub(crate) sentence: String,
    pub(crate) place: Place,
    pub(crate) moment: Moment,
    pub(crate) parts: Vec<String>,
}

/// All findings of a study: by group, in the order of the table, numbered from 1.
pub fn findings(study: &crate::study::Solved, bands: &Bands) -> Vec<Finding> {
    let mut figures = posture::figures(study);
    figures.extend(choice::figures(study));
    figures.extend(reach::figures(study));
    figures.extend(clear::figures(study));
    figures.extend(alignment::figures(study));
    figures.extend(support::figures(study));
    figures.extend(load::figures(study));
    figures.extend(sight::figures(study));
    figures.extend(fit::figures(study));
    found(figures, bands)
}

/// Figures as findings, numbered from 1.
pub(crate) fn found(figures: Vec<Figure>, bands: &Bands) -> Vec<Finding> {
    figures
        .into_iter()
        .enumerate()
        .map(|(index, figure)| {
            let band = bands.get(figure.id).clone();
            let title = match (figure.side, &figure.item) {
                (None, Some(item)) => format!("{item}: {}", band.label.to_lowercase()),
                (side, _) => sided(side, &band.label),
            };
            Finding {
                number: index + 1,
                id: figure.id.to_owned(),
                side: figure.side,
                item: figure.item,
                group: band.group,
                title,
                level: Level::of(figure.value, &band),
                value: figure.value,
                sentence: figure.sentence,
                place: figure.place,
                moment: figure.moment,
                parts: figure.parts,
                mend: None,
                spread: None,
                band,
            }
        })
        .collect()
}

/// A label with the side before it: "Left elbow angle".
pub(crate) fn sided(side: Option<Side>, label: &str) -> String {
    let Some(side) = side else { return label.to_owned() };
    let word = side.word();
    let mut lower = label.to_owned();
    if let Some(first) = lower.get_mut(0..1) {
        first.make_ascii_lowercase();
    }
    format!("{}{} {lower}", word[..1].to_uppercase(), &word[1..])
}

/// The worst level of all findings but loads, which mark and do not judge.
pub fn worst(findings: &[Finding]) -> Level {
    findings.iter().filter(|f| f.group != Group::Load).map(|f| f.level).max().unwrap_or(Level::Good)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Unit;

    /// At least 50 mm, limit 30 mm.
    fn gap(value: f64, sd: Option<f64>) -> Finding {
        let band = Band {
            id: String::new(),
            group: Group::Clearance,
            label: String::new(),
            unit: Unit::Millimetre,
            good: [Some(50.0), None],
            limit: [Some(30.0), None],
            source: String::new(),
            overridden: false,
        };
        let figure = Figure {
            id: "knee_wheel",
            side: None,
            item: None,
            value,
            sentence: String::new(),
            place: Place::Point { at: Vec3::zeros() },
            moment: Moment::REST,
            parts: Vec::new(),
        };
        let spread = sd.map(|sd| Spread { mean: value, sd, middle: [value; 2], levels: [1.0, 0.0, 0.0] });
        let project = crate::project::parse(crate::project::starter()).unwrap();
        let found = found(vec![figure], &Bands::of(&project)).remove(0);
        Finding { level: Level::of(value, &band), band, spread, ..found }
    }

    #[test]
    fn a_distance_is_close_where_it_is_not_good_or_good_by_less_than_it_is_sure() {
        // A quarter of the way from 50 to 30 is 5 mm.
        assert!(gap(20.0, None).is_close() && gap(49.0, None).is_close() && gap(54.0, None).is_close());
        assert!(!gap(56.0, None).is_close());
        // Known to ±9 mm, 58 mm may be less than 50; to ±3 mm, 54 mm hardly.
        assert!(gap(58.0, Some(9.0)).is_close() && !gap(54.0, Some(3.0)).is_close());
    }
}
