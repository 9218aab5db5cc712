//! What a step has changed, in a few words.

use super::{Page, Project, Template, fields};
use crate::{
    units::Unit,
    words::{first_lower, first_upper},
};

/// What was changed from one project to another, as the name of a step: "Wheel centre, up: 690 → 700 mm".
pub fn change_words(before: &Project, after: &Project) -> String {
    if let Some(template) = Template::put_between(before, after) {
        return format!("{}: {}", first_upper(template.part.word()), first_lower(&template.title));
    }
    let numbers = |project: &Project| {
        let mut list = Vec::new();
        fields(&mut project.clone(), &mut |field| {
            list.push((field.path, field.page, field.part, field.label, field.unit, *field.value));
        });
        list
    };
    let (old, new) = (numbers(before), numbers(after));
    let find = |path: &str| old.iter().find(|one| one.0 == path);
    // Numbers that are in both and differ; what came or went is told by its list.
    let changed: Vec<_> = new
        .iter()
        .filter_map(|now| find(&now.0).filter(|was| was.5.to_bits() != now.5.to_bits()).map(|was| (was, now)))
        .collect();
    if let Some(words) = lists(before, after) {
        return words;
    }
    match &changed[..] {
        [] => choices(before, after),
        [((.., was), (_, page, part, label, unit, now))] => {
            format!("{}, {}: {}", whose(*page, part), first_lower(label), from_to(*unit, *was, *now))
        }
        [(_, first), rest @ ..] => {
            let more = rest.iter().map(|(_, now)| now);
            if more.clone().all(|now| now.2 == first.2) {
                format!("{}: {} numbers", whose(first.1, &first.2), changed.len())
            } else if more.clone().all(|now| now.1 == first.1) {
                format!("{}: {} numbers", first.1.title(), changed.len())
            } else {
                format!("{} numbers", changed.len())
            }
        }
    }
}

/// Whose number it is: pedals, rails, controls and views have names of their own.
const fn whose(page: Page, part: &str) -> &str {
    match page {
        Page::Pedals | Page::Frame | Page::Controls | Page::Views => part,
        _ => page.title(),
    }
}

/// The names in one of a project's lists.
type Names = fn(&Project) -> Vec<&str>;

/// What one of each list is called, and their names.
const LISTS: [(&str, Names); 8] = [
    ("rail", |project| project.frame.iter().map(|rail| rail.name.as_str()).collect()),
    ("control", |project| project.controls.iter().map(|control| control.name.as_str()).collect()),
    ("part", |project| project.shapes.iter().map(|shape| shape.name.as_str()).collect()),
    ("driver", |project| project.others.iter().map(|driver| driver.name.as_str()).collect()),
    ("adjuster of", |project| project.adjusters.iter().map(|adjuster| adjuster.field.as_str()).collect()),
    ("view", |project| project.views.iter().map(|view| view.name.as_str()).collect()),
    ("pedal", |project| project.pedals.pedals.iter().map(|pedal| pedal.kind.word()).collect()),
    ("weight", |project| project.loads.iter().flat_map(|loads| &loads.weights).map(|it| it.name.as_str()).collect()),
];

/// What came into a list of the project or went from it.
fn lists(before: &Project, after: &Project) -> Option<String> {
    LISTS.into_iter().find_map(|(what, names)| {
        let (old, new) = (names(before), names(after));
        let missing = |of: &[&str], from: &[&str]| of.iter().filter(|name| !from.contains(name)).count();
        let came = new.len().saturating_sub(old.len());
        let went = old.len().saturating_sub(new.len());
        if came == 1 {
            let name = new.iter().find(|name| !old.contains(name)).copied().unwrap_or_default();
            Some(format!("Add {what} {name}").trim_end().to_owned())
        } else if went == 1 {
            let name = old.iter().find(|name| !new.contains(name)).copied().unwrap_or_default();
            Some(format!("Remove {what} {name}").trim_end().to_owned())
        } else if came > 0 {
            Some(format!("Add {came} {what}s"))
        } else if went > 0 {
            Some(format!("Remove {went} {what}s"))
        } else if missing(&new, &old) == 1 {
            let name = new.iter().find(|name| !old.contains(name)).copied().unwrap_or_default();
            Some(format!("Rename {what} {name}"))
        } else {
            None
        }
    })
}

/// Whether a part of two projects differs.
type Differs = fn(&Project, &Project) -> bool;

/// What a choice is called; the first that was made counts.
const CHOICES: [(&str, Differs); 11] = [
    ("Project's name", |a, b| a.title != b.title),
    ("Kind of car", |a, b| a.style != b.style),
    ("Who sits in it", |a, b| a.driver.name != b.driver.name),
    ("Driver", |a, b| a.driver != b.driver || a.others != b.others),
    ("Seat", |a, b| a.seat != b.seat),
    ("Wheel", |a, b| a.wheel != b.wheel || a.wheel_unit != b.wheel_unit),
    ("Pedals", |a, b| a.pedals != b.pedals),
    ("Frame", |a, b| a.frame != b.frame || a.loads != b.loads),
    ("Screens", |a, b| a.screens != b.screens),
    ("Controls", |a, b| a.controls != b.controls),
    ("Adjusters", |a, b| a.adjusters != b.adjusters),
];

/// Which choice was made, where no number changed.
fn choices(before: &Project, after: &Project) -> String {
    let made = CHOICES.iter().find(|(_, differs)| differs(before, after));
    made.map_or("Checks", |(words, _)| words).to_owned()
}

/// Both values, the unit once where the two share it.
fn from_to(unit: Unit, was: f64, now: f64) -> String {
    format!("{} → {}", unit.show(was), unit.show(now))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Control, parse, starter};

    fn project() -> Project {
        parse(starter()).unwrap().into_inner()
    }

    #[test]
    fn a_part_to_begin_with_is_called_by_its_name() {
        let before = project();
        let named = |name: &str| {
            let mut after = before.clone();
            Template::find(name).unwrap().put_into(&mut after);
            change_words(&before, &after)
        };
        // The titles stand in the files of `assets/parts`.
        assert_eq!(named("reclining_road_seat"), "Seat: reclining road seat");
        assert_eq!(named("formula_270"), "Rim: formula rim, 270 × 180 mm");
        assert_eq!(named("three_top_hung"), "Pedal set: three pedals, top-hung");
        let mut after = before.clone();
        Template::find("formula_270").unwrap().put_into(&mut after);
        after.seat.cushion_angle_deg += 1.0;
        assert!(!change_words(&before, &after).contains("formula"), "something else was changed as well");
    }

    #[test]
    fn one_number_is_named_with_both_values() {
        let (before, mut after) = (project(), project());
        after.wheel.column_angle_deg = before.wheel.column_angle_deg + 2.0;
        let words = change_words(&before, &after);
        let value = |project: &Project| Unit::Degree.show(project.wheel.column_angle_deg);
        assert_eq!(words, format!("Wheel, column from horizontal: {} → {}", value(&before), value(&after)));
    }

    #[test]
    fn several_numbers_are_counted_under_what_they_share() {
        let (before, mut after) = (project(), project());
        after.wheel.centre_mm[0] += 5.0;
        after.wheel.centre_mm[2] += 5.0;
        assert_eq!(change_words(&before, &after), "Wheel: 2 numbers");
        after.wheel.tube_mm += 1.0;
        assert_eq!(change_words(&before, &after), "Wheel: 3 numbers");
        after.seat.shell_mm += 1.0;
        assert_eq!(change_words(&before, &after), "4 numbers");
    }

    #[test]
    fn what_came_and_went_is_named() {
        let (before, mut after) = (project(), project());
        let horn = Control { name: "Horn".to_owned(), at_mm: [700.0, 0.0, 700.0], hand: crate::geometry::Side::Left };
        after.controls.push(horn);
        assert_eq!(change_words(&before, &after), "Add control Horn");
        assert_eq!(change_words(&after, &before), "Remove control Horn");
        let mut renamed = after.clone();
        renamed.controls.last_mut().unwrap().name = "Bell".to_owned();
        assert_eq!(change_words(&after, &renamed), "Rename control Bell");
    }

    #[test]
    fn a_choice_is_named() {
        let (mut before, mut after) = (project(), project());
        after.title = "Another".to_owned();
        assert_eq!(change_words(&before, &after), "Project's name");
        let mut shown = before.clone();
        shown.screens = Some(crate::project::Screens::usual());
        assert_eq!(change_words(&before, &shown), "Screens: single screen, 32 inch");
        let mut loaded = before.clone();
        let weight = |name: &str| crate::project::Weight { name: name.to_owned(), kg: 5.0, at_mm: [0.0; 3] };
        loaded.loads = Some(crate::project::FrameLoads::default());
        before.loads.clone_from(&loaded.loads);
        loaded.loads.as_mut().unwrap().weights.push(weight("computer"));
        assert_eq!(change_words(&before, &loaded), "Add weight computer");
    }
}
