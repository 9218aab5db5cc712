//! A limb as a chain of joints, and the pose that brings its point nearest to another.
//!
//! An arm begins in the H-point: lean of the trunk, slide of the shoulder, three turns of the shoulder, elbow, forearm
//! and two turns of the wrist. A leg begins in the hip. Angles and their order are those of
//! [`crate::posture::forward_arm`] and [`crate::posture::forward_leg`].

use nalgebra::Matrix3;
use wide::f32x4;

use super::{
    lanes::{Lanes, Task, few, full},
    zone::{Angles, Footing, Grip, Limb, MOST, p_HG},
};
use crate::{
    body::{Body, Range},
    geometry::{Side, Vec3},
    posture::Sitting,
    rig::Rig,
    units::mm,
};

/// A joint about or along an axis of the frame before it, and the way to the next one in the frame behind it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Joint {
    pub axis: usize,
    pub sign: f64,
    pub slides: bool,
    pub then: Vec3,
}

impl Joint {
    /// Turns a frame about the joint, or slides it along.
    fn turn(&self, frame: &mut Frame, by: f64) {
        let Self { axis, sign, slides, .. } = *self;
        if slides {
            frame.at += frame.axes[axis] * sign * by;
            return;
        }
        let (sin, cos) = sin_cos(sign * by);
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        let (a, b) = (frame.axes[u], frame.axes[v]);
        frame.axes[u] = a * cos + b * sin;
        frame.axes[v] = b * cos - a * sin;
    }
}

/// Axes and origin of a joint's frame, W.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub axes: [Vec3; 3],
    pub at: Vec3,
}

impl Frame {
    pub fn out(&self, local: Vec3) -> Vec3 {
        self.at + self.turn(local)
    }

    pub fn turn(&self, v: Vec3) -> Vec3 {
        self.axes[0] * v.x + self.axes[1] * v.y + self.axes[2] * v.z
    }

    /// A point of W seen from the frame.
    pub fn seen(&self, point: Vec3) -> Vec3 {
        let off = point - self.at;
        Vec3::new(self.axes[0].dot(&off), self.axes[1].dot(&off), self.axes[2].dot(&off))
    }
}

/// The chain of a limb.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    joints: [Joint; MOST],
    count: usize,
    base: Frame,
    /// The limb's point in the last frame.
    tip: Vec3,
    /// The heel in the last frame and the plane it stays on: its normal and its height along that, W.
    heel: Option<(Vec3, Vec3, f64)>,
    /// Joints whose frames upper bone, lower bone and hand or foot have.
    pub bones: [usize; 3],
}

/// The chain in one pose.
#[derive(Clone, Debug)]
pub(super) struct Pose {
    /// Frame behind each joint, its origin in the joint.
    pub frames: [Frame; MOST],
    pub tip: Vec3,
}

const fn joint(axis: usize, sign: f64, then: Vec3) -> Joint {
    Joint { axis, sign, slides: false, then }
}

fn columns(m: &Matrix3<f64>) -> [Vec3; 3] {
    [m.column(0).into(), m.column(1).into(), m.column(2).into()]
}

impl Chain {
    /// The chain of a limb of a seated body; `rig` says where heels rest.
    pub fn of(body: &Body, sitting: &Sitting, rig: &Rig, limb: Limb) -> Self {
        match limb {
            Limb::Hand(side, grip) => Self::arm(body, sitting, side, grip),
            Limb::Foot(side, footing) => Self::leg(body, sitting, rig, side, footing),
        }
    }

    /// The chain of an arm.
    pub fn arm(body: &Body, sitting: &Sitting, side: Side, grip: Grip) -> Self {
        let (bones, s, none) = (&body.skeleton, side.sign(), Vec3::zeros());
        let turn = sitting.thorax.rotation;
        let shoulder = turn.inverse() * (sitting.shoulders[side.index()] - sitting.h_point);
        Self {
            joints: [
                joint(1, 1.0, shoulder),
                Joint { axis: 0, sign: 1.0, slides: true, then: none },
                joint(1, -1.0, none),
                joint(0, s, none),
                joint(2, -s, Vec3::new(0.0, 0.0, -bones.upper_arm)),
                joint(1, -1.0, Vec3::new(0.0, 0.0, -bones.forearm)),
                joint(2, -s, none),
                joint(0, -s, none),
                joint(1, -1.0, none),
            ],
            count: 9,
            base: Frame { axes: columns(&turn.to_rotation_matrix().into_inner()), at: sitting.h_point },
            tip: p_HG(body, side, grip),
            heel: None,
            bones: [4, 5, 8],
        }
    }

    fn leg(body: &Body, sitting: &Sitting, rig: &Rig, side: Side, footing: Footing) -> Self {
        let (bones, s, none) = (&body.skeleton, side.sign(), Vec3::zeros());
        let p_FH = Vec3::new(-bones.heel_to_ankle, 0.0, -bones.ankle_height);
        let unused = joint(0, 1.0, none);
        let heel = (footing == Footing::HeelDown).then(|| {
            let normal = rig.pedals.X_WP.rotation * Vec3::z();
            (p_FH, normal, normal.dot(&rig.pedals.X_WP.translation.vector) + rig.pedals.heel_rest)
        });
        Self {
            joints: [
                joint(1, -1.0, none),
                joint(0, s, none),
                joint(2, -s, Vec3::new(0.0, 0.0, -bones.thigh)),
                joint(1, 1.0, Vec3::new(0.0, 0.0, -bones.shank)),
                joint(1, -1.0, none),
                joint(0, -s, none),
                joint(2, s, none),
                unused,
                unused,
            ],
            count: 7,
            base: Frame {
                axes: columns(&sitting.pelvis.rotation.to_rotation_matrix().into_inner()),
                at: sitting.hips[side.index()],
            },
            tip: p_FH + Vec3::new(bones.heel_to_ball, 0.0, 0.0),
            heel,
            bones: [2, 3, 6],
        }
    }

    /// Two links without a hand: a ball joint, then a hinge; for checks in closed form.
    #[cfg(test)]
    pub fn two_links(first: f64, second: f64) -> Self {
        let none = Vec3::zeros();
        let unused = joint(0, 1.0, none);
        Self {
            joints: [
                joint(1, -1.0, none),
                joint(0, 1.0, none),
                joint(2, -1.0, Vec3::new(0.0, 0.0, -first)),
                joint(1, -1.0, none),
                unused,
                unused,
                unused,
                unused,
                unused,
            ],
            count: 4,
            base: Frame { axes: columns(&Matrix3::identity()), at: none },
            tip: Vec3::new(0.0, 0.0, -second),
            heel: None,
            bones: [2, 3, 3],
        }
    }

    /// A ball that holds all that the limb's point can come to, its trunk leaning up to `lean` (rad) and its shoulder
    /// sliding up to `slide` (m): middle, W, and radius.
    pub fn extent(&self, lean: f64, slide: f64) -> (Vec3, f64) {
        let links: f64 = self.joints[1..self.count].iter().map(|joint| joint.then.norm()).sum();
        let first = self.joints[0].then;
        let turned = lean.min(std::f64::consts::PI) * first.norm();
        (self.base.out(first), links + self.tip.norm() + turned + slide + mm(20.0))
    }

    /// Its joints, the unused ones of a shorter limb included.
    pub const fn joints(&self) -> &[Joint; MOST] {
        &self.joints
    }

    /// How many of them it has.
    pub const fn count(&self) -> usize {
        self.count
    }

    /// The frame before the first joint, W.
    pub const fn base(&self) -> &Frame {
        &self.base
    }

    /// The heel in the last frame and the plane it stays on: its normal and its height along that, W.
    pub const fn heel(&self) -> Option<(Vec3, Vec3, f64)> {
        self.heel
    }

    /// The limb's point in the frame of its last bone.
    pub const fn tip(&self) -> Vec3 {
        self.tip
    }

    /// The frame behind the first joint, an arm's trunk, leaning by an angle (rad).
    pub fn trunk(&self, lean: f64) -> Frame {
        let mut frame = self.base;
        self.joints[0].turn(&mut frame, lean);
        frame
    }

    /// The frame before joint number `first`, with the angles of those before it.
    pub fn before(&self, first: usize, angles: &Angles) -> Frame {
        let mut frame = self.base;
        for (joint, angle) in self.joints[..first].iter().zip(angles) {
            joint.turn(&mut frame, *angle);
            frame.at += frame.turn(joint.then);
        }
        frame
    }

    /// Forward kinematics.
    pub fn pose(&self, angles: &Angles) -> Pose {
        let mut frame = self.base;
        let mut frames = [frame; MOST];
        for i in 0..self.count {
            self.joints[i].turn(&mut frame, angles[i]);
            frames[i] = frame;
            frame.at += frame.turn(self.joints[i].then);
        }
        Pose { tip: frames[self.count - 1].out(self.tip), frames }
    }
}

/// Sine and cosine for |x| ≤ 4 to 1e-10: halved into the octant, then Taylor's rows, then doubled twice.
#[inline]
fn sin_cos(x: f64) -> (f64, f64) {
    let t = 0.25 * x;
    let t2 = t * t;
    let sin = t
        * (1.0
            + t2 * (-1.0 / 6.0
                + t2 * (1.0 / 120.0
                    + t2 * (-1.0 / 5040.0
                        + t2 * (1.0 / 362_880.0 + t2 * (-1.0 / 39_916_800.0 + t2 / 6_227_020_800.0))))));
    // Cosine less one keeps its digits.
    let versed = t2
        * (-0.5
            + t2 * (1.0 / 24.0
                + t2 * (-1.0 / 720.0
                    + t2 * (1.0 / 40_320.0
                        + t2 * (-1.0 / 3_628_800.0 + t2 * (1.0 / 479_001_600.0 - t2 / 87_178_291_200.0))))));
    let cos = 1.0 + versed;
    let (sin, cos) = (2.0 * sin * cos, 1.0 - 2.0 * sin * sin);
    (2.0 * sin * cos, 1.0 - 2.0 * sin * sin)
}

/// Poses spread over the ranges, to begin from where no neighbour is known.
#[derive(Clone, Debug)]
pub(super) struct Seeds {
    poses: Vec<(Vec3, Angles)>,
    /// Their points once more, four together.
    tips: Vec<[f32x4; 3]>,
}

/// The `index`-th number of the van der Corput sequence to a base.
fn spread(mut index: u32, base: u32) -> f64 {
    let (mut out, mut digit) = (0.0, 1.0 / f64::from(base));
    while index > 0 {
        out += f64::from(index % base) * digit;
        index /= base;
        digit /= f64::from(base);
    }
    out
}

impl Seeds {
    /// `count` poses by Halton's sequence.
    pub fn over(chain: &Chain, ranges: &[Range; MOST], count: u32) -> Self {
        let lanes = Lanes::of(chain, ranges);
        const BASES: [u32; MOST] = [2, 3, 5, 7, 11, 13, 17, 19, 23];
        let pose = |index: u32| -> (Vec3, Angles) {
            let angles: Angles = std::array::from_fn(|i| {
                // The joints that carry the limb far take the sequences that fill best.
                let base = BASES[(i + MOST - chain.bones[0] + 2) % MOST];
                let share = if i < chain.count { spread(index + 1, base) } else { 0.0 };
                // Every other pose has joints at their ends, where limbs go furthest.
                let share = if index % 2 == 1 { (0.5 + 1.7 * (share - 0.5)).clamp(0.0, 1.0) } else { share };
                ranges[i].low + (ranges[i].high - ranges[i].low) * share
            });
            (chain.pose(&angles).tip, angles)
        };
        let mut poses: Vec<(Vec3, Angles)> = (0..count).map(pose).collect();
        if chain.heel.is_some() {
            // With the heel down: the nearest pose that has it there.
            let tasks: Vec<Task> =
                poses.iter().map(|(tip, angles)| Task { start: few(angles), target: *tip }).collect();
            poses = lanes
                .nearest(&tasks)
                .iter()
                .map(|found| full(&found.angles))
                .map(|a| (chain.pose(&a).tip, a))
                .collect();
        }
        let tips = poses
            .chunks(4)
            .map(|four| {
                // What fills up the last ones lies far from everything.
                let of = |lane: usize, axis: usize| four.get(lane).map_or(f32::INFINITY, |(tip, _)| tip[axis] as f32);
                std::array::from_fn(|axis| f32x4::new(std::array::from_fn(|lane| of(lane, axis))))
            })
            .collect();
        Self { poses, tips }
    }

    /// All of them: point and pose.
    pub fn all(&self) -> &[(Vec3, Angles)] {
        &self.poses
    }

    /// One of them.
    pub fn pose(&self, at: u16) -> &Angles {
        &self.poses[usize::from(at)].1
    }

    /// The `N` poses whose points lie nearest.
    pub fn near<const N: usize>(&self, point: Vec3) -> [u16; N] {
        // By turns of those with joints anywhere and of those with joints at their ends.
        let mut best = [[(f32::INFINITY, 0); N]; 2];
        let point = [point.x as f32, point.y as f32, point.z as f32].map(f32x4::splat);
        for (four, tips) in self.tips.iter().enumerate() {
            let [x, y, z]: [f32x4; 3] = std::array::from_fn(|i| tips[i] - point[i]);
            let off = x * x + y * y + z * z;
            let (even, odd) = (best[0][N - 1].0, best[1][N - 1].0);
            if !off.simd_lt(f32x4::new([even, odd, even, odd])).any() {
                continue;
            }
            for (lane, off) in off.to_array().into_iter().enumerate() {
                let best = &mut best[lane % 2];
                if off < best[N - 1].0 {
                    let place = best.iter().position(|&(other, _)| off < other).unwrap_or(N - 1);
                    best[place..].rotate_right(1);
                    best[place] = (off, 4 * four + lane);
                }
            }
        }
        std::array::from_fn(|i| best[i % 2][i / 2].1 as u16)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        posture::{forward_arm, forward_leg, sit},
        project::parse,
        reach::zone::{arm_ranges, leg_ranges},
        units::deg,
    };

    fn demo() -> (Body, Sitting, Rig) {
        let project = parse(include_str!("../../assets/closed_car.ron")).unwrap();
        let (body, rig) = (Body::of(&project.driver), Rig::place(&project));
        let sitting = sit(&body, &rig);
        (body, sitting, rig)
    }

    /// The chains are the limbs of the posture: the same joints in the same places.
    #[test]
    fn chains_stand_where_forward_kinematics_puts_the_limbs() {
        let (body, sitting, rig) = demo();
        let angles = [0.4, 0.3, 0.2, 0.9, -0.3, 0.2, 0.1];
        for side in Side::BOTH {
            let chain = Chain::of(&body, &sitting, &rig, Limb::Hand(side, Grip::Full));
            let mut all = [0.0; MOST];
            all[2..].copy_from_slice(&angles);
            let pose = chain.pose(&all);
            let axes = sitting.thorax.rotation.to_rotation_matrix().into_inner();
            let joints = forward_arm(&body.skeleton, side, &axes, sitting.shoulders[side.index()], &angles);
            for ((at, turn), bone) in joints.into_iter().zip(chain.bones) {
                assert!((pose.frames[bone].at - at).norm() < 1e-9);
                assert!((pose.frames[bone].axes[0] - turn.column(0)).norm() < 1e-9);
            }
            let chain = Chain::of(&body, &sitting, &rig, Limb::Foot(side, Footing::Free));
            all[..7].copy_from_slice(&angles);
            let pose = chain.pose(&all);
            let axes = sitting.pelvis.rotation.to_rotation_matrix().into_inner();
            let joints = forward_leg(&body.skeleton, side, &axes, sitting.hips[side.index()], &angles);
            for ((at, turn), bone) in joints.into_iter().zip(chain.bones) {
                assert!((pose.frames[bone].at - at).norm() < 1e-9);
                assert!((pose.frames[bone].axes[0] - turn.column(0)).norm() < 1e-9);
            }
        }
    }

    #[test]
    fn sines_are_right_to_1e_10() {
        for step in -4000..=4000 {
            let x = f64::from(step) * 1e-3;
            let (sin, cos) = sin_cos(x);
            assert!((sin - x.sin()).abs() < 1e-10 && (cos - x.cos()).abs() < 1e-10, "{x}");
        }
    }

    /// Every point that forward kinematics makes is found again from a neighbouring seed.
    #[test]
    fn a_point_made_by_a_pose_is_reached() {
        let (body, sitting, rig) = demo();
        for limb in [Limb::Hand(Side::Left, Grip::Full), Limb::Foot(Side::Right, Footing::Free)] {
            for zone in limb.zones() {
                let chain = Chain::of(&body, &sitting, &rig, limb);
                let ranges = match limb {
                    Limb::Hand(..) => arm_ranges(&body, *zone, deg(20.0)),
                    Limb::Foot(..) => leg_ranges(&body.limits, *zone),
                };
                let (seeds, others) = (Seeds::over(&chain, &ranges, 1024), Seeds::over(&chain, &ranges, 4000));
                let lanes = Lanes::of(&chain, &ranges);
                let lost = others.all()[1024..]
                    .iter()
                    .filter(|(target, _)| {
                        let starts: [u16; 8] = seeds.near(*target);
                        let tasks = starts.map(|start| Task { start: few(seeds.pose(start)), target: *target });
                        lanes.nearest(&tasks).iter().all(|nearest| nearest.miss > 1e-4)
                    })
                    .count();
                // A corner between several ends of joints may need another start.
                assert!(lost <= 2, "{limb:?} {zone:?}: {lost} of 2976");
            }
        }
    }
}
