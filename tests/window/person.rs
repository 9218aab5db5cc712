//! The window worked as a person works it: edit, undo, save, open again; and lose the power over unsaved work.

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

/// Types the driver's stature: the first number that a click finds going down the column. What is typed has the unit of
/// a length, so no other row takes it, and the same row may be met twice.
fn type_stature(screen: &Screen, window: &str, typed: &str) {
    let mut down = (400..620).step_by(10);
    screen.until("an unsaved change", |screen| {
        screen.keys(&["Escape"]);
        screen.xdotool(&["mousemove", "112", &down.next()?.to_string(), "click", "1"]);
        sleep(Duration::from_millis(500));
        screen.xdotool(&["type", "--delay", "40", typed]);
        screen.keys(&["Return"]);
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(4) {
            if screen.xdotool(&["getwindowname", window]).starts_with('●') {
                return Some(());
            }
            sleep(Duration::from_millis(250));
        }
        None
    });
}

/// Presses a key until the title is as it should be.
fn press_until(screen: &Screen, window: &str, key: &str, right: impl Fn(&str) -> bool) {
    screen.until(key, |screen| {
        screen.keys(&[key]);
        sleep(Duration::from_secs(2));
        right(&screen.xdotool(&["getwindowname", window])).then_some(())
    });
}

fn holds(file: &Path, words: &str) -> bool {
    fs::read_to_string(file).is_ok_and(|text| text.contains(words))
}

#[test]
fn a_number_is_typed_with_its_unit_undone_saved_and_there_again() {
    let (screen, folder) = (Screen::open(), Folder::new("edit"));
    let file = folder.project();
    assert!(holds(&file, "stature_mm: (value: 1765, error: 8)"));
    let mut program = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));

    type_stature(&screen, &window, "181,5 cm");
    press_until(&screen, &window, "ctrl+z", |title| !title.starts_with('●'));
    press_until(&screen, &window, "ctrl+shift+z", |title| title.starts_with('●'));
    screen.keys(&["ctrl+s"]);
    screen.until("the number in the file", |_| holds(&file, "stature_mm: (value: 1815, error: 8)").then_some(()));
    assert!(holds(&file, "// On a scale"), "the comments stay");
    screen.title(&window, "nothing unsaved once saved", |title| !title.starts_with('●'));
    screen.until("nothing kept as unsaved", |_| (folder.unsaved().1 == 0).then_some(()));
    screen.keys(&["ctrl+q"]);
    let ended = screen.until("the end", |_| program.0.try_wait().unwrap());
    assert!(ended.success());
    assert!(holds(&folder.0.join("home/settings.ron"), "my rig.ron"), "it is among the files opened lately");

    // Opened again it is the same, and a step back from another edit leads there.
    let _again = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the title again", |title| title.starts_with("Evening rig"));
    type_stature(&screen, &window, "71 in");
    screen.keys(&["ctrl+s"]);
    screen.until("inches as millimetres", |_| holds(&file, "stature_mm: (value: 1803.4, error: 8)").then_some(()));
}

#[test]
fn work_that_was_not_saved_survives_a_kill() {
    let (screen, folder) = (Screen::open(), Folder::new("kill"));
    let file = folder.project();
    let mut program = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));
    type_stature(&screen, &window, "181,5 cm");
    screen.until("unsaved work on disk", |_| folder.unsaved().0.contains("stature_mm: (value: 1815").then_some(()));
    program.0.kill().unwrap();
    program.0.wait().unwrap();
    assert!(holds(&file, "stature_mm: (value: 1765"), "the file is as it was");

    let mut again = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));
    // Enter takes what is offered; it may be pressed before the question is drawn.
    screen.until("the recovered work", |screen| {
        screen.keys(&["Return"]);
        screen.xdotool(&["getwindowname", &window]).starts_with('●').then_some(())
    });
    screen.keys(&["ctrl+s"]);
    screen.until("the number in the file", |_| holds(&file, "stature_mm: (value: 1815, error: 8)").then_some(()));
    screen.until("nothing kept as unsaved", |_| (folder.unsaved().1 == 0).then_some(()));
    again.0.kill().unwrap();
    again.0.wait().unwrap();
    assert_eq!(folder.unsaved().1, 0);
}

#[test]
fn a_number_that_was_refused_is_there_again_after_a_kill() {
    let (screen, folder) = (Screen::open(), Folder::new("refused"));
    let file = folder.project();
    let mut program = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));
    let mut down = (480..620).step_by(10);
    screen.until("a refused number on disk", |screen| {
        screen.keys(&["Escape"]);
        screen.xdotool(&["mousemove", "112", &down.next()?.to_string(), "click", "1"]);
        sleep(Duration::from_millis(500));
        screen.xdotool(&["type", "--delay", "40", "abuot 181"]);
        screen.keys(&["Return"]);
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(6) {
            if folder.unsaved().0.contains("abuot 181") {
                return Some(());
            }
            sleep(Duration::from_millis(250));
        }
        None
    });
    program.0.kill().unwrap();
    program.0.wait().unwrap();

    // Taken up again, the new window keeps it as its own: it stands in the input once more.
    let _again = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Evening rig"));
    screen.until("the recovered work", |screen| {
        screen.keys(&["Return"]);
        screen.xdotool(&["getwindowname", &window]).starts_with('●').then_some(())
    });
    screen.until("the refused number, kept by the new window alone", |_| {
        let (text, files) = folder.unsaved();
        (files == 1 && text.contains("abuot 181")).then_some(())
    });
    assert!(holds(&file, "stature_mm: (value: 1765"), "the file is as it was");
}

#[test]
fn a_part_is_dragged_in_the_view_and_put_back_by_undo() {
    let (screen, folder) = (Screen::open(), Folder::new("drag"));
    let file = folder.0.join("car.ron");
    fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/closed_car.ron"), &file).unwrap();
    let read = || heelpoint::project::load(&file).unwrap().0.into_inner();
    let before = read();
    let _program = folder.start(&screen, &file);
    let window = screen.window();
    screen.title(&window, "the project's title", |title| title.starts_with("Closed car"));

    // The side view is 840 points wide between the columns; the seat lies right of its middle, the rig all across it.
    let mut places = [(800, 500), (640, 420), (700, 560), (600, 300), (450, 560), (560, 640)].into_iter().cycle();
    screen.until("a part that was dragged", |screen| {
        screen.keys(&["1", "m"]);
        sleep(Duration::from_secs(2));
        let (x, y) = places.next()?;
        screen.xdotool(&["mousemove", &x.to_string(), &y.to_string()]);
        sleep(Duration::from_millis(700));
        screen.xdotool(&["mousedown", "1"]);
        for step in 1..=6 {
            screen.xdotool(&["mousemove", &(x + 8 * step).to_string(), &(y - 3 * step).to_string()]);
            sleep(Duration::from_millis(250));
        }
        screen.xdotool(&["mouseup", "1"]);
        sleep(Duration::from_secs(2));
        screen.xdotool(&["getwindowname", &window]).starts_with('●').then_some(())
    });
    screen.keys(&["ctrl+s"]);
    screen.title(&window, "saved", |title| !title.starts_with('●'));
    let after = read();
    assert_ne!(after, before, "something has moved");
    let moved = heelpoint::project::change_words(&before, &after);
    assert!(["Seat", "Wheel", "Pedals", "Rail", "Set", "Slider"].iter().any(|part| moved.contains(part)), "{moved}");

    // One drag is one step: a single step back is where it was.
    press_until(&screen, &window, "ctrl+z", |title| title.starts_with('●'));
    screen.keys(&["ctrl+s"]);
    screen.title(&window, "saved again", |title| !title.starts_with('●'));
    assert_eq!(read(), before);
}
