//! Rounded shapes that melt into one another: the field whose zero is the skin.

use nalgebra::Matrix3;

use super::contour::Section;
use crate::{
    geometry::{Field, Pose, Vec3},
    posture::Bone,
    units::mm,
};

/// The stretch of the body that a shape belongs to; it decides which bones move the skin over it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// Pelvis to neck.
    Trunk,
    /// A limb or the head, by its first bone.
    From(Bone),
}

/// One shape in its own frame.
#[derive(Clone, Debug)]
pub struct Shape {
    /// Axes and origin of the shape's frame, W.
    axes: Matrix3<f64>,
    origin: Vec3,
    solid: Solid,
    /// How far off another surface may be to melt into this one, m.
    blend: f64,
    per_blend: f64,
    zone: Zone,
}

impl Shape {
    pub fn new(pose: Pose, solid: Solid, blend: f64, zone: Zone) -> Self {
        let (axes, origin) = (*pose.rotation.to_rotation_matrix().matrix(), pose.translation.vector);
        Self { axes, origin, solid, blend, per_blend: blend.recip(), zone }
    }

    /// About the signed distance, and the direction away from the shape, W.
    fn slope(&self, at: Vec3) -> Slope {
        let (value, direction) = self.solid.slope(self.axes.tr_mul(&(at - self.origin)));
        (value, self.axes * direction)
    }

    fn distance(&self, at: Vec3) -> f64 {
        self.solid.slope(self.axes.tr_mul(&(at - self.origin))).0
    }
}

/// Kinds of solids.
#[derive(Clone, Debug)]
pub enum Solid {
    /// Hull of two balls on the z axis, flattened across it.
    Cone {
        /// From the origin to the second ball.
        length: f64,
        radii: [f64; 2],
        /// Factors on the radii along x and y.
        flat: [f64; 2],
    },
    /// Ellipsoid by its half axes.
    Ball(Vec3),
    /// Hull of two discs in the xz plane, `thick` to each side of it, edges rounded.
    Plate { length: f64, radii: [f64; 2], thick: f64, round: f64 },
    /// Sections along z.
    Loft(Loft),
}

/// Value and outward direction of steepest ascent.
type Slope = (f64, Vec3);

/// Hull of two discs about (0, 0) and (0, length) in the half plane of distance from the axis and height.
fn hull(across: f64, along: f64, length: f64, radii: [f64; 2]) -> (f64, [f64; 2]) {
    let ball = |across: f64, along: f64, radius: f64| {
        let distance = (across * across + along * along).sqrt();
        let inverse = distance.max(1e-12).recip();
        (distance - radius, [across * inverse, along * inverse])
    };
    let narrowing = radii[0] - radii[1];
    if length <= narrowing.abs() {
        return if narrowing > 0.0 { ball(across, along, radii[0]) } else { ball(across, along - length, radii[1]) };
    }
    let sin = narrowing / length;
    let cos = (1.0 - sin * sin).sqrt();
    let place = along * cos - across * sin;
    if place < 0.0 {
        ball(across, along, radii[0])
    } else if place > cos * length {
        ball(across, along - length, radii[1])
    } else {
        (across * cos + along * sin - radii[0], [cos, sin])
    }
}

/// A value whose gradient is not of length 1, turned into about a distance; `least` bounds the slope inside, where
/// the quotient grows without bound towards the middle.
fn as_distance(value: f64, gradient: Vec3, least: f64) -> Slope {
    let steep = gradient.norm().max(1e-9);
    let mut distance = value / steep;
    if value < 0.0 {
        distance = distance.max(value * least);
    }
    (distance, gradient / steep)
}

impl Solid {
    /// A box around the solid in its own frame.
    fn bounds(&self) -> (Vec3, Vec3) {
        match *self {
            Self::Cone { length, radii: [a, b], flat: [fx, fy] } => {
                let most = a.max(b);
                let side = Vec3::new(most * fx, most * fy, 0.0);
                (Vec3::new(0.0, 0.0, -most) - side, Vec3::new(0.0, 0.0, length + most) + side)
            }
            Self::Ball(half) => (-half, half),
            Self::Plate { length, radii: [a, b], thick, .. } => {
                let most = a.max(b);
                (Vec3::new(-most, -thick, -most), Vec3::new(most, thick, length + most))
            }
            Self::Loft(ref loft) => loft.bounds(),
        }
    }

    /// About the signed distance, and the direction away from the solid.
    fn slope(&self, p: Vec3) -> Slope {
        match *self {
            Self::Cone { length, radii, flat: [fx, fy] } => {
                let (x, y) = (p.x / fx, p.y / fy);
                let across = (x * x + y * y).sqrt();
                let (value, [out, up]) = hull(across, p.z, length, radii);
                let inverse = out / across.max(1e-12);
                let gradient = Vec3::new(x * inverse / fx, y * inverse / fy, up);
                as_distance(value, gradient, fx.min(fy).min(1.0))
            }
            Self::Ball(half) => {
                let scaled = p.component_div(&half);
                let k = scaled.norm();
                let gradient = scaled.component_div(&half) / k.max(1e-12);
                as_distance(k - 1.0, gradient, half.min())
            }
            Self::Plate { length, radii, thick, round } => {
                let (plan, [out, up]) = hull(p.x.abs(), p.z, length, radii);
                let outward = Vec3::new(out * p.x.signum(), 0.0, up);
                let (a, b) = (plan + round, p.y.abs() - thick + round);
                let upward = Vec3::new(0.0, p.y.signum(), 0.0);
                if a > 0.0 && b > 0.0 {
                    let corner = (a * a + b * b).sqrt();
                    (corner - round, (outward * a + upward * b) / corner)
                } else if a > b {
                    (a - round, outward)
                } else {
                    (b - round, upward)
                }
            }
            Self::Loft(ref loft) => loft.slope(p),
        }
    }
}

/// A body through sections: rounded rectangles whose middles and half axes follow smooth curves.
#[derive(Clone, Debug)]
pub struct Loft {
    heights: Vec<f64>,
    /// Cubics of (middle x, middle y, half x, half y) between neighbouring sections.
    pieces: Vec<[[f64; 4]; 4]>,
    /// Squareness of each section.
    squares: Vec<f64>,
    /// How far the rounded ends stand out beyond the first and the last section.
    caps: [f64; 2],
}

impl Loft {
    /// Through sections in any order, at least two, no two at one height.
    pub fn through(sections: &[Section], caps: [f64; 2]) -> Self {
        let mut sections = sections.to_vec();
        sections.sort_by(|a, b| a.z.total_cmp(&b.z));
        let heights: Vec<f64> = sections.iter().map(|section| section.z).collect();
        let curves = [
            spline(&heights, |at| 0.5 * (sections[at].x[0] + sections[at].x[1])),
            spline(&heights, |at| 0.5 * (sections[at].y[0] + sections[at].y[1])),
            spline(&heights, |at| 0.5 * (sections[at].x[1] - sections[at].x[0])),
            spline(&heights, |at| 0.5 * (sections[at].y[1] - sections[at].y[0])),
        ];
        let pieces = (0..heights.len() - 1).map(|at| [0, 1, 2, 3].map(|curve: usize| curves[curve][at])).collect();
        let squares = sections.iter().map(|section| section.square).collect();
        Self { heights, pieces, squares, caps }
    }

    /// What the curves have at a height, that of the ends beyond them.
    pub fn section(&self, z: f64) -> Section {
        let last = self.heights.len() - 1;
        let z = z.clamp(self.heights[0], self.heights[last]);
        let at = self.heights[1..last].partition_point(|&height| height < z);
        let t = z - self.heights[at];
        let [x, y, half_x, half_y] = self.pieces[at].map(|[a, b, c, d]| a + t * (b + t * (c + t * d)));
        // Curves through measurements that contradict one another may run through nothing or far out.
        let [half_x, half_y] = [half_x, half_y].map(|half| half.clamp(mm(8.0), mm(450.0)));
        let share = t / (self.heights[at + 1] - self.heights[at]);
        let square = self.squares[at] + (self.squares[at + 1] - self.squares[at]) * share;
        Section { z, x: [x - half_x, x + half_x], y: [y - half_y, y + half_y], square }
    }

    /// A box around the sections, with room for what the curves do between them.
    fn bounds(&self) -> (Vec3, Vec3) {
        let last = self.heights.len() - 1;
        let mut low = Vec3::new(f64::INFINITY, f64::INFINITY, self.heights[0] - self.caps[0]);
        let mut high = Vec3::new(f64::NEG_INFINITY, f64::NEG_INFINITY, self.heights[last] + self.caps[1]);
        for (at, piece) in self.pieces.iter().enumerate() {
            for step in 0..=4 {
                let t = (self.heights[at + 1] - self.heights[at]) * f64::from(step) / 4.0;
                let [cx, cy, ax, ay] = piece.map(|[a, b, c, d]| a + t * (b + t * (c + t * d)));
                for (axis, middle, half) in [(0, cx, ax), (1, cy, ay)] {
                    low[axis] = low[axis].min(middle - half - mm(3.0));
                    high[axis] = high[axis].max(middle + half + mm(3.0));
                }
            }
        }
        (low, high)
    }

    fn slope(&self, p: Vec3) -> Slope {
        let last = self.heights.len() - 1;
        let (z, over, cap) = if p.z < self.heights[0] {
            (self.heights[0], p.z - self.heights[0], self.caps[0])
        } else if p.z > self.heights[last] {
            (self.heights[last], p.z - self.heights[last], self.caps[1])
        } else {
            (p.z, 0.0, 1.0)
        };
        let at = self.heights[1..last].partition_point(|&height| height < z);
        let t = z - self.heights[at];
        let [(cx, dcx), (cy, dcy), (ax, dax), (ay, day)] = self.pieces[at].map(|[a, b, c, d]| {
            let slope = if over == 0.0 { b + t * (2.0 * c + t * 3.0 * d) } else { 0.0 };
            (a + t * (b + t * (c + t * d)), slope)
        });
        let (ax, ay) = (ax.max(1e-3), ay.max(1e-3));
        let (per_x, per_y) = (ax.recip(), ay.recip());
        let (x, y, above) = ((p.x - cx) * per_x, (p.y - cy) * per_y, over / cap);

        let share = (t / (self.heights[at + 1] - self.heights[at])).clamp(0.0, 1.0);
        let square = self.squares[at] + (self.squares[at + 1] - self.squares[at]) * share;

        // k² = x² + y² − s x² y² / (x² + y²); how s changes along z matters little to the direction.
        let (xx, yy) = (x * x, y * y);
        let per_sum = (xx + yy).max(1e-18).recip();
        let (share_x, share_y) = (xx * per_sum, yy * per_sum);
        let flat = ((xx + yy) * (1.0 - square * share_x * share_y)).sqrt().max(1e-9);
        let per_flat = flat.recip();
        let gx = x * per_flat * (1.0 - square * share_y * share_y) * per_x;
        let gy = y * per_flat * (1.0 - square * share_x * share_x) * per_y;
        let mut gradient = Vec3::new(gx, gy, -gx * (dcx + x * dax) - gy * (dcy + y * day));
        let k = (flat * flat + above * above).sqrt();
        if over != 0.0 {
            gradient = (gradient * flat + Vec3::z() * (above / cap)) / k.max(1e-12);
        }
        let (distance, direction) = as_distance(k - 1.0, gradient, ax.min(ay).min(if over == 0.0 { ax } else { cap }));

        // Within the sections the nearest of the outside may be an end.
        let (below, above) = (self.heights[0] - self.caps[0] - p.z, p.z - self.heights[last] - self.caps[1]);
        let end = below.max(above);
        if over == 0.0 && end > distance {
            return (end, if below > above { -Vec3::z() } else { Vec3::z() });
        }
        (distance, direction)
    }
}

/// Cubic spline through values at increasing heights, level at both ends so that the rounded ends join without a
/// crease: coefficients a + b t + c t² + d t³ of each piece.
fn spline(heights: &[f64], value: impl Fn(usize) -> f64) -> Vec<[f64; 4]> {
    let last = heights.len() - 1;
    let step = |at: usize| heights[at + 1] - heights[at];
    let rise = |at: usize| (value(at + 1) - value(at)) / step(at);
    // Half second derivatives c of a tridiagonal system, by elimination.
    let row = |at: usize| match at {
        0 => (0.0, 2.0 * step(0), step(0), 3.0 * rise(0)),
        at if at == last => (step(at - 1), 2.0 * step(at - 1), 0.0, -3.0 * rise(at - 1)),
        at => (step(at - 1), 2.0 * (step(at - 1) + step(at)), step(at), 3.0 * (rise(at) - rise(at - 1))),
    };
    let mut upper = vec![0.0; last + 1];
    let mut bend = vec![0.0; last + 1];
    for at in 0..=last {
        let (below, middle, above, right) = row(at);
        let (carried, pushed) = if at == 0 { (0.0, 0.0) } else { (upper[at - 1], bend[at - 1]) };
        let pivot = middle - below * carried;
        upper[at] = above / pivot;
        bend[at] = (right - below * pushed) / pivot;
    }
    for at in (0..last).rev() {
        bend[at] -= upper[at] * bend[at + 1];
    }
    (0..last)
        .map(|at| {
            let b = rise(at) - step(at) * (2.0 * bend[at] + bend[at + 1]) / 3.0;
            [value(at), b, bend[at], (bend[at + 1] - bend[at]) / (3.0 * step(at))]
        })
        .collect()
}

/// What is cut off or hollowed out after the shapes have melted together.
#[derive(Clone, Debug)]
pub struct Cut {
    pub pose: Pose,
    pub tool: Tool,
    /// Width of the rounded edge, m.
    pub round: f64,
}

/// Kinds of cuts.
#[derive(Clone, Debug)]
pub enum Tool {
    /// Everything above the xy plane.
    Above,
    /// An ellipsoid by its half axes.
    Ball(Vec3),
}

/// Shapes that melt together.
///
/// With dᵢ the distance to shape i and hᵢ its blend, the value f solves Σ max(0, 1 + (f − dᵢ)/hᵢ)³ = 1: one shape
/// alone gives f = d; a shape further than h behind the nearest has no effect at all; the order does not matter.
#[derive(Clone, Debug)]
pub struct Form<'a> {
    shapes: Vec<&'a Shape>,
    cuts: Vec<&'a Cut>,
}

/// The distances of lofts are estimates; scaled by this they never exceed the true ones, as a [`Field`] must.
pub const SAFE: f64 = 0.8;
/// Shapes in one form.
const MOST: usize = 64;

impl<'a> Form<'a> {
    /// A form of up to 64 shapes.
    pub fn of(shapes: &'a [Shape], cuts: &'a [Cut]) -> Self {
        assert!(shapes.len() <= MOST, "a form has at most {MOST} shapes");
        Self { shapes: shapes.iter().collect(), cuts: cuts.iter().collect() }
    }

    /// A box around all shapes, W.
    pub fn bounds(&self) -> (Vec3, Vec3) {
        let mut low = Vec3::repeat(f64::INFINITY);
        let mut high = Vec3::repeat(f64::NEG_INFINITY);
        for shape in &self.shapes {
            let (least, greatest) = shape.solid.bounds();
            for corner in 0..8 {
                let local = Vec3::from_fn(|axis, _| if corner >> axis & 1 == 0 { least[axis] } else { greatest[axis] });
                let world = shape.axes * local + shape.origin;
                low = low.inf(&world);
                high = high.sup(&world);
            }
        }
        // Melting makes a form a little thicker than its shapes.
        (low.add_scalar(-mm(15.0)), high.add_scalar(mm(15.0)))
    }

    /// Distances to all shapes, in their order, and the least of them.
    fn distances(&self, at: Vec3, distances: &mut [f64; MOST]) -> f64 {
        let mut least = f64::INFINITY;
        for (distance, shape) in distances.iter_mut().zip(&self.shapes) {
            *distance = shape.distance(at);
            least = least.min(*distance);
        }
        least
    }

    /// f of the equation above, by Newton's method from the least distance, from where it falls towards the root.
    fn melt(&self, distances: &[f64; MOST], least: f64) -> f64 {
        // Most shapes are too far off to have a say.
        let mut near = [(0.0, 0.0); MOST];
        let mut count = 0;
        for (&distance, shape) in distances.iter().zip(&self.shapes) {
            if distance - least < shape.blend {
                near[count] = (distance, shape.per_blend);
                count += 1;
            }
        }
        if count < 2 {
            return least;
        }
        let mut f = least;
        for _ in 0..12 {
            let (mut sum, mut rise) = (-1.0, 0.0);
            for (distance, per_blend) in &near[..count] {
                let t = (1.0 + (f - distance) * per_blend).max(0.0);
                sum += t * t * t;
                rise += 3.0 * t * t * per_blend;
            }
            if sum < 1e-6 {
                break;
            }
            f -= sum / rise;
        }
        f
    }

    /// How much each shape has to say about the surface at a point, over a region `wider` times its blend.
    pub fn shares(&self, at: Vec3, wider: f64) -> impl Iterator<Item = (Zone, f64)> + '_ {
        let mut distances = [f64::INFINITY; MOST];
        let least = self.distances(at, &mut distances);
        let weight = move |distance: f64, blend: f64| (1.0 + (least - distance) / (wider * blend)).max(0.0).powi(2);
        let weights =
            move || self.shapes.iter().zip(distances).map(move |(shape, distance)| weight(distance, shape.blend));
        let sum: f64 = weights().sum();
        self.shapes
            .iter()
            .zip(weights())
            .filter(|(_, weight)| *weight > 0.0)
            .map(move |(shape, weight)| (shape.zone, weight / sum))
    }
}

impl Field for Form<'_> {
    fn value(&self, at: Vec3) -> f64 {
        let mut distances = [0.0; MOST];
        let least = self.distances(at, &mut distances);
        let mut value = self.melt(&distances, least);
        for cut in &self.cuts {
            value = cut.apply(at, (value, Vec3::zeros())).0;
        }
        SAFE * value
    }

    fn gradient(&self, at: Vec3) -> Slope {
        let mut distances = [0.0; MOST];
        let least = self.distances(at, &mut distances);
        let f = self.melt(&distances, least);
        let (mut direction, mut sum) = (Vec3::zeros(), 0.0);
        for (distance, shape) in distances.iter().zip(&self.shapes) {
            let t = 1.0 + (f - distance) * shape.per_blend;
            if t > 0.0 {
                let weight = t * t * shape.per_blend;
                direction += shape.slope(at).1 * weight;
                sum += weight;
            }
        }
        let mut slope = (f, direction / sum);
        for cut in &self.cuts {
            slope = cut.apply(at, slope);
        }
        (SAFE * slope.0, SAFE * slope.1)
    }

    fn near(&self, centre: Vec3, radius: f64, band: f64) -> Option<Self> {
        let reach = (radius + band) / SAFE;
        let within = |shape: &&&Shape| shape.distance(centre) < reach + shape.blend;
        let cuts = |cut: &&&Cut| cut.slope(centre).0 > -(reach + cut.round);
        Some(Self {
            shapes: self.shapes.iter().filter(within).copied().collect(),
            cuts: self.cuts.iter().filter(cuts).copied().collect(),
        })
    }
}

impl Cut {
    /// Distance into what is cut, and the direction that leads further into it, W.
    fn slope(&self, at: Vec3) -> Slope {
        let local = self.pose.inverse_transform_point(&at.into()).coords;
        let (depth, direction) = match self.tool {
            Tool::Above => (local.z, Vec3::z()),
            Tool::Ball(half) => {
                let (value, direction) = Solid::Ball(half).slope(local);
                (-value, -direction)
            }
        };
        (depth, self.pose.rotation * direction)
    }

    /// The greater of the form's value and the distance into what is cut, with a rounded edge.
    fn apply(&self, at: Vec3, form: Slope) -> Slope {
        let (depth, direction) = self.slope(at);
        let apart = ((form.0 - depth) / self.round).clamp(-1.0, 1.0);
        // From 0 (form alone) to 1 (cut alone).
        let share = 0.5 * (1.0 - apart);
        let greater = form.0.max(depth) + 0.25 * self.round * (1.0 - apart.abs()).powi(2);
        (greater, form.1 * (1.0 - share) + direction * share)
    }
}
