//! Parts to begin with: templates that come with the program, and files of the same form of the user's own.

use std::{
    path::{Path, PathBuf},
    sync::OnceLock,
};

use ron::extensions::Extensions;
use serde::Deserialize;

use super::{Control, PedalSet, Project, Rim, ScreenStand, Screens, Seat, WheelUnit};

/// A part that can be put into a project.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Template {
    /// What it is.
    pub title: String,
    /// The part.
    pub part: TemplatePart,
}

/// Which part a template replaces, with its values.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub enum TemplatePart {
    /// The seat, with a place and angles to begin with.
    Seat(Box<Seat>),
    /// The outline of the wheel.
    Rim(Rim),
    /// The wheel unit.
    WheelUnit(WheelUnit),
    /// The pedal set.
    Pedals(PedalSet),
    /// Screens with their stand; they stand at the place and height that the project's own had.
    Screens(Screens),
    /// What holds the screens; where there are none, a usual one comes with it.
    ScreenStand(ScreenStand),
    /// Controls, put in beside those that are there; one of the same name is replaced.
    Controls(Vec<Control>),
}

impl TemplatePart {
    /// "seat", "rim", …
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Seat(_) => "seat",
            Self::Rim(_) => "rim",
            Self::WheelUnit(_) => "wheel unit",
            Self::Pedals(_) => "pedal set",
            Self::Screens(_) => "screens",
            Self::ScreenStand(_) => "stand",
            Self::Controls(_) => "controls",
        }
    }

    /// Into a project, in the place of the one that is there.
    fn put_into(self, project: &mut Project) {
        match self {
            Self::Seat(seat) => project.seat = *seat,
            Self::Rim(rim) => project.wheel.rim = rim,
            Self::WheelUnit(unit) => project.wheel_unit = unit,
            Self::Pedals(pedals) => project.pedals = pedals,
            Self::Screens(mut screens) => {
                if let Some(old) = &project.screens {
                    (screens.place, screens.height_mm) = (old.place, old.height_mm);
                    screens.stand.clone_from(&old.stand);
                    screens.stand_kg = old.stand_kg;
                }
                project.screens = Some(screens);
            }
            Self::ScreenStand(stand) => {
                let screens = project.screens.get_or_insert_with(Screens::usual);
                (screens.stand, screens.stand_kg) = (stand, None);
            }
            Self::Controls(controls) => {
                project.controls.retain(|old| controls.iter().all(|new| new.name != old.name));
                project.controls.extend(controls);
            }
        }
    }
}

/// Why a template could not be taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TemplateError {
    /// Neither a name of the list nor a file.
    #[error("there is no part {name}{} and no file of that name. `heelpoint new --list` prints the parts.", near.as_ref().map_or_else(String::new, |near| format!(" (did you mean {near}?)")))]
    Unknown {
        /// What was asked for.
        name: String,
        /// A part whose name is like it.
        near: Option<&'static str>,
    },
    /// A file that could not be read.
    #[error("{}: cannot be read: {why}. Look at who may read it.", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// A file that is no part.
    #[error("{}:{line}:{column}  {why}. Write it like one of the parts in `assets/parts`: (title: \"…\", part: Seat(…)).", path.display())]
    Malformed {
        /// The file.
        path: PathBuf,
        /// Where.
        line: usize,
        /// Where in the line.
        column: usize,
        /// What is wrong.
        why: String,
    },
}

macro_rules! templates {
    ($($name:literal)*) => {
        /// Name and text of every template that comes with the program.
        pub const TEMPLATES: &[(&str, &str)] =
            &[$(($name, include_str!(concat!("../../assets/parts/", $name, ".ron")))),*];
    };
}

templates! {
    "narrow_shell" "medium_shell" "wide_shell" "open_sided_shell" "reclining_road_seat" "formula_shell"
    "round_320" "flat_bottomed_300" "open_topped_285" "formula_270"
    "front_mounted_unit" "side_mounted_unit"
    "two_floor_hinged" "three_floor_hinged" "three_top_hung" "three_inverted" "formula_pedals"
    "single_screen" "triple_screens" "ultrawide_screen" "screen_stand"
    "sequential_shifter" "gate_shifter" "handbrake" "button_panel"
}

/// Bytes that a file of a part may have.
const LIMIT: u64 = 1 << 16;

impl Template {
    /// Every part that comes with the program, with what its text says of it; read once.
    pub fn known() -> &'static [(Self, String)] {
        static LIST: OnceLock<Vec<(Template, String)>> = OnceLock::new();
        LIST.get_or_init(|| {
            let read =
                |&(name, text): &(&str, &str)| Some((Self::parse(text, Path::new(name)).ok()?, Self::about(text)));
            TEMPLATES.iter().filter_map(read).collect()
        })
    }

    /// The one that was put into a project, and nothing else was changed.
    pub fn put_between(before: &Project, after: &Project) -> Option<&'static Self> {
        let mut all = Self::known().iter().map(|(template, _)| template);
        all.find(|template| {
            let mut with = before.clone();
            template.part.clone().put_into(&mut with);
            with == *after && with != *before
        })
    }

    /// The template of this name, or the one in the file of this name.
    ///
    /// # Errors
    /// If there is neither, or the file cannot be read or holds no part.
    pub fn find(name: &str) -> Result<Self, TemplateError> {
        if let Some((_, text)) = TEMPLATES.iter().find(|(known, _)| *known == name) {
            return Self::parse(text, Path::new(name));
        }
        let path = Path::new(name);
        if !path.is_file() {
            let known: Vec<&'static str> = TEMPLATES.iter().map(|(known, _)| *known).collect();
            return Err(TemplateError::Unknown { name: name.to_owned(), near: super::fault::near(name, &known) });
        }
        let unreadable = |why: String| TemplateError::Unreadable { path: path.to_owned(), why };
        let length = path.metadata().map_err(|error| unreadable(error.to_string()))?.len();
        if length > LIMIT {
            return Err(unreadable(format!("it has {length} bytes, more than a part needs")));
        }
        let text = std::fs::read_to_string(path).map_err(|error| unreadable(error.to_string()))?;
        Self::parse(&text, path)
    }

    /// The template in a text; `path` is what an error calls it.
    ///
    /// # Errors
    /// If the text holds no part.
    pub fn parse(text: &str, path: &Path) -> Result<Self, TemplateError> {
        let extensions = Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES;
        ron::Options::default().with_default_extension(extensions).from_str(text).map_err(|error| {
            let (line, column) = (error.span.start.line, error.span.start.col);
            TemplateError::Malformed { path: path.to_owned(), line, column, why: error.code.to_string() }
        })
    }

    /// What a template's text says of it in its first line, without the rest of the sentences about its sizes.
    pub fn about(text: &str) -> String {
        let first = text.lines().next().and_then(|line| line.strip_prefix("//")).unwrap_or_default().trim();
        let said = first.split_inclusive(". ").take_while(|sentence| !sentence.starts_with("Invented"));
        said.collect::<String>().trim().to_owned()
    }

    /// Puts the part into a project, in the place of the one that is there.
    pub fn put_into(self, project: &mut Project) {
        self.part.put_into(project);
    }
}
