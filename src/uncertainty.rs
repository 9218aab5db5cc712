//! Uncertainty carried on to every finding, by sampling: many bodies that the driver may have and many rigs that the
//! numbers may stand for, each checked from end to end.
//!
//! A body is drawn from the population's covariance given the measurements and their errors; each number of the rig
//! from its tolerance (`shared/tolerances.csv`, or the project's own). What the joint rules and the flesh are off, and what joints bend in
//! this person, is not in it.

use std::{cmp::Ordering, collections::BTreeMap};

use rayon::prelude::*;

use crate::{
    body::{Body, Draw},
    findings::{Advice, DOUBTFUL, Finding, Group, Level, Narrowed, Sampled, Spread},
    project::{Checked, Measurements, fields, tolerance},
    study::{Study, check_body},
    watch::{Stopped, Watch},
};

/// A measurement must take this share of a finding's variance away to be worth advice, and this many are given.
const WORTH: f64 = 0.05;
const ADVICE: usize = 3;

/// One draw: the values of the study's findings, and of every dimension that can be measured.
struct Drawn {
    values: Vec<Option<f64>>,
    dimensions: Vec<f64>,
}

/// Draws bodies and rigs, checks each, and writes into the study how its findings scatter and what to measure.
/// The watch hears of each draw.
///
/// Draw number n depends on seed and n alone: the result is the same on however many cores.
///
/// # Errors
/// Where `watch` stops it; the study stays as it was.
pub fn sample(study: &mut Study, draws: usize, seed: u64, watch: &Watch<'_>) -> Result<(), Stopped> {
    let places: BTreeMap<String, usize> =
        study.findings.iter().enumerate().map(|(place, finding)| (finding.key(), place)).collect();
    let solved = &study.solved;
    let drawn = (0..draws as u64)
        .into_par_iter()
        .map(|index| {
            watch.go_on()?;
            let mut draw = Draw::new(seed, index);
            let dimensions = solved.body.dimensions.drawn(&mut draw);
            let project = built(&solved.project, &mut draw);
            let known = Measurements::LIST.iter().map(|(_, variable, ..)| dimensions.get(variable).mean).collect();
            let body = Body::sized(&project.driver, dimensions);
            let mut values = vec![None; places.len()];
            for finding in check_body(&project, body).findings {
                if let Some(&place) = places.get(&finding.key()) {
                    values[place] = Some(finding.value);
                }
            }
            watch.did(1);
            Ok(Drawn { values, dimensions: known })
        })
        .collect::<Result<Vec<_>, _>>()?;

    for (place, finding) in study.findings.iter_mut().enumerate() {
        let values: Vec<f64> = drawn.iter().filter_map(|draw| draw.values[place]).collect();
        finding.spread = spread(values, finding);
    }
    let advice = advice(study, &drawn);
    study.sampled = Some(Sampled { draws, seed, advice });
    Ok(())
}

/// The rig as it may have been built: every number off by its tolerance, inside its range. Where the numbers would
/// contradict one another so, all are half as far off, or half of that, or not at all.
fn built(project: &Checked, draw: &mut Draw) -> Checked {
    let mut moves = Vec::new();
    fields(&mut project.clone().into_inner(), &mut |field| {
        let sd = tolerance(&field, project.tolerances);
        moves.push(if sd > 0.0 { sd * draw.normal() } else { 0.0 });
    });
    for share in [1.0, 0.5, 0.25] {
        let mut moved = project.clone().into_inner();
        let mut moves = moves.iter();
        fields(&mut moved, &mut |field| {
            let by = share * moves.next().unwrap_or(&0.0);
            *field.value = (*field.value + by).clamp(field.range.0, field.range.1);
        });
        if let Ok(checked) = Checked::new(moved) {
            return checked;
        }
    }
    project.clone()
}

fn spread(mut values: Vec<f64>, finding: &Finding) -> Option<Spread> {
    if values.len() < 2 {
        return None;
    }
    values.sort_by(f64::total_cmp);
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let variance = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (count - 1.0);
    let mut levels = [0.0; 3];
    for &value in &values {
        levels[Level::of(value, &finding.band) as usize] += 1.0 / count;
    }
    let middle = [0.05, 0.95].map(|share| {
        // Linear between order statistics.
        let at = share * (count - 1.0);
        let (low, high) = (at.floor() as usize, at.ceil() as usize);
        values[low] + (values[high] - values[low]) * at.fract()
    });
    Some(Spread { mean, sd: variance.sqrt(), middle, levels })
}

/// The measurements that would take most of the variance out of the doubtful findings.
///
/// Of a finding that varies with a dimension x by the correlation ρ, measuring x with the error r takes away the share
/// ρ² s² / (s² + r²) of its variance (regression over the draws), s² being the variance of x. What the draws' number
/// alone makes of an independent dimension is taken off ρ² (Wherry 1931, from memory). Each measurement is judged by itself: two of
/// them do not add up where they tell the same.
fn advice(study: &Study, drawn: &[Drawn]) -> Vec<Advice> {
    let doubtful: Vec<usize> = study
        .findings
        .iter()
        .enumerate()
        .filter(|(_, finding)| {
            finding.group != Group::Load && finding.spread.is_some_and(|spread| spread.share(finding.level) < DOUBTFUL)
        })
        .map(|(place, _)| place)
        .collect();
    let measured: Vec<&str> = study.solved.body.dimensions.measured().collect();
    let mut all: Vec<(f64, Advice)> = Measurements::LIST
        .iter()
        .enumerate()
        .filter_map(|(at, &(field, variable, label, unit, error))| {
            let taken = |place: usize| explained(drawn, place, at, error);
            let mut shares: Vec<(usize, f64)> =
                doubtful.iter().map(|&place| (place, taken(place))).filter(|(_, share)| *share > WORTH).collect();
            shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            let total: f64 = shares.iter().map(|(_, share)| share).sum();
            let narrowed = |&(place, share): &(usize, f64)| {
                let finding = &study.findings[place];
                Narrowed { key: finding.key(), title: finding.title.clone(), left: (1.0 - share).max(0.0).sqrt() }
            };
            let narrows: Vec<Narrowed> = shares.iter().map(narrowed).collect();
            let again = measured.contains(&variable);
            let sentence = Advice::words(label, unit, error, again, &narrows);
            (!narrows.is_empty()).then_some((total, Advice { field, label, unit, error, again, narrows, sentence }))
        })
        .collect();
    all.sort_by(|a, b| b.0.partial_cmp(&a.0).unwrap_or(Ordering::Equal));
    all.into_iter().take(ADVICE).map(|(_, advice)| advice).collect()
}

/// The share of the variance of finding `place` that measuring dimension `at` with `error` would take away.
fn explained(drawn: &[Drawn], place: usize, at: usize, error: f64) -> f64 {
    let pairs: Vec<(f64, f64)> =
        drawn.iter().filter_map(|draw| Some((draw.values[place]?, draw.dimensions[at]))).collect();
    let count = pairs.len() as f64;
    if count < 10.0 {
        return 0.0;
    }
    let (y_mean, x_mean) = pairs.iter().fold((0.0, 0.0), |(y, x), pair| (y + pair.0 / count, x + pair.1 / count));
    let (mut yy, mut xx, mut xy) = (0.0, 0.0, 0.0);
    for (y, x) in pairs {
        yy += (y - y_mean).powi(2);
        xx += (x - x_mean).powi(2);
        xy += (y - y_mean) * (x - x_mean);
    }
    if yy <= 0.0 || xx <= 0.0 {
        return 0.0;
    }
    let correlated = xy * xy / (xx * yy);
    let adjusted = (1.0 - (1.0 - correlated) * (count - 1.0) / (count - 2.0)).max(0.0);
    let variance = xx / (count - 1.0);
    adjusted * variance / (variance + error * error)
}
