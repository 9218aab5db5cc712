//! What to measure on a rig, from where to where, and which of it has not been touched since the starter file.

use std::sync::OnceLock;

use serde::Deserialize;

use crate::project::{Page, Project, ScreenStand, Screens, fields, parse, starter};

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

    /// The rows about a topic, each with whether all of its numbers still read as in the starter file, or, of screens, as
    /// the usual ones to begin with.
    pub fn of(page: Page, project: &Project) -> Vec<(&'static Self, bool)> {
        let now = numbers(page, project);
        let then = parse(starter()).map_or_else(
            |_| Vec::new(),
            |starter| {
                let mut starter = starter.into_inner();
                starter.screens = project.screens.as_ref().map(Screens::usual_like);
                numbers(page, &starter)
            },
        );
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
    // What nobody weighed is estimated, and missing where a rail has to carry it.
    if let Some(screens) = project.screens.as_ref().filter(|_| page == Page::Screens)
        && screens.mass_kg.is_none()
        && matches!(screens.stand, ScreenStand::Rail { .. })
    {
        list.push(("screens.mass_kg".to_owned(), 0));
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::ScreenKind;

    /// The starter has no screens; whoever puts them there begins with three usual ones on a rail.
    #[test]
    fn every_row_is_about_numbers_of_the_starter_and_of_usual_screens() {
        let mut project = parse(starter()).unwrap().into_inner();
        assert!(RigGuide::of(Page::Screens, &project).is_empty(), "nothing to measure where there are none");
        let stand = ScreenStand::Rail { rail: project.frame[0].name.clone(), arm_mm: [40.0, 40.0] };
        let kind = ScreenKind::Triple { side_angle_deg: 45.0 };
        project.screens = Some(Screens { kind, stand, ..Screens::usual() });
        let mut seen = 0;
        for page in Page::ALL {
            for (row, untouched) in RigGuide::of(page, &project) {
                assert!(untouched, "{}", row.path);
                seen += 1;
            }
        }
        assert_eq!(seen, RigGuide::all().len(), "each row stands on one page");
    }

    #[test]
    fn what_was_measured_of_screens_is_missing_no_more() {
        let mut project = parse(starter()).unwrap().into_inner();
        let kind = ScreenKind::Ultrawide { radius_mm: 1800.0 };
        project.screens = Some(Screens { kind, height_mm: 1010.0, ..Screens::usual() });
        let missing = |project: &Project| -> Vec<&str> {
            let rows = RigGuide::of(Page::Screens, project).into_iter();
            rows.filter(|(_, untouched)| *untouched).map(|(row, _)| row.path.as_str()).collect()
        };
        // On no rail its mass is nobody's business.
        let open = ["screens.place", "screens.size", "screens.tilt_deg", "screens.bezel_mm", "screens.thickness_mm"];
        assert_eq!(missing(&project), open);
        let stand = ScreenStand::Rail { rail: project.frame[0].name.clone(), arm_mm: [80.0, 40.0] };
        project.screens.as_mut().unwrap().stand = stand;
        assert!(missing(&project).contains(&"screens.mass_kg") && !missing(&project).contains(&"screens.stand"));
        project.screens.as_mut().unwrap().mass_kg = Some(6.2);
        assert_eq!(missing(&project), open);
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
