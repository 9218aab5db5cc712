//! How every figure changes with every adjuster.

use rayon::prelude::*;

use super::Move;
use crate::{
    body::Body,
    findings::{Finding, room::rooms},
    project::{Adjust, Checked, Project, fields},
    rig::Rig,
    study::{Study, check_body},
    units::Unit,
    watch::{Stopped, Watch},
};

/// An adjuster of a project at its present value.
#[derive(Clone, Debug)]
pub struct Adjuster {
    /// The project's field: `seat.slider.at_mm`.
    pub path: String,
    /// The part that it belongs to: "Brake".
    pub(super) part: String,
    /// Unit of the field.
    pub unit: Unit,
    range: (f64, f64),
    value: f64,
    pub(super) adjust: Adjust,
}

impl Adjuster {
    /// Every adjuster of a project.
    fn all(project: &Checked, rig: &Rig) -> Vec<Self> {
        let rooms = rooms(project, rig);
        let mut out = Vec::new();
        fields(&mut Project::clone(project), &mut |field| {
            if let Some(adjust) = field.adjust {
                let (path, part, unit, mut range) = (field.path, field.part, field.unit, field.range);
                // No further than until a part meets another.
                if let Some(room) = rooms.iter().find(|room| room.path == path) {
                    let [down, up] = &room.stops;
                    range.0 = down.as_ref().map_or(range.0, |stop| stop.at);
                    range.1 = up.as_ref().map_or(range.1, |stop| stop.at);
                }
                out.push(Self { path, part, unit, range, value: *field.value, adjust });
            }
        });
        out
    }

    /// The step in which it is set: its own, or whole units where it is continuous.
    pub fn step(&self) -> f64 {
        if self.adjust.step > 0.0 { self.adjust.step } else { 1.0 }
    }

    /// Least and greatest move: inside range and reach, in whole steps.
    pub(super) fn room(&self) -> [f64; 2] {
        let (low, high) = (self.range.0 - self.value, self.range.1 - self.value);
        let whole = |room: f64| (room / self.step() + 1e-9).floor() * self.step();
        [-whole((-low).clamp(0.0, self.adjust.reach)), whole(high.clamp(0.0, self.adjust.reach))]
    }

    /// A move that the rig can make: in whole steps no shorter than asked for, inside range and reach.
    pub(super) fn settable(&self, by: f64) -> f64 {
        let [least, most] = self.room();
        let whole = (by.abs() / self.step() - 1e-6).ceil() * self.step();
        whole.copysign(by).clamp(least, most)
    }
}

/// The rates of every figure with every adjuster: the derivative of the model at a project.
#[derive(Clone, Debug)]
pub struct Rates {
    /// The adjusters.
    pub adjusters: Vec<Adjuster>,
    keys: Vec<String>,
    /// By adjuster, then by finding; 0 where a figure comes or goes.
    table: Vec<Vec<f64>>,
}

/// Nudge of an adjuster in its unit: small against the bands, large against what the solver leaves open.
const NUDGE: f64 = 1.0;

impl Rates {
    /// Nudges every adjuster of a study's project to both sides and solves again, on all cores.
    ///
    /// # Errors
    /// Where `watch` stops it; it hears of each adjuster.
    pub fn of(study: &Study, watch: &Watch<'_>) -> Result<Self, Stopped> {
        let project = &study.solved.project;
        let adjusters = Adjuster::all(project, &study.solved.rig);
        let keys: Vec<String> = study.findings.iter().map(Finding::key).collect();
        let table = adjusters.par_iter().map(|adjuster| {
            watch.go_on()?;
            let nudged = |by: f64| {
                let inside = (adjuster.range.0..=adjuster.range.1).contains(&(adjuster.value + by));
                let by = Move { path: adjuster.path.clone(), by, unit: adjuster.unit };
                let moved = inside.then(|| moved(project, std::slice::from_ref(&by))).flatten();
                moved.map(|project| check_body(&project, Body::of(&project.driver)))
            };
            let sides = [nudged(-NUDGE), nudged(NUDGE)];
            let rate = |finding: &Finding, key: &String| {
                let value = |study: &Option<Study>| {
                    let there =
                        study.as_ref()?.findings.iter().find(|other| other.id == finding.id && other.key() == *key);
                    there.map(|there| there.value)
                };
                // From side to side: a posture that rests on an edge, where the next one is another, misleads on its own.
                match sides.each_ref().map(value) {
                    [Some(less), Some(more)] => (more - less) / (2.0 * NUDGE),
                    [Some(less), None] => (finding.value - less) / NUDGE,
                    [None, Some(more)] => (more - finding.value) / NUDGE,
                    [None, None] => 0.0,
                }
            };
            watch.did(1);
            Ok(study.findings.iter().zip(&keys).map(|(finding, key)| rate(finding, key)).collect())
        });
        let table = table.collect::<Result<_, _>>()?;
        Ok(Self { adjusters, keys, table })
    }

    /// How fast a figure changes with an adjuster: units of the finding's band a unit of the field.
    pub fn rate(&self, path: &str, key: &str) -> Option<f64> {
        let adjuster = self.adjusters.iter().position(|adjuster| adjuster.path == path)?;
        let finding = self.keys.iter().position(|known| known == key)?;
        Some(self.table[adjuster][finding])
    }

    /// The rate of the finding at a place with the adjuster at a place.
    pub(super) fn at(&self, adjuster: usize, finding: usize) -> f64 {
        self.table[adjuster][finding]
    }
}

/// The project with moves made; `None` where that makes no sound project.
pub(super) fn moved(project: &Checked, moves: &[Move]) -> Option<Checked> {
    let mut project = Project::clone(project);
    Move::make(moves, &mut project);
    Checked::new(project).ok()
}
