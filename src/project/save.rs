//! From a project to text and to disk: whole or not at all, and the user's comments kept.

use std::path::{Path, PathBuf};

use super::Project;

/// Why a project could not be saved.
#[derive(Debug, thiserror::Error)]
#[error("{path}: cannot be written: {source}")]
pub struct SaveError {
    /// The file.
    pub path: PathBuf,
    /// Why.
    pub source: std::io::Error,
}

/// What a save did.
#[derive(Clone, Debug, PartialEq)]
pub struct Saved {
    /// The text that now stands in the file.
    pub text: String,
    /// Set where comments could not be kept in place: the former file, kept beside the new one.
    pub former: Option<PathBuf>,
}

/// A project as text, in the program's own layout.
pub fn to_text(project: &Project) -> String {
    let _ = project;
    String::new()
}

/// `project` written into `former` text, whose comments and layout stay; `None` where the parts differ so much
/// that single values cannot be replaced.
pub fn merge(former: &str, project: &Project) -> Option<String> {
    let _ = (former, project);
    None
}

/// Writes a project to `path`, whole or not at all. `former` is the text it was loaded from, if any.
///
/// # Errors
/// If the file cannot be written; what stood there stays.
pub fn save(path: &Path, project: &Project, former: Option<&str>) -> Result<Saved, SaveError> {
    let _ = (path, project, former);
    Ok(Saved { text: String::new(), former: None })
}
