//! Adjusters as they are built: a slot, holes at a pitch, detents; what is offered keeps to them.

use heelpoint::{
    findings::Rates,
    project::{AdjusterRange, Checked, Fault, Project},
    study::{check, check_and_mend},
    watch::Watch,
};

use super::demo;

fn with(field: &str, range: [f64; 2], step: f64) -> Project {
    let mut project = demo("three_pedals").into_inner();
    project.adjusters.push(AdjusterRange { field: field.to_owned(), range, step });
    project
}

fn told(project: Project) -> String {
    let faults = Checked::new(project).unwrap_err();
    faults.iter().map(Fault::to_string).collect::<Vec<_>>().join("\n")
}

/// The demo's wheel stands at 670, in holes 40 mm apart from 590 to 790: what is offered is 710, 750 or 790, or lower.
#[test]
fn what_to_move_keeps_to_the_holes() {
    let study = check_and_mend(&Checked::new(with("wheel.centre_mm[2]", [590.0, 790.0], 40.0)).unwrap());
    let moves = study.findings.iter().filter_map(|finding| finding.mend.as_ref()).flat_map(|mend| &mend.moves);
    let heights: Vec<f64> = moves.filter(|one| one.path == "wheel.centre_mm[2]").map(|one| one.by).collect();
    assert!(!heights.is_empty(), "the low wheel is mended by raising it");
    for by in heights {
        assert!((by / 40.0 - (by / 40.0).round()).abs() < 1e-9 && (-80.0..=120.0).contains(&by), "{by}");
    }
}

#[test]
fn what_is_no_adjuster_by_itself_becomes_one_where_it_is_described() {
    let adjusts = |project: &Checked, path: &str| {
        Rates::of(&check(project), &Watch::NOBODY).unwrap().adjusters.iter().any(|adjuster| adjuster.path == path)
    };
    assert!(!adjusts(&demo("three_pedals"), "pedals.plate_angle_deg"));
    assert!(adjusts(
        &Checked::new(with("pedals.plate_angle_deg", [0.0, 15.0], 0.0)).unwrap(),
        "pedals.plate_angle_deg"
    ));
}

#[test]
fn adjusters_that_cannot_be_are_told() {
    let outside = told(with("wheel.centre_mm[2]", [690.0, 790.0], 0.0));
    assert!(outside.contains("wheel.centre_mm[2] is 670 mm") && outside.contains("690 to 790 mm"), "{outside}");
    let unknown = told(with("wheel.center_mm[2]", [590.0, 790.0], 0.0));
    assert!(
        unknown.contains("adjusters[0].field") && unknown.contains("Did you mean wheel.centre_mm[2]?"),
        "{unknown}"
    );
    let swapped = told(with("wheel.centre_mm[2]", [790.0, 590.0], 0.0));
    assert!(swapped.contains("Write the lesser end first"), "{swapped}");
    assert!(told(with("wheel.centre_mm[2]", [590.0, 790.0], -1.0)).contains("a step from 0"));
    assert!(told(with("wheel.centre_mm[2]", [f64::NAN, 790.0], 0.0)).contains("adjusters[0].range[0]"));
}
