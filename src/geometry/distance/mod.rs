//! Signed distances between solids, with the two nearest points.
//!
//! A tapered capsule is the union of balls whose centres and radii run linearly from end to end, so its distance to
//! anything is the least, over that run, of the distance from the centre less the radius. To a convex solid this is a
//! convex function of one number, and piecewise of closed form.

mod between;
mod to_box;
mod to_capsule;
mod to_mesh;
mod to_rim;
mod to_triangle;

#[cfg(test)]
mod against_parry;

pub use between::between;

use nalgebra::Point3;

use super::{MeshSolid, Pose, Solid, TaperedCapsule, Vec3, unit_or};

/// The least distance between two solids and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// The gap, m; negative where the solids overlap: by how far the deepest ball of the capsule reaches in.
    pub gap: f64,
    /// Nearest point on the first solid, W.
    pub on_a: Vec3,
    /// Nearest point on the second solid, W.
    pub on_b: Vec3,
}

/// The least distance from a tapered capsule to any solid; nearest points lie on the surfaces.
///
/// To a surface of triangles the gap counts from the surface; inside a closed piece it is how far the deepest ball would
/// have to go to be out, and a capsule that an open surface cuts overlaps by how far the surface reaches into it.
///
/// Touching solids have a gap of 0. It changes continuously with either solid, through touching and into overlap;
/// deep inside one another, where several ways out are equally long, the nearest points may jump.
///
/// ```
/// use heelpoint::geometry::{Solid, TaperedCapsule, Vec3, distance};
/// let ball = |x: f64| TaperedCapsule { a: Vec3::x() * x, b: Vec3::x() * x, radius_a: 0.1, radius_b: 0.1 };
/// let nearest = distance(&ball(0.0), &Solid::Capsule(ball(0.5)));
/// assert!((nearest.gap - 0.3).abs() < 1e-12);
/// assert!((nearest.on_b - Vec3::x() * 0.4).norm() < 1e-12);
/// ```
pub fn distance(capsule: &TaperedCapsule, solid: &Solid) -> Nearest {
    match solid {
        Solid::Capsule(other) => to_capsule::distance(capsule, other),
        Solid::Box(other) => to_box::distance(capsule, other),
        Solid::Rim(other) => to_rim::distance(capsule, other),
        Solid::Mesh(other) => to_mesh::within(capsule, other, f64::INFINITY),
    }
}

/// [`distance`], or `limit` and no points where a surface of triangles is further away than that: quicker where only
/// what is near counts.
pub fn distance_within(capsule: &TaperedCapsule, solid: &Solid, limit: f64) -> Nearest {
    match solid {
        Solid::Mesh(other) => to_mesh::within(capsule, other, limit),
        _ => distance(capsule, solid),
    }
}

/// How far along the unit vector `way` whatever of a surface lies within `reach` of a capsule goes at most: the greatest
/// `way · p` over its points p, or `least` where it is less; `None` where it is more than `most`. W.
pub fn furthest(
    capsule: &TaperedCapsule,
    solid: &MeshSolid,
    reach: f64,
    way: Vec3,
    least: f64,
    most: f64,
) -> Option<f64> {
    to_mesh::furthest(capsule, solid, reach, way, [least, most])
}

/// A lower bound of [`distance`], far cheaper: the ball round the capsule against the solid or what surrounds it.
pub fn bound(capsule: &TaperedCapsule, solid: &Solid) -> f64 {
    let (middle, radius) = ball_round(capsule);
    let to_solid = match solid {
        Solid::Capsule(other) => {
            let (centre, round) = ball_round(other);
            (middle - centre).norm() - round
        }
        // To the box itself rather than to a ball round it: that of a long rail would bound nothing.
        Solid::Box(other) => to_box::to_point(other.pose.inverse_transform_point(&middle.into()).coords, other).0,
        // To the flat ring that holds the centre line: a ball round a rim is mostly empty.
        Solid::Rim(other) => {
            let local = other.pose.inverse_transform_point(&middle.into()).coords;
            let (inner, outer) = other.path.span();
            let across = local.y.hypot(local.z);
            local.x.hypot((inner - across).max(across - outer).max(0.0)) - other.tube
        }
        Solid::Mesh(other) => to_mesh::to_extent(middle, other),
    };
    to_solid - radius
}

/// Middle and radius of a ball that holds a capsule.
fn ball_round(capsule: &TaperedCapsule) -> (Vec3, f64) {
    let half = (capsule.b - capsule.a) * 0.5;
    (capsule.a + half, half.norm() + capsule.radius_a.max(capsule.radius_b))
}

/// A run of balls: centres from `start` along the unit vector `along`, radii growing by `slope` a metre.
///
/// A capsule one of whose balls holds the other is that ball alone: a run without length.
#[derive(Clone, Copy)]
struct Run {
    start: Vec3,
    along: Vec3,
    length: f64,
    radius: f64,
    slope: f64,
}

impl Run {
    fn of(capsule: &TaperedCapsule) -> Self {
        Self::between(capsule.a, capsule.b, capsule.radius_a, capsule.radius_b)
    }

    /// The run of a capsule seen from a frame, given the frame's pose.
    fn seen_from(capsule: &TaperedCapsule, frame: &Pose) -> Self {
        let local = |p: Vec3| frame.inverse_transform_point(&p.into()).coords;
        Self::between(local(capsule.a), local(capsule.b), capsule.radius_a, capsule.radius_b)
    }

    fn between(a: Vec3, b: Vec3, radius_a: f64, radius_b: f64) -> Self {
        let axis = b - a;
        let length = axis.norm();
        let grows = radius_b - radius_a;
        if length <= grows.abs() || length < 1e-12 {
            let (start, radius) = if grows > 0.0 { (b, radius_b) } else { (a, radius_a) };
            return Self { start, along: Vec3::zeros(), length: 0.0, radius, slope: 0.0 };
        }
        Self { start: a, along: axis / length, length, radius: radius_a, slope: grows / length }
    }

    fn centre(&self, place: f64) -> Vec3 {
        self.start + self.along * place
    }

    fn radius(&self, place: f64) -> f64 {
        self.radius + self.slope * place
    }

    /// The place of the ball that comes nearest to a point.
    ///
    /// With u the place of the foot of the perpendicular, h its length and c the slope, √((s − u)² + h²) − r(s) is
    /// least where (s − u)/√((s − u)² + h²) = c.
    fn nearest_to(&self, point: Vec3) -> f64 {
        let off = point - self.start;
        let foot = off.dot(&self.along);
        let shift = if self.slope == 0.0 {
            0.0
        } else {
            let height = (off - self.along * foot).norm();
            height * self.slope / (1.0 - self.slope * self.slope).sqrt()
        };
        (foot + shift).clamp(0.0, self.length)
    }

    /// Distance from a point to the run's surface.
    fn point_distance(&self, point: Vec3) -> f64 {
        let place = self.nearest_to(point);
        (point - self.centre(place)).norm() - self.radius(place)
    }
}

/// Nearest points of two balls, along the line of their centres or along `otherwise` where these coincide.
fn between_balls(p: Vec3, radius_p: f64, q: Vec3, radius_q: f64, otherwise: Vec3) -> Nearest {
    let way = unit_or(q - p, otherwise);
    Nearest { gap: (q - p).norm() - radius_p - radius_q, on_a: p + way * radius_p, on_b: q - way * radius_q }
}

/// A point of a frame in W.
fn placed(frame: &Pose, local: Vec3) -> Vec3 {
    (frame * Point3::from(local)).coords
}
