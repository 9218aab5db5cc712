//! Which adjusters promise most, from the rates alone.

use super::{Finding, Level, Move, Rates, width};
use crate::project::Band;

/// What a plan costs; own choices. One whole reach of an adjuster counts 1.
///
/// Another figure that loses a level.
const LOST: f64 = 1.0;
/// Other figures that gain one: four of them give half of this, ever more of them hardly more than all of it, for what is
/// asked for is the nearest way back, not the one that mends most.
const GAINED: f64 = -0.6;
const HALF_GAINED: f64 = 4.0;
/// A finding that comes no further than borderline.
const UNDONE: f64 = 1.0;
/// A second adjuster to turn.
const SECOND: f64 = 0.3;
/// Another figure that goes the whole width of its band from the middle outwards.
const DRIFT: f64 = 0.15;
/// Another figure that changes by the width of its band or more, whichever way.
const STIR: f64 = 0.03;
/// So many widths of a band inside it, it does not matter any more where a figure stands: the middle of a closed band.
const DEEP: f64 = 0.5;
/// Places of the first of two adjusters that are looked at.
const PLACES: usize = 40;

/// Moves of some adjusters, by their place among all.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Plan {
    pub(super) moves: Vec<(usize, f64)>,
}

impl Plan {
    pub(super) fn moves(&self, rates: &Rates) -> Vec<Move> {
        let of = |&(index, by): &(usize, f64)| {
            let adjuster = &rates.adjusters[index];
            Move { path: adjuster.path.clone(), by, unit: adjuster.unit }
        };
        self.moves.iter().map(of).collect()
    }

    /// The same moves, longer by a factor, as the rig can make them.
    pub(super) fn stretched(&self, rates: &Rates, by: f64) -> Self {
        let longer = |&(index, way): &(usize, f64)| (index, rates.adjusters[index].settable(way * by));
        Self { moves: self.moves.iter().map(longer).collect() }
    }

    /// Whether one of its moves is none.
    pub(super) fn rests(&self) -> bool {
        self.moves.iter().any(|&(_, by)| by.abs() < 1e-9)
    }

    /// How much of another plan of the same adjusters this one is, by its longest move.
    pub(super) fn share_of(&self, other: &Self) -> f64 {
        let longest = self.moves.iter().zip(&other.moves).max_by(|a, b| a.0.1.abs().total_cmp(&b.0.1.abs()));
        longest.map_or(0.0, |(mine, theirs)| if theirs.1 == 0.0 { 0.0 } else { mine.1 / theirs.1 })
    }
}

/// A figure as it stands.
struct Row {
    value: f64,
    level: Level,
    band: Band,
    width: f64,
    depth: f64,
}

impl Row {
    /// Levels lost by going to a value.
    fn lost(&self, value: f64) -> f64 {
        f64::from(Level::of(value, &self.band) as u8) - f64::from(self.level as u8)
    }
}

/// The figures of a study, and their rates.
pub(super) struct Table<'a> {
    rows: Vec<Row>,
    rates: &'a Rates,
}

/// How far a value is inside its band, in widths of the band; outside it negative.
fn depth(value: f64, band: &Band, width: f64) -> f64 {
    let low = band.good[0].map_or(f64::INFINITY, |low| value - low);
    let high = band.good[1].map_or(f64::INFINITY, |high| high - value);
    let inside = low.min(high) / width;
    if inside.is_finite() { inside } else { 0.0 }
}

impl<'a> Table<'a> {
    pub(super) fn of(findings: &[Finding], rates: &'a Rates) -> Self {
        let row = |finding: &Finding| {
            let width = width(&finding.band);
            let depth = depth(finding.value, &finding.band, width);
            Row { value: finding.value, level: finding.level, band: finding.band.clone(), width, depth }
        };
        Self { rows: findings.iter().map(row).collect(), rates }
    }

    /// What figure `other` loses by going to a value: levels first, then the way out of its band.
    pub(super) fn loss(&self, other: usize, value: f64) -> f64 {
        let row = &self.rows[other];
        let (before, behind) = (row.depth.min(DEEP), depth(value, &row.band, row.width).min(DEEP));
        10.0 * row.lost(value) + before - behind
    }

    /// Levels that all figures together gain by coming to stand as `after` says.
    pub(super) fn gain(&self, after: &[Option<f64>]) -> f64 {
        -self.rows.iter().zip(after).filter_map(|(row, after)| Some(row.lost((*after)?))).sum::<f64>()
    }

    pub(super) fn is_good(&self, index: usize, after: &[Option<f64>]) -> bool {
        after[index].is_some_and(|value| Level::of(value, &self.rows[index].band) == Level::Good)
    }

    /// How many figures lose a level.
    pub(super) fn lost(&self, after: &[Option<f64>]) -> usize {
        let lost = self.rows.iter().zip(after).filter(|(row, after)| after.is_some_and(|value| row.lost(value) > 0.0));
        lost.count()
    }

    /// What a plan costs for the finding at `index` when the figures come to stand as `after` says.
    pub(super) fn cost(&self, index: usize, plan: &Plan, after: impl Fn(usize) -> Option<f64>) -> f64 {
        let mut cost = SECOND * (plan.moves.len() as f64 - 1.0);
        for &(adjuster, by) in &plan.moves {
            cost += by.abs() / self.rates.adjusters[adjuster].adjust.reach.max(1e-9);
        }
        let mut gained = 0.0;
        for (other, row) in self.rows.iter().enumerate() {
            let Some(value) = after(other) else { continue };
            if other == index {
                let level = Level::of(value, &row.band);
                // A level is gained, or nothing is.
                cost += match level {
                    Level::Good => 0.0,
                    level if level < row.level => UNDONE,
                    _ => f64::INFINITY,
                };
                continue;
            }
            if value.to_bits() == row.value.to_bits() {
                continue;
            }
            let levels = row.lost(value);
            // Nothing is mended by putting something else outside.
            if levels > 0.0 && Level::of(value, &row.band) == Level::Outside {
                return f64::INFINITY;
            }
            cost += LOST * levels.max(0.0);
            gained += (-levels).max(0.0);
            let (before, behind) = (row.depth.min(DEEP), depth(value, &row.band, row.width).min(DEEP));
            cost += DRIFT * (before - behind).clamp(0.0, 1.0);
            cost += STIR * ((value - row.value).abs() / row.width).min(1.0);
        }
        cost + GAINED * gained / (gained + HALF_GAINED)
    }

    /// What a plan promises to cost; infinite where it promises no more levels than it takes.
    fn promise(&self, index: usize, plan: &Plan) -> f64 {
        let value = |other: usize| {
            let by: f64 = plan.moves.iter().map(|&(adjuster, by)| self.rates.at(adjuster, other) * by).sum();
            self.rows[other].value + by
        };
        let lost: f64 = self.rows.iter().enumerate().map(|(other, row)| row.lost(value(other))).sum();
        if lost < 0.0 { self.cost(index, plan, |other| Some(value(other))) } else { f64::INFINITY }
    }

    /// The best plans of one adjuster, the most promising first.
    pub(super) fn singles(&self, index: usize, count: usize) -> Vec<Plan> {
        let way = self.way(index);
        let plans = (0..self.rates.adjusters.len()).filter_map(|adjuster| {
            let rate = self.rates.at(adjuster, index);
            let by = self.rates.adjusters[adjuster].settable(way / rate);
            (rate.abs() > LEAST && by != 0.0).then(|| Plan { moves: vec![(adjuster, by)] })
        });
        self.best(index, plans, count)
    }

    /// The best plans of two adjusters, one of each two.
    pub(super) fn pairs(&self, index: usize, count: usize) -> Vec<Plan> {
        let way = self.way(index);
        let all = self.rates.adjusters.len();
        let pairs = (0..all).flat_map(|first| (0..all).filter(move |&second| second != first).map(move |s| (first, s)));
        let plans = pairs.filter_map(|(first, second)| {
            // The second one finishes what the first one, anywhere in its reach, leaves.
            let (rate, other) = (self.rates.at(second, index), self.rates.at(first, index));
            if rate.abs() < LEAST {
                return None;
            }
            let adjuster = &self.rates.adjusters[first];
            let [low, high] = adjuster.room();
            let places = (0..=PLACES).filter_map(|place| {
                let by = low + (high - low) * place as f64 / PLACES as f64;
                let by = (by / adjuster.step()).round() * adjuster.step();
                let rest = self.rates.adjusters[second].settable((way - other * by) / rate);
                (by != 0.0 && rest != 0.0).then(|| Plan { moves: vec![(first, by), (second, rest)] })
            });
            self.best(index, places, 1).pop()
        });
        self.best(index, plans, count)
    }

    fn way(&self, index: usize) -> f64 {
        let row = &self.rows[index];
        row.band.way_back(row.value)
    }

    fn best(&self, index: usize, plans: impl Iterator<Item = Plan>, count: usize) -> Vec<Plan> {
        let mut best: Vec<(f64, Plan)> = Vec::new();
        for plan in plans {
            let cost = self.promise(index, &plan);
            if cost.is_finite() && (best.len() < count || cost < best[count - 1].0) {
                let at = best.partition_point(|(known, _)| *known <= cost);
                best.insert(at, (cost, plan));
                best.truncate(count);
            }
        }
        best.into_iter().map(|(_, plan)| plan).collect()
    }
}

/// A figure that changes slower than this with an adjuster does not change with it.
const LEAST: f64 = 1e-4;
