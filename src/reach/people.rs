//! What several people reach: all drivers of a project together, and a population by the share of people who reach it.
//!
//! The population is drawn from the survey with its correlations, half men and half women, each of its own proportions; each
//! sits in the seat as it stands, hands on the rim and feet on the pedals, and is in its own way.

use std::sync::atomic::{AtomicU16, Ordering};

use rayon::prelude::*;
use serde::Serialize;

use super::{
    Grip, Limb, Reach, Stopped, Surface, Watch, Zone,
    field::{COARSE, Field, Looks, Place},
    judge::{Found, Query, State},
    surface::surface,
    zone::Angles,
};
use crate::{
    body::{Body, Dimensions, Draw},
    geometry::{Mesh, Side, Vec3, isosurface},
    posture::at_rest,
    project::{Checked, Driver, Measurements, Population},
    rig::Rig,
    units::{mm, to_mm},
};

/// A region of space.
#[derive(Clone, Debug, Serialize)]
pub struct Region {
    /// What it is, in words: "left hand, reached by 95 %".
    pub name: String,
    /// What it holds, litres.
    pub litres: f64,
    /// Its boundary: closed; W, m.
    #[serde(skip)]
    pub mesh: Mesh,
}

/// What a population reaches.
#[derive(Clone, Debug, Serialize)]
pub struct Sharing {
    /// How many were drawn.
    pub people: usize,
    /// Seed of the draw.
    pub seed: u64,
    /// For each hand what at least 50, 90 and 95 % reach with the shoulders on the seat.
    pub regions: Vec<Region>,
    /// For each control the share of people whose hand reaches it, percent.
    pub controls: Vec<(String, f64)>,
    /// How many reach each point, left and right.
    #[serde(skip)]
    tallies: [Tally; 2],
}

/// Shares of people, percent.
const SHARES: [f64; 3] = [50.0, 90.0, 95.0];

impl Sharing {
    /// The share of people whose hand reaches a point with the shoulders on the seat, percent; linear between points 40 mm
    /// apart.
    pub fn share(&self, side: Side, point: Vec3) -> f64 {
        100.0 * self.tallies[side.index()].at(point) / self.people.max(1) as f64
    }

    /// In words.
    pub fn sentence(&self) -> String {
        let mut out = format!("Of {} people, half men and half women (seed {}):", self.people, self.seed);
        for region in &self.regions {
            out += &format!("\n  {:<34}{:>6.0} litres", region.name, region.litres);
        }
        for (name, share) in &self.controls {
            out += &format!("\n  {share:.0} % reach {name} with their shoulders on the seat.");
        }
        out
    }
}

/// Someone of whom nothing is known.
pub(super) fn anybody(population: Population) -> Driver {
    Driver::measured(population, Measurements::default())
}

/// One of the people who a driver may be: all dimensions together, with their correlations.
pub(super) fn sampled(driver: &Driver, seed: u64, index: u64) -> Body {
    let known = Dimensions::estimate(driver.population, &driver.measured);
    Body::sized(driver, known.drawn(&mut Draw::new(seed, index)))
}

/// The number of a place in a box of places.
fn slot(place: Place, low: Place, count: [usize; 3]) -> Option<usize> {
    let at: [usize; 3] = [0, 1, 2].map(|i| usize::try_from(place[i] - low[i]).unwrap_or(usize::MAX));
    (0..3).all(|i| at[i] < count[i]).then(|| (at[0] * count[1] + at[1]) * count[2] + at[2])
}

/// Counts how many reach each point of the coarse lattice about the seat, from any thread.
struct Counts {
    low: Place,
    count: [usize; 3],
    reached: Vec<AtomicU16>,
}

impl Counts {
    fn about(middle: Vec3) -> Self {
        const HALF: f64 = 1.4;
        let low: Place = std::array::from_fn(|i| ((middle[i] - HALF) / COARSE).floor() as i32);
        let count = [(2.0 * HALF / COARSE).ceil() as usize + 1; 3];
        Self { low, count, reached: (0..count.iter().product()).map(|_| AtomicU16::new(0)).collect() }
    }

    fn add(&self, field: &Field) {
        for (node, place) in field.coarse.all() {
            if node.reached()
                && let Some(slot) = slot(place, self.low, self.count)
            {
                self.reached[slot].fetch_add(1, Ordering::Relaxed);
            }
        }
    }

    fn told(self) -> Tally {
        Tally {
            low: self.low,
            count: self.count,
            reached: self.reached.into_iter().map(AtomicU16::into_inner).collect(),
        }
    }
}

/// How many reached each point in the end.
#[derive(Clone, Debug)]
struct Tally {
    low: Place,
    count: [usize; 3],
    reached: Vec<u16>,
}

impl Tally {
    /// How many reach a point, linear between the lattice's points.
    fn at(&self, point: Vec3) -> f64 {
        let cell: Place = std::array::from_fn(|i| (point[i] / COARSE).floor() as i32);
        let mut sum = 0.0;
        for which in 0..8 {
            let place = super::field::corner(cell, which);
            let weight: f64 = (0..3)
                .map(|i| {
                    let share = point[i] / COARSE - f64::from(cell[i]);
                    if which >> i & 1 == 1 { share } else { 1.0 - share }
                })
                .product();
            if let Some(slot) = slot(place, self.low, self.count) {
                sum += weight * f64::from(self.reached[slot]);
            }
        }
        sum
    }

    /// What more than `wanted` reach.
    fn region(&self, name: String, wanted: f64, all: f64) -> Region {
        // From point to point the count changes by no more than all: scaled so that it changes no faster than distance.
        let scale = COARSE / (all * 2.0);
        let field = |point: Vec3| (wanted - self.at(point)) * scale;
        let point = |off: f64| Vec3::from_fn(|i, _| (f64::from(self.low[i]) + off * self.count[i] as f64) * COARSE);
        region(name, isosurface(&field, point(0.0), point(1.0), mm(25.0)))
    }
}

fn region(name: String, mesh: Mesh) -> Region {
    let at = |index: u32| mesh.positions[index as usize];
    let volume: f64 = mesh.triangles.iter().map(|&[a, b, c]| at(a).dot(&at(b).cross(&at(c))) / 6.0).sum();
    Region { name, litres: (volume * 1e4).round() / 10.0, mesh }
}

/// What a population of `count` people reaches with each hand, shoulders on the seat. `done` is called after each person,
/// from any thread. Person number n depends on seed and n alone.
///
/// # Errors
/// Where `watch` stops it.
pub fn shared_reach(
    project: &Checked,
    grip: Grip,
    count: usize,
    seed: u64,
    watch: &Watch<'_>,
    done: &(dyn Fn() + Sync),
) -> Result<Sharing, Stopped> {
    let rig = Rig::place(project);
    let middle = rig.seat.X_WS.translation.vector + Vec3::new(0.1, 0.0, 0.55);
    let counts = Side::BOTH.map(|_| Counts::about(middle));
    let on_controls: Vec<AtomicU16> = rig.controls.iter().map(|_| AtomicU16::new(0)).collect();
    let kinds = [Population::Men, Population::Women].map(anybody);
    (0..count as u64).into_par_iter().try_for_each(|index| {
        watch.go_on()?;
        let driver = &kinds[(index % 2) as usize];
        let body = sampled(driver, seed, index);
        let rest = at_rest(&body, &rig, driver.brakes_with);
        for side in Side::BOTH {
            let mut reach = Reach::of(&body, &rig, &rest, Limb::Hand(side, grip), 0.0, &[]);
            let field = reach.only(Zone::Attainable, watch)?;
            counts[side.index()].add(field);
            for (control, reached) in rig.controls.iter().zip(&on_controls).filter(|(c, _)| c.hand == side) {
                if reach.reaches(control.at, Zone::Attainable) {
                    reached.fetch_add(1, Ordering::Relaxed);
                }
            }
        }
        done();
        Ok(())
    })?;
    let all = count as f64;
    let tallies = counts.map(Counts::told);
    let regions = Side::BOTH
        .into_par_iter()
        .flat_map_iter(|side| SHARES.map(|share| (side, share)))
        .map(|(side, share)| {
            let name = format!("{} hand, reached by {share:.0} %", side.word());
            tallies[side.index()].region(name, share / 100.0 * all, all)
        })
        .collect();
    let controls = rig
        .controls
        .iter()
        .zip(&on_controls)
        .map(|(control, reached)| (control.name.clone(), 100.0 * f64::from(reached.load(Ordering::Relaxed)) / all))
        .collect();
    Ok(Sharing { people: count, seed, regions, controls, tallies })
}

/// Several people's judges as one: reached is what all of them reach.
struct Together<'a> {
    people: &'a [Reach],
    zone: Zone,
}

impl Looks for Together<'_> {
    fn look(&self, queries: &[Query]) -> Vec<Found> {
        let points: Vec<Vec3> = queries.iter().map(|query| query.point).collect();
        // What is reached keeps clear by the least of all; what is not is missed by the most.
        let rank = |found: &Found| match found.state {
            State::Reached => (0, -found.by),
            State::Blocked => (1, found.by),
            State::Out => (2, found.by),
        };
        let mut worst: Option<Vec<Found>> = None;
        for (index, reach) in self.people.iter().enumerate() {
            let mut all = reach.found_all(&points, self.zone);
            for found in &mut all {
                found.whose = (0, index);
            }
            match &mut worst {
                None => worst = Some(all),
                Some(worst) => {
                    for (worst, found) in worst.iter_mut().zip(all) {
                        if rank(&found) > rank(worst) {
                            *worst = found;
                        }
                    }
                }
            }
        }
        worst.unwrap_or_else(|| vec![Found::NOTHING; points.len()])
    }

    fn begin(&self) -> Vec<(Vec3, Angles)> {
        self.people.iter().flat_map(|reach| reach.begin(self.zone)).collect()
    }
}

/// What every driver of a project reaches with a hand in a zone, on a lattice of `step` (m); each sits in the seat as it
/// stands.
///
/// # Errors
/// Where `watch` stops it.
pub fn common_reach(
    project: &Checked,
    side: Side,
    grip: Grip,
    zone: Zone,
    lean: f64,
    step: f64,
    watch: &Watch<'_>,
) -> Result<Region, Stopped> {
    let name = format!("{} hand, {}, {}, all drivers", side.word(), grip.word(), zone.word());
    Ok(region(name, common_surface(project, side, grip, zone, lean, step, watch)?.mesh))
}

/// The boundary of [`common_reach`]; what ends it somewhere is the driver who gets no further, by name.
///
/// # Errors
/// Where `watch` stops it.
pub fn common_surface(
    project: &Checked,
    side: Side,
    grip: Grip,
    zone: Zone,
    lean: f64,
    step: f64,
    watch: &Watch<'_>,
) -> Result<Surface, Stopped> {
    let rig = Rig::place(project);
    let people: Vec<Reach> = project
        .drivers()
        .map(|(_, driver)| {
            let body = Body::of(driver);
            let rest = at_rest(&body, &rig, driver.brakes_with);
            let mut reach = Reach::of(&body, &rig, &rest, Limb::Hand(side, grip), lean, &[]);
            reach.only(zone, watch)?;
            Ok(reach)
        })
        .collect::<Result<_, Stopped>>()?;
    let extent = people.iter().map(Reach::extent).fold(None, |all: Option<(Vec3, Vec3)>, (low, high)| {
        Some(all.map_or((low, high), |(a, b)| (a.inf(&low), b.sup(&high))))
    });
    let Some(extent) = extent else { return Ok(Surface::default()) };
    let together = Together { people: &people, zone };
    let mut field = Field::flood(&together, None, extent, COARSE, watch)?;
    while to_mm(field.finest().step) > to_mm(step) + 0.01 {
        field.refine(&together, None, extent, watch)?;
    }
    let names: Vec<&str> = project.drivers().map(|(_, driver)| driver.name.as_str()).collect();
    let who = |(_, index): (usize, usize)| super::Barrier::Added((*names.get(index).unwrap_or(&"")).to_owned());
    Ok(surface(field.finest(), true, &who))
}
