//! What a limb keeps clear of while its spare freedoms are searched, and what it touches where it cannot.
//!
//! Nearer than [`CLEAR`] a thing begins to cost; a pose that can be free of it therefore stays free, up to the small
//! part that comfort pushes in. Farther away it changes nothing, so that a pose among things that it does not touch is
//! the pose without them.

use nalgebra::Matrix3;

use super::{Leg, Sitting, descend::Slope};
use crate::{
    body::{Body, BodyPart, BodySolid},
    geometry::{Solid, TaperedCapsule, Vec3, bound, distance, unit_or},
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
        let around = Around::of(right.iter().filter(lower).copied().map(soft).collect());
        let left: Vec<BodySolid> = left.iter().filter(lower).copied().collect();
        around.touch(&left)
    }
}

/// A gap below this costs, m; own choice.
pub(super) const CLEAR: f64 = mm(4.0);
/// What a gap of 0 costs: the square of this, and of that where only a pose of great discomfort is free.
const PRESS: f64 = 6.0;
const PRESS_HARD: f64 = 60.0;
/// How far a limb's skin and clothes give way, m: common practice, no published source.
const GIVES: f64 = mm(4.0);
/// A pair farther apart than this when a search begins is left out of it, m: in one round no part comes so far.
const NEAR: f64 = mm(60.0);

/// The things round a limb that do not move with it.
#[derive(Clone, Debug)]
pub struct Around {
    things: Vec<(Partner, Solid)>,
    /// What a gap of 0 costs: the square of this.
    press: f64,
}

/// A pair of a limb's shape and a thing, by their places.
pub(super) type Pair = (usize, usize);

impl Around {
    /// Nothing at all.
    pub fn nothing() -> &'static Self {
        static NOTHING: Around = Around::of(Vec::new());
        &NOTHING
    }

    const fn of(things: Vec<(Partner, Solid)>) -> Self {
        Self { things, press: PRESS }
    }

    /// The same things, to be kept clear of at any discomfort.
    pub(super) fn hard(&self) -> Self {
        Self { things: self.things.clone(), press: PRESS_HARD }
    }

    /// What the legs keep clear of: the wheel as it stands when straight, its unit, and the rails.
    pub fn legs(rig: &Rig) -> Self {
        let mut things = vec![
            (Partner::Rig(RigPart::Rim), Solid::Rim(rig.wheel.rim(0.0))),
            (Partner::Rig(RigPart::Hub), Solid::Capsule(rig.wheel.hub)),
        ];
        things.extend(unit_and_rails(rig));
        Self::of(things)
    }

    /// What the arms keep clear of: bolsters and wings, wheel unit and rails, the driver's own trunk and thighs.
    pub fn arms(body: &Body, rig: &Rig, sitting: &Sitting, legs: &[Leg; 2]) -> Self {
        let beside = |name: &str| name.contains("bolster") || name.contains("wing");
        let seat = rig.seat.solids.iter().filter(|(name, _)| beside(name));
        let mut things: Vec<_> =
            seat.map(|(name, solid)| (Partner::Rig(RigPart::Seat(name)), Solid::Box(*solid))).collect();
        things.extend(unit_and_rails(rig));
        let trunk = body.trunk(sitting).into_iter();
        let thighs = crate::geometry::Side::BOTH.into_iter().flat_map(|side| body.leg(&legs[side.index()], side));
        let own = trunk.chain(thighs).filter(|solid| {
            matches!(solid.part, BodyPart::Chest | BodyPart::Abdomen | BodyPart::Thigh(_) | BodyPart::Knee(_))
        });
        things.extend(own.map(soft));
        Self::of(things)
    }

    /// Whether there is nothing.
    pub const fn is_empty(&self) -> bool {
        self.things.is_empty()
    }

    /// The pairs nearer than `within` (m).
    fn pairs(&self, solids: &[BodySolid], within: f64) -> Vec<Pair> {
        let mut pairs = Vec::new();
        for (place, solid) in solids.iter().enumerate() {
            for (thing, (partner, shape)) in self.things.iter().enumerate() {
                if meets(solid.part, partner) && bound(&solid.shape, shape) < within {
                    pairs.push((place, thing));
                }
            }
        }
        pairs
    }

    /// The pairs that a search from this pose has to mind.
    pub(super) fn near(&self, solids: &[BodySolid]) -> Vec<Pair> {
        self.pairs(solids, NEAR)
    }

    /// The nearest thing, relative to what it gives way, if it is near enough to cost.
    pub(super) fn touch(&self, solids: &[BodySolid]) -> Option<Touch> {
        let mut worst: Option<Touch> = None;
        for (place, thing) in self.pairs(solids, CLEAR) {
            let (partner, shape) = &self.things[thing];
            let gap = distance(&solids[place].shape, shape).gap;
            if gap < worst.map_or(CLEAR, |worst| worst.gap) {
                worst = Some(Touch { part: solids[place].part, partner: *partner, gap });
            }
        }
        worst
    }

    /// What nearness costs over some pairs.
    pub(super) fn cost(&self, solids: &[BodySolid], pairs: &[Pair]) -> f64 {
        pairs.iter().map(|&(place, thing)| self.pressed(&solids[place], thing).map_or(0.0, |(r, ..)| r * r)).sum()
    }

    /// Adds to a slope what nearness costs and how that changes. `R_WT` are the axes in which `rates` gives the speeds
    /// of a point of a part, one a freedom; the point is seen in W.
    pub(super) fn slope<const F: usize>(
        &self,
        slope: &mut Slope<F>,
        solids: &[BodySolid],
        pairs: &[Pair],
        R_WT: &Matrix3<f64>,
        rates: impl Fn(BodyPart, Vec3) -> [Vec3; F],
    ) {
        for &(place, thing) in pairs {
            let Some((residual, point, away)) = self.pressed(&solids[place], thing) else { continue };
            let away_T = R_WT.tr_mul(&away);
            let rate = rates(solids[place].part, point).map(|speed| -self.press / CLEAR * away_T.dot(&speed));
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
    pub(super) fn pressing(&self, solids: &[BodySolid], pairs: &[Pair]) -> Vec<BodyPart> {
        let pressed = |pair: &&Pair| self.pressed(&solids[pair.0], pair.1).is_some();
        pairs.iter().filter(pressed).map(|pair| solids[pair.0].part).collect()
    }

    /// Residual of a pair, the limb's point, and the direction in which the gap grows; `None` where it costs nothing.
    fn pressed(&self, solid: &BodySolid, thing: usize) -> Option<(f64, Vec3, Vec3)> {
        let shape = &self.things[thing].1;
        if bound(&solid.shape, shape) >= CLEAR {
            return None;
        }
        let nearest = distance(&solid.shape, shape);
        if nearest.gap >= CLEAR {
            return None;
        }
        let between = nearest.on_a - nearest.on_b;
        let away = unit_or(if nearest.gap < 0.0 { -between } else { between }, Vec3::z());
        Some((self.press * (CLEAR - nearest.gap) / CLEAR, nearest.on_a, away))
    }
}

/// A part of the body as an arm meets it: without what gives way.
fn soft(BodySolid { part, shape }: BodySolid) -> (Partner, Solid) {
    let give = part.gives();
    let left = |radius: f64| (radius - give).max(mm(5.0).min(radius));
    let shape = TaperedCapsule { radius_a: left(shape.radius_a), radius_b: left(shape.radius_b), ..shape };
    (Partner::Body(part), Solid::Capsule(shape))
}

fn unit_and_rails(rig: &Rig) -> impl Iterator<Item = (Partner, Solid)> {
    let unit = (Partner::Rig(RigPart::WheelUnit), Solid::Box(rig.wheel.unit));
    let rails = rig.rails.iter().enumerate();
    std::iter::once(unit).chain(rails.map(|(index, rail)| (Partner::Rig(RigPart::Rail(index)), Solid::Box(rail.solid))))
}

/// Whether the two can be in each other's way: the upper arm lies against wings and trunk by design, and a foot goes
/// where its pedal is.
fn meets(part: BodyPart, partner: &Partner) -> bool {
    match part {
        BodyPart::UpperArm(_) => matches!(partner, Partner::Rig(RigPart::Seat(name)) if name.contains("bolster")),
        BodyPart::Elbow(_) => matches!(partner, Partner::Rig(RigPart::Seat(_) | RigPart::Rail(_))),
        BodyPart::Foot(_) => false,
        _ => true,
    }
}
