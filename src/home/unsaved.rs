//! Work that is not saved yet, kept on disk a few seconds after it was done: what a power cut leaves is offered at the
//! next start.
//!
//! Each window has a file of its own and holds a lock beside it for as long as it runs; the system lets go of the lock
//! however the window ends. A file whose lock is free belongs to nobody any more, and whoever takes the lock may offer
//! it: two windows never touch each other's.

use std::{
    fs::{self, File, OpenOptions},
    io,
    path::{Path, PathBuf},
    sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel},
    thread::JoinHandle,
    time::{Duration, Instant, SystemTime, UNIX_EPOCH},
};

use serde::{Deserialize, Serialize};

use super::{Places, write};
use crate::project::{Pending, Project, to_text};

/// What stands in a file.
#[derive(Debug, Serialize, Deserialize)]
struct Written {
    /// The file that the project is saved in, if one.
    path: Option<PathBuf>,
    /// The project's name.
    title: String,
    /// When it was written, s since 1970.
    at: u64,
    /// The project.
    project: String,
    /// The text of its file as it was last read or written, with the user's comments.
    former: Option<String>,
    /// What was typed and is not part of the project.
    #[serde(default)]
    pending: Vec<Pending>,
}

/// Work that a window left unsaved.
#[derive(Debug)]
pub struct Left {
    /// The file that the project was saved in, if one.
    pub path: Option<PathBuf>,
    /// The project's name.
    pub title: String,
    /// How long ago it was kept.
    pub age: Duration,
    /// The project as text.
    pub text: String,
    /// The text of its file then.
    pub former: Option<String>,
    /// What was typed and is not part of the project: refused, unreadable or half typed.
    pub pending: Vec<Pending>,
    file: PathBuf,
    lock: PathBuf,
    _held: File,
}

impl Left {
    /// Removes it from disk: it was taken up, or is not wanted any more.
    pub fn remove(self) {
        // That it stays is the smaller trouble: it is offered once more.
        let _ = fs::remove_file(&self.file);
        let _ = fs::remove_file(&self.lock);
    }

    /// "3 minutes ago".
    pub fn when(&self) -> String {
        let minutes = self.age.as_secs() / 60;
        let many = |number: u64, word: &str| format!("{number} {word}{} ago", if number == 1 { "" } else { "s" });
        match minutes {
            0 => "less than a minute ago".to_owned(),
            1..60 => many(minutes, "minute"),
            60..1440 => many(minutes / 60, "hour"),
            _ => many(minutes / 1440, "day"),
        }
    }
}

/// What windows that ended badly have left, the latest first. What cannot be read stays where it is.
pub fn left_over(places: &Places) -> Vec<Left> {
    let mut all: Vec<Left> = fs::read_dir(places.unsaved())
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path())
        .filter(|file| file.extension().is_some_and(|ending| ending == "ron"))
        .filter_map(|file| left_in(&file))
        .collect();
    all.sort_by_key(|left| left.age);
    all
}

fn left_in(file: &Path) -> Option<Left> {
    let lock = file.with_extension("lock");
    let held = locked(&lock).ok()?;
    // Read only once the lock is held: until then its window may still write, or have taken it away.
    let text = fs::read_to_string(file).ok()?;
    let Written { path, title, at, project, former, pending } = ron::from_str(&text).ok()?;
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    let age = now.saturating_sub(Duration::from_secs(at));
    Some(Left { path, title, age, text: project, former, pending, file: file.to_owned(), lock, _held: held })
}

/// A file of this name, locked by us.
fn locked(path: &Path) -> io::Result<File> {
    let file = OpenOptions::new().write(true).create(true).truncate(false).open(path)?;
    file.try_lock().map_err(io::Error::from)?;
    Ok(file)
}

/// What is to be kept.
#[derive(Debug)]
pub struct Keep {
    /// The project.
    pub project: std::sync::Arc<Project>,
    /// The file that it is saved in, if one.
    pub path: Option<PathBuf>,
    /// The text of that file.
    pub former: Option<String>,
    /// What was typed and is not part of the project.
    pub pending: Vec<Pending>,
    /// Taken up from another window: removed once this is kept.
    pub replaces: Option<Left>,
}

enum Order {
    /// Within [`Unsaved::SOON`], or at once.
    Keep(Box<Keep>, bool),
    /// Nothing is unsaved.
    Forget,
}

/// This window's own file, written on a thread: a disk may be slow.
#[derive(Debug)]
pub struct Unsaved {
    orders: Option<Sender<Order>>,
    thread: Option<JoinHandle<()>>,
}

impl Unsaved {
    /// How long a change waits for further ones.
    pub const SOON: Duration = Duration::from_secs(3);

    /// Takes a file for this window.
    ///
    /// # Errors
    /// If the folder cannot be made or written.
    pub fn begin(places: &Places) -> io::Result<Self> {
        let folder = places.unsaved();
        fs::create_dir_all(&folder)?;
        let started = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default().as_millis();
        let name = format!("{started}-{}", std::process::id());
        let lock = folder.join(format!("{name}.lock"));
        let held = locked(&lock)?;
        let file = folder.join(format!("{name}.ron"));
        let (orders, inbox) = channel();
        let thread = std::thread::Builder::new().name("unsaved".to_owned()).spawn(move || {
            keep_all(&inbox, &file);
            // The lock's name goes while it is held: a free lock is looked at by others.
            if !file.exists() {
                let _ = fs::remove_file(&lock);
            }
            drop(held);
        })?;
        Ok(Self { orders: Some(orders), thread: Some(thread) })
    }

    /// Keeps this state of the work: soon, or at once where much has changed.
    pub fn keep(&self, keep: Keep, at_once: bool) {
        self.order(Order::Keep(Box::new(keep), at_once));
    }

    /// Everything is saved, or not wanted.
    pub fn forget(&self) {
        self.order(Order::Forget);
    }

    fn order(&self, order: Order) {
        if let Some(orders) = &self.orders {
            // A thread that has gone keeps nothing; the window goes on.
            orders.send(order).ok();
        }
    }
}

impl Drop for Unsaved {
    /// Waits until what was ordered has been done.
    fn drop(&mut self) {
        self.orders = None;
        if let Some(thread) = self.thread.take() {
            thread.join().ok();
        }
    }
}

fn keep_all(inbox: &Receiver<Order>, file: &Path) {
    let mut waiting: Option<(Box<Keep>, Instant)> = None;
    loop {
        let order = match &waiting {
            None => inbox.recv().map_err(RecvTimeoutError::from),
            Some((_, due)) => inbox.recv_timeout(due.saturating_duration_since(Instant::now())),
        };
        match order {
            Ok(Order::Keep(mut keep, at_once)) => {
                if let Some((earlier, _)) = &mut waiting {
                    keep.replaces = keep.replaces.take().or_else(|| earlier.replaces.take());
                }
                // The first of several changes says when they are due.
                let due = if at_once { Instant::now() } else { Instant::now() + Unsaved::SOON };
                let due = waiting.as_ref().map_or(due, |&(_, earlier)| due.min(earlier));
                waiting = Some((keep, due));
            }
            Ok(Order::Forget) => {
                if let Some(left) = waiting.take().and_then(|(keep, _)| keep.replaces) {
                    left.remove();
                }
                let _ = fs::remove_file(file);
            }
            Err(error) => {
                // Where it fails it is tried again with the next change.
                if let Some((mut keep, _)) = waiting.take()
                    && put(&keep, file).is_ok()
                    && let Some(left) = keep.replaces.take()
                {
                    left.remove();
                }
                if error == RecvTimeoutError::Disconnected {
                    return;
                }
            }
        }
    }
}

fn put(keep: &Keep, file: &Path) -> io::Result<()> {
    let path = keep.path.as_deref().map(|path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned()));
    let written = Written {
        path,
        title: keep.project.title.clone(),
        at: SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default().as_secs(),
        project: to_text(&keep.project),
        former: keep.former.clone(),
        pending: keep.pending.clone(),
    };
    write(file, &ron::to_string(&written).map_err(io::Error::other)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{parse, starter};

    fn home(name: &str) -> (PathBuf, Places) {
        let folder = std::env::temp_dir().join(format!("heelpoint-unsaved-{}-{name}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        (folder.clone(), Places::in_one(&folder))
    }

    fn work(title: &str) -> Keep {
        let mut project = parse(starter()).unwrap().into_inner();
        project.title = title.to_owned();
        Keep {
            project: project.into(),
            path: Some("/rigs/mine.ron".into()),
            former: Some(starter().to_owned()),
            pending: vec![Pending { path: "wheel.tube_mm".to_owned(), text: "“thick”".to_owned() }],
            replaces: None,
        }
    }

    #[test]
    fn what_a_window_leaves_is_found_whole_and_once() {
        let (folder, places) = home("left");
        let window = Unsaved::begin(&places).unwrap();
        let kept = work("Half “done”").project;
        window.keep(work("Half “done”"), false);
        // Ended without a word: what was ordered is written, and the lock is free.
        drop(window);

        let mut left = left_over(&places);
        assert_eq!(left.len(), 1);
        let left = left.remove(0);
        assert_eq!((left.title.as_str(), left.path.as_deref()), ("Half “done”", Some(Path::new("/rigs/mine.ron"))));
        assert_eq!(parse(&left.text).unwrap().into_inner(), *kept);
        assert_eq!(left.former.as_deref(), Some(starter()));
        assert_eq!(left.pending, work("").pending, "what could not be read is there too");
        assert!(left.age < Duration::from_secs(60));
        // While one window offers it, no other does.
        assert!(left_over(&places).is_empty());
        left.remove();
        assert_eq!(fs::read_dir(places.unsaved()).unwrap().count(), 0);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn the_work_of_a_window_that_runs_is_nobody_else_s() {
        let (folder, places) = home("two");
        let (one, two) = (Unsaved::begin(&places).unwrap(), {
            // Named after process and time.
            std::thread::sleep(Duration::from_millis(3));
            Unsaved::begin(&places).unwrap()
        });
        one.keep(work("One"), true);
        two.keep(work("Two"), true);
        drop(one);
        let titles: Vec<_> = left_over(&places).into_iter().map(|left| left.title).collect();
        assert_eq!(titles, ["One"]);
        drop(two);
        assert_eq!(left_over(&places).len(), 2);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn what_was_saved_leaves_nothing() {
        let (folder, places) = home("saved");
        let window = Unsaved::begin(&places).unwrap();
        window.keep(work("One"), true);
        window.forget();
        drop(window);
        assert!(left_over(&places).is_empty());
        assert_eq!(fs::read_dir(places.unsaved()).unwrap().count(), 0);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_file_that_is_none_is_passed_over() {
        let (folder, places) = home("torn");
        fs::create_dir_all(places.unsaved()).unwrap();
        fs::write(places.unsaved().join("1-1.ron"), "(path: None, tit").unwrap();
        assert!(left_over(&places).is_empty());
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn an_age_is_told_in_words() {
        let told = |seconds| {
            let left = Left {
                path: None,
                title: String::new(),
                age: Duration::from_secs(seconds),
                text: String::new(),
                former: None,
                pending: Vec::new(),
                file: PathBuf::new(),
                lock: PathBuf::new(),
                _held: tempfile(),
            };
            left.when()
        };
        assert_eq!(told(59), "less than a minute ago");
        assert_eq!(told(60), "1 minute ago");
        assert_eq!(told(7300), "2 hours ago");
        assert_eq!(told(100_000), "1 day ago");
    }

    fn tempfile() -> File {
        File::open(std::env::temp_dir()).unwrap()
    }
}
