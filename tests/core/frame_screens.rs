//! What screens and other parts weigh on the frame, by hand.

use heelpoint::{
    frame::{Built, Carried, Duty, Mass, PEDALS, SEAT, answers, check},
    geometry::Vec3,
    project::{Checked, FrameLoads, Project, ScreenKind, ScreenPlace, ScreenSize, ScreenStand, Screens, Weight, parse},
    units::{mm, mm_point},
};

use super::frame_rails::CLUB_RIG;

fn club(change: impl FnOnce(&mut Project)) -> Duty {
    let mut project = parse(CLUB_RIG).unwrap().into_inner();
    change(&mut project);
    Duty::of(&Checked::new(project).unwrap_or_else(|faults| panic!("{faults:?}")))
}

/// A flat screen of 700 × 400, 40 thick, its picture 900 forward and 960 up, on the beam whose middle line lies 1065
/// forward and 960 up.
fn flat() -> Screens {
    Screens {
        kind: ScreenKind::Single,
        size: ScreenSize::Sides { width_mm: 700.0, height_mm: 400.0 },
        place: ScreenPlace::InRig { forward_mm: 900.0, left_mm: 0.0 },
        height_mm: 960.0,
        thickness_mm: 40.0,
        stand: ScreenStand::Rail { rail: "screen beam".to_owned(), arm_mm: [80.0, 60.0] },
        ..Screens::usual()
    }
}

fn part<'a>(duty: &'a Duty, name: &str) -> &'a Carried {
    duty.carried.iter().find(|part| part.name == name).unwrap_or_else(|| panic!("no {name}"))
}

fn near(found: Vec3, wanted_mm: [f64; 3], within_mm: f64) {
    assert!((found - mm_point(wanted_mm)).norm() < mm(within_mm), "{found:?} is not {wanted_mm:?}");
}

/// The casing's middle stands at 920; the arm goes from 940 to 1065, its middle at 1002.5: 5 kg and 2 kg together at
/// (5 · 920 + 2 · 1002.5) / 7 = 943.57.
#[test]
fn a_screen_and_its_arm_weigh_where_they_are() {
    let duty = club(|project| {
        project.screens = Some(Screens { mass_kg: Some(5.0), stand_kg: Some(2.0), ..flat() });
    });
    let screen = part(&duty, "the screen");
    assert!((screen.mass - 7.0).abs() < 1e-9);
    near(screen.at, [943.571, 0.0, 960.0], 0.01);
    // Bolted at either edge of an arm that is 80 wide.
    assert_eq!(screen.bolted_at.len(), 2);
    for (at, y) in screen.bolted_at.iter().zip([-40.0, 40.0]) {
        near(*at, [1065.0, y, 960.0], 1e-6);
    }
    // The rig as a whole: what comes on top of the one without it.
    let (with, without) = (Mass::of(&duty), Mass::of(&club(|project| project.screens = None)));
    assert!((with.rig - without.rig - 7.0).abs() < 1e-9);
    let wanted = (without.rig_at * without.rig + mm_point([943.571, 0.0, 960.0]) * 7.0) / (without.rig + 7.0);
    assert!((with.rig_at - wanted).norm() < 1e-5, "{} {wanted}", with.rig_at);
}

/// 686 · 16/√337 = 597.9 wide; with 7 of casing the hinges are 305.95 aside. Turned in by 55° a side screen's middle comes
/// 305.95 · sin 55° = 250.62 back and half of its 40 mm 20 · cos 55° = 11.47 forward: 760.85; the middle one's at 1020. The
/// mean of three is 847.2. The arm runs from (1040, 950) to (1065, 960): its middle is (1052.5, 955).
/// 13.5 kg and 4 kg: (13.5 · 847.23 + 4 · 1052.5) / 17.5 = 894.15 and (13.5 · 950 + 4 · 955) / 17.5 = 951.14.
#[test]
fn three_screens_of_the_club_rig_hang_before_their_beam() {
    let duty = club(|_| ());
    let screens = part(&duty, "the triple screen");
    assert!((screens.mass - 17.5).abs() < 1e-9);
    near(screens.at, [894.15, 0.0, 951.14], 0.05);
}

/// The feet carry all of it: their forces sum to the weight and two hands of 100 N, and so do their moments about the rear
/// edge. The brake's push and the seat's answer are in line and the wheel's torque lies in the middle plane.
#[test]
fn feet_carry_the_screens_where_they_hang() {
    let duty = club(|_| ());
    let built = Built::of(&duty);
    let found = answers(&duty, &built);
    assert!(found.lifted.is_empty());
    let mass = Mass::of(&duty);
    let weight = mass.driven * 9.80665;
    let sum: f64 = found.feet.iter().sum();
    assert!((sum - weight - 100.0).abs() < 1e-3 * weight, "{sum} {weight}");
    let moment: f64 = found.feet.iter().zip(&built.feet).map(|(force, foot)| force * foot.at.x).sum();
    let wanted = weight * mass.driven_at.x + 100.0 * duty.wheel.x;
    assert!((moment - wanted).abs() < 5e-3 * wanted, "{moment} {wanted}");
}

/// 0.7 · 0.4 m² at 20 kg/m² are 5.6 kg. The arm: a tube of 80 × 60 with a wall of 2 has 544 mm², is 125 long and weighs
/// 7850 · 544e-6 · 0.125 = 0.534 kg; its plate 1 kg.
#[test]
fn what_nobody_weighed_is_estimated_from_its_size() {
    let one = club(|project| project.screens = Some(flat()));
    assert!((part(&one, "the screen").mass - 7.134).abs() < 1e-3);
    let three = club(|project| {
        project.screens = Some(Screens { kind: ScreenKind::Triple { side_angle_deg: 30.0 }, ..flat() });
    });
    assert!((part(&three, "the triple screen").mass - (3.0 * 6.6 + 0.534)).abs() < 1e-3);
}

#[test]
fn screens_that_stand_for_themselves_do_not_load_the_frame() {
    let feet = ScreenStand::Feet { post_mm: [80.0, 80.0], foot_mm: [600.0, 60.0, 60.0], apart_mm: 900.0 };
    for stand in [ScreenStand::Elsewhere, feet] {
        let duty = club(|project| project.screens = Some(Screens { stand, mass_kg: Some(5.0), ..flat() }));
        assert_eq!(duty.carried.len(), 3);
    }
}

/// What somebody wrote down by hand for a part takes the place of what the project says of it; other weights come on top.
#[test]
fn a_weight_that_is_called_like_a_part_is_counted_once() {
    let weight = |name: &str, kg: f64, at_mm: [f64; 3]| Weight { name: name.to_owned(), kg, at_mm };
    let weights = vec![
        weight("Screens", 9.0, [1000.0, 0.0, 950.0]),
        weight("the pedal set", 5.0, [1150.0, 0.0, 160.0]),
        weight("computer", 6.0, [700.0, 0.0, 100.0]),
        weight("Seat", 10.0, [350.0, 0.0, 300.0]),
    ];
    let mut project = parse(CLUB_RIG).unwrap().into_inner();
    project.loads = Some(FrameLoads { weights, ..project.loads.unwrap() });
    let project = Checked::new(project).unwrap();
    let duty = Duty::of(&project);
    let screens = part(&duty, "the triple screen");
    assert_eq!((screens.mass, screens.bolted_at.len()), (9.0, 2));
    near(screens.at, [1000.0, 0.0, 950.0], 1e-6);
    assert!((duty.carried[PEDALS].mass - 5.0).abs() < 1e-9);
    assert!((duty.carried[SEAT].mass - duty.driver - 10.0).abs() < 1e-9);
    assert_eq!(duty.carried.len(), 5);
    // Rails 37.56, seat 10, wheel 8, pedals 5, screens 9, computer 6.
    assert!((Mass::of(&duty).rig - 75.56).abs() < 0.01);
    let notes = check(&project).notes.join(" ");
    assert!(notes.contains("The weight “Screens” is taken for the triple screen: nothing else is counted"), "{notes}");
}
