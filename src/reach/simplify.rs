//! A boundary with fewer corners: those that lie in a plane, near enough, become one.
//!
//! Corners are gathered by cubes of twice, four and eight times the lattice's step. Where all of a cube's lie within the
//! tolerance of one plane, look the same way and end at the same thing, the one nearest to their middle stands for them.
//! Triangles follow their corners; what has lost its area goes. Each cube holds one sheet of the boundary then, so that it
//! stays closed.

use std::collections::HashMap;

use nalgebra::Matrix3;

use super::Surface;
use crate::geometry::{Vec3, unit_or};

/// Cubes, in steps of the lattice.
const CUBES: [f64; 3] = [2.0, 4.0, 8.0];
/// Normals in a cube differ from their mean by no more than this, as a cosine: 25°.
const LIKE: f64 = 0.906;

/// What a cube holds.
#[derive(Clone, Copy)]
struct Heap {
    count: f64,
    sum: Vec3,
    squares: Matrix3<f64>,
    way: Vec3,
    /// The first corner in it.
    first: u32,
    /// The one nearest to their middle, which stands for all, and how far from that it is.
    nearest: (f64, u32),
    /// One sheet that ends at one thing.
    alike: bool,
}

impl Surface {
    /// The same boundary to `tolerance` (m) with as few corners as its curvature lets it have.
    #[must_use]
    pub fn simplified(self, tolerance: f64) -> Self {
        let step = self.step;
        let mut out = self;
        for cube in CUBES {
            let before = out.mesh.positions.len();
            out = out.gathered(cube * step, tolerance);
            // Curved more than its corners are apart.
            if out.mesh.positions.len() * 10 > before * 9 {
                break;
            }
        }
        // It is kept for long.
        out.mesh.positions.shrink_to_fit();
        out.mesh.normals.shrink_to_fit();
        out.mesh.triangles.shrink_to_fit();
        out.ends.shrink_to_fit();
        out
    }

    /// Corners in cubes of a size become one where they may.
    fn gathered(&self, size: f64, tolerance: f64) -> Self {
        let mesh = &self.mesh;
        let key = |at: &Vec3| [0, 1, 2].map(|i| (at[i] / size).floor() as i32);
        let mut heaps: HashMap<[i32; 3], Heap> = HashMap::with_capacity(mesh.positions.len() / 5);
        for (index, (at, way)) in mesh.positions.iter().zip(&mesh.normals).enumerate() {
            // Seen from the cube: squares keep their digits.
            let place = key(at);
            let off = at - Vec3::from(place.map(f64::from)) * size;
            let heap = heaps.entry(place).or_insert(Heap {
                count: 0.0,
                sum: Vec3::zeros(),
                squares: Matrix3::zeros(),
                way: Vec3::zeros(),
                first: index as u32,
                nearest: (f64::INFINITY, index as u32),
                alike: true,
            });
            heap.count += 1.0;
            heap.sum += off;
            heap.squares += off * off.transpose();
            heap.way += way;
            heap.alike &= self.ends[index] == self.ends[heap.first as usize];
        }
        for (index, at) in mesh.positions.iter().enumerate() {
            let place = key(at);
            if let Some(heap) = heaps.get_mut(&place) {
                let off = (at - Vec3::from(place.map(f64::from)) * size - heap.sum / heap.count).norm_squared();
                if off < heap.nearest.0 {
                    heap.nearest = (off, index as u32);
                }
            }
        }
        // How far corners lie off the plane across the mean normal, root mean square.
        let flat = |heap: &Heap| {
            let (middle, way) = (heap.sum / heap.count, unit_or(heap.way, Vec3::z()));
            let across = way.dot(&(heap.squares * way)) / heap.count - way.dot(&middle).powi(2);
            heap.alike && heap.way.norm() >= LIKE * heap.count && across.max(0.0).sqrt() <= 0.5 * tolerance
        };
        let mut to: Vec<u32> = Vec::with_capacity(mesh.positions.len());
        let mut out = Self { barriers: self.barriers.clone(), step: self.step, ..Self::default() };
        let mut placed: HashMap<u32, u32> = HashMap::with_capacity(heaps.len());
        for (index, at) in mesh.positions.iter().enumerate() {
            let place = key(at);
            let merged = heaps.get(&place).filter(|heap| heap.count > 1.0 && flat(heap));
            let own = out.mesh.positions.len() as u32;
            let number = merged.map_or(own, |heap| *placed.entry(heap.first).or_insert(own));
            if number == own {
                // A corner of the boundary stays one: their mean would lie inside of what is round.
                let stands = merged.map_or(index, |heap| heap.nearest.1 as usize);
                let way = merged.map_or(mesh.normals[index], |heap| unit_or(heap.way, Vec3::z()));
                out.mesh.positions.push(mesh.positions[stands]);
                out.mesh.normals.push(way);
                out.ends.push(self.ends[index]);
            }
            to.push(number);
        }
        let moved = mesh.triangles.iter().map(|triangle| triangle.map(|corner| to[corner as usize]));
        out.mesh.triangles = moved.filter(|[a, b, c]| a != b && b != c && c != a).collect();
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::isosurface;

    fn of(field: impl Fn(Vec3) -> f64 + Send + Sync, step: f64) -> Surface {
        let mesh = isosurface(&field, Vec3::repeat(-0.5), Vec3::repeat(0.5), step);
        Surface { ends: vec![None; mesh.positions.len()], mesh, step, ..Surface::default() }
    }

    /// A ball of 400 mm: corners stay within a millimetre of it, a fifth of them is left at most, it stays closed, and it
    /// holds 4/3 π r³ to 0.5 %.
    #[test]
    fn a_ball_keeps_its_shape_with_far_fewer_corners() {
        let ball = of(|p: Vec3| p.norm() - 0.4, 0.01);
        let few = ball.clone().simplified(0.0005);
        assert!(few.mesh.positions.len() * 5 < ball.mesh.positions.len(), "{}", few.mesh.positions.len());
        let off = |at: &Vec3| (at.norm() - 0.4).abs();
        assert!(few.mesh.positions.iter().map(off).fold(0.0, f64::max) < 0.001);
        let volume = 4.0 / 3.0 * std::f64::consts::PI * 0.4_f64.powi(3);
        assert!((few.volume() - volume).abs() < 0.005 * volume, "{} for {volume}", few.volume());
        let mut edges: HashMap<(u32, u32), i32> = HashMap::new();
        for &[a, b, c] in &few.mesh.triangles {
            for (from, to) in [(a, b), (b, c), (c, a)] {
                *edges.entry((from.min(to), from.max(to))).or_default() += if from < to { 1 } else { -1 };
            }
        }
        assert!(edges.values().all(|&sum| sum == 0), "every edge is gone along as often as back");
    }

    /// Two balls that end at different things keep the line between them: no corner stands for both.
    #[test]
    fn what_ends_a_boundary_stays_apart() {
        let mut ball = of(|p: Vec3| p.norm() - 0.4, 0.01);
        ball.ends = ball.mesh.positions.iter().map(|at| (at.z > 0.0).then_some(0)).collect();
        let few = ball.simplified(0.0005);
        let crossed = few.mesh.positions.iter().zip(&few.ends).any(|(at, end)| (at.z > 0.0) != end.is_some());
        assert!(!crossed && few.ends.contains(&Some(0)) && few.ends.contains(&None));
    }
}
