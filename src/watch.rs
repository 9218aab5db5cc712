//! Long work that tells how far it is and can be stopped.

use std::sync::atomic::{AtomicBool, Ordering};

/// Long work was cancelled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the work was stopped before it was done")]
pub struct Stopped;

/// Who watches long work: hears of its progress and may stop it from another thread.
pub struct Watch<'a> {
    stop: &'a AtomicBool,
    tell: &'a (dyn Fn(usize) + Sync),
}

/// Nobody stops it.
static NEVER: AtomicBool = AtomicBool::new(false);

impl Watch<'static> {
    /// Nobody watches.
    pub const NOBODY: Self = Self { stop: &NEVER, tell: &|_| () };
}

impl<'a> Watch<'a> {
    /// `stop` set from any thread ends the work soon; `tell` is called with how much (points, draws) was done since
    /// it was called last, from any thread.
    pub const fn new(stop: &'a AtomicBool, tell: &'a (dyn Fn(usize) + Sync)) -> Self {
        Self { stop, tell }
    }

    /// Hears of the progress and never stops it.
    pub const fn telling(tell: &'a (dyn Fn(usize) + Sync)) -> Self {
        Self { stop: &NEVER, tell }
    }

    /// Asked now and then by the work.
    ///
    /// # Errors
    /// Once it is to stop.
    pub fn go_on(&self) -> Result<(), Stopped> {
        if self.stop.load(Ordering::Relaxed) { Err(Stopped) } else { Ok(()) }
    }

    /// Told by the work: so much more is done.
    pub fn did(&self, count: usize) {
        (self.tell)(count);
    }
}
