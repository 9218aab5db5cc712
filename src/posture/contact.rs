//! What a limb keeps clear of while its spare freedoms are searched, and what it touches where it cannot.
//!
//! Nearer than [`CLEAR`] a thing begins to cost; a pose that can be free of it therefore stays free, up to the small
//! part that comfort pushes in. Farther away it changes nothing, so that a pose among things that it does not touch is
//! the pose without them.

use std::sync::{Arc, LazyLock};

use nalgebra::Matrix3;

use super::{Leg, Sitting, descend::Slope};
use crate::{
    body::{Body, BodyPart, BodySolid},
    geometry::{Nearest, Side, Solid, TaperedCapsule, Vec3, bound, distance_within, unit_or},
    project::StandsFor,
    rig::{Rig, RigPart},
    units::mm,
};

/// What a part of the body or of the rig comes close to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Partner {
    /// A part of the rig.
    Rig(RigPart),
    /// A part of the body.
    Body(BodyPart),
}

/// A limb against something: nearer than a few millimetres, or inside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// The limb's part.
    pub part: BodyPart,
    /// What it touches.
    pub partner: Partner,
    /// The gap, m, over what the driver's own flesh gives way; negative where they overlap more than that.
    pub gap: f64,
}

impl Touch {
    /// Whether the two overlap so far that the limb cannot be there.
    pub fn blocks(&self) -> bool {
        self.gap < -GIVES
    }

    /// One arm against the other, hands and forearms, if they are close.
    pub(super) fn between_arms(left: &[BodySolid], right: &[BodySolid]) -> Option<Self> {
        let lower = |solid: &&BodySolid| matches!(solid.part, BodyPart::Hand(_) | BodyPart::Forearm(_));
        let mut worst: Option<Self> = None;
        for one in left.iter().filter(lower) {
            for other in right.iter().filter(lower) {
                let (partner, shape) = soft(*other);
                worst = nearer(worst, one, partner, &shape);
            }
        }
        worst
    }
}

/// A gap below this costs, m; own choice.
pub(super) const CLEAR: f64 = mm(4.0);
/// What a gap of 0 costs: the square of this, and of that where only a pose of great discomfort is free.
const PRESS: f64 = 6.0;
const PRESS_HARD: f64 = 60.0;
/// How far a limb's skin and clothes give way, m: common practice, no published source.
const GIVES: f64 = mm(4.0);

/// The things round a limb that do not move with it.
#[derive(Clone, Debug)]
pub struct Around {
    things: Arc<[(Partner, Solid)]>,
}

impl Around {
    /// Nothing at all.
    pub fn nothing() -> &'static Self {
        static NOTHING: LazyLock<Around> = LazyLock::new(|| Around::of(Vec::new()));
        &NOTHING
    }

    fn of(things: Vec<(Partner, Solid)>) -> Self {
        Self { things: things.into() }
    }

    /// What the legs keep clear of: the wheel as it stands when straight, its unit, the rails and the screens, each as its
    /// dimensions or a file say.
    pub fn legs(rig: &Rig) -> Self {
        let mut things = Vec::new();
        if !rig.is_imported(StandsFor::Rim) {
            things.push((Partner::Rig(RigPart::Rim), Solid::Rim(rig.wheel.rim(0.0))));
            things.push((Partner::Rig(RigPart::Hub), Solid::Capsule(rig.wheel.hub)));
        }
        things.extend(standing(rig));
        things.extend(imported(rig, &[StandsFor::Rim]));
        Self::of(things)
    }

    /// What the arms keep clear of: bolsters and wings, or the seat's shape from a file; wheel unit, rails and screens; the
    /// driver's own trunk and thighs.
    pub fn arms(body: &Body, rig: &Rig, sitting: &Sitting, legs: &[Leg; 2]) -> Self {
        let has_shell = rig.is_imported(StandsFor::Seat);
        let beside = |name: &str| !has_shell && (name.contains("bolster") || name.contains("wing"));
        let seat = rig.seat.solids.iter().filter(|(name, _)| beside(name));
        let mut things: Vec<_> =
            seat.map(|(name, solid)| (Partner::Rig(RigPart::Seat(name)), Solid::Box(*solid))).collect();
        things.extend(standing(rig));
        things.extend(imported(rig, &[StandsFor::Seat]));
        let trunk = body.trunk(sitting).into_iter();
        let thighs = Side::BOTH.into_iter().flat_map(|side| body.leg(&legs[side.index()], side));
        let own = trunk.chain(thighs).filter(|solid| {
            matches!(solid.part, BodyPart::Chest | BodyPart::Abdomen | BodyPart::Thigh(_) | BodyPart::Knee(_))
        });
        things.extend(own.map(soft));
        Self::of(things)
    }
}

/// A limb among things as it moves a little at a time.
///
/// Gaps are measured once and hold until a shape has gone 30 mm: until then a gap is less than it was by no more
/// than the way that the shape has gone, and only where that may have closed it is it measured again.
#[derive(Clone, Debug)]
pub struct Vicinity {
    around: Around,
    /// What a gap of 0 costs: the square of this.
    press: f64,
    /// The limb when the gaps were measured.
    seen: Vec<BodySolid>,
    /// Shape, thing and gap, of those that may come to count.
    gaps: Vec<(usize, usize, f64)>,
    /// How far each shape has gone since.
    gone: Vec<f64>,
}

/// How far a shape goes before all gaps are measured again, m.
const ROAM: f64 = mm(30.0);

/// A limb's shape nearer than [`CLEAR`] to a thing.
struct Close {
    shape: usize,
    thing: usize,
    nearest: Nearest,
}

impl Vicinity {
    /// Nothing is measured yet.
    pub fn of(around: &Around) -> Self {
        Self { around: around.clone(), press: PRESS, seen: Vec::new(), gaps: Vec::new(), gone: Vec::new() }
    }

    /// Things are to be kept clear of at any discomfort.
    pub(super) fn hard(mut self) -> Self {
        self.press = PRESS_HARD;
        self
    }

    /// Whether there is nothing.
    pub(super) fn is_empty(&self) -> bool {
        self.around.things.is_empty()
    }

    /// What nearness costs a limb that is far from where it was before.
    pub(super) fn cost_anywhere(&self, solids: &[BodySolid]) -> f64 {
        let mut cost = 0.0;
        for solid in solids {
            for (partner, shape) in self.around.things.iter() {
                if meets(solid.part, partner) && bound(&solid.shape, shape) < CLEAR {
                    cost += (self.press * pressed(distance_within(&solid.shape, shape, CLEAR).gap)).powi(2);
                }
            }
        }
        cost
    }

    fn measure(&mut self, solids: &[BodySolid]) {
        self.seen.clear();
        self.seen.extend_from_slice(solids);
        self.gone.clear();
        self.gone.resize(solids.len(), 0.0);
        self.gaps.clear();
        for (place, solid) in solids.iter().enumerate() {
            for (thing, (partner, shape)) in self.around.things.iter().enumerate() {
                if meets(solid.part, partner) && bound(&solid.shape, shape) < CLEAR + ROAM {
                    let gap = distance_within(&solid.shape, shape, CLEAR + ROAM).gap;
                    if gap < CLEAR + ROAM {
                        self.gaps.push((place, thing, gap));
                    }
                }
            }
        }
    }

    /// What the limb is close to.
    fn close(&mut self, solids: &[BodySolid]) -> impl Iterator<Item = Close> {
        for ((gone, was), is) in self.gone.iter_mut().zip(&self.seen).zip(solids) {
            let way = (is.shape.a - was.shape.a).norm_squared().max((is.shape.b - was.shape.b).norm_squared());
            *gone = way.sqrt();
        }
        if self.seen.len() != solids.len() || self.gone.iter().any(|gone| *gone > ROAM) {
            self.measure(solids);
        }
        let may = self.gaps.iter().filter(|&&(shape, _, gap)| gap - self.gone[shape] < CLEAR);
        may.filter_map(|&(shape, thing, _)| {
            let nearest = distance_within(&solids[shape].shape, &self.around.things[thing].1, CLEAR);
            (nearest.gap < CLEAR).then_some(Close { shape, thing, nearest })
        })
    }

    /// The nearest thing, relative to what it gives way, if it is near enough to cost.
    pub(super) fn touch(&mut self, solids: &[BodySolid]) -> Option<Touch> {
        let things = self.around.things.clone();
        let least = self.close(solids).min_by(|a, b| a.nearest.gap.total_cmp(&b.nearest.gap))?;
        Some(Touch { part: solids[least.shape].part, partner: things[least.thing].0, gap: least.nearest.gap })
    }

    /// What nearness costs.
    pub(super) fn cost(&mut self, solids: &[BodySolid]) -> f64 {
        let press = self.press;
        self.close(solids).map(|close| (press * pressed(close.nearest.gap)).powi(2)).sum()
    }

    /// Adds to a slope what nearness costs and how that changes. `R_WT` are the axes in which `rates` gives the speeds
    /// of a point of a part, one a freedom; the point is seen in W.
    pub(super) fn slope<const F: usize>(
        &mut self,
        slope: &mut Slope<F>,
        solids: &[BodySolid],
        R_WT: &Matrix3<f64>,
        rates: impl Fn(BodyPart, Vec3) -> [Vec3; F],
    ) {
        let press = self.press;
        for Close { shape, nearest, .. } in self.close(solids) {
            let residual = press * pressed(nearest.gap);
            let between = nearest.on_a - nearest.on_b;
            // The direction in which the gap grows.
            let away = unit_or(if nearest.gap < 0.0 { -between } else { between }, Vec3::z());
            let away_T = R_WT.tr_mul(&away);
            let rate = rates(solids[shape].part, nearest.on_a).map(|speed| -press / CLEAR * away_T.dot(&speed));
            slope.cost += residual * residual;
            for f in 0..F {
                slope.gradient[f] += residual * rate[f];
                for g in 0..F {
                    slope.normal[(f, g)] += rate[f] * rate[g];
                }
            }
        }
    }

    /// The parts that press on something.
    #[cfg(test)]
    pub(super) fn pressing(&mut self, solids: &[BodySolid]) -> Vec<BodyPart> {
        self.close(solids).map(|close| solids[close.shape].part).collect()
    }
}

/// What a gap less than [`CLEAR`] costs, beside what a gap of 0 costs.
fn pressed(gap: f64) -> f64 {
    ((CLEAR - gap) / CLEAR).max(0.0)
}

/// The nearer of what is known and of a shape against a thing.
fn nearer(known: Option<Touch>, solid: &BodySolid, partner: Partner, shape: &Solid) -> Option<Touch> {
    let enough = known.map_or(CLEAR, |touch| touch.gap);
    if bound(&solid.shape, shape) >= enough {
        return known;
    }
    let gap = distance_within(&solid.shape, shape, enough).gap;
    if gap < enough { Some(Touch { part: solid.part, partner, gap }) } else { known }
}

/// A part of the body as an arm meets it: without what gives way.
fn soft(BodySolid { part, shape }: BodySolid) -> (Partner, Solid) {
    let give = part.gives();
    let left = |radius: f64| (radius - give).max(mm(5.0).min(radius));
    let shape = TaperedCapsule { radius_a: left(shape.radius_a), radius_b: left(shape.radius_b), ..shape };
    (Partner::Body(part), Solid::Capsule(shape))
}

/// Wheel unit, rails, screens and whatever else stands there, as dimensions or files say.
fn standing(rig: &Rig) -> impl Iterator<Item = (Partner, Solid)> {
    let unit = (Partner::Rig(RigPart::WheelUnit), Solid::Box(rig.wheel.unit));
    let unit = Some(unit).filter(|_| !rig.is_imported(StandsFor::WheelUnit));
    let rails = rig.rails.iter().enumerate();
    let rails = rails.map(|(index, rail)| (Partner::Rig(RigPart::Rail(index)), Solid::Box(rail.solid)));
    let screens = rig.screens.iter().flat_map(|screens| &screens.solids);
    let screens = screens.map(|(name, solid)| (Partner::Rig(RigPart::Screen(name)), Solid::Box(*solid)));
    let from_files = imported(rig, &[StandsFor::WheelUnit, StandsFor::Screen, StandsFor::Other]);
    unit.into_iter().chain(rails).chain(screens).chain(from_files)
}

/// Shapes from files that stand for one of these.
fn imported(rig: &Rig, wanted: &'static [StandsFor]) -> impl Iterator<Item = (Partner, Solid)> {
    let parts = rig.imported.iter().enumerate().filter(|(_, part)| wanted.contains(&part.stands_for));
    parts.map(|(index, part)| (Partner::Rig(RigPart::Imported(index)), Solid::Mesh(part.solid.clone())))
}

/// Whether the two can be in each other's way: the upper arm lies against wings and trunk by design, and a foot goes
/// where its pedal is.
fn meets(part: BodyPart, partner: &Partner) -> bool {
    match part {
        BodyPart::UpperArm(_) => matches!(partner, Partner::Rig(RigPart::Seat(name)) if name.contains("bolster")),
        BodyPart::Elbow(_) => {
            matches!(
                partner,
                Partner::Rig(RigPart::Seat(_) | RigPart::Rail(_) | RigPart::Screen(_) | RigPart::Imported(_))
            )
        }
        BodyPart::Foot(_) => false,
        _ => true,
    }
}
