//! Where a field stands in the text of a project.
