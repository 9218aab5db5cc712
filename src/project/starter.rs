//! The file that a new project begins with.

/// The text of a starter project, with comments that say what to measure; it loads and checks.
pub const fn starter() -> &'static str {
    include_str!("../../assets/starter.ron")
}
