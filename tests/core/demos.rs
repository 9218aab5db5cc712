//! The demos hold what their comments say, written from the geometry before the checks were run.

use std::path::{Path, PathBuf};

use heelpoint::{
    check,
    findings::{Finding, Level},
    frame,
    project::load,
    study::Study,
};

fn study(name: &str) -> Study {
    check(&super::demo(name))
}

fn finding<'a>(study: &'a Study, key: &str) -> &'a Finding {
    study.findings.iter().find(|finding| finding.key() == key).unwrap_or_else(|| panic!("no finding {key}"))
}

fn level(study: &Study, key: &str) -> Level {
    finding(study, key).level
}

fn near(study: &Study, key: &str, expected: f64, tolerance: f64) {
    let value = finding(study, key).value;
    assert!((value - expected).abs() <= tolerance, "{key}: {value}, expected {expected} ± {tolerance}");
}

/// Every rail is joined to what stands on the floor, no rail lies in another, every part finds its rails, and nothing about
/// the frame is outside.
#[test]
fn every_demos_frame_holds_together() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets");
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let demos: Vec<PathBuf> = files.filter(|file| file.extension().is_some_and(|kind| kind == "ron")).collect();
    assert!(demos.len() >= 7, "{demos:?}");
    for file in demos {
        let (project, _) = load(&file).unwrap();
        let frame = frame::check(&project);
        assert!(frame.loose.is_empty() && frame.notes.is_empty(), "{file:?}: {:?} {:?}", frame.loose, frame.notes);
        for finding in &frame.findings {
            assert!(finding.level != Level::Outside, "{file:?}: {}: {}", finding.key(), finding.sentence);
        }
    }
}

#[test]
fn the_closed_car_is_nearly_right() {
    let study = study("closed_car");
    assert_eq!(level(&study, "seat_cushion_angle"), Level::Good);
    assert_eq!(level(&study, "seat_back_angle"), Level::Good);
    near(&study, "knee_brake.left", 120.0, 6.0);
    assert_eq!(level(&study, "arms_straight.left"), Level::Borderline);
    assert!(finding(&study, "arms_straight.left").value < 0.0, "the wheel is too far away");
    near(&study, "leg_angle.left.brake", -1.0, 1.5);
    assert_eq!(level(&study, "leg_angle.left.brake"), Level::Good);
    assert_eq!(level(&study, "lumbar_gap"), Level::Borderline);
    near(&study, "lumbar_gap", 20.0, 8.0);
    for finding in &study.findings {
        assert!(finding.level != Level::Outside, "{}: {}", finding.key(), finding.sentence);
    }
}

#[test]
fn the_single_seater_is_reclined_and_tight() {
    let study = study("formula");
    near(&study, "torso_recline", 57.0, 4.0);
    assert_eq!(level(&study, "torso_recline"), Level::Good);
    let heel = study.solved.rest.legs[0].heel.z;
    assert!(heel > study.solved.rest.sitting.h_point.z, "feet above hips");
    for key in ["hand_leg.left", "hand_leg.right"] {
        assert_eq!(level(&study, key), Level::Outside, "{key}");
    }
    for key in ["thigh_wheel.left", "thigh_wheel.right"] {
        near(&study, key, 40.0, 20.0);
    }
    for side in ["left", "right"] {
        assert_eq!(level(&study, &format!("leg_unit.{side}")), Level::Outside);
        near(&study, &format!("leg_frame.{side}"), 60.0, 20.0);
    }
    for key in ["leg_angle.left.brake", "leg_angle.right.throttle"] {
        assert!(finding(&study, key).value.abs() < 4.0, "{key}");
    }
}

#[test]
fn the_three_pedal_rig_is_off_line_and_its_wheel_hangs_low() {
    let study = study("three_pedals");
    // atan(85 / 850) = 5.7°, inside the hip: to the right of the left one.
    near(&study, "leg_angle.left.brake", -5.7, 1.2);
    assert_eq!(level(&study, "leg_angle.left.brake"), Level::Borderline);
    assert!(finding(&study, "leg_angle.left.brake").sentence.contains("to the left"));
    near(&study, "leg_angle.right.throttle", -5.0, 1.2);
    near(&study, "torso_recline", 27.0, 3.0);
    let low = ["knee_wheel.left", "knee_wheel.right", "thigh_wheel.left", "thigh_wheel.right"];
    assert!(low.iter().any(|key| level(&study, key) == Level::Outside), "the wheel is in the way of the knees");
    // Raising the wheel by 80 mm mends it.
    let mut project = super::demo("three_pedals").into_inner();
    project.wheel.centre_mm[2] += 80.0;
    let raised = check(&heelpoint::project::Checked::new(project).unwrap());
    for key in low {
        assert!(finding(&raised, key).value > finding(&study, key).value, "{key}");
    }
}
