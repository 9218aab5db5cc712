//! A limb as a chain of joints, and the pose that brings its point nearest to another.
//!
//! An arm begins in the H-point: lean of the trunk, slide of the shoulder, three turns of the shoulder, elbow, forearm
//! and two turns of the wrist. A leg begins in the hip. Angles and their order are those of
//! [`crate::posture::forward_arm`] and [`crate::posture::forward_leg`].

use nalgebra::Matrix3;

use super::zone::{Angles, Footing, Grip, Limb, MOST, p_HG};
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
    axis: usize,
    sign: f64,
    slides: bool,
    then: Vec3,
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
    /// Axis of each joint, W, with its sign.
    axes: [Vec3; MOST],
    pub tip: Vec3,
    heel: f64,
}

/// The pose nearest to a target.
#[derive(Clone, Debug)]
pub(super) struct Nearest {
    pub angles: Angles,
    pub pose: Pose,
    /// What is missing, m; 0 where the target is reached.
    pub miss: f64,
}

/// A target nearer than this is reached, m.
pub(super) const REACHED: f64 = 2e-5;
/// Rows of what is asked: the point's place, and a fourth.
const ROWS: usize = 4;
type Rows = [f64; ROWS];

fn dot(a: &Rows, b: &Rows) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
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

    /// The limb's point in the frame of its last bone.
    pub const fn tip(&self) -> Vec3 {
        self.tip
    }

    /// Forward kinematics.
    pub fn pose(&self, angles: &Angles) -> Pose {
        let mut frame = self.base;
        let mut frames = [frame; MOST];
        let mut axes = [Vec3::zeros(); MOST];
        for i in 0..self.count {
            let Joint { axis, sign, slides, then } = self.joints[i];
            axes[i] = frame.axes[axis] * sign;
            if slides {
                frame.at += axes[i] * angles[i];
            } else {
                let (sin, cos) = sin_cos(sign * angles[i]);
                let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
                let (a, b) = (frame.axes[u], frame.axes[v]);
                frame.axes[u] = a * cos + b * sin;
                frame.axes[v] = b * cos - a * sin;
            }
            frames[i] = frame;
            frame.at += frame.turn(then);
        }
        let last = &frames[self.count - 1];
        let heel = self.heel.map_or(0.0, |(local, normal, height)| normal.dot(&last.out(local)) - height);
        Pose { tip: last.out(self.tip), heel, frames, axes }
    }

    /// How a point of the frame behind joint `bone` moves with each joint.
    pub fn rates(&self, pose: &Pose, bone: usize, point: Vec3) -> [Vec3; MOST] {
        let mut out = [Vec3::zeros(); MOST];
        for (i, out) in out.iter_mut().enumerate().take(bone + 1) {
            *out = if self.joints[i].slides { pose.axes[i] } else { pose.axes[i].cross(&(point - pose.frames[i].at)) };
        }
        out
    }

    /// Rows of what is asked of each joint, and what is missing of it.
    fn asked(&self, pose: &Pose, target: Vec3) -> ([Rows; MOST], Rows) {
        let last = self.count - 1;
        let off = target - pose.tip;
        let rates = self.rates(pose, last, pose.tip);
        let mut rows = [[0.0; ROWS]; MOST];
        for i in 0..self.count {
            rows[i] = [rates[i].x, rates[i].y, rates[i].z, 0.0];
        }
        if let Some((local, normal, _)) = self.heel {
            let heel = self.rates(pose, last, pose.frames[last].out(local));
            for i in 0..self.count {
                rows[i][3] = normal.dot(&heel[i]);
            }
        }
        (rows, [off.x, off.y, off.z, -pose.heel])
    }

    /// The pose inside `ranges` that brings the point nearest to `target`, followed from `start`.
    ///
    /// Damped Gauss–Newton on the distance; a joint that would leave its range stays at its end and the others take over.
    /// The nearest that can be followed, not always the nearest of all: callers begin from several poses.
    pub fn nearest(&self, ranges: &[Range; MOST], start: &Angles, target: Vec3) -> Nearest {
        let mut angles: Angles = std::array::from_fn(|i| ranges[i].clamp(start[i]));
        let mut pose = self.pose(&angles);
        let (mut rows, mut off) = self.asked(&pose, target);
        let mut squared = dot(&off, &off);
        let mut damping = 1e-4;
        let mut slow = 0;
        for _ in 0..60 {
            if squared < REACHED * REACHED {
                return Nearest { angles, pose, miss: 0.0 };
            }
            // What is far off bends the path towards it as much as the slope: without it a step swings past.
            let step = self.step(ranges, &angles, &rows, off, damping + 0.1 * squared, self.heel.is_some());
            let tried: Angles = std::array::from_fn(|i| ranges[i].clamp(angles[i] + step[i]));
            let next = self.pose(&tried);
            let (next_rows, next_off) = self.asked(&next, target);
            let next_squared = dot(&next_off, &next_off);
            if next_squared < squared {
                let gained = squared.sqrt() - next_squared.sqrt();
                (angles, pose, rows, off, squared) = (tried, next, next_rows, next_off, next_squared);
                damping = (damping * 0.25).max(1e-9);
                // Not reached, it comes nearer by ever less: what is left after two short steps is far less than they were.
                slow = if gained < 0.02 * squared.sqrt() { slow + 1 } else { 0 };
                if slow >= 2 || gained < 1e-5 {
                    break;
                }
            } else {
                damping *= 8.0;
                if damping > 1.0 {
                    break;
                }
            }
        }
        Nearest { angles, pose, miss: if squared < REACHED * REACHED { 0.0 } else { squared.sqrt() } }
    }

    /// The smallest change of the joints that gives `wanted` in all rows, inside the ranges.
    fn step(
        &self,
        ranges: &[Range; MOST],
        angles: &Angles,
        rows: &[Rows; MOST],
        wanted: Rows,
        damping: f64,
        fourth: bool,
    ) -> Angles {
        const LONGEST: f64 = 0.7;
        let mut step = [0.0; MOST];
        let mut rest = wanted;
        // The joints that are free to move that way.
        let mut free = [0; MOST];
        let mut count = 0;
        for i in 0..self.count {
            let pull = dot(&rows[i], &wanted);
            let range = &ranges[i];
            let stopped = (angles[i] <= range.low && pull <= 0.0) || (angles[i] >= range.high && pull >= 0.0);
            if !stopped && range.low < range.high {
                free[count] = i;
                count += 1;
            }
        }
        for _ in 0..4 {
            let share = if fourth {
                share::<4>(rows, &free[..count], &rest, damping)
            } else {
                share::<3>(rows, &free[..count], &rest, damping)
            };
            let mut kept = 0;
            for at in 0..count {
                let i = free[at];
                let way = dot(&rows[i], &share).clamp(-LONGEST, LONGEST);
                let (low, high) = (ranges[i].low - angles[i], ranges[i].high - angles[i]);
                if way < low || way > high {
                    step[i] = way.clamp(low, high);
                    for (rest, row) in rest.iter_mut().zip(rows[i]) {
                        *rest -= row * step[i];
                    }
                } else {
                    step[i] = way;
                    free[kept] = i;
                    kept += 1;
                }
            }
            if kept == count {
                break;
            }
            count = kept;
        }
        step
    }

    /// A pose with the point where it is and a place on the limb moved by `gain` (m) along `way`: the point's rows
    /// first, then the place's. Returns the angles, or `None` where the joints give nothing.
    pub fn aside(
        &self,
        ranges: &[Range; MOST],
        angles: &Angles,
        pose: &Pose,
        (bone, place, way): (usize, Vec3, Vec3),
        gain: f64,
    ) -> Angles {
        let tip = self.rates(pose, self.count - 1, pose.tip);
        let rates = self.rates(pose, bone, place);
        let mut rows = [[0.0; ROWS]; MOST];
        for i in 0..self.count {
            rows[i] = [tip[i].x, tip[i].y, tip[i].z, way.dot(&rates[i])];
        }
        let step = self.step(ranges, angles, &rows, [0.0, 0.0, 0.0, gain], 1e-5, true);
        std::array::from_fn(|i| ranges[i].clamp(angles[i] + step[i].clamp(-0.25, 0.25)))
    }
}

/// What each row gets of `wanted`: (J Jᵀ + damping)⁻¹ wanted over the first `N` rows of the free joints, by Cholesky.
#[expect(clippy::needless_range_loop, reason = "rows and columns of a triangle")]
#[inline]
fn share<const N: usize>(rows: &[Rows; MOST], free: &[usize], wanted: &Rows, damping: f64) -> Rows {
    let mut a = [[0.0; N]; N];
    for &i in free {
        let row = &rows[i];
        for i in 0..N {
            for j in 0..=i {
                a[i][j] += row[i] * row[j];
            }
        }
    }
    let mut b = [0.0; N];
    let mut per = [0.0; N];
    for i in 0..N {
        a[i][i] += damping;
        for j in 0..=i {
            let mut sum = a[i][j];
            for k in 0..j {
                sum -= a[i][k] * a[j][k];
            }
            if i == j {
                per[i] = 1.0 / sum.max(1e-18).sqrt();
            } else {
                a[i][j] = sum * per[j];
            }
        }
        let mut sum = wanted[i];
        for k in 0..i {
            sum -= a[i][k] * b[k];
        }
        b[i] = sum * per[i];
    }
    let mut out = [0.0; ROWS];
    for i in (0..N).rev() {
        let mut sum = b[i];
        for k in i + 1..N {
            sum -= a[k][i] * out[k];
        }
        out[i] = sum * per[i];
    }
    out
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
        const BASES: [u32; MOST] = [2, 3, 5, 7, 11, 13, 17, 19, 23];
        let pose = |index: u32| {
            let angles: Angles = std::array::from_fn(|i| {
                // The joints that carry the limb far take the sequences that fill best.
                let base = BASES[(i + MOST - chain.bones[0] + 2) % MOST];
                let share = if i < chain.count { spread(index + 1, base) } else { 0.0 };
                // Every other pose has joints at their ends, where limbs go furthest.
                let share = if index % 2 == 1 { (0.5 + 1.7 * (share - 0.5)).clamp(0.0, 1.0) } else { share };
                ranges[i].low + (ranges[i].high - ranges[i].low) * share
            });
            // With the heel down: the nearest pose that has it there.
            let tip = chain.pose(&angles).tip;
            if chain.heel.is_none() {
                return (tip, angles);
            }
            let found = chain.nearest(ranges, &angles, tip);
            (found.pose.tip, found.angles)
        };
        Self { poses: (0..count).map(pose).collect() }
    }

    /// All of them: point and pose.
    pub fn all(&self) -> &[(Vec3, Angles)] {
        &self.poses
    }

    /// The `N` poses whose points lie nearest.
    pub fn near<const N: usize>(&self, point: Vec3) -> [&Angles; N] {
        // By turns of those with joints anywhere and of those with joints at their ends.
        let mut best = [[(f64::INFINITY, 0); N]; 2];
        for (at, (tip, _)) in self.poses.iter().enumerate() {
            let best = &mut best[at % 2];
            let off = (tip - point).norm_squared();
            if off < best[N - 1].0 {
                let place = best.iter().position(|&(other, _)| off < other).unwrap_or(N - 1);
                best[place..].rotate_right(1);
                best[place] = (off, at);
            }
        }
        std::array::from_fn(|i| &self.poses[best[i % 2][i / 2].1].1)
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

    /// Central differences of the point over each joint, leaning and sliding included.
    #[test]
    fn rates_are_those_of_the_point() {
        const H: f64 = 1e-6;
        let (body, sitting, rig) = demo();
        let chain = Chain::of(&body, &sitting, &rig, Limb::Hand(Side::Right, Grip::Fingertip));
        let angles = [0.1, 0.03, 0.4, 0.3, 0.2, 0.9, -0.3, 0.2, 0.1];
        let pose = chain.pose(&angles);
        let rates = chain.rates(&pose, 8, pose.tip);
        for i in 0..MOST {
            let (mut more, mut less) = (angles, angles);
            more[i] += H;
            less[i] -= H;
            let rate = (chain.pose(&more).tip - chain.pose(&less).tip) / (2.0 * H);
            assert!((rates[i] - rate).norm() < 1e-8, "{i}");
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
                let lost = others.all()[1024..]
                    .iter()
                    .filter(|(point, _)| {
                        let starts: [&Angles; 8] = seeds.near(*point);
                        starts.into_iter().all(|start| chain.nearest(&ranges, start, *point).miss > 1e-4)
                    })
                    .count();
                // A corner between several ends of joints may need another start.
                assert!(lost <= 2, "{limb:?} {zone:?}: {lost} of 2976");
            }
        }
    }
}
