//! A folder of a test's own, gone when the test is.

use std::{
    env, fs,
    path::{Path, PathBuf},
    process,
    sync::atomic::{AtomicU32, Ordering},
};

/// An empty folder among the system's temporary ones.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = env::temp_dir().join(format!("heelpoint-test-{}-{count}", process::id()));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    /// A path in it.
    pub fn path(&self, name: impl AsRef<Path>) -> PathBuf {
        self.0.join(name)
    }

    /// The names of the files in it, sorted.
    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<_> = fs::read_dir(&self.0)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}
