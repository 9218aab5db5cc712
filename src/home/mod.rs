//! What the program keeps for its user between two starts (settings, files opened lately, work not saved yet), and the
//! demos that it brings along.

mod demo;
mod settings;
mod unsaved;

use std::{
    fs::{self, OpenOptions},
    io::{self, Write},
    path::{Path, PathBuf},
};

pub use demo::{DEMOS, Demo};
pub use settings::{Settings, TextSize};
pub use unsaved::{Keep, Left, Unsaved, left_over};

/// The folders in which the program keeps things.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Places {
    /// For what the user has chosen.
    pub config: PathBuf,
    /// For what is in work.
    pub state: PathBuf,
}

impl Places {
    /// Both in one folder.
    pub fn in_one(folder: &Path) -> Self {
        Self { config: folder.to_owned(), state: folder.to_owned() }
    }

    /// Where the system wants them, or where `HEELPOINT_HOME` says; `None` where this user has no home.
    #[cfg(feature = "viewer")]
    pub fn found() -> Option<Self> {
        if let Some(folder) = std::env::var_os("HEELPOINT_HOME").filter(|folder| !folder.is_empty()) {
            return Some(Self::in_one(Path::new(&folder)));
        }
        let folders = directories::ProjectDirs::from("", "", "heelpoint")?;
        let state = folders.state_dir().unwrap_or_else(|| folders.data_local_dir());
        Some(Self { config: folders.config_dir().to_owned(), state: state.to_owned() })
    }

    /// The file of the settings.
    pub fn settings(&self) -> PathBuf {
        self.config.join("settings.ron")
    }

    /// The folder of work that is not saved yet.
    pub fn unsaved(&self) -> PathBuf {
        self.state.join("unsaved")
    }
}

/// Writes a file of the program's own, whole or not at all, and makes its folder.
fn write(path: &Path, text: &str) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    let part = path.with_extension(format!("{}.part", std::process::id()));
    let written = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(true)
        .open(&part)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&part, path));
    if written.is_err() {
        // Half a file is none; that it cannot be removed is the smaller trouble.
        let _ = fs::remove_file(&part);
    }
    written
}
