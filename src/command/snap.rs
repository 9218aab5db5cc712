//! `heelpoint snap FILE`: free ends of rails are hung on the slots that they have come near to.

use std::path::PathBuf;

use clap::Args;

use super::{Ending, read};
use crate::{
    project::{Checked, Fit, Hung, Rail, RailEnd, save, snap_all},
    units::{System, Unit, typed},
};

/// Hang the free ends of rails on slots that they have come near to, and say which.
///
/// Comments and layout of the file stay. The exit status is 0, also where nothing was near; 2 for a bad file; 3 where it
/// can't be written.
#[derive(Debug, Args)]
pub(super) struct Snap {
    /// The project.
    file: PathBuf,
    /// How near to a slot an end must be: "20mm", "1 in".
    #[arg(long, value_name = "LENGTH", default_value = "20mm", value_parser = within)]
    within: f64,
    /// Write to this new file, and leave the project as it is.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Only say what would be hung.
    #[arg(long, conflicts_with = "output")]
    dry_run: bool,
}

/// How near at most, mm: further away there is always something.
const MOST: f64 = 100.0;

fn within(text: &str) -> Result<f64, String> {
    let value = typed::read(text, Unit::Millimetre, System::Metric).map_err(|unread| unread.to_string())?;
    if (0.0..=MOST).contains(&value) { Ok(value) } else { Err(format!("write a length from 0 to {MOST:.0} mm")) }
}

impl Snap {
    pub(super) fn run(self) -> Ending {
        let (project, text) = match read(&self.file) {
            Ok(read) => read,
            Err(ending) => return ending,
        };
        let mut snapped = project.into_inner();
        let before = snapped.frame.clone();
        let hung = snap_all(&mut snapped.frame, self.within);
        for one in &hung {
            say!("{}", words(one, &before[one.rail]));
        }
        let near = Unit::Millimetre.show(self.within);
        if hung.is_empty() {
            say!("No free end of a rail is within {near} of a slot.");
            return Ending::Good;
        }
        // What was hung is sound, or is told before it is written.
        if let Err(faults) = Checked::new(snapped.clone()) {
            for fault in faults {
                eprintln!("{}", fault.in_file(&self.file.display().to_string()));
            }
            return Ending::BadInput;
        }
        let ends = if hung.len() == 1 { "One end".to_owned() } else { format!("{} ends", hung.len()) };
        if self.dry_run {
            say!("{ends} would be hung; nothing is written.");
            return Ending::Good;
        }
        let path = self.output.as_ref().unwrap_or(&self.file);
        if self.output.is_some() && path.exists() {
            eprintln!("{} exists and is left as it is; give another name.", path.display());
            return Ending::BadInput;
        }
        match save(path, &snapped, Some(&text)) {
            Ok(saved) => {
                say!("{ends} hung. Wrote {}.", path.display());
                if let Some(former) = saved.former {
                    say!("Comments that lost their place stand in {}.", former.display());
                }
                Ending::Good
            }
            Err(error) => {
                eprintln!("{error}");
                Ending::Unable
            }
        }
    }
}

/// "left upright, where it begins: on top of left base, slot 1, 803.0 mm along; moved 5.1 mm, the whole rail with it".
fn words(hung: &Hung, rail: &Rail) -> String {
    let end = if hung.end == RailEnd::From { "begins" } else { "ends" };
    let lies = if hung.on.fit == Fit::Across { "across" } else { "against" };
    let slot = if hung.on.slot == 0 { String::new() } else { format!(", slot {}", hung.on.slot) };
    let fine = |mm: f64| Unit::FineMillimetre.show((10.0 * mm).round() / 10.0);
    let aside =
        if hung.on.sideways_mm == 0.0 { String::new() } else { format!(", {} aside", fine(hung.on.sideways_mm)) };
    let whole = if hung.as_a_whole && hung.moved_mm >= 0.05 { ", the other end with it" } else { "" };
    format!(
        "{}, where it {end}: {lies} the {} face of {}{slot}, {} along{aside}; moved {}{whole}",
        rail.name,
        hung.on.side.word(),
        hung.on.rail,
        fine(hung.on.along_mm),
        fine(hung.moved_mm),
    )
}
