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

/// By hand: 1800 mm is 70.87 in, an error of 8 mm 0.31 in; half a millimetre is below 0.04 in.
#[test]
fn a_body_in_inches_keeps_its_kilograms_and_its_json_in_millimetres() {
    let file = demo("closed_car.ron");
    let inches = printed(&["body", &file, "--units", "inch"]);
    let line = |label: &str| inches.lines().find(|line| line.contains(label)).unwrap();
    let stature = line("Stature");
    assert!(stature.ends_with("70.9 in ± 0.31 in") && !stature.contains(" mm"), "{stature}");
    assert!(inches.contains("80.0 kg ± 1.0 kg"), "{inches}");
    assert_eq!(printed(&["body", &file, "--json", "--units", "inch"]), printed(&["body", &file, "--json"]));
}

/// By hand, from what the demo prints in millimetres: gaps and travel follow, angles stay.
#[test]
fn curves_in_inches_have_the_lengths_of_those_in_millimetres() {
    let file = demo("closed_car.ron");
    let [metric, inches] = ["mm", "inch"]
        .map(|unit| printed(&["curves", &file, "--units", unit]).lines().map(str::to_owned).collect::<Vec<_>>());
    assert_eq!(metric.len(), inches.len());
    let lengths = |line: &str, unit: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let with = |pair: &[&str]| (pair[1] == unit).then(|| pair[0].replace('−', "-").parse::<f64>().ok()).flatten();
        words.windows(2).filter_map(with).collect::<Vec<f64>>()
    };
    let mut compared = 0;
    for (metric, inches) in metric.iter().zip(&inches) {
        let [in_mm, in_inches] = [lengths(metric, "mm"), lengths(inches, "in")];
        assert_eq!(in_mm.len(), in_inches.len(), "{metric}\n{inches}");
        for (mm, inch) in in_mm.iter().zip(in_inches) {
            // Rounded to 1 mm, and to a tenth of an inch from 10 in on.
            assert!((mm - 25.4 * inch).abs() <= 0.5 + 25.4 * 0.05 + 1e-9, "{mm} mm, {inch} in");
            compared += 1;
        }
    }
    assert!(compared > 20, "{compared}");
    assert!(!inches.iter().any(|line| line.contains(" mm")), "{inches:#?}");
}

/// The shell's file stands from 62.9 mm behind its origin to 465.0 mm before it: 527.9 / 25.4 = 20.78, 465 / 25.4 = 18.31.
#[test]
fn a_part_in_inches_keeps_its_entry_in_millimetres() {
    let file = demo("shells/bucket.stl");
    let of = |unit| printed(&["part", &file, "--unit", "mm", "--stands-for", "seat", "--units", unit]);
    let (metric, inches) = (of("mm"), of("inch"));
    assert!(metric.contains("527.9 mm   from    -62.9 to    465.0"), "{metric}");
    assert!(inches.contains("20.78 in   from    -2.48 to    18.31"), "{inches}");
    assert!(inches.contains("Read in mm") && inches.contains("unit: Mm"), "{inches}");
    // Read in metres the same numbers are 1000 times as large: 670.2 m are 26386 in; in mm 26.4 in.
    let odd = printed(&["part", &file, "--unit", "m", "--units", "inch"]);
    assert!(odd.contains("Read in mm it would be 26.4 in."), "{odd}");
}
