//! What comes close: the least distance of each pair that can touch, over the whole motion, with where and when.
//!
//! A leg moves with its pedals, an arm with the wheel, the rim with the wheel: the least distance of two things that
//! both move is looked for over both motions.

pub use crate::posture::Partner;
use crate::{
    body::{Body, BodyPart, BodySolid},
    geometry::{Nearest, Side, Solid, TaperedCapsule, Vec3, bound, distance},
    posture::{Arm, Leg, Moment, Motion, Posture},
    rig::{Rig, RigPart},
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
}

/// The kinds of clearance, in the order of the table of bands.
#[derive(Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
enum Kind {
    KneeWheel,
    ThighWheel,
    LegUnit,
    LegFrame,
    FootPedal,
    FootFrame,
    ArmBolster,
    HandLeg,
    HandFrame,
    RimFrame,
    ChestWheel,
    HeadFrame,
}

impl Kind {
    const COUNT: usize = 12;

    const fn id(self) -> &'static str {
        match self {
            Self::KneeWheel => "knee_wheel",
            Self::ThighWheel => "thigh_wheel",
            Self::LegUnit => "leg_unit",
            Self::LegFrame => "leg_frame",
            Self::FootPedal => "foot_pedal",
            Self::FootFrame => "foot_frame",
            Self::ArmBolster => "arm_bolster",
            Self::HandLeg => "hand_leg",
            Self::HandFrame => "hand_frame",
            Self::RimFrame => "rim_frame",
            Self::ChestWheel => "chest_wheel",
            Self::HeadFrame => "head_frame",
        }
    }
}

/// The least of each kind and side seen so far.
struct Least {
    slots: [Option<Clearance>; 2 * Kind::COUNT],
}

impl Least {
    const fn new() -> Self {
        Self { slots: [const { None }; 2 * Kind::COUNT] }
    }

    fn so_far(&self, kind: Kind, side: Option<Side>) -> f64 {
        let at = 2 * kind as usize + side.map_or(0, Side::index);
        self.slots[at].as_ref().map_or(f64::INFINITY, |clearance| clearance.nearest.gap)
    }

    /// Looks at one pair; a cheap lower bound spares most of the work. Returns the gap where it was measured.
    fn look(
        &mut self,
        kind: Kind,
        side: Option<Side>,
        body: &BodySolid,
        solid: &Solid,
        partner: impl FnOnce() -> Partner,
        moment: Moment,
    ) {
        let best = self.so_far(kind, side);
        if bound(&body.shape, solid) >= best {
            return;
        }
        let nearest = distance(&body.shape, solid);
        if nearest.gap < best {
            self.keep(
                Clearance { id: kind.id(), side, body: Some(body.part), partner: partner(), nearest, moment },
                kind,
            );
        }
    }

    fn keep(&mut self, clearance: Clearance, kind: Kind) {
        let at = 2 * kind as usize + clearance.side.map_or(0, Side::index);
        self.slots[at] = Some(clearance);
    }

    fn into_vec(self) -> Vec<Clearance> {
        self.slots.into_iter().flatten().collect()
    }
}

/// One leg at one moment.
struct LegFrame {
    side: Side,
    moment: Moment,
    pedal: Option<crate::project::PedalKind>,
    solids: Vec<BodySolid>,
}

/// Both arms at one moment.
struct ArmFrame {
    moment: Moment,
    solids: [Vec<BodySolid>; 2],
}

/// The rig's solids that do not move, with what they are.
struct Fixed {
    hub: Solid,
    unit: Solid,
    rails: Vec<Solid>,
    /// Rails that a foot can meet: not those that lie under the heel plate.
    foot_rails: Vec<usize>,
    bolsters: Vec<(&'static str, Solid)>,
    pedals: Vec<(crate::project::PedalKind, [Solid; 2])>,
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
        Self {
            hub: Solid::Capsule(rig.wheel.hub),
            unit: Solid::Box(rig.wheel.unit),
            rails: rig.rails.iter().map(|rail| Solid::Box(rail.solid)).collect(),
            foot_rails,
            bolsters: rig
                .seat
                .solids
                .iter()
                .filter(|(name, _)| name.contains("bolster") || name.contains("wing"))
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

/// Clearances at one moment.
pub fn at(body: &Body, rig: &Rig, posture: &Posture, moment: &Moment) -> Vec<Clearance> {
    let legs: Vec<LegFrame> =
        Side::BOTH.into_iter().map(|side| leg_frame(body, &posture.legs[side.index()], side, *moment)).collect();
    let arms = [arm_frame(body, &posture.arms, *moment)];
    let mut least = Least::new();
    let fixed = Fixed::of(rig);
    legs_alone(&mut least, &fixed, &legs);
    arms_alone(&mut least, &fixed, &arms);
    let rim = Solid::Rim(rig.wheel.rim(moment.steer));
    for leg in &legs {
        leg_and_rim(&mut least, leg, &rim, moment.steer);
    }
    arms_and_legs(&mut least, &arms, &legs);
    trunk(&mut least, body, rig, &fixed, posture);
    rim_and_frame(&mut least, rig, &fixed, &[moment.steer]);
    least.into_vec()
}

/// The least clearances over the whole motion.
pub fn over(body: &Body, rig: &Rig, rest: &Posture, motion: &Motion) -> Vec<Clearance> {
    let mut legs: Vec<LegFrame> =
        Side::BOTH.into_iter().map(|side| leg_frame(body, &rest.legs[side.index()], side, Moment::REST)).collect();
    for sweep in &motion.pedals {
        for (travel, leg) in &sweep.steps {
            legs.push(leg_frame(body, leg, sweep.side, Moment::REST.with_travel(sweep.kind, *travel)));
        }
    }
    let arms: Vec<ArmFrame> =
        motion.arms.steps.iter().map(|(steer, arms)| arm_frame(body, arms, Moment::REST.with_steer(*steer))).collect();

    let mut least = Least::new();
    let fixed = Fixed::of(rig);
    legs_alone(&mut least, &fixed, &legs);
    arms_alone(&mut least, &fixed, &arms);
    legs_and_turning_rim(&mut least, rig, &legs, motion);
    arms_and_legs(&mut least, &arms, &legs);
    trunk(&mut least, body, rig, &fixed, rest);
    let turned: Vec<f64> = rim_angles(rig, motion, 9);
    rim_and_frame(&mut least, rig, &fixed, &turned);
    least.into_vec()
}

fn leg_frame(body: &Body, leg: &Leg, side: Side, moment: Moment) -> LegFrame {
    LegFrame { side, moment, pedal: leg.pedal, solids: body.leg(leg, side) }
}

fn arm_frame(body: &Body, arms: &[Arm; 2], moment: Moment) -> ArmFrame {
    let solids = Side::BOTH.map(|side| body.arm(&arms[side.index()], side));
    ArmFrame { moment, solids }
}

fn legs_alone(least: &mut Least, fixed: &Fixed, legs: &[LegFrame]) {
    let rail = |index: usize| move || Partner::Rig(RigPart::Rail(index));
    for leg in legs {
        let side = Some(leg.side);
        for solid in &leg.solids {
            if matches!(solid.part, BodyPart::Foot(_)) {
                for &index in &fixed.foot_rails {
                    least.look(Kind::FootFrame, side, solid, &fixed.rails[index], rail(index), leg.moment);
                }
                for (kind, shapes) in fixed.pedals.iter().filter(|(kind, _)| Some(*kind) != leg.pedal) {
                    for shape in shapes {
                        let partner = || Partner::Rig(RigPart::Pedal(*kind));
                        least.look(Kind::FootPedal, side, solid, shape, partner, leg.moment);
                    }
                }
            } else {
                let unit = || Partner::Rig(RigPart::WheelUnit);
                least.look(Kind::LegUnit, side, solid, &fixed.unit, unit, leg.moment);
                for (index, shape) in fixed.rails.iter().enumerate() {
                    least.look(Kind::LegFrame, side, solid, shape, rail(index), leg.moment);
                }
                if let Some(kind) = wheel_kind(solid.part) {
                    let hub = || Partner::Rig(RigPart::Hub);
                    least.look(kind, side, solid, &fixed.hub, hub, leg.moment);
                }
            }
        }
    }
}

const fn wheel_kind(part: BodyPart) -> Option<Kind> {
    match part {
        BodyPart::Knee(_) => Some(Kind::KneeWheel),
        BodyPart::Thigh(_) => Some(Kind::ThighWheel),
        _ => None,
    }
}

fn leg_and_rim(least: &mut Least, leg: &LegFrame, rim: &Solid, steer: f64) {
    for solid in &leg.solids {
        if let Some(kind) = wheel_kind(solid.part) {
            let partner = || Partner::Rig(RigPart::Rim);
            least.look(kind, Some(leg.side), solid, rim, partner, leg.moment.with_steer(steer));
        }
    }
}

/// Wheel angles at which the rim's outline differs: one for a full circle, `count` over the steering range otherwise.
fn rim_angles(rig: &Rig, motion: &Motion, count: usize) -> Vec<f64> {
    if rig.wheel.path.is_circle() {
        return vec![0.0];
    }
    let (left, right) = motion
        .arms
        .steps
        .last()
        .zip(motion.arms.steps.first())
        .map_or((0.0, 0.0), |((left, _), (right, _))| (*left, *right));
    // The driver may let go and turn on: the rim comes round at least a quarter turn each way, as far as the lock.
    let (left, right) = (left.max(deg(90.0)).min(rig.wheel.lock), (-right).max(deg(90.0)).min(rig.wheel.lock));
    (0..count).map(|step| -right + (left + right) * step as f64 / (count - 1) as f64).collect()
}

/// Legs over all pedal positions against the rim over all wheel angles: first coarsely, then around the least.
fn legs_and_turning_rim(least: &mut Least, rig: &Rig, legs: &[LegFrame], motion: &Motion) {
    let coarse = rim_angles(rig, motion, 25);
    for &steer in &coarse {
        let rim = Solid::Rim(rig.wheel.rim(steer));
        for leg in legs {
            leg_and_rim(least, leg, &rim, steer);
        }
    }
    if coarse.len() < 2 {
        return;
    }
    let step = coarse[1] - coarse[0];
    let around: Vec<f64> = [Kind::KneeWheel, Kind::ThighWheel]
        .into_iter()
        .flat_map(|kind| Side::BOTH.map(|side| (kind, side)))
        .filter_map(|(kind, side)| least.slots[2 * kind as usize + side.index()].as_ref())
        .map(|clearance| clearance.moment.steer)
        .collect();
    for middle in around {
        for fine in -8..=8 {
            let steer = (middle + step * f64::from(fine) / 8.0).clamp(coarse[0], coarse[coarse.len() - 1]);
            let rim = Solid::Rim(rig.wheel.rim(steer));
            for leg in legs {
                leg_and_rim(least, leg, &rim, steer);
            }
        }
    }
}

fn arms_alone(least: &mut Least, fixed: &Fixed, arms: &[ArmFrame]) {
    for arm in arms {
        for side in Side::BOTH {
            for solid in &arm.solids[side.index()] {
                let reaching = !matches!(solid.part, BodyPart::UpperArm(_));
                for (name, shape) in &fixed.bolsters {
                    // Wings hold the shoulders: the upper arm lies against them by design.
                    if reaching || name.contains("bolster") {
                        let partner = || Partner::Rig(RigPart::Seat(name));
                        least.look(Kind::ArmBolster, Some(side), solid, shape, partner, arm.moment);
                    }
                }
                if matches!(solid.part, BodyPart::Hand(_) | BodyPart::Forearm(_)) {
                    let unit = || Partner::Rig(RigPart::WheelUnit);
                    least.look(Kind::HandFrame, Some(side), solid, &fixed.unit, unit, arm.moment);
                    for (index, shape) in fixed.rails.iter().enumerate() {
                        let rail = || Partner::Rig(RigPart::Rail(index));
                        least.look(Kind::HandFrame, Some(side), solid, shape, rail, arm.moment);
                    }
                }
            }
        }
    }
}

/// Hands and forearms over all wheel angles against thighs and knees over all pedal positions.
fn arms_and_legs(least: &mut Least, arms: &[ArmFrame], legs: &[LegFrame]) {
    let lower = |solid: &&BodySolid| matches!(solid.part, BodyPart::Hand(_) | BodyPart::Forearm(_));
    let upper = |solid: &&BodySolid| matches!(solid.part, BodyPart::Thigh(_) | BodyPart::Knee(_));
    for leg_side in Side::BOTH {
        let frames: Vec<(Moment, Vec<&BodySolid>)> = legs
            .iter()
            .filter(|leg| leg.side == leg_side)
            .map(|leg| (leg.moment, leg.solids.iter().filter(upper).collect()))
            .collect();
        let parts = frames.first().map_or(0, |(_, solids)| solids.len());
        for part in 0..parts {
            // A leg moves little with its pedals: one ball round all its positions spares most of them.
            let around = ball_around(frames.iter().map(|(_, solids)| &solids[part].shape));
            for arm in arms {
                for side in Side::BOTH {
                    for hand in arm.solids[side.index()].iter().filter(lower) {
                        if bound(&hand.shape, &around) >= least.so_far(Kind::HandLeg, Some(side)) {
                            continue;
                        }
                        for (moment, solids) in &frames {
                            let leg = solids[part];
                            let moment = moment.with_steer(arm.moment.steer);
                            let partner = || Partner::Body(leg.part);
                            let shape = Solid::Capsule(leg.shape);
                            least.look(Kind::HandLeg, Some(side), hand, &shape, partner, moment);
                        }
                    }
                }
            }
        }
    }
}

/// A ball that holds every capsule.
fn ball_around<'a>(shapes: impl Iterator<Item = &'a TaperedCapsule> + Clone) -> Solid {
    let count = shapes.clone().count().max(1) as f64;
    let middle = shapes.clone().map(|shape| (shape.a + shape.b) * 0.5).sum::<Vec3>() / count;
    let radius = shapes
        .map(|shape| ((shape.a - middle).norm() + shape.radius_a).max((shape.b - middle).norm() + shape.radius_b))
        .fold(0.0, f64::max);
    Solid::Capsule(TaperedCapsule { a: middle, b: middle, radius_a: radius, radius_b: radius })
}

fn trunk(least: &mut Least, body: &Body, rig: &Rig, fixed: &Fixed, posture: &Posture) {
    let centre = rig.wheel.X_WR.translation.vector;
    let centre = Solid::Capsule(TaperedCapsule { a: centre, b: centre, radius_a: 0.0, radius_b: 0.0 });
    for solid in body.trunk(&posture.sitting) {
        match solid.part {
            BodyPart::Chest => {
                let partner = || Partner::Rig(RigPart::Hub);
                least.look(Kind::ChestWheel, None, &solid, &centre, partner, Moment::REST);
            }
            BodyPart::Head => {
                for (index, shape) in fixed.rails.iter().enumerate() {
                    let rail = || Partner::Rig(RigPart::Rail(index));
                    least.look(Kind::HeadFrame, None, &solid, shape, rail, Moment::REST);
                }
            }
            _ => {}
        }
    }
}

/// The rim, as a ring of short tubes, against the rails.
fn rim_and_frame(least: &mut Least, rig: &Rig, fixed: &Fixed, angles: &[f64]) {
    const PIECES: usize = 48;
    for &steer in angles {
        let rim = rig.wheel.rim(steer);
        for tube in rim.tubes(PIECES) {
            for (index, rail) in fixed.rails.iter().enumerate() {
                let best = least.so_far(Kind::RimFrame, None);
                if bound(&tube, rail) >= best {
                    continue;
                }
                let nearest = distance(&tube, rail);
                if nearest.gap < best {
                    let clearance = Clearance {
                        id: Kind::RimFrame.id(),
                        side: None,
                        body: None,
                        partner: Partner::Rig(RigPart::Rail(index)),
                        nearest,
                        moment: Moment::REST.with_steer(steer),
                    };
                    least.keep(clearance, Kind::RimFrame);
                }
            }
        }
    }
}
