//! From a tapered capsule to a surface of triangles: closed form to each triangle, and a tree of boxes that leaves most of
//! them out.

use super::{
    Nearest, Run, between_balls, placed,
    to_triangle::{Hit, Spine},
};
use crate::geometry::{MeshSolid, TaperedCapsule, TriangleMesh, Vec3, mesh::Node, unit_or};

/// Balls of a capsule that lies inside a closed surface are looked at no further apart than this, m, and no more of them.
const APART: f64 = 0.005;
const MOST: f64 = 48.0;

/// The distance, or `limit` where it is more; nearest points only where it is less.
pub(super) fn within(capsule: &TaperedCapsule, solid: &MeshSolid, limit: f64) -> Nearest {
    let run = Run::seen_from(capsule, &solid.pose);
    let Some(hit) = search(&solid.mesh, &run, limit) else {
        // A capsule whose surface is far from the mesh may still be inside it.
        if limit.is_finite()
            && let Some(inside) = inside_at_start(&solid.mesh, &run)
        {
            return seen_in_world(solid, &deepest(&solid.mesh, &run, inside));
        }
        let at = placed(&solid.pose, run.start);
        return Nearest { gap: limit, on_a: at, on_b: at };
    };
    let centre = run.centre(hit.place);
    if solid.mesh.has_inside(hit.triangle) {
        let off = centre - hit.on;
        let is_inside = || off.norm() < 1e-9 || off.dot(&solid.mesh.outward(hit.triangle, hit.on)) < 0.0;
        // Where the surface reaches into the capsule, its axis may go through it elsewhere.
        let axis = Run { radius: 0.0, slope: 0.0, ..run };
        if is_inside() || hit.gap < 0.0 && search(&solid.mesh, &axis, 1e-9).is_some() {
            return seen_in_world(solid, &deepest(&solid.mesh, &run, hit.place));
        }
    }
    let otherwise = unit_or(-solid.mesh.outward(hit.triangle, hit.on), Vec3::z());
    let nearest = between_balls(centre, run.radius(hit.place), hit.on, 0.0, otherwise);
    seen_in_world(solid, &nearest)
}

/// Distance from a point in W to the box that holds a surface along its own axes; inside it, less than 0 by how far the
/// way out is. The surface itself is no nearer, and no point is deeper in it.
pub(super) fn to_extent(point: Vec3, solid: &MeshSolid) -> f64 {
    let local = solid.pose.inverse_transform_point(&point.into()).coords;
    let [low, high] = solid.mesh.extent();
    let beyond = (low - local).sup(&(local - high));
    beyond.sup(&Vec3::zeros()).norm() + beyond.max().min(0.0)
}

fn seen_in_world(solid: &MeshSolid, nearest: &Nearest) -> Nearest {
    let world = |p: Vec3| placed(&solid.pose, p);
    Nearest { gap: nearest.gap, on_a: world(nearest.on_a), on_b: world(nearest.on_b) }
}

/// Signed distance from a point in the surface's frame, negative inside a closed piece, and the nearest point.
fn signed(mesh: &TriangleMesh, point: Vec3) -> Option<(f64, Vec3)> {
    let ball = Run { start: point, along: Vec3::zeros(), length: 0.0, radius: 0.0, slope: 0.0 };
    let hit = search(mesh, &ball, f64::INFINITY)?;
    let inside = mesh.has_inside(hit.triangle) && (point - hit.on).dot(&mesh.outward(hit.triangle, hit.on)) < 0.0;
    Some((if inside { -hit.gap } else { hit.gap }, hit.on))
}

/// The start of the run, if it lies inside a closed piece.
fn inside_at_start(mesh: &TriangleMesh, run: &Run) -> Option<f64> {
    (!mesh.is_far_outside(run.start) && signed(mesh, run.start)?.0 < 0.0).then_some(0.0)
}

/// The ball that reaches deepest into a closed piece.
fn deepest(mesh: &TriangleMesh, run: &Run, known: f64) -> Nearest {
    let depth = |place: f64| {
        let centre = run.centre(place);
        let (gap, on) = signed(mesh, centre).unwrap_or((0.0, centre));
        (gap - run.radius(place), place, on, gap)
    };
    let count = (run.length / APART).ceil().clamp(1.0, MOST);
    let step = run.length / count;
    let mut best = depth(known);
    for at in 0..=count as usize {
        let there = depth(step * at as f64);
        if there.0 < best.0 {
            best = there;
        }
    }
    // Between two looks it is at most half a step deeper; close in on it.
    let mut width = step / 2.0;
    while width > 1e-5 {
        for place in [best.1 - width, best.1 + width] {
            let there = depth(place.clamp(0.0, run.length));
            if there.0 < best.0 {
                best = there;
            }
        }
        width /= 2.0;
    }
    let (gap, place, on, off) = best;
    let centre = run.centre(place);
    // From inside, the way out leads over the surface.
    let way = unit_or(if off < 0.0 { centre - on } else { on - centre }, Vec3::z());
    Nearest { gap, on_a: centre + way * run.radius(place), on_b: on }
}

/// The nearest triangle closer than `limit`.
fn search(mesh: &TriangleMesh, run: &Run, limit: f64) -> Option<Hit> {
    let nodes = mesh.nodes();
    let spine = Spine::of(run);
    let mut best = Best {
        hit: Hit { gap: limit, place: 0.0, on: Vec3::zeros(), triangle: u32::MAX },
        way: Vec3::zeros(),
        plane: f64::NEG_INFINITY,
    };
    let mut stack = [(0_u32, 0.0_f64); 64];
    let mut height = 0;
    if let Some(root) = nodes.first() {
        stack[0] = (0, spine.to_box(root.low, root.high));
        height = 1;
    }
    while height > 0 {
        height -= 1;
        let (at, bound) = stack[height];
        let node = &nodes[at as usize];
        if bound >= best.hit.gap || best.is_behind_box(node) {
            continue;
        }
        if node.count > 0 {
            for triangle in node.at..node.at + node.count {
                let corners = mesh.corners(triangle);
                if !best.is_behind(&corners)
                    && spine.to_triangle(&corners, mesh.own_edges(triangle), triangle, &mut best.hit)
                {
                    best.look(run);
                }
            }
            continue;
        }
        let halves = [at + 1, at + node.at].map(|half| {
            let node = &nodes[half as usize];
            (half, spine.to_box(node.low, node.high))
        });
        let [near, far] = if halves[0].1 <= halves[1].1 { halves } else { [halves[1], halves[0]] };
        // A tree of 2³² triangles is 32 high: the stack can't run over.
        for half in [far, near] {
            if half.1 < best.hit.gap && height < stack.len() {
                stack[height] = half;
                height += 1;
            }
        }
    }
    (best.hit.triangle != u32::MAX).then_some(best.hit)
}

/// The nearest so far, and the plane behind which nothing can be nearer: across the line of nearest points, through the one
/// on the surface. It leaves out most of a surface that is flat or bulges towards the capsule.
struct Best {
    hit: Hit,
    /// From the surface to the capsule, of length 1; zero where there is no such line.
    way: Vec3,
    plane: f64,
}

/// What may be overlooked for the sake of the plane, m.
const SLACK: f64 = 1e-6;

impl Best {
    fn look(&mut self, run: &Run) {
        let off = run.centre(self.hit.place) - self.hit.on;
        let length = off.norm();
        if length < 1e-9 {
            (self.way, self.plane) = (Vec3::zeros(), f64::NEG_INFINITY);
            return;
        }
        self.way = off / length;
        let end = |place: f64| self.way.dot(&run.centre(place)) - run.radius(place);
        self.plane = end(0.0).min(end(run.length)) - self.hit.gap + SLACK;
    }

    fn is_behind(&self, corners: &[Vec3; 3]) -> bool {
        corners.iter().all(|corner| self.way.dot(corner) <= self.plane)
    }

    fn is_behind_box(&self, node: &Node) -> bool {
        node.furthest(self.way) <= self.plane
    }
}

/// How far along `way` (W) whatever of a surface lies within `reach` of a capsule goes at most: the greatest `way · p`, or
/// `least` where it is less; `None` where it is more than `most`.
pub(super) fn furthest(
    capsule: &TaperedCapsule,
    solid: &MeshSolid,
    reach: f64,
    way: Vec3,
    [least, most]: [f64; 2],
) -> Option<f64> {
    let run = Run::seen_from(capsule, &solid.pose);
    let spine = Spine::of(&run);
    let local = solid.pose.rotation.inverse() * way;
    let off = way.dot(&solid.pose.translation.vector);
    let nodes = solid.mesh.nodes();
    let (mut far, most) = (least - off, most - off);
    let mut stack = [0_u32; 64];
    let mut height = usize::from(!nodes.is_empty());
    while height > 0 && far <= most {
        height -= 1;
        let at = stack[height];
        let node = &nodes[at as usize];
        if node.furthest(local) <= far || spine.to_box(node.low, node.high) >= reach {
            continue;
        }
        if node.count > 0 {
            for triangle in node.at..node.at + node.count {
                far = solid.mesh.corners(triangle).iter().fold(far, |far, corner| far.max(local.dot(corner)));
            }
            continue;
        }
        // The half that goes further last: it is looked at first.
        let [one, other] = [at + 1, at + node.at];
        let is_first = nodes[one as usize].furthest(local) >= nodes[other as usize].furthest(local);
        for half in if is_first { [other, one] } else { [one, other] } {
            if height < stack.len() {
                stack[height] = half;
                height += 1;
            }
        }
    }
    (far <= most).then_some(far + off)
}
