//! Distances against parry3d's GJK (Gilbert, Johnson, Keerthi 1988), which knows our shapes by nothing but their
//! support points, and against brute force for the rim, which is not convex.

use std::f64::consts::TAU;

use nalgebra::{Translation3, UnitQuaternion};
use parry3d::{
    math::{Pose as ParryPose, Vector},
    query::{ClosestPoints, details::closest_points_support_map_support_map},
    shape::{Cuboid, RoundShape, SupportMap},
};

use super::{Nearest, Run, distance};
use crate::geometry::{Pose, RimPath, RimPiece, RimSolid, RoundedBox, Solid, TaperedCapsule, Vec3};

/// Evenly spread points of the unit cube: multiples of the powers of a generalised golden ratio (Roberts 2018).
struct Spread {
    index: u32,
    taken: i32,
}

impl Spread {
    fn new(index: u32) -> Self {
        Self { index, taken: 0 }
    }

    fn next(&mut self) -> f64 {
        // The root of x^25 = x + 1 serves up to 24 numbers an index.
        const ROOT: f64 = 1.028_518_2;
        self.taken += 1;
        (0.5 + f64::from(self.index) * ROOT.powi(-self.taken)).fract()
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    fn point(&mut self, reach: f64) -> Vec3 {
        Vec3::new(self.between(-reach, reach), self.between(-reach, reach), self.between(-reach, reach))
    }

    fn pose(&mut self, reach: f64) -> Pose {
        let turn =
            UnitQuaternion::from_euler_angles(self.between(0.0, TAU), self.between(-1.5, 1.5), self.between(0.0, TAU));
        Pose::from_parts(Translation3::from(self.point(reach)), turn)
    }

    fn capsule(&mut self, reach: f64) -> TaperedCapsule {
        let a = self.point(reach);
        let b = a + self.point(0.4);
        TaperedCapsule { a, b, radius_a: self.between(0.0, 0.12), radius_b: self.between(0.0, 0.12) }
    }

    fn rounded_box(&mut self, reach: f64) -> RoundedBox {
        let half = Vec3::new(self.between(0.01, 0.4), self.between(0.01, 0.2), self.between(0.01, 0.2));
        RoundedBox { pose: self.pose(reach), half, round: self.between(0.0, half.min()) }
    }
}

/// A tapered capsule as parry sees it, in W.
struct Support(TaperedCapsule);

impl SupportMap for Support {
    fn local_support_point(&self, way: Vector) -> Vector {
        let way = way.normalize();
        let end = |centre: Vec3, radius: f64| Vector::new(centre.x, centre.y, centre.z) + way * radius;
        let (a, b) = (end(self.0.a, self.0.radius_a), end(self.0.b, self.0.radius_b));
        if a.dot(way) > b.dot(way) { a } else { b }
    }
}

fn parry_pose(pose: &Pose) -> ParryPose {
    let (q, t) = (pose.rotation.coords, pose.translation.vector);
    ParryPose::from_parts(Vector::new(t.x, t.y, t.z), parry3d::math::Rotation::from_xyzw(q.x, q.y, q.z, q.w))
}

/// What parry says of a gap.
enum Gjk {
    /// It lies between these two: what the plane across its line of nearest points keeps apart, and that line's length.
    Apart(f64, f64),
    /// The solids overlap; by how much isn't measured here.
    Overlap,
}

fn gjk(a: &impl SupportMap, b: &impl SupportMap, pose_b: &ParryPose) -> Gjk {
    match closest_points_support_map_support_map(pose_b, a, b, f64::MAX) {
        ClosestPoints::WithinMargin(p, q) => {
            let between = pose_b.rotation * q + pose_b.translation - p;
            Gjk::Apart(kept_apart(a, b, pose_b, between), between.length())
        }
        _ => Gjk::Overlap,
    }
}

/// How far apart planes across `way` keep two solids: never more than their gap, and just that for the right `way`.
fn kept_apart(a: &impl SupportMap, b: &impl SupportMap, pose_b: &ParryPose, way: Vector) -> f64 {
    let way = way.normalize();
    b.support_point(pose_b, -way).dot(way) - a.local_support_point(way).dot(way)
}

/// Holds our answer to parry's, and its line of nearest points to the planes across it, which prove it.
fn agrees(index: u32, ours: &Nearest, a: &impl SupportMap, b: &impl SupportMap, pose_b: &ParryPose) -> bool {
    match gjk(a, b, pose_b) {
        Gjk::Apart(least, most) if most > 1e-6 => {
            assert!(
                (least - 1e-9..most + 1e-9).contains(&ours.gap),
                "case {index}: {} but from {least} to {most}",
                ours.gap
            );
            let way = ours.on_b - ours.on_a;
            let proven = kept_apart(a, b, pose_b, Vector::new(way.x, way.y, way.z));
            assert!((ours.gap - proven).abs() < 1e-9, "case {index}: {} but {proven} is proven", ours.gap);
            true
        }
        _ => {
            assert!(ours.gap < 1e-6, "case {index}: {} but they overlap", ours.gap);
            false
        }
    }
}

/// Whether the nearest points are what they say: on both surfaces, as far apart as the gap.
fn points_hold(nearest: &Nearest, capsule: &TaperedCapsule) {
    assert!(((nearest.on_b - nearest.on_a).norm() - nearest.gap.abs()).abs() < 1e-9, "{nearest:?}");
    assert!(Run::of(capsule).point_distance(nearest.on_a).abs() < 1e-7, "{nearest:?} off {capsule:?}");
}

const CASES: u32 = 4000;

#[test]
fn capsule_to_capsule_agrees_with_gjk() {
    let mut apart = 0;
    for index in 1..=CASES {
        let mut spread = Spread::new(index);
        let (a, b) = (spread.capsule(0.0), spread.capsule(0.45));
        let ours = distance(&a, &Solid::Capsule(b));
        points_hold(&ours, &a);
        points_hold(&Nearest { on_a: ours.on_b, on_b: ours.on_a, ..ours }, &b);
        apart += u32::from(agrees(index, &ours, &Support(a), &Support(b), &ParryPose::IDENTITY));
        let back = distance(&b, &Solid::Capsule(a));
        assert!((ours.gap - back.gap).abs() < 1e-9, "case {index}: {} one way, {} the other", ours.gap, back.gap);
    }
    assert!(apart > CASES / 2, "{apart} cases were apart");
}

/// Parallel and nearly parallel axes, where the closed form has no free minimum or loses digits.
#[test]
fn nearly_parallel_capsules_agree_with_gjk() {
    for index in 1..=CASES {
        let mut spread = Spread::new(index);
        let a = spread.capsule(0.0);
        let tilt = 10.0_f64.powf(spread.between(-12.0, -1.0));
        let along = (a.b - a.a) * spread.between(-1.0, 1.0);
        let start = a.a + spread.point(0.4) + (a.b - a.a) * spread.between(-0.5, 0.5);
        let b = TaperedCapsule {
            a: start,
            b: start + along + spread.point(1.0) * tilt,
            radius_a: a.radius_a,
            radius_b: spread.between(0.0, 0.1),
        };
        let ours = distance(&a, &Solid::Capsule(b));
        agrees(index, &ours, &Support(a), &Support(b), &ParryPose::IDENTITY);
    }
}

#[test]
fn capsule_to_box_agrees_with_gjk() {
    let mut apart = 0;
    for index in 1..=CASES {
        let mut spread = Spread::new(index);
        let (capsule, solid) = (spread.capsule(0.0), spread.rounded_box(0.5));
        let ours = distance(&capsule, &Solid::Box(solid));
        if ours.gap > 0.0 {
            points_hold(&ours, &capsule);
        }
        let core = solid.half.map(|half| half - solid.round);
        let theirs =
            RoundShape { inner_shape: Cuboid::new(Vector::new(core.x, core.y, core.z)), border_radius: solid.round };
        apart += u32::from(agrees(index, &ours, &Support(capsule), &theirs, &parry_pose(&solid.pose)));
    }
    assert!(apart > CASES / 2, "{apart} cases were apart");
}

/// Overlap has no GJK answer; the least over many balls of the run is the definition itself.
#[test]
fn capsule_in_box_agrees_with_many_balls() {
    let mut deep = 0;
    for index in 1..=CASES {
        let mut spread = Spread::new(index);
        let (capsule, solid) = (spread.capsule(0.0), spread.rounded_box(0.15));
        let ours = distance(&capsule, &Solid::Box(solid));
        let ball = |share: f64| {
            let centre = capsule.a + (capsule.b - capsule.a) * share;
            let radius = capsule.radius_a + (capsule.radius_b - capsule.radius_a) * share;
            super::to_box::to_point(solid.pose.inverse_transform_point(&centre.into()).coords, &solid).0 - radius
        };
        let theirs = least_sampled(ball, 400);
        deep += u32::from(theirs < -0.05);
        assert!((ours.gap - theirs).abs() < 1e-6, "case {index}: {} but {theirs}", ours.gap);
    }
    assert!(deep > CASES / 10, "{deep} cases were deep");
}

/// The least of a function over [0, 1]: sampled, then narrowed by thirds round every sample below its neighbours.
fn least_sampled(f: impl Fn(f64) -> f64, samples: usize) -> f64 {
    let share = |index: usize| index as f64 / samples as f64;
    let values: Vec<f64> = (0..=samples).map(|index| f(share(index))).collect();
    let mut least = f64::INFINITY;
    for index in 0..=samples {
        let (before, after) = (index.saturating_sub(1), (index + 1).min(samples));
        if values[index] > values[before] || values[index] > values[after] {
            continue;
        }
        let (mut low, mut high) = (share(before), share(after));
        for _ in 0..60 {
            let third = (high - low) / 3.0;
            if f(low + third) < f(high - third) {
                high -= third;
            } else {
                low += third;
            }
        }
        least = least.min(values[index]).min(f(low));
    }
    least
}

fn outlines() -> Vec<RimPath> {
    let arc = |centre: [f64; 2], radius: f64, start: f64, sweep: f64| RimPiece::Arc { centre, radius, start, sweep };
    let quarter = TAU / 4.0;
    vec![
        RimPath { pieces: vec![arc([0.0; 2], 0.15, 0.0, TAU)] },
        RimPath { pieces: vec![arc([0.0; 2], 0.15, 0.6, TAU - 1.2)] },
        RimPath {
            pieces: vec![
                arc([0.0; 2], 0.15, -TAU * 3.0 / 8.0, TAU * 6.0 / 8.0),
                RimPiece::Line {
                    from: [0.15 * 0.5_f64.sqrt(), -0.15 * 0.5_f64.sqrt()],
                    to: [-0.15 * 0.5_f64.sqrt(), -0.15 * 0.5_f64.sqrt()],
                },
            ],
        },
        RimPath {
            pieces: vec![
                RimPiece::Line { from: [-0.08, 0.08], to: [0.08, 0.08] },
                arc([0.08, 0.04], 0.04, 0.0, quarter),
                RimPiece::Line { from: [0.12, 0.04], to: [0.12, -0.04] },
                arc([0.08, -0.04], 0.04, quarter, quarter),
                RimPiece::Line { from: [0.08, -0.08], to: [-0.08, -0.08] },
                arc([-0.08, -0.04], 0.04, 2.0 * quarter, quarter),
                RimPiece::Line { from: [-0.12, -0.04], to: [-0.12, 0.04] },
                arc([-0.08, 0.04], 0.04, 3.0 * quarter, quarter),
            ],
        },
    ]
}

/// The other way round: along the rim, each of whose points has a closed form to the capsule.
#[test]
fn capsule_to_rim_agrees_with_brute_force() {
    for (shape, path) in outlines().into_iter().enumerate() {
        for index in 1..=CASES {
            let mut spread = Spread::new(index);
            let rim = RimSolid { pose: spread.pose(0.2), path: path.clone(), tube: spread.between(0.01, 0.02) };
            let capsule = spread.capsule(0.2);
            let ours = distance(&capsule, &Solid::Rim(rim.clone()));
            points_hold(&ours, &capsule);
            let run = Run::seen_from(&capsule, &rim.pose);
            let theirs = path
                .pieces
                .iter()
                .map(|piece| {
                    let gap = |share: f64| {
                        let [left, up] = piece.point(share);
                        run.point_distance(Vec3::new(0.0, left, up)) - rim.tube
                    };
                    least_sampled(gap, 200)
                })
                .fold(f64::INFINITY, f64::min);
            assert!((ours.gap - theirs).abs() < 1e-6, "outline {shape}, case {index}: {} but {theirs}", ours.gap);
        }
    }
}

#[test]
fn the_bound_is_never_above_the_gap() {
    let outlines = outlines();
    for index in 1..=CASES {
        let mut spread = Spread::new(index);
        let capsule = spread.capsule(0.0);
        let path = outlines[index as usize % outlines.len()].clone();
        for solid in [
            Solid::Capsule(spread.capsule(0.4)),
            Solid::Box(spread.rounded_box(0.4)),
            Solid::Rim(RimSolid { pose: spread.pose(0.3), path, tube: 0.015 }),
        ] {
            let (bound, gap) = (super::bound(&capsule, &solid), distance(&capsule, &solid).gap);
            assert!(bound <= gap + 1e-12, "case {index}: bound {bound} above {gap} for {solid:?}");
        }
    }
}
