//! `heelpoint measure [FILE]`: what to measure and how; a sheet of drawings to print.

use std::{io::Write, path::PathBuf};

use clap::Args;

use super::{Ending, read_driven, read_or_demo, wrapped};
use crate::{
    measuring::{Guide, RigGuide, sheet},
    project::{Page, Project},
};

/// Say what to measure and how, or draw a sheet that shows where the tape goes.
#[derive(Debug, Args)]
pub(super) struct Measure {
    /// Project whose driver is drawn; without it, the demo's.
    file: Option<PathBuf>,
    /// Who is drawn, if it is not the first driver.
    #[arg(long, value_name = "NAME", requires = "file")]
    driver: Option<String>,
    /// Say what to measure on the rig, and what of it still reads as in the starter file.
    #[arg(long, conflicts_with = "output")]
    rig: bool,
    /// Write the drawings as an SVG page of A4, to print and fill in.
    #[arg(short, long, value_name = "SHEET.svg")]
    output: Option<PathBuf>,
}

impl Measure {
    pub(super) fn run(self) -> Ending {
        let project = match &self.file {
            Some(file) => read_driven(file, self.driver.as_deref()),
            None => read_or_demo(None).map(|(project, _)| project),
        };
        let project = match project {
            Ok(project) => project,
            Err(ending) => return ending,
        };
        if self.rig {
            tell_of_rig(&project, self.file.is_some());
            return Ending::Good;
        }
        let Some(output) = self.output else {
            tell();
            return Ending::Good;
        };
        let svg = sheet(&project.driver);
        match std::fs::File::create(&output).and_then(|mut file| file.write_all(svg.as_bytes())) {
            Ok(()) => {
                say!("Wrote {}", output.display());
                Ending::Good
            }
            Err(error) => {
                eprintln!("{} cannot be written: {error}", output.display());
                Ending::Unable
            }
        }
    }
}

/// Prints every guide.
fn tell() {
    say!("With a helper, a wall and a tape; barefoot, in thin clothes. Any subset helps; take each twice.\n");
    for guide in Guide::all() {
        let (label, unit, error) = guide.label();
        say!("{label} (± {} at home): {}", unit.show(error), guide.field);
        say!("  {}", guide.standard());
        say!("  {}", guide.definition);
        say!("  {}\n", guide.how);
    }
}

/// Prints what to measure on the rig, topic by topic; `·` before what is still as in the starter.
fn tell_of_rig(project: &Project, is_own: bool) {
    say!(
        "With tape, straight edge, calliper and an angle gauge; from the rear face of the frame, its middle and the floor."
    );
    for page in Page::ALL {
        let rows = RigGuide::of(page, project);
        if !rows.is_empty() {
            say!("\n{}", page.title());
        } else if page == Page::Screens {
            say!("\n{}\n  The project has no screens.", page.title());
        }
        for (row, untouched) in rows {
            let missing = if untouched && is_own { "   still as in the starter" } else { "" };
            say!("{} {}{missing}", if untouched { '·' } else { '✓' }, row.what);
            for text in wrapped(&row.how, 96) {
                say!("    {text}");
            }
        }
    }
}
