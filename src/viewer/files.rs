//! Open, save, save as, and the question before something would be lost.

use std::{
    path::{Path, PathBuf},
    sync::{
        Mutex,
        mpsc::{Receiver, channel},
    },
    time::{Duration, Instant},
};

use bevy::{
    app::AppExit,
    prelude::*,
    window::{PrimaryWindow, WindowCloseRequested},
};

use super::{
    camera::View,
    edit::Document,
    panels::Desk,
    scene::Shown,
    solve::{Solver, Wake},
};
use crate::{
    posture::Moment,
    project::{self, Checked, Fault, LoadError},
};

/// A file command from a button or a key.
#[derive(Clone, Copy, Debug, Message, PartialEq, Eq)]
pub enum FileCommand {
    /// Open another project.
    Open,
    /// Save to the file that it came from, or ask where.
    Save,
    /// Ask where, and save there.
    SaveAs,
    /// Ask for a path that something else waits for: it comes as [`Chosen`].
    Ask(Purpose),
}

/// A path that was asked for with [`FileCommand::Ask`].
#[derive(Clone, Debug, Message)]
pub struct Chosen {
    /// What for.
    pub purpose: Purpose,
    /// Which.
    pub path: PathBuf,
}

/// What a path is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// To read from.
    Open,
    /// To write to.
    Save,
    /// To compare with.
    Compare,
    /// A part's shape, for the part that stands at this place of [`crate::project::StandsFor::ALL`].
    Shape(usize),
    /// A part to begin with.
    Template,
    /// A folder for lists of the frame.
    Lists,
}

impl Purpose {
    /// Title of the question, what its button says, and which path is to be typed.
    pub const fn words(self) -> [&'static str; 3] {
        match self {
            Self::Open => ["Open a project", "Open", "The path of the file, ending in .ron"],
            Self::Save => ["Save the project", "Save", "The path of the file, ending in .ron"],
            Self::Compare => ["Compare with a project", "Compare", "The path of the file, ending in .ron"],
            Self::Shape(_) => {
                ["Bring a part from a file", "Bring", "The path of an STL, OBJ or glTF file (.stl, .obj, .gltf, .glb)"]
            }
            Self::Template => ["Begin with a part of your own", "Take", "The path of a part's file, ending in .ron"],
            Self::Lists => ["Write the lists as CSV", "Write", "The path of a folder; it is made where it is missing"],
        }
    }
}

/// What was about to happen when a question came up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Then {
    /// Another project opens.
    Open,
    /// The window closes.
    Close,
}

/// A question to the user.
#[derive(Debug)]
pub enum Question {
    /// Changes would be lost.
    Unsaved(Then),
    /// Which file; the system's own dialog may answer first.
    Path {
        /// What for.
        purpose: Purpose,
        /// What is typed so far.
        typed: String,
        /// What happens once it is saved.
        then: Option<Then>,
    },
    /// Something went wrong, or is worth knowing.
    Note {
        /// The heading.
        title: String,
        /// One line a fact.
        lines: Vec<String>,
    },
}

/// The answer to a question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Save first.
    Save,
    /// Lose the changes.
    Discard,
    /// This file.
    Path(PathBuf),
    /// Leave everything as it is.
    Cancel,
}

/// The open question and the system's dialog.
#[derive(Resource)]
pub struct Files {
    /// What is being asked.
    pub question: Option<Question>,
    /// What has been answered, taken up by [`answer`].
    pub answer: Option<Answer>,
    portal: Option<Portal>,
    wake: Wake,
}

struct Portal {
    chosen: Mutex<Receiver<Option<PathBuf>>>,
    asked: Instant,
}

impl Files {
    /// Without a question.
    pub const fn new(wake: Wake) -> Self {
        Self { question: None, answer: None, portal: None, wake }
    }

    fn ask_path(&mut self, purpose: Purpose, document: &Document, then: Option<Then>) {
        let here = document.path.clone();
        let name = here
            .as_deref()
            .and_then(Path::file_name)
            .map_or_else(|| file_name(&document.good().title), |name| name.to_string_lossy().into_owned());
        let folder = || here.as_deref().and_then(Path::parent).map(|path| path.to_string_lossy().into_owned());
        let typed = match purpose {
            Purpose::Open => here.as_deref().map(|path| path.to_string_lossy().into_owned()).unwrap_or_default(),
            Purpose::Save => here.as_deref().map_or_else(|| name.clone(), |path| path.to_string_lossy().into_owned()),
            Purpose::Compare | Purpose::Shape(_) | Purpose::Template => folder()
                .filter(|folder| !folder.is_empty())
                .map_or_else(String::new, |folder| folder + std::path::MAIN_SEPARATOR_STR),
            Purpose::Lists => folder().unwrap_or_default(),
        };
        self.question = Some(Question::Path { purpose, typed, then });

        let (outbox, chosen) = channel();
        let wake = self.wake.clone();
        let folder = here.as_deref().and_then(Path::parent).map(Path::to_owned);
        let ask = move || {
            let (kind, endings): (_, &[&str]) = match purpose {
                Purpose::Shape(_) => ("Shape", &["stl", "obj", "gltf", "glb"]),
                Purpose::Template => ("Part", &["ron"]),
                _ => ("Heelpoint project", &["ron"]),
            };
            let mut dialog = rfd::FileDialog::new().add_filter(kind, endings);
            if let Some(folder) = folder.filter(|folder| folder.is_dir()) {
                dialog = dialog.set_directory(folder);
            }
            let chosen = match purpose {
                Purpose::Open => dialog.set_title("Open project").pick_file(),
                Purpose::Save => dialog.set_title("Save project as").set_file_name(name).save_file(),
                Purpose::Lists => dialog.set_title(purpose.words()[0]).pick_folder(),
                Purpose::Compare | Purpose::Shape(_) | Purpose::Template => {
                    dialog.set_title(purpose.words()[0]).pick_file()
                }
            };
            // Nobody may be waiting any more: the path was typed.
            outbox.send(chosen).ok();
            wake();
        };
        // Without a thread the path can still be typed.
        if std::thread::Builder::new().name("file dialog".to_owned()).spawn(ask).is_ok() {
            self.portal = Some(Portal { chosen: chosen.into(), asked: Instant::now() });
        }
    }

    /// The system's dialog as an answer. One that ends at once without a choice is not there at all: then the path
    /// is typed.
    fn hear_portal(&mut self) {
        let Some(portal) = &self.portal else { return };
        let Ok(chosen) = portal.chosen.lock().map(|chosen| chosen.try_recv()) else { return };
        let Ok(chosen) = chosen else { return };
        let opened = portal.asked.elapsed() > Duration::from_millis(1200);
        self.portal = None;
        match chosen {
            Some(path) => self.answer = Some(Answer::Path(path)),
            None if opened => self.answer = Some(Answer::Cancel),
            None => {}
        }
    }

    /// True while the system's dialog may still answer.
    pub const fn portal_is_open(&self) -> bool {
        self.portal.is_some()
    }

    /// Says what went wrong, or what is worth knowing.
    pub fn note(&mut self, title: &str, lines: Vec<String>) {
        self.question = Some(Question::Note { title: title.to_owned(), lines });
    }
}

/// A file's name from a project's: "My rig, 2nd try" → `my-rig-2nd-try.ron`.
fn file_name(title: &str) -> String {
    let lower = title.to_lowercase();
    let words: Vec<_> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    if words.is_empty() { "rig.ron".to_owned() } else { format!("{}.ron", words.join("-")) }
}

/// Takes file commands and the wish to close the window.
pub fn command(
    mut commands: MessageReader<FileCommand>,
    mut closing: MessageReader<WindowCloseRequested>,
    mut files: ResMut<Files>,
    mut document: ResMut<Document>,
    mut exit: MessageWriter<AppExit>,
) {
    let closes = closing.read().count() > 0;
    let commands: Vec<_> = commands.read().copied().collect();
    if files.question.is_some() && !closes {
        return;
    }
    if closes {
        if document.is_unsaved() {
            files.question = Some(Question::Unsaved(Then::Close));
        } else {
            exit.write(AppExit::Success);
        }
    }
    for command in commands {
        match command {
            FileCommand::Open if document.is_unsaved() => files.question = Some(Question::Unsaved(Then::Open)),
            FileCommand::Open => files.ask_path(Purpose::Open, &document, None),
            FileCommand::Save => save_here(&mut files, &mut document, None, &mut exit),
            FileCommand::SaveAs => files.ask_path(Purpose::Save, &document, None),
            FileCommand::Ask(purpose) => files.ask_path(purpose, &document, None),
        }
    }
}

/// Takes up the answer to the open question.
pub fn answer(
    mut files: ResMut<Files>,
    mut document: ResMut<Document>,
    mut solver: ResMut<Solver>,
    mut shown: ResMut<Shown>,
    mut view: ResMut<View>,
    mut desk: ResMut<Desk>,
    mut chosen: MessageWriter<Chosen>,
    mut exit: MessageWriter<AppExit>,
) {
    files.hear_portal();
    let Some(answer) = files.answer.take() else { return };
    let Some(question) = files.question.take() else { return };
    files.portal = None;
    match (question, answer) {
        (Question::Unsaved(then), Answer::Save) => save_here(&mut files, &mut document, Some(then), &mut exit),
        (Question::Unsaved(then), Answer::Discard) => go_on(then, &mut files, &document, &mut exit),
        (Question::Path { purpose: Purpose::Open, .. }, Answer::Path(path)) => match project::load(&path) {
            Ok((checked, text)) => {
                open(&mut document, &mut solver, checked, path, text);
                shown.moment = Moment::REST;
                view.begin_anew();
                desk.selected = None;
            }
            Err(error) => files.note("This file cannot be opened", told(&error)),
        },
        (Question::Path { purpose: Purpose::Save, then, .. }, Answer::Path(path)) => {
            save_to(&mut files, &mut document, &path, then, &mut exit);
        }
        (Question::Path { purpose, .. }, Answer::Path(path)) => {
            chosen.write(Chosen { purpose, path });
        }
        _ => {}
    }
}

fn open(document: &mut Document, solver: &mut Solver, checked: Checked, path: PathBuf, text: String) {
    solver.want(checked.clone());
    *document = Document::open(checked, Some(path), Some(text));
}

fn go_on(then: Then, files: &mut Files, document: &Document, exit: &mut MessageWriter<AppExit>) {
    match then {
        Then::Open => files.ask_path(Purpose::Open, document, None),
        Then::Close => {
            exit.write(AppExit::Success);
        }
    }
}

fn save_here(files: &mut Files, document: &mut Document, then: Option<Then>, exit: &mut MessageWriter<AppExit>) {
    if document.faults().is_empty() {
        match document.path.clone() {
            Some(path) => save_to(files, document, &path, then, exit),
            None => files.ask_path(Purpose::Save, document, then),
        }
    } else {
        let lines = document.faults().iter().map(Fault::sentence).collect();
        files.note("Not saved: an input is outside its range", lines);
    }
}

fn save_to(
    files: &mut Files,
    document: &mut Document,
    path: &Path,
    then: Option<Then>,
    exit: &mut MessageWriter<AppExit>,
) {
    // The comments of the text that the project came from go with it, wherever it is saved.
    let former = document.text().map(str::to_owned);
    match project::save(path, document.good(), former.as_deref()) {
        Ok(saved) => {
            document.mark_saved(path.to_owned(), saved.text);
            match (saved.former, then) {
                (Some(former), _) => files.note(
                    "Saved",
                    vec![
                        "Parts were added or taken away, so the comments of the former file could not be kept in place."
                            .to_owned(),
                        format!("The former file is kept as {}", former.display()),
                    ],
                ),
                (None, Some(then)) => go_on(then, files, document, exit),
                (None, None) => {}
            }
        }
        Err(error) => files.note("Not saved", vec![error.to_string()]),
    }
}

/// An error with all of its faults, a line each.
pub fn told(error: &LoadError) -> Vec<String> {
    match error {
        LoadError::Faults { path, faults } => {
            let name = path.display().to_string();
            faults.iter().map(|fault| fault.in_file(&name)).collect()
        }
        other => vec![other.to_string()],
    }
}

/// Keeps the window's title: what is open, and a dot while something is unsaved.
pub fn title(document: Res<Document>, mut window: Single<&mut Window, With<PrimaryWindow>>) {
    if !document.is_changed() {
        return;
    }
    let dot = if document.is_unsaved() { "● " } else { "" };
    let title = format!("{dot}{} — Heelpoint", document.good().title);
    if window.title != title {
        window.title = title;
    }
}

#[cfg(test)]
mod tests {
    use super::file_name;

    #[test]
    fn a_file_is_named_after_its_project() {
        assert_eq!(file_name("Closed car, nearly right"), "closed-car-nearly-right.ron");
        assert_eq!(file_name(" ../ "), "rig.ron");
    }
}
