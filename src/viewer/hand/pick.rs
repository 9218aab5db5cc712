//! What lies under the pointer: lines of sight against the triangles that are drawn.

use bevy::prelude::*;

use crate::{geometry::Vec3 as Point, rig::RigPart, viewer::matter::Form};

/// Whose surface it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Owner {
    /// A part of the rig.
    Part(RigPart),
    /// The driver.
    Driver,
}

/// Where a line of sight meets something.
#[derive(Clone, Debug)]
pub struct Hit {
    /// What.
    pub owner: Owner,
    /// Where, W.
    pub at: Point,
    /// The corners of the triangle that it lies in.
    pub corners: [Point; 3],
}

/// The triangles on the stage, as they are drawn now.
#[derive(Debug, Default, Resource)]
pub struct Standing {
    forms: Vec<Form>,
    pieces: Vec<Piece>,
}

#[derive(Debug)]
struct Piece {
    form: usize,
    owner: Owner,
    triangles: std::ops::Range<usize>,
    low: Point,
    high: Point,
}

impl Standing {
    /// What stands there.
    pub fn of(machine: Form, person: Form) -> Self {
        let mut pieces = Vec::new();
        let machine_pieces = machine.pieces.iter().map(|(part, range)| (0, Owner::Part(*part), range.clone()));
        let person_piece = std::iter::once((1, Owner::Driver, 0..person.triangles.len()));
        let forms = [&machine, &person];
        for (form, owner, triangles) in machine_pieces.chain(person_piece) {
            let corners = forms[form].triangles[triangles.clone()].as_flattened();
            let points = corners.iter().map(|&at| forms[form].positions[at as usize]);
            let Some((low, high)) = points.fold(None, |span: Option<(Point, Point)>, at| {
                Some(span.map_or((at, at), |(l, h)| (l.inf(&at), h.sup(&at))))
            }) else {
                continue;
            };
            pieces.push(Piece { form, owner, triangles, low, high });
        }
        Self { forms: vec![machine, person], pieces }
    }

    /// The nearest thing on a line of sight (where it begins, unit direction).
    pub fn under(&self, (from, way): (Point, Point)) -> Option<Hit> {
        let mut nearest = f64::MAX;
        let mut hit = None;
        for piece in &self.pieces {
            if !through_box(from, way, piece.low, piece.high, nearest) {
                continue;
            }
            let form = &self.forms[piece.form];
            for triangle in &form.triangles[piece.triangles.clone()] {
                let corners = triangle.map(|at| form.positions[at as usize]);
                if let Some(along) = through_triangle(from, way, &corners)
                    && along < nearest
                {
                    nearest = along;
                    hit = Some(Hit { owner: piece.owner, at: from + way * along, corners });
                }
            }
        }
        hit
    }
}

/// Whether a line passes through a box before `nearest`: the slabs of Kay and Kajiya (1986).
fn through_box(from: Point, way: Point, low: Point, high: Point, nearest: f64) -> bool {
    let (mut enter, mut leave) = (0.0_f64, nearest);
    for axis in 0..3 {
        if way[axis].abs() < 1e-12 {
            if from[axis] < low[axis] || from[axis] > high[axis] {
                return false;
            }
            continue;
        }
        let a = (low[axis] - from[axis]) / way[axis];
        let b = (high[axis] - from[axis]) / way[axis];
        enter = enter.max(a.min(b));
        leave = leave.min(a.max(b));
    }
    enter <= leave
}

/// How far along a line it meets a triangle, from either side (Möller and Trumbore 1997).
fn through_triangle(from: Point, way: Point, [a, b, c]: &[Point; 3]) -> Option<f64> {
    let (ab, ac) = (b - a, c - a);
    let p = way.cross(&ac);
    let det = ab.dot(&p);
    if det.abs() < 1e-14 {
        return None;
    }
    let t = from - a;
    let u = t.dot(&p) / det;
    let q = t.cross(&ab);
    let v = way.dot(&q) / det;
    let along = ac.dot(&q) / det;
    (u >= 0.0 && v >= 0.0 && u + v <= 1.0 && along > 0.0).then_some(along)
}

#[cfg(test)]
mod tests {
    use parry3d::{
        math::Vector,
        query::{Ray, RayCast},
        shape::TriMesh,
    };
    use proptest::prelude::*;

    use super::*;
    use crate::viewer::theme::{Ground, Theme};

    fn point() -> impl Strategy<Value = Point> {
        prop::array::uniform3(-1.0..1.0_f64).prop_map(Point::from)
    }

    proptest! {
        /// Beside a general-purpose library's ray cast.
        #[test]
        fn lines_of_sight_meet_what_parry_says(corners in prop::collection::vec(point(), 9), from in point(), to in point()) {
            prop_assume!((to - from).norm() > 0.05);
            let from = from * 3.0;
            let way = (to - from).normalize();
            let mut form = Form::default();
            let triangles: Vec<[u32; 3]> = (0..3).map(|i| [3 * i, 3 * i + 1, 3 * i + 2]).collect();
            let area = |t: &[u32; 3]| {
                let [a, b, c] = t.map(|i| corners[i as usize]);
                (b - a).cross(&(c - a)).norm()
            };
            prop_assume!(triangles.iter().all(|t| area(t) > 1e-3));
            form.add(&corners, &vec![Point::z(); 9], &triangles, Theme::of(Ground::Paper).body);
            let standing = Standing::of(Form::default(), form);
            let v = |p: &Point| Vector::new(p.x, p.y, p.z);
            let mesh = TriMesh::new(corners.iter().map(v).collect(), triangles).unwrap();
            let theirs = mesh.cast_local_ray(&Ray::new(v(&from), v(&way)), 100.0, false);
            let ours = standing.under((from, way)).map(|hit| (hit.at - from).norm());
            match (ours, theirs) {
                (Some(ours), Some(theirs)) => prop_assert!((ours - theirs).abs() < 1e-6, "{ours} {theirs}"),
                (None, None) => {}
                // Along an edge either answer is right.
                (ours, theirs) => {
                    let at = from + way * ours.or(theirs).unwrap();
                    let edge = corners.chunks(3).any(|t| {
                        (0..3).any(|i| {
                            let (a, b) = (t[i], t[(i + 1) % 3]);
                            let s = ((at - a).dot(&(b - a)) / (b - a).norm_squared()).clamp(0.0, 1.0);
                            (a + (b - a) * s - at).norm() < 1e-6
                        })
                    });
                    prop_assert!(edge, "{ours:?} {theirs:?}");
                }
            }
        }
    }
}
