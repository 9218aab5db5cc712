//! Surfaces as files bring them: triangles in any order and any state, put in order once, so that distances to them are
//! quick.
//!
//! Corners in one place become one; neighbouring triangles are turned to face the same way, and a closed piece to face
//! outward. Holes stay holes: they are counted, and only a closed piece has an inside.

mod light;
mod outside;
mod topology;
mod tree;

use std::sync::OnceLock;

use super::Vec3;

pub use light::Light;

use outside::Outside;
pub(super) use tree::Node;

/// No triangle.
const NONE: u32 = u32::MAX;

/// A surface of triangles in its own frame, ready for distances.
#[derive(Clone, Debug)]
pub struct TriangleMesh {
    /// Corners, m.
    points: Vec<[f32; 3]>,
    /// Corners of each triangle, anticlockwise seen from outside, in the order of the tree's leaves.
    triangles: Vec<[u32; 3]>,
    /// The triangle across each edge (first to second corner, second to third, third to first), or [`NONE`].
    neighbours: Vec<[u32; 3]>,
    /// Whether a triangle belongs to a closed piece.
    closed: Vec<bool>,
    nodes: Vec<Node>,
    state: MeshState,
    /// Made when first asked for.
    light: OnceLock<Option<Light>>,
    /// So too.
    outside: OnceLock<Outside>,
}

/// In what state a surface came.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct MeshState {
    /// Triangles.
    pub triangles: usize,
    /// Corners, each place counted once.
    pub points: usize,
    /// Triangles without area between fewer than three places, left out.
    pub without_area: usize,
    /// Edges that only one triangle has.
    pub open_edges: usize,
    /// Rings of open edges.
    pub holes: usize,
    /// Edges that more than two triangles share.
    pub crowded_edges: usize,
    /// Triangles that faced the other way than their neighbours, or inward, and were turned.
    pub flipped: usize,
    /// Pieces that hang together over edges.
    pub pieces: usize,
    /// Pieces without open or crowded edges: these have an inside.
    pub closed_pieces: usize,
}

impl MeshState {
    /// Whether every piece is closed.
    pub const fn is_closed(&self) -> bool {
        self.pieces == self.closed_pieces
    }
}

impl TriangleMesh {
    /// Puts a surface in order. Corners are in m; triangles name places in `points`, and those that name others are
    /// left out, as are those without area.
    ///
    /// # Cost
    /// Time grows hardly faster than the number of triangles: about half a second for a million.
    pub fn new(points: &[[f32; 3]], triangles: &[[u32; 3]]) -> Self {
        let (points, mut triangles, without_area) = topology::welded(points, triangles);
        let nodes = tree::grow(&points, &mut triangles);
        let mut state =
            MeshState { triangles: triangles.len(), points: points.len(), without_area, ..MeshState::default() };
        let (neighbours, closed) = topology::oriented(&points, &mut triangles, &mut state);
        Self { points, triangles, neighbours, closed, nodes, state, light: OnceLock::new(), outside: OnceLock::new() }
    }

    /// In what state it came.
    pub const fn state(&self) -> &MeshState {
        &self.state
    }

    /// Corners, m.
    pub fn points(&self) -> &[[f32; 3]] {
        &self.points
    }

    /// Corners of each triangle, anticlockwise seen from outside.
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// What is drawn of it where it has more triangles than a picture shows. The first call makes it, some tenths of a
    /// second for a million triangles.
    pub fn light(&self) -> Option<&Light> {
        self.light.get_or_init(|| Light::of(self)).as_ref()
    }

    /// Lowest and highest corner of the box along the axes that holds it, m; both 0 without triangles.
    pub fn extent(&self) -> [Vec3; 2] {
        self.nodes.first().map_or([Vec3::zeros(); 2], |root| [wide(root.low), wide(root.high)])
    }

    pub(super) fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// Corners of a triangle.
    pub(super) fn corners(&self, triangle: u32) -> [Vec3; 3] {
        self.triangles[triangle as usize].map(|corner| wide(self.points[corner as usize]))
    }

    /// Which edges of a triangle are looked at with it: those with no neighbour, or with one that stands behind it.
    pub(super) fn own_edges(&self, triangle: u32) -> [bool; 3] {
        self.neighbours[triangle as usize].map(|neighbour| triangle < neighbour)
    }

    /// Whether a point is outside every closed piece, told without looking at triangles; near the surface it says `false`.
    pub(super) fn is_far_outside(&self, point: Vec3) -> bool {
        self.state.closed_pieces == 0 || self.outside.get_or_init(|| Outside::of(self)).has(point)
    }

    /// Whether a triangle belongs to a piece with an inside.
    pub(super) fn has_inside(&self, triangle: u32) -> bool {
        self.closed[triangle as usize]
    }

    /// The outward way at a point of a triangle, not of length 1: of the face, of both faces of an edge, or of all faces
    /// round a corner by their angles. It tells inside from outside for every point to which this one is nearest
    /// (Bærentzen and Aanæs 2005).
    pub(super) fn outward(&self, triangle: u32, at: Vec3) -> Vec3 {
        let corners = self.corners(triangle);
        let normal = |corners: &[Vec3; 3]| {
            let normal = (corners[1] - corners[0]).cross(&(corners[2] - corners[0]));
            normal.try_normalize(1e-300).unwrap_or_default()
        };
        let size = (0..3).map(|i| (corners[(i + 1) % 3] - corners[i]).norm()).fold(0.0, f64::max);
        let near = 1e-6 * size;
        if let Some(corner) = (0..3).find(|&i| (corners[i] - at).norm() < near) {
            return self.outward_at_corner(triangle, corner, normal);
        }
        for i in 0..3 {
            let along = corners[(i + 1) % 3] - corners[i];
            let off = at - corners[i];
            let share = off.dot(&along) / along.norm_squared().max(1e-300);
            let other = self.neighbours[triangle as usize][i];
            if (off - along * share).norm() < near && other != NONE {
                return normal(&corners) + normal(&self.corners(other));
            }
        }
        normal(&corners)
    }

    fn outward_at_corner(&self, first: u32, corner: usize, normal: impl Fn(&[Vec3; 3]) -> Vec3) -> Vec3 {
        let place = self.triangles[first as usize][corner];
        let mut out = Vec3::zeros();
        let mut triangle = first;
        // Round the corner from neighbour to neighbour; no corner has more than this many.
        for _ in 0..4096 {
            let own = self.triangles[triangle as usize];
            let Some(at) = own.iter().position(|&point| point == place) else { break };
            let corners = self.corners(triangle);
            let (a, b) = (corners[(at + 1) % 3] - corners[at], corners[(at + 2) % 3] - corners[at]);
            out += normal(&corners) * a.cross(&b).norm().atan2(a.dot(&b));
            triangle = self.neighbours[triangle as usize][at];
            if triangle == NONE || triangle == first {
                break;
            }
        }
        out
    }
}

/// A stored corner in the numbers that distances are computed with.
fn wide(point: [f32; 3]) -> Vec3 {
    Vec3::new(f64::from(point[0]), f64::from(point[1]), f64::from(point[2]))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube of side 1 about (0.5, 0.5, 0.5), each face two triangles, facing outward.
    pub(super) fn cube() -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
        let points = (0..8_u8).map(|i| [0, 1, 2].map(|bit| f32::from(i >> bit & 1))).collect();
        let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles = faces.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
        (points, triangles)
    }

    #[test]
    fn a_cube_is_closed_and_stays_as_it_is() {
        let (points, triangles) = cube();
        let mesh = TriangleMesh::new(&points, &triangles);
        let wanted = MeshState { triangles: 12, points: 8, pieces: 1, closed_pieces: 1, ..MeshState::default() };
        assert_eq!(*mesh.state(), wanted);
        assert_eq!(mesh.extent(), [Vec3::zeros(), Vec3::repeat(1.0)]);
    }

    /// As an STL file has it: every triangle with corners of its own.
    #[test]
    fn corners_in_one_place_become_one() {
        let (points, triangles) = cube();
        let soup: Vec<[f32; 3]> = triangles.iter().flatten().map(|&i| points[i as usize]).collect();
        let own: Vec<[u32; 3]> = (0..12).map(|i| [3 * i, 3 * i + 1, 3 * i + 2]).collect();
        assert_eq!(*TriangleMesh::new(&soup, &own).state(), *TriangleMesh::new(&points, &triangles).state());
    }

    /// One triangle turned round, and all of them: 1 and 12 are turned back.
    #[test]
    fn turned_triangles_are_counted_and_turned_back() {
        let (points, mut triangles) = cube();
        triangles[5].swap(0, 1);
        let mesh = TriangleMesh::new(&points, &triangles);
        assert_eq!((mesh.state().flipped, mesh.state().closed_pieces), (1, 1));
        for triangle in &mesh.triangles {
            let [a, b, c] = triangle.map(|i| wide(mesh.points[i as usize]));
            let out = (a + b + c) / 3.0 - Vec3::repeat(0.5);
            assert!((b - a).cross(&(c - a)).dot(&out) > 0.0, "every face looks outward");
        }
        let (_, mut inward) = cube();
        for triangle in &mut inward {
            triangle.swap(1, 2);
        }
        assert_eq!(TriangleMesh::new(&points, &inward).state().flipped, 12);
    }

    /// Without one face of two triangles four edges are open, in one ring; without two faces that don't meet, in two.
    #[test]
    fn holes_are_counted() {
        let (points, triangles) = cube();
        let open = TriangleMesh::new(&points, &triangles[2..]);
        assert_eq!((open.state().open_edges, open.state().holes, open.state().closed_pieces), (4, 1, 0));
        let tube = TriangleMesh::new(&points, &triangles[4..]);
        assert_eq!((tube.state().open_edges, tube.state().holes, tube.state().pieces), (8, 2, 1));
    }

    /// Three triangles on one edge; a triangle without area and one that names no corner.
    #[test]
    fn what_is_no_surface_is_left_out_or_told() {
        let points = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]];
        let mesh = TriangleMesh::new(&points, &[[0, 1, 2], [0, 1, 3], [0, 1, 4], [0, 0, 1], [0, 1, 9]]);
        let state = mesh.state();
        assert_eq!((state.triangles, state.without_area, state.crowded_edges), (3, 2, 1));
        assert_eq!(state.closed_pieces, 0);
        let none = TriangleMesh::new(&[], &[]);
        assert_eq!((none.state().triangles, none.extent()), (0, [Vec3::zeros(); 2]));
    }
}
