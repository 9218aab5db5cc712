//! A boundary for the eye: where something stands in the way it is known point by point, and the steps of the lattice show;
//! here they are taken out of it.

use super::{Surface, surface::normals};
use crate::geometry::{Mesh, Vec3};

/// How often corners are moved towards their neighbours' mean and back.
const PASSES: usize = 6;
/// By which share of the way, there and back: waves longer than about ten steps stay (Taubin 1995).
const THERE: f64 = 0.55;
const BACK: f64 = -0.57;
/// No corner ends up further from where it was than this, in steps of the lattice.
const FURTHEST: f64 = 0.75;

impl Surface {
    /// The same boundary with even edges where something is in the way, for drawing only: corners that end there, and
    /// those two edges about them, move by less than a step.
    #[must_use]
    pub fn smoothed(mut self) -> Self {
        let mut moves: Vec<bool> = self.ends.iter().map(Option::is_some).collect();
        if self.step <= 0.0 || !moves.contains(&true) {
            return self;
        }
        for _ in 0..2 {
            let near = moves.clone();
            for triangle in &self.mesh.triangles {
                if triangle.iter().any(|&corner| near[corner as usize]) {
                    for &corner in triangle {
                        moves[corner as usize] = true;
                    }
                }
            }
        }
        let before = self.mesh.positions.clone();
        for _ in 0..PASSES {
            for share in [THERE, BACK] {
                moved(&mut self.mesh, &moves, share);
            }
        }
        let most = FURTHEST * self.step;
        for (at, from) in self.mesh.positions.iter_mut().zip(&before) {
            let off = *at - from;
            let far = off.norm();
            if far > most {
                *at = from + off * (most / far);
            }
        }
        self.mesh.normals = normals(&self.mesh);
        self
    }
}

/// Moves some corners by a share of the way to the mean of their neighbours.
fn moved(mesh: &mut Mesh, which: &[bool], share: f64) {
    let mut means = vec![(Vec3::zeros(), 0.0); mesh.positions.len()];
    for triangle in &mesh.triangles {
        for i in 0..3 {
            let (at, other) = (triangle[i] as usize, triangle[(i + 1) % 3] as usize);
            // Each edge is met from both sides: here one end takes the other in.
            means[at].0 += mesh.positions[other];
            means[at].1 += 1.0;
        }
    }
    for ((at, (sum, count)), which) in mesh.positions.iter_mut().zip(means).zip(which) {
        if *which && count > 0.0 {
            *at += (sum / count - *at) * share;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of 40 × 40 corners 10 mm apart, up and down by turns by 3 mm where something is in the way: what is left
    /// of that is a tenth; where nothing is, corners stay.
    #[test]
    fn steps_go_where_something_is_in_the_way_and_nothing_else_moves() {
        let step = 0.01;
        let side = 40_u32;
        let blocked = |i: u32| i < side / 2;
        let mut mesh = Mesh::default();
        let mut ends = Vec::new();
        for i in 0..side {
            for j in 0..side {
                let rough = if blocked(i) { if (i + j) % 2 == 0 { 0.003 } else { -0.003 } } else { 0.0 };
                mesh.positions.push(Vec3::new(f64::from(i) * step, f64::from(j) * step, rough));
                ends.push(blocked(i).then_some(0));
                if i > 0 && j > 0 {
                    let (a, b, c, d) = ((i - 1) * side + j - 1, i * side + j - 1, i * side + j, (i - 1) * side + j);
                    mesh.triangles.extend([[a, b, c], [a, c, d]]);
                }
            }
        }
        let rough = Surface { mesh, ends, step, ..Surface::default() };
        let even = rough.clone().smoothed();
        let inner = |i: u32, j: u32| even.mesh.positions[(i * side + j) as usize];
        for i in 3..side / 2 - 4 {
            for j in 3..side - 3 {
                assert!(inner(i, j).z.abs() < 0.000_6, "{i} {j} {}", inner(i, j).z);
            }
        }
        for (at, from) in even.mesh.positions.iter().zip(&rough.mesh.positions).skip((side * (side / 2 + 3)) as usize) {
            assert!((at - from).norm() < 1e-12);
        }
    }
}
