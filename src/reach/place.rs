//! Where a control can stand: reached in comfort, out of the way of all that moves, and how it is carried.

use rayon::prelude::*;
use serde::Serialize;

use super::{
    Limb, Reach, Region, Stopped, Watch, Zone,
    field::{COARSE, Field, Looks},
    judge::{Found, Query, State},
    surface::surface,
    zone::Angles,
};
use crate::{
    geometry::{Solid, TaperedCapsule, Vec3, bound, distance, unit_or},
    rig::RailPart,
    study::Solved,
    units::{Unit, mm, show_place, to_mm},
};

/// The best place of a control.
#[derive(Clone, Debug, Serialize)]
pub struct Spot {
    /// The control.
    pub control: String,
    /// Where its grip stands best, mm, W.
    pub at_mm: [f64; 3],
    /// The zone that was asked for: the comfortable one, or the attainable one where nothing is free in that.
    pub zone: Zone,
    /// The rail that carries it with the shortest bracket, or null where there is none.
    pub rail: Option<String>,
    /// The nearest place in a slot of that rail, mm, W.
    pub slot_mm: Option<[f64; 3]>,
    /// That place along the rail from its first end, mm.
    pub along_mm: Option<f64>,
    /// The bracket from slot to grip, mm.
    pub bracket_mm: Option<f64>,
    /// Where it can stand at all.
    pub region: Region,
    /// In words.
    pub sentence: String,
}

/// A control with the hand round it: so far its grip keeps from all that moves, m; own choice.
const ROOM: f64 = mm(60.0);
/// Two controls stand so far apart, m: a hand's breadth; own choice.
const APART: f64 = mm(90.0);
/// A bracket longer than this needs a rail of its own, m; own choice.
const BRACKET: f64 = mm(250.0);
/// From slot to slot on a face, m: profile rails have one every 40 mm of their breadth; common practice, no published source.
const PITCH: f64 = mm(40.0);

/// The least distance from a ball to all that moves: rim, hands and arms over the steering, legs over the pedals.
struct Sweeps(Vec<Solid>);

impl Sweeps {
    fn of(solved: &Solved) -> Self {
        let (body, motion, wheel) = (&solved.body, &solved.motion, &solved.rig.wheel);
        let mut out = vec![Solid::Capsule(wheel.hub), Solid::Box(wheel.unit)];
        let turns = if wheel.path.is_circle() { 1 } else { 9 };
        for turn in 0..turns {
            let share = if turns == 1 { 0.0 } else { 2.0 * f64::from(turn) / f64::from(turns - 1) - 1.0 };
            out.push(Solid::Rim(wheel.rim(share * wheel.lock.min(std::f64::consts::PI))));
        }
        let some = |length: usize, most: usize| (0..length).step_by(length.div_ceil(most).max(1));
        for at in some(motion.arms.steps.len(), 21) {
            let (_, arms) = &motion.arms.steps[at];
            for side in crate::geometry::Side::BOTH {
                out.extend(body.arm(&arms[side.index()], side).into_iter().map(|solid| Solid::Capsule(solid.shape)));
            }
        }
        for sweep in &motion.pedals {
            for at in some(sweep.steps.len(), 4) {
                let legs = body.leg(&sweep.steps[at].1, sweep.side);
                out.extend(legs.into_iter().map(|solid| Solid::Capsule(solid.shape)));
            }
        }
        out.extend(body.trunk(&solved.rest.sitting).into_iter().map(|solid| Solid::Capsule(solid.shape)));
        Self(out)
    }

    fn gap(&self, point: Vec3) -> f64 {
        let ball = TaperedCapsule { a: point, b: point, radius_a: 0.0, radius_b: 0.0 };
        self.0.iter().fold(mm(150.0), |least, solid| {
            if bound(&ball, solid) >= least { least } else { least.min(distance(&ball, solid).gap) }
        })
    }
}

/// Reached in a zone and free of the sweeps.
struct Free<'a> {
    reach: &'a Reach,
    zone: Zone,
    sweeps: &'a Sweeps,
    others: &'a [Vec3],
}

impl Free<'_> {
    /// How far a point keeps beyond what it has to, m.
    fn spare(&self, point: Vec3) -> f64 {
        let beside = self.others.iter().map(|other| (other - point).norm() - APART).fold(f64::INFINITY, f64::min);
        beside.min(self.sweeps.gap(point) - ROOM)
    }
}

impl Looks for Free<'_> {
    fn look(&self, queries: &[Query]) -> Vec<Found> {
        let points: Vec<Vec3> = queries.iter().map(|query| query.point).collect();
        let found = self.reach.found_all(&points, self.zone).into_iter().zip(&points);
        found
            .map(|(found, point)| {
                if found.state != State::Reached {
                    return found;
                }
                let spare = self.spare(*point);
                let state = if spare < 0.0 { State::Blocked } else { State::Reached };
                Found { state, by: if spare < 0.0 { -spare } else { found.by.min(spare) }, ..found }
            })
            .collect()
    }

    fn begin(&self) -> Vec<(Vec3, Angles)> {
        self.reach.begin(self.zone)
    }
}

/// The place in a rail's slots that is nearest to a point, W, and how far along the rail it lies, m.
fn slot(rail: &RailPart, point: Vec3) -> (Vec3, f64) {
    let half = rail.solid.half;
    let local = rail.solid.pose.inverse_transform_point(&point.into()).coords;
    let along = local.z.clamp(-half.z, half.z);
    let mut best = (f64::INFINITY, Vec3::zeros());
    for (axis, across) in [(0, 1), (1, 0)] {
        let count = (2.0 * half[across] / PITCH).round().max(1.0) as usize;
        for which in 0..count {
            for sign in [-1.0, 1.0] {
                let mut place = Vec3::new(0.0, 0.0, along);
                place[axis] = sign * half[axis];
                place[across] = (which as f64 - (count - 1) as f64 / 2.0) * PITCH;
                let off = (place - local).norm();
                if off < best.0 {
                    best = (off, place);
                }
            }
        }
    }
    ((rail.solid.pose * nalgebra::Point3::from(best.1)).coords, along + half.z)
}

/// The nearest slot of all rails: rail, place, how far along, and how far away.
fn nearest_slot(rails: &[RailPart], point: Vec3) -> Option<(&RailPart, Vec3, f64, f64)> {
    rails
        .iter()
        .map(|rail| {
            let (at, along) = slot(rail, point);
            (rail, at, along, (at - point).norm())
        })
        .min_by(|a, b| a.3.total_cmp(&b.3))
}

/// Where a control of the project can stand, asked of the reach of its hand: in the comfortable zone, at least 60 mm from
/// rim, wheel unit, trunk, and hands, arms and legs as they move, 90 mm from other controls. The best place has the least
/// discomfort and, of places alike, the shortest bracket to a rail. `None` where nothing is free in the attainable zone
/// either.
///
/// # Errors
/// Where `watch` stops it; it hears of each point and each place that was looked at.
pub fn where_to_put(
    solved: &Solved,
    reach: &Reach,
    control: usize,
    watch: &Watch<'_>,
) -> Result<Option<Spot>, Stopped> {
    let Some(name) = solved.rig.controls.get(control).map(|control| &control.name) else { return Ok(None) };
    let sweeps = Sweeps::of(solved);
    let others: Vec<Vec3> =
        solved.rig.controls.iter().enumerate().filter(|(at, _)| *at != control).map(|(_, other)| other.at).collect();
    for zone in [Zone::Comfortable, Zone::Attainable] {
        let free = Free { reach, zone, sweeps: &sweeps, others: &others };
        let mut field = Field::flood(&free, None, reach.extent(), COARSE, watch)?;
        field.refine(&free, None, reach.extent(), watch)?;
        let level = field.finest();
        let on = |level: &super::field::Level| {
            level.all().filter(|(node, _)| node.reached()).map(|(_, place)| level.point(place)).collect::<Vec<_>>()
        };
        let mut places = on(&field.coarse);
        places.extend(on(level));
        let cost = |point: &Vec3| {
            let bracket = nearest_slot(&solved.rig.rails, *point).map_or(1.0, |(.., off)| off);
            reach.comfort_at(*point, zone) + (bracket / BRACKET).powi(2)
        };
        let costs: Vec<f64> = places
            .par_iter()
            .map(|place| {
                watch.go_on()?;
                let cost = cost(place);
                watch.did(1);
                Ok(cost)
            })
            .collect::<Result<_, Stopped>>()?;
        let best = places.into_iter().zip(costs).min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((at, _)) = best else { continue };
        let mesh = surface(level, false, &|_| super::Barrier::Floor).mesh;
        let hand = match reach.limb {
            Limb::Hand(side, _) | Limb::Foot(side, _) => side.word(),
        };
        let region = Region {
            name: format!("place for {name}"),
            litres: (super::Surface { mesh: mesh.clone(), ..super::Surface::default() }.volume() * 1e4).round() / 10.0,
            mesh,
        };
        let tenth = |p: Vec3| [0, 1, 2].map(|i| (to_mm(p[i]) * 10.0).round() / 10.0);
        let found = nearest_slot(&solved.rig.rails, at);
        let mut sentence = format!(
            "{name} stands best at {}: your {hand} hand is there {}, clear of wheel, hands and legs as \
             they move.",
            show_place(at),
            if zone == Zone::Comfortable { "in comfort" } else { "within its reach, though not in comfort" }
        );
        if let Some((rail, slot, along, off)) = found {
            sentence += &format!(
                " The nearest slot is on the {}, {} from its first end, at {}, with a bracket of {}{}.",
                rail.name,
                Unit::Millimetre.show(to_mm(along)),
                show_place(slot),
                Unit::Millimetre.show(to_mm(off)),
                if off > BRACKET { ": a rail of its own would hold it better" } else { "" }
            );
        }
        debug_assert!(unit_or(at, Vec3::x()).iter().all(|x| x.is_finite()), "a place is finite");
        return Ok(Some(Spot {
            control: name.clone(),
            at_mm: tenth(at),
            zone,
            rail: found.map(|(rail, ..)| rail.name.clone()),
            slot_mm: found.map(|(_, slot, ..)| tenth(slot)),
            along_mm: found.map(|(_, _, along, _)| to_mm(along).round()),
            bracket_mm: found.map(|(.., off)| to_mm(off).round()),
            region,
            sentence,
        }));
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::Rail;

    #[test]
    fn a_place_is_written_with_a_true_minus_and_no_minus_nought() {
        assert_eq!(show_place(Vec3::new(0.5454, -0.3102, -0.0003)), "(545, −310, 0) mm");
    }

    /// By hand: a rail of 40 × 80 along x, 80 upright; its sides have two slots, 20 mm above and below the middle.
    #[test]
    fn slots_lie_on_the_faces_of_a_rail() {
        let rail = Rail::between("base", [40.0, 80.0], [0.0, 0.0, 40.0], [1000.0, 0.0, 40.0]);
        let rail = RailPart::place(&rail);
        let (at, along) = slot(&rail, Vec3::new(0.3, 0.2, 0.055));
        assert!((at - Vec3::new(0.3, 0.02, 0.06)).norm() < 1e-9, "{at}");
        assert!((along - 0.3).abs() < 1e-9);
        let (at, along) = slot(&rail, Vec3::new(1.3, 0.0, 0.5));
        assert!((at - Vec3::new(1.0, 0.0, 0.08)).norm() < 1e-9 && (along - 1.0).abs() < 1e-9, "{at}");
    }
}
