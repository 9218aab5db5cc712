//! What the core promises, without a window: one module a promise.

mod folder;
mod project_faults;
mod project_save;
mod project_text;
mod random_projects;
