//! From text to a checked project, every fault with file, line, column, field and the way out.

use std::path::{Path, PathBuf};

use super::Checked;

/// What is wrong in one place of a project.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Line and column in the file, from 1; `None` for a project that did not come from text.
    pub at: Option<(usize, usize)>,
    /// The field: `seat.cushion.length_mm`; empty where the text as a whole is meant.
    pub path: String,
    /// What kind of fault.
    pub kind: FaultKind,
}

/// The kinds of fault, each with what was found and what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FaultKind {
    /// Not RON, or not of the project's form.
    #[error("{0}")]
    Syntax(String),
}

/// Why a file could not be loaded.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// The file could not be read.
    #[error("{path}: cannot be read: {source}")]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The file was read and is not a sound project.
    #[error("{path}: {} fault(s)", faults.len())]
    Faults {
        /// The file.
        path: PathBuf,
        /// Every fault found.
        faults: Vec<Fault>,
    },
}

/// A checked project from text.
///
/// # Errors
/// Every fault found, with line and column.
pub fn parse(text: &str) -> Result<Checked, Vec<Fault>> {
    let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    let project = options
        .from_str(text)
        .map_err(|error| vec![Fault { at: None, path: String::new(), kind: FaultKind::Syntax(error.to_string()) }])?;
    Checked::new(project)
}

/// A checked project and its text from a file.
///
/// # Errors
/// If the file cannot be read, is too large, is not UTF-8 or holds faults.
pub fn load(path: &Path) -> Result<(Checked, String), LoadError> {
    let text = std::fs::read_to_string(path).map_err(|source| LoadError::Read { path: path.to_owned(), source })?;
    let project = parse(&text).map_err(|faults| LoadError::Faults { path: path.to_owned(), faults })?;
    Ok((project, text))
}
