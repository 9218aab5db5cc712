//! Lengths in inches where a person asks for them, on the command line; by hand: 1 in is 25.4 mm.

use std::{fs, path::Path, process::Command};

/// What the program prints, both streams.
fn printed(arguments: &[&str]) -> String {
    let ran = Command::new(env!("CARGO_BIN_EXE_heelpoint")).args(arguments).output().unwrap();
    [ran.stdout, ran.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).concat()
}

fn demo(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets").join(name).to_string_lossy().into_owned()
}

#[test]
fn a_cut_list_in_inches_keeps_the_millimetres_beside_them() {
    let file = demo("club_rig.ron");
    let metric = printed(&["frame", &file, "--no-stiffen"]);
    assert!(metric.contains("920.0 mm") && !metric.contains(" in ("), "{metric}");
    let inches = printed(&["frame", &file, "--no-stiffen", "--units", "inch"]);
    // 920 / 25.4 = 36.2205, a bar of 6000 mm 236.2205.
    assert!(inches.contains("36.22 in (920.0 mm)"), "{inches}");
    assert!(inches.contains("Bars of 236.22 in (6000.0 mm) to buy"), "{inches}");
    // Figures of the frame follow: the give of the brake is a few hundredths of an inch.
    let give = inches.lines().find(|line| line.contains("give between pedal and seat")).unwrap();
    assert!(give.contains(" in ") && !give.contains(" mm"), "{give}");
}

#[test]
fn csv_of_the_frame_stays_in_the_millimetres_that_its_columns_name() {
    let folder = std::env::temp_dir().join(format!("heelpoint-inches-{}", std::process::id()));
    let out = folder.to_string_lossy();
    printed(&["frame", &demo("club_rig.ron"), "--no-stiffen", "--units", "inch", "--csv", &out]);
    let cuts = fs::read_to_string(folder.join("cut_list.csv")).unwrap();
    assert!(cuts.starts_with("count,section,length_mm") && cuts.contains(",920.0,"), "{cuts}");
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_fault_names_the_inches_and_what_stands_in_the_file() {
    let file = std::env::temp_dir().join(format!("heelpoint-inches-{}.ron", std::process::id()));
    let text = heelpoint::project::starter().replacen("length_mm: 460", "length_mm: 0.46", 1);
    fs::write(&file, text).unwrap();
    let path = file.to_string_lossy();
    let metric = printed(&["check", &path]);
    assert!(metric.contains("is 0.46 mm; allowed 200 to 700 mm. Typed in metres? Write 460."), "{metric}");
    let inches = printed(&["check", &path, "--units", "inch"]);
    // 0.46 / 25.4 = 0.018, 200 / 25.4 = 7.874, 700 / 25.4 = 27.559.
    let wanted = "is 0.02 in (0.46 mm); allowed 7.87 to 27.56 in (200 to 700 mm). Typed in metres? Write 460 mm.";
    assert!(inches.contains(wanted), "{inches}");
    fs::remove_file(file).unwrap();
}
