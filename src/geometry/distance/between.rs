//! Between two parts of a rig: boxes, surfaces, rims.
//!
//! The nearest points of two bodies with flat faces lie on an edge of one of them, so edges are measured as capsules without
//! thickness; how far two boxes overlap is told by the axis along which they are parted soonest (Gottschalk 1996).

use super::{Nearest, bound, distance_within, placed, to_mesh};
use crate::geometry::{MeshSolid, RoundedBox, Solid, TaperedCapsule, Vec3};

/// The least distance between two parts, or `limit` where it is more; negative where they overlap: for two boxes how far
/// one has to go to be out of the other, else how far an edge of the one reaches into the other.
pub fn between(a: &Solid, b: &Solid, limit: f64) -> Nearest {
    let mut best = Nearest { gap: limit, on_a: Vec3::zeros(), on_b: Vec3::zeros() };
    // Most parts of a rig are far from one another: the ball round the one tells.
    if ball_round(a).is_some_and(|ball| coarse(&ball, b) >= limit) {
        return best;
    }
    match (a, b) {
        (Solid::Capsule(capsule), _) => offer(&mut best, capsule, b, false),
        (_, Solid::Capsule(capsule)) => offer(&mut best, capsule, a, true),
        (Solid::Rim(rim), _) => rim.tubes(RIM).for_each(|tube| offer(&mut best, &tube, b, false)),
        (_, Solid::Rim(rim)) => rim.tubes(RIM).for_each(|tube| offer(&mut best, &tube, a, true)),
        (Solid::Box(one), Solid::Box(other)) => {
            edges(one).for_each(|edge| offer(&mut best, &edge, b, false));
            edges(other).for_each(|edge| offer(&mut best, &edge, a, true));
            if best.gap < 0.0 {
                best.gap = best.gap.min(overlap(one, other));
            }
        }
        (Solid::Box(one), Solid::Mesh(other)) => box_to_mesh(&mut best, one, a, other, b, false),
        (Solid::Mesh(one), Solid::Box(other)) => box_to_mesh(&mut best, other, b, one, a, true),
        (Solid::Mesh(one), Solid::Mesh(other)) => {
            mesh_edges(one, b, best.gap, |edge, best_gap| {
                offer(&mut best, edge, b, false);
                *best_gap = best.gap;
            });
            mesh_edges(other, a, best.gap, |edge, best_gap| {
                offer(&mut best, edge, a, true);
                *best_gap = best.gap;
            });
        }
    }
    best
}

/// A ball that holds a box, a surface or a rim.
fn ball_round(solid: &Solid) -> Option<TaperedCapsule> {
    let (centre, radius) = match solid {
        Solid::Box(own) => (own.pose.translation.vector, own.half.norm()),
        Solid::Mesh(own) => {
            let [low, high] = own.mesh.extent();
            (placed(&own.pose, (low + high) / 2.0), (high - low).norm() / 2.0)
        }
        Solid::Rim(own) => (own.pose.translation.vector, own.path.reach() + own.tube),
        Solid::Capsule(_) => return None,
    };
    Some(TaperedCapsule { a: centre, b: centre, radius_a: radius, radius_b: radius })
}

/// What the distance from a ball can't be less than, without looking at triangles.
fn coarse(ball: &TaperedCapsule, solid: &Solid) -> f64 {
    match solid {
        Solid::Mesh(other) => to_mesh::to_extent(ball.a, other) - ball.radius_a,
        _ => bound(ball, solid),
    }
}

/// Tubes that stand for a rim: they leave it by less than 0.1 mm.
const RIM: usize = 96;

/// A capsule of the one part against the whole of the other.
fn offer(best: &mut Nearest, capsule: &TaperedCapsule, solid: &Solid, swapped: bool) {
    if bound_of(capsule, solid) >= best.gap {
        return;
    }
    let found = distance_within(capsule, solid, best.gap);
    if found.gap < best.gap {
        *best = if swapped { Nearest { on_a: found.on_b, on_b: found.on_a, ..found } } else { found };
    }
}

/// A bound that costs little; a surface has its own.
fn bound_of(capsule: &TaperedCapsule, solid: &Solid) -> f64 {
    if matches!(solid, Solid::Mesh(_)) { f64::NEG_INFINITY } else { bound(capsule, solid) }
}

/// The twelve edges of a box as capsules of its rounding.
fn edges(solid: &RoundedBox) -> impl Iterator<Item = TaperedCapsule> {
    let core = solid.half.map(|half| (half - solid.round).max(0.0));
    let (pose, round) = (solid.pose, solid.round);
    let corner = move |at: usize| {
        let sign = |bit: usize| if at >> bit & 1 == 0 { -1.0 } else { 1.0 };
        placed(&pose, Vec3::new(sign(0), sign(1), sign(2)).component_mul(&core))
    };
    (0..8)
        .flat_map(move |from| (0..3).map(move |bit| (from, from | 1 << bit)))
        .filter(|(from, to)| from != to)
        .map(move |(from, to)| TaperedCapsule { a: corner(from), b: corner(to), radius_a: round, radius_b: round })
}

/// How far two boxes are apart along the axis that parts them best; negative where they overlap.
fn overlap(one: &RoundedBox, other: &RoundedBox) -> f64 {
    let axes = [one, other].map(|solid| [Vec3::x(), Vec3::y(), Vec3::z()].map(|axis| solid.pose.rotation * axis));
    let off = other.pose.translation.vector - one.pose.translation.vector;
    let crossed = (0..9).map(|at| axes[0][at / 3].cross(&axes[1][at % 3]));
    let half_along = |index: usize, solid: &RoundedBox, way: Vec3| -> f64 {
        (0..3).map(|i| axes[index][i].dot(&way).abs() * solid.half[i]).sum()
    };
    axes.iter()
        .flatten()
        .copied()
        .chain(crossed)
        .filter_map(|way| way.try_normalize(1e-6))
        .map(|way| off.dot(&way).abs() - half_along(0, one, way) - half_along(1, other, way))
        .fold(f64::NEG_INFINITY, f64::max)
}

fn box_to_mesh(
    best: &mut Nearest,
    own: &RoundedBox,
    own_solid: &Solid,
    mesh: &MeshSolid,
    mesh_solid: &Solid,
    swapped: bool,
) {
    edges(own).for_each(|edge| offer(best, &edge, mesh_solid, swapped));
    mesh_edges(mesh, own_solid, best.gap, |edge, best_gap| {
        offer(best, edge, own_solid, !swapped);
        *best_gap = best.gap;
    });
}

/// Every edge of a surface that may come nearer to a solid than `limit`, which what is done with it may lower.
fn mesh_edges(mesh: &MeshSolid, solid: &Solid, limit: f64, mut visit: impl FnMut(&TaperedCapsule, &mut f64)) {
    let mut limit = limit;
    // Coarsely, by the ball round a box of the tree.
    let ball = |low: Vec3, high: Vec3| {
        let centre = placed(&mesh.pose, (low + high) / 2.0);
        let radius = (high - low).norm() / 2.0;
        coarse(&TaperedCapsule { a: centre, b: centre, radius_a: radius, radius_b: radius }, solid)
    };
    let mut stack = vec![0_usize];
    let nodes = mesh.mesh.nodes();
    while let Some(at) = stack.pop() {
        let Some(node) = nodes.get(at) else { continue };
        let wide = |point: [f32; 3]| Vec3::from(point.map(f64::from));
        if ball(wide(node.low), wide(node.high)) >= limit {
            continue;
        }
        if node.count == 0 {
            stack.extend([at + node.at as usize, at + 1]);
            continue;
        }
        for triangle in node.at..node.at + node.count {
            let corners = mesh.mesh.corners(triangle).map(|corner| placed(&mesh.pose, corner));
            for i in 0..3 {
                let edge = TaperedCapsule { a: corners[i], b: corners[(i + 1) % 3], radius_a: 0.0, radius_b: 0.0 };
                visit(&edge, &mut limit);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Pose, Rot};

    fn block(at: [f64; 3], half: [f64; 3], turn: f64) -> Solid {
        let pose = Pose::from_parts(Vec3::from(at).into(), Rot::from_euler_angles(0.0, 0.0, turn));
        Solid::Box(RoundedBox { pose, half: half.into(), round: 0.0 })
    }

    /// By hand: blocks of 0.2 beside one another 0.05 apart, corner towards corner √(0.03² + 0.04²), turned by 45° so that
    /// an edge stands before a face (0.1·√2 long), crossing like a plus 0.02 deep, one inside the other.
    #[test]
    fn blocks_are_as_far_apart_as_by_hand() {
        let cube = || block([0.0; 3], [0.1; 3], 0.0);
        let gap = |other: Solid| between(&cube(), &other, f64::INFINITY).gap;
        assert!((gap(block([0.25, 0.05, 0.0], [0.1; 3], 0.0)) - 0.05).abs() < 1e-12);
        assert!((gap(block([0.23, 0.24, 0.0], [0.1; 3], 0.0)) - 0.05).abs() < 1e-12);
        let turned = block([0.3, 0.0, 0.0], [0.1; 3], std::f64::consts::FRAC_PI_4);
        assert!((gap(turned) - (0.2 - 0.1 * 2.0_f64.sqrt())).abs() < 1e-12);
        let plus = block([0.0, 0.0, 0.18], [0.5, 0.02, 0.1], 0.0);
        assert!((gap(plus) + 0.02).abs() < 1e-12, "by the 0.02 that it is sunk in from above");
        assert!((gap(block([0.0; 3], [0.02; 3], 0.3)) + 0.1).abs() < 0.03, "out through a face");
        assert!((between(&cube(), &block([3.0, 0.0, 0.0], [0.1; 3], 0.0), 0.5).gap - 0.5).abs() < 1e-12, "the limit");
    }

    /// A box of triangles is a box.
    #[test]
    fn a_block_of_triangles_is_as_far_away_as_a_block() {
        let points: Vec<[f32; 3]> =
            (0..8_u8).map(|i| [0, 1, 2].map(|bit| f32::from(i >> bit & 1) * 0.2 - 0.1)).collect();
        let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles: Vec<[u32; 3]> = faces.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
        let mesh = std::sync::Arc::new(crate::geometry::TriangleMesh::new(&points, &triangles));
        let solid = |pose: Pose| Solid::Mesh(MeshSolid { mesh: mesh.clone(), pose });
        for step in 0..40_u32 {
            let t = f64::from(step);
            let turn = Rot::from_euler_angles(0.3 * t, 0.7 * t, 0.1 * t);
            let at = Vec3::new(0.3 + 0.1 * (0.9 * t).sin(), 0.1 * t.cos(), 0.06 * (1.3 * t).sin());
            let other =
                RoundedBox { pose: Pose::from_parts(at.into(), turn), half: Vec3::new(0.12, 0.05, 0.08), round: 0.0 };
            let wanted = between(&block([0.0; 3], [0.1; 3], 0.0), &Solid::Box(other), 1.0).gap;
            let found = between(&solid(Pose::identity()), &Solid::Box(other), 1.0).gap;
            if wanted > 0.0 {
                assert!((wanted - found).abs() < 1e-6, "{step}: {wanted} {found}");
                assert!((between(&solid(Pose::identity()), &solid(other.pose), 1.0).gap > 0.0) || wanted < 0.06);
            } else {
                assert!(found < 1e-6, "{step}: {wanted} {found}");
            }
        }
    }
}
