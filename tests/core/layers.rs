//! Data walks forward: no module of the core uses one that comes after it, and none knows the window's engine.

use std::{fs, path::Path};

/// The order in which data walks; `words`, `units` and `watch` may be used by all.
const ORDER: [&str; 19] = [
    "words",
    "units",
    "watch",
    "geometry",
    "project",
    "body",
    "rig",
    "posture",
    "effort",
    "measuring",
    "clearance",
    "reach",
    "findings",
    "frame",
    "study",
    "principal",
    "compare",
    "curves",
    "uncertainty",
];
/// Types that walk with the data: bodies and rigs are asked for a moment of the motion, findings and reach for what was
/// solved.
const ALLOWED: [(&str, &str); 4] = [("body", "posture"), ("rig", "posture"), ("findings", "study"), ("reach", "study")];

#[test]
fn no_module_of_the_core_uses_a_later_one_or_the_engine() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut seen = 0;
    for (place, module) in ORDER.iter().enumerate() {
        for file in sources(&root.join(module), &root.join(format!("{module}.rs"))) {
            let text = fs::read_to_string(&file).expect("sources can be read");
            seen += 1;
            assert!(!text.contains("bevy") && !text.contains("egui"), "{} knows the engine", file.display());
            for later in &ORDER[place + 1..] {
                if ALLOWED.contains(&(module, later)) || ["words", "units", "watch"].contains(module) {
                    continue;
                }
                let used = text.contains(&format!("crate::{later}"))
                    || text.lines().any(|line| line.trim_start().starts_with(&format!("{later}::")));
                assert!(!used, "{} uses {later}, which comes after {module}", file.display());
            }
        }
    }
    assert!(seen > 25, "the sources were found");
}

fn sources(folder: &Path, single: &Path) -> Vec<std::path::PathBuf> {
    let mut out: Vec<_> = single.exists().then(|| single.to_owned()).into_iter().collect();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                out.push(path);
            }
        }
    }
    out
}
