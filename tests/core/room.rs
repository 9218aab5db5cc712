//! How far what is adjusted can go, worked by hand on the closed-car demo.

use heelpoint::{
    check,
    project::{AdjusterRange, Checked, Fault},
};

use super::demo;

fn with(field: &str, range: [f64; 2], step: f64) -> Result<Checked, Vec<Fault>> {
    let mut project = demo("closed_car").into_inner();
    project.adjusters.push(AdjusterRange { field: field.to_owned(), range, step });
    Checked::new(project)
}

/// The wheel unit lies under the wheel beam, whose underside is at 715: by hand its upper face at the beam's rear edge, 760
/// forward, is 690 + 65 / cos 14° − 202 tan 14° = 706.6 up, and the edge's radius of 1.5 leaves
/// 1.5 (sin 14° + cos 14° − 1) / cos 14° = 0.3 more: 8.7 upward; down nothing is in the way.
#[test]
fn an_adjuster_that_collides_within_its_range_is_told_with_both_parts_and_the_first_value() {
    let project = with("wheel.centre_mm[2]", [640.0, 790.0], 0.0).unwrap();
    let study = check(&project);
    let finding = study.findings.iter().find(|finding| finding.id == "adjuster_barred").unwrap();
    let free = 8.7;
    let barred = 100.0 * (100.0 - free) / 150.0;
    assert!((finding.value - barred).abs() < 0.5, "{} for {barred}", finding.value);
    for words in ["the wheel unit meets the rail “wheel beam”", "at 699 mm"] {
        assert!(finding.sentence.contains(words), "{}", finding.sentence);
    }
    // What to move keeps to it.
    let mended = heelpoint::study::check_and_mend(&project);
    for mend in mended.findings.iter().filter_map(|finding| finding.mend.as_ref()) {
        for one in mend.moves.iter().filter(|one| one.path == "wheel.centre_mm[2]") {
            assert!(one.by <= free + 0.1, "{}", mend.sentence);
        }
    }
}

/// Cushion and back go together: 2° more of both, and the angle between them stays.
#[test]
fn a_seat_tilts_as_a_whole() {
    let mut project = demo("closed_car").into_inner();
    project.seat.tilt_deg = 2.0;
    let tilted = check(&Checked::new(project).unwrap());
    let level = check(&demo("closed_car"));
    for (id, by) in [("seat_cushion_angle", 2.0), ("seat_back_angle", -2.0)] {
        let value =
            |study: &heelpoint::study::Study| study.findings.iter().find(|finding| finding.id == id).unwrap().value;
        assert!((value(&tilted) - value(&level) - by).abs() < 1e-9, "{id}");
    }
    let between = |study: &heelpoint::study::Study| {
        let seat = &study.solved.rig.seat;
        seat.X_WS.rotation.angle_to(&seat.X_WK.rotation)
    };
    assert!((between(&tilted) - between(&level)).abs() < 1e-12);
    assert!(with("seat.tilt_deg", [-4.0, 8.0], 2.0).is_ok());
}

/// Seats, pedals and screens stop where something stands, and ranges written the wrong way round are told.
#[test]
fn every_described_part_has_its_room_and_reversed_ranges_are_told() {
    for (field, range) in [
        ("seat.position_mm[2]", [60.0, 260.0]),
        ("seat.tilt_deg", [-10.0, 10.0]),
        ("wheel.centre_mm[0]", [500.0, 700.0]),
        ("wheel.column_angle_deg", [0.0, 40.0]),
        ("pedals.position_mm[0]", [950.0, 1300.0]),
        ("pedals.plate_angle_deg", [0.0, 30.0]),
        ("pedals.pedals[0].sideways_mm", [-70.0, 200.0]),
    ] {
        let study = check(&with(field, range, 0.0).unwrap());
        let finding = study.findings.iter().find(|finding| finding.id == "adjuster_barred").unwrap();
        assert!((0.0..=100.0).contains(&finding.value), "{field}: {}", finding.sentence);
        assert!(with(field, [range[1], range[0]], 0.0).is_err(), "{field}");
    }
    // The brake, 70 wide, from 70 to the right: the throttle, 50 wide, stands at −80: their faces meet at −20.
    let study = check(&with("pedals.pedals[0].sideways_mm", [-70.0, 200.0], 0.0).unwrap());
    let finding = study.findings.iter().find(|finding| finding.id == "adjuster_barred").unwrap();
    assert!(finding.sentence.contains("at −20 mm the brake meets the throttle"), "{}", finding.sentence);
}
