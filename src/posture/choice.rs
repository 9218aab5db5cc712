//! Where a driver would put the seat by themselves.

use super::{Arm, Around, Leg, arms_at_rest, legs_at_rest, sit};
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
    let mut cost = |forward: f64| {
        there.seat = rig.seat.moved(forward);
        let (sitting, nothing) = (sit(body, &there), Around::nothing());
        let legs = legs_at_rest(body, &there, &sitting, brakes_with, &around);
        discomfort(&arms_at_rest(body, &there, &sitting, nothing), &legs, brakes_with)
    };
    let steps = (REACH / STEP).round() as i32;
    let places = (-steps..=steps).map(|step| f64::from(step) * STEP);
    let (best, _) = places
        .map(|place| (place, cost(place)))
        .fold((0.0, f64::INFINITY), |best, now| if now.1 < best.1 { now } else { best });

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

/// Mean discomfort of the arms and of the legs that press, with what is missing to reach.
fn discomfort(arms: &[Arm; 2], legs: &[Leg; 2], brakes_with: Side) -> f64 {
    let leg = |side: Side| {
        let leg = &legs[side.index()];
        leg.discomfort + (leg.shortfall / MISS).powi(2)
    };
    let arm = |side: Side| {
        let arm = &arms[side.index()];
        arm.discomfort + (arm.shortfall / MISS).powi(2)
    };
    let legs = 0.5 * (leg(Side::Right) + leg(brakes_with));
    legs + 0.5 * (arm(Side::Left) + arm(Side::Right))
}
