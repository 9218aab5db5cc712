//! Open, save, save as, what is dropped onto the window, and the questions before something would be lost.

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
    ecs::system::SystemParam,
    prelude::*,
    window::{FileDragAndDrop, PrimaryWindow, WindowCloseRequested},
};

use super::{
    bring,
    camera::View,
    edit::{Document, Edit},
    home::Home,
    panels::Desk,
    scene::Shown,
    solve::{Solver, Wake},
};
use crate::{
    home::{DEMOS, Demo, Left},
    posture::Moment,
    project::{self, Checked, Fault, LoadError, Page, StandsFor},
};

/// A file command from a button, a key or a drop.
#[derive(Clone, Debug, Message, PartialEq, Eq)]
pub enum FileCommand {
    /// Ask which project, and open it.
    Open,
    /// Open this one.
    OpenThis(Source),
    /// Bring a part's shape in from a file.
    Bring(PathBuf),
    /// Close the window.
    Close,
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

/// Where a project comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// Not said yet.
    Asked,
    /// A file.
    File(PathBuf),
    /// A demo, by its place in [`DEMOS`].
    Demo(usize),
    /// The starter, to be filled with one's own numbers.
    Starter,
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
    /// A picture of the view, to write to.
    Picture,
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
            Self::Picture => ["Save the picture", "Save", "The path of the picture, ending in .png"],
            Self::Lists => ["Write the lists as CSV", "Write", "The path of a folder; it is made where it is missing"],
        }
    }
}

/// What was about to happen when a question came up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Then {
    /// Another project opens.
    Open(Source),
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
    /// Whether to take up what another window left unsaved.
    Left(Left),
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
    /// Take up what was left.
    Recover,
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
    /// What other windows have left unsaved, to be asked about one after the other.
    pub left: Vec<Left>,
    portal: Option<Portal>,
    wake: Wake,
}

struct Portal {
    chosen: Mutex<Receiver<Option<PathBuf>>>,
    asked: Instant,
}

impl Files {
    /// Without a question.
    pub const fn new(wake: Wake, left: Vec<Left>) -> Self {
        Self { question: None, answer: None, left, portal: None, wake }
    }

    fn ask_path(&mut self, purpose: Purpose, document: &Document, then: Option<Then>) {
        let here = document.path.clone();
        let name = here
            .as_deref()
            .and_then(Path::file_name)
            .map_or_else(|| file_name(&document.good().title, "ron"), |name| name.to_string_lossy().into_owned());
        let folder = || here.as_deref().and_then(Path::parent).map(|path| path.to_string_lossy().into_owned());
        let typed = match purpose {
            Purpose::Open => here.as_deref().map(|path| path.to_string_lossy().into_owned()).unwrap_or_default(),
            Purpose::Save => here.as_deref().map_or_else(|| name.clone(), |path| path.to_string_lossy().into_owned()),
            Purpose::Compare | Purpose::Shape(_) | Purpose::Template => folder()
                .filter(|folder| !folder.is_empty())
                .map_or_else(String::new, |folder| folder + std::path::MAIN_SEPARATOR_STR),
            Purpose::Lists => folder().unwrap_or_default(),
            Purpose::Picture => {
                let name = file_name(&document.good().title, "png");
                folder().map_or_else(
                    || name.clone(),
                    |folder| Path::new(&folder).join(&name).to_string_lossy().into_owned(),
                )
            }
        };
        self.question = Some(Question::Path { purpose, typed, then });

        let (outbox, chosen) = channel();
        let wake = self.wake.clone();
        let folder = here.as_deref().and_then(Path::parent).map(Path::to_owned);
        let picture = file_name(&document.good().title, "png");
        let ask = move || {
            let (kind, endings): (_, &[&str]) = match purpose {
                Purpose::Shape(_) => ("Shape", &["stl", "obj", "gltf", "glb"]),
                Purpose::Template => ("Part", &["ron"]),
                Purpose::Picture => ("Picture", &["png"]),
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
                Purpose::Picture => dialog.set_title(purpose.words()[0]).set_file_name(picture).save_file(),
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
fn file_name(title: &str, ending: &str) -> String {
    let lower = title.to_lowercase();
    let words: Vec<_> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let stem = if words.is_empty() { "rig".to_owned() } else { words.join("-") };
    format!("{stem}.{ending}")
}

/// What opens, changes and closes with a file.
#[derive(SystemParam)]
pub struct Bench<'w> {
    files: ResMut<'w, Files>,
    document: ResMut<'w, Document>,
    solver: ResMut<'w, Solver>,
    shown: ResMut<'w, Shown>,
    view: ResMut<'w, View>,
    desk: ResMut<'w, Desk>,
    home: ResMut<'w, Home>,
    chosen: MessageWriter<'w, Chosen>,
    exit: MessageWriter<'w, AppExit>,
}

/// What a file is brought for, by the ending of its name.
fn asked_by(path: &Path) -> Option<FileCommand> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    match ending.as_str() {
        "ron" => Some(FileCommand::OpenThis(Source::File(path.to_owned()))),
        "stl" | "obj" | "gltf" | "glb" => Some(FileCommand::Bring(path.to_owned())),
        _ => None,
    }
}

fn no_use(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    format!("“{name}” is neither a project (.ron) nor a part's shape (.stl, .obj, .gltf, .glb)")
}

/// What becomes of a file that is held over the window, if it is dropped there.
pub(super) fn drop_words(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    match asked_by(path) {
        Some(FileCommand::Bring(_)) => format!("Drop “{name}” to bring its shape in as a part"),
        Some(_) => format!("Drop “{name}” to open it"),
        None => no_use(path),
    }
}

/// Takes file commands and the wish to close the window.
pub fn command(
    mut commands: MessageReader<FileCommand>,
    mut closing: MessageReader<WindowCloseRequested>,
    mut dropped: MessageReader<FileDragAndDrop>,
    mut bench: Bench,
) {
    let mut commands: Vec<_> = commands.read().cloned().collect();
    let closes = closing.read().count() > 0 || commands.contains(&FileCommand::Close);
    for drop in dropped.read() {
        if let FileDragAndDrop::DroppedFile { path_buf, .. } = drop {
            commands.extend(bench.dropped(path_buf));
        }
    }
    if bench.files.question.is_some() && !closes {
        return;
    }
    if closes {
        if bench.document.is_unsaved() {
            bench.files.question = Some(Question::Unsaved(Then::Close));
        } else {
            bench.exit.write(AppExit::Success);
        }
    }
    for command in commands {
        match command {
            FileCommand::Open => bench.go_on(Then::Open(Source::Asked), true),
            FileCommand::OpenThis(source) => bench.go_on(Then::Open(source), true),
            FileCommand::Bring(path) => bench.bring(path),
            FileCommand::Ask(purpose) => {
                let Bench { files, document, .. } = &mut bench;
                files.ask_path(purpose, document, None);
            }
            // Seen to above.
            FileCommand::Close => {}
            FileCommand::Save => bench.save_here(None),
            FileCommand::SaveAs => {
                let Bench { files, document, .. } = &mut bench;
                files.ask_path(Purpose::Save, document, None);
            }
        }
    }
    // One after the other, once nothing else is asked.
    if bench.files.question.is_none() && !bench.files.left.is_empty() {
        let left = bench.files.left.remove(0);
        bench.files.question = Some(Question::Left(left));
    }
}

/// Takes up the answer to the open question.
pub fn answer(mut bench: Bench) {
    bench.files.hear_portal();
    let Some(answer) = bench.files.answer.take() else { return };
    let Some(question) = bench.files.question.take() else { return };
    bench.files.portal = None;
    match (question, answer) {
        (Question::Unsaved(then), Answer::Save) => bench.save_here(Some(then)),
        (Question::Unsaved(then), Answer::Discard) => bench.go_on(then, false),
        (Question::Path { purpose: Purpose::Open, .. }, Answer::Path(path)) => bench.open(&Source::File(path)),
        (Question::Path { purpose: Purpose::Save, then, .. }, Answer::Path(path)) => bench.save_to(&path, then),
        (Question::Path { purpose, .. }, Answer::Path(path)) => {
            bench.chosen.write(Chosen { purpose, path });
        }
        (Question::Left(left), Answer::Recover) => bench.recover(left),
        (Question::Left(left), Answer::Discard) => left.remove(),
        _ => {}
    }
}

impl Bench<'_> {
    /// Takes a part's shape that was dropped into the project; what it stands for is said on its page.
    fn bring(&mut self, path: PathBuf) {
        let place = StandsFor::ALL.iter().position(|one| *one == StandsFor::Other).unwrap_or(0);
        self.chosen.write(Chosen { purpose: Purpose::Shape(place), path });
        self.desk.page = Page::Frame;
    }

    /// What a file that falls onto the window asks for.
    fn dropped(&mut self, path: &Path) -> Option<FileCommand> {
        let command = asked_by(path);
        if command.is_none() && self.files.question.is_none() {
            self.files.note("This file is of no use here", vec![format!("{}.", no_use(path))]);
        }
        command
    }

    /// Does what was about to happen; where it would lose something and `asks`, only after a question.
    fn go_on(&mut self, then: Then, asks: bool) {
        if asks && self.document.is_unsaved() {
            self.files.question = Some(Question::Unsaved(then));
            return;
        }
        match then {
            Then::Open(Source::Asked) => self.files.ask_path(Purpose::Open, &self.document, None),
            Then::Open(source) => self.open(&source),
            Then::Close => {
                self.exit.write(AppExit::Success);
            }
        }
    }

    fn open(&mut self, source: &Source) {
        let own = |faults: Vec<Fault>| faults.iter().map(Fault::sentence).collect::<Vec<_>>();
        let opened = match source {
            Source::Asked => return,
            Source::File(path) => project::load(path)
                .map(|(checked, text)| Document::open(checked, Some(path.clone()), Some(text)))
                .map_err(|error| told(&error)),
            Source::Demo(index) => match DEMOS.get(*index) {
                Some(demo) => {
                    demo.open().map(|checked| Document::open(checked, None, Some(demo.text.to_owned()))).map_err(own)
                }
                None => return,
            },
            Source::Starter => project::parse(project::starter())
                .map(|checked| Document::open(checked, None, Some(project::starter().to_owned())))
                .map_err(own),
        };
        match opened {
            Ok(document) => {
                self.put(document);
                if let Source::File(path) = source {
                    self.home.remember(path);
                }
            }
            Err(lines) => {
                if let Source::File(path) = source {
                    self.home.forget(path);
                }
                self.files.note("This file cannot be opened", lines);
            }
        }
    }

    /// Puts a document on the table.
    fn put(&mut self, document: Document) {
        // Only sound projects are opened.
        if let Ok(checked) = Checked::new(document.good().clone()) {
            self.solver.want(checked);
        }
        *self.document = document;
        self.shown.moment = Moment::REST;
        self.view.begin_anew();
        self.desk.selected = None;
        self.desk.sheet = None;
    }

    /// Takes up what was left. It is removed once this window has kept it itself.
    fn recover(&mut self, left: Left) {
        let folder = left.path.as_deref().and_then(Path::parent).unwrap_or_else(|| Path::new(""));
        match project::parse_beside(&left.text, folder) {
            Ok(checked) => {
                self.put(Document::recover(checked, left.path.clone(), left.former.clone()));
                if !left.pending.is_empty() {
                    self.document.put_back(&left.pending);
                    let lines = project::pending_words(&left.pending, self.document.draft());
                    self.files.note("Recovered, with what was typed and not taken", lines);
                }
                self.home.take_over(left);
                // Others would replace it: they are asked about at the next start.
                self.files.left.clear();
            }
            Err(faults) => {
                let lines = faults.iter().map(Fault::sentence).collect();
                self.files.note("What was left cannot be taken up, and stays for the next start", lines);
            }
        }
    }

    fn save_here(&mut self, then: Option<Then>) {
        if self.document.faults().is_empty() {
            match self.document.path.clone() {
                Some(path) => self.save_to(&path, then),
                None => self.files.ask_path(Purpose::Save, &self.document, then),
            }
        } else {
            let lines = self.document.faults().iter().map(Fault::sentence).collect();
            self.files.note("Not saved: an input is outside its range", lines);
        }
    }

    fn save_to(&mut self, path: &Path, then: Option<Then>) {
        // The comments of the text that the project came from go with it, wherever it is saved.
        let former = self.document.text().map(str::to_owned);
        // What a demo names goes with it too.
        let folder = path.parent().unwrap_or_else(|| Path::new(""));
        if let Err(error) = Demo::bring_along(self.document.good(), folder) {
            self.files.note("Not saved", vec![format!("The shape of a part cannot be put beside it: {error}")]);
            return;
        }
        // Paths of shapes begin at the project's folder.
        let home = bring::folder(&self.document).to_owned();
        if let Some(project) = bring::moved(self.document.good(), &home, folder) {
            self.document.apply(Edit::Draft { project: Box::new(project), stroke: None });
        }
        match project::save(path, self.document.good(), former.as_deref()) {
            Ok(saved) => {
                self.document.mark_saved(path.to_owned(), saved.text);
                self.home.remember(path);
                match (saved.former, then) {
                    (Some(former), _) => self.files.note(
                        "Saved",
                        vec![
                            "Parts were added or taken away, so the comments of the former file could not be kept in place."
                                .to_owned(),
                            format!("The former file is kept as {}", former.display()),
                        ],
                    ),
                    (None, Some(then)) => self.go_on(then, false),
                    (None, None) => {}
                }
            }
            Err(error) => self.files.note("Not saved", vec![error.to_string()]),
        }
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
    use std::path::Path;

    use super::{drop_words, file_name};

    #[test]
    fn a_file_over_the_window_is_told_what_becomes_of_it() {
        assert_eq!(drop_words(Path::new("a/my rig.RON")), "Drop “my rig.RON” to open it");
        assert_eq!(drop_words(Path::new("seat.stl")), "Drop “seat.stl” to bring its shape in as a part");
        assert!(drop_words(Path::new("notes.txt")).starts_with("“notes.txt” is neither"));
    }

    #[test]
    fn a_file_is_named_after_its_project() {
        assert_eq!(file_name("Closed car, nearly right", "ron"), "closed-car-nearly-right.ron");
        assert_eq!(file_name(" ../ ", "png"), "rig.png");
    }
}
