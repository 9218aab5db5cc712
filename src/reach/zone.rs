//! Zones, and the point of a limb that has to get there.

use serde::Serialize;

use crate::{
    body::{Body, JointLimits, Range, Skeleton},
    geometry::{Side, Vec3},
    posture::{ArmAngles, Comfort, LegAngles, comfort_of_arm, comfort_of_leg},
    units::{deg, mm},
};

/// How much of the body has to move for a point to be reached; each zone holds the ones before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Zone {
    /// Shoulders on the seat, every joint within one spread of its neutral (`shared/comfort.csv`).
    Comfortable,
    /// Shoulders on the seat, every joint inside its range; the shoulder joint follows a raised arm as far as people do
    /// whose shoulder blades stay on a wall.
    Attainable,
    /// The shoulder leaves the seat, as far as shoulder blade and collar bone let it.
    ShoulderLift,
    /// The trunk leans forward about the hips as well, as far as the belts or the user's choice allow.
    Leaning,
}

impl Zone {
    /// From the innermost to the outermost.
    pub const ALL: [Self; 4] = [Self::Comfortable, Self::Attainable, Self::ShoulderLift, Self::Leaning];

    /// Zones of a leg: the hips stay in the seat.
    pub const OF_FEET: [Self; 2] = [Self::Comfortable, Self::Attainable];

    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Comfortable => "comfortable",
            Self::Attainable => "attainable",
            Self::ShoulderLift => "with shoulder lift",
            Self::Leaning => "leaning forward",
        }
    }
}

/// What the hand does at the point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Grip {
    /// The hand closes round it: the middle of a grasped rod of 30 mm.
    #[default]
    Full,
    /// Thumb and fingers hold it: 20 % of the hand's length beyond the full grip.
    Pinch,
    /// A finger presses it: 60 % of the hand's length beyond the full grip.
    Fingertip,
}

/// What the foot does at the point; the point is the ball of the foot at the bottom of the sole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Footing {
    /// The heel stays on the plane of the heel plate.
    #[default]
    HeelDown,
    /// The foot is in the air.
    Free,
}

/// A hand or a foot, and what it does at the point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Limb {
    /// A hand.
    Hand(Side, Grip),
    /// A foot.
    Foot(Side, Footing),
}

impl Grip {
    /// All of them, from the shortest reach to the longest.
    pub const ALL: [Self; 3] = [Self::Full, Self::Pinch, Self::Fingertip];

    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Full => "full grip",
            Self::Pinch => "pinch",
            Self::Fingertip => "fingertip",
        }
    }

    /// How far the point lies beyond the full grip, as a share of hand length: fingertip reach = grip reach + 60 %, thumb
    /// tip = grip reach + 20 % (Chan, online course on anthropometry, dimensions 34 to 36, after Pheasant).
    pub const fn beyond_grip(self) -> f64 {
        match self {
            Self::Full => 0.0,
            Self::Pinch => 0.2,
            Self::Fingertip => 0.6,
        }
    }
}

impl Footing {
    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::HeelDown => "heel down",
            Self::Free => "foot in the air",
        }
    }
}

impl Limb {
    /// The side of the body.
    pub const fn side(self) -> Side {
        match self {
            Self::Hand(side, _) | Self::Foot(side, _) => side,
        }
    }

    /// "left hand, full grip".
    pub fn words(self) -> String {
        match self {
            Self::Hand(side, grip) => format!("{} hand, {}", side.word(), grip.word()),
            Self::Foot(side, footing) => format!("{} foot, {}", side.word(), footing.word()),
        }
    }

    /// The zones that it has.
    pub const fn zones(self) -> &'static [Zone] {
        match self {
            Self::Hand(..) => &Zone::ALL,
            Self::Foot(..) => &Zone::OF_FEET,
        }
    }
}

/// Radius of the rod that a full grip closes on, m: common practice, no published source.
pub(super) const ROD: f64 = mm(15.0);

/// The point of the hand seen from the wrist, hand frame.
pub(super) fn p_HG(body: &Body, side: Side, grip: Grip) -> Vec3 {
    let bones: &Skeleton = &body.skeleton;
    let beyond = grip.beyond_grip() * body.dimensions.m("handlength");
    Vec3::new(0.0, -side.sign() * (bones.palm + ROD), -(bones.wrist_to_grip + beyond))
}

/// Most variables of a limb: an arm's lean, shoulder and seven angles.
pub(super) const MOST: usize = 9;
/// Variables of a limb in the order of its chain.
pub(super) type Angles = [f64; MOST];

/// How far the shoulder joint follows a raised arm with the shoulder blade still on the seat, m.
///
/// The survey's people, shoulders on the wall, reach further with the thumb's tip (`thumbtipreach`) than their links
/// from the wall over shoulder, elbow and wrist to the pinch add up to: by 49 mm in the mean of the men, 33 mm of the
/// women. What a person's estimated or measured reach is more than the links is taken for it, 0 to 70 mm (own limits).
pub(super) fn follows(body: &Body) -> f64 {
    let bones = &body.skeleton;
    let hand = bones.wrist_to_grip + Grip::Pinch.beyond_grip() * body.dimensions.m("handlength");
    let links = bones.back_to_shoulder + bones.upper_arm + bones.forearm + hand;
    (body.dimensions.m("thumbtipreach") - links).clamp(0.0, mm(70.0))
}

/// Ranges of an arm's variables in a zone: lean of the trunk up to `lean` (rad), protraction (m), seven angles.
pub(super) fn arm_ranges(body: &Body, zone: Zone, lean: f64) -> [Range; MOST] {
    let mut out = [Range { low: 0.0, high: 0.0 }; MOST];
    if zone >= Zone::Leaning {
        out[0].high = lean;
    }
    if zone >= Zone::Attainable {
        out[1].high = follows(body);
    }
    if zone >= Zone::ShoulderLift {
        out[1].high += body.skeleton.protraction;
    }
    out[2..].copy_from_slice(&within(ArmAngles::ranges(&body.limits), zone, comfort_of_arm()));
    out
}

/// Ranges of a leg's seven angles in a zone, with two unused ones behind them.
pub(super) fn leg_ranges(limits: &JointLimits, zone: Zone) -> [Range; MOST] {
    let mut out = [Range { low: 0.0, high: 0.0 }; MOST];
    out[..7].copy_from_slice(&within(LegAngles::ranges(limits), zone, comfort_of_leg()));
    out
}

/// The joints' ranges, cut to their comfort bands in the comfortable zone: neutral ± one spread.
fn within(mut ranges: [Range; 7], zone: Zone, comfort: &[Comfort; 7]) -> [Range; 7] {
    if zone == Zone::Comfortable {
        for (range, comfort) in ranges.iter_mut().zip(comfort) {
            let (low, high) = (comfort.neutral - comfort.spread, comfort.neutral + comfort.spread);
            // A stiff joint whose range lies outside its band stays at the end that is nearest to it.
            *range = Range { low: range.clamp(low), high: range.clamp(high) };
        }
    }
    ranges
}

/// How far the trunk leans forward where nobody chose: own choice, a lap belt alone holds nobody back so soon.
pub const USUAL_LEAN: f64 = deg(20.0);
