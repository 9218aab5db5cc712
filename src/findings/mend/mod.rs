//! What to move: for each finding that is not good, the adjuster or the two that bring it back, tried out by solving
//! again, with what else they change.

mod choose;
mod rates;
mod trials;
mod words;

use rayon::prelude::*;
use serde::Serialize;

use super::{Finding, Group, Level};
use crate::{
    project::{Band, Project, fields},
    study::Study,
    units::Unit,
    watch::{Stopped, Watch},
};

pub use rates::{Adjuster, Rates};

use choose::{Plan, Table};
use trials::{Trials, Values};

/// Moves of one adjuster or two and what they do, solved again with all of them made.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mend {
    /// What to move.
    pub moves: Vec<Move>,
    /// The finding's value afterwards.
    pub then: f64,
    /// The finding's level afterwards, better than before.
    pub level: Level,
    /// What else changes noticeably: by more than a tenth of the width of its band, or by a level. Worst first.
    pub effects: Vec<Effect>,
    /// In words: "Move the seat slider back by 18 mm: right knee angle then 128°; left wrist flexion loses 3°."
    pub sentence: String,
}

/// A move of one adjuster.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Move {
    /// The project's field: `seat.slider.at_mm`.
    pub path: String,
    /// How far, in the field's unit; whole steps of the adjuster.
    pub by: f64,
    /// The unit.
    pub unit: Unit,
}

impl Move {
    /// Makes moves in a project, all of them.
    pub fn make(moves: &[Self], project: &mut Project) {
        fields(project, &mut |field| {
            for one in moves.iter().filter(|one| one.path == field.path) {
                *field.value += one.by;
            }
        });
    }
}

/// What a mend does to another figure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Effect {
    /// The finding's key.
    pub key: String,
    /// Its title.
    pub title: String,
    /// Unit of both values.
    pub unit: Unit,
    /// Before.
    pub from: f64,
    /// Afterwards.
    pub to: f64,
    /// Level before.
    pub was: Level,
    /// Level afterwards.
    pub level: Level,
}

/// A figure changes noticeably by more than this share of the width of its band; own choice: 2° of a knee that may
/// stand at 120 to 140°.
const NOTICED: f64 = 0.1;
/// Times a plan is solved and corrected where the figures bend.
const CORRECTIONS: usize = 4;
/// Plans of one adjuster, and of two, that are solved for a finding, the most promising first.
const TRIED: usize = 2;

/// Looks for a mend of every finding that is not good.
///
/// Each adjuster is nudged and everything solved again: that gives the rate of every figure with it. From these rates
/// the adjusters are chosen that bring a figure back for the least: how much of their reach they use, which other
/// figures lose or gain by it. Two are looked for where one does not reach, or costs another figure its level. What is
/// offered was solved, not extrapolated, with a few corrections where figures bend; it gives more levels than it takes.
/// The cost is one study an adjuster and a few a finding, on all cores.
///
/// # Errors
/// Where `watch` stops it; the study stays as it was. The watch hears of each adjuster and each finding.
pub fn mend(study: &mut Study, watch: &Watch<'_>) -> Result<(), Stopped> {
    // No adjuster mends the frame, whose findings stand last.
    let count = study.findings.iter().take_while(|finding| finding.group != Group::Frame).count();
    let findings = &study.findings[..count];
    let open: Vec<usize> = (0..count).filter(|&index| findings[index].level != Level::Good).collect();
    if open.is_empty() {
        return Ok(());
    }
    let rates = Rates::of(study, watch)?;
    let table = Table::of(findings, &rates);
    let trials = Trials::new(findings, &study.solved.project, &rates);
    let mends = open.into_par_iter().map(|index| {
        watch.go_on()?;
        let mend = search(index, findings, &rates, &table, &trials);
        watch.did(1);
        Ok((index, mend))
    });
    for (index, mend) in mends.collect::<Result<Vec<_>, _>>()? {
        study.findings[index].mend = mend;
    }
    Ok(())
}

/// A plan that was solved: what it costs, and the findings afterwards in the order of those before.
struct Solved {
    cost: f64,
    plan: Plan,
    after: Values,
}

fn search(index: usize, findings: &[Finding], rates: &Rates, table: &Table, trials: &Trials) -> Option<Mend> {
    let mut best: Option<Solved> = None;
    // Good, and no other figure loses a level: nothing better is looked for.
    let free = |best: &Option<Solved>| {
        best.as_ref().is_some_and(|best| table.is_good(index, &best.after) && table.lost(&best.after) == 0)
    };
    let try_all = |plans: Vec<Plan>, best: &mut Option<Solved>| {
        for plan in plans {
            if free(best) {
                return;
            }
            if let Some(solved) = try_out(index, findings, rates, table, trials, plan)
                && best.as_ref().is_none_or(|known| solved.cost < known.cost)
            {
                *best = Some(solved);
            }
        }
    };
    try_all(table.singles(index, TRIED), &mut best);
    if !free(&best) {
        try_all(table.pairs(index, TRIED), &mut best);
    }
    best.map(|solved| finish(index, findings, rates, table, &solved))
}

/// Solves a plan, corrects it where the figure stops short of its band or goes further than it need, and gives the best
/// of what was met.
fn try_out(
    index: usize,
    findings: &[Finding],
    rates: &Rates,
    table: &Table,
    trials: &Trials,
    mut plan: Plan,
) -> Option<Solved> {
    let finding = &findings[index];
    let goal = finding.value + finding.band.way_back(finding.value);
    let mut best: Option<Solved> = None;
    let mut last = (0.0, finding.value);
    for _ in 0..CORRECTIONS {
        let after = trials.solve(&plan)?;
        let value = after[index]?;
        let cost = table.cost(index, &plan, |other| after[other]);
        // Of two tries that mend alike the later one goes no further than it need.
        let rank =
            |after: &[Option<f64>]| (after[index].map(|value| Level::of(value, &finding.band)), table.lost(after));
        let offered = table.gain(&after) > 0.0 && cost.is_finite();
        if offered && best.as_ref().is_none_or(|best| rank(&after) <= rank(&best.after)) {
            best = Some(Solved { cost, plan: plan.clone(), after });
        }
        // Along the plan the figure goes on, or back, as it went from the last try to this one.
        let slope = (value - last.1) / (1.0 - last.0);
        let next = plan.stretched(rates, 1.0 + (goal - value) / slope);
        if slope.abs() < 1e-9 || next.rests() || next == plan {
            break;
        }
        // The last try as a share of the new plan.
        last = (plan.share_of(&next), value);
        plan = next;
    }
    best
}

fn finish(index: usize, findings: &[Finding], rates: &Rates, table: &Table, solved: &Solved) -> Mend {
    let finding = &findings[index];
    let then = solved.after[index].unwrap_or(finding.value);
    let level = Level::of(then, &finding.band);
    let mut effects: Vec<(f64, Effect)> = findings
        .iter()
        .zip(solved.after.iter())
        .enumerate()
        .filter_map(|(other, (figure, &to))| {
            let (from, to) = (figure.value, to?);
            let (was, level) = (figure.level, Level::of(to, &figure.band));
            let noticed = (to - from).abs() > NOTICED * width(&figure.band) || was != level;
            let unit = figure.band.unit;
            let effect = Effect { key: figure.key(), title: figure.title.clone(), unit, from, to, was, level };
            (other != index && noticed).then(|| (table.loss(other, to), effect))
        })
        .collect();
    effects.sort_by(|a, b| b.0.total_cmp(&a.0));
    let effects: Vec<Effect> = effects.into_iter().map(|(_, effect)| effect).collect();
    let moves = solved.plan.moves(rates);
    let sentence = words::sentence(finding, &solved.plan, rates, then, &effects);
    Mend { moves, then, level, effects, sentence }
}

/// The width of a band: from end to end where it has two, else from its end to its limit.
fn width(band: &Band) -> f64 {
    let wide = match (band.good, band.limit) {
        ([Some(low), Some(high)], _) => high - low,
        ([Some(good), None], [Some(limit), _]) | ([None, Some(good)], [_, Some(limit)]) => (good - limit).abs(),
        _ => 0.0,
    };
    // A band without width is left by whatever can be seen of the figure.
    if wide > 0.0 { wide } else { 0.1_f64.powi(i32::try_from(band.unit.decimals()).unwrap_or(0)) }
}
