//! A frame as nodes, beams, joints and supports, whatever it was made from.

use nalgebra::{DVector, Matrix3, Matrix6};

use super::{
    beam::{self, Mat12, Material, Section, Vec12},
    factor::{Blocks, Factor},
};
use crate::geometry::Vec3;

/// A place where beams and joints meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Node {
    /// Where, W.
    pub at: Vec3,
    /// Movements that the support holds: ux, uy, uz, rx, ry, rz in W.
    pub held: [bool; 6],
    /// Springs to the ground, N/m and N·m/rad, in the same order.
    pub spring: [f64; 6],
    /// Lumped mass, kg.
    pub mass: f64,
}

impl Node {
    /// A node that nothing holds.
    pub const fn free(at: Vec3) -> Self {
        Self { at, held: [false; 6], spring: [0.0; 6], mass: 0.0 }
    }
}

/// A beam between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Member {
    /// Its two nodes.
    pub ends: [usize; 2],
    /// Its section.
    pub section: Section,
    /// What it is made of.
    pub material: Material,
    /// The way in which it is strong, W; only the part across the beam counts.
    pub strong: Vec3,
}

/// A flexible joint: two nodes, each rigidly tied to one place, with springs between the two there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Its two nodes.
    pub nodes: [usize; 2],
    /// Where they meet, W.
    pub at: Vec3,
    /// The springs' axes, as rows.
    pub axes: Matrix3<f64>,
    /// Against moving apart along each axis, N/m.
    pub push: [f64; 3],
    /// Against turning about each axis, N·m/rad.
    pub turn: [f64; 3],
}

impl Joint {
    /// Springs in W.
    fn world(&self) -> [Matrix3<f64>; 2] {
        [self.push, self.turn]
            .map(|k| self.axes.transpose() * Matrix3::from_diagonal(&nalgebra::Vector3::from(k)) * self.axes)
    }

    /// How the places that the two nodes hold move apart, from one node's movements: rows u, θ.
    fn arm(&self, node: Vec3) -> Matrix6<f64> {
        let mut b = Matrix6::identity();
        b.fixed_view_mut::<3, 3>(0, 3).copy_from(&-(self.at - node).cross_matrix());
        b
    }
}

/// Forces on a frame, W.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Loads {
    /// At nodes: (node, force N, moment N·m).
    pub nodes: Vec<(usize, Vec3, Vec3)>,
    /// Spread along members: (member, N/m).
    pub spread: Vec<(usize, Vec3)>,
    /// Free fall, m/s², on members and lumped masses; nothing where weight is left out.
    pub gravity: Option<Vec3>,
}

/// A frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Model {
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Beams.
    pub members: Vec<Member>,
    /// Joints.
    pub joints: Vec<Joint>,
}

/// The parts of the energy that bending a frame takes, J.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Energy {
    /// In bending and shear.
    pub bending: f64,
    /// In twist.
    pub twist: f64,
    /// In stretch.
    pub stretch: f64,
}

impl Energy {
    /// All of it.
    pub const fn sum(self) -> f64 {
        self.bending + self.twist + self.stretch
    }
}

/// How a frame answers loads.
#[derive(Clone, Debug, PartialEq)]
pub struct Response {
    /// Six movements a node, m and rad, W.
    pub moved: DVector<f64>,
    /// What the supports give, six numbers a node, N and N·m, W; nothing where nothing is held or sprung.
    pub reactions: DVector<f64>,
    /// The forces of the nodes on each member's ends, in its own axes: N, Vy, Vz, T, My, Mz at i, then at j.
    pub ends: Vec<Vec12>,
    /// The force and moment that each joint passes from its first node to its second, in the joint's axes.
    pub joints: Vec<[Vec3; 2]>,
}

impl Response {
    /// How a node moves, m.
    pub fn shift(&self, node: usize) -> Vec3 {
        self.moved.fixed_rows::<3>(6 * node).into_owned()
    }

    /// How a node turns, rad.
    pub fn turn(&self, node: usize) -> Vec3 {
        self.moved.fixed_rows::<3>(6 * node + 3).into_owned()
    }

    /// The force of a support on the frame, N.
    pub fn support(&self, node: usize) -> Vec3 {
        self.reactions.fixed_rows::<3>(6 * node).into_owned()
    }
}

/// A frame with its stiffness factored, ready for any loads.
#[derive(Clone, Debug)]
pub struct Stiff<'m> {
    model: &'m Model,
    factor: Factor,
    /// Per member: axes, length, own stiffness.
    beams: Vec<(Matrix3<f64>, f64, Mat12)>,
}

impl<'m> Stiff<'m> {
    /// Factors the stiffness of a frame. A member of no length is left out: it carries nothing.
    pub fn of(model: &'m Model) -> Self {
        let mut blocks = Blocks::new(model.nodes.len());
        let beams: Vec<_> = model
            .members
            .iter()
            .map(|member| {
                let [from, to] = member.ends.map(|node| model.nodes[node].at);
                let (axes, length) = (beam::axes(from, to, member.strong), (to - from).norm());
                let own = if length > 1e-9 {
                    beam::stiffness(&member.section, &member.material, length)
                } else {
                    Mat12::zeros()
                };
                let world = beam::in_world(&own, &axes);
                for (a, b) in [(0, 0), (1, 0), (1, 1)] {
                    let block = world.fixed_view::<6, 6>(6 * a, 6 * b).into_owned();
                    blocks.add(member.ends[a], member.ends[b], &block);
                }
                (axes, length, own)
            })
            .collect();
        for joint in &model.joints {
            let [push, turn] = joint.world();
            let mut springs = Matrix6::zeros();
            springs.fixed_view_mut::<3, 3>(0, 0).copy_from(&push);
            springs.fixed_view_mut::<3, 3>(3, 3).copy_from(&turn);
            let [first, second] = joint.nodes;
            let [a, b] = joint.nodes.map(|node| joint.arm(model.nodes[node].at));
            blocks.add(first, first, &(a.transpose() * springs * a));
            blocks.add(second, second, &(b.transpose() * springs * b));
            if first != second {
                blocks.add(second, first, &-(b.transpose() * springs * a));
            }
        }
        for (index, node) in model.nodes.iter().enumerate() {
            for direction in 0..6 {
                blocks.add_spring(index, direction, node.spring[direction]);
                if node.held[direction] {
                    blocks.hold(index, direction);
                }
            }
        }
        Self { model, factor: blocks.factor(), beams }
    }

    /// The shapes in which the frame moves without resistance; none for a sound frame.
    pub fn loose_shapes(&self) -> Vec<DVector<f64>> {
        self.factor.loose_shapes()
    }

    /// True where the frame can move without resistance.
    pub fn is_loose(&self) -> bool {
        self.factor.is_loose()
    }

    /// The answer to loads; what is loose stays at rest.
    pub fn under(&self, loads: &Loads) -> Response {
        let model = self.model;
        let mut applied = DVector::zeros(6 * model.nodes.len());
        for &(node, force, moment) in &loads.nodes {
            add(&mut applied, node, &force, &moment);
        }
        // What acts between the ends of a member, as forces on its ends in its own axes.
        let mut between = vec![Vec12::zeros(); model.members.len()];
        for &(member, w) in &loads.spread {
            let (axes, length, _) = &self.beams[member];
            between[member] += beam::uniform(axes * w, *length);
        }
        if let Some(gravity) = loads.gravity {
            for ((member, (axes, length, _)), own) in model.members.iter().zip(&self.beams).zip(&mut between) {
                let w = gravity * (member.material.density * member.section.area);
                *own += beam::uniform(axes * w, *length);
            }
            for (index, node) in model.nodes.iter().enumerate() {
                add(&mut applied, index, &(gravity * node.mass), &Vec3::zeros());
            }
        }
        for ((member, (axes, ..)), own) in model.members.iter().zip(&self.beams).zip(&between) {
            add_ends(&mut applied, member, &beam::from_beam(own, axes));
        }
        let mut free = applied.clone();
        for (index, node) in model.nodes.iter().enumerate() {
            for direction in (0..6).filter(|&direction| node.held[direction]) {
                free[6 * index + direction] = 0.0;
            }
        }
        let moved = self.factor.solve(&free);

        // Reactions: what the members and joints ask of a node less what is applied to it.
        let mut asked = -applied;
        let ends: Vec<Vec12> = model
            .members
            .iter()
            .zip(&self.beams)
            .zip(&between)
            .map(|((member, (axes, _, own)), load)| {
                let mut world = Vec12::zeros();
                for (end, &node) in member.ends.iter().enumerate() {
                    world.fixed_rows_mut::<6>(6 * end).copy_from(&moved.fixed_rows::<6>(6 * node));
                }
                let elastic = own * beam::to_beam(&world, axes);
                add_ends(&mut asked, member, &beam::from_beam(&elastic, axes));
                elastic - load
            })
            .collect();
        let joints = model
            .joints
            .iter()
            .map(|joint| {
                let [a, b] = joint.nodes.map(|node| joint.arm(model.nodes[node].at) * moved.fixed_rows::<6>(6 * node));
                let apart = a - b;
                let push = joint.axes * apart.fixed_rows::<3>(0);
                let turn = joint.axes * apart.fixed_rows::<3>(3);
                let force = push.component_mul(&Vec3::from(joint.push));
                let moment = turn.component_mul(&Vec3::from(joint.turn));
                let (world_force, world_moment) = (joint.axes.transpose() * force, joint.axes.transpose() * moment);
                for (node, sign) in joint.nodes.into_iter().zip([1.0, -1.0]) {
                    let arm = joint.at - model.nodes[node].at;
                    let moment = world_moment + arm.cross(&world_force);
                    add(&mut asked, node, &(world_force * sign), &(moment * sign));
                }
                [force, moment]
            })
            .collect();
        let mut reactions = DVector::zeros(asked.len());
        for (index, node) in model.nodes.iter().enumerate() {
            for direction in 0..6 {
                let at = 6 * index + direction;
                if node.held[direction] {
                    reactions[at] = asked[at];
                } else if node.spring[direction] > 0.0 {
                    reactions[at] = -node.spring[direction] * moved[at];
                }
            }
        }
        Response { moved, reactions, ends, joints }
    }

    /// The energy that each member takes up under a response to loads at nodes, J.
    pub fn energies(&self, response: &Response) -> Vec<Energy> {
        let work = |member: &Member, (axes, _, own): &(Matrix3<f64>, f64, Mat12)| {
            let mut world = Vec12::zeros();
            for (end, &node) in member.ends.iter().enumerate() {
                world.fixed_rows_mut::<6>(6 * end).copy_from(&response.moved.fixed_rows::<6>(6 * node));
            }
            let u = beam::to_beam(&world, axes);
            let f = own * u;
            let part = |dofs: &[usize]| dofs.iter().map(|&i| 0.5 * u[i] * f[i]).sum();
            Energy { bending: part(&[1, 2, 4, 5, 7, 8, 10, 11]), twist: part(&[3, 9]), stretch: part(&[0, 6]) }
        };
        self.model.members.iter().zip(&self.beams).map(|(member, beam)| work(member, beam)).collect()
    }

    /// The energy that each joint takes up, J.
    pub fn joint_energies(&self, response: &Response) -> Vec<f64> {
        let share = |value: f64, stiffness: f64| if stiffness > 0.0 { 0.5 * value * value / stiffness } else { 0.0 };
        let work = |(joint, [force, moment]): (&Joint, &[Vec3; 2])| {
            (0..3).map(|i| share(force[i], joint.push[i]) + share(moment[i], joint.turn[i])).sum()
        };
        self.model.joints.iter().zip(&response.joints).map(work).collect()
    }

    /// The first natural frequency, Hz, and its shape, the largest movement being 1 m or 1 rad; `None` for a loose
    /// frame or one without mass.
    ///
    /// Subspace iteration (Bathe, Finite Element Procedures, section 11.6) with consistent masses of the members.
    pub fn first_frequency(&self) -> Option<(f64, DVector<f64>)> {
        if self.is_loose() {
            return None;
        }
        super::frequency::first(self)
    }

    /// Mass times movements, held movements left out.
    pub(super) fn mass_times(&self, x: &DVector<f64>) -> DVector<f64> {
        let mut out = DVector::zeros(x.len());
        for (member, (axes, length, _)) in self.model.members.iter().zip(&self.beams) {
            let mut world = Vec12::zeros();
            for (end, &node) in member.ends.iter().enumerate() {
                world.fixed_rows_mut::<6>(6 * end).copy_from(&x.fixed_rows::<6>(6 * node));
            }
            let own = beam::mass(&member.section, &member.material, *length) * beam::to_beam(&world, axes);
            add_ends(&mut out, member, &beam::from_beam(&own, axes));
        }
        for (index, node) in self.model.nodes.iter().enumerate() {
            for direction in 0..6 {
                let at = 6 * index + direction;
                if direction < 3 {
                    out[at] += node.mass * x[at];
                }
                if node.held[direction] {
                    out[at] = 0.0;
                }
            }
        }
        out
    }

    /// Movements of the whole frame.
    pub(super) fn size(&self) -> usize {
        6 * self.model.nodes.len()
    }

    /// The movements under forces at nodes, six numbers a node.
    pub(super) fn solve(&self, b: &DVector<f64>) -> DVector<f64> {
        self.factor.solve(b)
    }
}

fn add(to: &mut DVector<f64>, node: usize, force: &Vec3, moment: &Vec3) {
    for i in 0..3 {
        to[6 * node + i] += force[i];
        to[6 * node + 3 + i] += moment[i];
    }
}

fn add_ends(to: &mut DVector<f64>, member: &Member, ends: &Vec12) {
    for (end, &node) in member.ends.iter().enumerate() {
        for i in 0..6 {
            to[6 * node + i] += ends[6 * end + i];
        }
    }
}
