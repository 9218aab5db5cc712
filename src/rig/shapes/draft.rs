//! What machined parts are drawn from: rounded boxes, turned and extruded forms, tubes.

use std::f64::consts::{FRAC_PI_2, TAU};

use crate::geometry::{Mesh, Pose, Vec3, unit_or};

/// Corners and triangles, anticlockwise seen from outside, on their way to a mesh.
#[derive(Clone, Debug, Default)]
pub(super) struct Draft {
    positions: Vec<Vec3>,
    triangles: Vec<[u32; 3]>,
}

/// Faces that meet at less than this angle shade as one surface, rad.
const CREASE: f64 = 0.85;

impl Draft {
    /// A box over its outside, with edges and corners of radius `round` in `steps` flats; origin in the middle.
    pub(super) fn rounded_box(half: Vec3, round: f64, steps: usize) -> Self {
        let core = half.map(|h| (h - round).max(0.0));
        let quarter = |step: usize| FRAC_PI_2 * step as f64 / steps as f64;
        let (rows, columns) = (2 * (steps + 1), 4 * (steps + 1));
        let mut draft = Self::default();
        for row in 0..rows {
            let (low, latitude) =
                if row <= steps { (true, quarter(row) - FRAC_PI_2) } else { (false, quarter(row - steps - 1)) };
            for column in 0..columns {
                let (side, step) = (column / (steps + 1), column % (steps + 1));
                let longitude = FRAC_PI_2 * side as f64 + quarter(step);
                let way = Vec3::new(latitude.cos() * longitude.cos(), latitude.cos() * longitude.sin(), latitude.sin());
                let corner = Vec3::new(
                    if side == 0 || side == 3 { core.x } else { -core.x },
                    if side < 2 { core.y } else { -core.y },
                    if low { -core.z } else { core.z },
                );
                draft.positions.push(corner + way * round);
            }
        }
        draft.stitch(rows, columns);
        // At the poles each quarter is one point: a face is left between the four.
        let quarters = [0, 1, 2, 3].map(|side| (side * (steps + 1)) as u32);
        let top = ((rows - 1) * columns) as u32;
        draft.face(&quarters.map(|at| at + top));
        let [a, b, c, d] = quarters;
        draft.face(&[d, c, b, a]);
        draft.welded()
    }

    /// A form turned about x: `profile` runs from (place, radius) to (place, radius) in the sense in which the outside
    /// is on its left when x points right; ends at radius 0 close it.
    pub(super) fn turned(profile: &[[f64; 2]], steps: usize) -> Self {
        let mut draft = Self::default();
        for &[x, radius] in profile {
            for step in 0..steps {
                let (sin, cos) = (TAU * step as f64 / steps as f64).sin_cos();
                draft.positions.push(Vec3::new(x, radius * cos, radius * sin));
            }
        }
        draft.stitch(profile.len(), steps);
        draft.welded()
    }

    /// An outline (anticlockwise in x and y) raised from `low` to `high` along z, its rims broken by `bevel`.
    pub(super) fn extruded(outline: &[[f64; 2]], low: f64, high: f64, bevel: f64) -> Self {
        let inset = if bevel > 0.0 { offset(outline, -bevel) } else { outline.to_vec() };
        let caps = triangulated(&inset);
        Self::extruded_with(outline, &inset, &caps, low, high, bevel)
    }

    /// [`Draft::extruded`] with its inset outline and the triangles of its caps known.
    pub(super) fn extruded_with(
        outline: &[[f64; 2]],
        inset: &[[f64; 2]],
        caps: &[[u32; 3]],
        low: f64,
        high: f64,
        bevel: f64,
    ) -> Self {
        let count = outline.len();
        let mut draft = Self::default();
        let mut ring =
            |points: &[[f64; 2]], z: f64| draft.positions.extend(points.iter().map(|p| Vec3::new(p[0], p[1], z)));
        ring(inset, low);
        if bevel > 0.0 {
            ring(outline, low + bevel);
            ring(outline, high - bevel);
        }
        ring(inset, high);
        let rows = if bevel > 0.0 { 4 } else { 2 };
        draft.stitch(rows, count);
        let top = ((rows - 1) * count) as u32;
        draft.triangles.extend(caps.iter().map(|&[a, b, c]| [a + top, b + top, c + top]));
        draft.triangles.extend(caps.iter().map(|&[a, b, c]| [c, b, a]));
        draft
    }

    /// A round tube along points in the plane x = 0, each with the direction of travel there; closed or with round
    /// ends.
    pub(super) fn tube(points: &[([f64; 2], [f64; 2])], radius: f64, steps: usize, closed: bool) -> Self {
        let mut draft = Self::default();
        let mut rows = 0;
        // Seen along the travel, the ring goes anticlockwise from x through the side.
        let mut ring = |[y, z]: [f64; 2], [ty, tz]: [f64; 2], ahead: f64, radius: f64| {
            let (centre, along) = (Vec3::new(0.0, y, z), Vec3::new(0.0, ty, tz));
            let side = along.cross(&Vec3::x());
            for step in 0..steps {
                let (sin, cos) = (TAU * step as f64 / steps as f64).sin_cos();
                draft.positions.push(centre + along * ahead + (Vec3::x() * cos + side * sin) * radius);
            }
            rows += 1;
        };
        const CAP: usize = 4;
        let ends = points.first().zip(points.last()).filter(|_| !closed);
        let cap = |step: usize| (FRAC_PI_2 * step as f64 / CAP as f64).sin_cos();
        if let Some((first, _)) = ends {
            for step in (1..=CAP).rev() {
                let (sin, cos) = cap(step);
                ring(first.0, first.1, -radius * sin, radius * cos);
            }
        }
        for &(at, along) in points {
            ring(at, along, 0.0, radius);
        }
        if let Some((_, last)) = ends {
            for step in 1..=CAP {
                let (sin, cos) = cap(step);
                ring(last.0, last.1, radius * sin, radius * cos);
            }
        }
        draft.stitch(rows, steps);
        if closed {
            let last = ((rows - 1) * steps) as u32;
            for step in 0..steps as u32 {
                let next = (step + 1) % steps as u32;
                draft.triangles.push([last + step, last + next, next]);
                draft.triangles.push([last + step, next, step]);
            }
        }
        draft.welded()
    }

    /// An open sleeve of a tube between two places in the plane x = 0, each with the direction of travel.
    pub(super) fn sleeve(from: ([f64; 2], [f64; 2]), to: ([f64; 2], [f64; 2]), radius: f64, steps: usize) -> Self {
        let mut draft = Self::default();
        for ([y, z], [ty, tz]) in [from, to] {
            let side = unit_or(Vec3::new(0.0, ty, tz), Vec3::y()).cross(&Vec3::x());
            for step in 0..steps {
                let (sin, cos) = (TAU * step as f64 / steps as f64).sin_cos();
                draft.positions.push(Vec3::new(0.0, y, z) + (Vec3::x() * cos + side * sin) * radius);
            }
        }
        draft.stitch(2, steps);
        draft
    }

    /// The same part elsewhere.
    #[must_use]
    pub(super) fn at(mut self, pose: &Pose) -> Self {
        for position in &mut self.positions {
            *position = (pose * nalgebra::Point3::from(*position)).coords;
        }
        self
    }

    /// Both parts as one.
    #[must_use]
    pub(super) fn and(mut self, other: Self) -> Self {
        let base = self.positions.len() as u32;
        self.positions.extend(other.positions);
        self.triangles.extend(other.triangles.into_iter().map(|triangle| triangle.map(|index| index + base)));
        self
    }

    /// The mesh: normals weighted by area, so that a flat stays flat beside its bevel; split at creases.
    pub(super) fn mesh(&self) -> Mesh {
        let area = |&[a, b, c]: &[u32; 3]| {
            let [a, b, c] = [a, b, c].map(|index| self.positions[index as usize]);
            (b - a).cross(&(c - a))
        };
        let areas: Vec<Vec3> = self.triangles.iter().map(area).collect();
        let mut around = vec![Vec::new(); self.positions.len()];
        for (index, triangle) in self.triangles.iter().enumerate() {
            for &corner in triangle {
                around[corner as usize].push(index);
            }
        }
        let crease = CREASE.cos();
        let mut mesh = Mesh::default();
        // Each corner's copies so far: where they stand in the mesh.
        let mut copies = vec![Vec::new(); self.positions.len()];
        for (index, triangle) in self.triangles.iter().enumerate() {
            let own = unit_or(areas[index], Vec3::z());
            let corners = triangle.map(|corner| {
                let corner = corner as usize;
                let sum: Vec3 = around[corner]
                    .iter()
                    .map(|&other| areas[other])
                    .filter(|area| area.dot(&own) >= crease * area.norm())
                    .sum();
                let normal = unit_or(sum, own);
                let copies: &mut Vec<u32> = &mut copies[corner];
                if let Some(&copy) = copies.iter().find(|&&copy| mesh.normals[copy as usize].dot(&normal) > 0.9999) {
                    return copy;
                }
                let copy = mesh.positions.len() as u32;
                mesh.positions.push(self.positions[corner]);
                mesh.normals.push(normal);
                copies.push(copy);
                copy
            });
            mesh.triangles.push(corners);
        }
        mesh
    }

    /// Joins `rows` rings of `columns` corners each, bottom ring first, anticlockwise seen from the top.
    fn stitch(&mut self, rows: usize, columns: usize) {
        for row in 1..rows {
            for column in 0..columns {
                let next = (column + 1) % columns;
                let [a, b] = [column, next].map(|at| ((row - 1) * columns + at) as u32);
                let [c, d] = [column, next].map(|at| (row * columns + at) as u32);
                self.triangles.push([a, b, d]);
                self.triangles.push([a, d, c]);
            }
        }
    }

    fn face(&mut self, [a, b, c, d]: &[u32; 4]) {
        self.triangles.push([*a, *b, *c]);
        self.triangles.push([*a, *c, *d]);
    }

    /// Corners at the same place made one, triangles without area left out.
    fn welded(self) -> Self {
        let mut order: Vec<u32> = (0..self.positions.len() as u32).collect();
        let key = |index: u32| self.positions[index as usize].map(|c| (c * 1e7).round() as i64);
        order.sort_by_key(|&index| {
            let key = key(index);
            (key.x, key.y, key.z)
        });
        let mut place = vec![0; self.positions.len()];
        let mut positions: Vec<Vec3> = Vec::new();
        let mut last = None;
        for index in order {
            if last != Some(key(index)) {
                last = Some(key(index));
                positions.push(self.positions[index as usize]);
            }
            place[index as usize] = positions.len() as u32 - 1;
        }
        let triangles = self
            .triangles
            .iter()
            .map(|triangle| triangle.map(|index| place[index as usize]))
            .filter(|[a, b, c]| a != b && b != c && c != a)
            .collect();
        Self { positions, triangles }
    }
}

/// An outline moved outward by `by` along the bisectors of its corners; anticlockwise.
pub(super) fn offset(outline: &[[f64; 2]], by: f64) -> Vec<[f64; 2]> {
    let count = outline.len();
    let outward = |a: [f64; 2], b: [f64; 2]| {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = dx.hypot(dy).max(1e-12);
        [dy / length, -dx / length]
    };
    (0..count)
        .map(|index| {
            let (before, here, after) =
                (outline[(index + count - 1) % count], outline[index], outline[(index + 1) % count]);
            let (m, n) = (outward(before, here), outward(here, after));
            // Mitred, but never farther than twice the offset.
            let scale = by / (1.0 + m[0] * n[0] + m[1] * n[1]).max(0.5);
            [here[0] + (m[0] + n[0]) * scale, here[1] + (m[1] + n[1]) * scale]
        })
        .collect()
}

/// A rectangle of half sizes with corners of radius `round` in `steps` flats, anticlockwise.
pub(super) fn rounded_rectangle(half: [f64; 2], round: f64, steps: usize) -> Vec<[f64; 2]> {
    let core = half.map(|h| (h - round).max(0.0));
    let signs = [[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]];
    let mut out = Vec::with_capacity(4 * (steps + 1));
    for (side, sign) in signs.iter().enumerate() {
        for step in 0..=steps {
            let (sin, cos) = (FRAC_PI_2 * (side as f64 + step as f64 / steps as f64)).sin_cos();
            out.push([sign[0] * core[0] + round * cos, sign[1] * core[1] + round * sin]);
        }
    }
    out
}

/// The triangles of a simple polygon, anticlockwise: ears cut off one by one (Meisters 1975).
pub(super) fn triangulated(outline: &[[f64; 2]]) -> Vec<[u32; 3]> {
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    let mut left: Vec<usize> = (0..outline.len()).collect();
    let mut out = Vec::with_capacity(outline.len().saturating_sub(2));
    let mut at = 0;
    let mut missed = 0;
    while left.len() > 3 && missed <= left.len() {
        let count = left.len();
        let [i, j, k] = [at % count, (at + 1) % count, (at + 2) % count].map(|place| left[place]);
        let [a, b, c] = [i, j, k].map(|index| outline[index]);
        let holds = |p: [f64; 2]| turn(a, b, p) >= -1e-15 && turn(b, c, p) >= -1e-15 && turn(c, a, p) >= -1e-15;
        let ear = turn(a, b, c) > 1e-15
            && !left.iter().any(|&other| other != i && other != j && other != k && holds(outline[other]));
        if ear || missed == count {
            if ear {
                out.push([i, j, k].map(|index| index as u32));
            }
            left.remove((at + 1) % count);
            missed = 0;
            // Past the new edge, so that triangles do not fan out from one corner.
            at = if (at + 1) % count < at % count { 0 } else { at % count + 1 };
        } else {
            at = (at + 1) % count;
            missed += 1;
        }
    }
    if let [a, b, c] = left[..] {
        out.push([a, b, c].map(|index| index as u32));
    }
    out
}
