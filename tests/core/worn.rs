//! Clothes and headgear: what they add where, by hand.

use heelpoint::{
    check,
    project::{Checked, Headgear, Project, Rail},
    study::Study,
    units::{mm, to_mm},
};

fn value(study: &Study, key: &str) -> f64 {
    study.findings.iter().find(|finding| finding.key() == key).unwrap_or_else(|| panic!("no finding {key}")).value
}

/// The demo, changed, before and after something is put on.
fn with(change: impl FnOnce(&mut Project), put_on: impl FnOnce(&mut Project)) -> [Study; 2] {
    let mut project = crate::demo("closed_car").into_inner();
    change(&mut project);
    let before = check(&Checked::new(project.clone()).unwrap());
    put_on(&mut project);
    [before, check(&Checked::new(project).unwrap())]
}

#[test]
fn clothes_stand_between_the_body_and_the_seat() {
    let [bare, clothed] = with(|_| {}, |project| project.driver.clothing_mm = 6.0);
    // One layer under and behind the hips, one on each side of hips and shoulders.
    let moved = clothed.solved.rest.sitting.h_point - bare.solved.rest.sitting.h_point;
    let seat = &bare.solved.rig.seat;
    let off_cushion = (seat.X_WS.rotation.inverse() * moved).z;
    let off_back = (seat.X_WK.rotation.inverse() * moved).x;
    assert!((off_cushion - mm(6.0)).abs() < 1e-9 && (off_back - mm(6.0)).abs() < 1e-9, "{off_cushion} {off_back}");
    for key in ["hip_width", "shoulder_width"] {
        assert!((value(&bare, key) - value(&clothed, key) - 12.0).abs() < 1e-9, "{key}");
    }
    // The skin over the bones is the same.
    assert_eq!(bare.solved.body.skeleton, clothed.solved.body.skeleton);
}

/// A rail across the rig through a point.
fn rail(x: f64, z: f64) -> Rail {
    let [from_mm, to_mm] = [-300.0, 300.0].map(|y| [x, y, z]);
    Rail::between("across", [20.0, 20.0], from_mm, to_mm)
}

#[test]
fn a_helmet_comes_nearer_to_a_rail_over_and_behind_the_head_by_its_thickness() {
    let bare = check(&crate::demo("closed_car"));
    let head = bare.solved.rest.sitting.head.translation.vector;
    for (forward, up) in [(0.0, 350.0), (-300.0, 100.0)] {
        let rail = rail(to_mm(head.x) + forward, to_mm(head.z) + up);
        let helmet = Headgear { over_mm: 45.0, ahead_mm: 30.0 };
        let [before, after] =
            with(|project| project.frame.push(rail), |project| project.driver.headgear = Some(helmet));
        let nearer = value(&before, "head_frame") - value(&after, "head_frame");
        assert!((nearer - 45.0).abs() < 1e-6, "{nearer}");
    }
}

#[test]
fn goggles_reach_ahead_of_the_eyes() {
    let bare = check(&crate::demo("closed_car"));
    let sitting = &bare.solved.rest.sitting;
    // Straight ahead along the line of the head, 200 mm before the eyes.
    let ahead = sitting.eyes + sitting.head.rotation * heelpoint::geometry::Vec3::x() * mm(200.0);
    let rail = rail(to_mm(ahead.x), to_mm(ahead.z));
    let goggles = Headgear { over_mm: 0.0, ahead_mm: 90.0 };
    let [_, after] = with(|project| project.frame.push(rail), |project| project.driver.headgear = Some(goggles));
    // 200 mm less the goggles and half the rail, whose square section may turn a corner to them: up to 4 mm more.
    let left = value(&after, "head_frame");
    assert!((96.0..=100.0 + 1e-6).contains(&left), "{left}");
}
