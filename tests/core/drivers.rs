//! Several drivers of one rig: each is checked like the one who sits, and can take the seat.

use heelpoint::{
    check,
    project::{Contradiction, Fault, FaultKind, merge, parse, starter, to_text},
};

use crate::project_faults::RIG;

/// The test rig with a second driver, whose text is changed.
fn rig(from: &str, to: &str) -> String {
    let other = r#"    others: [
        // Taller.
        (
            name: "Somebody",
            population: Men,
            measured: (stature_mm: (value: 1850, error: 8), mass_kg: (value: 90, error: 1)),
            brakes_with: Left,
        ),
    ],
"#;
    assert!(other.matches(from).count() == 1);
    let seat = RIG.find("    seat: (").unwrap();
    format!("{}{}{}", &RIG[..seat], other.replace(from, to), &RIG[seat..])
}

fn fault(from: &str, to: &str) -> Fault {
    let faults = parse(&rig(from, to)).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:#?}");
    faults.into_iter().next().unwrap()
}

#[test]
fn numbers_of_the_others_are_checked_at_their_place() {
    let text = rig("1850", "185");
    let found = fault("1850", "185");
    assert_eq!(found.path, "others[0].measured.stature_mm.value");
    let line = text.lines().position(|line| line.contains("185,")).unwrap();
    let column = text.lines().nth(line).unwrap().find("185,").unwrap();
    assert_eq!(found.at, Some((line + 1, column + 1)));
    assert!(found.sentence().contains("Typed in centimetres? Write 1850."), "{}", found.sentence());
}

#[test]
fn each_has_a_name_of_its_own_and_stature_and_mass() {
    let found = fault("\"Somebody\"", "\"Nobody\"");
    assert_eq!(
        (found.path.as_str(), found.kind),
        ("others[0].name", FaultKind::RepeatedName { first: "driver".into() })
    );
    let found = fault("\"Somebody\"", "\" \"");
    assert_eq!((found.path.as_str(), found.kind), ("others[0].name", FaultKind::NameEmpty));
    let found = fault(", mass_kg: (value: 90, error: 1)", "");
    assert_eq!(found.path, "others[0].measured.mass_kg");
    let found = fault("            population: Men,\n", "");
    let FaultKind::MissingField { example } = &found.kind else { panic!("{found}") };
    assert_eq!(example.as_deref(), Some("population: Men"));
    let many = to_text(&{
        let mut project = parse(&rig("1850", "1850")).unwrap().into_inner();
        let one = project.others[0].clone();
        project.others = (0..21).map(|n| heelpoint::project::Driver { name: format!("{n}"), ..one.clone() }).collect();
        project
    });
    let faults = parse(&many).unwrap_err();
    assert_eq!(faults[0].kind, FaultKind::TooManyDrivers { found: 21, limit: 20 });
    assert!(
        !faults.iter().any(|fault| matches!(fault.kind, FaultKind::Contradiction(Contradiction::PedalCount { .. })))
    );
}

#[test]
fn whoever_takes_the_seat_is_the_body_that_is_checked() {
    let project = parse(&rig("1850", "1850")).unwrap();
    let taller = project.driven_by("Somebody").unwrap();
    assert_eq!((taller.driver.name.as_str(), taller.others[0].name.as_str()), ("Somebody", "Nobody"));
    assert_eq!(taller.driven_by("Nobody").unwrap(), project);
    assert_eq!(project.driven_by("Nobody").unwrap(), project);
    assert!(project.driven_by("Anybody").is_none());
    let eyes = |project| check(project).solved.rest.sitting.eyes.z;
    assert!(eyes(&taller) > eyes(&project) + 0.05);
}

#[test]
fn a_change_of_seats_keeps_the_text_a_project() {
    let text = rig("1850", "1850");
    let mut project = parse(&text).unwrap().into_inner();
    assert!(project.seat_driver("Somebody"));
    let merged = merge(&text, &project).expect("no comment is lost");
    assert_eq!(*parse(&merged).unwrap(), project);
    assert!(merged.contains("// Taller."));
    // The last of the others goes, and comes.
    project.others.clear();
    if let Some(merged) = merge(&merged, &project) {
        assert_eq!(*parse(&merged).unwrap(), project);
    }
    let mut started = parse(starter()).unwrap().into_inner();
    started.others.push(project.driver.clone());
    let merged = merge(starter(), &started).expect("others can be added to any project");
    assert_eq!(*parse(&merged).unwrap(), started);
}
