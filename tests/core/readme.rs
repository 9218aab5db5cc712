//! What the README shows of the program is what the program prints.
//!
//! A block ```` ```console ```` begins with `$ heelpoint …`, run from the project's folder; below it stands what is
//! printed, with a line `…` for lines left out.

use std::{path::Path, process::Command};

const README: &str = include_str!("../../README.md");

/// What the program prints, run from a folder.
fn printed(folder: &Path, arguments: &[&str]) -> Vec<String> {
    let ran = Command::new(env!("CARGO_BIN_EXE_heelpoint")).args(arguments).current_dir(folder).output().unwrap();
    let both = [ran.stdout, ran.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
    both.lines().map(|line| line.trim_end().to_owned()).collect()
}

/// The blocks of the README in `console`, without their indent.
fn blocks() -> Vec<Vec<&'static str>> {
    let mut blocks = Vec::new();
    let mut lines = README.lines();
    while let Some(line) = lines.next() {
        let Some(indent) = line.strip_suffix("```console") else { continue };
        let inside = lines.by_ref().map(|line| line.strip_prefix(indent).unwrap_or(line).trim_end());
        blocks.push(inside.take_while(|line| *line != "```").collect());
    }
    blocks
}

/// The first shown line that is not printed where it is shown; without a line `…` at its ends the block begins and ends
/// where the output does.
fn parting<'a>(shown: &[&'a str], printed: &[String]) -> Option<&'a str> {
    let stands = |part: &[&str], from: usize| {
        printed.get(from..from + part.len()).is_some_and(|lines| lines.iter().zip(part).all(|(line, one)| line == one))
    };
    let parts: Vec<&[&str]> = shown.split(|line| *line == "…").collect();
    let mut at = 0;
    for (index, part) in parts.iter().enumerate().filter(|(_, part)| !part.is_empty()) {
        let mut places: Vec<usize> = (at..printed.len()).filter(|from| stands(part, *from)).collect();
        if index == 0 {
            places.retain(|from| *from == 0);
        }
        if index + 1 == parts.len() {
            places.retain(|from| from + part.len() == printed.len());
        }
        let Some(place) = places.first() else {
            let unknown = part.iter().find(|line| !printed[at..].iter().any(|printed| printed == *line));
            return unknown.or(part.first()).copied();
        };
        at = place + part.len();
    }
    None
}

#[test]
fn lines_that_differ_are_found() {
    let printed = ["a", "b", "c", "d"].map(str::to_owned);
    for sound in [&["a", "b", "c", "d"][..], &["…", "b", "…"], &["a", "…", "c", "d"], &["…", "a", "…", "d", "…"]]
    {
        assert_eq!(parting(sound, &printed), None, "{sound:?}");
    }
    for (wrong, first) in [
        (&["a", "x", "c", "d"][..], "x"),
        (&["b", "…"], "b"),
        (&["…", "b"], "b"),
        (&["…", "c", "…", "b", "…"], "b"),
        (&["…", "a", "c", "…"], "a"),
        (&["a", "b", "c"], "a"),
        (&["…", "a", "b", "c", "d", "e"], "e"),
    ] {
        assert_eq!(parting(wrong, &printed), Some(first), "{wrong:?}");
    }
}

#[test]
fn the_readme_shows_what_is_printed() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let blocks = blocks();
    assert!(blocks.len() >= 6, "{blocks:?}");
    for block in blocks {
        let command = block[0].strip_prefix("$ heelpoint ").expect("a block of the console begins with a command");
        let arguments: Vec<&str> = command.split_whitespace().collect();
        let printed = printed(folder, &arguments);
        if let Some(line) = parting(&block[1..], &printed) {
            panic!(
                "`heelpoint {command}` does not print, where the README has it:\n{line}\n\nIt prints:\n{}",
                printed.join("\n")
            );
        }
    }
}

/// The starter file with a cushion typed in metres.
#[test]
fn the_readmes_slip_is_answered_as_it_says() {
    let folder = std::env::temp_dir().join(format!("heelpoint-readme-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let text = heelpoint::project::starter().replacen("length_mm: 460", "length_mm: 0.48", 1);
    std::fs::write(folder.join("my_rig.ron"), text).unwrap();
    let answer = printed(&folder, &["check", "my_rig.ron"]);
    std::fs::remove_dir_all(folder).unwrap();
    let shown = README.lines().map(str::trim).find(|line| line.starts_with("my_rig.ron:")).unwrap();
    assert!(answer.iter().any(|line| line == shown), "{shown}\n{}", answer.join("\n"));
}
