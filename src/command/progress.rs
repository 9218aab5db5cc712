//! A bar on standard error that shows how far long work is; nothing where no one watches.

use std::{
    io::{IsTerminal, Write, stderr},
    sync::atomic::{AtomicUsize, Ordering},
};

/// Characters of the bar.
const WIDTH: usize = 30;

/// The progress of work of a known number of steps, which may end on any thread.
pub(super) struct Progress {
    what: &'static str,
    all: usize,
    done: AtomicUsize,
    shown: bool,
}

impl Progress {
    pub(super) fn new(what: &'static str, all: usize) -> Self {
        Self { what, all, done: AtomicUsize::new(0), shown: stderr().is_terminal() }
    }

    /// One step is done.
    pub(super) fn step(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        let filled = |done: usize| done * WIDTH / self.all.max(1);
        if self.shown && (filled(done) != filled(done - 1) || done == 1) {
            // That it cannot be shown is no reason to stop.
            let _ = write!(stderr(), "\r{} {} {done}/{}", self.what, bar(filled(done)), self.all);
        }
    }

    /// The work is done: the line is cleared for what comes.
    pub(super) fn end(self) {
        if self.shown {
            let _ = write!(stderr(), "\r{}\r", " ".repeat(self.what.chars().count() + WIDTH + 24));
        }
    }
}

fn bar(filled: usize) -> String {
    let filled = filled.min(WIDTH);
    format!("[{}{}]", "#".repeat(filled), "·".repeat(WIDTH - filled))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_has_one_width() {
        assert!([0, 7, 30, 99].into_iter().all(|filled| bar(filled).chars().count() == WIDTH + 2));
    }
}
