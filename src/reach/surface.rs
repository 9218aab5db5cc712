//! The boundary of a zone as a closed mesh.
//!
//! Each cell of the lattice that the boundary crosses holds one corner of the mesh. A lattice point that the joints do
//! not reach knows the point nearest to it that they do, and with it a plane of the boundary: the corner goes where the
//! planes of its cell meet (dual contouring: Ju, Losasso, Schaefer and Warren 2002), so that edges stay edges.

use std::collections::BTreeMap;

use nalgebra::Matrix3;

use super::{
    field::{Level, Node, Place, corner},
    judge::State,
    obstacle::Barrier,
};
use crate::geometry::{Mesh, Vec3, unit_or};

/// The boundary of a zone.
#[derive(Clone, Debug, Default)]
pub struct Surface {
    /// Closed; W, m; normals pointing out of the zone.
    pub mesh: Mesh,
    /// What ends the zone at each corner: an index into [`Surface::barriers`], or `None` where the joints do.
    pub ends: Vec<Option<u16>>,
    /// What is in the way somewhere.
    pub barriers: Vec<Barrier>,
    /// Step of the lattice, m.
    pub step: f64,
}

/// How much a corner is held in the middle of the crossings: enough to decide where planes do not.
const HOLD: f64 = 0.02;

/// A plane of the boundary: a point of it and its normal out of the zone.
type Tangent = (Vec3, Vec3);

/// Where the boundary crosses from a point that is reached to one that is not, and the plane of the boundary that the
/// latter knows.
fn crossing(level: &Level, (a, inside): (Place, &Node), (b, outside): (Place, &Node)) -> (Vec3, Option<Tangent>) {
    let (from, to) = (level.point(a), level.point(b));
    let share = if outside.state == State::Out {
        let along = outside.toward().dot(&(from - to));
        let by = f64::from(outside.by);
        if along > by { 1.0 - by / along } else { 0.5 }
    } else {
        let (clear, pressed) = (f64::from(inside.by).min(level.step), f64::from(outside.by).min(level.step));
        clear / (clear + pressed).max(1e-9)
    };
    let by = f64::from(outside.by);
    let plane = (outside.state == State::Out && by > 1e-6).then(|| (to + outside.toward() * by, -outside.toward()));
    (from + (to - from) * share.clamp(0.01, 0.99), plane)
}

/// The boundary on a lattice. With `all` something is named too where the joints end it.
pub(super) fn surface(level: &Level, all: bool, barrier: &dyn Fn((usize, usize)) -> Barrier) -> Surface {
    let mut out = Surface { step: level.step, ..Surface::default() };
    // The corner in each cell that the boundary crosses, in the order of the cells.
    let mut corners: Vec<u32> = Vec::with_capacity(level.cells().size_hint().0);
    let mut barriers: BTreeMap<(usize, usize), u16> = BTreeMap::new();
    for cell in level.cells() {
        let Some((at, whose)) = vertex(level, cell, all) else {
            corners.push(u32::MAX);
            continue;
        };
        corners.push(out.mesh.positions.len() as u32);
        out.mesh.positions.push(at);
        out.ends.push(whose.map(|key| {
            let next = barriers.len() as u16;
            *barriers.entry(key).or_insert_with(|| {
                out.barriers.push(barrier(key));
                next
            })
        }));
    }
    // Each crossed edge of the lattice joins the four cells round it.
    for cell in level.cells() {
        let Some(first) = level.get(cell).map(Node::reached) else { continue };
        for axis in 0..3 {
            let Some(last) = level.get(corner(cell, 1 << axis)).map(Node::reached) else { continue };
            if first == last {
                continue;
            }
            let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
            let around = |back_u: i32, back_v: i32| {
                let mut other = cell;
                other[u] -= back_u;
                other[v] -= back_v;
                level.number(other).map(|at| corners[at]).filter(|corner| *corner != u32::MAX)
            };
            let mut quad = [around(1, 1), around(0, 1), around(0, 0), around(1, 0)];
            if last {
                quad.reverse();
            }
            if let [Some(a), Some(b), Some(c), Some(d)] = quad {
                let at = |index: u32| out.mesh.positions[index as usize];
                if (at(a) - at(c)).norm_squared() <= (at(b) - at(d)).norm_squared() {
                    out.mesh.triangles.extend([[a, b, c], [a, c, d]]);
                } else {
                    out.mesh.triangles.extend([[a, b, d], [b, c, d]]);
                }
            }
        }
    }
    out.mesh.normals = normals(&out.mesh);
    out
}

/// The corner of the mesh in a cell, and what ends the zone there.
fn vertex(level: &Level, cell: Place, all: bool) -> Option<(Vec3, Option<(usize, usize)>)> {
    let mut crossings: [(Vec3, Option<Tangent>); 12] = [(Vec3::zeros(), None); 12];
    let mut count = 0;
    let mut blocked: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    let mut joints = 0;
    for axis in 0..3 {
        for near in (0..8).filter(|near| near >> axis & 1 == 0) {
            let (a, b) = (corner(cell, near), corner(cell, near | 1 << axis));
            let (node_a, node_b) = (level.get(a)?, level.get(b)?);
            if node_a.reached() == node_b.reached() {
                continue;
            }
            let (inside, outside) =
                if node_a.reached() { ((a, node_a), (b, node_b)) } else { ((b, node_b), (a, node_a)) };
            if all || outside.1.state == State::Blocked {
                *blocked.entry(outside.1.whose()).or_default() += 1;
            } else {
                joints += 1;
            }
            crossings[count] = crossing(level, inside, outside);
            count += 1;
        }
    }
    let crossings = &crossings[..count];
    let middle = crossings.iter().map(|(at, _)| at).sum::<Vec3>() / count.max(1) as f64;
    let mut normal = Matrix3::identity() * HOLD;
    let mut pull = Vec3::zeros();
    for (on, way) in crossings.iter().filter_map(|(_, plane)| *plane) {
        normal += way * way.transpose();
        pull += way * way.dot(&(on - middle));
    }
    let low = level.point(cell);
    let moved = middle + normal.try_inverse().unwrap_or_else(Matrix3::zeros) * pull;
    let at = Vec3::from_fn(|axis, _| moved[axis].clamp(low[axis], low[axis] + level.step));
    let most = blocked.into_iter().max_by_key(|&(key, times)| (times, std::cmp::Reverse(key)));
    Some((at, most.filter(|&(_, times)| times >= joints.max(1)).map(|(key, _)| key)))
}

/// Normals at the corners: the triangles' by their areas.
pub(super) fn normals(mesh: &Mesh) -> Vec<Vec3> {
    let mut out = vec![Vec3::zeros(); mesh.positions.len()];
    for triangle in &mesh.triangles {
        let [a, b, c] = triangle.map(|index| mesh.positions[index as usize]);
        let normal = (b - a).cross(&(c - a));
        for &index in triangle {
            out[index as usize] += normal;
        }
    }
    out.into_iter().map(|normal| unit_or(normal, Vec3::z())).collect()
}

impl Surface {
    /// What it holds, m³.
    pub fn volume(&self) -> f64 {
        let at = |index: u32| self.mesh.positions[index as usize];
        self.mesh.triangles.iter().map(|&[a, b, c]| at(a).dot(&at(b).cross(&at(c))) / 6.0).sum()
    }

    /// The nearest point of the boundary, and what ends the zone there; `None` of an empty zone.
    pub fn nearest(&self, point: Vec3) -> Option<(Vec3, Option<&Barrier>)> {
        let mut best = (f64::INFINITY, Vec3::zeros(), 0);
        for triangle in &self.mesh.triangles {
            let corners = triangle.map(|index| self.mesh.positions[index as usize]);
            // No corner of a cell's triangle is further from the others than four steps.
            if (corners[0] - point).norm() - 4.0 * self.step > best.0 {
                continue;
            }
            let at = on_triangle(point, corners);
            let off = (at - point).norm();
            if off < best.0 {
                best = (off, at, triangle[0] as usize);
            }
        }
        best.0.is_finite().then(|| (best.1, self.ends[best.2].map(|index| &self.barriers[usize::from(index)])))
    }

    /// Whether a point lies inside: how often the surface goes round it (van Oosterom and Strackee 1983).
    pub fn holds(&self, point: Vec3) -> bool {
        let mut angle = 0.0;
        for triangle in &self.mesh.triangles {
            let [a, b, c] = triangle.map(|index| self.mesh.positions[index as usize] - point);
            let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
            let above = a.dot(&b.cross(&c));
            let below = la * lb * lc + a.dot(&b) * lc + b.dot(&c) * la + c.dot(&a) * lb;
            angle += 2.0 * above.atan2(below);
        }
        angle > std::f64::consts::TAU
    }

    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.mesh.positions.len() * 48 + self.mesh.triangles.len() * 12 + self.ends.len() * 4
    }
}

/// The point of a triangle that is nearest to another (Ericson, Real-Time Collision Detection, 5.1.5).
fn on_triangle(p: Vec3, [a, b, c]: [Vec3; 3]) -> Vec3 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * (d1 / (d1 - d3));
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * (d2 / (d2 - d6));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
    }
    let whole = va + vb + vc;
    if whole <= 0.0 {
        return a;
    }
    a + ab * (vb / whole) + ac * (vc / whole)
}
