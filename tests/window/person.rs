//! The window worked as a person works it, by keys: edit, undo, save, open again; and lose the power over unsaved work.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
    thread::sleep,
    time::{Duration, Instant},
};

use crate::screen::{Running, Screen};

/// A folder of the test's own, gone with it.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("heelpoint-person-{}-{name}", std::process::id()));
        drop(fs::remove_dir_all(&folder));
        fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }

    /// A project file of the user's own.
    fn project(&self) -> PathBuf {
        let file = self.0.join("my rig.ron");
        fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/starter.ron"), &file).unwrap();
        file
    }

    /// What stands in the files of unsaved work, and how many there are.
    fn unsaved(&self) -> (String, usize) {
        let files: Vec<_> = fs::read_dir(self.0.join("home/unsaved")).into_iter().flatten().flatten().collect();
        let kept = files.iter().filter(|file| file.path().extension().is_some_and(|ending| ending == "ron"));
        let texts: Vec<_> = kept.filter_map(|file| fs::read_to_string(file.path()).ok()).collect();
        (texts.concat(), texts.len())
    }

    fn start(&self, screen: &Screen, file: &Path) -> Running {
        let program = Command::new(env!("CARGO_BIN_EXE_heelpoint"))
            .arg(file)
            .env("HEELPOINT_HOME", self.0.join("home"))
            .env("DISPLAY", &screen.name)
            .env_remove("WAYLAND_DISPLAY")
            .spawn();
        Running(program.unwrap())
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

/// Types into "Below the shaft", the last number of the topic Wheel, by keys alone: from the column of findings back
/// over the words below that number. How many these are, and where the keyboard is, nothing outside tells: it is tried
/// until the window says that something has changed.
fn type_below_the_shaft(screen: &Screen, window: &str, typed: &str) {
    screen.keys(&["ctrl+Next", "ctrl+Next", "F6", "F6", "F6"]);
    let mut back = (1..=4).cycle().skip(1);
    screen.until("an unsaved change", |screen| {
        for _ in 0..back.next()? {
            // One way of the keyboard a picture; a slow window draws few.
            screen.keys(&["shift+Tab"]);
            sleep(Duration::from_millis(800));
        }
        screen.xdotool(&["type", "--delay", "40", typed]);
        screen.keys(&["Return"]);
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(6) {
            if screen.xdotool(&["getwindowname", window]).starts_with('●') {
                return Some(());
            }
            sleep(Duration::from_millis(250));
        }
        screen.keys(&["Escape", "Escape", "F6", "F6", "F6", "F6"]);
        None
    });
}

fn holds(file: &Path, words: &str) -> bool {
    fs::read_to_string(file).is_ok_and(|text| text.contains(words))
}

#[test]
fn a_number_is_typed_with_its_unit_undone_saved_and_there_again() {
    let (screen, folder) = (Screen::open(), Folder::new("edit"));
    let file = folder.project();
    assert!(holds(&file, "drop_mm: -10"));
    let mut program = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));

    type_below_the_shaft(&screen, &window, "6,5 cm");
    screen.keys(&["ctrl+z"]);
    screen.title(&window, "nothing unsaved after undo", |title| !title.starts_with('●'));
    screen.keys(&["ctrl+shift+z"]);
    screen.title(&window, "unsaved after redo", |title| title.starts_with('●'));
    screen.keys(&["ctrl+s"]);
    screen.until("the number in the file", |_| holds(&file, "drop_mm: 65,").then_some(()));
    assert!(holds(&file, "// length along the shaft"), "the comments stay");
    screen.title(&window, "nothing unsaved once saved", |title| !title.starts_with('●'));
    screen.until("nothing kept as unsaved", |_| (folder.unsaved().1 == 0).then_some(()));
    screen.xdotool(&["windowquit", &window]);
    let ended = screen.until("the end", |_| program.0.try_wait().unwrap());
    assert!(ended.success());
    assert!(holds(&folder.0.join("home/settings.ron"), "my rig.ron"), "it is among the files opened lately");

    // Opened again it is the same, and a step back from another edit leads there.
    let _again = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the title again", |title| title.starts_with("Evening rig"));
    type_below_the_shaft(&screen, &window, "1/2 in");
    screen.keys(&["ctrl+s"]);
    screen.until("half an inch in the file", |_| holds(&file, "drop_mm: 12.7,").then_some(()));
}

#[test]
fn work_that_was_not_saved_survives_a_kill() {
    let (screen, folder) = (Screen::open(), Folder::new("kill"));
    let file = folder.project();
    let mut program = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));
    type_below_the_shaft(&screen, &window, "65");
    screen.until("unsaved work on disk", |_| folder.unsaved().0.contains("drop_mm: 65").then_some(()));
    program.0.kill().unwrap();
    program.0.wait().unwrap();
    assert!(holds(&file, "drop_mm: -10"), "the file is as it was");

    let mut again = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));
    // Enter takes what is offered; it may be pressed before the question is drawn.
    screen.until("the recovered work", |screen| {
        screen.keys(&["Return"]);
        screen.xdotool(&["getwindowname", &window]).starts_with('●').then_some(())
    });
    screen.keys(&["ctrl+s"]);
    screen.until("the number in the file", |_| holds(&file, "drop_mm: 65,").then_some(()));
    screen.until("nothing kept as unsaved", |_| (folder.unsaved().1 == 0).then_some(()));
    again.0.kill().unwrap();
    again.0.wait().unwrap();
    assert_eq!(folder.unsaved().1, 0);
}
