//! Comfort bands and margins: defaults with their source, replaced by the user's own where the project says so.

use std::{collections::BTreeMap, sync::OnceLock};

use serde::{Deserialize, Serialize};

use super::{Project, Style as CarStyle};
use crate::units::{System, Unit};

const TABLE: &str = include_str!("../../shared/bands.csv");

/// What a finding is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Joint angles.
    Posture,
    /// What the limbs can get to.
    Reach,
    /// What comes close.
    Clearance,
    /// What is in line.
    Alignment,
    /// What carries the body.
    Support,
    /// What is pressed.
    Load,
    /// What is seen of the screens.
    Sight,
    /// Whether the parts go together.
    Fit,
    /// What gives, and what tips.
    Frame,
}

impl Group {
    /// All groups in reading order.
    pub const ALL: [Self; 9] = [
        Self::Posture,
        Self::Reach,
        Self::Clearance,
        Self::Alignment,
        Self::Support,
        Self::Load,
        Self::Sight,
        Self::Fit,
        Self::Frame,
    ];

    /// The heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Posture => "Posture",
            Self::Reach => "Reach",
            Self::Clearance => "Clearance",
            Self::Alignment => "Alignment",
            Self::Support => "Support",
            Self::Load => "Load",
            Self::Sight => "Screens",
            Self::Fit => "Do the parts fit",
            Self::Frame => "Frame",
        }
    }
}

/// Which way a band is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// Good between two values.
    Band,
    /// Good up to a value.
    AtMost,
    /// Good from a value on.
    AtLeast,
}

/// The style column of the table: a car style or any.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
enum Style {
    #[serde(rename = "any")]
    Any,
    ClosedCar,
    Formula,
    Road,
}

/// A row as it stands in the table.
#[derive(Clone, Debug, Deserialize)]
struct Row {
    id: String,
    style: Style,
    group: Group,
    label: String,
    unit: Unit,
    direction: Direction,
    good_low: f64,
    good_high: Option<f64>,
    limit_low: f64,
    limit_high: Option<f64>,
    source: String,
}

/// The band of one finding, in the unit that people read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Band {
    /// The finding's id, a row of `shared/bands.csv`.
    pub id: String,
    /// The finding's group, as in the table.
    #[serde(skip)]
    pub group: Group,
    /// What it is about.
    #[serde(skip)]
    pub label: String,
    /// The unit of the four numbers.
    pub unit: Unit,
    /// Good from here; −∞ where the band is open below.
    pub good: [Option<f64>; 2],
    /// Borderline out to these; outside beyond.
    pub limit: [Option<f64>; 2],
    /// Where the numbers come from.
    pub source: String,
    /// True where the project replaced the default.
    pub overridden: bool,
}

impl Band {
    /// The band in words: "120 to 140°", "at least 50 mm".
    pub fn words(&self) -> String {
        match self.good {
            [Some(low), Some(high)] => {
                let low_text = self.unit.show(low);
                format!("{} to {}", low_text.trim_end_matches(System::shown().suffix(self.unit)), self.unit.show(high))
            }
            [Some(low), None] => format!("at least {}", self.unit.show(low)),
            [None, Some(high)] => format!("at most {}", self.unit.show(high)),
            [None, None] => "any".to_owned(),
        }
    }

    /// True where `value` lies between the two ends of `range`, an open end letting everything pass.
    pub fn within(range: [Option<f64>; 2], value: f64) -> bool {
        range[0].is_none_or(|low| value >= low) && range[1].is_none_or(|high| value <= high)
    }

    /// The signed way from `value` to the nearest good value; 0 inside.
    pub fn way_back(&self, value: f64) -> f64 {
        match self.good {
            [Some(low), _] if value < low => low - value,
            [_, Some(high)] if value > high => high - value,
            _ => 0.0,
        }
    }
}

/// The bands that hold for one project.
#[derive(Clone, Debug)]
pub struct Bands {
    by_id: BTreeMap<String, Band>,
}

impl Bands {
    /// The table's bands for the project's style, with the user's own in their place.
    pub fn of(project: &Project) -> Self {
        let mut by_id = BTreeMap::new();
        for row in rows() {
            let fits = match row.style {
                Style::Any => true,
                Style::ClosedCar => project.style == CarStyle::ClosedCar,
                Style::Formula => project.style == CarStyle::Formula,
                Style::Road => project.style == CarStyle::Road,
            };
            if !fits {
                continue;
            }
            let (good, limit) = match row.direction {
                Direction::Band => ([Some(row.good_low), row.good_high], [Some(row.limit_low), row.limit_high]),
                Direction::AtMost => ([None, Some(row.good_low)], [None, Some(row.limit_low)]),
                Direction::AtLeast => ([Some(row.good_low), None], [Some(row.limit_low), None]),
            };
            let mut band = Band {
                id: row.id.clone(),
                group: row.group,
                label: row.label.clone(),
                unit: row.unit,
                good,
                limit,
                source: row.source.clone(),
                overridden: false,
            };
            if let Some(own) = project.bands.get(&row.id) {
                // An end that the default leaves open stays open.
                let keep =
                    |default: [Option<f64>; 2], own: [f64; 2]| [default[0].map(|_| own[0]), default[1].map(|_| own[1])];
                band.good = keep(band.good, own.good);
                band.limit = keep(band.limit, own.limit);
                "the project's own band".clone_into(&mut band.source);
                band.overridden = true;
            }
            by_id.insert(row.id.clone(), band);
        }
        Self { by_id }
    }

    /// The band of a finding id.
    ///
    /// # Panics
    /// If `id` is not in `shared/bands.csv`: a slip of ours, caught by the tests.
    pub fn get(&self, id: &str) -> &Band {
        &self.by_id[id]
    }
}

/// Every finding id, in the order of the table, once each.
pub fn band_ids() -> impl Iterator<Item = &'static str> {
    let mut last = "";
    rows().iter().filter_map(move |row| {
        let new = row.id != last;
        last = &row.id;
        new.then_some(row.id.as_str())
    })
}

fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        csv::Reader::from_reader(TABLE.as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("shared/bands.csv is part of the program and is read by its tests")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_has_a_source_and_limits_outside_the_good_band() {
        for row in rows() {
            assert!(row.source.len() > 20, "{} has no source", row.id);
            match row.direction {
                Direction::Band => {
                    let (high, limit_high) = (row.good_high.unwrap(), row.limit_high.unwrap());
                    assert!(row.limit_low <= row.good_low && row.good_low < high && high <= limit_high, "{}", row.id);
                }
                Direction::AtMost => assert!(row.good_low <= row.limit_low, "{}", row.id),
                Direction::AtLeast => assert!(row.good_low >= row.limit_low, "{}", row.id),
            }
        }
    }
}
