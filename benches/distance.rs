//! Distances from a limb to a limb, a rail and a rim, each beside parry's GJK on the same shapes in the same run.
//!
//! Each measurement goes through 64 placements, near and far; criterion's throughput gives distances a second.

use std::{f64::consts::TAU, hint::black_box};

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use heelpoint::geometry::{
    Pose, RimPath, RimPiece, RimSolid, RoundedBox, Solid, TaperedCapsule, Vec3, bound, distance,
};
use parry3d::{
    math::{Pose as ParryPose, Vector},
    query::details::closest_points_support_map_support_map,
    shape::{Capsule, Cuboid, RoundShape, SupportMap},
};

const PLACEMENTS: u32 = 64;
/// Tubes that stand for a rim in GJK, which takes convex shapes only.
const TUBES: usize = 48;

/// A tapered capsule as parry sees it.
struct Support(TaperedCapsule);

impl SupportMap for Support {
    fn local_support_point(&self, way: Vector) -> Vector {
        let way = way.normalize();
        let end = |centre: Vec3, radius: f64| Vector::new(centre.x, centre.y, centre.z) + way * radius;
        let (a, b) = (end(self.0.a, self.0.radius_a), end(self.0.b, self.0.radius_b));
        if a.dot(way) > b.dot(way) { a } else { b }
    }
}

/// A place within ±0.5 m, evenly spread by the golden ratio's kin.
fn place(index: u32, dimension: i32) -> f64 {
    (0.5 + f64::from(index) * 1.220_744_1_f64.powi(-dimension)).fract() - 0.5
}

fn limb(index: u32) -> TaperedCapsule {
    let at = |from: i32| Vec3::new(place(index, from), place(index, from + 1), place(index, from + 2));
    let a = at(1);
    TaperedCapsule { a, b: a + at(4).normalize() * 0.4, radius_a: 0.085, radius_b: 0.06 }
}

/// A thigh-sized limb near the origin, the other solid there.
fn measure(c: &mut Criterion, name: &str, solid: &Solid, gjk: impl Fn(&Support) -> f64) {
    let limbs: Vec<TaperedCapsule> = (1..=PLACEMENTS).map(limb).collect();
    let supports: Vec<Support> = limbs.iter().map(|limb| Support(*limb)).collect();
    let mut group = c.benchmark_group(name);
    group.throughput(Throughput::Elements(u64::from(PLACEMENTS)));
    group.bench_function(BenchmarkId::from_parameter("ours"), |b| {
        b.iter(|| limbs.iter().map(|limb| distance(black_box(limb), black_box(solid)).gap).sum::<f64>());
    });
    group.bench_function(BenchmarkId::from_parameter("bound"), |b| {
        b.iter(|| limbs.iter().map(|limb| bound(black_box(limb), black_box(solid))).sum::<f64>());
    });
    group.bench_function(BenchmarkId::from_parameter("gjk"), |b| {
        b.iter(|| supports.iter().map(|limb| gjk(black_box(limb))).sum::<f64>());
    });
    group.finish();
}

fn gap(a: &impl SupportMap, b: &impl SupportMap) -> f64 {
    match closest_points_support_map_support_map(&ParryPose::IDENTITY, a, b, f64::MAX) {
        parry3d::query::ClosestPoints::WithinMargin(p, q) => (p - q).length(),
        _ => 0.0,
    }
}

fn distances(c: &mut Criterion) {
    let capsule =
        TaperedCapsule { a: Vec3::new(-0.1, 0.05, 0.0), b: Vec3::new(0.2, -0.1, 0.1), radius_a: 0.06, radius_b: 0.04 };
    measure(c, "limb to limb", &Solid::Capsule(capsule), |limb| gap(limb, &Support(capsule)));

    let rail = RoundedBox { pose: Pose::identity(), half: Vec3::new(0.02, 0.04, 0.3), round: 0.0015 };
    let theirs = RoundShape { inner_shape: Cuboid::new(Vector::new(0.0185, 0.0385, 0.2985)), border_radius: 0.0015 };
    measure(c, "limb to rail", &Solid::Box(rail), |limb| gap(limb, &theirs));

    let arc = |centre: [f64; 2], radius: f64, start: f64, sweep: f64| RimPiece::Arc { centre, radius, start, sweep };
    let line = |from: [f64; 2], to: [f64; 2]| RimPiece::Line { from, to };
    let quarter = TAU / 4.0;
    let outlines = [
        ("limb to round rim", vec![arc([0.0; 2], 0.144, 0.0, TAU)]),
        (
            "limb to rectangular rim",
            vec![
                line([-0.08, 0.075], [0.08, 0.075]),
                arc([0.08, 0.035], 0.04, 0.0, quarter),
                line([0.12, 0.035], [0.12, -0.035]),
                arc([0.08, -0.035], 0.04, quarter, quarter),
                line([0.08, -0.075], [-0.08, -0.075]),
                arc([-0.08, -0.035], 0.04, 2.0 * quarter, quarter),
                line([-0.12, -0.035], [-0.12, 0.035]),
                arc([-0.08, 0.035], 0.04, 3.0 * quarter, quarter),
            ],
        ),
    ];
    for (name, pieces) in outlines {
        let rim = RimSolid { pose: Pose::identity(), path: RimPath { pieces }, tube: 0.016 };
        let tubes: Vec<Capsule> = rim
            .tubes(TUBES)
            .map(|tube| {
                let at = |p: Vec3| Vector::new(p.x, p.y, p.z);
                Capsule::new(at(tube.a), at(tube.b), tube.radius_a)
            })
            .collect();
        measure(c, name, &Solid::Rim(rim), |limb| tubes.iter().map(|tube| gap(limb, tube)).fold(f64::MAX, f64::min));
    }
}

criterion_group!(benches, distances);
criterion_main!(benches);
