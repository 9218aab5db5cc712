//! Many poses of one chain, four side by side: what brings its point nearest to another, and what steps aside.
//!
//! Single precision: at a metre it tells 0.1 µm apart, and a target counts as reached within 20 µm.

use wide::f32x4;

use super::{
    limb::{Chain, Joint},
    zone::{Angles, MOST},
};
use crate::{body::Range, geometry::Vec3};

/// One number of each of the poses side by side.
type Lane = f32x4;
/// Poses side by side.
const WIDE: usize = 4;
/// A vector of each.
type V = [Lane; 3];
/// Variables of a limb in single precision.
pub(super) type Few = [f32; MOST];
/// Rows of what is asked: the point's place, and a fourth.
const ROWS: usize = 4;
type Rows = [Lane; ROWS];

/// A target nearer than this is reached, m.
const REACHED: f32 = 2e-5;
/// Most steps to a target.
const STEPS: f32 = 60.0;
/// Farther than any target, squared, m²: before the first pose was looked at.
const BEFORE: f32 = 1e6;

/// In single precision.
pub(super) fn few(angles: &Angles) -> Few {
    angles.map(|x| x as f32)
}

/// In double precision.
pub(super) fn full(angles: &Few) -> Angles {
    angles.map(f64::from)
}

/// A chain with the ranges of a zone, made ready.
#[derive(Clone, Debug)]
pub(super) struct Lanes {
    joints: [Joint; MOST],
    count: usize,
    /// The first joint that moves, and the frame before it.
    first: usize,
    axes: [[f32; 3]; 3],
    at: [f32; 3],
    /// Axes behind the first joint of all, at the start of its range.
    trunk: [[f32; 3]; 3],
    /// The chain's origin, W; everything here is seen from it.
    from: Vec3,
    tip: [f32; 3],
    heel: Option<([f32; 3], [f32; 3], f32)>,
    pub bones: [usize; 3],
    low: Few,
    high: Few,
}

/// A pose to begin from and where its point shall go, W.
#[derive(Clone, Copy, Debug)]
pub(super) struct Task {
    pub start: Few,
    pub target: Vec3,
}

/// The pose nearest to a target.
#[derive(Clone, Copy, Debug)]
pub(super) struct Nearest {
    pub angles: Few,
    /// What is missing, m; 0 where the target is reached.
    pub miss: f32,
    /// From the target to the limb's point, m.
    pub off: [f32; 3],
}

/// A place on a limb that shall give way while its point stays.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lever {
    pub angles: Few,
    /// The joint whose frame the place has.
    pub bone: usize,
    /// The place, W.
    pub at: Vec3,
    /// The direction, W, and how far, m.
    pub way: Vec3,
    pub gain: f32,
}

/// The frame behind a joint.
#[derive(Clone, Copy)]
pub(super) struct Frames {
    pub axes: [V; 3],
    pub at: V,
}

impl Frames {
    /// Stands where a frame is still to come.
    pub const NONE: Self = Self { axes: [[Lane::ZERO; 3]; 3], at: [Lane::ZERO; 3] };

    #[inline]
    pub fn turn(&self, v: [f32; 3]) -> V {
        let [x, y, z] = v.map(Lane::splat);
        let [a, b, c] = &self.axes;
        std::array::from_fn(|i| a[i] * x + b[i] * y + c[i] * z)
    }

    #[inline]
    pub fn out(&self, v: [f32; 3]) -> V {
        add(&self.at, &self.turn(v))
    }
}

#[inline]
fn add(a: &V, b: &V) -> V {
    std::array::from_fn(|i| a[i] + b[i])
}

#[inline]
pub(super) fn less(a: &V, b: &V) -> V {
    std::array::from_fn(|i| a[i] - b[i])
}

#[inline]
pub(super) fn inner(a: &V, b: &V) -> Lane {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[inline]
fn cross(a: &V, b: &V) -> V {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[inline]
fn dot<const N: usize>(a: &Rows, b: &Rows) -> Lane {
    let mut sum = a[0] * b[0];
    for i in 1..N {
        sum += a[i] * b[i];
    }
    sum
}

#[inline]
fn clamped(x: Lane, low: Lane, high: Lane) -> Lane {
    x.fast_max(low).fast_min(high)
}

fn single(v: Vec3) -> [f32; 3] {
    [v.x as f32, v.y as f32, v.z as f32]
}

/// Sine and cosine for |x| ≤ 4: a quarter of it by Taylor's rows, then doubled twice.
#[inline]
fn sin_cos(x: Lane) -> (Lane, Lane) {
    let n = Lane::splat;
    let t = x * n(0.25);
    let t2 = t * t;
    let sin =
        t * (n(1.0) + t2 * (n(-1.0 / 6.0) + t2 * (n(1.0 / 120.0) + t2 * (n(-1.0 / 5040.0) + t2 * n(1.0 / 362_880.0)))));
    // Cosine less one keeps its digits.
    let versed = t2
        * (n(-0.5)
            + t2 * (n(1.0 / 24.0) + t2 * (n(-1.0 / 720.0) + t2 * (n(1.0 / 40_320.0) - t2 * n(1.0 / 3_628_800.0)))));
    let (sin, versed) = (n(2.0) * sin * (n(1.0) + versed), n(-2.0) * sin * sin);
    (n(2.0) * sin * (n(1.0) + versed), n(1.0) - n(2.0) * sin * sin)
}

#[expect(clippy::needless_range_loop, reason = "lanes and joints of several arrays at once")]
impl Lanes {
    /// A chain with the ranges of a zone.
    pub fn of(chain: &Chain, ranges: &[Range; MOST]) -> Self {
        let from = chain.base().at;
        let first = ranges[..chain.count() - 1].iter().position(|range| range.low < range.high).unwrap_or(0);
        let before = chain.before(first, &ranges.map(|range| range.low));
        Self {
            joints: *chain.joints(),
            count: chain.count(),
            first,
            axes: before.axes.map(single),
            at: single(before.at - from),
            trunk: chain.trunk(ranges[0].low).axes.map(single),
            from,
            tip: single(chain.tip()),
            heel: chain
                .heel()
                .map(|(p, normal, height)| (single(p), single(normal), (height - normal.dot(&from)) as f32)),
            bones: chain.bones,
            low: ranges.map(|range| range.low as f32),
            high: ranges.map(|range| range.high as f32),
        }
    }

    /// The origin from which everything here is seen, W.
    pub const fn from(&self) -> Vec3 {
        self.from
    }

    /// Forward kinematics; `each` sees the axis of each joint that may move and the frame behind it. Returns the last
    /// frame.
    #[inline]
    pub fn walk(&self, angles: &[Lane; MOST], mut each: impl FnMut(usize, &V, &Frames)) -> Frames {
        let mut frame = self.before();
        for i in self.first..self.count {
            let Joint { axis, sign, slides, then } = self.joints[i];
            let sign = Lane::splat(sign as f32);
            let along = frame.axes[axis].map(|x| x * sign);
            if slides {
                for (at, along) in frame.at.iter_mut().zip(along) {
                    *at += along * angles[i];
                }
            } else {
                let (sin, cos) = sin_cos(angles[i]);
                let sin = sin * sign;
                let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
                let (a, b) = (frame.axes[u], frame.axes[v]);
                frame.axes[u] = std::array::from_fn(|i| a[i] * cos + b[i] * sin);
                frame.axes[v] = std::array::from_fn(|i| b[i] * cos - a[i] * sin);
            }
            each(i, &along, &frame);
            if then != Vec3::zeros() {
                frame.at = frame.out(single(then));
            }
        }
        frame
    }

    /// The frame behind the first joint of all where that does not move.
    pub fn trunk(&self) -> Frames {
        Frames { axes: self.trunk.map(|axis| axis.map(Lane::splat)), at: [Lane::ZERO; 3] }
    }

    /// The frame before the first joint that moves.
    fn before(&self) -> Frames {
        Frames { axes: self.axes.map(|axis| axis.map(Lane::splat)), at: self.at.map(Lane::splat) }
    }

    /// Rows of what is asked of each joint, and what is missing of it. `joints` is room for axes and places.
    #[inline]
    fn asked(
        &self,
        angles: &[Lane; MOST],
        target: &V,
        rows: &mut [Rows; MOST],
        (axes, places): &mut ([V; MOST], [V; MOST]),
    ) -> Rows {
        let last = self.walk(angles, |i, axis, frame| {
            axes[i] = *axis;
            places[i] = frame.at;
        });
        let tip = last.out(self.tip);
        for i in self.first..self.count {
            let [x, y, z] = if self.joints[i].slides { axes[i] } else { cross(&axes[i], &less(&tip, &places[i])) };
            rows[i] = [x, y, z, Lane::ZERO];
        }
        let [x, y, z] = less(target, &tip);
        let Some((local, normal, height)) = self.heel else { return [x, y, z, Lane::ZERO] };
        let (heel, normal) = (last.out(local), normal.map(Lane::splat));
        for i in self.first..self.count {
            rows[i][3] = inner(&normal, &cross(&axes[i], &less(&heel, &places[i])));
        }
        [x, y, z, Lane::splat(height) - inner(&normal, &heel)]
    }

    /// For each task the pose inside the ranges that brings the point nearest to its target, followed from its start.
    ///
    /// Damped Gauss–Newton on the distance; a joint that would leave its range stays at its end and the others take over.
    /// The nearest that can be followed, not always the nearest of all: callers begin from several poses.
    pub fn nearest(&self, tasks: &[Task]) -> Vec<Nearest> {
        if self.heel.is_some() { self.nearest_by::<4>(tasks) } else { self.nearest_by::<3>(tasks) }
    }

    fn nearest_by<const N: usize>(&self, tasks: &[Task]) -> Vec<Nearest> {
        let none = Nearest { angles: [0.0; MOST], miss: f32::INFINITY, off: [0.0; 3] };
        let mut out = vec![none; tasks.len()];
        let n = Lane::splat;
        let (low, high) = (self.low.map(n), self.high.map(n));
        let mut next = 0;
        let mut of: [Option<usize>; WIDE] = [None; WIDE];
        let mut angles = low;
        let mut target = [Lane::ZERO; 3];
        let mut rows = [[Lane::ZERO; ROWS]; MOST];
        let mut off = [Lane::ZERO; ROWS];
        let (mut squared, mut damping) = (n(BEFORE), n(4e-4));
        let (mut slow, mut steps) = (Lane::ZERO, Lane::ZERO);
        let mut next_rows = rows;
        let mut room = ([[Lane::ZERO; 3]; MOST], [[Lane::ZERO; 3]; MOST]);
        loop {
            // A pose that is done makes room for the next one.
            for lane in 0..WIDE {
                if of[lane].is_some() || next >= tasks.len() {
                    continue;
                }
                let task = &tasks[next];
                of[lane] = Some(next);
                next += 1;
                let to = single(task.target - self.from);
                for (angle, (start, (low, high))) in
                    angles.iter_mut().zip(task.start.iter().zip(self.low.iter().zip(&self.high)))
                {
                    angle.as_mut_array()[lane] = start.max(*low).min(*high);
                }
                for (at, to) in target.iter_mut().zip(to) {
                    at.as_mut_array()[lane] = to;
                }
                for row in rows.iter_mut().flatten().chain(&mut off) {
                    row.as_mut_array()[lane] = 0.0;
                }
                squared.as_mut_array()[lane] = BEFORE;
                damping.as_mut_array()[lane] = 4e-4;
                slow.as_mut_array()[lane] = 0.0;
                steps.as_mut_array()[lane] = 0.0;
            }
            if of.iter().all(Option::is_none) {
                return out;
            }
            // What is far off bends the path towards it as much as the slope: without it a step swings past.
            let step = self.step::<N>(&low, &high, &angles, &rows, off, damping + n(0.1) * squared);
            let mut tried = angles;
            for i in self.first..self.count {
                tried[i] = clamped(angles[i] + step[i], low[i], high[i]);
            }
            let next_off = self.asked(&tried, &target, &mut next_rows, &mut room);
            let next_squared = dot::<N>(&next_off, &next_off);
            let better = next_squared.simd_lt(squared);
            let gained = squared.sqrt() - next_squared.sqrt();
            for i in self.first..self.count {
                angles[i] = better.bitselect(tried[i], angles[i]);
                for r in 0..N {
                    rows[i][r] = better.bitselect(next_rows[i][r], rows[i][r]);
                }
            }
            for r in 0..N {
                off[r] = better.bitselect(next_off[r], off[r]);
            }
            squared = better.bitselect(next_squared, squared);
            damping = better.bitselect((damping * n(0.25)).fast_max(n(1e-7)), damping * n(8.0));
            // Not reached, it comes nearer by ever less: what is left after two short steps is far less than they were.
            let short = gained.simd_lt(n(0.02) * squared.sqrt());
            slow = better.bitselect(short.bitselect(slow + n(1.0), Lane::ZERO), slow);
            steps += n(1.0);
            let stuck = better.bitselect(slow.simd_ge(n(2.0)) | gained.simd_lt(n(1e-5)), damping.simd_gt(n(1.0)));
            let done = squared.simd_lt(n(REACHED * REACHED)) | stuck | steps.simd_ge(n(STEPS));
            let done = done.to_bitmask();
            if done == 0 {
                continue;
            }
            for lane in 0..WIDE {
                if done >> lane & 1 == 0 {
                    continue;
                }
                let Some(at) = of[lane].take() else { continue };
                let squared = squared.as_array()[lane];
                out[at] = Nearest {
                    angles: angles.map(|angle| angle.as_array()[lane]),
                    miss: if squared < REACHED * REACHED { 0.0 } else { squared.sqrt() },
                    off: [0, 1, 2].map(|i| -off[i].as_array()[lane]),
                };
            }
        }
    }

    /// The smallest change of the joints that gives `wanted` in all rows, inside the ranges.
    #[inline]
    fn step<const N: usize>(
        &self,
        low: &[Lane; MOST],
        high: &[Lane; MOST],
        angles: &[Lane; MOST],
        rows: &[Rows; MOST],
        wanted: Rows,
        damping: Lane,
    ) -> [Lane; MOST] {
        let longest = Lane::splat(0.7);
        let mut step = [Lane::ZERO; MOST];
        let mut rest = wanted;
        // Rows of the joints that are free to move that way; which joints have no step yet.
        let mut free = [[Lane::ZERO; ROWS]; MOST];
        let mut open = [Lane::ZERO; MOST];
        for i in self.first..self.count {
            let pull = dot::<N>(&rows[i], &wanted);
            let stopped = (angles[i].simd_le(low[i]) & pull.simd_le(Lane::ZERO))
                | (angles[i].simd_ge(high[i]) & pull.simd_ge(Lane::ZERO));
            open[i] = !stopped;
            for r in 0..N {
                free[i][r] = open[i] & rows[i][r];
            }
        }
        for _ in 0..4 {
            let share = share::<N>(&free[self.first..self.count], &rest, damping);
            let mut left = rest;
            let mut any = Lane::ZERO;
            for i in self.first..self.count {
                let way = clamped(dot::<N>(&free[i], &share), -longest, longest);
                let (less, more) = (low[i] - angles[i], high[i] - angles[i]);
                let held = clamped(way, less, more);
                let ends = way.simd_lt(less) | way.simd_gt(more);
                let ends = open[i] & ends;
                step[i] = open[i].bitselect(held, step[i]);
                open[i] &= !ends;
                any |= ends;
                let taken = ends & held;
                for r in 0..N {
                    left[r] -= free[i][r] * taken;
                    free[i][r] = open[i] & free[i][r];
                }
            }
            rest = left;
            if !any.any() {
                break;
            }
        }
        step
    }

    /// Poses with the point where it is and a place on the limb moved: the point's rows first, then the place's. For
    /// each the angles to begin from.
    pub fn aside(&self, levers: &[Lever]) -> Vec<Few> {
        let n = Lane::splat;
        let (low, high) = (self.low.map(n), self.high.map(n));
        let mut out = Vec::with_capacity(levers.len());
        for some in levers.chunks(WIDE) {
            let of = |lane: usize| &some[lane.min(some.len() - 1)];
            let each = |number: &dyn Fn(&Lever) -> f32| Lane::new([0, 1, 2, 3].map(|lane| number(of(lane))));
            let angles: [Lane; MOST] = std::array::from_fn(|i| each(&|lever| lever.angles[i]));
            let at: V = std::array::from_fn(|i| each(&|lever| (lever.at - self.from)[i] as f32));
            let gain = each(&|lever| lever.gain);
            let way: V = std::array::from_fn(|i| each(&|lever| lever.way[i] as f32));
            let bone = each(&|lever| lever.bone as f32);
            let mut rows = [[Lane::ZERO; ROWS]; MOST];
            let mut axes = [[Lane::ZERO; 3]; MOST];
            let mut places = [[Lane::ZERO; 3]; MOST];
            let last = self.walk(&angles, |i, axis, frame| {
                axes[i] = *axis;
                places[i] = frame.at;
            });
            let tip = last.out(self.tip);
            for i in self.first..self.count {
                let (of_tip, of_place) = if self.joints[i].slides {
                    (axes[i], axes[i])
                } else {
                    (cross(&axes[i], &less(&tip, &places[i])), cross(&axes[i], &less(&at, &places[i])))
                };
                let moves = n(i as f32).simd_le(bone);
                rows[i] = [of_tip[0], of_tip[1], of_tip[2], moves.bitselect(inner(&way, &of_place), Lane::ZERO)];
            }
            let wanted = [Lane::ZERO, Lane::ZERO, Lane::ZERO, gain];
            let step = self.step::<4>(&low, &high, &angles, &rows, wanted, n(1e-5));
            let most = n(0.25);
            for lane in 0..some.len() {
                out.push(std::array::from_fn(|i| {
                    clamped(angles[i] + clamped(step[i], -most, most), low[i], high[i]).as_array()[lane]
                }));
            }
        }
        out
    }

    /// Poses in lanes, the last one repeated where there are fewer.
    #[inline]
    pub fn gathered(some: &[Few]) -> [Lane; MOST] {
        std::array::from_fn(|i| Lane::new([0, 1, 2, 3].map(|lane: usize| some[lane.min(some.len() - 1)][i])))
    }
}

/// What each row gets of `wanted`: (J Jᵀ + damping)⁻¹ wanted over the first `N` rows of the free joints, by Cholesky.
#[expect(clippy::needless_range_loop, reason = "rows and columns of a triangle")]
#[inline]
fn share<const N: usize>(rows: &[Rows], wanted: &Rows, damping: Lane) -> Rows {
    let mut a = [[Lane::ZERO; N]; N];
    for row in rows {
        for i in 0..N {
            for j in 0..=i {
                a[i][j] += row[i] * row[j];
            }
        }
    }
    let least = Lane::splat(1e-12);
    let mut b = [Lane::ZERO; N];
    let mut per = [Lane::ZERO; N];
    for i in 0..N {
        a[i][i] += damping;
        for j in 0..=i {
            let mut sum = a[i][j];
            for k in 0..j {
                sum -= a[i][k] * a[j][k];
            }
            if i == j {
                per[i] = Lane::splat(1.0) / sum.fast_max(least).sqrt();
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
    let mut out = [Lane::ZERO; ROWS];
    for i in (0..N).rev() {
        let mut sum = b[i];
        for k in i + 1..N {
            sum -= a[k][i] * out[k];
        }
        out[i] = sum * per[i];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        body::Body,
        geometry::Side,
        posture::sit,
        project::parse,
        reach::zone::{Grip, Limb, Zone, arm_ranges},
        rig::Rig,
        units::deg,
    };

    #[test]
    fn sines_are_right_to_2e_6() {
        for step in -1000..=1000 {
            let x = [0.0, 0.001, 0.002, 0.003].map(|off| step as f32 * 4e-3 + off);
            let (sin, cos) = sin_cos(Lane::new(x));
            for ((x, sin), cos) in x.into_iter().zip(sin.to_array()).zip(cos.to_array()) {
                let exact = f64::from(x).sin_cos();
                assert!((f64::from(sin) - exact.0).abs() < 2e-6 && (f64::from(cos) - exact.1).abs() < 2e-6, "{x}");
            }
        }
    }

    /// Central differences of the point in double precision over each joint, leaning and sliding included.
    #[test]
    fn rows_are_the_rates_of_the_point() {
        const H: f64 = 1e-6;
        let project = parse(include_str!("../../assets/closed_car.ron")).unwrap();
        let (body, rig) = (Body::of(&project.driver), Rig::place(&project));
        let limb = Limb::Hand(Side::Right, Grip::Fingertip);
        let chain = Chain::of(&body, &sit(&body, &rig), &rig, limb);
        let lanes = Lanes::of(&chain, &arm_ranges(&body, Zone::Leaning, deg(20.0)));
        let angles = [0.1, 0.03, 0.4, 0.3, 0.2, 0.9, -0.3, 0.2, 0.1];
        let mut rows = [[Lane::ZERO; ROWS]; MOST];
        let mut room = ([[Lane::ZERO; 3]; MOST], [[Lane::ZERO; 3]; MOST]);
        lanes.asked(&few(&angles).map(Lane::splat), &[Lane::ZERO; 3], &mut rows, &mut room);
        for i in 0..MOST {
            let (mut more, mut less) = (angles, angles);
            more[i] += H;
            less[i] -= H;
            let rate = (chain.pose(&more).tip - chain.pose(&less).tip) / (2.0 * H);
            for axis in 0..3 {
                assert!((f64::from(rows[i][axis].as_array()[1]) - rate[axis]).abs() < 2e-6, "{i}");
            }
        }
    }
}
