//! What lies under the pointer: the point that a line of sight meets, and what the core says of it.

use std::sync::Arc;

use rayon::prelude::*;

use super::{Going, ReachPage, Tint, Touched, Who, draw::margin_words};
use crate::{
    geometry::{Vec3, unit_or},
    reach::{Answer, Barrier, Limb, Plane, Reach, Sharing, Surface, Zone},
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
    /// Whose reach is looked at.
    pub who: Who,
    /// What people reach.
    pub sharing: Option<Arc<Sharing>>,
    /// The one who sits.
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
    match probe.who {
        Who::You => {}
        Who::Drivers => return of_drivers(probe, at, asked, on, limb),
        Who::People => return of_people(probe, at, asked, on, limb),
    }
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
    let lines = answer
        .margins
        .iter()
        // The boundary on which the point lies says nothing.
        .filter(|(zone, _)| on != Some(Tint::Zone(*zone)))
        .filter(|(zone, _)| answer.zone.is_none_or(|own| *zone <= own) || *zone == Zone::Attainable)
        .filter_map(|(zone, margin)| Some(format!("{}: {}", zone.word(), margin_words((*margin)?))))
        .collect();
    let title =
        on.map_or_else(|| ReachPage::zone_words(answer.zone).to_owned(), |tint| format!("edge: {}", tint.words()));
    Some(Touched {
        at,
        tint: on.or(answer.zone.map(Tint::Zone)),
        title: crate::words::first_upper(&title),
        lines,
        cause,
        going: Some((answer.pose, going)),
    })
}

/// How a point lies to the boundaries that are seen of a limb: what they bound, the signed distance (m), positive inside,
/// and what ends them nearest to it.
fn margins(probe: &Probe, point: Vec3, limb: Option<Limb>) -> Vec<(Limb, Tint, f64, Option<&Barrier>)> {
    let mut all: Vec<_> = probe
        .seen
        .par_iter()
        .filter(|(of, tint, ..)| *tint != Tint::Place && limb.is_none_or(|limb| limb == *of))
        .filter_map(|(limb, tint, surface, _)| {
            let (near, what) = surface.nearest(point)?;
            let off = (near - point).norm();
            Some((*limb, *tint, if surface.holds(point) { off } else { -off }, what))
        })
        .collect();
    all.sort_by_key(|(_, tint, ..)| *tint);
    all
}

/// What all drivers together reach at a point.
fn of_drivers(probe: &Probe, at: Vec3, asked: Vec3, on: Option<Tint>, limb: Option<Limb>) -> Option<Touched> {
    let all = margins(probe, asked, limb);
    // Of two hands the one that is further inside.
    let (limb, ..) = *all.iter().max_by(|a, b| a.2.total_cmp(&b.2))?;
    let of = || all.iter().filter(|(other, ..)| *other == limb);
    let inside = of().find(|(.., margin, _)| *margin >= 0.0).map(|(_, tint, ..)| *tint);
    let nearest = of().min_by(|a, b| a.2.abs().total_cmp(&b.2.abs()));
    let title = match (on, inside) {
        (Some(tint), _) => format!("edge of all drivers: {}", tint.words()),
        (None, Some(tint)) => format!("all drivers: {}", tint.words()),
        (None, None) => "not reached by all drivers".to_owned(),
    };
    let cause = match nearest.and_then(|(.., what)| what.as_ref()) {
        Some(Barrier::Added(name)) if !name.is_empty() => format!("{name} gets no further"),
        _ => "What all of them reach ends here".to_owned(),
    };
    let lines = of().filter(|(_, tint, ..)| on != Some(*tint));
    let lines = lines.map(|(_, tint, margin, _)| format!("{}: {}", tint.words(), margin_words(*margin))).collect();
    Some(Touched { at, tint: on.or(inside), title: crate::words::first_upper(&title), lines, cause, going: None })
}

/// What share of people reaches a point.
fn of_people(probe: &Probe, at: Vec3, asked: Vec3, on: Option<Tint>, limb: Option<Limb>) -> Option<Touched> {
    let all = margins(probe, asked, limb);
    let sharing = probe.sharing.as_ref()?;
    let (limb, ..) = *all.iter().max_by(|a, b| a.2.total_cmp(&b.2))?;
    let share = sharing.share(limb.side(), if on.is_some() { at } else { asked });
    let of = || all.iter().filter(|(other, ..)| *other == limb);
    let inside = of().find(|(.., margin, _)| *margin >= 0.0).map(|(_, tint, ..)| *tint);
    let lines = of().filter(|(_, tint, ..)| on != Some(*tint));
    Some(Touched {
        at,
        tint: on.or(inside),
        title: format!("{share:.0} % of people reach this"),
        lines: lines.map(|(_, tint, margin, _)| format!("{}: {}", tint.words(), margin_words(*margin))).collect(),
        cause: format!("Their {} hand, shoulders on the seat", limb.side().word()),
        going: None,
    })
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
