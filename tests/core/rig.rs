//! The rig stands where hand arithmetic puts it, and what is drawn is what distances are measured to.

use heelpoint::{
    geometry::{RoundedBox, Solid, TaperedCapsule, Vec3, distance},
    posture::Moment,
    project::{BackAngle, Checked, PedalKind, Rail, WheelUnit, Wings},
    rig::{RailPart, Rig, RigPart, Surface, SurfaceKind},
};
use nalgebra::Point3;

use crate::{DEMOS, demo};

fn changed(name: &str, change: impl FnOnce(&mut heelpoint::Project)) -> Rig {
    let mut project = demo(name).into_inner();
    change(&mut project);
    Rig::place(&Checked::new(project).expect("still sound"))
}

/// How far a point is outside a solid; negative inside.
fn outside(point: Vec3, solid: &Solid) -> f64 {
    distance(&TaperedCapsule { a: point, b: point, radius_a: 0.0, radius_b: 0.0 }, solid).gap
}

fn seen_from(pose: &heelpoint::geometry::Pose, point: Vec3) -> Vec3 {
    pose.inverse_transform_point(&Point3::from(point)).coords
}

/// A back of 700 mm at 50° from horizontal: 700 cos 50° = 449.95 behind its foot and 700 sin 50° = 536.23 above.
/// A cushion of 480 mm at 34°: 480 cos 34° = 397.94 before it and 480 sin 34° = 268.41 above.
#[test]
fn cushion_and_back_stand_as_their_gauges_read() {
    let rig = changed("closed_car", |project| {
        project.seat.position_mm = [300.0, 10.0, 150.0];
        project.seat.slider.at_mm = 40.0;
        project.seat.cushion_angle_deg = 34.0;
        project.seat.back_angle_deg = BackAngle::FromHorizontal(50.0);
    });
    let foot = Vec3::new(0.34, 0.01, 0.15);
    let top = (rig.seat.X_WK * Point3::new(0.0, 0.0, 0.7)).coords - foot;
    assert!((top - Vec3::new(-0.449_95, 0.0, 0.536_23)).norm() < 1e-5, "{top}");
    let front = (rig.seat.X_WS * Point3::new(0.48, 0.0, 0.0)).coords - foot;
    assert!((front - Vec3::new(0.397_94, 0.0, 0.268_41)).norm() < 1e-5, "{front}");
}

/// A shell 390 mm wide at the hips, 400 at the ribs and 540 between its wings, whose bolsters stand 70 mm above the
/// cushion and 95 mm out of the back: inner faces 195, 200 and 270 mm from the middle.
#[test]
fn bolsters_and_wings_stand_beside_the_widths_that_were_asked_for() {
    let rig = changed("closed_car", |project| {
        project.seat.position_mm[1] = 0.0;
        project.seat.cushion.width_mm = 390.0;
        project.seat.cushion.bolster_height_mm = 70.0;
        project.seat.back.width_mm = 400.0;
        project.seat.back.bolster_depth_mm = 95.0;
        project.seat.wings = Some(Wings { from_mm: 460.0, to_mm: 620.0, depth_mm: 120.0, width_mm: 540.0 });
    });
    let solid = |name: &str| rig.seat.solids.iter().find(|(known, _)| *known == name).map(|(_, solid)| *solid).unwrap();
    for (name, inner) in [("left cushion bolster", 0.195), ("left bolster", 0.2), ("left wing", 0.27)] {
        let middle = solid(name).pose.translation.vector.y;
        assert!((middle - solid(name).half.y - inner).abs() < 1e-12, "{name}");
        let right = name.replace("left", "right");
        assert!((solid(&right).pose.translation.vector.y + middle).abs() < 1e-12, "{right}");
    }
    let crest = solid("left cushion bolster");
    let crest = seen_from(&rig.seat.X_WS, (crest.pose * Point3::new(0.0, 0.0, crest.half.z)).coords);
    assert!((crest.z - 0.07).abs() < 1e-12);
    let out = solid("left bolster");
    let out = seen_from(&rig.seat.X_WK, (out.pose * Point3::new(out.half.x, 0.0, 0.0)).coords);
    assert!((out.x - 0.095).abs() < 1e-12);
}

/// A pad of 30 mm at 180 mm: all of it at its apex, half of it 45 mm away (cos 90° = 0), none 90 mm away.
#[test]
fn a_lumbar_pad_swells_and_ends() {
    let rig = changed("closed_car", |project| {
        project.seat.back.lumbar_mm = 30.0;
        project.seat.back.lumbar_height_mm = 180.0;
    });
    for (height, out) in [(0.18, 0.03), (0.225, 0.015), (0.135, 0.015), (0.27, 0.0), (0.4, 0.0)] {
        assert!((rig.seat.back_surface(height) - out).abs() < 1e-12, "at {height}");
    }
}

/// A wheel unit of 230 × 130 × 130 mm whose near face is 95 mm behind a rim at (615, 0, 655), along a shaft 18° down:
/// its middle is 95 + 115 = 210 mm on, at (615 + 210 cos 18°, 0, 655 − 210 sin 18°).
#[test]
fn the_wheel_unit_stands_behind_the_rim_along_the_shaft() {
    let rig = changed("closed_car", |project| {
        project.wheel.centre_mm = [615.0, 0.0, 655.0];
        project.wheel.column_angle_deg = 18.0;
        project.wheel_unit = WheelUnit { size_mm: [230.0, 130.0, 130.0], behind_mm: 95.0, drop_mm: 0.0 };
    });
    let middle = rig.wheel.unit.pose.translation.vector;
    assert!((middle - Vec3::new(0.814_722, 0.0, 0.590_106)).norm() < 1e-5, "{middle}");
}

/// Section 40 × 80: a rail that lies forward is 40 wide and 80 high; one that stands is 40 wide (y) and 80 deep (x);
/// a quarter turn about its axis lays it on its side.
#[test]
fn rails_lie_and_stand_as_documented() {
    let rail = |from_mm: [f64; 3], to_mm: [f64; 3], roll_deg: f64| Rail {
        roll_deg,
        ..Rail::between("rail", [40.0, 80.0], from_mm, to_mm)
    };
    for (rail, wanted) in [
        (rail([0.0, 250.0, 40.0], [1400.0, 250.0, 40.0], 0.0), Vec3::new(1.4, 0.04, 0.08)),
        (rail([0.0, 250.0, 40.0], [1400.0, 250.0, 40.0], 90.0), Vec3::new(1.4, 0.08, 0.04)),
        (rail([850.0, 290.0, 0.0], [850.0, 290.0, 680.0], 0.0), Vec3::new(0.08, 0.04, 0.68)),
        (rail([1380.0, -230.0, 40.0], [1380.0, 230.0, 40.0], 0.0), Vec3::new(0.04, 0.46, 0.08)),
    ] {
        let corners = RailPart::place(&rail).solid.corners();
        let most = corners.iter().fold(Vec3::repeat(f64::MIN), |most, corner| most.sup(corner));
        let least = corners.iter().fold(Vec3::repeat(f64::MAX), |least, corner| least.inf(corner));
        assert!((most - least - wanted).norm() < 1e-9, "{rail:?}: {}", most - least);
    }
}

fn of(rig: &Rig, wanted: impl Fn(&RigPart, SurfaceKind) -> bool) -> Vec<&Surface> {
    rig.surfaces().iter().filter(|surface| wanted(&surface.part, surface.kind)).collect()
}

#[test]
fn every_surface_is_sound_and_faces_outward() {
    for (name, _) in DEMOS {
        let rig = heelpoint::check(&demo(name)).solved.rig;
        assert!(!rig.small_surfaces().is_empty() || rig.hardware.is_empty());
        for surface in rig.surfaces().iter().chain(rig.small_surfaces()) {
            let what = format!("{name}: {:?} {:?}", surface.part, surface.kind);
            assert!(!surface.triangles.is_empty(), "{what} is empty");
            assert_eq!(surface.positions.len(), surface.normals.len(), "{what}");
            assert!(surface.positions.iter().all(|p| p.iter().all(|c| c.is_finite())), "{what}");
            assert!(surface.normals.iter().all(|n| (n.norm() - 1.0).abs() < 1e-6), "{what}");
            let (mut with, mut against) = (0.0, 0.0);
            for triangle in &surface.triangles {
                let [a, b, c] = triangle.map(|corner| surface.positions[corner as usize]);
                let area = (b - a).cross(&(c - a));
                let normal: Vec3 = triangle.iter().map(|&corner| surface.normals[corner as usize]).sum();
                if area.dot(&normal) >= 0.0 { with += area.norm() } else { against += area.norm() }
            }
            // Where thin foam folds sharply, a sliver in the fold may lie the other way.
            let allowed = if matches!(surface.part, RigPart::Seat(_)) { 4e-3 } else { 0.0 };
            assert!(against <= allowed * with, "{what}: {against} of {with} faces inward");
        }
    }
}

/// A part: its name, its surfaces, its solids, how far the former may stand beyond the latter and stay short of them.
type Drawn<'a> = (String, Vec<&'a Surface>, Vec<Solid>, [f64; 2]);

#[test]
fn rails_rim_unit_and_pedals_are_drawn_where_they_are_measured() {
    for (name, _) in DEMOS {
        let rig = Rig::place(&demo(name));
        let mut drawn: Vec<Drawn> = Vec::new();
        for (index, rail) in rig.rails.iter().enumerate() {
            let surfaces = of(&rig, |part, _| *part == RigPart::Rail(index));
            drawn.push((rail.name.clone(), surfaces, vec![Solid::Box(rail.solid)], [0.0007, 0.0001]));
        }
        let grip = of(&rig, |part, kind| *part == RigPart::Rim && kind == SurfaceKind::Grip);
        drawn.push(("rim".to_owned(), grip, vec![Solid::Rim(rig.wheel.rim(0.0))], [0.0005, 0.0005]));
        let unit = of(&rig, |part, _| *part == RigPart::WheelUnit);
        drawn.push(("wheel unit".to_owned(), unit, vec![Solid::Box(rig.wheel.unit)], [0.003, 0.0005]));
        let base = of(&rig, |part, kind| *part == RigPart::PedalBase && kind == SurfaceKind::Metal);
        drawn.push(("base".to_owned(), base, vec![Solid::Box(rig.pedals.base)], [0.0005, 0.0005]));
        for pedal in &rig.pedals.list {
            let surfaces = of(&rig, |part, _| *part == RigPart::Pedal(pedal.kind));
            let (face, arm) = pedal.solids(&rig.pedals, 0.0);
            // The arm is a bar round its capsule: its edges stand out by its corners.
            drawn.push((
                format!("{:?}", pedal.kind),
                surfaces,
                vec![Solid::Box(face), Solid::Capsule(arm)],
                [0.003, 0.001],
            ));
        }
        for (what, surfaces, solids, [beyond, short]) in drawn {
            assert!(!surfaces.is_empty(), "{name}: {what}");
            let points = || surfaces.iter().flat_map(|surface| &surface.positions);
            for point in points() {
                let out = solids.iter().map(|solid| outside(*point, solid)).fold(f64::INFINITY, f64::min);
                assert!(out <= beyond, "{name}: {what} is drawn {out} outside what is measured");
            }
            // The drawn part reaches as far as the measured one, in all directions of the world.
            let solid_box = |solid: &Solid| match solid {
                Solid::Box(RoundedBox { pose, half, .. }) => {
                    let turned = pose.rotation.to_rotation_matrix().into_inner().abs() * half;
                    (pose.translation.vector - turned, pose.translation.vector + turned)
                }
                Solid::Capsule(c) => (c.a.inf(&c.b).add_scalar(-c.radius_a), c.a.sup(&c.b).add_scalar(c.radius_a)),
                Solid::Rim(_) | Solid::Mesh(_) => (Vec3::repeat(f64::INFINITY), Vec3::repeat(f64::NEG_INFINITY)),
            };
            let (mut low, mut high) = (Vec3::repeat(f64::INFINITY), Vec3::repeat(f64::NEG_INFINITY));
            for solid in &solids {
                let (l, h) = solid_box(solid);
                (low, high) = (low.inf(&l), high.sup(&h));
            }
            if low.x.is_finite() && matches!(solids[0], Solid::Box(_)) && solids.len() == 1 {
                let drawn_low = points().fold(Vec3::repeat(f64::INFINITY), |all, p| all.inf(p));
                let drawn_high = points().fold(Vec3::repeat(f64::NEG_INFINITY), |all, p| all.sup(p));
                // A turned box's rounded corners do not reach its corners: (√3 − 1) of the rounding.
                let Solid::Box(solid) = &solids[0] else { unreachable!() };
                let short = short + 0.74 * solid.round;
                assert!((drawn_low - low).max() <= short && (high - drawn_high).max() <= short, "{name}: {what}");
            }
        }
    }
}

/// Foam where the body sits is drawn at the surface that the body sits on: within 1.5 mm off seams and edges.
#[test]
fn foam_is_drawn_at_cushion_and_back_surfaces() {
    for (name, _) in DEMOS {
        let project = demo(name);
        let rig = Rig::place(&project);
        let foam = of(&rig, |part, kind| matches!(part, RigPart::Seat(_)) && kind == SurfaceKind::Foam);
        let cushion = project.seat.cushion.length_mm * 1e-3;
        let highest = |frame: &heelpoint::geometry::Pose, along: usize, up: usize, range: (f64, f64)| {
            foam.iter()
                .flat_map(|surface| &surface.positions)
                .map(|p| seen_from(frame, *p))
                .filter(|p| p.y.abs() < 0.1 && p[along] > range.0 && p[along] < range.1)
                .map(|p| p[up])
                .fold(f64::MIN, f64::max)
        };
        let sat_on = highest(&rig.seat.X_WS, 0, 2, (0.25 * cushion, 0.5 * cushion));
        assert!(sat_on.abs() < 1.5e-3, "{name}: cushion drawn at {sat_on}");
        let leant_on = highest(&rig.seat.X_WK, 2, 0, (0.1, 0.25));
        assert!(leant_on.abs() < 1.5e-3, "{name}: back drawn at {leant_on}");
        // Nothing of the seat stands out of the box round its solids by more than a fillet, or than the corner in
        // which the outsides of pan and back meet.
        let solids: Vec<Solid> = rig.seat.solids.iter().map(|(_, solid)| Solid::Box(*solid)).collect();
        let bounds = solids.iter().fold((Vec3::repeat(f64::MAX), Vec3::repeat(f64::MIN)), |(low, high), solid| {
            let Solid::Box(solid) = solid else { unreachable!() };
            solid.corners().iter().fold((low, high), |(low, high), corner| (low.inf(corner), high.sup(corner)))
        });
        for surface in of(&rig, |part, _| matches!(part, RigPart::Seat(_))) {
            for p in &surface.positions {
                let out = (bounds.0 - p).max().max((p - bounds.1).max());
                assert!(out < 0.015, "{name}: the seat is drawn {out} beyond its solids");
                // On the body's side of both surfaces only fillets fill what is free.
                if seen_from(&rig.seat.X_WS, *p).z > 0.0 && seen_from(&rig.seat.X_WK, *p).x > 0.0 {
                    let out = solids.iter().map(|solid| outside(*p, solid)).fold(f64::INFINITY, f64::min);
                    assert!(out < 0.012, "{name}: the seat is drawn {out} before its solids");
                }
            }
        }
    }
}

/// What turns with the wheel stays in the turned rim's tube; a pressed pedal's face stays in its moved solids.
#[test]
fn moved_parts_are_drawn_where_they_are_measured() {
    for (name, _) in DEMOS {
        let rig = Rig::place(&demo(name));
        let moment = Moment::REST
            .with_steer(1.1)
            .with_travel(PedalKind::Brake, 0.02)
            .with_travel(PedalKind::Throttle, 0.03)
            .with_travel(PedalKind::Clutch, 0.05);
        let moved = |surface: &Surface| {
            let pose = rig.part_pose(&surface.part, &moment);
            surface.positions.iter().map(|p| (pose * Point3::from(*p)).coords).collect::<Vec<_>>()
        };
        let rim = Solid::Rim(rig.wheel.rim(1.1));
        for surface in of(&rig, |part, kind| *part == RigPart::Rim && kind == SurfaceKind::Grip) {
            assert!(moved(surface).iter().all(|p| outside(*p, &rim) < 5e-4), "{name}: rim");
        }
        for pedal in &rig.pedals.list {
            let (face, arm) = pedal.solids(&rig.pedals, moment.travel_of(pedal.kind));
            let solids = [Solid::Box(face), Solid::Capsule(arm)];
            for surface in of(&rig, |part, _| *part == RigPart::Pedal(pedal.kind)) {
                for p in moved(surface) {
                    let out = solids.iter().map(|solid| outside(p, solid)).fold(f64::INFINITY, f64::min);
                    assert!(out < 3e-3, "{name}: {:?} {out}", pedal.kind);
                }
            }
        }
        let still = rig.part_pose(&RigPart::Rail(0), &moment);
        assert!((still.translation.vector.norm() + still.rotation.angle()).abs() < 1e-15);
    }
}
