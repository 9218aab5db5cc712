//! What comes close: the least distance of each pair that can touch, over the whole motion, with where and when.
//!
//! A leg moves with its pedals, an arm with the wheel, the rim with the wheel: the least distance of two things that
//! both move is looked for over both motions. Between the sampled steps shapes follow smooth courses (`course`), so that
//! nothing slips through; the least over them is hunted to a bound (`hunt`), and the moment found is solved for, so that
//! gap and points are those of the posture itself.

mod course;
mod hunt;
mod rim;

use course::{Axis, Course, Owner, Steps};
use hunt::{Against, Found, Pair, hunt, point};
use rim::{Spin, Turning};

pub use crate::posture::Partner;
use crate::{
    body::{Body, BodyPart},
    geometry::{Nearest, Side, Solid, TaperedCapsule, Vec3, distance},
    posture::{Arm, Between, Leg, Moment, Motion, Posture},
    project::{PedalKind, StandsFor},
    rig::{ImportedPart, Rig, RigPart},
    units::deg,
};

/// The least distance of one pair over the motion.
#[derive(Clone, Debug)]
pub struct Clearance {
    /// Row of the table of bands: "`knee_wheel`".
    pub id: &'static str,
    /// Side of the body, if one.
    pub side: Option<Side>,
    /// The body's part; `None` where part of the rig meets part of the rig.
    pub body: Option<BodyPart>,
    /// What it comes close to.
    pub partner: Partner,
    /// Gap and nearest points: `on_a` on the body.
    pub nearest: Nearest,
    /// When.
    pub moment: Moment,
    /// Nowhere in the motion is the gap less than this one by more, m: at most 0.05 mm where the body moves smoothly,
    /// more where it jumps from one sampled step to the next or the hunt was cut short.
    pub within: f64,
}

/// The kinds of clearance, in the order of the table of bands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    KneeWheel,
    ThighWheel,
    LegUnit,
    LegFrame,
    FootPedal,
    FootFrame,
    ArmBolster,
    ArmShell,
    ThighShell,
    FootPlate,
    HandLeg,
    HandFrame,
    RimFrame,
    ChestWheel,
    HeadFrame,
}

impl Kind {
    const ALL: [Self; 15] = [
        Self::KneeWheel,
        Self::ThighWheel,
        Self::LegUnit,
        Self::LegFrame,
        Self::FootPedal,
        Self::FootFrame,
        Self::ArmBolster,
        Self::ArmShell,
        Self::ThighShell,
        Self::FootPlate,
        Self::HandLeg,
        Self::HandFrame,
        Self::RimFrame,
        Self::ChestWheel,
        Self::HeadFrame,
    ];

    const fn id(self) -> &'static str {
        match self {
            Self::KneeWheel => "knee_wheel",
            Self::ThighWheel => "thigh_wheel",
            Self::LegUnit => "leg_unit",
            Self::LegFrame => "leg_frame",
            Self::FootPedal => "foot_pedal",
            Self::FootFrame => "foot_frame",
            Self::ArmBolster => "arm_bolster",
            Self::ArmShell => "arm_shell",
            Self::ThighShell => "thigh_shell",
            Self::FootPlate => "foot_plate",
            Self::HandLeg => "hand_leg",
            Self::HandFrame => "hand_frame",
            Self::RimFrame => "rim_frame",
            Self::ChestWheel => "chest_wheel",
            Self::HeadFrame => "head_frame",
        }
    }

    /// The sides that it is asked for.
    const fn sides(self) -> &'static [Option<Side>] {
        match self {
            Self::RimFrame | Self::ChestWheel | Self::HeadFrame => &[None],
            _ => &[Some(Side::Left), Some(Side::Right)],
        }
    }
}

/// The rig's solids that do not move, with what they are.
struct Fixed {
    hub: Solid,
    /// The wheel unit, as its dimensions or a file say.
    unit: (Partner, Solid),
    centre: Solid,
    rails: Vec<Solid>,
    /// Screens with their stand.
    screens: Vec<(Partner, Solid)>,
    /// Shapes from files, with what they stand for.
    imported: Vec<(StandsFor, Partner, Solid)>,
    /// Rails that a foot can meet: not those that lie under the heel plate.
    foot_rails: Vec<usize>,
    bolsters: Vec<(&'static str, Solid)>,
    pedals: Vec<(PedalKind, [Solid; 2])>,
}

impl Fixed {
    fn of(rig: &Rig) -> Self {
        let heel_plane =
            |corner: Vec3| rig.pedals.X_WP.inverse_transform_point(&corner.into()).z <= rig.pedals.heel_rest + 2e-3;
        let foot_rails = rig
            .rails
            .iter()
            .enumerate()
            .filter(|(_, rail)| !rail.solid.corners().into_iter().all(heel_plane))
            .map(|(index, _)| index)
            .collect();
        let imported = rig.imported.iter().enumerate().map(|(index, part)| {
            (part.stands_for, Partner::Rig(RigPart::Imported(index)), Solid::Mesh(part.solid.clone()))
        });
        let imported: Vec<(StandsFor, Partner, Solid)> = imported.collect();
        let from_file = imported.iter().find(|(stands_for, ..)| *stands_for == StandsFor::WheelUnit);
        let described = (Partner::Rig(RigPart::WheelUnit), Solid::Box(rig.wheel.unit));
        let has_shell = rig.is_imported(StandsFor::Seat);
        Self {
            hub: Solid::Capsule(rig.wheel.hub),
            unit: from_file.map_or(described, |(_, partner, solid)| (*partner, solid.clone())),
            screens: rig
                .screens
                .iter()
                .flat_map(|screens| &screens.solids)
                .map(|(name, solid)| (Partner::Rig(RigPart::Screen(name)), Solid::Box(*solid)))
                .collect(),
            imported,
            centre: point(rig.wheel.X_WR.translation.vector),
            rails: rig.rails.iter().map(|rail| Solid::Box(rail.solid)).collect(),
            foot_rails,
            bolsters: rig
                .seat
                .solids
                .iter()
                .filter(|(name, _)| !has_shell && (name.contains("bolster") || name.contains("wing")))
                .map(|(name, solid)| (*name, Solid::Box(*solid)))
                .collect(),
            pedals: rig
                .pedals
                .list
                .iter()
                .map(|pedal| {
                    let (face, arm) = pedal.solids(&rig.pedals, 0.0);
                    (pedal.kind, [Solid::Box(face), Solid::Capsule(arm)])
                })
                .collect(),
        }
    }
}

/// Everything that can come close, on its way.
struct Scene {
    fixed: Fixed,
    rim: Turning,
    /// A wheel from a file, as it turns.
    spin: Option<(Partner, Spin)>,
    arms: [Vec<Course>; 2],
    legs: [Vec<Course>; 2],
    trunk: Vec<Course>,
}

/// Clearances at one moment.
pub fn at(body: &Body, rig: &Rig, posture: &Posture, moment: &Moment) -> Vec<Clearance> {
    let arms = Side::BOTH.map(|side| {
        let solids = body.arm(&posture.arms[side.index()], side);
        solids.iter().enumerate().map(|(index, solid)| Course::still(Owner::Arm(side, index), solid)).collect()
    });
    let legs = Side::BOTH.map(|side| resting(body, &posture.legs[side.index()], side));
    let rim = Turning::of(&rig.wheel, [moment.steer; 2]);
    let spin = spin(rig, [moment.steer; 2]);
    let scene = Scene { fixed: Fixed::of(rig), rim, spin, arms, legs, trunk: trunk(body, posture) };
    scene.least(body, rig, *moment, None)
}

/// The least clearances over the whole motion.
pub fn over(body: &Body, rig: &Rig, rest: &Posture, motion: &Motion) -> Vec<Clearance> {
    let mut between = motion.between(body, rig, rest);
    let both = |arms: &[Arm; 2]| {
        let [left, right] = Side::BOTH.map(|side| body.arm(&arms[side.index()], side));
        left.into_iter().chain(right).collect::<Vec<_>>()
    };
    let mut steps = Steps::new(Axis::Steer, motion.arms.steps.iter().map(|(steer, arms)| (*steer, both(arms))));
    steps.refine(|steer| both(&between.arms(steer)));
    let half = steps.pieces() / 2;
    let arms = Side::BOTH.map(|side| {
        let from = side.index() * half;
        steps.courses(from..from + half, |index| Owner::Arm(side, index)).collect()
    });

    // A leg where it rests, unless that is where a pedal that it presses begins.
    let mut legs = Side::BOTH.map(|side| {
        let leg = &rest.legs[side.index()];
        let pressed = motion.pedals.iter().any(|sweep| sweep.side == side && Some(sweep.kind) == leg.pedal);
        if pressed { Vec::new() } else { resting(body, leg, side) }
    });
    for sweep in &motion.pedals {
        let (kind, side) = (sweep.kind, sweep.side);
        let solids = |leg: &Leg| body.leg(leg, side);
        let mut steps = Steps::new(Axis::Travel(kind), sweep.steps.iter().map(|(travel, leg)| (*travel, solids(leg))));
        steps.refine(|travel| solids(&between.leg(side, &Moment::REST.with_travel(kind, travel))));
        legs[side.index()].extend(steps.courses(0..steps.pieces(), |index| Owner::Leg(side, index, Some(kind))));
    }

    let rim = Turning::of(&rig.wheel, if rig.wheel.path.is_circle() { [0.0; 2] } else { steering(rig, motion) });
    let spin = spin(rig, steering(rig, motion));
    let scene = Scene { fixed: Fixed::of(rig), rim, spin, arms, legs, trunk: trunk(body, rest) };
    scene.least(body, rig, Moment::REST, Some(between))
}

fn resting(body: &Body, leg: &Leg, side: Side) -> Vec<Course> {
    let owner = |index: usize| Owner::Leg(side, index, leg.pedal);
    body.leg(leg, side).iter().enumerate().map(|(index, solid)| Course::still(owner(index), solid)).collect()
}

/// Breastbone and head.
fn trunk(body: &Body, posture: &Posture) -> Vec<Course> {
    let solids = body.trunk(&posture.sitting);
    let counts = solids.iter().filter(|solid| matches!(solid.part, BodyPart::Chest | BodyPart::Head));
    counts.map(|solid| Course::still(Owner::Other, solid)).collect()
}

/// Wheel angles between which the rim is looked at, rad: to the right and to the left. The driver may let go and turn
/// on: it comes round at least a quarter turn each way, as far as the lock.
fn steering(rig: &Rig, motion: &Motion) -> [f64; 2] {
    let [left, right] = motion.arms.hands_on.map(|angle| angle.max(deg(90.0)).min(rig.wheel.lock));
    [-right, left]
}

fn spin(rig: &Rig, range: [f64; 2]) -> Option<(Partner, Spin)> {
    let index = rig.imported.iter().position(ImportedPart::turns)?;
    Some((Partner::Rig(RigPart::Imported(index)), Spin::of(&rig.wheel, &rig.imported[index].solid, range)))
}

impl Scene {
    /// The least of every kind and side. Without a motion the shapes stand still.
    fn least(&self, body: &Body, rig: &Rig, base: Moment, between: Option<Between>) -> Vec<Clearance> {
        let mut solved = Solved { body, base, between, arms: Vec::new(), legs: Vec::new() };
        let mut least = Vec::new();
        let mut pairs = Vec::with_capacity(256);
        for kind in Kind::ALL {
            for &side in kind.sides() {
                pairs.clear();
                self.pairs(kind, side, &mut pairs);
                if let Some(found) = hunt(&pairs) {
                    least.push(self.clearance(kind, side, &pairs[found.pair], &found, rig, &mut solved));
                }
            }
        }
        least
    }

    /// What was found, at the moment itself.
    fn clearance(
        &self,
        kind: Kind,
        side: Option<Side>,
        pair: &Pair,
        found: &Found,
        rig: &Rig,
        solved: &mut Solved,
    ) -> Clearance {
        let course = pair.course;
        let mut moment = course.axis.set(solved.base, found.times[0]);
        match pair.against {
            Against::Course(other) => moment = other.axis.set(moment, found.times[1]),
            Against::Spin(_) => moment = moment.with_steer(found.times[1]),
            Against::Still(_) => {}
        }
        // The rim's arcs about the shaft are looked at all round: which wheel angle brings them there?
        let rim = pair.partner == Partner::Rig(RigPart::Rim);
        let swept = [found.nearest.on_b, found.nearest.on_a][usize::from(kind == Kind::RimFrame)];
        if (rim && matches!(pair.against, Against::Still(_))) || (kind == Kind::RimFrame && course.axis == Axis::Still)
        {
            moment = moment.with_steer(self.rim.steer_at(&rig.wheel, swept));
        }
        let solid = match pair.against {
            Against::Course(_) if rim => Some(Solid::Rim(rig.wheel.rim(moment.steer))),
            Against::Course(other) => solved.shape(other, found.times[1]).map(Solid::Capsule),
            Against::Spin(_) | Against::Still(_) => None,
        };
        let here = solved.shape(course, found.times[0]);
        // At a step, and against what stands still, the hunt has measured the posture itself.
        let nearest = if here.is_none() && solid.is_none() {
            found.nearest
        } else {
            let here = here.unwrap_or_else(|| course.at(found.times[0]));
            match (&solid, pair.against) {
                (Some(solid), _) | (None, Against::Still(solid)) => distance(&here, solid),
                (None, Against::Spin(other)) => distance(&here, &other.at(found.times[1])),
                (None, Against::Course(other)) => distance(&here, &Solid::Capsule(other.at(found.times[1]))),
            }
        };
        Clearance {
            id: kind.id(),
            side,
            body: course.part,
            partner: pair.partner,
            nearest,
            moment,
            within: (nearest.gap - found.floor).max(0.0),
        }
    }

    /// Adds the pairs that count for a kind and side.
    fn pairs<'a>(&'a self, kind: Kind, side: Option<Side>, pairs: &mut Vec<Pair<'a>>) {
        let at = side.map_or(0, Side::index);
        let (legs, arms, fixed) = (&self.legs[at], &self.arms[at], &self.fixed);
        let touches = matches!(kind, Kind::ArmShell | Kind::ThighShell | Kind::FootPlate);
        let mut put = |course, against, partner| {
            let pair = Pair::new(course, against, partner);
            pairs.push(if touches { pair.touching() } else { pair });
        };
        let is = |part: fn(Side) -> BodyPart| move |course: &&Course| side.map(part) == course.part;
        let foot = is(BodyPart::Foot);
        let reaching = |course: &&Course| is(BodyPart::Hand)(course) || is(BodyPart::Forearm)(course);
        let rails = || fixed.rails.iter().enumerate().map(|(index, rail)| (rail, Partner::Rig(RigPart::Rail(index))));
        // Shapes from files that stand for one of these.
        let imported = |wanted: &'static [StandsFor]| {
            fixed.imported.iter().filter(move |(stands_for, ..)| wanted.contains(stands_for))
        };
        // Screens and whatever else stands there.
        let standing = || {
            let described = fixed.screens.iter().map(|(partner, solid)| (*partner, solid));
            let from_files = imported(&[StandsFor::Screen, StandsFor::Other]);
            described.chain(from_files.map(|(_, partner, solid)| (*partner, solid)))
        };
        match kind {
            Kind::KneeWheel | Kind::ThighWheel if self.spin.is_some() => {
                let part = is(if kind == Kind::KneeWheel { BodyPart::Knee } else { BodyPart::Thigh });
                for course in legs.iter().filter(part) {
                    if let Some((partner, spin)) = &self.spin {
                        put(course, Against::Spin(spin), *partner);
                    }
                }
            }
            Kind::KneeWheel | Kind::ThighWheel => {
                let part = is(if kind == Kind::KneeWheel { BodyPart::Knee } else { BodyPart::Thigh });
                for course in legs.iter().filter(part) {
                    put(course, Against::Still(&fixed.hub), Partner::Rig(RigPart::Hub));
                    let swept = self.rim.swept.iter().map(Against::Still);
                    for against in swept.chain(self.rim.tubes.iter().map(Against::Course)) {
                        put(course, against, Partner::Rig(RigPart::Rim));
                    }
                }
            }
            Kind::LegUnit => {
                for course in legs.iter().filter(|course| !foot(course)) {
                    put(course, Against::Still(&fixed.unit.1), fixed.unit.0);
                }
            }
            Kind::LegFrame => {
                let shank = is(BodyPart::Shank);
                for course in legs.iter().filter(|course| !foot(course)) {
                    rails().for_each(|(rail, partner)| put(course, Against::Still(rail), partner));
                    // The seat carries the thighs, and knees lie over its edge.
                    let carried = if shank(&course) { &[StandsFor::Seat, StandsFor::PedalPlate][..] } else { &[] };
                    standing().for_each(|(partner, solid)| put(course, Against::Still(solid), partner));
                    for (_, partner, solid) in imported(carried) {
                        put(course, Against::Still(solid), *partner);
                    }
                }
            }
            Kind::FootPedal => {
                for course in legs.iter().filter(foot) {
                    let Owner::Leg(.., pedal) = course.owner else { continue };
                    for (kind, shapes) in fixed.pedals.iter().filter(|(kind, _)| Some(*kind) != pedal) {
                        for shape in shapes {
                            put(course, Against::Still(shape), Partner::Rig(RigPart::Pedal(*kind)));
                        }
                    }
                }
            }
            Kind::FootFrame => {
                for course in legs.iter().filter(foot) {
                    for &index in &fixed.foot_rails {
                        put(course, Against::Still(&fixed.rails[index]), Partner::Rig(RigPart::Rail(index)));
                    }
                    standing().for_each(|(partner, solid)| put(course, Against::Still(solid), partner));
                }
            }
            Kind::ArmBolster => {
                for course in arms {
                    for (name, shape) in &fixed.bolsters {
                        // Wings hold the shoulders: the upper arm lies against them by design.
                        if name.contains("bolster") || !is(BodyPart::UpperArm)(&course) {
                            put(course, Against::Still(shape), Partner::Rig(RigPart::Seat(name)));
                        }
                    }
                    // A shell from a file holds the shoulders too.
                    if !is(BodyPart::UpperArm)(&course) {
                        for (_, partner, solid) in imported(&[StandsFor::Seat]) {
                            put(course, Against::Still(solid), *partner);
                        }
                    }
                }
            }
            // What carries or holds by design is touched: what counts is how deep the one lies in the other.
            Kind::ArmShell | Kind::ThighShell | Kind::FootPlate => {
                let (courses, wanted): (&[Course], &'static [StandsFor]) = match kind {
                    Kind::ArmShell => (arms, &[StandsFor::Seat]),
                    Kind::ThighShell => (legs, &[StandsFor::Seat]),
                    _ => (legs, &[StandsFor::PedalPlate]),
                };
                let part = match kind {
                    Kind::ArmShell => is(BodyPart::UpperArm),
                    Kind::ThighShell => is(BodyPart::Thigh),
                    _ => is(BodyPart::Foot),
                };
                for course in courses.iter().filter(part) {
                    for (_, partner, solid) in imported(wanted) {
                        put(course, Against::Still(solid), *partner);
                    }
                }
            }
            Kind::HandLeg => {
                for course in arms.iter().filter(reaching) {
                    for leg in self.legs.iter().flatten() {
                        if let Some(part @ (BodyPart::Thigh(_) | BodyPart::Knee(_))) = leg.part {
                            put(course, Against::Course(leg), Partner::Body(part));
                        }
                    }
                }
            }
            Kind::HandFrame => {
                for course in arms.iter().filter(reaching) {
                    put(course, Against::Still(&fixed.unit.1), fixed.unit.0);
                    rails().for_each(|(rail, partner)| put(course, Against::Still(rail), partner));
                    standing().for_each(|(partner, solid)| put(course, Against::Still(solid), partner));
                }
            }
            Kind::RimFrame => {
                for course in &self.rim.beads {
                    rails().for_each(|(rail, partner)| put(course, Against::Still(rail), partner));
                    standing().for_each(|(partner, solid)| put(course, Against::Still(solid), partner));
                }
            }
            Kind::ChestWheel => {
                for course in self.trunk.iter().filter(|course| course.part == Some(BodyPart::Chest)) {
                    put(course, Against::Still(&fixed.centre), Partner::Rig(RigPart::Hub));
                }
            }
            Kind::HeadFrame => {
                for course in self.trunk.iter().filter(|course| course.part == Some(BodyPart::Head)) {
                    rails().for_each(|(rail, partner)| put(course, Against::Still(rail), partner));
                    standing().for_each(|(partner, solid)| put(course, Against::Still(solid), partner));
                }
            }
        }
    }
}

/// Limbs at the moments found, each solved once.
struct Solved<'a> {
    body: &'a Body,
    base: Moment,
    between: Option<Between<'a>>,
    arms: Vec<(f64, [Arm; 2])>,
    legs: Vec<(Side, Axis, f64, Leg)>,
}

/// Whether two times found are the same one.
fn same(a: f64, b: f64) -> bool {
    a.total_cmp(&b).is_eq()
}

impl Solved<'_> {
    /// A shape at a time; `None` where the course is that already: at a step.
    fn shape(&mut self, course: &Course, time: f64) -> Option<TaperedCapsule> {
        let between = self.between.as_mut().filter(|_| !course.is_step(time))?;
        let (solids, index) = match course.owner {
            Owner::Arm(side, index) => {
                let known = self.arms.iter().find(|(at, _)| same(*at, time)).map(|(_, arms)| *arms);
                let arms = known.unwrap_or_else(|| {
                    let arms = between.arms(time);
                    self.arms.push((time, arms));
                    arms
                });
                (self.body.arm(&arms[side.index()], side), index)
            }
            Owner::Leg(side, index, _) => {
                let axis = course.axis;
                let known = self.legs.iter().find(|leg| (leg.0, leg.1) == (side, axis) && same(leg.2, time));
                let leg = known.map_or_else(|| between.leg(side, &axis.set(Moment::REST, time)), |leg| leg.3);
                self.legs.push((side, axis, time, leg));
                (self.body.leg(&leg, side), index)
            }
            Owner::Other => return None,
        };
        solids.get(index).map(|solid| solid.shape)
    }
}
