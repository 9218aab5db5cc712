//! What lies under the pointer: the point that a line of sight meets, and what the core says of it.

use std::sync::Arc;

use rayon::prelude::*;

use super::{Going, Tint, Touched};
use crate::{
    geometry::{Vec3, unit_or},
    reach::{Answer, Limb, Plane, Reach, Surface},
    study::Study,
    units::to_mm,
    viewer::camera::Bounds,
};

/// How far from what is seen a plane is still pointed at, m.
const ABOUT: f64 = 0.12;

/// What is pointed at.
pub struct Probe {
    /// From where and in which direction, W.
    pub ray: (Vec3, Vec3),
    /// The plane in which a point is looked for, if not on the boundaries.
    pub plane: Option<Plane>,
    /// The boundaries that are seen.
    pub seen: Vec<(Limb, Tint, Arc<Surface>, Bounds)>,
    /// The limbs that can be asked.
    pub reaches: Vec<Arc<Reach>>,
    /// Whose they are.
    pub study: Arc<Study>,
}

/// The point that a ray meets, and what can be said of it.
pub fn touch(probe: &Probe) -> Option<Touched> {
    let (from, way) = probe.ray;
    let (at, asked, on, ends, limb) = if let Some(plane) = &probe.plane {
        let normal = plane.right.cross(&plane.up);
        let slope = way.dot(&normal);
        if slope.abs() < 1e-6 {
            return None;
        }
        let far = (plane.origin - from).dot(&normal) / slope;
        let at = from + way * far;
        let near = probe.seen.iter().any(|(.., bounds)| bounds.holds(at, ABOUT));
        if far < 0.0 || !near {
            return None;
        }
        (at, at, None, None, None)
    } else {
        let hit = probe
            .seen
            .par_iter()
            .filter_map(|(limb, tint, surface, _)| {
                let (far, corner) = first_hit(surface, from, way)?;
                let ends = surface.ends.get(corner).copied().flatten();
                let inside = -surface.mesh.normals[corner] * (0.5 * surface.step);
                Some((far, *limb, *tint, ends.map(|at| surface.barriers[usize::from(at)].clone()), inside))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        let at = from + way * hit.0;
        // On the edge itself a hair decides: what is asked is the point just inside.
        (at, at + hit.4, Some(hit.2), hit.3, Some(hit.1))
    };
    // Of two limbs the one whose boundary is pointed at, else the one that gets nearest.
    let solved = &probe.study.solved;
    let (reach, answer) = probe
        .reaches
        .iter()
        .filter(|reach| limb.is_none_or(|limb| reach.limb == limb))
        .map(|reach| (reach, reach.ask(asked)))
        .min_by(|(_, a), (_, b)| rank(a).total_cmp(&rank(b)))?;
    let side = reach.limb.side();
    let foot = matches!(reach.limb, Limb::Foot(..));
    let rig = &solved.rig;
    let cause = if on.is_some_and(|tint| matches!(tint, Tint::Zone(_))) {
        ends.map_or_else(|| "Your joints end it here".to_owned(), |what| format!("Ends at {}", what.words(rig)))
    } else if let Some(what) = &answer.blocked_by {
        format!("In the way: {}", what.words(rig))
    } else if answer.short > 0.0 {
        let limb = if foot { "leg" } else { "arm" };
        format!("Your {limb} falls {:.0} mm short", to_mm(answer.short).ceil())
    } else {
        let edge = answer.ends_by.as_ref().map_or_else(|| "where your joints end".to_owned(), |what| what.words(rig));
        format!("Nearest edge: {edge}")
    };
    let sitting = &solved.rest.sitting;
    let going = if foot {
        Going::Leg(side, Box::new(answer.pose.leg(&solved.body, sitting, side)))
    } else {
        let (sitting, arm) = answer.pose.arm(&solved.body, sitting, side);
        Going::Arm(side, Box::new(sitting), Box::new(arm))
    };
    Some(Touched { at, on, answer, cause, going })
}

/// Of two answers the better one is lower.
fn rank(answer: &Answer) -> f64 {
    answer.zone.map_or(10.0 + answer.short, |zone| f64::from(zone as u8) - answer.margin(zone).unwrap_or(0.0).min(0.5))
}

/// Where a ray first enters a surface: how far, m, and a corner of the triangle (Möller and Trumbore 1997).
fn first_hit(surface: &Surface, from: Vec3, way: Vec3) -> Option<(f64, usize)> {
    let way = unit_or(way, Vec3::x());
    let mesh = &surface.mesh;
    mesh.triangles
        .iter()
        .filter_map(|triangle| {
            let [a, b, c] = triangle.map(|index| mesh.positions[index as usize]);
            let (u, v) = (b - a, c - a);
            let across = way.cross(&v);
            let det = u.dot(&across);
            // From outside only.
            if det < 1e-14 {
                return None;
            }
            let off = from - a;
            let s = off.dot(&across) / det;
            let over = off.cross(&u);
            let t = way.dot(&over) / det;
            let far = v.dot(&over) / det;
            (s >= 0.0 && t >= 0.0 && s + t <= 1.0 && far > 0.0).then_some((far, triangle[0] as usize))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::isosurface;

    /// A ray at a ball of 200 mm, 120 mm off its middle: it enters √(200² − 120²) = 160 mm before the nearest point.
    #[test]
    fn a_ray_enters_a_ball_where_it_should() {
        let middle = Vec3::new(0.3, -0.1, 0.5);
        let mesh = isosurface(&move |p: Vec3| (p - middle).norm() - 0.2, Vec3::repeat(-1.0), Vec3::repeat(1.0), 0.01);
        let surface = Surface { ends: vec![None; mesh.positions.len()], mesh, ..Surface::default() };
        let from = middle + Vec3::new(-2.0, 0.12, 0.0);
        let (far, _) = first_hit(&surface, from, Vec3::x()).unwrap();
        assert!((far - (2.0 - 0.16)).abs() < 1e-3, "{far}");
        assert!(first_hit(&surface, from, Vec3::y()).is_none());
        assert!(first_hit(&surface, from, -Vec3::x()).is_none(), "behind the eye");
    }
}
