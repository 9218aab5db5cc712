//! The shapes that bodies and rigs are made of for distances.

use std::sync::Arc;

use super::{Pose, TriangleMesh, Vec3};

/// The hull of two balls: a limb segment, a bolster crest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TaperedCapsule {
    /// Centre of the first ball, W.
    pub a: Vec3,
    /// Centre of the second ball, W.
    pub b: Vec3,
    /// Radius at `a`, m.
    pub radius_a: f64,
    /// Radius at `b`, m.
    pub radius_b: f64,
}

/// A box with rounded edges: rails, units, plates, slabs of a seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundedBox {
    /// Pose of the box, its origin in the middle.
    pub pose: Pose,
    /// Half extents over the outside, m; each at least `round`.
    pub half: Vec3,
    /// Radius of edges and corners, m.
    pub round: f64,
}

/// A piece of a rim's centre line in the plane of the wheel: coordinates (left, up) from the wheel centre, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RimPiece {
    /// Part of a circle.
    Arc {
        /// Its centre.
        centre: [f64; 2],
        /// Its radius.
        radius: f64,
        /// Where it begins: angle from "up" towards "left" (anticlockwise as the driver sees it), rad.
        start: f64,
        /// How far it goes anticlockwise, rad, in (0, 2π].
        sweep: f64,
    },
    /// A straight piece.
    Line {
        /// One end.
        from: [f64; 2],
        /// Other end.
        to: [f64; 2],
    },
}

/// The centre line of a rim, anticlockwise as the driver sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct RimPath {
    /// The pieces in order; consecutive ones meet.
    pub pieces: Vec<RimPiece>,
}

/// A rim: a tube along a path in the wheel plane.
#[derive(Clone, Debug, PartialEq)]
pub struct RimSolid {
    /// Pose of the rim frame R in W, wheel angle included.
    pub pose: Pose,
    /// Centre line.
    pub path: RimPath,
    /// Radius of the tube, m.
    pub tube: f64,
}

/// A surface of triangles at a place: concave, closed or open.
#[derive(Clone, Debug)]
pub struct MeshSolid {
    /// The surface in its own frame.
    pub mesh: Arc<TriangleMesh>,
    /// Pose of that frame in W.
    pub pose: Pose,
}

impl PartialEq for MeshSolid {
    /// The same surface at the same place.
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.mesh, &other.mesh) && self.pose == other.pose
    }
}

impl MeshSolid {
    /// The eight corners, W, of the box that holds it along its own axes.
    pub fn corners(&self) -> [Vec3; 8] {
        let extent = self.mesh.extent();
        std::array::from_fn(|i| {
            let corner = Vec3::new(extent[i & 1].x, extent[i >> 1 & 1].y, extent[i >> 2 & 1].z);
            (self.pose * nalgebra::Point3::from(corner)).coords
        })
    }
}

/// Any of them.
#[derive(Clone, Debug, PartialEq)]
pub enum Solid {
    /// Hull of two balls.
    Capsule(TaperedCapsule),
    /// Rounded box.
    Box(RoundedBox),
    /// Rim.
    Rim(RimSolid),
    /// Surface of triangles.
    Mesh(MeshSolid),
}

impl Solid {
    /// The same solid elsewhere, unturned.
    #[must_use]
    pub fn shifted(&self, by: Vec3) -> Self {
        let shift = nalgebra::Translation3::from(by);
        match self {
            Self::Capsule(own) => Self::Capsule(TaperedCapsule { a: own.a + by, b: own.b + by, ..*own }),
            Self::Box(own) => Self::Box(RoundedBox { pose: shift * own.pose, ..*own }),
            Self::Rim(own) => Self::Rim(RimSolid { pose: shift * own.pose, ..own.clone() }),
            Self::Mesh(own) => Self::Mesh(MeshSolid { mesh: own.mesh.clone(), pose: shift * own.pose }),
        }
    }
}

impl RoundedBox {
    /// The eight corners of the unrounded box, W.
    pub fn corners(&self) -> [Vec3; 8] {
        std::array::from_fn(|i| {
            let sign = |bit: usize| if i >> bit & 1 == 0 { -1.0 } else { 1.0 };
            let corner = Vec3::new(sign(0) * self.half.x, sign(1) * self.half.y, sign(2) * self.half.z);
            (self.pose * nalgebra::Point3::from(corner)).coords
        })
    }
}

impl RimPiece {
    /// A point along the piece, share 0 to 1.
    pub fn point(&self, share: f64) -> [f64; 2] {
        match self {
            Self::Arc { centre, radius, start, sweep } => {
                let angle = start + sweep * share;
                [centre[0] + radius * angle.sin(), centre[1] + radius * angle.cos()]
            }
            Self::Line { from, to } => [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share],
        }
    }

    /// Its length, m.
    pub fn length(&self) -> f64 {
        match self {
            Self::Arc { radius, sweep, .. } => radius * sweep,
            Self::Line { from, to } => (to[0] - from[0]).hypot(to[1] - from[1]),
        }
    }
}

impl RimPath {
    /// Whether the path is one full circle about the wheel centre, so that turning it changes nothing.
    pub fn is_circle(&self) -> bool {
        matches!(self.pieces[..], [RimPiece::Arc { sweep, .. }] if sweep >= std::f64::consts::TAU - 1e-9)
    }

    /// The farthest point from the wheel centre, m.
    pub fn reach(&self) -> f64 {
        self.pieces
            .iter()
            .map(|piece| match piece {
                RimPiece::Arc { centre, radius, .. } => centre[0].hypot(centre[1]) + radius,
                RimPiece::Line { from, to } => from[0].hypot(from[1]).max(to[0].hypot(to[1])),
            })
            .fold(0.0, f64::max)
    }

    /// Least and greatest distance from the wheel centre between which the path runs, m; the least may be an
    /// underestimate.
    pub fn span(&self) -> (f64, f64) {
        let least = |piece: &RimPiece| match piece {
            RimPiece::Arc { centre, radius, .. } => (radius - centre[0].hypot(centre[1])).abs(),
            RimPiece::Line { from, to } => {
                let along = [to[0] - from[0], to[1] - from[1]];
                let squared = along[0] * along[0] + along[1] * along[1];
                let share = (-(from[0] * along[0] + from[1] * along[1]) / squared.max(1e-18)).clamp(0.0, 1.0);
                (from[0] + along[0] * share).hypot(from[1] + along[1] * share)
            }
        };
        (self.pieces.iter().map(least).fold(f64::INFINITY, f64::min), self.reach())
    }

    /// About `count` points along the path in order, ends of pieces included.
    pub fn points(&self, count: usize) -> Vec<[f64; 2]> {
        let total: f64 = self.pieces.iter().map(RimPiece::length).sum();
        let mut out = Vec::with_capacity(count + self.pieces.len());
        for piece in &self.pieces {
            let steps = ((count as f64 * piece.length() / total.max(1e-9)).ceil() as usize).max(1);
            out.extend((0..=steps).map(|step| piece.point(step as f64 / steps as f64)));
        }
        out.dedup_by(|a, b| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-9);
        out
    }
}

impl RimSolid {
    /// The rim as a ring of about `count` short tubes, W.
    pub fn tubes(&self, count: usize) -> impl Iterator<Item = TaperedCapsule> {
        let points: Vec<Vec3> = self
            .path
            .points(count)
            .into_iter()
            .map(|[left, up]| (self.pose * nalgebra::Point3::new(0.0, left, up)).coords)
            .collect();
        let radius = self.tube;
        (1..points.len()).map(move |i| TaperedCapsule {
            a: points[i - 1],
            b: points[i],
            radius_a: radius,
            radius_b: radius,
        })
    }
}
