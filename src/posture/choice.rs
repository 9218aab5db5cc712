//! Where a driver would put the seat by themselves.

use super::{Around, arms_at_rest, leg_at_rest, sit};
use crate::{body::Body, geometry::Side, rig::Rig, units::mm};

/// How far from where the seat stands it is looked for, m, and the first step.
const REACH: f64 = 0.30;
const STEP: f64 = 0.02;
/// The place is found to this, m.
const FINE: f64 = mm(0.5);
/// A hand or foot that misses its place by this, m, costs as much as one spread of a joint; own choice.
const MISS: f64 = mm(1.0);

/// How far forward of where it stands a driver would put the seat for wheel and pedals as they are, m: the place of
/// least discomfort of the arms on the rim and of the legs on brake and throttle, everything at rest, the
/// legs clear of wheel and frame. Bolsters and thighs in an arm's way are findings of their own.
///
/// Published seat positions by package and stature are met within their residual spread of about 30 mm
/// (`tests/core/packages.rs`).
pub fn chosen_seat(body: &Body, rig: &Rig, brakes_with: Side) -> f64 {
    let mut there = rig.clone();
    let around = Around::legs(rig);
    let pressing: &[(Side, f64)] = match brakes_with {
        Side::Right => &[(Side::Right, 1.0)],
        Side::Left => &[(Side::Right, 0.5), (Side::Left, 0.5)],
    };
    // What a place costs, or less than that where it is no better than `enough`: the arms are the quicker to be known.
    let mut cost = |forward: f64, enough: f64| {
        there.seat = rig.seat.moved(forward);
        let sitting = sit(body, &there);
        let arms = arms_at_rest(body, &there, &sitting, Around::nothing());
        let mut cost: f64 = arms.iter().map(|arm| 0.5 * discomfort(arm.discomfort, arm.shortfall)).sum();
        for (side, share) in pressing {
            if cost < enough {
                let leg = leg_at_rest(body, &there, &sitting, *side, brakes_with, &around);
                cost += share * discomfort(leg.discomfort, leg.shortfall);
            }
        }
        cost
    };
    // From where the seat stands outwards: the best is seldom far.
    let steps = (REACH / STEP).round() as i32;
    let places = std::iter::once(0).chain((1..=steps).flat_map(|step| [step, -step]));
    let mut best = (0.0, f64::INFINITY);
    for place in places.map(|step| f64::from(step) * STEP) {
        let cost = cost(place, best.1);
        if cost < best.1 {
            best = (place, cost);
        }
    }
    let best = best.0;
    let mut cost = |forward: f64| cost(forward, f64::INFINITY);

    // Golden section between its neighbours.
    const GOLDEN: f64 = 0.618_033_988_749_895;
    let (mut low, mut high) = (best - STEP, best + STEP);
    let mut inner = [high - GOLDEN * (high - low), low + GOLDEN * (high - low)];
    let mut costs = inner.map(&mut cost);
    while high - low > FINE {
        if costs[0] < costs[1] {
            high = inner[1];
            inner = [high - GOLDEN * (high - low), inner[0]];
            costs = [cost(inner[0]), costs[0]];
        } else {
            low = inner[0];
            inner = [inner[1], low + GOLDEN * (high - low)];
            costs = [costs[1], cost(inner[1])];
        }
    }
    f64::midpoint(low, high)
}

/// The discomfort of a limb, with what is missing to reach, m.
fn discomfort(discomfort: f64, shortfall: f64) -> f64 {
    discomfort + (shortfall / MISS).powi(2)
}
