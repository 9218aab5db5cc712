//! Screens: what is seen of them, where they stand and what they meet, by hand.

use heelpoint::{
    check,
    findings::{Finding, Level, Sight},
    project::{
        Checked, Contradiction, Fault, FaultKind, Project, ScreenKind, ScreenPlace, ScreenSize, ScreenStand, Screens,
    },
    rig::{Rig, RigPart},
    units::to_mm,
};

use super::demo;

fn with(screens: Screens) -> Project {
    let mut project = demo("closed_car").into_inner();
    project.screens = Some(screens);
    project
}

fn checked(project: Project) -> Checked {
    Checked::new(project).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn flat(width_mm: f64, height_mm: f64) -> Screens {
    Screens { kind: ScreenKind::Single, size: ScreenSize::Sides { width_mm, height_mm }, ..Screens::usual() }
}

/// Where the driver's eyes are, mm.
fn eyes() -> [f64; 3] {
    let eye = check(&demo("closed_car")).solved.rest.sitting.eyes;
    [to_mm(eye.x), to_mm(eye.y), to_mm(eye.z)]
}

fn before(mut screens: Screens, distance: f64) -> Screens {
    let eye = eyes();
    screens.height_mm = eye[2];
    screens.put_before(eye, distance);
    screens
}

fn sight(screens: Screens) -> Sight {
    Sight::of(&check(&checked(with(screens))).solved).unwrap()
}

fn faults(screens: Screens) -> Vec<Fault> {
    Checked::new(with(screens)).unwrap_err()
}

fn finding<'f>(findings: &'f [Finding], id: &str) -> &'f Finding {
    findings.iter().find(|finding| finding.id == id).unwrap_or_else(|| panic!("no {id}"))
}

/// 2 atan(w / 2d): 700 wide from 700 away is 2 atan(1/2) = 53.13°, 400 high 2 atan(2/7) = 31.89°.
#[test]
fn a_flat_screen_fills_the_view_by_twice_the_arc_tangent() {
    let seen = sight(before(flat(700.0, 400.0), 700.0));
    assert!((seen.distance_mm - 700.0).abs() < 0.01 && seen.above_deg.abs() < 0.01, "{seen:?}");
    assert!((seen.horizontal_deg - 53.130).abs() < 0.01, "{seen:?}");
    assert!((seen.vertical_deg - 31.891).abs() < 0.01, "{seen:?}");
}

/// Three pictures of 600 without casing, turned in by 60°, seen from 300√3 = 519.6 away: three sides of a hexagon about the
/// eye, 60° each.
#[test]
fn a_triple_round_the_eye_is_half_a_hexagon() {
    let screens = Screens { kind: ScreenKind::Triple { side_angle_deg: 60.0 }, bezel_mm: 0.0, ..flat(600.0, 340.0) };
    let seen = sight(before(screens, 300.0 * 3.0_f64.sqrt()));
    assert!((seen.middle_deg - 60.0).abs() < 0.01 && (seen.horizontal_deg - 180.0).abs() < 0.05, "{seen:?}");
}

/// A picture bent to 1000 and seen from the axis of its bend: 1200 of its arc are 1.2 rad = 68.75°.
#[test]
fn an_ultrawide_seen_from_its_axis_is_its_arc() {
    let screens = Screens { kind: ScreenKind::Ultrawide { radius_mm: 1000.0 }, ..flat(1200.0, 340.0) };
    let seen = sight(before(screens.clone(), 1000.0));
    assert!((seen.horizontal_deg - 68.755).abs() < 0.02, "{seen:?}");
    // Its casing follows the bend to 2 mm and a half: no corner of a front is further from the axis, or nearer.
    let rig = Rig::place(&checked(with(before(screens, 1000.0))));
    let eye = eyes();
    for (name, solid) in &rig.screens.unwrap().solids {
        let front = solid.pose * nalgebra::Point3::new(-solid.half.x, solid.half.y, 0.0);
        let off = (to_mm(front.x) - eye[0]).hypot(to_mm(front.y) - eye[1]);
        assert!((off - 1000.0).abs() < 2.5, "{name}: {off}");
    }
}

/// 100 below the eyes and 3-4-5 away: asin(100 / 500) = 11.54° down.
#[test]
fn height_is_told_as_an_angle_from_the_horizontal() {
    let eye = eyes();
    let place = ScreenPlace::FromEye { distance_mm: 500.0, eye_mm: eye };
    let project = with(Screens { place, height_mm: eye[2] - 100.0, ..flat(700.0, 400.0) });
    let study = check(&checked(project));
    let above = finding(&study.findings, "screen_above");
    assert!((above.value + 11.537).abs() < 0.01 && above.level == Level::Good, "{}", above.value);
    assert!(above.sentence.contains("down by 12°"), "{}", above.sentence);
}

/// The far end of the wheel unit reaches to 889 forward; a screen whose casing ends at 850 + 45 is met. A screen through the
/// head leaves it no room, and the eyes are told to be behind it.
#[test]
fn screens_are_in_the_way_of_wheel_unit_hands_and_head() {
    let at = |forward_mm: f64, height_mm: f64| {
        let place = ScreenPlace::InRig { forward_mm, left_mm: 0.0 };
        check(&checked(with(Screens { place, height_mm, ..flat(700.0, 400.0) }))).findings
    };
    let met = at(850.0, 650.0);
    let unit = finding(&met, "unit_screen");
    assert!(unit.level == Level::Outside && unit.sentence.contains("inside the screen"), "{}", unit.sentence);
    let far = at(1500.0, 900.0);
    assert_eq!(finding(&far, "hand_frame").parts.len(), 2);
    assert!(far.iter().all(|finding| finding.id != "unit_screen" || finding.level == Level::Good));
    let [x, _, z] = eyes();
    let through = at(x.max(0.0) + 20.0, z);
    let head = finding(&through, "head_frame");
    assert!(head.level == Level::Outside && head.sentence.contains("inside the screen"), "{}", head.sentence);
    let behind = at((x - 80.0).max(0.0), z);
    assert_eq!(finding(&behind, "screen_distance").value, 0.0);
    assert!(finding(&behind, "screen_distance").sentence.contains("behind the screen"));
}

/// A foot of 600 × 60 under a screen whose casing ends at 1045 lies at 0 to 60 up and 785 to 1385 forward, its middle under
/// the post's, 1085: the base rails at ±250 are 20 to 40 aside of feet that stand 400 apart (±200 ± 30).
#[test]
fn a_stand_is_a_solid_among_the_rails() {
    let stand = |apart_mm: f64| ScreenStand::Feet { post_mm: [80.0, 80.0], foot_mm: [600.0, 60.0, 60.0], apart_mm };
    let at = |apart: f64| {
        let screens = Screens { stand: stand(apart), height_mm: 1100.0, ..flat(700.0, 400.0) };
        check(&checked(with(screens))).findings
    };
    let met = at(500.0);
    let found = finding(&met, "screen_rails");
    assert!(found.level == Level::Outside && found.sentence.contains("foot would be"), "{}", found.sentence);
}

#[test]
fn an_arm_hangs_on_the_rail_that_it_names() {
    let stand = |rail: &str| ScreenStand::Rail { rail: rail.to_owned(), arm_mm: [80.0, 40.0] };
    let rig = Rig::place(&checked(with(Screens { stand: stand("wheel beam"), ..flat(700.0, 400.0) })));
    assert!(rig.screens.as_ref().unwrap().on_rail.is_some());
    assert!(rig.surfaces().iter().any(|surface| surface.part == RigPart::Screen("screen arm")));
    let faults = faults(Screens { stand: stand("wheel bean"), ..flat(700.0, 400.0) });
    assert_eq!(faults[0].path, "screens.stand.rail");
    assert!(faults[0].to_string().contains("wheel beam"), "{}", faults[0]);
}

#[test]
fn screens_that_cannot_be_are_told_with_a_way_out() {
    let none = faults(flat(0.0, 400.0));
    assert_eq!(none[0].path, "screens.size.width_mm");
    let bent = faults(Screens { kind: ScreenKind::Ultrawide { radius_mm: 300.0 }, ..flat(1200.0, 340.0) });
    // (1200 + 16) / π = 387.1.
    assert!(
        matches!(&bent[0].kind, FaultKind::Contradiction(Contradiction::BentTooFar { least, .. }) if *least == 388.0),
        "{bent:?}"
    );
    let place = ScreenPlace::FromEye { distance_mm: 300.0, eye_mm: [300.0, 0.0, 1400.0] };
    let near = faults(Screens { place, height_mm: 1000.0, ..flat(700.0, 400.0) });
    assert!(near[0].to_string().contains("410 mm away"), "{}", near[0]);
    // 32 typed in inches.
    let size = ScreenSize::Diagonal { diagonal_mm: 32.0, aspect: [16.0, 9.0] };
    let inches = faults(Screens { size, ..flat(700.0, 400.0) });
    assert!(inches[0].to_string().contains("812.8"), "{}", inches[0]);
}

/// The screens are moved by the search for what to move, not the driver.
#[test]
fn a_screen_that_is_too_near_is_moved_away() {
    let study = heelpoint::study::check_and_mend(&checked(with(before(flat(700.0, 150.0), 430.0))));
    let mend = finding(&study.findings, "screen_distance").mend.as_ref().expect("a way out");
    assert!(mend.moves.iter().all(|one| one.path.starts_with("screens.")) && mend.then >= 499.0, "{mend:?}");
}
