//! Any text at all is answered in bounded time: by a project, or by faults that lie within the text.

use std::{
    fs,
    path::PathBuf,
    time::{Duration, Instant},
};

use heelpoint::project::{BackAngle, Fault, FaultKind, LoadError, load, parse, starter};
use proptest::{collection::vec, prelude::*};

use crate::{folder::Folder, project_faults::RIG};

/// Every fault has a sentence and, if it has a place, one within the text.
fn assert_within(text: &str, faults: &[Fault]) {
    assert!(!faults.is_empty());
    let lines: Vec<&str> = text.split('\n').collect();
    for fault in faults {
        assert!(fault.sentence().ends_with(['.', '?']), "{fault}");
        assert!(!fault.to_string().contains('\n'), "{fault}");
        if let Some((line, column)) = fault.at {
            assert!((1..=lines.len()).contains(&line), "{fault}");
            assert!((1..=lines[line - 1].chars().count() + 1).contains(&column), "{fault}");
        }
    }
}

#[test]
fn the_starter_loads_and_has_what_a_first_check_needs() {
    let project = parse(starter()).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert!((8..=14).contains(&project.frame.len()));
    assert_eq!(project.controls.len(), 2);
    // Stature and mass alone.
    assert_eq!(project.driver.measured.taken().count(), 2);
}

#[test]
fn what_the_starter_offers_in_comments_loads_as_well() {
    let measured = [
        "sitting_height_mm",
        "buttock_knee_mm",
        "knee_height_mm",
        "hip_breadth_sitting_mm",
        "arm_reach_mm",
        "foot_length_mm",
    ];
    let mut text = starter().to_owned();
    for field in measured.into_iter().chain(["limits", "bands"]) {
        let offered = format!("// {field}: ");
        assert_eq!(text.matches(&offered).count(), 1, "{field}");
        text = text.replace(&offered, &format!("{field}: "));
    }
    let project = parse(&text).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!(project.driver.measured.taken().count(), 2 + measured.len());
    assert!(project.driver.limits.ankle_dorsiflexion_deg.is_some());
    assert_eq!(project.bands.len(), 1);
}

#[test]
fn the_starter_tells_the_truth_about_the_two_gauge_lines() {
    // "FromHorizontal(52) and FromVertical(38) are the same back."
    assert!(starter().contains("FromHorizontal(52) and\n        // FromVertical(38) are the same back"));
    let (a, b) = (BackAngle::FromHorizontal(52.0), BackAngle::FromVertical(38.0));
    assert!((a.from_vertical_deg() - b.from_vertical_deg()).abs() < 1e-12);
}

#[test]
fn a_text_cut_anywhere_is_a_fault_and_never_a_panic() {
    for text in [starter(), RIG] {
        let end = text.rfind(')').unwrap();
        for cut in (0..text.len()).filter(|&cut| text.is_char_boundary(cut)) {
            match parse(&text[..cut]) {
                // Only line breaks are missing.
                Ok(_) => assert!(cut > end, "cut at {cut}"),
                Err(faults) => {
                    assert!(cut <= end, "cut at {cut}: {faults:?}");
                    assert_within(&text[..cut], &faults);
                }
            }
        }
    }
}

#[test]
fn a_cut_text_is_told_as_such() {
    // Wherever the cut falls, the fault is that of a bracket, text or comment without its end, or of an empty file.
    for cut in (0..RIG.rfind(')').unwrap()).filter(|&cut| RIG.is_char_boundary(cut)) {
        let faults = parse(&RIG[..cut]).unwrap_err();
        assert!(
            matches!(
                faults[0].kind,
                FaultKind::Unclosed { .. } | FaultKind::UnclosedText | FaultKind::UnclosedComment | FaultKind::Empty
            ),
            "cut at {cut}: {}",
            faults[0]
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn bytes_changed_at_random_never_panic(changes in vec((any::<prop::sample::Index>(), any::<u8>()), 1..12)) {
        let mut bytes = starter().as_bytes().to_vec();
        for (index, byte) in changes {
            let index = index.index(bytes.len());
            bytes[index] = byte;
        }
        let text = String::from_utf8_lossy(&bytes);
        if let Err(faults) = parse(&text) {
            assert_within(&text, &faults);
        }
    }

    #[test]
    fn signs_put_in_taken_out_and_swapped_never_panic(
        changes in vec((any::<prop::sample::Index>(), 0..4_usize, "[-()\\[\\]{},:\"'/*#.0-9a-zr ]{0,4}"), 1..6),
    ) {
        let mut letters: Vec<char> = RIG.chars().collect();
        for (index, taken, put) in changes {
            let at = index.index(letters.len());
            let end = (at + taken).min(letters.len());
            letters.splice(at..end, put.chars());
        }
        let text: String = letters.into_iter().collect();
        if let Err(faults) = parse(&text) {
            assert_within(&text, &faults);
        }
    }

    #[test]
    fn random_letters_never_panic(text in "[-()\\[\\]{},:\"'/*#.0-9a-zr\n é]{0,60}") {
        if let Err(faults) = parse(&text) {
            assert_within(&text, &faults);
        }
    }
}

#[test]
fn hostile_texts_are_answered_within_seconds() {
    const MEBIBYTE: usize = 1 << 20;
    let fill = |piece: &str| piece.repeat(MEBIBYTE / piece.len());
    let inside = |piece: &str| format!("(version: 1, title: {}", piece.repeat((MEBIBYTE - 30) / piece.len()));
    let rail = "(name:\"\",section_mm:(1,1),from_mm:(0,0,0),to_mm:(0,0,0)),";
    let rails = rail.repeat((MEBIBYTE - RIG.len()) / rail.len());
    for text in [
        "(".repeat(100_000),
        fill("("),
        fill("[(){"),
        fill(")"),
        fill("/*"),
        fill("//\n"),
        fill("\""),
        fill("r#\""),
        fill("r#######"),
        fill("'"),
        fill("\\"),
        fill("a:"),
        fill(","),
        fill("1"),
        fill("\n"),
        inside("("),
        inside("\"\\\""),
        inside("\n"),
        inside("//\n"),
        inside("/**/"),
        inside("1e"),
        inside("aé"),
        inside("a,"),
        // Fifteen thousand rails, each with faults of its own.
        RIG.replace("    frame: [\n", &format!("    frame: [\n{rails}")),
    ] {
        assert!(text.len() <= MEBIBYTE);
        let begun = Instant::now();
        let faults = parse(&text).unwrap_err();
        let took = begun.elapsed();
        assert!(took < Duration::from_secs(3), "{:?}… took {took:?}", &text[..30]);
        assert!(faults.len() < 5000, "{} faults", faults.len());
        assert!(faults.iter().all(|fault| fault.to_string().len() < 2000));
    }
}

// Files.

fn written(folder: &Folder, bytes: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.path("rig.ron");
    fs::write(&path, bytes).unwrap();
    path
}

/// The faults of a file that could be read.
fn faults_of(path: &std::path::Path) -> Vec<Fault> {
    match load(path) {
        Err(LoadError::Faults { faults, path: told }) => {
            assert_eq!(told, path);
            faults
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_file_gives_its_project_and_its_text() {
    let folder = Folder::new();
    let (project, text) = load(&written(&folder, RIG)).unwrap();
    assert_eq!(project, parse(RIG).unwrap());
    assert_eq!(text, RIG);
}

#[test]
fn a_byte_order_mark_is_skipped_and_line_ends_may_be_those_of_windows() {
    let folder = Folder::new();
    let windows = format!("\u{FEFF}{}", RIG.replace('\n', "\r\n"));
    let (project, text) = load(&written(&folder, &windows)).unwrap();
    assert_eq!(project, parse(RIG).unwrap());
    assert_eq!(text, windows[3..]);
    // Lines and columns are those that an editor shows.
    let faults = parse(&windows.replace("shell_mm: 8", "shell_mm: 80")).unwrap_err();
    assert_eq!(faults[0].at, Some((28, 19)));
}

#[test]
fn a_file_that_is_not_utf_8_is_told_with_its_first_such_byte() {
    let folder = Folder::new();
    // "Tést rig" in Latin-1. The lines before have 2 and 16 bytes, and 13 stand before it in its own.
    let mut bytes = RIG.as_bytes().to_vec();
    assert_eq!(bytes[31], b'e');
    bytes[31] = 0xE9;
    let path = written(&folder, bytes);
    let faults = faults_of(&path);
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].kind, FaultKind::NotUtf8 { byte: 31 });
    assert_eq!(faults[0].at, Some((3, 14)));
    assert_eq!(
        faults[0].sentence(),
        "Byte 31 is not UTF-8 text. Save the file as UTF-8; if it is no text at all, it is no project file."
    );
}

#[test]
fn a_file_with_zero_bytes_is_told() {
    let folder = Folder::new();
    let faults = faults_of(&written(&folder, [0; 100]));
    assert_eq!(faults[0].kind, FaultKind::ZeroByte { byte: 0 });
}

#[test]
fn a_file_of_ten_megabytes_is_refused_by_its_size() {
    let folder = Folder::new();
    let path = written(&folder, vec![b'('; 10_000_000]);
    let begun = Instant::now();
    let faults = faults_of(&path);
    assert!(begun.elapsed() < Duration::from_secs(1));
    assert_eq!(faults[0].kind, FaultKind::TooLarge { bytes: 10_000_000, limit: 1_048_576 });
    assert_eq!(
        faults[0].in_file("rig.ron"),
        "rig.ron  The file has 10000000 bytes; allowed are 1048576. Is it a project file?"
    );
}

#[test]
fn an_empty_file_is_told() {
    let folder = Folder::new();
    assert_eq!(faults_of(&written(&folder, ""))[0].kind, FaultKind::Empty);
}

#[test]
fn what_is_no_file_is_told() {
    let folder = Folder::new();
    assert!(matches!(load(&folder.path("")), Err(LoadError::NotAFile { .. })));
    let missing = load(&folder.path("none.ron")).unwrap_err();
    assert!(matches!(missing, LoadError::Missing { .. }));
    assert!(
        missing.to_string().ends_with("none.ron: there is no such file. Look at the spelling of its name and folder.")
    );
    // A file where a folder must be.
    let inside = written(&folder, RIG).join("rig.ron");
    assert!(matches!(load(&inside), Err(LoadError::Read { .. })));
    if cfg!(target_os = "linux") {
        // A device without end.
        assert!(matches!(load("/dev/zero".as_ref()), Err(LoadError::NotAFile { .. })));
    }
}

#[test]
fn faults_of_a_file_are_listed_one_a_line() {
    let folder = Folder::new();
    let path = written(&folder, RIG.replace("shell_mm: 8", "shell_mm: 80").replace("lock_deg: 540", "lock_deg: 2"));
    let name = path.display();
    assert_eq!(
        load(&path).unwrap_err().to_string(),
        format!(
            "{name}:28:19  seat.shell_mm is 80 mm; allowed 1 to 40 mm.\n\
             {name}:35:19  wheel.lock_deg is 2°; allowed 10 to 1080°. Typed in radians? Write 114.6."
        )
    );
}
