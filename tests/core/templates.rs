//! Parts to begin with: each loads, fits into the starter's project and is what its name says.

use std::{collections::BTreeSet, fs, path::Path};

use heelpoint::{
    check,
    project::{Checked, PedalKind, Rim, TEMPLATES, Template, TemplateError, TemplatePart, parse, starter},
    units::to_mm,
};

fn template(name: &str) -> Template {
    Template::find(name).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn every_part_makes_a_sound_project_that_can_be_checked() {
    for (name, _) in TEMPLATES {
        let mut project = parse(starter()).unwrap().into_inner();
        template(name).put_into(&mut project);
        let checked = Checked::new(project).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
        let study = check(&checked);
        assert!(study.findings.iter().all(|finding| finding.value.is_finite()), "{name}");
    }
}

/// No file lies in the folder that the program doesn't know.
#[test]
fn the_list_is_the_folder() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/parts");
    let files: BTreeSet<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    let names: BTreeSet<String> = TEMPLATES.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(files, names);
}

/// Widths grow from narrow to wide; rims have the sizes of their names; pedals hang from above or stand on the floor.
#[test]
fn parts_are_what_their_names_say() {
    let width = |name: &str| match template(name).part {
        TemplatePart::Seat(seat) => (seat.cushion.width_mm, seat.cushion_to_back_deg()),
        other => panic!("{other:?}"),
    };
    let (narrow, medium, wide) = (width("narrow_shell"), width("medium_shell"), width("wide_shell"));
    assert!(narrow.0 < medium.0 && medium.0 < wide.0);
    for (name, wanted) in
        [("round_320", 320.0), ("flat_bottomed_300", 300.0), ("open_topped_285", 285.0), ("formula_270", 270.0)]
    {
        let TemplatePart::Rim(rim) = template(name).part else { panic!("{name}") };
        let mut project = parse(starter()).unwrap().into_inner();
        project.wheel.rim = rim;
        let part = heelpoint::rig::Rig::place(&Checked::new(project).unwrap()).wheel;
        let half = part.path.points(200).iter().map(|point| point[0]).fold(0.0, f64::max) + part.tube;
        assert!((to_mm(2.0 * half) - wanted).abs() < 0.5, "{name}: {}", to_mm(2.0 * half));
        assert_eq!(matches!(rim, Rim::Formula { height_mm, .. } if height_mm == 180.0), name == "formula_270");
    }
    for (name, count, hung) in [
        ("two_floor_hinged", 2, false),
        ("three_floor_hinged", 3, false),
        ("three_top_hung", 3, true),
        ("three_inverted", 3, true),
        ("formula_pedals", 2, false),
    ] {
        let TemplatePart::Pedals(set) = template(name).part else { panic!("{name}") };
        let brake = set.pedals.iter().find(|pedal| pedal.kind == PedalKind::Brake).unwrap();
        assert_eq!((set.pedals.len(), brake.pivot_mm[1] > brake.face_mm[1]), (count, hung), "{name}");
    }
}

/// A part of the user's own is a file of the same form.
#[test]
fn a_file_of_the_same_form_is_a_part_and_a_bad_one_is_told_with_its_line() {
    let folder = std::env::temp_dir().join(format!("heelpoint-{}-parts", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join("mine.ron");
    fs::write(&file, "// My wheel.\n(\n    title: \"Mine\",\n    part: Rim(Round(diameter_mm: 345)),\n)\n").unwrap();
    let mine = template(&file.to_string_lossy());
    assert_eq!(mine.part, TemplatePart::Rim(Rim::Round { diameter_mm: 345.0 }));
    fs::write(&file, "(\n    title: \"Mine\",\n    part: Rim(Round(width_mm: 345)),\n)\n").unwrap();
    let error = Template::find(&file.to_string_lossy()).unwrap_err();
    assert!(matches!(error, TemplateError::Malformed { line: 3, .. }), "{error:?}");
    assert!(error.to_string().contains("assets/parts"), "{error}");
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn every_template_says_in_a_line_what_it_is() {
    for (name, text) in TEMPLATES {
        let about = Template::about(text);
        assert!(about.len() > 15 && about.ends_with('.') && !about.contains("nvented"), "{name}: {about:?}");
    }
    assert_eq!(Template::about("(title: \"no comment\")"), "");
}
