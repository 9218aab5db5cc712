//! What the seat carries and how deep a body sinks into it.

use std::f64::consts::TAU;

use crate::{
    body::{Body, Segments, Skeleton},
    project::{Pelvis, Seat},
    rig::SeatPart,
    units::{deg, mm},
};

/// Mass for which the give of a seat's foam is stated, kg: the loading mass of the H-point machine, from memory.
const GIVE_MASS: f64 = 77.0;
/// How that driver sits: the design torso angle when nothing else is known (SAE J4004, quoted) on a cushion of the
/// usual 10 to 15° (from memory).
const GIVE_POSTURE: (f64, f64) = (deg(25.0), deg(14.5));
/// How far the flesh of one hip or shoulder gives sideways before it is carried by an edge; own estimate.
const SQUEEZE: f64 = mm(12.0);
/// Hips and shoulders are pushed forward by edges at most so far: past that nobody leans back in such a shell; own
/// estimate.
const MOST_PUSH: f64 = mm(60.0);
/// Over which height an edge takes hold of a part that passes its end; own estimate.
const EDGE: f64 = mm(40.0);
/// Over this much more it is carried ever more, until wholly; own estimate.
const YIELD: f64 = mm(10.0);

/// How far the foam of cushion and back gives under a body, m.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Give {
    pub cushion: f64,
    pub back: f64,
}

/// Weight of the upper body and of the thighs as shares of the whole. Shanks and feet stand on the floor.
#[derive(Clone, Copy, Debug)]
pub(super) struct Weight {
    trunk: f64,
    thighs: f64,
    /// Body mass over the mass for which give is stated.
    load: f64,
}

impl Weight {
    pub fn of(body: &Body) -> Self {
        let segments = Segments::of(body.dimensions.population());
        let share = |name| segments.get(name);
        let arm = share("upper_arm_mass") + share("forearm_mass") + share("hand_mass");
        Self {
            trunk: share("trunk_mass") + share("head_mass") + 2.0 * arm,
            thighs: 2.0 * share("thigh_mass"),
            load: body.mass() / GIVE_MASS,
        }
    }

    /// Forces square to cushion and back in equilibrium, as shares of the body's weight.
    ///
    /// The upper body hinges in the hips: square to its line its weight leans on the back, along its line it bears on the
    /// pelvis, which with the thighs rests on the cushion. What then slides forward is held by friction; what slides
    /// rearward down the cushion is carried by the back.
    pub fn on_seat(&self, recline: f64, cushion: f64) -> [f64; 2] {
        let thrust = self.trunk * recline.cos();
        let on_cushion = thrust * (recline - cushion).cos() + self.thighs * cushion.cos();
        let rearward = self.thighs * cushion.sin() - thrust * (recline - cushion).sin();
        let on_back = self.trunk * recline.sin() + rearward.max(0.0);
        [on_cushion.max(0.0), on_back.max(0.0)]
    }

    /// The foam's give: in proportion to the force on it, at most its thickness.
    pub fn give(&self, seat: &Seat, recline: f64) -> Give {
        let stated = self.on_seat(GIVE_POSTURE.0, GIVE_POSTURE.1);
        let here = self.on_seat(recline, deg(seat.cushion_deg()));
        let give =
            |at: usize, give_mm: f64, foam_mm: f64| mm((give_mm * self.load * here[at] / stated[at]).min(foam_mm));
        Give {
            cushion: give(0, seat.cushion.give_mm, seat.cushion.foam_mm),
            back: give(1, seat.back.give_mm, seat.back.foam_mm),
        }
    }
}

/// Outline of the pelvis with its flesh in the side plane, seen from the hip joints: the round of the buttocks and the top
/// of the sacrum. Sitting erect on a bench against a wall, as they were measured, the buttocks touch both.
#[derive(Clone, Copy, Debug)]
pub(super) struct Outline {
    radius: f64,
    /// Middle of the round: rearward and down.
    middle: [f64; 2],
    /// Skin behind L5/S1: rearward and up.
    sacrum: [f64; 2],
}

impl Outline {
    /// `hollow`: how far the skin behind L5/S1 lies ahead of the rearmost buttock, m.
    pub fn of(bones: &Skeleton, hollow: f64) -> Self {
        // Contradicting measurements must not put the round's middle far above the hips.
        let radius = bones.buttock_round().min(1.5 * bones.seat_to_hip);
        Self {
            radius,
            middle: [bones.buttock_to_hip - radius, bones.seat_to_hip - radius],
            sacrum: [bones.buttock_to_hip - hollow, bones.hip_to_lumbar],
        }
    }

    /// Depth of flesh under the hip joints towards a surface on which the pelvis leans back by `lean` more than erect.
    /// Lying flat it is the depth behind them when erect.
    pub fn under(&self, lean: f64) -> f64 {
        let (sin, cos) = lean.sin_cos();
        let round = self.radius + self.middle[0] * sin + self.middle[1] * cos;
        round.max(self.sacrum[0] * sin - self.sacrum[1] * cos)
    }

    /// Depth of flesh behind the hip joints towards a surface against which the pelvis leans back by `lean`.
    pub fn behind(&self, lean: f64) -> f64 {
        self.round_behind(lean).max(self.at_sacrum(lean))
    }

    /// The same of the buttocks alone.
    pub fn round_behind(&self, lean: f64) -> f64 {
        let (sin, cos) = lean.sin_cos();
        self.radius + self.middle[0] * cos - self.middle[1] * sin
    }

    /// Depth behind the hip joints of the skin behind L5/S1.
    pub fn at_sacrum(&self, lean: f64) -> f64 {
        let (sin, cos) = lean.sin_cos();
        self.sacrum[0] * cos + self.sacrum[1] * sin
    }
}

/// How a pelvis is held on a cushion that rises by an angle: rolled back against the torso line (rad), and moved forward
/// off the back (m).
///
/// From erect to slumped the pelvis rolls back by 10 to 20° (from memory). How far it slides is an own estimate: less on
/// a cushion steeper than a road seat's, not at all on one of 40°, from which it would slide back.
pub(super) fn held(pelvis: Pelvis, cushion: f64) -> (f64, f64) {
    match pelvis {
        Pelvis::Natural => (0.0, 0.0),
        Pelvis::Slouched => (deg(15.0), mm(40.0) * ((deg(40.0) - cushion) / deg(25.0)).clamp(0.0, 1.0)),
        Pelvis::Upright => (deg(-10.0), 0.0),
    }
}

/// Edges of a shell that carry a body wider than the room between them.
pub(super) struct Edges<'a> {
    seat: &'a SeatPart,
    /// Half the breadth over hips and shoulders, clothed.
    hips: f64,
    shoulders: f64,
    /// Radius of thigh and upper arm.
    thigh: f64,
    arm: f64,
    /// Depth of hip and shoulder joints over the skin behind them.
    behind: [f64; 2],
}

impl<'a> Edges<'a> {
    pub fn of(body: &Body, seat: &'a SeatPart) -> Self {
        let d = |name: &str| body.dimensions.m(name);
        let clothes = body.worn.clothes;
        Self {
            seat,
            hips: d("hipbreadthsitting") / 2.0 + clothes,
            shoulders: d("bideltoidbreadth") / 2.0 + clothes,
            thigh: d("thighclearance") / 2.0,
            arm: d("bicepscircumferenceflexed") / TAU,
            behind: [body.skeleton.buttock_to_hip, body.skeleton.back_to_shoulder],
        }
    }

    /// How much higher the pelvis sits on the bolsters of the cushion, m.
    pub fn under_hips(&self) -> f64 {
        let cushion = &self.seat.seat.cushion;
        let excess = self.hips - mm(cushion.width_mm) / 2.0;
        carried(excess, self.thigh, self.thigh, mm(cushion.bolster_height_mm))
    }

    /// How far the bolsters of the back push hips forward that are at this height along it, m.
    pub fn behind_hips(&self, height: f64) -> f64 {
        let back = &self.seat.seat.back;
        let [depth, _] = self.behind;
        let excess = self.hips - mm(back.width_mm) / 2.0;
        carried(excess, depth, depth, mm(back.bolster_depth_mm)).min(MOST_PUSH) * beside(height, self.seat.bolsters())
    }

    /// How far the wings push shoulders forward that are at this height along the back, m.
    pub fn behind_shoulders(&self, height: f64) -> f64 {
        let Some(wings) = self.seat.seat.wings else { return 0.0 };
        let excess = self.shoulders - mm(wings.width_mm) / 2.0;
        let push = carried(excess, self.arm, self.behind[1], mm(wings.depth_mm)).min(MOST_PUSH);
        push * beside(height, [mm(wings.from_mm), mm(wings.to_mm)])
    }
}

/// How much of a part at a height is beside an edge that reaches from one height to another: from 0 to 1.
fn beside(height: f64, [from, to]: [f64; 2]) -> f64 {
    let share = |inside: f64| (0.5 + inside / EDGE).clamp(0.0, 1.0);
    share(height - from) * share(to - height)
}

/// How much higher a rounded part of the body lies that is wider than the room between two edges, m.
///
/// Its side is a circle with its middle `middle` above the surface from which the edges stand out by `out`; `excess` is by
/// how much it is wider than the room, one side: the middle stands over an edge by what Pythagoras leaves.
fn carried(excess: f64, radius: f64, middle: f64, out: f64) -> f64 {
    let excess = excess - SQUEEZE;
    if excess <= 0.0 || out <= 0.0 {
        return 0.0;
    }
    let aside = (radius - excess).max(0.0);
    let perched = out + (radius * radius - aside * aside).max(0.0).sqrt() - middle;
    perched.max(0.0) * (excess / YIELD).min(1.0)
}
