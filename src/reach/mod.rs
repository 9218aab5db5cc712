//! What hands and feet can reach.
//!
//! A point belongs to a zone of a limb where at least one pose of the limb brings the limb's point there with every joint
//! in the range that the zone allows ([`Zone`]) and no part of the limb further inside an obstacle than its give
//! ([`Obstacle`]): a few millimetres of a hard part, a little of foam and flesh. The direction of hand and foot is free.
//! The limb's point is the middle of a grasped rod, of what thumb and fingers pinch, or of what a fingertip presses
//! ([`Grip`]); of a foot the ball at the bottom of the sole, its heel down or free ([`Footing`]).
//!
//! In the way are: seat, rim, hub, wheel unit, rails, heel plate and floor, parts whose shape comes from a file in the
//! place of those that they stand for, what is added, and the rest of the body as it sits with the other hand on the rim
//! and the feet on their pedals. Pedals give way, and to feet all that stands on a pedal plate from a file. An upper
//! arm's first quarter and a thigh's first half, which lie in the seat and on the trunk, meet nothing.

#![allow(non_snake_case, reason = "frame notation: X_WB is the pose of B in W, p_WQ the point Q seen from W")]

mod ask;
mod controls;
mod export;
mod field;
mod joints;
mod judge;
mod lanes;
mod limb;
mod obstacle;
mod pedals;
mod people;
mod place;
mod published;
mod section;
mod simplify;
mod smooth;
mod surface;
#[cfg(test)]
mod tests;
mod zone;

pub use ask::{Answer, LimbPose};
pub use controls::{ControlReach, controls};
pub use export::{Drawing, dxf, glb, stl, svg};
pub use joints::{ByJoints, by_joints};
pub use obstacle::{Barrier, Obstacle};
pub use pedals::{FaceReach, PedalReach, pedals};
pub use people::{Region, Sharing, common_reach, common_surface, shared_reach};
pub use place::{Spot, where_to_put};
pub use published::{Published, j287, published};
pub use section::{Curve, Plane, section};
pub use surface::Surface;
pub use zone::{Footing, Grip, Limb, USUAL_LEAN, Zone};

use std::sync::OnceLock;

use field::{COARSE, FIRST, Field};
use judge::{Judge, Quick};
use lanes::Lanes;
use limb::{Chain, Seeds};
use obstacle::{Around, Balls};
use zone::{MOST, arm_ranges, leg_ranges};

use crate::{
    body::{Body, Range},
    geometry::Vec3,
    posture::Posture,
    rig::Rig,
    units::mm,
    watch::{Stopped, Watch},
};

/// One limb of a seated body among its surroundings, with the zones that were worked out.
#[derive(Clone, Debug)]
pub struct Reach {
    /// Which limb, and what it does.
    pub limb: Limb,
    chain: Chain,
    balls: Balls,
    around: Around,
    /// Nothing is in the way.
    alone: bool,
    zones: Vec<Layer>,
    extent: (Vec3, Vec3),
    /// How many seeds a zone has.
    seeds: u32,
}

/// A zone on its lattice.
#[derive(Clone, Debug)]
struct Layer {
    zone: Zone,
    ranges: [Range; MOST],
    /// Made when first asked for.
    seeds: OnceLock<Seeds>,
    field: Option<Field>,
    /// Made when first asked for.
    surface: OnceLock<Surface>,
}

/// Seeds of a zone.
const SEEDS: u32 = 1024;

impl Reach {
    /// A limb of a body in its rig; nothing is worked out yet. `lean` (rad) is how far the trunk may lean forward;
    /// `added` is in the way beside the rig.
    pub fn of(body: &Body, rig: &Rig, rest: &Posture, limb: Limb, lean: f64, added: &[Obstacle]) -> Self {
        let chain = Chain::of(body, &rest.sitting, rig, limb);
        let balls = Balls::of(body, &chain, limb);
        Self::made(body, limb, chain, balls, Around::of(body, rig, rest, limb, added), lean.max(0.0))
    }

    /// The same limb with nothing in its way: what the joints alone allow.
    #[must_use]
    pub fn alone(mut self) -> Self {
        self.alone = true;
        for layer in &mut self.zones {
            layer.field = None;
            layer.surface = OnceLock::new();
        }
        self
    }

    fn judge(&self, at: usize) -> Judge<'_> {
        let layer = &self.zones[at];
        Judge {
            chain: &self.chain,
            lanes: Lanes::of(&self.chain, &layer.ranges),
            seeds: layer.seeds.get_or_init(|| Seeds::over(&self.chain, &layer.ranges, self.seeds)),
            balls: &self.balls,
            around: (!self.alone).then_some(&self.around),
        }
    }

    fn made(body: &Body, limb: Limb, chain: Chain, balls: Balls, around: Around, lean: f64) -> Self {
        let zones = limb
            .zones()
            .iter()
            .map(|&zone| {
                let ranges = match limb {
                    Limb::Hand(..) => arm_ranges(body, zone, lean),
                    Limb::Foot(..) => leg_ranges(&body.limits, zone),
                };
                Layer { zone, ranges, seeds: OnceLock::new(), field: None, surface: OnceLock::new() }
            })
            .collect();
        let (middle, far) = chain.extent(lean, body.skeleton.protraction + zone::follows(body));
        let extent = (middle.add_scalar(-far), middle.add_scalar(far));
        Self { limb, balls, around, chain, alone: false, zones, extent, seeds: SEEDS }
    }

    /// The box that holds all that the limb's point can come to, W.
    pub(super) const fn extent(&self) -> (Vec3, Vec3) {
        self.extent
    }

    /// Works one zone alone out on the coarse lattice, for many people: with fewer poses tried at each point.
    fn only(&mut self, zone: Zone, watch: &Watch<'_>) -> Result<&Field, Stopped> {
        let at = self.zones.iter().position(|layer| layer.zone == zone).unwrap_or(0);
        let field = Field::flood(&Quick(self.judge(at)), None, self.extent, COARSE, watch)?;
        self.zones[at].surface = OnceLock::new();
        Ok(self.zones[at].field.insert(field))
    }

    /// Works all zones out on the first lattice, of 80 mm.
    ///
    /// # Errors
    /// Where `watch` stops it; what was there before stays.
    pub fn coarse(&mut self, watch: &Watch<'_>) -> Result<(), Stopped> {
        for at in 0..self.zones.len() {
            let inner = at.checked_sub(1).and_then(|inner| self.zones[inner].field.as_ref());
            let field = Field::flood(&self.judge(at), inner, self.extent, FIRST, watch)?;
            self.zones[at].field = Some(field);
            self.zones[at].surface = OnceLock::new();
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
            self.zones[at].surface = OnceLock::new();
            done?;
        }
        Ok(())
    }

    /// The boundary of a zone to a step (m) finer than what was worked out; neither it nor its lattice is kept here. `None`
    /// of a zone that is empty or was not worked out.
    ///
    /// # Errors
    /// Where `watch` stops it.
    pub fn followed(&self, zone: Zone, step: f64, watch: &Watch<'_>) -> Result<Option<Surface>, Stopped> {
        let Some(at) = self.zones.iter().position(|layer| layer.zone == zone) else { return Ok(None) };
        let Some(field) = self.zones[at].field.as_ref().filter(|field| field.finest().cells().next().is_some()) else {
            return Ok(None);
        };
        let level = field.followed(&self.judge(at), self.extent, step, watch)?;
        Ok(Some(surface::surface(&level, false, &|whose| self.barrier(whose))))
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

    /// Puts another obstacle in the place of one of those added, and works out anew what either touches; the step stays.
    /// Returns the number of points looked at again; 0 where there is no such obstacle.
    ///
    /// # Errors
    /// Where `watch` stops it: zones that were not done are to be worked out with [`Reach::coarse`].
    pub fn move_added(&mut self, index: usize, to: Obstacle, watch: &Watch<'_>) -> Result<usize, Stopped> {
        let Some(at) = self.around.added(index) else { return Ok(0) };
        let (low, high) = self.around.nets[0].moved(at, to);
        // As far as a forearm with its hand.
        const BESIDE: f64 = 0.35;
        let (low, high) = (low.add_scalar(-BESIDE), high.add_scalar(BESIDE));
        let mut count = 0;
        for zone in 0..self.zones.len() {
            let Some(mut field) = self.zones[zone].field.take() else { continue };
            self.zones[zone].surface = OnceLock::new();
            let inner = zone.checked_sub(1).and_then(|inner| self.zones[inner].field.as_ref());
            let lanes = Lanes::of(&self.chain, &self.zones[zone].ranges);
            let affected = |points: &[Vec3], nodes: &[field::Node]| -> Vec<bool> {
                let reached = nodes.iter().filter(|node| node.reached());
                let poses: Vec<_> = reached.map(field::Node::angles).collect();
                let mut pressed = self.balls.pressed(&self.around, &lanes, &poses).into_iter();
                let beside = |point: &Vec3| (0..3).all(|i| (low[i]..=high[i]).contains(&point[i]));
                points
                    .iter()
                    .zip(nodes)
                    .map(|(point, node)| match node.state {
                        judge::State::Reached => pressed.next().is_some_and(|pressed| pressed.by > 0.0),
                        judge::State::Blocked => node.whose() == (0, at) || beside(point),
                        judge::State::Out => false,
                    })
                    .collect()
            };
            let renewed = field.renew(&self.judge(zone), inner, self.extent, &affected, watch);
            self.zones[zone].field = Some(field);
            count += renewed?;
        }
        Ok(count)
    }

    /// The step of the lattice along the boundaries, m; `None` before anything was worked out.
    pub fn step(&self) -> Option<f64> {
        self.zones.iter().map(|layer| layer.field.as_ref().map(|field| field.finest().step)).max_by(|a, b| {
            match (a, b) {
                (Some(a), Some(b)) => a.total_cmp(b),
                (None, _) => std::cmp::Ordering::Greater,
                (_, None) => std::cmp::Ordering::Less,
            }
        })?
    }

    /// The boundary of a zone, as far as it was worked out.
    pub fn surface(&self, zone: Zone) -> Option<&Surface> {
        let layer = self.zones.iter().find(|layer| layer.zone == zone)?;
        let field = layer.field.as_ref()?;
        Some(layer.surface.get_or_init(|| surface::surface(field.finest(), false, &|whose| self.barrier(whose))))
    }

    /// Bytes held by the lattices and the nets of distances.
    pub fn bytes(&self) -> usize {
        self.zones.iter().filter_map(|layer| layer.field.as_ref()).map(Field::bytes).sum::<usize>()
            + self.around.bytes()
    }
}
