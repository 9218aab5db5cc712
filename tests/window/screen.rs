//! A virtual screen with a program on it, for tests that work as a person does.

use std::{
    process::{Child, Command, Stdio},
    sync::atomic::{AtomicU32, Ordering},
    thread::sleep,
    time::{Duration, Instant},
};

/// A virtual screen that ends with the test.
pub struct Screen {
    server: Child,
    pub name: String,
}

impl Screen {
    pub fn open() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let number = 100 + (std::process::id() * 8 + COUNT.fetch_add(1, Ordering::Relaxed)) % 4000;
        let name = format!(":{number}");
        let server = Command::new("Xvfb")
            .args([&name, "-screen", "0", "1280x800x24"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb is installed by .ci/setup");
        Self { server, name }
    }

    pub fn xdotool(&self, arguments: &[&str]) -> String {
        let ran = Command::new("xdotool").args(arguments).env("DISPLAY", &self.name).output().unwrap();
        String::from_utf8_lossy(&ran.stdout).trim().to_owned()
    }

    /// Presses keys, one after the other.
    pub fn keys(&self, keys: &[&str]) {
        for key in keys {
            self.xdotool(&["key", "--delay", "40", key]);
        }
    }

    /// Waits until `seen` gives something.
    pub fn until<T>(&self, what: &str, mut seen: impl FnMut(&Self) -> Option<T>) -> T {
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(120) {
            if let Some(found) = seen(self) {
                return found;
            }
            sleep(Duration::from_millis(250));
        }
        panic!("waited two minutes in vain: {what}");
    }

    /// Waits for the window, and gives it the keyboard.
    pub fn window(&self) -> String {
        let window = self.until("a window of that name", |screen| {
            let found = screen.xdotool(&["search", "--name", "Heelpoint"]);
            found.lines().next().map(str::to_owned)
        });
        self.xdotool(&["mousemove", "640", "500"]);
        self.xdotool(&["windowfocus", &window]);
        window
    }

    /// Waits until the window's title is as it should be.
    pub fn title(&self, window: &str, what: &str, right: impl Fn(&str) -> bool) -> String {
        self.until(what, |screen| Some(screen.xdotool(&["getwindowname", window])).filter(|title| right(title)))
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        drop(self.server.kill());
        drop(self.server.wait());
    }
}

/// Ends a program with the test, however that ends.
pub struct Running(pub Child);

impl Drop for Running {
    fn drop(&mut self) {
        drop(self.0.kill());
        drop(self.0.wait());
    }
}
