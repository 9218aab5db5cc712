//! Surfaces from fields: where a field of signed distance is zero, as one closed mesh of triangles.

use std::collections::HashMap;

use rayon::prelude::*;

use super::{Vec3, unit_or};

/// A function of space that is negative inside a body and positive outside.
///
/// It must not change faster than distance does (|f(p) − f(q)| ≤ |p − q|); whole regions are left out on the
/// strength of it. Any `Fn(Vec3) -> f64` is a field.
pub trait Field: Send + Sync {
    /// The value at a point, m.
    fn value(&self, at: Vec3) -> f64;

    /// Value and gradient at a point; by differences over a micrometre unless the field knows better.
    fn gradient(&self, at: Vec3) -> (f64, Vec3) {
        const STEP: f64 = 1e-6;
        const CORNERS: [[f64; 3]; 4] = [[1.0, 1.0, 1.0], [1.0, -1.0, -1.0], [-1.0, 1.0, -1.0], [-1.0, -1.0, 1.0]];
        let mut value = 0.0;
        let mut gradient = Vec3::zeros();
        for corner in CORNERS.map(Vec3::from) {
            let there = self.value(at + corner * STEP);
            value += there / 4.0;
            gradient += corner * (there / (4.0 * STEP));
        }
        (value, gradient)
    }

    /// A cheaper field, if there is one, that within `radius` of `centre` has the same values as this one where they
    /// lie between −`band` and `band`; elsewhere its values only lie outside them too.
    fn near(&self, _centre: Vec3, _radius: f64, _band: f64) -> Option<Self>
    where
        Self: Sized,
    {
        None
    }
}

impl<F: Fn(Vec3) -> f64 + Send + Sync> Field for F {
    fn value(&self, at: Vec3) -> f64 {
        self(at)
    }
}

/// A surface of triangles.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corners, m.
    pub positions: Vec<Vec3>,
    /// Unit normals at the corners, pointing outside.
    pub normals: Vec<Vec3>,
    /// Corners of each triangle, anticlockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// Cells along an edge of a block.
const BLOCK: usize = 8;
/// Corners along an edge of a block.
const CORNERS: usize = BLOCK + 1;
/// A cell without a corner of the mesh.
const NONE: u32 = u32::MAX;

/// The zero surface of `field` in the box from `low` to `high`, with edges about `cell` long.
///
/// Naive surface nets: each cell of a cubic lattice that the surface crosses holds one corner of the mesh, moved onto
/// the surface along the gradient; each crossed edge of the lattice joins the four cells around it. Closed where the
/// surface lies inside the box; parts thinner than a cell are lost. The cost grows with the surface, not with the box.
pub fn isosurface(field: &impl Field, low: Vec3, high: Vec3, cell: f64) -> Mesh {
    let lattice = Lattice::over(low, high, cell);
    let mut blocks = Vec::new();
    lattice.descend(field, [0; 3], lattice.root, &mut blocks);
    let patches: Vec<Patch> = blocks
        .par_iter()
        .map(|(block, local)| match local {
            Some(local) => lattice.patch(local, *block),
            None => lattice.patch(field, *block),
        })
        .collect();

    // Number the corners block by block, then join them across blocks.
    let mut mesh = Mesh::default();
    let mut first = Vec::with_capacity(patches.len());
    for patch in &patches {
        first.push(mesh.positions.len() as u32);
        mesh.positions.extend_from_slice(&patch.positions);
        mesh.normals.extend_from_slice(&patch.normals);
    }
    let places: HashMap<[usize; 3], usize> = blocks.iter().enumerate().map(|(at, (block, _))| (*block, at)).collect();
    let corner = |cell: [usize; 3]| {
        let at = *places.get(&cell.map(|x| x / BLOCK))?;
        let local = patches[at].cells[cell_index(cell.map(|x| x % BLOCK))];
        (local != NONE).then(|| first[at] + local)
    };
    for patch in &patches {
        for quad in &patch.quads {
            // A cell is missing only where the field breaks its promise or the box cuts the surface.
            if let [Some(a), Some(b), Some(c), Some(d)] = quad.map(corner) {
                let at = |index: u32| mesh.positions[index as usize];
                if (at(a) - at(c)).norm_squared() <= (at(b) - at(d)).norm_squared() {
                    mesh.triangles.extend([[a, b, c], [a, c, d]]);
                } else {
                    mesh.triangles.extend([[a, b, d], [b, c, d]]);
                }
            }
        }
    }
    mesh
}

/// The cubic lattice over a box.
struct Lattice {
    low: Vec3,
    cell: f64,
    /// Cells along each axis.
    cells: [usize; 3],
    /// Cells along the edge of the cube that holds them all: a power of two.
    root: usize,
}

/// The mesh in one block.
struct Patch {
    positions: Vec<Vec3>,
    normals: Vec<Vec3>,
    /// Corner of each cell, or [`NONE`].
    cells: Vec<u32>,
    /// The four cells around each crossed edge, anticlockwise seen from outside.
    quads: Vec<[[usize; 3]; 4]>,
}

const fn cell_index([i, j, k]: [usize; 3]) -> usize {
    (k * BLOCK + j) * BLOCK + i
}

impl Lattice {
    fn over(low: Vec3, high: Vec3, cell: f64) -> Self {
        // One cell of air on each side, so that a surface on the boundary still closes.
        let cells: [usize; 3] =
            std::array::from_fn(|axis| ((high[axis] - low[axis]) / cell).ceil().max(1.0) as usize + 2);
        let most = cells.into_iter().fold(BLOCK, usize::max);
        Self { low: low.add_scalar(-cell), cell, cells, root: most.next_power_of_two() }
    }

    fn corner(&self, index: [usize; 3]) -> Vec3 {
        self.low + Vec3::from(index.map(|x| x as f64)) * self.cell
    }

    /// Values within this of the surface decide where it runs.
    fn band(&self) -> f64 {
        2.0 * self.cell
    }

    /// Collects the blocks in the cube of `size` cells at `from` that the surface may cross.
    fn descend<F: Field>(&self, field: &F, from: [usize; 3], size: usize, blocks: &mut Vec<([usize; 3], Option<F>)>) {
        if (0..3).any(|axis| from[axis] >= self.cells[axis]) {
            return;
        }
        let centre = self.corner(from.map(|x| x + size / 2));
        let radius = 0.5 * 3_f64.sqrt() * self.cell * size as f64;
        if field.value(centre).abs() > radius {
            return;
        }
        let local = field.near(centre, radius, self.band());
        if size == BLOCK {
            blocks.push((from.map(|x| x / BLOCK), local));
            return;
        }
        let half = size / 2;
        for child in 0..8 {
            let from = std::array::from_fn(|axis| from[axis] + half * (child >> axis & 1));
            self.descend(local.as_ref().unwrap_or(field), from, half, blocks);
        }
    }

    fn patch<F: Field>(&self, field: &F, block: [usize; 3]) -> Patch {
        let mut samples = Samples { lattice: self, from: block.map(|x| x * BLOCK), values: [f64::NAN; CORNERS.pow(3)] };
        let mut patch =
            Patch { positions: Vec::new(), normals: Vec::new(), cells: vec![NONE; BLOCK.pow(3)], quads: Vec::new() };
        samples.visit(field, [0; 3], BLOCK, &mut patch);
        patch
    }
}

/// Corner values of a block, each computed when it is first asked for.
struct Samples<'a> {
    lattice: &'a Lattice,
    from: [usize; 3],
    values: [f64; CORNERS.pow(3)],
}

impl Samples<'_> {
    fn global(&self, local: [usize; 3]) -> [usize; 3] {
        std::array::from_fn(|axis| self.from[axis] + local[axis])
    }

    fn at(&mut self, field: &impl Field, local: [usize; 3]) -> f64 {
        let [i, j, k] = local;
        let index = (k * CORNERS + j) * CORNERS + i;
        if self.values[index].is_nan() {
            self.values[index] = field.value(self.lattice.corner(self.global(local)));
        }
        self.values[index]
    }

    /// Meshes the cube of `size` cells at `from`, halving it where the surface may cross it.
    fn visit<F: Field>(&mut self, field: &F, from: [usize; 3], size: usize, patch: &mut Patch) {
        if size == 1 {
            self.cell(field, from, patch);
            return;
        }
        let half = size / 2;
        let middle = from.map(|x| x + half);
        let radius = 0.5 * 3_f64.sqrt() * self.lattice.cell * size as f64;
        if self.at(field, middle).abs() > radius {
            return;
        }
        let local = if size == BLOCK / 2 {
            field.near(self.lattice.corner(self.global(middle)), radius, self.lattice.band())
        } else {
            None
        };
        for child in 0..8 {
            let from = std::array::from_fn(|axis| from[axis] + half * (child >> axis & 1));
            self.visit(local.as_ref().unwrap_or(field), from, half, patch);
        }
    }

    fn cell(&mut self, field: &impl Field, from: [usize; 3], patch: &mut Patch) {
        let corner = |which: usize| std::array::from_fn(|axis| from[axis] + (which >> axis & 1));
        let values: [f64; 8] = std::array::from_fn(|which| self.at(field, corner(which)));
        let inside = values.map(|value| value < 0.0);
        if inside.iter().all(|&x| x == inside[0]) {
            return;
        }

        // The corner of the mesh: the mean of where the surface crosses the edges of the cell, moved onto it.
        let (mut sum, mut count) = (Vec3::zeros(), 0.0);
        for axis in 0..3 {
            for near in (0..8).filter(|near| near >> axis & 1 == 0) {
                let far = near | 1 << axis;
                if inside[near] != inside[far] {
                    let share = values[near] / (values[near] - values[far]);
                    let mut place = Vec3::from([near & 1, near >> 1 & 1, near >> 2].map(|x| x as f64));
                    place[axis] = share;
                    sum += place;
                    count += 1.0;
                }
            }
        }
        let cell = self.lattice.cell;
        let origin = self.lattice.corner(self.global(from));
        let mut place = origin + sum * (cell / count);
        let mut normal = Vec3::z();
        for _ in 0..2 {
            let (value, gradient) = field.gradient(place);
            normal = unit_or(gradient, normal);
            let step = value / gradient.norm().max(0.2);
            let moved = place - normal * step;
            // Kept in its cell, so that neighbours stay in order.
            place = Vec3::from_fn(|axis, _| moved[axis].clamp(origin[axis] - 0.1 * cell, origin[axis] + 1.1 * cell));
            // What is left after a short step is its square over the surface's radius.
            if step.abs() < 0.05 * cell {
                break;
            }
        }
        patch.cells[cell_index(from)] = patch.positions.len() as u32;
        patch.positions.push(place);
        patch.normals.push(normal);

        // Each edge of the lattice belongs to the cell at whose first corner it begins.
        let here = self.global(from);
        for axis in 0..3 {
            if inside[0] == inside[1 << axis] {
                continue;
            }
            let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
            if here[u] == 0 || here[v] == 0 {
                continue;
            }
            let around = |back_u: usize, back_v: usize| {
                let mut cell = here;
                cell[u] -= back_u;
                cell[v] -= back_v;
                cell
            };
            let mut quad = [around(1, 1), around(0, 1), around(0, 0), around(1, 0)];
            if !inside[0] {
                quad.reverse();
            }
            patch.quads.push(quad);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    struct Measures {
        area: f64,
        volume: f64,
        euler: usize,
    }

    /// Area, volume and Euler number of a mesh, having seen that every edge is used once in each direction.
    fn measure(mesh: &Mesh) -> Measures {
        let mut edges: HashMap<(u32, u32), u32> = HashMap::new();
        let (mut area, mut volume) = (0.0, 0.0);
        for &[a, b, c] in &mesh.triangles {
            let [p, q, r] = [a, b, c].map(|index| mesh.positions[index as usize]);
            area += (q - p).cross(&(r - p)).norm() / 2.0;
            volume += p.dot(&q.cross(&r)) / 6.0;
            for (from, to) in [(a, b), (b, c), (c, a)] {
                *edges.entry((from, to)).or_default() += 1;
            }
        }
        let paired = edges.iter().all(|(&(from, to), &uses)| uses == 1 && edges.get(&(to, from)) == Some(&1));
        assert!(paired, "an edge is not shared by two triangles of opposite sense");
        let euler = mesh.positions.len() + mesh.triangles.len() - edges.len() / 2;
        Measures { area, volume, euler }
    }

    fn near(value: f64, expected: f64, share: f64) -> bool {
        (value - expected).abs() <= share * expected
    }

    #[test]
    fn sphere_has_its_area_volume_and_normals() {
        // 4 π r², 4/3 π r³; a closed surface without holes has the Euler number 2.
        let (centre, radius) = (Vec3::new(0.11, -0.23, 0.37), 0.2);
        let field = move |p: Vec3| (p - centre).norm() - radius;
        let mesh = isosurface(&field, centre.add_scalar(-0.21), centre.add_scalar(0.21), 0.008);
        let measured = measure(&mesh);
        assert!(near(measured.area, 4.0 * PI * radius.powi(2), 0.002));
        assert!(near(measured.volume, 4.0 / 3.0 * PI * radius.powi(3), 0.002));
        assert_eq!(measured.euler, 2);
        for (position, normal) in mesh.positions.iter().zip(&mesh.normals) {
            let radial = position - centre;
            assert!((radial.norm() - radius).abs() < 1e-9);
            // Differences over a micrometre turn a normal by that over the radius.
            assert!((radial / radial.norm() - normal).norm() < 1e-5);
        }
    }

    #[test]
    fn torus_has_its_area_volume_and_hole() {
        // 4 π² R r, 2 π² R r²; one hole: the Euler number 0.
        let (ring, tube) = (0.17, 0.05);
        let field = move |p: Vec3| (p.x.hypot(p.y) - ring).hypot(p.z) - tube;
        let mesh = isosurface(&field, Vec3::repeat(-0.23), Vec3::repeat(0.23), 0.005);
        let measured = measure(&mesh);
        assert!(near(measured.area, 4.0 * PI.powi(2) * ring * tube, 0.003));
        assert!(near(measured.volume, 2.0 * PI.powi(2) * ring * tube.powi(2), 0.003));
        assert_eq!(measured.euler, 0);
    }

    #[test]
    fn two_balls_far_apart_are_two_closed_surfaces() {
        let field = |p: Vec3| ((p - Vec3::x()).norm() - 0.1).min((p + Vec3::x()).norm() - 0.07);
        let mesh = isosurface(&field, Vec3::new(-1.2, -0.2, -0.2), Vec3::new(1.2, 0.2, 0.2), 0.01);
        assert_eq!(measure(&mesh).euler, 4);
    }

    #[test]
    fn a_surface_that_touches_the_box_is_closed_and_an_empty_box_is_empty() {
        let field = |p: Vec3| p.norm() - 0.1;
        assert_eq!(measure(&isosurface(&field, Vec3::repeat(-0.1), Vec3::repeat(0.1), 0.01)).euler, 2);
        assert_eq!(isosurface(&field, Vec3::repeat(0.5), Vec3::repeat(0.6), 0.01), Mesh::default());
    }

    #[test]
    fn triangles_face_the_way_that_their_normals_point() {
        let field = |p: Vec3| {
            let q = Vec3::new(p.x.abs() - 0.1, p.y.abs() - 0.06, p.z.abs() - 0.03);
            let outside = q.map(|x| x.max(0.0)).norm();
            outside + q.max().min(0.0) - 0.02
        };
        let mesh = isosurface(&field, Vec3::repeat(-0.15), Vec3::repeat(0.15), 0.006);
        assert!(measure(&mesh).volume > 0.0);
        for &[a, b, c] in &mesh.triangles {
            let [p, q, r] = [a, b, c].map(|index| mesh.positions[index as usize]);
            let normals: Vec3 = [a, b, c].iter().map(|&index| mesh.normals[index as usize]).sum();
            assert!((q - p).cross(&(r - p)).dot(&normals) > 0.0);
        }
    }
}
