//! Section curves: where a plane cuts a zone's boundary, to be drawn on cardboard.

use std::collections::HashMap;

use super::Surface;
use crate::{
    geometry::{Vec3, unit_or},
    units::mm,
};

/// A plane with its own axes: `right` and `up` lie in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// A point of it, W: the origin of its coordinates.
    pub origin: Vec3,
    /// Its first axis, W, unit.
    pub right: Vec3,
    /// Its second axis, W, unit, normal to the first.
    pub up: Vec3,
}

/// A curve in a plane's coordinates, m.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Its points; the last is joined to the first where it is closed.
    pub points: Vec<[f64; 2]>,
    /// Whether it is closed, as it is unless the surface has a hole.
    pub closed: bool,
}

impl Plane {
    /// Seen from the driver's left at some distance to the left (m): x to the left as the driver faces left in a side
    /// view, z up.
    pub fn side(left: f64) -> Self {
        Self { origin: Vec3::y() * left, right: Vec3::x(), up: Vec3::z() }
    }

    /// Seen from above at some height (m): x to the right, y up.
    pub fn top(height: f64) -> Self {
        Self { origin: Vec3::z() * height, right: Vec3::x(), up: Vec3::y() }
    }

    /// Seen by the driver at some distance forward (m): −y to the right, z up.
    pub fn front(forward: f64) -> Self {
        Self { origin: Vec3::x() * forward, right: -Vec3::y(), up: Vec3::z() }
    }

    /// Any plane through a point, given its normal; `up` is as near to the world's up as it can be.
    pub fn through(origin: Vec3, normal: Vec3) -> Self {
        let normal = unit_or(normal, Vec3::y());
        let flat = Vec3::z() - normal * normal.z;
        let up = unit_or(flat, Vec3::x());
        Self { origin, right: up.cross(&normal), up }
    }

    fn normal(&self) -> Vec3 {
        self.right.cross(&self.up)
    }

    /// A point of W in the plane's coordinates.
    pub fn seen(&self, point: Vec3) -> [f64; 2] {
        let off = point - self.origin;
        [off.dot(&self.right), off.dot(&self.up)]
    }

    /// A point of the plane in W.
    pub fn out(&self, [right, up]: [f64; 2]) -> Vec3 {
        self.origin + self.right * right + self.up * up
    }
}

/// Points of a curve nearer than this to the line through their neighbours are left out, m.
const FLAT: f64 = mm(0.3);

/// The curves in which a plane cuts a surface.
pub fn section(surface: &Surface, plane: &Plane) -> Vec<Curve> {
    let normal = plane.normal();
    // Never on the plane itself: each triangle is then cut twice or not at all.
    let height: Vec<f64> = surface
        .mesh
        .positions
        .iter()
        .map(|point| {
            let height = (point - plane.origin).dot(&normal);
            if height.abs() < 1e-9 { 1e-9 } else { height }
        })
        .collect();
    // Each cut edge of the mesh is a point of the curve; each cut triangle joins two of them.
    let mut places: HashMap<(u32, u32), usize> = HashMap::new();
    let mut points: Vec<[f64; 2]> = Vec::new();
    // An edge that four triangles share is gone through twice.
    let mut next: Vec<Vec<usize>> = Vec::new();
    const NONE: usize = usize::MAX;
    for triangle in &surface.mesh.triangles {
        let mut ends = [NONE; 2];
        for i in 0..3 {
            let (a, b) = (triangle[i], triangle[(i + 1) % 3]);
            let (ha, hb) = (height[a as usize], height[b as usize]);
            if (ha > 0.0) == (hb > 0.0) {
                continue;
            }
            let key = (a.min(b), a.max(b));
            let at = *places.entry(key).or_insert_with(|| {
                let (p, q) = (surface.mesh.positions[a as usize], surface.mesh.positions[b as usize]);
                points.push(plane.seen(p + (q - p) * (ha / (ha - hb))));
                next.push(Vec::with_capacity(1));
                points.len() - 1
            });
            // The way out of the upper half comes first, so that curves run one way round.
            ends[usize::from(hb > 0.0)] = at;
        }
        if let [from, to] = ends
            && from != NONE
            && to != NONE
        {
            next[from].push(to);
        }
    }
    let mut begun = vec![false; points.len()];
    for &to in next.iter().flatten() {
        begun[to] = true;
    }
    // Open ends first, then rings.
    let open: Vec<usize> = (0..points.len()).filter(|&at| !begun[at]).collect();
    let mut curves = Vec::new();
    for start in open.into_iter().chain(0..points.len()) {
        let mut line = vec![points[start]];
        let mut at = start;
        while let Some(on) = next[at].pop() {
            at = on;
            if at == start {
                break;
            }
            line.push(points[at]);
        }
        let closed = at == start;
        if line.len() > 2 {
            curves.push(Curve { points: thinned(&line), closed });
        }
    }
    curves
}

/// A line of points without those that say nothing (Ramer 1972, Douglas and Peucker 1973).
fn thinned(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut keep = vec![false; points.len()];
    // A ring has no ends: it is halved first.
    let middle = points.len() / 2;
    for at in [0, middle, points.len() - 1] {
        keep[at] = true;
    }
    let mut spans = vec![(0, middle), (middle, points.len() - 1)];
    while let Some((from, to)) = spans.pop() {
        if to < from + 2 {
            continue;
        }
        let (a, b) = (points[from], points[to]);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = dx.hypot(dy).max(1e-12);
        let off = |p: [f64; 2]| {
            let along = (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (length * length)).clamp(0.0, 1.0);
            (p[0] - a[0] - along * dx).hypot(p[1] - a[1] - along * dy)
        };
        let worst = (from + 1..to).max_by(|&i, &j| off(points[i]).total_cmp(&off(points[j]))).unwrap_or(from + 1);
        if off(points[worst]) > FLAT {
            keep[worst] = true;
            spans.extend([(from, worst), (worst, to)]);
        }
    }
    points.iter().zip(keep).filter(|(_, keep)| *keep).map(|(point, _)| *point).collect()
}

impl Curve {
    /// Length, m.
    pub fn length(&self) -> f64 {
        let open: f64 = self.points.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
        let last = self.points.first().zip(self.points.last()).filter(|_| self.closed);
        open + last.map_or(0.0, |(first, last)| distance(*first, *last))
    }

    /// What a closed curve encloses, m².
    pub fn area(&self) -> f64 {
        let n = self.points.len();
        let twice: f64 = (0..n)
            .map(|i| {
                let (a, b) = (self.points[i], self.points[(i + 1) % n]);
                a[0] * b[1] - a[1] * b[0]
            })
            .sum();
        0.5 * twice.abs()
    }

    /// Where it crosses the line at a distance to the right, as heights in order, m.
    pub fn heights_at(&self, right: f64) -> Vec<f64> {
        let n = self.points.len();
        let pairs = if self.closed { n } else { n.saturating_sub(1) };
        let mut out: Vec<f64> = (0..pairs)
            .filter_map(|i| {
                let (a, b) = (self.points[i], self.points[(i + 1) % n]);
                ((a[0] > right) != (b[0] > right)).then(|| a[1] + (b[1] - a[1]) * (right - a[0]) / (b[0] - a[0]))
            })
            .collect();
        out.sort_by(f64::total_cmp);
        out
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::isosurface;

    /// A ball of 200 mm cut 120 mm off its middle: a circle of √(200² − 120²) = 160 mm.
    #[test]
    fn a_ball_is_cut_in_a_circle() {
        let middle = Vec3::new(0.3, -0.1, 0.5);
        let mesh = isosurface(&move |p: Vec3| (p - middle).norm() - 0.2, Vec3::repeat(-1.0), Vec3::repeat(1.0), 0.01);
        let surface = Surface { ends: vec![None; mesh.positions.len()], mesh, ..Surface::default() };
        for plane in [
            Plane::side(middle.y + 0.12),
            Plane::top(middle.z - 0.12),
            Plane::front(middle.x + 0.12),
            Plane::through(middle + Vec3::new(0.072, 0.096, 0.0), Vec3::new(0.6, 0.8, 0.0)),
        ] {
            let curves = section(&surface, &plane);
            assert_eq!(curves.len(), 1);
            assert!(curves[0].closed);
            let circle = std::f64::consts::PI * 0.16;
            assert!((curves[0].length() - 2.0 * circle).abs() < 0.003 * circle);
            assert!((curves[0].area() - circle * 0.16).abs() < 0.005 * circle * 0.16);
            let centre = plane.seen(middle);
            let heights = curves[0].heights_at(centre[0]);
            assert!((heights[1] - heights[0] - 0.32).abs() < 1e-3 && (heights[0] + 0.16 - centre[1]).abs() < 1e-3);
        }
    }
}
