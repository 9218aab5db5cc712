//! What to move: for each finding that is not good, the adjuster that brings it back, tried out by solving again.

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::Serialize;

use super::{Finding, Level};
use crate::{
    project::{Adjust, Checked, Project, fields},
    study::{Study, check},
    units::Unit,
};

/// A move of one adjuster and what it does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mend {
    /// The project's field: `seat.slider.at_mm`.
    pub path: String,
    /// How far, in the field's unit.
    pub by: f64,
    /// The finding's value afterwards, solved again.
    pub then: f64,
    /// The finding's level afterwards.
    pub level: Level,
    /// Findings that get worse by a level on the way, by title.
    pub costs: Vec<String>,
    /// In words: "Move the seat slider back by 18 mm: the knee then stands at 128°."
    pub sentence: String,
}

/// An adjuster of a project at its present value.
#[derive(Clone, Debug)]
struct Screw {
    path: String,
    part: String,
    unit: Unit,
    range: (f64, f64),
    value: f64,
    adjust: Adjust,
}

impl Screw {
    /// A move that the rig can make: inside range and reach, in whole steps, rounded as a person would set it.
    fn settable(&self, by: f64) -> f64 {
        let step = if self.adjust.step > 0.0 { self.adjust.step } else { 1.0 };
        let whole = (by / step).abs().ceil() * step * by.signum();
        whole.clamp(-self.adjust.reach, self.adjust.reach).clamp(self.range.0 - self.value, self.range.1 - self.value)
    }

    fn words(&self, by: f64) -> String {
        let way = if by > 0.0 { self.adjust.up } else { self.adjust.down };
        let name = if self.path.starts_with("pedals.pedals[") {
            self.adjust.name.replace("the pedal", &format!("the {}", self.part.to_lowercase()))
        } else {
            self.adjust.name.to_owned()
        };
        format!("Move {name} {way} by {}", self.unit.show(by.abs()))
    }
}

fn screws(project: &Project) -> Vec<Screw> {
    let mut out = Vec::new();
    fields(&mut project.clone(), &mut |field| {
        if let Some(adjust) = field.adjust {
            let (path, part, unit, range) = (field.path, field.part, field.unit, field.range);
            out.push(Screw { path, part, unit, range, value: *field.value, adjust });
        }
    });
    out
}

/// The project with one field moved; `None` where that makes no sound project.
fn moved(project: &Project, path: &str, by: f64) -> Option<Checked> {
    let mut project = project.clone();
    fields(&mut project, &mut |field| {
        if field.path == path {
            *field.value += by;
        }
    });
    Checked::new(project).ok()
}

/// Values by finding key.
fn values(findings: &[Finding]) -> BTreeMap<String, (f64, Level)> {
    findings.iter().map(|finding| (finding.key(), (finding.value, finding.level))).collect()
}

/// How many adjusters are tried out for one finding, the most promising first.
const TRIED: usize = 3;
/// Secant steps towards the band before an adjuster is taken as it is.
const STEPS: usize = 4;

/// Looks for a mend of every finding that is not good.
///
/// Each adjuster is moved a little and everything solved again, which gives the derivative of every figure; for each
/// finding the adjusters that promise the band with the smallest share of their reach are then tried out by solving
/// again, with a few secant steps where the figure bends. What is said was solved, not extrapolated. The cost is one
/// study an adjuster and a few a finding, on all cores.
pub fn mend(study: &mut Study) {
    let open: Vec<usize> =
        (0..study.findings.len()).filter(|&index| study.findings[index].level != Level::Good).collect();
    if open.is_empty() {
        return;
    }
    let project = study.solved.project.clone();
    let screws = screws(&project);
    let before = values(&study.findings);
    // A nudge small against the bands, large against the solver's own tolerance.
    let nudged: Vec<Option<BTreeMap<String, (f64, Level)>>> = screws
        .par_iter()
        .map(|screw| {
            let nudge = if screw.value + NUDGE > screw.range.1 { -NUDGE } else { NUDGE };
            let study = check(&moved(&project, &screw.path, nudge)?);
            let mut out = values(&study.findings);
            for (key, (value, _)) in &mut out {
                *value = (*value - before.get(key).map_or(*value, |(old, _)| *old)) / nudge;
            }
            Some(out)
        })
        .collect();

    let mends: Vec<(usize, Option<Mend>)> = open
        .into_par_iter()
        .map(|index| (index, search(&study.findings[index], &project, &before, &screws, &nudged)))
        .collect();
    for (index, mend) in mends {
        study.findings[index].mend = mend;
    }
}

/// Nudge of an adjuster for its derivative, in its unit.
const NUDGE: f64 = 1.0;

fn search(
    finding: &Finding,
    project: &Checked,
    before: &BTreeMap<String, (f64, Level)>,
    screws: &[Screw],
    nudged: &[Option<BTreeMap<String, (f64, Level)>>],
) -> Option<Mend> {
    let key = finding.key();
    let way = finding.band.way_back(finding.value);
    let mut promising: Vec<(f64, usize, f64)> = screws
        .iter()
        .zip(nudged)
        .enumerate()
        .filter_map(|(index, (screw, nudged))| {
            let slope = nudged.as_ref()?.get(&key)?.0;
            let by = way / slope;
            let share = by.abs() / screw.adjust.reach.max(1e-9);
            (slope.abs() > 1e-4 && share.is_finite()).then_some((share, index, by))
        })
        .collect();
    promising.sort_by(|a, b| a.0.total_cmp(&b.0));

    let mut best: Option<(f64, Mend)> = None;
    for &(_, index, by) in promising.iter().take(TRIED) {
        if let Some((score, mend)) = try_out(finding, project, before, &screws[index], by)
            && best.as_ref().is_none_or(|(least, _)| score < *least)
        {
            best = Some((score, mend));
        }
    }
    best.map(|(_, mend)| mend)
}

/// Moves one adjuster towards the band and solves again; the score is the share of its reach used, plus what it costs
/// elsewhere, plus what is left undone.
fn try_out(
    finding: &Finding,
    project: &Checked,
    before: &BTreeMap<String, (f64, Level)>,
    screw: &Screw,
    first: f64,
) -> Option<(f64, Mend)> {
    let key = finding.key();
    let mut by = screw.settable(first);
    let mut last = (0.0, finding.value);
    let mut reached: Option<(f64, f64, Vec<String>)> = None;
    for _ in 0..STEPS {
        if by == 0.0 {
            break;
        }
        let tried = check(&moved(project, &screw.path, by)?);
        let after = tried.findings.iter().find(|other| other.key() == key)?;
        let way_before = reached
            .as_ref()
            .map_or(finding.band.way_back(finding.value), |(_, value, _)| finding.band.way_back(*value));
        let way = finding.band.way_back(after.value);
        if way.abs() < way_before.abs() - 1e-9 {
            let costs = tried
                .findings
                .iter()
                .filter(|other| before.get(&other.key()).is_some_and(|(_, level)| other.level > *level))
                .map(|other| other.title.clone())
                .collect();
            reached = Some((by, after.value, costs));
        }
        if way == 0.0 || (by - last.0).abs() < 1e-9 {
            break;
        }
        let slope = (after.value - last.1) / (by - last.0);
        if slope.abs() < 1e-6 {
            break;
        }
        last = (by, after.value);
        by = screw.settable(by + way / slope);
    }
    let (by, then, costs) = reached?;
    let level = Level::of(then, &finding.band);
    // A move that leaves the level as it was is no mend.
    if level >= finding.level {
        return None;
    }
    let mut sentence =
        format!("{}: {} then {}", screw.words(by), finding.title.to_lowercase(), finding.band.unit.show(then));
    if level == Level::Borderline {
        sentence.push_str(", still borderline");
    }
    if !costs.is_empty() {
        sentence.push_str("; it costs ");
        sentence.push_str(&costs.join(", ").to_lowercase());
    }
    sentence.push('.');
    let undone = if level == Level::Good { 0.0 } else { 1.0 };
    let score = by.abs() / screw.adjust.reach + 0.4 * costs.len() as f64 + undone;
    Some((score, Mend { path: screw.path.clone(), by, then, level, costs, sentence }))
}
