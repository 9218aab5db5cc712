//! How shapes move between the steps of a motion: cubic curves through the steps, with a bound on what they may be off.

use crate::{
    body::{BodyPart, BodySolid},
    geometry::{Side, TaperedCapsule, Vec3},
    posture::Moment,
    project::PedalKind,
    units::{deg, mm},
};

/// What of the motion moves a shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Axis {
    /// Nothing.
    Still,
    /// The wheel angle, rad.
    Steer,
    /// The travel of a pedal, m.
    Travel(PedalKind),
}

impl Axis {
    /// The moment with this coordinate set to `time`.
    pub(super) const fn set(self, moment: Moment, time: f64) -> Moment {
        match self {
            Self::Still => moment,
            Self::Steer => moment.with_steer(time),
            Self::Travel(kind) => moment.with_travel(kind, time),
        }
    }

    /// Steps are put in no closer than this.
    const fn finest(self) -> f64 {
        match self {
            Self::Travel(_) => mm(0.02),
            Self::Still | Self::Steer => deg(0.02),
        }
    }
}

/// Whose shape it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Owner {
    /// A solid of an arm, by its place in [`crate::body::Flesh::arm`].
    Arm(Side, usize),
    /// A solid of a leg, by its place in [`crate::body::Flesh::leg`], and the pedal that it is on.
    Leg(Side, usize, Option<PedalKind>),
    /// A solid of trunk or head, or of the rig.
    Other,
}

/// One step: where the ends of the capsule are, how fast they move, and the way that each has gone at most.
#[derive(Clone, Copy, Debug)]
struct Knot {
    time: f64,
    ends: [Vec3; 2],
    rates: [Vec3; 2],
    ways: [f64; 2],
    /// What the curve from here to the next step may be off, m.
    error: f64,
}

/// A capsule on its way: cubic from step to step, its ends' rates those of the parabola through three steps.
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) owner: Owner,
    /// The body's part; `None` for a part of the rig.
    pub(super) part: Option<BodyPart>,
    pub(super) axis: Axis,
    radii: [f64; 2],
    knots: Vec<Knot>,
    /// The curve leaves the chord between two steps by no more than this, m.
    bulge: f64,
    /// What it may be off the true motion anywhere, m.
    pub(super) error: f64,
    /// A ball that holds the whole course.
    pub(super) ball: TaperedCapsule,
}

/// A stretch of a course.
#[derive(Clone, Copy, Debug)]
pub(super) enum Span {
    /// From one step to another.
    Steps(usize, usize),
    /// Within the stretch behind a step: shares of it.
    Within(usize, f64, f64),
}

impl Course {
    /// Something that stands still.
    pub(super) fn still(owner: Owner, solid: &BodySolid) -> Self {
        let shape = &solid.shape;
        let (ends, radii) = ([shape.a, shape.b], [shape.radius_a, shape.radius_b]);
        let knots = vec![Knot { time: 0.0, ends, rates: [Vec3::zeros(); 2], ways: [0.0; 2], error: 0.0 }];
        let half = (shape.b - shape.a) * 0.5;
        let radius = half.norm() + radii[0].max(radii[1]);
        let middle = shape.a + half;
        let ball = TaperedCapsule { a: middle, b: middle, radius_a: radius, radius_b: radius };
        Self { owner, part: Some(solid.part), axis: Axis::Still, radii, knots, bulge: 0.0, error: 0.0, ball }
    }

    /// Through a capsule's places at increasing times.
    pub(super) fn with<'a>(
        owner: Owner,
        part: Option<BodyPart>,
        axis: Axis,
        times: &[f64],
        shapes: impl Iterator<Item = &'a TaperedCapsule>,
    ) -> Self {
        let mut radii = [0.0; 2];
        let knots: Vec<Knot> = times
            .iter()
            .zip(shapes)
            .map(|(&time, shape)| {
                radii = [shape.radius_a, shape.radius_b];
                Knot { time, ends: [shape.a, shape.b], rates: [Vec3::zeros(); 2], ways: [0.0; 2], error: 0.0 }
            })
            .collect();
        let mut course = Self { owner, part, axis, radii, knots, bulge: 0.0, error: 0.0, ball: NOWHERE };
        course.set_rates();
        course.finish();
        course
    }

    /// Through places whose rates are known: time, ends and their rates; what it may be off is known too.
    pub(super) fn known(
        axis: Axis,
        radius: f64,
        error: f64,
        steps: impl Iterator<Item = (f64, [Vec3; 2], [Vec3; 2])>,
    ) -> Self {
        let knots = steps.map(|(time, ends, rates)| Knot { time, ends, rates, ways: [0.0; 2], error }).collect();
        let radii = [radius; 2];
        let mut course =
            Self { owner: Owner::Other, part: None, axis, radii, knots, bulge: 0.0, error: 0.0, ball: NOWHERE };
        course.finish();
        course
    }

    fn set_rates(&mut self) {
        let count = self.knots.len();
        if count < 2 {
            return;
        }
        for end in 0..2 {
            let chord = |i: usize| {
                let (from, to) = (&self.knots[i], &self.knots[i + 1]);
                let span = to.time - from.time;
                ((to.ends[end] - from.ends[end]) / span, span)
            };
            let mut before = chord(0);
            let mut rates = Vec::with_capacity(count);
            for i in 1..count - 1 {
                let after = chord(i);
                let weight = 1.0 / (before.1 + after.1);
                if i == 1 {
                    rates.push(before.0 + (before.0 - after.0) * (before.1 * weight));
                }
                rates.push((before.0 * after.1 + after.0 * before.1) * weight);
                if i == count - 2 {
                    rates.push(after.0 + (after.0 - before.0) * (after.1 * weight));
                }
                before = after;
            }
            if count == 2 {
                rates = vec![before.0; 2];
            }
            for (knot, rate) in self.knots.iter_mut().zip(rates) {
                knot.rates[end] = rate;
            }
        }
    }

    /// Way, bulge and ball.
    fn finish(&mut self) {
        for i in 1..self.knots.len() {
            let (from, to) = (self.knots[i - 1], self.knots[i]);
            let third = (to.time - from.time) / 3.0;
            for end in 0..2 {
                let (out, back) = (from.rates[end] * third, to.rates[end] * third);
                let across = to.ends[end] - from.ends[end];
                // Legs of the curve's control polygon: three times the longest bounds its speed.
                let legs = [out, back, across - out - back].map(|leg| leg.norm_squared());
                let fastest = legs[0].max(legs[1]).max(legs[2]).sqrt();
                self.knots[i].ways[end] = from.ways[end] + 3.0 * fastest;
                let bent = (out - across / 3.0).norm_squared().max((back - across / 3.0).norm_squared());
                self.bulge = self.bulge.max(bent);
            }
        }
        self.bulge = self.bulge.sqrt();
        self.error = self.knots.iter().map(|knot| knot.error).fold(0.0, f64::max);
        let ends = || self.knots.iter().flat_map(|knot| knot.ends);
        let count = 2.0 * self.knots.len().max(1) as f64;
        let middle = ends().sum::<Vec3>() / count;
        let furthest = ends().map(|end| (end - middle).norm_squared()).fold(0.0, f64::max).sqrt();
        let radius = furthest + self.radii[0].max(self.radii[1]) + self.bulge;
        self.ball = TaperedCapsule { a: middle, b: middle, radius_a: radius, radius_b: radius };
    }

    /// All of it.
    pub(super) fn whole(&self) -> Span {
        Self::from_to(0, self.knots.len() - 1)
    }

    const fn from_to(first: usize, last: usize) -> Span {
        if last == first + 1 { Span::Within(first, 0.0, 1.0) } else { Span::Steps(first, last) }
    }

    /// The two halves of a stretch; a single step has none.
    pub(super) fn halves(&self, span: Span) -> Option<[Span; 2]> {
        match span {
            Span::Steps(first, last) if first == last => None,
            Span::Steps(first, last) => {
                let middle = usize::midpoint(first, last);
                Some([Self::from_to(first, middle), Self::from_to(middle, last)])
            }
            Span::Within(step, from, to) => {
                let middle = f64::midpoint(from, to);
                Some([Span::Within(step, from, middle), Span::Within(step, middle, to)])
            }
        }
    }

    /// The way that the surface goes at most within a stretch, m.
    pub(super) fn way(&self, span: Span) -> f64 {
        let (first, last, share) = match span {
            Span::Steps(first, last) => (first, last, 1.0),
            Span::Within(step, from, to) => (step, step + 1, to - from),
        };
        let way = |end: usize| self.knots[last].ways[end] - self.knots[first].ways[end];
        way(0).max(way(1)) * share
    }

    /// How far each end is within a stretch from where it is in the middle, at most, m; what lies between them is off by
    /// no more than what lies between these two.
    pub(super) fn stray(&self, span: Span) -> [f64; 2] {
        match span {
            Span::Steps(first, last) if first == last => [0.0; 2],
            Span::Steps(first, last) => {
                let middle = usize::midpoint(first, last);
                [0, 1].map(|end| {
                    let way = |from: usize, to: usize| self.knots[to].ways[end] - self.knots[from].ways[end];
                    // As the crow flies it is less where the way bends.
                    let from = self.knots[middle].ends[end];
                    let off = self.knots[first..=last].iter().map(|knot| (knot.ends[end] - from).norm_squared());
                    let straight = off.fold(0.0, f64::max).sqrt() + self.bulge;
                    way(first, middle).max(way(middle, last)).min(straight)
                })
            }
            Span::Within(step, from, to) => {
                let (start, end) = (&self.knots[step], &self.knots[step + 1]);
                [0, 1].map(|i| 0.5 * (end.ways[i] - start.ways[i]) * (to - from))
            }
        }
    }

    /// What the course may be off the true motion within a stretch, m.
    pub(super) fn error(&self, span: Span) -> f64 {
        match span {
            Span::Steps(first, last) if first == last => 0.0,
            Span::Steps(first, last) => self.knots[first..last].iter().map(|knot| knot.error).fold(0.0, f64::max),
            Span::Within(step, ..) => self.knots[step].error,
        }
    }

    /// The time in the middle of a stretch.
    pub(super) fn middle(&self, span: Span) -> f64 {
        match span {
            Span::Steps(first, last) => self.knots[usize::midpoint(first, last)].time,
            Span::Within(step, from, to) => {
                let (start, end) = (self.knots[step].time, self.knots[step + 1].time);
                start + (end - start) * f64::midpoint(from, to)
            }
        }
    }

    /// The shape in the middle of a stretch.
    pub(super) fn shape(&self, span: Span) -> TaperedCapsule {
        match span {
            Span::Steps(first, last) => self.capsule(self.knots[usize::midpoint(first, last)].ends),
            Span::Within(step, from, to) => self.between(step, f64::midpoint(from, to)),
        }
    }

    const fn capsule(&self, [a, b]: [Vec3; 2]) -> TaperedCapsule {
        TaperedCapsule { a, b, radius_a: self.radii[0], radius_b: self.radii[1] }
    }

    fn between(&self, step: usize, share: f64) -> TaperedCapsule {
        let (from, to) = (&self.knots[step], &self.knots[step + 1]);
        let (t, u, span) = (share, 1.0 - share, to.time - from.time);
        // Hermite's cubic.
        let (start, end) = (u * u * (1.0 + 2.0 * t), t * t * (3.0 - 2.0 * t));
        let (out, back) = (span * t * u * u, -span * t * t * u);
        self.capsule([0, 1].map(|i| from.ends[i] * start + to.ends[i] * end + from.rates[i] * out + to.rates[i] * back))
    }

    /// The shape at a time.
    pub(super) fn at(&self, time: f64) -> TaperedCapsule {
        let next = self.knots.partition_point(|knot| knot.time <= time);
        if next == 0 || next == self.knots.len() {
            return self.capsule(self.knots[next.saturating_sub(1)].ends);
        }
        let (start, end) = (self.knots[next - 1].time, self.knots[next].time);
        self.between(next - 1, (time - start) / (end - start))
    }

    /// First and last time.
    pub(super) fn range(&self) -> [f64; 2] {
        [self.knots[0].time, self.knots[self.knots.len() - 1].time]
    }

    /// Whether the shape at a time is that of a step.
    pub(super) fn is_step(&self, time: f64) -> bool {
        let at = self.knots.partition_point(|knot| knot.time < time);
        self.knots.get(at).is_some_and(|knot| knot.time <= time)
    }

    /// How far the shape reaches along the unit vector `way` anywhere within a stretch, at most: the greatest of
    /// `way · p` over its points p.
    pub(super) fn support(&self, span: Span, way: Vec3) -> f64 {
        let [ra, rb] = self.radii;
        match span {
            Span::Steps(first, last) => {
                let far = |knot: &Knot| (way.dot(&knot.ends[0]) + ra).max(way.dot(&knot.ends[1]) + rb);
                let most = self.knots[first..=last].iter().map(far).fold(f64::NEG_INFINITY, f64::max);
                if first == last { most } else { most + self.bulge }
            }
            Span::Within(step, from, to) => {
                let (start, end) = (&self.knots[step], &self.knots[step + 1]);
                let third = (end.time - start.time) / 3.0;
                let along = |i: usize| {
                    let (p0, p3) = (way.dot(&start.ends[i]), way.dot(&end.ends[i]));
                    let curve = [p0, p0 + third * way.dot(&start.rates[i]), p3 - third * way.dot(&end.rates[i]), p3];
                    greatest(curve, from, to)
                };
                (along(0) + ra).max(along(1) + rb)
            }
        }
    }
}

const NOWHERE: TaperedCapsule =
    TaperedCapsule { a: Vec3::new(0.0, 0.0, 0.0), b: Vec3::new(0.0, 0.0, 0.0), radius_a: 0.0, radius_b: 0.0 };

/// A bound of Bézier's cubic between two shares: the greatest control value of that part of it, by its blossom.
fn greatest(curve: [f64; 4], from: f64, to: f64) -> f64 {
    let blossom = |u: f64, v: f64, w: f64| {
        let mix = |a: f64, b: f64, t: f64| a + (b - a) * t;
        let [a, b, c] = [0, 1, 2].map(|i| mix(curve[i], curve[i + 1], u));
        mix(mix(a, b, v), mix(b, c, v), w)
    };
    let inner = blossom(from, from, to).max(blossom(from, to, to));
    blossom(from, from, from).max(blossom(to, to, to)).max(inner)
}

/// The steps of a limb, or of both arms: times and solids.
pub(super) struct Steps {
    axis: Axis,
    times: Vec<f64>,
    solids: Vec<Vec<BodySolid>>,
    /// What the curve of each solid may be off between each step and the next, m.
    errors: Vec<Vec<f64>>,
}

/// Between two steps a course may be off by this much, m; where it seems to be off by more, another step is solved.
const STRAIGHT: f64 = mm(0.03);
/// Steps put in at most, and rounds of it.
const MOST: usize = 64;
const ROUNDS: usize = 9;
/// A step put in must bring the error down to this share: a kink that it closes in on does, a posture that is itself
/// no surer does not.
const WORTH: f64 = 0.7;

impl Steps {
    /// The steps of a motion, in order; of two at one time the first.
    pub(super) fn new(axis: Axis, steps: impl Iterator<Item = (f64, Vec<BodySolid>)>) -> Self {
        let (mut times, mut solids) = (Vec::new(), Vec::new());
        for (time, step) in steps {
            if times.last().is_none_or(|last| time > last + 1e-7) {
                times.push(time);
                solids.push(step);
            }
        }
        Self { axis, times, solids, errors: Vec::new() }
    }

    /// Puts in steps where the given ones are too few or bend too sharply to be followed: the moment is solved for.
    pub(super) fn refine(&mut self, mut solve: impl FnMut(f64) -> Vec<BodySolid>) {
        self.errors = self.estimate();
        // What the error must come down to for a stretch to be halved once more.
        let mut hoped = vec![f64::INFINITY; self.errors.len()];
        let mut put = 0;
        for _ in 0..ROUNDS {
            let worst: Vec<f64> = self.errors.iter().map(|errors| errors.iter().copied().fold(0.0, f64::max)).collect();
            let worth = |i: &usize| {
                let wide = self.times[i + 1] - self.times[*i] > 2.0 * self.axis.finest();
                worst[*i] > STRAIGHT && wide && worst[*i] <= hoped[*i]
            };
            let halved: Vec<usize> = (0..worst.len()).filter(worth).take(MOST - put).collect();
            if halved.is_empty() {
                return;
            }
            put += halved.len();
            for i in halved.into_iter().rev() {
                let time = f64::midpoint(self.times[i], self.times[i + 1]);
                self.times.insert(i + 1, time);
                self.solids.insert(i + 1, solve(time));
                hoped[i] = WORTH * worst[i];
                hoped.insert(i, hoped[i]);
            }
            self.errors = self.estimate();
        }
    }

    /// What the curve between two steps may be off in the middle of each stretch, m, by solid: what the fourth
    /// difference of the steps around it says of the cubic through four of them. Too few steps say nothing.
    fn estimate(&self) -> Vec<Vec<f64>> {
        let count = self.times.len();
        let pieces = self.pieces();
        if count < 5 {
            return vec![vec![f64::INFINITY; pieces]; count.saturating_sub(1)];
        }
        let t = &self.times;
        // Fourth divided differences from each step on.
        let bends: Vec<Vec<f64>> = (0..count - 4)
            .map(|i| {
                // Lagrange's weights.
                let weights: [f64; 5] = std::array::from_fn(|j| {
                    let others = (0..5).filter(|&k| k != j);
                    1.0 / others.map(|k| t[i + j] - t[i + k]).product::<f64>()
                });
                let of = |piece: usize, end: fn(&TaperedCapsule) -> Vec3| {
                    let sum: Vec3 = (0..5).map(|j| end(&self.solids[i + j][piece].shape) * weights[j]).sum();
                    sum.norm_squared()
                };
                let bend = |piece: usize| of(piece, |shape| shape.a).max(of(piece, |shape| shape.b)).sqrt();
                (0..pieces).map(bend).collect()
            })
            .collect();
        (0..count - 1)
            .map(|i| {
                let middle = f64::midpoint(t[i], t[i + 1]);
                let first = i.saturating_sub(1).min(count - 4);
                let spread: f64 = (first..first + 4).map(|k| (middle - t[k]).abs()).product();
                let near = [first.saturating_sub(1), first.min(count - 5)].map(|from| &bends[from]);
                (0..pieces).map(|piece| near[0][piece].max(near[1][piece]) * spread).collect()
            })
            .collect()
    }

    /// The course of each of the solids from `first` on, as many as `owner` has.
    pub(super) fn courses(
        &self,
        range: std::ops::Range<usize>,
        owner: impl Fn(usize) -> Owner,
    ) -> impl Iterator<Item = Course> {
        let first = range.start;
        range.map(move |piece| {
            let part = self.solids[0][piece].part;
            let shapes = self.solids.iter().map(|solids| &solids[piece].shape);
            let mut course = Course::with(owner(piece - first), Some(part), self.axis, &self.times, shapes);
            for (knot, errors) in course.knots.iter_mut().zip(&self.errors) {
                knot.error = errors[piece];
                course.error = course.error.max(knot.error);
            }
            course
        })
    }

    /// How many solids each step has.
    pub(super) fn pieces(&self) -> usize {
        self.solids.first().map_or(0, Vec::len)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ball(at: Vec3) -> TaperedCapsule {
        TaperedCapsule { a: at, b: at + Vec3::x() * 0.1, radius_a: 0.02, radius_b: 0.03 }
    }

    /// A point on a circle of 0.15 m, as a hand on a rim.
    fn on_circle(angle: f64) -> TaperedCapsule {
        ball(Vec3::new(0.1 * angle, 0.15 * angle.cos(), 0.15 * angle.sin()))
    }

    fn circle(step: f64) -> (Vec<f64>, Vec<TaperedCapsule>) {
        (0..24).map(|i| (step * f64::from(i), on_circle(step * f64::from(i)))).unzip()
    }

    #[test]
    fn a_course_through_steps_of_five_degrees_keeps_to_the_circle() {
        let (times, shapes) = circle(deg(5.0));
        let course = Course::with(Owner::Other, None, Axis::Steer, &times, shapes.iter());
        for i in 0..2300 {
            let time = deg(0.05) * f64::from(i);
            let off = (course.at(time).a - on_circle(time).a).norm();
            assert!(off < mm(0.03), "{} mm at {time}", off * 1e3);
        }
        assert!(course.is_step(deg(15.0)) && !course.is_step(deg(15.1)));
    }

    /// Way, support and ball bound what is met along the course, and the supports of ever smaller stretches close in.
    #[test]
    fn bounds_hold_along_the_course() {
        let (times, shapes) = circle(deg(9.0));
        let course = Course::with(Owner::Other, None, Axis::Steer, &times, shapes.iter());
        let mut spans = vec![course.whole()];
        let mut looked = 0;
        while let Some(span) = spans.pop() {
            looked += 1;
            let middle = course.shape(span);
            for way in [Vec3::x(), Vec3::y(), -Vec3::z(), Vec3::new(0.6, 0.0, 0.8)] {
                let far = |shape: &TaperedCapsule| (way.dot(&shape.a) + 0.02).max(way.dot(&shape.b) + 0.03);
                let most = course.support(span, way);
                assert!(far(&middle) <= most + 1e-12);
                let [a, b] = course.stray(span);
                assert!(most <= far(&middle) + a.max(b) + 2.0 * course.bulge + 1e-9);
                let halves = course.halves(span).filter(|_| course.way(span) > mm(2.0));
                for half in halves.into_iter().flatten() {
                    assert!(far(&course.shape(half)) <= most + 1e-12);
                    let off = [course.shape(half).a - middle.a, course.shape(half).b - middle.b];
                    assert!(off[0].norm() <= a + 1e-12 && off[1].norm() <= b + 1e-12);
                    if way.x > 0.9 {
                        spans.push(half);
                    }
                }
            }
            assert!((middle.a - course.ball.a).norm() + 0.02 <= course.ball.radius_a);
        }
        assert!(looked > 100);
    }

    /// A corner between two steps: the steps say so, others are put in beside it and it is closed in on.
    #[test]
    fn a_sharp_bend_is_closed_in_on() {
        let bent = |time: f64| {
            let at = Vec3::new(time, (time - 0.437).abs(), 0.0);
            vec![BodySolid { part: BodyPart::Head, shape: ball(at) }]
        };
        let mut steps = Steps::new(Axis::Steer, (0..=10).map(|i| 0.1 * f64::from(i)).map(|time| (time, bent(time))));
        steps.refine(bent);
        let course = steps.courses(0..1, |_| Owner::Other).next().unwrap();
        let mut worst = 0.0_f64;
        for i in 0..1000 {
            let time = 0.001 * f64::from(i);
            worst = worst.max((course.at(time).a - bent(time)[0].shape.a).norm());
        }
        // Steps 0.1 m apart on both sides of a right angle: without more of them the curve would be 10 mm off.
        assert!(worst < mm(2.0) && worst < 2.0 * course.error, "{worst} {}", course.error);
        assert!(course.error < mm(2.0) && steps.times.len() < 60, "{} {}", course.error, steps.times.len());
    }
}
