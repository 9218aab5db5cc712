//! `heelpoint measure [FILE]`: what to measure and how; a sheet of drawings to print.

use std::{io::Write, path::PathBuf};

use clap::Args;

use super::{Ending, read_driven, read_or_demo};
use crate::measuring::{Guide, sheet};

/// Say what to measure and how, or draw a sheet that shows where the tape goes.
#[derive(Debug, Args)]
pub(super) struct Measure {
    /// Project whose driver is drawn; without it, the demo's.
    file: Option<PathBuf>,
    /// Who is drawn, if it is not the first driver.
    #[arg(long, value_name = "NAME", requires = "file")]
    driver: Option<String>,
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
