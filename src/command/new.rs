//! `heelpoint new FILE`: a starter project, with parts to begin with.

use std::path::PathBuf;

use clap::Args;

use super::Ending;
use crate::project::{Checked, TEMPLATES, Template, merge, parse, starter, to_text};

/// Write a starter project with comments that say what to measure.
#[derive(Debug, Args)]
pub(super) struct New {
    /// Where to write it; an existing file is left alone.
    #[arg(default_value = "my_rig.ron")]
    file: PathBuf,
    /// Begin with this part: a name that --list prints, or a file of the same form. May be given several times.
    #[arg(long, value_name = "PART")]
    with: Vec<String>,
    /// Print the parts to begin with, and write nothing.
    #[arg(long)]
    list: bool,
}

impl New {
    pub(super) fn run(self) -> Ending {
        use std::io::Write;
        if self.list {
            return list();
        }
        let text = match begun_with(&self.with) {
            Ok(text) => text,
            Err(why) => {
                eprintln!("{why}");
                return Ending::BadInput;
            }
        };
        // Created only if it does not exist: nothing of the user's is overwritten.
        let written = std::fs::File::options()
            .write(true)
            .create_new(true)
            .open(&self.file)
            .and_then(|mut file| file.write_all(text.as_bytes()));
        match written {
            Ok(()) => {
                say!("Wrote {}. Fill in your measurements, then: heelpoint check {0}", self.file.display());
                Ending::Good
            }
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
                eprintln!("{} exists and is left as it is; give another name.", self.file.display());
                Ending::BadInput
            }
            Err(error) => {
                eprintln!("{} cannot be written: {error}", self.file.display());
                Ending::Unable
            }
        }
    }
}

fn list() -> Ending {
    for (name, _) in TEMPLATES {
        match Template::find(name) {
            Ok(template) => say!("{:<10} {name:<22} {}", template.part.word(), template.title),
            Err(error) => {
                eprintln!("{error}");
                return Ending::BadInput;
            }
        }
    }
    Ending::Good
}

/// The starter's text with parts put in; its comments stay where they still belong to something.
fn begun_with(parts: &[String]) -> Result<String, String> {
    if parts.is_empty() {
        return Ok(starter().to_owned());
    }
    let faults = |faults: Vec<crate::project::Fault>| {
        faults.iter().map(|fault| fault.in_file("the project with these parts")).collect::<Vec<_>>().join("\n")
    };
    let mut project = parse(starter()).map_err(faults)?.into_inner();
    for name in parts {
        Template::find(name).map_err(|error| error.to_string())?.put_into(&mut project);
    }
    let project = Checked::new(project).map_err(faults)?;
    Ok(merge(starter(), &project).unwrap_or_else(|| to_text(&project)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_project_begun_with_parts_has_them_and_keeps_the_starters_comments() {
        let parts = ["narrow_shell", "flat_bottomed_300", "handbrake"].map(str::to_owned);
        let text = begun_with(&parts).unwrap();
        let project = parse(&text).unwrap();
        assert!((project.seat.cushion.width_mm - 340.0).abs() < 1e-9);
        assert!(matches!(project.wheel.rim, crate::project::Rim::FlatBottomed { .. }));
        assert!(project.controls.iter().any(|control| control.name == "Handbrake lever"));
        assert!(text.contains("MEASURE"), "the comments stay");
        let error = begun_with(&["narow_shell".to_owned()]).unwrap_err();
        assert!(error.contains("did you mean narrow_shell?") && error.contains("--list"), "{error}");
    }
}
