//! What is in the way makes holes, and is named.

use std::sync::Arc;

use heelpoint::{
    body::BodyPart,
    geometry::{MeshSolid, Pose, RoundedBox, Side, Solid, TriangleMesh, Vec3, bound, distance},
    reach::{Barrier, Footing, Grip, Limb, Obstacle, Reach, USUAL_LEAN, Zone, controls},
    rig::RigPart,
    study::Solved,
    watch::Watch,
};

fn solved(name: &str) -> Solved {
    Solved::of(&crate::demo(name))
}

fn reach(solved: &Solved, limb: Limb, added: &[Obstacle]) -> Reach {
    Reach::of(&solved.body, &solved.rig, &solved.rest, limb, USUAL_LEAN, added)
}

fn screen(at: Vec3, half: Vec3) -> Obstacle {
    let solid = Solid::Box(RoundedBox { pose: Pose::translation(at.x, at.y, at.z), half, round: 0.001 });
    Obstacle::hard(Barrier::Added("the screen".into()), solid)
}

/// The hands hold the rim: with the rim out of the way that is a pose that keeps clear, so each grip is attained.
#[test]
fn hands_reach_the_rim_that_they_hold() {
    for name in ["closed_car", "formula", "three_pedals"] {
        let solved = solved(name);
        for side in Side::BOTH {
            if !solved.rest.arms[side.index()].holds() {
                continue;
            }
            // The point beside the rim towards the driver, so that the fist stands clear of it.
            let grip = solved.rest.arms[side.index()].grip - solved.rig.wheel.X_WR.rotation * Vec3::x() * 0.07;
            let answer = reach(&solved, Limb::Hand(side, Grip::Full), &[]).ask(grip);
            assert!(answer.zone.is_some_and(|zone| zone <= Zone::ShoulderLift), "{name} {side:?}: {answer:?}");
        }
    }
}

#[test]
fn a_point_inside_a_solid_or_behind_one_is_not_reached_and_the_cause_is_named() {
    let solved = solved("three_pedals");
    let limb = Limb::Hand(Side::Left, Grip::Full);
    let free = reach(&solved, limb, &[]);
    let shoulder = solved.rest.sitting.shoulders[0];
    let at = shoulder + Vec3::new(0.42, 0.25, -0.05);
    assert!(free.ask(at).zone.is_some(), "it is reached while nothing is there");
    // In it.
    let within = reach(&solved, limb, &[screen(at, Vec3::new(0.02, 0.2, 0.2))]).ask(at);
    assert_eq!(within.zone, None);
    assert_eq!(within.blocked_by, Some(Barrier::Added("the screen".into())));
    // Behind one that is larger than the arm can go round.
    let before = shoulder + Vec3::new(0.30, 0.25, -0.05);
    let behind = reach(&solved, limb, &[screen(before, Vec3::new(0.01, 0.9, 0.9))]).ask(at);
    assert_eq!(behind.zone, None);
    assert_eq!(behind.blocked_by, Some(Barrier::Added("the screen".into())));
}

/// Twelve triangles in the shape of a box are in the way as the box is: the same points are reached, the boundaries
/// lie where they did to half a step.
#[test]
fn a_surface_of_triangles_is_in_the_way_as_a_box_of_its_shape_is() {
    let solved = solved("three_pedals");
    let (at, half) = (solved.rest.sitting.shoulders[0] + Vec3::new(0.35, 0.1, -0.15), Vec3::new(0.05, 0.15, 0.2));
    let points: Vec<[f32; 3]> = (0..8_u8)
        .map(|i| [0, 1, 2].map(|bit| (if i >> bit & 1 == 1 { half[bit] } else { -half[bit] }) as f32))
        .collect();
    let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles: Vec<[u32; 3]> = faces.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
    let mesh = Arc::new(TriangleMesh::new(&points, &triangles));
    let surface = Solid::Mesh(MeshSolid { mesh, pose: Pose::translation(at.x, at.y, at.z) });
    let what = Barrier::Added("the screen".into());
    let of = |solid: Solid| {
        let mut reach = reach(&solved, Limb::Hand(Side::Left, Grip::Full), &[Obstacle::hard(what.clone(), solid)]);
        reach.to_step(0.040, &Watch::NOBODY).unwrap();
        reach
    };
    let box_itself = of(Solid::Box(RoundedBox { pose: Pose::translation(at.x, at.y, at.z), half, round: 0.0 }));
    let triangles = of(surface);
    assert_eq!(triangles.ask(at).blocked_by, Some(what.clone()));
    for zone in Zone::ALL {
        let (a, b) = (box_itself.surface(zone).unwrap(), triangles.surface(zone).unwrap());
        assert!((a.volume() - b.volume()).abs() <= 0.002 * a.volume(), "{zone:?} {} {}", a.volume(), b.volume());
        assert!(a.mesh.positions.iter().all(|p| (b.nearest(*p).unwrap().0 - p).norm() < 0.020), "{zone:?}");
    }
}

/// The demo's shell from a file: beside its wings and bolsters the elbow ends, and the shell is what is named.
#[test]
fn a_part_from_a_file_is_in_the_way_and_is_named() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/bucket_shell.ron");
    let solved = Solved::of(&heelpoint::project::load(&path).unwrap().0);
    let shell = solved.rig.imported[0].solid.corners();
    let middle = shell.iter().sum::<Vec3>() / 8.0;
    let mut reach = reach(&solved, Limb::Hand(Side::Right, Grip::Full), &[]);
    reach.to_step(0.040, &Watch::NOBODY).unwrap();
    let surface = reach.surface(Zone::Attainable).unwrap();
    let own = Barrier::Rig(RigPart::Imported(0));
    assert!(surface.barriers.contains(&own), "{:?}", surface.barriers);
    assert_eq!(own.words(&solved.rig), "“Bucket shell”");
    let described = |what: &Barrier| matches!(what, Barrier::Rig(RigPart::Seat(name)) if name.contains("bolster") || name.contains("wing"));
    assert!(!surface.barriers.iter().any(described), "the described sides are gone: {:?}", surface.barriers);
    // Where it ends at the shell, the hand is within an arm's length of it.
    let index = surface.barriers.iter().position(|what| *what == own).unwrap();
    for (at, _) in surface.mesh.positions.iter().zip(&surface.ends).filter(|(_, end)| **end == Some(index as u16)) {
        assert!((at - middle).norm() < 1.4, "{at}");
    }
}

/// The wheel unit cannot be entered, the other thigh not passed by a foot.
#[test]
fn rig_and_body_cut_holes() {
    let solved = solved("three_pedals");
    let unit = solved.rig.wheel.unit.pose.translation.vector;
    let answer = reach(&solved, Limb::Hand(Side::Left, Grip::Full), &[]).ask(unit);
    assert_eq!(answer.zone, None);
    assert!(answer.short > 0.0 || matches!(answer.blocked_by, Some(Barrier::Rig(_) | Barrier::Body(_))), "{answer:?}");
    let other = (solved.rest.legs[1].knee() + solved.rest.legs[1].ankle()) * 0.5;
    let answer = reach(&solved, Limb::Foot(Side::Left, Footing::Free), &[]).ask(other);
    assert_eq!(answer.zone, None);
    let is_leg = |part: &BodyPart| {
        matches!(part, BodyPart::Thigh(Side::Right) | BodyPart::Knee(Side::Right) | BodyPart::Shank(Side::Right))
    };
    assert!(matches!(&answer.blocked_by, Some(Barrier::Body(part)) if is_leg(part)), "{:?}", answer.blocked_by);
}

/// Each pose that the program answers with keeps clear by the exact distances of the clearance checks, to what nets of 20
/// mm and shapes allow: 6 mm beyond the give.
#[test]
fn poses_that_are_given_keep_clear_by_exact_distances() {
    let solved = solved("three_pedals");
    let (body, rest) = (&solved.body, &solved.rest);
    let side = Side::Right;
    let reach = reach(&solved, Limb::Hand(side, Grip::Full), &[]);
    let mut solids: Vec<(Solid, f64)> = solved.rig.rails.iter().map(|rail| (Solid::Box(rail.solid), 0.002)).collect();
    solids.push((Solid::Box(solved.rig.wheel.unit), 0.002));
    solids.push((Solid::Rim(solved.rig.wheel.rim(0.0)), 0.002));
    solids.extend(solved.rig.seat.solids.iter().map(|(_, solid)| (Solid::Box(*solid), 0.010)));
    for leg in Side::BOTH {
        solids.extend(body.leg(&rest.legs[leg.index()], leg).iter().map(|solid| (Solid::Capsule(solid.shape), 0.015)));
    }
    let shoulder = rest.sitting.shoulders[side.index()];
    let mut draw = heelpoint::body::Draw::new(3, 0);
    let mut looked = 0;
    for _ in 0..400 {
        let point = shoulder + Vec3::from_fn(|_, _| 1.4 * (draw.uniform() - 0.5));
        let answer = reach.ask(point);
        if answer.zone.is_none() {
            continue;
        }
        looked += 1;
        let (_, arm) = answer.pose.arm(body, &rest.sitting, side);
        assert!((arm.grip - point).norm() < 1e-4, "the arm that is drawn holds the point");
        for solid in body.arm(&arm, side) {
            if matches!(solid.part, BodyPart::UpperArm(_)) {
                continue;
            }
            for (other, give) in &solids {
                if bound(&solid.shape, other) > 0.0 {
                    continue;
                }
                let gap = distance(&solid.shape, other).gap;
                assert!(gap > -give - 0.006, "{:?} {:.1} mm in {other:?}", solid.part, -1e3 * gap);
            }
        }
    }
    assert!(looked > 100, "{looked}");
}

/// A net moved with its obstacle is the net made anew.
#[test]
fn a_moved_obstacle_gives_what_a_new_reckoning_gives() {
    let solved = solved("three_pedals");
    let limb = Limb::Hand(Side::Left, Grip::Full);
    let shoulder = solved.rest.sitting.shoulders[0];
    let (here, there) = (
        screen(shoulder + Vec3::new(0.35, 0.1, 0.0), Vec3::new(0.02, 0.15, 0.15)),
        screen(shoulder + Vec3::new(0.40, 0.3, 0.1), Vec3::new(0.02, 0.15, 0.15)),
    );
    let mut moved = reach(&solved, limb, std::slice::from_ref(&here));
    moved.to_step(0.020, &Watch::NOBODY).unwrap();
    let touched = moved.move_added(0, there.clone(), &Watch::NOBODY).unwrap();
    let mut anew = reach(&solved, limb, &[there]);
    anew.to_step(0.020, &Watch::NOBODY).unwrap();
    assert!(touched > 100, "something was in its way");
    for zone in Zone::ALL {
        let (a, b) = (moved.surface(zone).unwrap().volume(), anew.surface(zone).unwrap().volume());
        assert!((a - b).abs() < 0.01 * b, "{zone:?}: {a} for {b}");
    }
}

#[test]
fn long_work_can_be_stopped() {
    let solved = solved("closed_car");
    let stop = std::sync::atomic::AtomicBool::new(true);
    let heard = |_: usize| ();
    let mut reach = reach(&solved, Limb::Hand(Side::Left, Grip::Full), &[]);
    assert!(reach.coarse(&Watch::new(&stop, &heard)).is_err());
}

/// Left and right hands of a rig that is its own mirror image reach mirror images.
#[test]
fn left_and_right_are_mirror_images() {
    let solved = solved("closed_car");
    let of = |side: Side| {
        let mut reach = reach(&solved, Limb::Hand(side, Grip::Full), &[]).alone();
        reach.coarse(&Watch::NOBODY).unwrap();
        Zone::ALL.map(|zone| reach.surface(zone).unwrap().volume())
    };
    let (left, right) = (of(Side::Left), of(Side::Right));
    for (left, right) in left.into_iter().zip(right) {
        assert!((left - right).abs() < 0.01 * left, "{left} {right}");
    }
}

/// Zones hold one another; margins have the sign of the zone.
#[test]
fn controls_stand_in_zones_with_margins_that_agree() {
    for name in ["closed_car", "three_pedals"] {
        let solved = solved(name);
        let [left, right] = Side::BOTH.map(|side| {
            let mut reach = reach(&solved, Limb::Hand(side, Grip::Full), &[]);
            reach.to_step(0.020, &Watch::NOBODY).unwrap();
            reach
        });
        for zones in Zone::ALL.windows(2) {
            assert!(left.surface(zones[0]).unwrap().volume() < left.surface(zones[1]).unwrap().volume());
        }
        let rows = controls(&solved.rig, [&left, &right]);
        assert_eq!(rows.len(), solved.rig.controls.len());
        for (row, answer) in rows {
            for (zone, margin) in &answer.margins {
                let inside = answer.zone.is_some_and(|held| held <= *zone);
                assert!(margin.is_none_or(|margin| (margin >= 0.0) == inside), "{row:?}");
            }
        }
    }
}
