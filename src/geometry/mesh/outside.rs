//! Where it is plainly outside: cells of a coarse lattice that no triangle comes near and from which a way leads out.

use super::TriangleMesh;
use crate::geometry::Vec3;

/// Cells along the longest side of a surface.
const ALONG: f64 = 48.0;

/// The box that holds a surface, in cells; everything beyond it is outside too.
#[derive(Clone, Debug)]
pub(super) struct Outside {
    low: Vec3,
    high: Vec3,
    /// Side of a cell, m.
    cell: f64,
    count: [usize; 3],
    /// Cells from which a way leads out.
    free: Vec<bool>,
}

impl Outside {
    pub(super) fn of(mesh: &TriangleMesh) -> Self {
        let [low, high] = mesh.extent();
        let cell = ((high - low).max() / ALONG).max(1e-6);
        let count = [0, 1, 2].map(|i| ((high[i] - low[i]) / cell).ceil().max(1.0) as usize);
        let mut own = Self { low, high, cell, count, free: Vec::new() };
        let crossed = own.crossed(mesh);
        own.free = own.flooded(&crossed);
        own
    }

    pub(super) fn has(&self, point: Vec3) -> bool {
        let is_beyond = (0..3).any(|i| !(self.low[i]..=self.high[i]).contains(&point[i]));
        is_beyond || self.free[self.at([0, 1, 2].map(|i| self.step(i, point[i])))]
    }

    /// The cell of a coordinate along an axis.
    fn step(&self, axis: usize, value: f64) -> usize {
        (((value - self.low[axis]) / self.cell).max(0.0) as usize).min(self.count[axis] - 1)
    }

    const fn at(&self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.count[1] + j) * self.count[0] + i
    }

    /// Cells that the box of a triangle touches.
    fn crossed(&self, mesh: &TriangleMesh) -> Vec<bool> {
        let mut crossed = vec![false; self.count.iter().product()];
        let slack = 1e-6 * self.cell;
        for triangle in 0..mesh.triangles().len() as u32 {
            let [a, b, c] = mesh.corners(triangle);
            let (least, most) = (a.inf(&b).inf(&c), a.sup(&b).sup(&c));
            let [first, last] = [(least, -slack), (most, slack)]
                .map(|(corner, slack)| [0, 1, 2].map(|axis| self.step(axis, corner[axis] + slack)));
            for k in first[2]..=last[2] {
                for j in first[1]..=last[1] {
                    for i in first[0]..=last[0] {
                        crossed[self.at([i, j, k])] = true;
                    }
                }
            }
        }
        crossed
    }

    /// Cells that hang together with the outmost ones that are not crossed.
    fn flooded(&self, crossed: &[bool]) -> Vec<bool> {
        let mut outside = vec![false; crossed.len()];
        let mut open = Vec::new();
        let mut reach = |cell: [usize; 3], open: &mut Vec<[usize; 3]>| {
            let at = self.at(cell);
            if !crossed[at] && !outside[at] {
                outside[at] = true;
                open.push(cell);
            }
        };
        let is_outmost = |cell: [usize; 3]| (0..3).any(|axis| cell[axis] == 0 || cell[axis] == self.count[axis] - 1);
        for k in 0..self.count[2] {
            for j in 0..self.count[1] {
                for i in (0..self.count[0]).filter(|&i| is_outmost([i, j, k])) {
                    reach([i, j, k], &mut open);
                }
            }
        }
        while let Some(cell) = open.pop() {
            for axis in 0..3 {
                let mut beside = cell;
                if cell[axis] > 0 {
                    beside[axis] = cell[axis] - 1;
                    reach(beside, &mut open);
                }
                if cell[axis] + 1 < self.count[axis] {
                    beside[axis] = cell[axis] + 1;
                    reach(beside, &mut open);
                }
            }
        }
        outside
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cup of side 1 with walls of 0.1, open at the top, by hand: in its hollow it is outside, in its walls not, and far
    /// from both it is told.
    #[test]
    fn the_hollow_of_a_cup_is_outside_and_its_walls_are_not() {
        // Outer and inner corners, each round the ring from below to above; the inner bottom lies at 0.1.
        let ring = |half: f32, z: f32| [[-half, -half, z], [half, -half, z], [half, half, z], [-half, half, z]];
        let points: Vec<[f32; 3]> =
            [ring(0.5, 0.0), ring(0.5, 1.0), ring(0.4, 1.0), ring(0.4, 0.1)].into_iter().flatten().collect();
        let mut triangles = vec![[0, 2, 1], [0, 3, 2], [12, 13, 14], [12, 14, 15]];
        for row in 0..3_u32 {
            for i in 0..4 {
                let [a, b] = [4 * row + i, 4 * row + (i + 1) % 4];
                triangles.extend([[a, b, b + 4], [a, b + 4, a + 4]]);
            }
        }
        let mesh = TriangleMesh::new(&points, &triangles);
        assert!(mesh.state().is_closed(), "{:?}", mesh.state());
        let has = |x: f64, y: f64, z: f64| mesh.is_far_outside(Vec3::new(x, y, z));
        assert!(has(0.0, 0.0, 0.5) && has(0.3, -0.3, 0.9) && has(0.0, 0.0, 1.5) && has(-3.0, 0.0, 0.5));
        for step in 0..200 {
            let share = 0.01 + 0.98 * f64::from(step) / 199.0;
            assert!(!has(0.45, share - 0.5, share) && !has(share - 0.5, -0.45, share));
            assert!(!has(0.8 * (share - 0.5), 0.3, 0.05));
        }
    }
}
