//! `heelpoint new FILE`: a starter project.

use std::path::PathBuf;

use clap::Args;

use super::Ending;
use crate::project::starter;

/// Write a starter project with comments that say what to measure.
#[derive(Debug, Args)]
pub(super) struct New {
    /// Where to write it; an existing file is left alone.
    #[arg(default_value = "my_rig.ron")]
    file: PathBuf,
}

impl New {
    pub(super) fn run(self) -> Ending {
        use std::io::Write;
        // Created only if it does not exist: nothing of the user's is overwritten.
        let written = std::fs::File::options()
            .write(true)
            .create_new(true)
            .open(&self.file)
            .and_then(|mut file| file.write_all(starter().as_bytes()));
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
