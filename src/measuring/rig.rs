//! What to measure on a rig, from where to where, and which of it has not been touched since the starter file.

use std::sync::OnceLock;

use serde::Deserialize;

use crate::project::{Page, Project, fields, parse, starter};

/// How one part of a rig is taken: a row of `shared/guide.csv`.
#[derive(Clone, Debug, Deserialize)]
pub struct RigGuide {
    /// The numbers that it is about: every field whose path begins so.
    pub path: String,
    /// What it is called.
    pub what: String,
    /// What to measure with tape, straight edge and angle gauge, from where to where: common practice, no published
    /// source.
    pub how: String,
}

impl RigGuide {
    /// Every row, in the order in which a rig is fitted.
    #[expect(clippy::missing_panics_doc, reason = "the table is part of the program and is read by its tests")]
    pub fn all() -> &'static [Self] {
        static GUIDES: OnceLock<Vec<RigGuide>> = OnceLock::new();
        GUIDES.get_or_init(|| {
            csv::Reader::from_reader(include_str!("../../shared/guide.csv").as_bytes())
                .into_deserialize()
                .collect::<Result<_, _>>()
                .expect("shared/guide.csv is part of the program and is read by its tests")
        })
    }

    /// Whether a field is one of its numbers.
    pub fn holds(&self, path: &str) -> bool {
        path.strip_prefix(self.path.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    }

    /// The rows about a topic, each with whether all of its numbers still read as in the starter file.
    pub fn of(page: Page, project: &Project) -> Vec<(&'static Self, bool)> {
        let now = numbers(page, project);
        let then = parse(starter()).map_or_else(|_| Vec::new(), |starter| numbers(page, &starter));
        let rows = Self::all().iter().filter(|row| now.iter().any(|(path, _)| row.holds(path)));
        let untouched = |row: &Self| {
            let of = |list: &[(String, u64)]| -> Vec<_> {
                list.iter().filter(|(path, _)| row.holds(path)).cloned().collect()
            };
            of(&now) == of(&then)
        };
        rows.map(|row| (row, untouched(row))).collect()
    }
}

/// The numbers of a topic by their paths, to the last bit.
fn numbers(page: Page, project: &Project) -> Vec<(String, u64)> {
    let mut list = Vec::new();
    fields(&mut project.clone(), &mut |field| {
        if field.page == page {
            list.push((field.path, field.value.to_bits()));
        }
    });
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_about_numbers_of_the_starter() {
        let starter = parse(starter()).unwrap();
        let mut seen = 0;
        for page in Page::ALL {
            for (row, untouched) in RigGuide::of(page, &starter) {
                assert!(untouched, "{}", row.path);
                seen += 1;
            }
        }
        assert_eq!(seen, RigGuide::all().len(), "each row stands on one page");
    }

    #[test]
    fn a_number_that_was_changed_is_missing_no_more() {
        let mut project = parse(starter()).unwrap().into_inner();
        project.wheel.centre_mm[2] += 5.0;
        let touched: Vec<_> =
            RigGuide::of(Page::Wheel, &project).into_iter().filter(|(_, untouched)| !untouched).collect();
        assert_eq!(touched.len(), 1);
        assert_eq!(touched[0].0.path, "wheel.centre_mm");
    }

    #[test]
    fn a_path_is_not_taken_for_another_that_begins_alike() {
        let wheel = RigGuide::all().iter().find(|row| row.path == "wheel_unit").unwrap();
        assert!(wheel.holds("wheel_unit.size_mm[0]") && !wheel.holds("wheel.centre_mm[0]"));
    }
}
