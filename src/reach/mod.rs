//! What hands and feet can reach.
//!
//! A point belongs to a zone of a limb where at least one pose of the limb brings the limb's point there with every joint
//! in the range that the zone allows ([`Zone`]) and no part of the limb further inside an obstacle than its give
//! ([`Obstacle`]): a few millimetres of a hard part, a little of foam and flesh. The direction of hand and foot is free.
//! The limb's point is the middle of a grasped rod, of what thumb and fingers pinch, or of what a fingertip presses
//! ([`Grip`]); of a foot the ball at the bottom of the sole, its heel down or free ([`Footing`]).
//!
//! In the way are: seat, rim, hub, wheel unit, rails, heel plate and floor, what is added, and the rest of the body as it
//! sits with the other hand on the rim and the feet on their pedals. Pedals give way. An upper arm's first quarter and a
//! thigh's first half, which lie in the seat and on the trunk, meet nothing.

#![allow(non_snake_case, reason = "frame notation: X_WB is the pose of B in W, p_WQ the point Q seen from W")]

mod field;
mod judge;
mod limb;
mod obstacle;
mod surface;
mod zone;

pub use obstacle::{Barrier, Obstacle};
pub use surface::Surface;
pub use zone::{Footing, Grip, Limb, USUAL_LEAN, Zone};

use std::sync::atomic::{AtomicBool, Ordering};

use field::Field;
use judge::Judge;
use limb::{Chain, Seeds};
use obstacle::{Around, Balls};
use zone::{MOST, arm_ranges, leg_ranges};

use crate::{
    body::{Body, Range},
    geometry::Vec3,
    posture::Posture,
    rig::Rig,
    units::mm,
};

/// Long work was cancelled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the work was stopped before it was done")]
pub struct Stopped;

/// Who watches long work: hears of its progress and may stop it from another thread.
pub struct Watch<'a> {
    stop: &'a AtomicBool,
    tell: &'a (dyn Fn(usize) + Sync),
}

/// Nobody stops it.
static NEVER: AtomicBool = AtomicBool::new(false);

impl Watch<'static> {
    /// Nobody watches.
    pub const NOBODY: Self = Self { stop: &NEVER, tell: &|_| () };
}

impl<'a> Watch<'a> {
    /// `stop` set from any thread ends the work soon; `tell` is called with the number of points looked at since it was
    /// called last, from any thread.
    pub const fn new(stop: &'a AtomicBool, tell: &'a (dyn Fn(usize) + Sync)) -> Self {
        Self { stop, tell }
    }

    fn go_on(&self) -> Result<(), Stopped> {
        if self.stop.load(Ordering::Relaxed) { Err(Stopped) } else { Ok(()) }
    }

    fn did(&self, points: usize) {
        (self.tell)(points);
    }
}

/// One limb of a seated body among its surroundings, with the zones that were worked out.
#[derive(Clone, Debug)]
pub struct Reach {
    /// Which limb, and what it does.
    pub limb: Limb,
    chain: Chain,
    balls: Balls,
    around: Around,
    zones: Vec<Layer>,
    extent: (Vec3, Vec3),
}

/// A zone on its lattice.
#[derive(Clone, Debug)]
struct Layer {
    zone: Zone,
    ranges: [Range; MOST],
    seeds: Seeds,
    field: Option<Field>,
}

/// Seeds of a zone.
const SEEDS: u32 = 512;

impl Reach {
    /// A limb of a body in its rig; nothing is worked out yet. `lean` (rad) is how far the trunk may lean forward;
    /// `added` is in the way beside the rig.
    pub fn of(body: &Body, rig: &Rig, rest: &Posture, limb: Limb, lean: f64, added: &[Obstacle]) -> Self {
        let chain = Chain::of(body, &rest.sitting, rig, limb);
        let zones = limb
            .zones()
            .iter()
            .map(|&zone| {
                let ranges = match limb {
                    Limb::Hand(..) => arm_ranges(body, zone, lean.max(0.0)),
                    Limb::Foot(..) => leg_ranges(&body.limits, zone),
                };
                Layer { zone, ranges, seeds: Seeds::over(&chain, &ranges, SEEDS), field: None }
            })
            .collect();
        let (middle, far) = chain.extent(lean.max(0.0), body.skeleton.protraction);
        Self {
            limb,
            balls: Balls::of(body, &chain, limb),
            around: Around::of(body, rig, rest, limb, added),
            chain,
            zones,
            extent: (middle.add_scalar(-far), middle.add_scalar(far)),
        }
    }

    fn judge(&self, at: usize) -> Judge<'_> {
        let layer = &self.zones[at];
        Judge {
            chain: &self.chain,
            ranges: layer.ranges,
            seeds: &layer.seeds,
            balls: &self.balls,
            around: Some(&self.around),
        }
    }

    /// Works all zones out on the coarse lattice of 40 mm.
    ///
    /// # Errors
    /// Where `watch` stops it; what was there before stays.
    pub fn coarse(&mut self, watch: &Watch<'_>) -> Result<(), Stopped> {
        for at in 0..self.zones.len() {
            let inner = at.checked_sub(1).and_then(|inner| self.zones[inner].field.as_ref());
            let field = Field::flood(&self.judge(at), inner, self.extent, watch)?;
            self.zones[at].field = Some(field);
        }
        Ok(())
    }

    /// Halves the lattice's step along all boundaries, after [`Reach::coarse`].
    ///
    /// # Errors
    /// Where `watch` stops it; zones that were not done keep their step.
    pub fn refine(&mut self, watch: &Watch<'_>) -> Result<(), Stopped> {
        for at in 0..self.zones.len() {
            let Some(mut field) = self.zones[at].field.take() else { continue };
            let inner = at.checked_sub(1).and_then(|inner| self.zones[inner].field.as_ref());
            let done = field.refine(&self.judge(at), inner, self.extent, watch);
            self.zones[at].field = Some(field);
            done?;
        }
        Ok(())
    }

    /// [`Reach::coarse`], then [`Reach::refine`] until the step is at most `step` (m).
    ///
    /// # Errors
    /// Where `watch` stops it.
    pub fn to_step(&mut self, step: f64, watch: &Watch<'_>) -> Result<(), Stopped> {
        if self.step().is_none() {
            self.coarse(watch)?;
        }
        while self.step().is_some_and(|now| now > step + mm(0.01)) {
            self.refine(watch)?;
        }
        Ok(())
    }

    /// The step of the lattice along the boundaries, m; `None` before anything was worked out.
    pub fn step(&self) -> Option<f64> {
        self.zones.iter().map(|layer| layer.field.as_ref().map(|field| field.finest().step)).max_by(|a, b| match (a, b) {
            (Some(a), Some(b)) => a.total_cmp(b),
            (None, _) => std::cmp::Ordering::Greater,
            (_, None) => std::cmp::Ordering::Less,
        })?
    }

    /// The boundary of a zone, as far as it was worked out.
    pub fn surface(&self, zone: Zone) -> Option<Surface> {
        let layer = self.zones.iter().find(|layer| layer.zone == zone)?;
        Some(surface::surface(layer.field.as_ref()?.finest(), &self.around))
    }

    /// probe
    pub fn counts(&self) -> String {
        self.zones.iter().map(|l| { let f = l.field.as_ref().unwrap(); let c = |l: &field::Level| { let mut n = [0; 3]; for x in &l.nodes { n[match x.state { judge::State::Reached => 0, judge::State::Blocked => 1, judge::State::Out => 2 }] += 1; } format!("{n:?} cells {}", l.cells.len()) }; format!("{:?} coarse {} fine {}\n", l.zone, c(&f.coarse), f.fine.as_ref().map_or(String::new(), c)) }).collect()
    }

    /// Bytes held by the lattices and the nets of distances.
    pub fn bytes(&self) -> usize {
        self.zones.iter().filter_map(|layer| layer.field.as_ref()).map(Field::bytes).sum::<usize>() + self.around.bytes()
    }
}
