//! Rails that hang on others, as they stand in a file: loading, faults, saving.

use heelpoint::project::{
    Contradiction, Fault, FaultKind, Fit, JointKind, RailFace, RailJoint, fields, merge, parse, to_text,
};

/// The demo of the frame.
pub const CLUB_RIG: &str = include_str!("../../assets/club_rig.ron");
const OLD: &str = include_str!("rig.ron");

fn rail(project: &heelpoint::Project, name: &str) -> heelpoint::project::Rail {
    project.frame.iter().find(|rail| rail.name == name).expect("a rail of that name").clone()
}

/// By hand: 460 between the inner faces of the base rails; strips 540 over both; an upright from the top at 80 to 780; a
/// brace from (1010, 80) to the upright's front face (840, 330).
#[test]
fn the_demo_places_its_rails_on_one_another() {
    let project = parse(CLUB_RIG).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!(project.frame.len(), 23);
    let cross = rail(&project, "front cross member");
    assert_eq!((cross.from_mm, cross.to_mm), ([1360.0, -230.0, 40.0], [1360.0, 230.0, 40.0]));
    let strip = rail(&project, "rear pedal strip");
    assert_eq!((strip.from_mm, strip.to_mm), ([1110.0, -270.0, 100.0], [1110.0, 270.0, 100.0]));
    assert_eq!(strip.to_on.as_ref().map(|on| (on.fit, on.side)), Some((Fit::Across, RailFace::Top)));
    let upright = rail(&project, "left upright");
    assert_eq!(upright.from_mm, [800.0, 250.0, 80.0]);
    let brace = rail(&project, "left brace");
    assert_eq!((brace.from_mm, brace.to_mm), ([1010.0, 250.0, 80.0], [840.0, 250.0, 330.0]));
    let beam = rail(&project, "wheel beam");
    assert_eq!((beam.from_mm, beam.to_mm), ([800.0, -230.0, 760.0], [800.0, 230.0, 760.0]));
    // Slot 2 of the outer face is the upper one, 20 mm above the middle.
    assert_eq!(rail(&project, "shifter stub").from_mm, [500.0, -270.0, 60.0]);
    assert_eq!(cross.joint, Some(RailJoint { kind: JointKind::EndToFace, pieces: None, turn_nm_per_rad: None }));
    assert_eq!(rail(&project, "left base").section.as_deref(), Some("40x80-heavy"));
}

#[test]
fn old_files_load_as_before_and_every_file_saves_unchanged() {
    for text in [OLD, CLUB_RIG] {
        let project = parse(text).unwrap();
        assert_eq!(merge(text, &project).as_deref(), Some(text), "nothing moved, nothing changes");
        assert_eq!(parse(&to_text(&project)).unwrap(), project);
    }
    let old = parse(OLD).unwrap();
    assert!(old.frame.iter().all(|rail| rail.section.is_none() && rail.joint.is_none() && rail.from_on.is_none()));
    assert!(old.loads.is_none());
    // What an attached end doesn't need isn't written.
    let text = to_text(&parse(CLUB_RIG).unwrap());
    let cross = text.split("\"rear cross member\"").nth(1).unwrap().split("name:").next().unwrap();
    assert!(cross.contains("from_on") && !cross.contains("from_mm"), "{cross}");
}

#[test]
fn a_changed_attachment_changes_its_own_text_alone() {
    let mut project = parse(CLUB_RIG).unwrap().into_inner();
    fields(&mut project, &mut |field| {
        if field.path == "frame[22].from_on.along_mm" {
            *field.value = 55.0;
        }
    });
    let (from, to) =
        ("side: Top, along_mm: 60), to_mm: (500, -330, 520)", "side: Top, along_mm: 55), to_mm: (500, -330, 520)");
    assert_eq!(CLUB_RIG.matches(from).count(), 1);
    assert_eq!(merge(CLUB_RIG, &project), Some(CLUB_RIG.replace(from, to)));
    // Taken off, the end stands where it stood; hung up again it loses its own place.
    project.frame[22].from_on = None;
    let text = merge(CLUB_RIG, &project).unwrap();
    let again = parse(&text).unwrap();
    assert_eq!(again.frame[22].from_mm, [500.0, -330.0, 80.0]);
    assert!(again.frame[22].from_on.is_none());
    let hung = parse(&merge(&text, &parse(CLUB_RIG).unwrap()).unwrap()).unwrap();
    assert_eq!(hung, parse(CLUB_RIG).unwrap());
}

/// A base rail that is moved takes along what hangs on it, and what lies between changes its length.
#[test]
fn what_hangs_on_a_rail_follows_it() {
    let mut project = parse(CLUB_RIG).unwrap().into_inner();
    fields(&mut project, &mut |field| {
        if field.path == "frame[0].from_mm[1]" || field.path == "frame[0].to_mm[1]" {
            *field.value += 25.0;
        }
    });
    let moved = heelpoint::project::Checked::new(project).unwrap();
    let cross = rail(&moved, "front cross member");
    assert_eq!((cross.from_mm[1], cross.to_mm[1]), (-230.0, 255.0));
    assert!((cross.length() - 0.485).abs() < 1e-9);
    assert_eq!(rail(&moved, "left upright").from_mm[1], 275.0);
}

fn fault(from: &str, to: &str) -> Fault {
    assert_eq!(CLUB_RIG.matches(from).count(), 1, "{from} stands once in the demo");
    let faults = parse(&CLUB_RIG.replace(from, to)).expect_err("a fault");
    assert_eq!(faults.len(), 1, "{faults:#?}");
    assert!(faults[0].at.is_some(), "{faults:?}");
    faults[0].clone()
}

#[test]
fn faults_of_attachments_say_where_and_what_to_do() {
    let stub = "from_on: (rail: \"right base\", side: Right, slot: 2, along_mm: 500), to_mm: (500, -350, 60)";
    let at = "frame[21]";
    for (to, path, sentence) in [
        (
            "from_on: (rail: \"right bass\", side: Right, along_mm: 500), to_mm: (500, -350, 60)",
            "from_on.rail",
            "is `right bass`, and no rail is called that. Did you mean `right base`?",
        ),
        (
            "from_on: (rail: \"right base\", side: Right, slot: 3, along_mm: 500), to_mm: (500, -350, 60)",
            "from_on.slot",
            "is 3; the right face has 2, counted from below or from the right. 0 is the face's middle.",
        ),
        (
            "from_on: (rail: \"right base\", side: Right, along_mm: 1900), to_mm: (500, -350, 60)",
            "from_on.along_mm",
            "is 1900 mm; \"right base\" is 1400 mm long. Count from its `from` end, or lengthen it.",
        ),
        (
            "from_on: (rail: \"shifter post\", side: Right, along_mm: 50), to_mm: (500, -350, 60)",
            "from_on",
            "leads in a circle: the rail hangs on one that hangs on it. Give one of them its place with `from_mm` and \
             `to_mm`.",
        ),
        (
            "from_on: (rail: \"right base\", side: Right, slot: 2, along_mm: 500)",
            "to_mm",
            "is missing. Add it, such as `to_mm: (0, 250, 40)` or `to_on: (rail: \"base left\", side: Right, along_mm: \
             300)`.",
        ),
        (
            "from_on: (rail: \"right base\", side: Right, slot: 2, along_mm: 500), to_mm: (500, -290, 60)",
            "",
            "is 20 mm long, less than its section's 40 mm. `from_mm` and `to_mm` are the centres of its two ends.",
        ),
    ] {
        assert_eq!(CLUB_RIG.matches(stub).count(), 1);
        let faults = parse(&CLUB_RIG.replace(stub, to)).expect_err(sentence);
        let fault = faults.iter().find(|fault| fault.path.starts_with(at)).unwrap_or_else(|| panic!("{faults:?}"));
        assert_eq!(fault.path.strip_prefix(at).unwrap().trim_start_matches('.'), path);
        assert_eq!(fault.sentence(), format!("{} {sentence}", fault.path));
        assert!(fault.at.is_some());
    }
}

#[test]
fn other_faults_of_rails_and_loads() {
    let found = fault(
        "section: \"40x80-heavy\",\n            from_mm: (0, 250, 40)",
        "section: \"40x80-haevy\",\n            from_mm: (0, 250, 40)",
    );
    assert_eq!(found.path, "frame[0].section");
    assert!(found.sentence().contains("Did you mean `40x80-heavy`?"), "{found}");
    let found = fault(
        "section: \"40x80-heavy\",\n            from_mm: (0, 250, 40)",
        "section: \"40x40-heavy\",\n            from_mm: (0, 250, 40)",
    );
    assert!(matches!(found.kind, FaultKind::Contradiction(Contradiction::SectionOfOtherSize { .. })));
    assert_eq!(
        found.sentence(),
        "frame[0].section is 40 × 40 mm; `section_mm` says 40 × 80. Correct one of the two: which side is upright stands in \
         `section_mm`."
    );
    // Both a place and an attachment: nothing is dropped silently.
    let found = fault("to_mm: (800, 250, 780)", "from_mm: (0, 0, 0), to_mm: (800, 250, 780)");
    assert_eq!(
        found.sentence(),
        "`from_mm` and `from_on` both say where one end is. Keep the place, or the rail that it is attached to."
    );
    let found = fault(
        "fit: Across),\n            to_on: (rail: \"left base\", side: Top, along_mm: 340, sideways_mm: 20, fit: Across)",
        "fit: Acros),\n            to_on: (rail: \"left base\", side: Top, along_mm: 340, sideways_mm: 20, fit: Across)",
    );
    assert!(found.sentence().contains("Did you mean `Across`? Allowed: Against, Across."), "{found}");
    let found = fault("mass_kg: 4.5", "mass_kg: 450");
    assert_eq!(found.sentence(), "screens.mass_kg is 450 kg; allowed 0 to 100 kg. Typed in grams? Write 0.5.");
    let found = fault("pedals_kg: 7,", "pedals_kg: 7, weights: [(name: \"computer\", kg: 900, at_mm: (1340, 0, 98))],");
    assert_eq!((found.path.as_str(), found.sentence().contains("allowed 0 to 200 kg")), ("loads.weights[0].kg", true));
    let found = fault("wheel_torque_nm: 15", "wheel_torque: 15");
    assert!(found.sentence().contains("Did you mean `wheel_torque_nm`?"), "{found}");
    let found = fault(
        "joint: (kind: Bracket, pieces: 1),\n            from_on: (rail: \"left base\", side: Top, along_mm: 1010)",
        "joint: (kind: Bracket, pieces: 12),\n            from_on: (rail: \"left base\", side: Top, along_mm: 1010)",
    );
    assert_eq!(found.sentence(), "frame[10].joint.pieces is 12; allowed are whole numbers from 1 to 8.");
}
