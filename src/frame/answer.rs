//! How a built frame answers what it has to carry.

use super::{
    Built, Duty, Loads, Response, SEAT, Stiff, Tie, WHEEL,
    duty::{PEDALS, Push},
    slip,
};
use crate::{
    geometry::{Vec3, unit_or},
    project::PedalKind,
    units::GRAVITY,
};

/// What takes up the give of a frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Giver {
    /// A rail bends.
    Bending(usize),
    /// A rail twists.
    Twist(usize),
    /// A rail is stretched or pressed.
    Stretch(usize),
    /// A joint turns and slides, by its place in [`Built::joints`].
    Joint(usize),
    /// The feet are pushed over the floor.
    Feet,
}

/// A figure of give, and what takes up how much of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Give {
    /// How far, m or rad.
    pub value: f64,
    /// Where, W.
    pub at: Vec3,
    /// What takes up the energy, and its share of all, the greatest first: for one load a share of the energy is the
    /// same share of the way.
    pub givers: Vec<(Giver, f64)>,
}

impl Give {
    /// Shares of all joints between rails together.
    pub fn joints_share(&self) -> f64 {
        self.givers.iter().filter(|(giver, _)| matches!(giver, Giver::Joint(_))).map(|(_, share)| share).sum()
    }
}

/// The greatest of many, and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// Share of what it may be; 1 is all.
    pub share: f64,
    /// Which rail or joint.
    pub index: usize,
    /// Where, W.
    pub at: Vec3,
    /// The figure itself: Pa for a stress, N for a joint.
    pub value: f64,
}

/// How a frame answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Answers {
    /// Feet that lift off under weight and hard braking, by their places in [`Built::feet`].
    pub lifted: Vec<usize>,
    /// What each foot carries under weight and hard braking, N, upwards.
    pub feet: Vec<f64>,
    /// How far each pedal's face and the seat's back move apart under the working force, along it; the brake first.
    pub pedals: Vec<(PedalKind, Give)>,
    /// How far the brake's face itself moves.
    pub brake_alone: Option<f64>,
    /// How far the seat's back moves under the brake's force, backwards.
    pub seat: Option<Give>,
    /// How far the wheel turns with its unit under full torque, rad.
    pub wheel_turn: Option<Give>,
    /// How far the wheel centre gives under a pull on the rim.
    pub wheel: Option<Give>,
    /// Stress against yield, by rail.
    pub stress: Option<Worst>,
    /// Force on a joint against what its bolts hold.
    pub joint: Option<Worst>,
    /// First natural frequency with the driver in the seat, Hz, and the rail that swings most.
    pub swing: Option<(f64, Option<usize>)>,
    /// Where each node goes under weight and hard braking, m, W.
    pub moved: Vec<Vec3>,
}

/// Strength is tried with this many times the working force and the wheel's torque, as a spike gives them: common
/// practice, no published source.
pub const SPIKE: f64 = 1.5;
/// Weight of two hands on the rim, N: common practice, no published source.
const HANDS: f64 = 100.0;
/// A foot that carries less than this lifts, N.
pub(super) const LIFTS: f64 = 0.5;

/// Weight, as gravity has it.
const DOWN: Vec3 = Vec3::new(0.0, 0.0, -GRAVITY);

/// A built frame, stiff and with its duty.
struct Case<'a> {
    duty: &'a Duty,
    built: &'a Built,
    stiff: &'a Stiff<'a>,
    /// Nodes that move without resistance: what they carry gives no figures.
    loose: Vec<bool>,
}

/// Solves a built frame; feet that would be pulled are let go.
pub fn answers(duty: &Duty, built: &Built) -> Answers {
    let mut standing = built.clone();
    let mut lifted: Vec<usize> = Vec::new();
    loop {
        let stiff = Stiff::of(&standing.model);
        let case = Case::new(duty, &standing, &stiff);
        let response = stiff.under(&case.hard(1.0));
        // The one that pulls most lets go first; three feet stay, or nothing stands.
        let carries = |foot: usize| response.support(standing.feet[foot].node).z;
        let pulls = (0..standing.feet.len()).filter(|&foot| !lifted.contains(&foot) && carries(foot) < -LIFTS);
        let most = pulls.min_by(|&a, &b| carries(a).total_cmp(&carries(b)));
        let Some(foot) = most.filter(|_| standing.feet.len() - lifted.len() > 3) else {
            lifted.sort_unstable();
            return case.answers(lifted);
        };
        let node = &mut standing.model.nodes[built.feet[foot].node];
        node.held = [false; 6];
        node.spring = [0.0; 6];
        lifted.push(foot);
    }
}

impl<'a> Case<'a> {
    fn new(duty: &'a Duty, built: &'a Built, stiff: &'a Stiff<'a>) -> Self {
        let shapes = stiff.loose_shapes();
        let moves = |node: usize| shapes.iter().any(|shape| shape.fixed_rows::<6>(6 * node).amax() > 1e-6);
        Self { duty, built, stiff, loose: (0..built.model.nodes.len()).map(moves).collect() }
    }

    /// A force at a point of a part, as the part's node feels it; nothing where the part isn't carried.
    fn on_part(&self, part: usize, at: Vec3, force: Vec3, moment: Vec3) -> Option<(usize, Vec3, Vec3)> {
        let node = self.node(part)?;
        Some((node, force, moment + (at - self.built.model.nodes[node].at).cross(&force)))
    }

    /// The node of a part that stands; a loose one gives no figures.
    fn node(&self, part: usize) -> Option<usize> {
        let node = self.built.parts.get(part).copied().flatten()?;
        (!self.loose[node]).then_some(node)
    }

    fn moved(&self, response: &Response, part: usize, at: Vec3) -> Option<Vec3> {
        let node = self.node(part)?;
        Some(response.shift(node) + response.turn(node).cross(&(at - self.built.model.nodes[node].at)))
    }

    /// Where the seat returns a push: on its own line, beside the back, since body and rig turn one another no more than
    /// weight does.
    fn against(&self, push: &Push) -> Vec3 {
        let way = unit_or(push.force, Vec3::x());
        push.at + way * (self.duty.back - push.at).dot(&way)
    }

    /// A push on a pedal, and the seat's answer.
    fn push(&self, push: &Push) -> Option<Loads> {
        let on_pedal = self.on_part(PEDALS, push.at, push.force, Vec3::zeros())?;
        let on_seat = self.on_part(SEAT, self.against(push), -push.force, Vec3::zeros());
        Some(Loads { nodes: [Some(on_pedal), on_seat].into_iter().flatten().collect(), ..Loads::default() })
    }

    /// Weight, hands on the rim and the brake, all but weight `times` over.
    fn hard(&self, times: f64) -> Loads {
        let mut nodes = Vec::new();
        if let Some(brake) = self.duty.brake() {
            let harder = Push { force: brake.force * times, ..*brake };
            nodes.extend(self.push(&harder).map(|loads| loads.nodes).unwrap_or_default());
        }
        let turn = self.duty.shaft * (self.duty.torque * times);
        nodes.extend(self.on_part(WHEEL, self.duty.wheel, Vec3::new(0.0, 0.0, -HANDS), turn));
        Loads { nodes, spread: Vec::new(), gravity: Some(DOWN) }
    }

    fn answers(&self, lifted: Vec<usize>) -> Answers {
        let duty = self.duty;
        let mut brake_alone = None;
        let mut seat = None;
        let mut pedals = Vec::new();
        for push in &duty.pushes {
            let Some(loads) = self.push(push) else { continue };
            let response = self.stiff.under(&loads);
            let way = unit_or(push.force, Vec3::x());
            let Some(face) = self.moved(&response, PEDALS, push.at) else { continue };
            let against = self.against(push);
            let back = self.moved(&response, SEAT, against).unwrap_or_else(Vec3::zeros);
            let givers = self.givers(&response);
            pedals.push((push.kind, Give { value: (face - back).dot(&way), at: push.at, givers: givers.clone() }));
            if push.kind == PedalKind::Brake {
                brake_alone = Some(face.dot(&way));
                seat = self.node(SEAT).map(|_| Give { value: -back.dot(&way), at: against, givers });
            }
        }
        let wheel_turn = self.on_part(WHEEL, duty.wheel, Vec3::zeros(), duty.shaft * duty.torque).map(|load| {
            let response = self.stiff.under(&Loads { nodes: vec![load], ..Loads::default() });
            let value = response.turn(load.0).dot(&duty.shaft);
            Give { value, at: duty.wheel, givers: self.givers(&response) }
        });
        let pulls = [-duty.shaft, -Vec3::z()].map(|way| {
            let load = self.on_part(WHEEL, duty.wheel, way * duty.pull, Vec3::zeros())?;
            let response = self.stiff.under(&Loads { nodes: vec![load], ..Loads::default() });
            let value = self.moved(&response, WHEEL, duty.wheel)?.dot(&way);
            Some(Give { value, at: duty.wheel, givers: self.givers(&response) })
        });
        let wheel = pulls.into_iter().flatten().max_by(|a, b| a.value.total_cmp(&b.value));
        let hard = self.stiff.under(&self.hard(SPIKE));
        let swing = self.stiff.first_frequency().map(|(frequency, shape)| {
            let size = |node: usize| shape.fixed_rows::<3>(6 * node).norm();
            let most = (0..self.built.node_rail.len()).max_by(|&a, &b| {
                let of = |node: usize| if self.built.node_rail[node].is_some() { size(node) } else { -1.0 };
                of(a).total_cmp(&of(b))
            });
            (frequency, most.and_then(|node| self.built.node_rail[node]))
        });
        let working = self.stiff.under(&self.hard(1.0));
        Answers {
            lifted,
            feet: self.built.feet.iter().map(|foot| working.support(foot.node).z).collect(),
            pedals,
            brake_alone,
            seat,
            wheel_turn,
            wheel,
            stress: self.stress(&hard),
            joint: self.joint(&hard),
            swing,
            moved: (0..self.built.model.nodes.len()).map(|node| working.shift(node)).collect(),
        }
    }

    /// What takes up the energy of a response to forces at nodes.
    fn givers(&self, response: &Response) -> Vec<(Giver, f64)> {
        let mut by_rail = vec![super::Energy::default(); self.duty.rails.len()];
        for (energy, &rail) in self.stiff.energies(response).iter().zip(&self.built.member_rail) {
            by_rail[rail].bending += energy.bending;
            by_rail[rail].twist += energy.twist;
            by_rail[rail].stretch += energy.stretch;
        }
        let rails = by_rail.iter().enumerate().flat_map(|(rail, energy)| {
            [
                (Giver::Bending(rail), energy.bending),
                (Giver::Twist(rail), energy.twist),
                (Giver::Stretch(rail), energy.stretch),
            ]
        });
        let joints = self.stiff.joint_energies(response).into_iter().enumerate();
        let mut all: Vec<(Giver, f64)> = rails.chain(joints.map(|(joint, work)| (Giver::Joint(joint), work))).collect();
        let feet = self.built.feet.iter().map(|foot| {
            let (moved, node) = (response.shift(foot.node), &self.built.model.nodes[foot.node]);
            (0..3).map(|i| 0.5 * node.spring[i] * moved[i] * moved[i]).sum::<f64>()
        });
        all.push((Giver::Feet, feet.sum()));
        let sum: f64 = all.iter().map(|(_, work)| work).sum();
        if sum > 0.0 {
            for (_, work) in &mut all {
                *work /= sum;
            }
        }
        all.sort_by(|a, b| b.1.total_cmp(&a.1));
        all.retain(|(_, share)| *share > 0.005);
        all
    }

    /// The greatest equivalent stress (von Mises) at an end of a member, over yield: normal force, both bendings at the
    /// section's corner, and the twist of its walls, T t/J with the lip's thickness t.
    fn stress(&self, response: &Response) -> Option<Worst> {
        let mut worst: Option<Worst> = None;
        for (member, (ends, own)) in response.ends.iter().zip(&self.built.model.members).enumerate() {
            if own.ends.iter().any(|&node| self.loose[node]) {
                continue;
            }
            let rail = self.built.member_rail[member];
            let section = &self.built.bars[rail].section;
            for end in 0..2 {
                let f = |i: usize| ends[6 * end + i].abs();
                let normal =
                    f(0) / own.section.area + f(5) / (section.w_strong_mm3 * 1e-9) + f(4) / (section.w_weak_mm3 * 1e-9);
                let shear = f(3) * section.lip_mm * 1e-3 / own.section.j;
                let value = normal.hypot(3.0_f64.sqrt() * shear);
                let share = value / own.material.yields;
                if worst.is_none_or(|worst| share > worst.share) {
                    let at = self.built.model.nodes[own.ends[end]].at;
                    worst = Some(Worst { share, index: rail, at, value });
                }
            }
        }
        worst
    }

    /// The joint between rails, or under a part, whose bolts are nearest to slipping.
    fn joint(&self, response: &Response) -> Option<Worst> {
        let mut worst: Option<Worst> = None;
        for (index, (found, &[force, moment])) in self.built.joints.iter().zip(&response.joints).enumerate() {
            if self.built.model.joints[index].nodes.iter().any(|&node| self.loose[node]) {
                continue;
            }
            let rail = match found.tie {
                Tie::Rails { guest, .. } => guest,
                Tie::Part { rail, .. } => rail,
            };
            let holds = slip::holds(&found.tie, &self.built.bars[rail].section.bolt);
            let value = slip::asks(force, moment, found);
            let share = value / holds;
            if worst.is_none_or(|worst| share > worst.share) {
                worst = Some(Worst { share, index, at: found.at, value });
            }
        }
        worst
    }
}
