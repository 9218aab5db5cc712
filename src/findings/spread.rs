//! How surely a finding is known, and what would make it surer.

use serde::Serialize;

use super::Level;
use crate::units::Unit;

/// What a finding's value was in many draws of body and rig.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spread {
    /// Mean, in the band's unit.
    pub mean: f64,
    /// One standard deviation.
    pub sd: f64,
    /// The middle 90 %: the 5th and the 95th percentile.
    pub middle: [f64; 2],
    /// Share of the draws that were good, borderline, outside.
    pub levels: [f64; 3],
}

/// A finding whose level holds in less than this share of the draws is doubtful; own choice.
pub const DOUBTFUL: f64 = 0.9;

impl Spread {
    /// The share of the draws at a level.
    pub const fn share(&self, level: Level) -> f64 {
        self.levels[level as usize]
    }

    /// The share of the draws at a level in percent: "87 %", "> 99 %".
    pub fn share_words(&self, level: Level) -> String {
        let share = 100.0 * self.share(level);
        match share {
            _ if share > 99.0 => "> 99 %".to_owned(),
            _ if share < 1.0 => "< 1 %".to_owned(),
            _ => format!("{share:.0} %"),
        }
    }

    /// In a sentence, where `level` holds in too few of the draws to rely on.
    pub fn doubt(&self, level: Level, unit: Unit) -> Option<String> {
        if self.share(level) >= DOUBTFUL {
            return None;
        }
        let [low, high] = self.middle.map(|end| unit.show(end));
        let [good, borderline, outside] =
            [Level::Good, Level::Borderline, Level::Outside].map(|level| self.share_words(level));
        Some(format!(
            "Doubtful: {good} good, {borderline} borderline, {outside} outside; 90 % lie between {low} and {high}."
        ))
    }

    /// One standard deviation as a reader wants it.
    pub fn sd_words(&self, unit: Unit) -> String {
        if self.sd < 0.5 && unit.decimals() == 0 { format!("< 1{}", unit.suffix()) } else { unit.show(self.sd) }
    }
}

/// What was sampled for a study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sampled {
    /// How many bodies and rigs were drawn.
    pub draws: usize,
    /// The seed: the same one gives the same draws, on however many cores.
    pub seed: u64,
    /// What to measure, the most helpful first; empty where nothing is doubtful or no measurement would help.
    pub advice: Vec<Advice>,
}

/// A measurement that would make doubtful findings surer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Advice {
    /// Field of the measurements.
    pub field: &'static str,
    /// What it is called.
    #[serde(skip)]
    pub label: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// How surely it can be taken at home, one standard deviation.
    pub error: f64,
    /// True where it has been measured and doing it again would help.
    pub again: bool,
    /// The doubtful findings that it narrows, the most narrowed first.
    pub narrows: Vec<Narrowed>,
    /// In words.
    pub sentence: String,
}

/// What a measurement would do for one finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Narrowed {
    /// The finding's key.
    pub key: String,
    /// Its title.
    pub title: String,
    /// Share of its standard deviation that would be left.
    pub left: f64,
}

impl Advice {
    /// The advice to take a measurement, in words.
    pub(crate) fn words(label: &str, unit: Unit, error: f64, again: bool, narrows: &[Narrowed]) -> String {
        let mut sentence = format!(
            "Measure your {}{} (±{})",
            label.to_lowercase(),
            if again { " again" } else { "" },
            unit.show(error)
        );
        if let Some(most) = narrows.first() {
            let less = 1.0 - most.left;
            sentence += &match less {
                _ if less > 0.6 => ": it takes most of the doubt out of ".to_owned(),
                _ if less > 0.4 => ": it halves the doubt in ".to_owned(),
                _ => format!(": it takes {:.0} % of the doubt out of ", 100.0 * less),
            };
            sentence += &most.title;
            match narrows.len() {
                1 => {}
                2 => sentence += " and helps one other",
                more => sentence += &format!(" and helps {} others", more - 1),
            }
        }
        sentence.push('.');
        sentence
    }
}
