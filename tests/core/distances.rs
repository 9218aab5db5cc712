//! Distances by hand, and what must hold of them whatever the shapes.

use std::f64::consts::{FRAC_PI_2, TAU};

use heelpoint::geometry::{
    MeshSolid, Pose, RimPath, RimPiece, RimSolid, RoundedBox, Solid, TaperedCapsule, Vec3, bound, distance,
};
use nalgebra::{Point3, Translation3, UnitQuaternion};
use proptest::prelude::*;

fn ball(centre: Vec3, radius: f64) -> TaperedCapsule {
    TaperedCapsule { a: centre, b: centre, radius_a: radius, radius_b: radius }
}

fn rim(radius: f64, tube: f64) -> RimSolid {
    let circle = RimPiece::Arc { centre: [0.0; 2], radius, start: 0.0, sweep: TAU };
    RimSolid { pose: Pose::identity(), path: RimPath { pieces: vec![circle] }, tube }
}

/// A ball of 0.1 at (0.5, 0.4, 0) before a box of half extents 0.2 rounded by 0.05: the core's edge stands at
/// (0.15, 0.15), so the centre is √(0.35² + 0.25²) = 0.430116 from it, less 0.05 and 0.1.
#[test]
fn a_ball_off_the_edge_of_a_box() {
    let solid = RoundedBox { pose: Pose::identity(), half: Vec3::repeat(0.2), round: 0.05 };
    let nearest = distance(&ball(Vec3::new(0.5, 0.4, 0.0), 0.1), &Solid::Box(solid));
    assert!((nearest.gap - 0.280_116).abs() < 1e-6, "{}", nearest.gap);
    // On the way from the edge: 0.15 + 0.05 · 0.35 / 0.430116 and 0.15 + 0.05 · 0.25 / 0.430116.
    assert!((nearest.on_b - Vec3::new(0.190_687, 0.179_062, 0.0)).norm() < 1e-6, "{}", nearest.on_b);
}

/// A cone of balls over a plane face: radii 0.1 to 0.02 at heights 0.3 and 0.25 over a box whose top is at 0.1. The
/// thick end's underside is at 0.2, the thin end's at 0.23: the gap is 0.1, under the thick end.
#[test]
fn the_thick_end_of_a_limb_over_a_box() {
    let solid = RoundedBox { pose: Pose::identity(), half: Vec3::new(1.0, 1.0, 0.1), round: 0.01 };
    let limb =
        TaperedCapsule { a: Vec3::new(-0.3, 0.0, 0.3), b: Vec3::new(0.3, 0.0, 0.25), radius_a: 0.1, radius_b: 0.02 };
    let nearest = distance(&limb, &Solid::Box(solid));
    assert!((nearest.gap - 0.1).abs() < 1e-9);
    assert!((nearest.on_a - Vec3::new(-0.3, 0.0, 0.2)).norm() < 1e-9);
}

/// Crossing limbs, axes 0.2 apart, radii 0.05 and 0.08 without taper: 0.07.
#[test]
fn crossed_limbs() {
    let a = TaperedCapsule { a: Vec3::x() * -0.3, b: Vec3::x() * 0.3, radius_a: 0.05, radius_b: 0.05 };
    let up = Vec3::z() * 0.2;
    let b = TaperedCapsule { a: up - Vec3::y() * 0.1, b: up + Vec3::y() * 0.4, radius_a: 0.08, radius_b: 0.08 };
    let nearest = distance(&a, &Solid::Capsule(b));
    assert!((nearest.gap - 0.07).abs() < 1e-12);
    assert!((nearest.on_b - Vec3::z() * 0.12).norm() < 1e-9);
}

/// Through the middle of a rim of 0.15 and tube 0.016, a rod of 0.03 along the shaft: 0.15 − 0.016 − 0.03 = 0.104;
/// in the wheel's plane outside it, a ball of 0.05 at 0.3 from the centre: 0.3 − 0.15 − 0.016 − 0.05 = 0.084.
#[test]
fn a_rod_through_a_rim_and_a_ball_beside_it() {
    let solid = Solid::Rim(rim(0.15, 0.016));
    let rod = TaperedCapsule { a: Vec3::x() * -0.2, b: Vec3::x() * 0.3, radius_a: 0.03, radius_b: 0.03 };
    assert!((distance(&rod, &solid).gap - 0.104).abs() < 1e-9);
    let beside = distance(&ball(Vec3::new(0.0, 0.3, 0.0), 0.05), &solid);
    assert!((beside.gap - 0.084).abs() < 1e-9);
    assert!((beside.on_b - Vec3::y() * 0.166).norm() < 1e-9);
}

/// A quarter of a rim from 12 to 9 o'clock; a ball at 6 o'clock is nearest to its end at 9: 0.15 √2 = 0.212132.
#[test]
fn an_open_rim_ends_where_it_ends() {
    let arc = RimPiece::Arc { centre: [0.0; 2], radius: 0.15, start: 0.0, sweep: FRAC_PI_2 };
    let solid = RimSolid { pose: Pose::identity(), path: RimPath { pieces: vec![arc] }, tube: 0.01 };
    let nearest = distance(&ball(Vec3::z() * -0.15, 0.02), &Solid::Rim(solid));
    assert!((nearest.gap - 0.182_132).abs() < 1e-6, "{}", nearest.gap);
}

/// A limb that touches is at 0, and in it by 1 mm at −1 mm.
#[test]
fn touching_is_zero() {
    let solids = [
        (Solid::Capsule(ball(Vec3::zeros(), 0.1)), 0.1),
        (Solid::Box(RoundedBox { pose: Pose::identity(), half: Vec3::repeat(0.1), round: 0.02 }), 0.1),
        (Solid::Rim(rim(0.15, 0.016)), 0.166),
    ];
    for (solid, surface) in solids {
        for depth in [0.0, 0.001] {
            let limb = TaperedCapsule {
                a: Vec3::y() * (surface + 0.05 - depth),
                b: Vec3::y() * (surface + 0.4),
                radius_a: 0.05,
                radius_b: 0.07,
            };
            let gap = distance(&limb, &solid).gap;
            assert!((gap + depth).abs() < 1e-12, "{gap} at depth {depth}");
        }
    }
}

fn coordinate() -> impl Strategy<Value = f64> {
    -0.5..0.5_f64
}

fn point() -> impl Strategy<Value = Vec3> {
    (coordinate(), coordinate(), coordinate()).prop_map(|(x, y, z)| Vec3::new(x, y, z))
}

fn pose() -> impl Strategy<Value = Pose> {
    (point(), point())
        .prop_map(|(at, turn)| Pose::from_parts(Translation3::from(at), UnitQuaternion::from_scaled_axis(turn * TAU)))
}

fn capsule() -> impl Strategy<Value = TaperedCapsule> {
    // A share of limbs is without length, without radius or without taper.
    (
        point(),
        prop_oneof![4 => point(), 1 => Just(Vec3::zeros())],
        0.0..0.1_f64,
        prop_oneof![
            3 => (0.0..0.1_f64).prop_map(Some),
            1 => Just(None)
        ],
    )
        .prop_map(|(a, along, radius_a, other)| TaperedCapsule {
            a,
            b: a + along,
            radius_a,
            radius_b: other.unwrap_or(radius_a),
        })
}

fn solid() -> impl Strategy<Value = Solid> {
    let half = (0.005..0.4_f64, 0.005..0.2_f64, 0.005..0.2_f64, 0.0..1.0_f64);
    prop_oneof![
        capsule().prop_map(Solid::Capsule),
        (pose(), half).prop_map(|(pose, (x, y, z, share))| {
            let half = Vec3::new(x, y, z);
            Solid::Box(RoundedBox { pose, half, round: half.min() * share })
        }),
        (pose(), 0.1..0.2_f64, 0.5..TAU).prop_map(|(pose, radius, sweep)| {
            let arc = RimPiece::Arc { centre: [0.0; 2], radius, start: -sweep / 2.0, sweep };
            Solid::Rim(RimSolid { pose, path: RimPath { pieces: vec![arc] }, tube: 0.015 })
        }),
    ]
}

fn moved(solid: &Solid, by: &Pose) -> Solid {
    match solid {
        Solid::Capsule(capsule) => Solid::Capsule(capsule_moved(capsule, by)),
        Solid::Box(solid) => Solid::Box(RoundedBox { pose: by * solid.pose, ..*solid }),
        Solid::Rim(solid) => Solid::Rim(RimSolid { pose: by * solid.pose, ..solid.clone() }),
        Solid::Mesh(solid) => Solid::Mesh(MeshSolid { pose: by * solid.pose, ..solid.clone() }),
    }
}

fn capsule_moved(capsule: &TaperedCapsule, by: &Pose) -> TaperedCapsule {
    let at = |p: Vec3| (by * Point3::from(p)).coords;
    TaperedCapsule { a: at(capsule.a), b: at(capsule.b), ..*capsule }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn both_ways_round_two_limbs_are_as_far_apart(a in capsule(), b in capsule()) {
        let (there, back) = (distance(&a, &Solid::Capsule(b)), distance(&b, &Solid::Capsule(a)));
        prop_assert!((there.gap - back.gap).abs() < 1e-9, "{} and {}", there.gap, back.gap);
    }

    #[test]
    fn the_ends_of_a_limb_may_be_swapped(limb in capsule(), solid in solid()) {
        let swapped = TaperedCapsule { a: limb.b, b: limb.a, radius_a: limb.radius_b, radius_b: limb.radius_a };
        let (one, other) = (distance(&limb, &solid).gap, distance(&swapped, &solid).gap);
        prop_assert!((one - other).abs() < 1e-7, "{one} and {other}");
    }

    #[test]
    fn moving_both_changes_nothing(limb in capsule(), solid in solid(), by in pose()) {
        let before = distance(&limb, &solid);
        let after = distance(&capsule_moved(&limb, &by), &moved(&solid, &by));
        prop_assert!((before.gap - after.gap).abs() < 1e-7, "{} and {}", before.gap, after.gap);
    }

    #[test]
    fn a_small_step_makes_a_small_change(limb in capsule(), solid in solid(), step in point()) {
        let step = step * 1e-3;
        let moved = TaperedCapsule { a: limb.a + step, b: limb.b + step, ..limb };
        let (before, after) = (distance(&limb, &solid).gap, distance(&moved, &solid).gap);
        prop_assert!((before - after).abs() <= step.norm() + 1e-7, "{before} to {after} by a step of {}", step.norm());
    }

    #[test]
    fn the_points_are_as_far_apart_as_the_gap_says(limb in capsule(), solid in solid()) {
        let nearest = distance(&limb, &solid);
        prop_assert!(nearest.gap.is_finite());
        prop_assert!(((nearest.on_a - nearest.on_b).norm() - nearest.gap.abs()).abs() < 1e-9);
        prop_assert!(bound(&limb, &solid) <= nearest.gap + 1e-12);
    }
}
