//! The largest demo: 60 rails, three drivers, and everything that can be moved. Counted and worked out on its drawing.

use std::collections::BTreeMap;

use heelpoint::{
    check,
    findings::{Group, Level},
    frame::{Built, CutList, Duty, Found, Mass, Stock, Tie, WHEEL, parts},
    project::{Checked, can_be_adjusted, fields, merge, parse},
    study::Study,
};

const OPEN_DAY: &str = include_str!("../../assets/open_day.ron");

fn project() -> Checked {
    parse(OPEN_DAY).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn driven_by(name: &str) -> Study {
    let mut project = project().into_inner();
    assert!(project.seat_driver(name));
    check(&Checked::new(project).unwrap())
}

/// Counted on the drawing. Heavy 40×80: two base rails. Light 40×80: five cross members, two side rails, four outriggers,
/// uprights, wheel beams, screen posts, screen beams two each, one screen mast. The rest is 40×40.
#[test]
fn its_cut_list_has_sixty_pieces_of_the_drawing() {
    let duty = Duty::of(&project());
    let list = CutList::of(&duty, &Built::of(&duty), Stock::default());
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for cut in &list.cuts {
        *counts.entry(cut.section.as_str()).or_default() += cut.count;
    }
    assert_eq!(counts.into_iter().collect::<Vec<_>>(), [("40x40-light", 38), ("40x80-heavy", 2), ("40x80-light", 20)]);
    assert!(list.too_long.is_empty());
    let find = |name: &str| list.cuts.iter().find(|cut| cut.rails.iter().any(|rail| rail == name)).unwrap();
    // 540 between the base rails, with the wheel beams seven of them; strips of 620 over both; √(150² + 160²) = 219.3.
    assert_eq!((find("rear cross member").count, find("rear cross member").length_mm), (7, 540.0));
    assert_eq!((find("computer strip").count, find("computer strip").length_mm), (6, 620.0));
    assert_eq!(find("button panel brace").length_mm, 219.3);
}

/// Counted on the drawing. End screws, two in a 40×80, one in a 40×40: five cross members 20, four outriggers 16, shaker
/// rails 4, deck ties 4, foot shaker rail 2: 46. Corner brackets, two a joint: six strips 24, seat rails 8, pedal runners
/// on three strips 12, uprights 4, wheel beams 8, wheel arms between two beams 8, screen posts 4, ties 16, screen beams 8,
/// screen mast 4, banner beam 4, four posts beside the seat 8, console rail 4, tray rail 4, tray arms 4, button panel arm
/// 2: 122. Pivot brackets: upright stays, screen braces, console brace, tray brace, button panel brace at both ends: 14.
/// Caps of 40×80: base rails and side rails 8, uprights' tops 2; of 40×40: strips 12, seat rails 4, pedal runners 4,
/// console and tray rail 4, tray arms 4, wheel arms 4, button panel arm 1, banner beam 2. Eight feet.
#[test]
fn its_parts_are_those_counted_by_hand() {
    let duty = Duty::of(&project());
    let built = Built::of(&duty);
    let list = parts(&duty, &built);
    let count = |part: &str, size: &str| -> u32 {
        list.iter().filter(|row| row.part == part && row.size.starts_with(size)).map(|row| row.count).sum()
    };
    // Rails that only pass are joined nowhere: who meets whom without being hung there.
    let unhung = built.joints.iter().filter_map(|found| match found.tie {
        Tie::Rails { guest, host, .. } => {
            let [guest, host] = [&duty.rails[guest], &duty.rails[host]];
            let hung = guest.from_on.iter().chain(&guest.to_on).any(|on| on.rail == host.name);
            (!hung).then(|| format!("{} on {}", guest.name, host.name))
        }
        Tie::Part { .. } => None,
    });
    let mut unhung: Vec<String> = unhung.collect();
    unhung.sort();
    assert_eq!(
        unhung,
        [
            "front tray arm on tray rail",
            "front tray post on tray rail",
            "handbrake post on right console rail",
            "left pedal runner on middle pedal strip",
            "left screen post on banner beam",
            "left wheel arm on lower wheel beam",
            "rear tray arm on tray rail",
            "rear tray post on tray rail",
            "right pedal runner on middle pedal strip",
            "right screen post on banner beam",
            "right wheel arm on lower wheel beam",
            "shifter post on right console rail",
        ]
    );
    assert_eq!(count("end screw", ""), 46);
    assert_eq!(count("corner bracket", ""), 122);
    assert_eq!(count("pivot bracket", ""), 14);
    assert_eq!((count("end cap", "40x80"), count("end cap", "40x40")), (10, 35));
    assert_eq!(count("foot", ""), 8);
}

/// By hand: seat 11, wheel unit 10, pedals 8, screens 3 · 4.5 and their arm 4, and 27 kg of other weights come on top of the
/// rails.
#[test]
fn it_weighs_what_its_parts_do() {
    let mass = Mass::of(&Duty::of(&project()));
    assert!((mass.rig - mass.rails - 73.5).abs() < 1e-9, "{}", mass.rig - mass.rails);
}

/// At both ends of every way that the wheel can be moved: the rear two in the arms, the front two in arms or beams.
#[test]
fn the_wheel_unit_hangs_on_all_four_bolts_wherever_the_wheel_is_put() {
    let ends = |field: &str| project().adjusters.iter().find(|one| one.field == field).unwrap().range;
    for x in ends("wheel.centre_mm[0]") {
        for z in ends("wheel.centre_mm[2]") {
            for angle in ends("wheel.column_angle_deg") {
                let mut moved = project().into_inner();
                (moved.wheel.centre_mm, moved.wheel.column_angle_deg) = ([x, 0.0, z], angle);
                let duty = Duty::of(&Checked::new(moved).unwrap());
                let rail = |found: &Found| match found.tie {
                    Tie::Part { part: WHEEL, rail } => Some(duty.rails[rail].name.as_str()),
                    _ => None,
                };
                let bolts: Vec<&str> = Built::of(&duty).joints.iter().filter_map(rail).collect();
                let arms = ["left wheel arm", "right wheel arm"];
                assert!(bolts.len() == 4 && arms.iter().all(|arm| bolts.contains(arm)), "{x} {z} {angle}: {bolts:?}");
            }
        }
    }
}

#[test]
fn its_frame_is_sound_for_each_of_its_drivers() {
    for name in ["Signe", "Halvard", "Tilde"] {
        let study = driven_by(name);
        for finding in study.findings.iter().filter(|f| matches!(f.group, Group::Frame | Group::Fit)) {
            assert!(finding.level == Level::Good, "{name}: {}: {}", finding.key(), finding.sentence);
        }
    }
    assert!(heelpoint::frame::check(&project()).notes.is_empty());
}

/// The cushion's gauge reads 30° and 4° of tilt make 34°; the back's 56° from horizontal become 52°.
#[test]
fn the_seat_stands_as_its_brackets_tilt_it() {
    let study = driven_by("Signe");
    let value = |id: &str| study.findings.iter().find(|finding| finding.id == id).unwrap().value;
    assert!((value("seat_cushion_angle") - 34.0).abs() < 1e-9, "{}", value("seat_cushion_angle"));
    assert!((value("seat_back_angle") - 52.0).abs() < 1e-9, "{}", value("seat_back_angle"));
}

#[test]
fn it_suits_the_one_and_the_others_have_something_to_move() {
    let signe = driven_by("Signe");
    assert!(signe.findings.iter().all(|finding| finding.level != Level::Outside));
    let level = |study: &Study, key: &str| study.findings.iter().find(|f| f.key() == key).unwrap().level;
    assert_eq!(level(&driven_by("Halvard"), "leg_unit.left"), Level::Outside);
    let tilde = driven_by("Tilde");
    let knee = tilde.findings.iter().find(|finding| finding.key() == "knee_brake.left").unwrap();
    assert!(knee.level == Level::Outside && knee.value > 140.0, "{}", knee.value);
}

/// A slot, a row of holes and detents: each of its adjusters stands inside its range, and on one of its steps at an end or not
/// beyond it.
#[test]
fn everything_that_moves_is_described() {
    let project = project();
    assert!(project.adjusters.iter().any(|one| one.step == 0.0) && project.adjusters.iter().any(|one| one.step > 0.0));
    let mut values = BTreeMap::new();
    fields(&mut project.clone().into_inner(), &mut |field| {
        values.insert(field.path.clone(), *field.value);
    });
    for adjuster in &project.adjusters {
        let [low, high] = adjuster.range;
        assert!(can_be_adjusted(&adjuster.field) && (low..=high).contains(&values[&adjuster.field]), "{adjuster:?}");
    }
    for part in ["seat.", "wheel.", "pedals.position", "pedals.plate", "pedals.pedals", "screens."] {
        assert!(project.adjusters.iter().any(|one| one.field.starts_with(part)), "{part}");
    }
    assert_eq!(merge(OPEN_DAY, &project).as_deref(), Some(OPEN_DAY));
}
