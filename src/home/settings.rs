//! What the user has chosen once and for all: theme, units, size of text, files opened lately.

use std::{
    fs,
    io::{self, Read},
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::{Places, write};
use crate::units::System;

/// How large everything is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum TextSize {
    /// As designed.
    #[default]
    Normal,
    /// An eighth larger.
    Large,
    /// A quarter larger.
    Larger,
}

impl TextSize {
    /// All of them, the smallest first.
    pub const ALL: [Self; 3] = [Self::Normal, Self::Large, Self::Larger];

    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Normal => "Normal",
            Self::Large => "Large",
            Self::Larger => "Larger",
        }
    }

    /// How many times the designed size.
    pub const fn factor(self) -> f32 {
        match self {
            Self::Normal => 1.0,
            Self::Large => 1.125,
            Self::Larger => 1.25,
        }
    }
}

/// What stands in `settings.ron`. What a file leaves out is as at the first start.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Light lines on graphite instead of dark ones on paper.
    pub dark: bool,
    /// In which units lengths are shown and typed.
    pub units: System,
    /// How large everything is drawn.
    pub text: TextSize,
    /// Files opened or saved lately, the last one first.
    pub recent: Vec<PathBuf>,
}

impl Settings {
    /// How many files are remembered.
    pub const RECENT: usize = 10;
    /// No settings file is longer.
    const LIMIT: u64 = 1 << 20;

    /// Reads the settings; those of the first start where there are none. A file that cannot be read is put aside
    /// under another name, and a sentence says so.
    pub fn read(places: &Places) -> (Self, Option<String>) {
        let path = places.settings();
        let text = match Self::text(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return (Self::default(), None),
            Err(error) => return (Self::default(), Some(put_aside(&path, &error.to_string()))),
        };
        match ron::from_str(&text) {
            Ok(settings) => (settings, None),
            Err(error) => (Self::default(), Some(put_aside(&path, &error.to_string()))),
        }
    }

    fn text(path: &Path) -> io::Result<String> {
        if !path.metadata()?.is_file() {
            return Err(io::Error::other("not a file"));
        }
        let mut text = String::new();
        fs::File::open(path)?.take(Self::LIMIT).read_to_string(&mut text)?;
        Ok(text)
    }

    /// Writes the settings.
    ///
    /// # Errors
    /// If the file cannot be written; what stood there stays.
    pub fn write(&self, places: &Places) -> io::Result<()> {
        let text = ron::ser::to_string_pretty(self, ron::ser::PrettyConfig::default()).map_err(io::Error::other)?;
        write(&places.settings(), &(text + "\n"))
    }

    /// Puts a file at the head of those opened lately. Another window may have opened one meanwhile: those that
    /// stand in the settings file now are kept behind it.
    pub fn remember(&mut self, file: &Path, places: Option<&Places>) {
        let file = std::path::absolute(file).unwrap_or_else(|_| file.to_owned());
        let others = places.and_then(|places| Self::text(&places.settings()).ok());
        let others = others.and_then(|text| ron::from_str::<Self>(&text).ok()).map_or_else(Vec::new, |now| now.recent);
        let mut recent = vec![file];
        for other in self.recent.drain(..).chain(others) {
            if !recent.contains(&other) {
                recent.push(other);
            }
        }
        recent.truncate(Self::RECENT);
        self.recent = recent;
    }
}

/// Renames a file that cannot be read; says so.
fn put_aside(path: &Path, why: &str) -> String {
    let aside = path.with_extension("ron.broken");
    match fs::rename(path, &aside) {
        Ok(()) => format!(
            "Your settings could not be read ({why}). They were put aside as {}, and the usual ones are in use.",
            aside.display()
        ),
        Err(error) => format!(
            "Your settings in {} could not be read ({why}), nor put aside ({error}). The usual ones are in use.",
            path.display()
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn home(name: &str) -> (PathBuf, Places) {
        let folder = std::env::temp_dir().join(format!("heelpoint-settings-{}-{name}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        (folder.clone(), Places::in_one(&folder.join("not yet there")))
    }

    #[test]
    fn what_was_chosen_is_there_at_the_next_start() {
        let (folder, places) = home("kept");
        assert_eq!(Settings::read(&places), (Settings::default(), None));
        let mut chosen = Settings { dark: true, units: System::Inch, text: TextSize::Larger, recent: Vec::new() };
        chosen.remember(Path::new("/rigs/evening “rig”.ron"), Some(&places));
        chosen.write(&places).unwrap();
        assert_eq!(Settings::read(&places), (chosen, None));
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_broken_file_is_put_aside_and_told() {
        let (folder, places) = home("broken");
        fs::create_dir_all(&places.config).unwrap();
        for broken in [&b"(dark: maybe"[..], b"\xff\xfe\x00", b"(text: Huge)", b""] {
            fs::write(places.settings(), broken).unwrap();
            let (settings, told) = Settings::read(&places);
            assert_eq!(settings, Settings::default());
            assert!(told.is_some_and(|told| told.contains("settings.ron.broken")));
            assert_eq!(fs::read(places.config.join("settings.ron.broken")).unwrap(), broken);
            assert!(!places.settings().exists());
        }
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_file_of_another_version_keeps_what_is_known() {
        let (folder, places) = home("other");
        fs::create_dir_all(&places.config).unwrap();
        fs::write(places.settings(), "(dark: true, colour_of_the_sky: \"blue\")").unwrap();
        let (settings, told) = Settings::read(&places);
        assert!(settings.dark && told.is_none(), "{told:?}");
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn ten_files_are_remembered_each_once_and_two_windows_keep_each_other_s() {
        let (folder, places) = home("recent");
        let mut one = Settings::default();
        for number in 0..12 {
            one.remember(Path::new(&format!("/{number}.ron")), Some(&places));
        }
        one.remember(Path::new("/5.ron"), Some(&places));
        assert_eq!(one.recent.len(), Settings::RECENT);
        assert_eq!(one.recent[..2], [PathBuf::from("/5.ron"), PathBuf::from("/11.ron")]);
        assert_eq!(one.recent.iter().filter(|path| path.ends_with("5.ron")).count(), 1);

        let mut other = Settings::default();
        other.remember(Path::new("/mine.ron"), Some(&places));
        other.write(&places).unwrap();
        one.recent.truncate(3);
        one.remember(Path::new("/yours.ron"), Some(&places));
        assert!(one.recent.contains(&PathBuf::from("/mine.ron")), "{:?}", one.recent);
        fs::remove_dir_all(folder).unwrap();
    }
}
