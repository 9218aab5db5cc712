//! Memory that is free goes back to the system.

/// Starts this program over with the C library's allocator told so, where that is needed; returns where it is not, or
/// cannot be done.
///
/// Left to itself glibc takes larger and larger pieces from heaps that it keeps, one a thread: what was needed for a
/// moment then stays taken for good, some 200 MB of it once boundaries of reach have been followed. It reads its
/// settings (mallopt(3)) before a program's first line.
pub fn give_back_memory() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    {
        use std::{env, os::unix::process::CommandExt, process::Command};

        // Pieces from the size at which it begins by itself are asked of the system, and given back.
        const SETTINGS: [(&str, &str); 2] =
            [("MALLOC_MMAP_THRESHOLD_", "131072"), ("MALLOC_TRIM_THRESHOLD_", "1048576")];
        if SETTINGS.iter().any(|(name, _)| env::var_os(name).is_some()) {
            return;
        }
        let mut words = env::args_os();
        if let (Ok(program), Some(name)) = (env::current_exe(), words.next()) {
            // It comes back only where it fails.
            let _ = Command::new(program).arg0(name).args(words).envs(SETTINGS).exec();
        }
    }
}
