//! What the core promises, without a window: one module a promise.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod folder;
mod project_faults;
mod project_save;
mod project_text;
mod random_projects;
