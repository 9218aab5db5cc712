//! What is saved loads as the equal project, comments stay, and a file is written whole or not at all.

use std::fs;

use heelpoint::project::{
    BackAngle, BandOverride, Control, Measured, PedalKind, Project, Rail, Rim, SaveError, load, merge, parse, save,
    starter, to_text,
};
use proptest::prelude::*;

use crate::{folder::Folder, project_faults::RIG, random_projects};

fn project(text: &str) -> Project {
    parse(text).unwrap_or_else(|faults| panic!("{faults:#?}")).into_inner()
}

/// The starter with one change made to its project, merged into the starter's text.
fn merged(change: impl FnOnce(&mut Project)) -> Option<String> {
    let mut changed = project(starter());
    change(&mut changed);
    let text = merge(starter(), &changed)?;
    assert_eq!(project(&text), changed);
    Some(text)
}

/// The starter's text with one piece replaced.
fn replaced(from: &str, to: &str) -> String {
    assert_eq!(starter().matches(from).count(), 1, "{from} stands once in the starter");
    starter().replace(from, to)
}

/// Every line that is a comment or ends with one.
fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find("//").map(|at| &line[at..])).collect()
}

// The program's own layout.

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn a_saved_project_loads_as_the_equal_one(project in random_projects::project()) {
        let text = to_text(&project);
        let loaded = parse(&text).map_err(|faults| TestCaseError::fail(format!("{faults:#?}\n{text}")))?;
        prop_assert_eq!(&*loaded, &project);
        prop_assert_eq!(to_text(&loaded), text);
    }

    #[test]
    fn every_number_comes_back_to_the_last_bit(bits in any::<u64>()) {
        // Any finite number, in a field without a range of its own.
        let number = f64::from_bits(bits);
        prop_assume!(number.is_finite());
        let mut rig = project(RIG);
        let band = BandOverride { good: [number, number], limit: [number, number] };
        rig.bands.insert("knee_wheel".to_owned(), band);
        let loaded = project(&to_text(&rig));
        prop_assert_eq!(loaded.bands["knee_wheel"].good[0].to_bits(), bits);
    }

    #[test]
    fn any_project_merges_into_the_starter_or_loses_nothing(project in random_projects::project()) {
        // `None` is an answer; a lost comment or another project is none.
        if let Some(text) = merge(starter(), &project) {
            prop_assert_eq!(&*parse(&text).unwrap(), &project);
            // Names may hold two strokes as well, between the comments.
            let mut found = comments(&text).into_iter();
            for comment in comments(starter()) {
                prop_assert!(found.any(|other| other == comment), "{comment}");
            }
        }
    }

    #[test]
    fn text_without_comments_takes_any_project(project in random_projects::project()) {
        let text = merge(RIG, &project);
        prop_assert!(text.is_some());
        prop_assert_eq!(&*parse(&text.unwrap()).unwrap(), &project);
    }
}

#[test]
fn the_layout_is_short_where_that_reads_well() {
    let mut rig = project(RIG);
    rig.pedals.pedals[0].tilt_deg = 30.25;
    let expected = r#"(
    version: 1,
    title: "Test rig",
    style: Road,

    driver: (
        name: "Nobody",
        population: Women,
        measured: (
            stature_mm: (value: 1650, error: 8),
            mass_kg: (value: 62.5, error: 1),
        ),
        footwear: (
            heel_sole_mm: 10,
            ball_sole_mm: 7,
            extra_length_mm: 18,
            width_mm: 96,
        ),
        clothing_mm: 0,
        brakes_with: Right,
        limits: (ankle_dorsiflexion_deg: 12),
    ),

    seat: (
        position_mm: (400, 0, 280),
        slider: (at_mm: 20, range_mm: (-100, 150), step_mm: 10),
        cushion_angle_deg: 14,
        back_angle_deg: FromVertical(25),
        cushion: (
            length_mm: 500,
            width_mm: 420,
            foam_mm: 60,
            give_mm: 30,
            bolster_height_mm: 30,
            bolster_width_mm: 60,
        ),
        back: (
            length_mm: 650,
            width_mm: 440,
            foam_mm: 50,
            give_mm: 25,
            bolster_depth_mm: 40,
            bolster_width_mm: 60,
            bolster_top_mm: 450,
            lumbar_mm: 10,
            lumbar_height_mm: 190,
            lumbar_length_mm: 180,
        ),
        wings: (
            from_mm: 420,
            to_mm: 600,
            depth_mm: 60,
            width_mm: 520,
        ),
        shell_mm: 8,
    ),

    wheel: (
        rim: FlatBottomed(diameter_mm: 350, flat_mm: 140),
        tube_mm: 30,
        centre_mm: (800, 0, 720),
        column_angle_deg: 25,
        lock_deg: 540,
        hands_h: (9, 3),
    ),

    wheel_unit: (size_mm: (250, 150, 150), behind_mm: 60, drop_mm: 0),

    pedals: (
        position_mm: (1250, 0, 60),
        plate_angle_deg: 0,
        heel_rest_mm: 5,
        pedals: [
            (
                kind: Brake,
                sideways_mm: 60,
                face_mm: (150, 150),
                pivot_mm: (80, 20),
                tilt_deg: 30.25,
                size_mm: (70, 90),
                travel_mm: 50,
                working_travel_mm: 35,
                working_force_n: 300,
            ),
            (
                kind: Throttle,
                sideways_mm: -80,
                face_mm: (150, 150),
                pivot_mm: (80, 20),
                tilt_deg: 30,
                size_mm: (50, 110),
                travel_mm: 60,
                working_travel_mm: 45,
                working_force_n: 35,
            ),
        ],
    ),

    frame: [
        (name: "left base", section_mm: (40, 80), from_mm: (0, 300, 40), to_mm: (1500, 300, 40), roll_deg: 0),
        (name: "right base", section_mm: (40, 80), from_mm: (0, -300, 40), to_mm: (1500, -300, 40), roll_deg: 0),
    ],

    controls: [
        (name: "shifter", at_mm: (700, -320, 600), hand: Right),
        (name: "box", at_mm: (800, 300, 650), hand: Left),
    ],

    motion: (
        steer_deg: 180,
        steer_steps: 121,
        pedal_steps: 21,
        pedals: All,
        throttle_hold_mm: 20,
    ),

    bands: {
        "knee_wheel": (good: (40, 400), limit: (20, 500)),
    },
)
"#;
    assert_eq!(to_text(&rig), expected);
}

// Merging.

#[test]
fn an_unchanged_project_keeps_its_text() {
    assert_eq!(merged(|_| {}).unwrap(), starter());
}

#[test]
fn a_changed_number_is_the_only_change_of_the_text() {
    assert_eq!(
        merged(|project| project.seat.cushion.length_mm = 455.5).unwrap(),
        replaced("length_mm: 460, ", "length_mm: 455.5, ")
    );
    assert_eq!(
        merged(|project| project.seat.back_angle_deg = BackAngle::FromVertical(37.5)).unwrap(),
        replaced("back_angle_deg: FromHorizontal(52)", "back_angle_deg: FromVertical(37.5)")
    );
    assert_eq!(
        merged(|project| project.driver.name = "A \"B\" \\ C".to_owned()).unwrap(),
        replaced("\"Robin Example\"", r#""A \"B\" \\ C""#)
    );
    assert_eq!(
        merged(|project| project.wheel.rim = Rim::Formula { width_mm: 280.0, height_mm: 180.0, corner_mm: 60.0 })
            .unwrap(),
        replaced("rim: Round(diameter_mm: 320)", "rim: Formula(width_mm: 280, height_mm: 180, corner_mm: 60)")
    );
}

#[test]
fn a_new_measurement_goes_behind_the_one_before_it() {
    let text = merged(|project| {
        project.driver.measured.sitting_height_mm = Some(Measured::new(925.0, 8.0));
        project.driver.measured.inseam_mm = Some(Measured::new(840.0, 10.0));
    })
    .unwrap();
    let mass = "            mass_kg: (value: 76, error: 1),\n";
    let new =
        "            sitting_height_mm: (value: 925, error: 8),\n            inseam_mm: (value: 840, error: 10),\n";
    assert_eq!(text, replaced(mass, &format!("{mass}{new}")));
}

#[test]
fn a_confirmed_measurement_says_so_and_can_be_taken_back() {
    let confirm = |project: &mut Project, is: bool| project.driver.measured.mass_kg.as_mut().unwrap().confirmed = is;
    let confirmed = merged(|project| confirm(project, true)).unwrap();
    assert_eq!(
        confirmed,
        replaced("mass_kg: (value: 76, error: 1)", "mass_kg: (value: 76, error: 1, confirmed: true)")
    );
    let mut again = project(&confirmed);
    confirm(&mut again, false);
    let text = merge(&confirmed, &again).unwrap();
    assert_eq!(text, confirmed.replace("confirmed: true", "confirmed: false"));
}

#[test]
fn what_is_taken_away_is_said_to_be_none_and_comes_back_in_its_place() {
    let wings = project(starter()).seat.wings;
    let without = merged(|project| project.seat.wings = None).unwrap();
    assert!(without.contains("        wings: None,\n        shell_mm"));
    let mut again = project(&without);
    again.seat.wings = wings;
    let text = merge(&without, &again).unwrap();
    assert_eq!(project(&text), project(starter()));
    assert_eq!(comments(&text), comments(starter()));
}

#[test]
fn rails_come_and_go() {
    let rail = |name: &str| Rail {
        roll_deg: 45.0,
        ..Rail::between(name, [40.0, 40.0], [0.0, 0.0, 900.0], [500.0, 0.0, 900.0])
    };
    let line = |name: &str| {
        format!(
            "        (name: \"{name}\", section_mm: (40, 40), from_mm: (0, 0, 900), to_mm: (500, 0, 900), roll_deg: 45),\n"
        )
    };
    let find =
        |name: &str| starter().lines().find(|text| text.contains(&format!("\"{name}\""))).unwrap().to_owned() + "\n";
    // In the middle.
    let second = find("base right");
    assert_eq!(
        merged(|project| project.frame.insert(2, rail("new"))).unwrap(),
        replaced(&second, &format!("{second}{}", line("new")))
    );
    // At the beginning.
    let opening = "    frame: [\n";
    assert_eq!(
        merged(|project| project.frame.insert(0, rail("new"))).unwrap(),
        replaced(opening, &format!("{opening}{}", line("new")))
    );
    // Two at the end.
    let last = find("shifter arm");
    assert_eq!(
        merged(|project| project.frame.extend([rail("a"), rail("b")])).unwrap(),
        replaced(&last, &format!("{last}{}{}", line("a"), line("b")))
    );
    // One goes.
    assert_eq!(merged(|project| drop(project.frame.remove(1))).unwrap(), replaced(&second, ""));
    // A default that was left out is written where it changes.
    assert_eq!(
        merged(|project| project.frame[0].roll_deg = 90.0).unwrap(),
        replaced("to_mm: (1450, 290, 40))", "to_mm: (1450, 290, 40), roll_deg: 90)")
    );
    // All go.
    let text = merged(|project| project.frame.clear()).unwrap();
    assert!(text.contains("    frame: [\n    ],\n"));
}

#[test]
fn a_pedal_taken_away_leaves_the_explanations_at_the_next() {
    let text = merged(|project| project.pedals.pedals.retain(|pedal| pedal.kind != PedalKind::Clutch)).unwrap();
    assert_eq!(comments(&text), comments(starter()));
    assert!(text.contains("kind: Brake,\n                sideways_mm: 65,      // left of the set's middle"));
}

#[test]
fn bands_come_and_go() {
    let band = BandOverride { good: [40.0, 400.0], limit: [20.0, 500.0] };
    let with = merged(|project| project.bands.extend([("knee_wheel".to_owned(), band)])).unwrap();
    let motion_end = "pedals: All,               // All, or BrakeAndThrottle for a clutch that is left alone\n    ),\n";
    let entry = "    bands: {\n        \"knee_wheel\": (good: (40, 400), limit: (20, 500)),\n    },\n";
    assert_eq!(with, replaced(motion_end, &format!("{motion_end}{entry}")));
    let mut two = project(&with);
    two.bands.insert("elbow".to_owned(), band);
    let text = merge(&with, &two).unwrap();
    assert!(text.contains("bands: {\n        \"elbow\": (good: (40, 400), limit: (20, 500)),\n        \"knee_wheel\""));
    two.bands.remove("knee_wheel");
    let text = merge(&text, &two).unwrap();
    assert!(text.contains("    bands: {\n        \"elbow\": (good: (40, 400), limit: (20, 500)),\n    },\n"));
    two.bands.clear();
    assert!(merge(&text, &two).unwrap().contains("    bands: {},\n"));
}

#[test]
fn other_layouts_are_kept() {
    // On one line, explicit options, a named struct, a number written otherwise, a comment between value and comma.
    let odd = RIG
        .replace("        measured: (\n            stature_mm: (value: 1650, error: 8),\n            mass_kg: (value: 62.5, error: 1),\n        )",
            "measured: Measurements(mass_kg: Some((value: 6_2.5, error: 1 /* scale */)), stature_mm: (value: 1650, error: 8))")
        .replace("shell_mm: 8,\n", "shell_mm: 8 /* steel */ // thick\n");
    let mut changed = project(&odd);
    assert_eq!(changed.driver.measured.mass_kg, Some(Measured::new(62.5, 1.0)));
    changed.driver.measured.mass_kg = Some(Measured::new(70.0, 1.0));
    changed.driver.measured.foot_length_mm = Some(Measured::new(250.0, 4.0));
    changed.seat.shell_mm = 9.0;
    let text = merge(&odd, &changed).unwrap();
    assert!(text.contains(
        "Measurements(mass_kg: Some((value: 70, error: 1 /* scale */)), foot_length_mm: (value: 250, error: 4), stature_mm: (value: 1650, error: 8))"
    ), "{text}");
    assert!(text.contains("shell_mm: 9 /* steel */ // thick\n"));
    assert_eq!(project(&text), changed);
}

#[test]
fn line_ends_of_windows_are_kept() {
    let windows = starter().replace('\n', "\r\n");
    let mut changed = project(&windows);
    changed.driver.measured.inseam_mm = Some(Measured::new(840.0, 10.0));
    changed.controls.push(Control { name: "box".to_owned(), ..changed.controls[0].clone() });
    let text = merge(&windows, &changed).unwrap();
    assert_eq!(project(&text), changed);
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
}

#[test]
fn a_field_behind_a_comment_that_ends_the_line_keeps_the_comment_where_it_was() {
    let text = RIG
        .replace("        shell_mm: 8,\n", "        shell_mm: 8 // thick\n")
        .replace("        wings: (from_mm: 420, to_mm: 600, depth_mm: 60, width_mm: 520),\n", "");
    let mut changed = project(&text);
    changed.motion.steer_deg = 90.0;
    changed.seat.wings = project(RIG).seat.wings;
    let merged = merge(&text, &changed).unwrap();
    assert_eq!(project(&merged), changed);
    assert!(merged.contains("        ),\n        wings: (\n"));
    assert!(merged.contains("        shell_mm: 8 // thick\n"));
}

#[test]
fn a_comment_that_has_no_place_any_more_is_not_dropped() {
    let text = RIG.replace("(name: \"box\"", "(/* mine */ name: \"box\"");
    let mut changed = project(&text);
    changed.controls.clear();
    assert_eq!(merge(&text, &changed), None);
    // Nor is text with faults merged into.
    assert_eq!(merge(&text.replace("shell_mm: 8", "shel_mm: 8"), &changed), None);
    assert_eq!(merge("", &changed), None);
}

// Files.

#[test]
fn a_saved_file_loads() {
    let folder = Folder::new();
    let path = folder.path("new.ron");
    let rig = project(RIG);
    let saved = save(&path, &rig, None).unwrap();
    assert_eq!(saved.former, None);
    let (loaded, text) = load(&path).unwrap();
    assert_eq!(*loaded, rig);
    assert_eq!(text, saved.text);
    assert_eq!(folder.names(), ["new.ron"], "nothing is left beside it");
}

#[test]
fn a_save_keeps_the_comments_of_the_file_it_was_loaded_from() {
    let folder = Folder::new();
    let path = folder.path("rig.ron");
    fs::write(&path, starter()).unwrap();
    let (loaded, text) = load(&path).unwrap();
    let mut changed = loaded.into_inner();
    changed.wheel.lock_deg = 540.0;
    let saved = save(&path, &changed, Some(&text)).unwrap();
    assert_eq!(saved.text, replaced("lock_deg: 450", "lock_deg: 540"));
    assert_eq!(fs::read_to_string(&path).unwrap(), saved.text);
    assert_eq!(saved.former, None);
    // And again, from what was saved.
    changed.wheel.lock_deg = 450.0;
    assert_eq!(save(&path, &changed, Some(&saved.text)).unwrap().text, starter());
    // Under another name, too.
    let other = save(&folder.path("other.ron"), &changed, Some(starter())).unwrap();
    assert_eq!(other.text, starter());
    assert_eq!(folder.names(), ["other.ron", "rig.ron"]);
}

#[test]
fn a_file_that_changed_since_it_was_loaded_is_not_overwritten() {
    let folder = Folder::new();
    let path = folder.path("rig.ron");
    let theirs = RIG.replace("Test rig", "Changed by another program");
    fs::write(&path, &theirs).unwrap();
    let error = save(&path, &project(RIG), Some(RIG)).unwrap_err();
    assert!(matches!(&error, SaveError::Changed { path: told } if *told == path));
    assert!(error.to_string().contains("was changed on disk since it was loaded. Load it again"));
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
    assert_eq!(folder.names(), ["rig.ron"]);
    // Without the former text it is overwritten, which is how the caller insists.
    save(&path, &project(RIG), None).unwrap();
    assert_eq!(*load(&path).unwrap().0, project(RIG));
}

#[test]
fn a_byte_order_mark_is_no_change() {
    let folder = Folder::new();
    let path = folder.path("rig.ron");
    fs::write(&path, format!("\u{FEFF}{RIG}")).unwrap();
    let (loaded, text) = load(&path).unwrap();
    save(&path, &loaded, Some(&text)).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), RIG);
}

#[test]
fn what_cannot_be_kept_in_place_is_kept_beside_under_a_free_name() {
    let folder = Folder::new();
    let path = folder.path("rig.ron");
    let text = RIG.replace("(name: \"box\"", "(/* mine */ name: \"box\"");
    fs::write(&path, &text).unwrap();
    let mut changed = project(&text);
    changed.controls.clear();
    let saved = save(&path, &changed, Some(&text)).unwrap();
    assert_eq!(saved.former, Some(folder.path("rig.ron.former")));
    assert_eq!(fs::read_to_string(folder.path("rig.ron.former")).unwrap(), text);
    assert_eq!(project(&fs::read_to_string(&path).unwrap()), changed);
    // A second one does not overwrite the first. This time it is no text at all.
    fs::write(&path, b"\xFF\xFE").unwrap();
    let saved = save(&path, &changed, None).unwrap();
    assert_eq!(saved.former, Some(folder.path("rig.ron.former-2")));
    assert_eq!(fs::read(folder.path("rig.ron.former-2")).unwrap(), b"\xFF\xFE");
    assert_eq!(fs::read_to_string(folder.path("rig.ron.former")).unwrap(), text);
    assert_eq!(folder.names(), ["rig.ron", "rig.ron.former", "rig.ron.former-2"]);
}

#[test]
fn a_project_with_faults_is_not_written() {
    let folder = Folder::new();
    let path = folder.path("rig.ron");
    fs::write(&path, RIG).unwrap();
    let mut faulty = project(RIG);
    faulty.seat.shell_mm = f64::NAN;
    let error = save(&path, &faulty, Some(RIG)).unwrap_err();
    assert!(matches!(&error, SaveError::Faults { faults, .. } if faults[0].path == "seat.shell_mm"));
    assert!(error.to_string().ends_with("rig.ron  seat.shell_mm is NaN, not a finite number. Write a number."));
    assert_eq!(fs::read_to_string(&path).unwrap(), RIG);
}

#[test]
fn a_save_that_fails_leaves_everything_as_it_was() {
    let folder = Folder::new();
    let path = folder.path("rig.ron");
    fs::write(&path, RIG).unwrap();

    // A read-only file.
    let writable = fs::metadata(&path).unwrap().permissions();
    let mut permissions = writable.clone();
    permissions.set_readonly(true);
    fs::set_permissions(&path, permissions).unwrap();
    assert!(matches!(save(&path, &project(RIG), None), Err(SaveError::Write { .. })));
    assert_eq!(fs::read_to_string(&path).unwrap(), RIG);
    fs::set_permissions(&path, writable).unwrap();

    // Something far larger than a project.
    let large = vec![b' '; 2 << 20];
    fs::write(folder.path("large.ron"), &large).unwrap();
    assert!(matches!(save(&folder.path("large.ron"), &project(RIG), None), Err(SaveError::Write { .. })));
    assert_eq!(fs::read(folder.path("large.ron")).unwrap(), large);
    fs::remove_file(folder.path("large.ron")).unwrap();

    // A folder in the file's place, no folder at all, and a file in the folder's place.
    fs::create_dir(folder.path("folder.ron")).unwrap();
    for name in ["folder.ron", "none/rig.ron", "rig.ron/rig.ron"] {
        let error = save(&folder.path(name), &project(RIG), None).unwrap_err();
        assert!(matches!(error, SaveError::Write { .. }), "{error:?}");
    }
    assert_eq!(folder.names(), ["folder.ron", "rig.ron"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), RIG);
}

#[cfg(target_os = "linux")]
#[test]
fn a_save_that_fails_half_way_leaves_everything_as_it_was() {
    // The new file has been written when the former one cannot be kept: with the ending its name is too long.
    let folder = Folder::new();
    let name = format!("{}.ron", "n".repeat(250));
    let path = folder.path(&name);
    fs::write(&path, "// no project\n").unwrap();
    let error = save(&path, &project(RIG), None).unwrap_err();
    assert!(matches!(error, SaveError::Write { .. }), "{error:?}");
    assert_eq!(fs::read_to_string(&path).unwrap(), "// no project\n");
    assert_eq!(folder.names(), [name]);
}

#[cfg(unix)]
#[test]
fn permissions_and_links_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = Folder::new();
    let path = folder.path("real.ron");
    fs::write(&path, RIG).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    symlink("real.ron", folder.path("second.ron")).unwrap();
    symlink(folder.path("second.ron"), folder.path("first.ron")).unwrap();
    let mut changed = project(RIG);
    changed.title = "Through two links".to_owned();
    save(&folder.path("first.ron"), &changed, Some(RIG)).unwrap();
    assert_eq!(project(&fs::read_to_string(&path).unwrap()), changed);
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    for link in ["first.ron", "second.ron"] {
        assert!(fs::symlink_metadata(folder.path(link)).unwrap().is_symlink());
    }
    // A link to a file that is not there yet, and links in a circle.
    symlink("later.ron", folder.path("to_later.ron")).unwrap();
    save(&folder.path("to_later.ron"), &changed, None).unwrap();
    assert_eq!(*load(&folder.path("later.ron")).unwrap().0, changed);
    symlink("round.ron", folder.path("round.ron")).unwrap();
    assert!(matches!(save(&folder.path("round.ron"), &changed, None), Err(SaveError::Write { .. })));
}
