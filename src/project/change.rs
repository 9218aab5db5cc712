//! What a step has changed, in a few words.

use super::{Page, Project, fields};
use crate::units::Unit;

/// What was changed from one project to another, as the name of a step: "Wheel centre, up: 690 → 700 mm".
pub fn change_words(before: &Project, after: &Project) -> String {
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
            format!("{}, {}: {}", whose(*page, part), lower(label), from_to(*unit, *was, *now))
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

/// What came into a list of the project or went from it.
fn lists(before: &Project, after: &Project) -> Option<String> {
    fn names<'a>(list: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
        list.collect()
    }
    let pairs = [
        (
            "rail",
            names(before.frame.iter().map(|rail| rail.name.as_str())),
            names(after.frame.iter().map(|rail| rail.name.as_str())),
        ),
        (
            "control",
            names(before.controls.iter().map(|control| control.name.as_str())),
            names(after.controls.iter().map(|control| control.name.as_str())),
        ),
        (
            "part",
            names(before.shapes.iter().map(|shape| shape.name.as_str())),
            names(after.shapes.iter().map(|shape| shape.name.as_str())),
        ),
        (
            "driver",
            names(before.others.iter().map(|driver| driver.name.as_str())),
            names(after.others.iter().map(|driver| driver.name.as_str())),
        ),
        (
            "adjuster of",
            names(before.adjusters.iter().map(|adjuster| adjuster.field.as_str())),
            names(after.adjusters.iter().map(|adjuster| adjuster.field.as_str())),
        ),
        (
            "view",
            names(before.views.iter().map(|view| view.name.as_str())),
            names(after.views.iter().map(|view| view.name.as_str())),
        ),
        (
            "pedal",
            names(before.pedals.pedals.iter().map(|pedal| pedal.kind.word())),
            names(after.pedals.pedals.iter().map(|pedal| pedal.kind.word())),
        ),
    ];
    pairs.into_iter().find_map(|(what, old, new)| {
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

/// Which choice was made, where no number changed.
fn choices(before: &Project, after: &Project) -> String {
    let words = if before.title != after.title {
        "Project's name"
    } else if before.style != after.style {
        "Kind of car"
    } else if before.driver != after.driver && before.driver.name != after.driver.name {
        "Who sits in it"
    } else if before.driver != after.driver || before.others != after.others {
        "Driver"
    } else if before.seat != after.seat {
        "Seat"
    } else if before.wheel != after.wheel || before.wheel_unit != after.wheel_unit {
        "Wheel"
    } else if before.pedals != after.pedals {
        "Pedals"
    } else if before.frame != after.frame || before.loads != after.loads {
        "Frame"
    } else if before.controls != after.controls {
        "Controls"
    } else if before.adjusters != after.adjusters {
        "Adjusters"
    } else {
        "Checks"
    };
    words.to_owned()
}

/// Both values, the unit once where the two share it.
fn from_to(unit: Unit, was: f64, now: f64) -> String {
    format!("{} → {}", unit.show(was), unit.show(now))
}

fn lower(label: &str) -> String {
    let mut letters = label.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Control, parse, starter};

    fn project() -> Project {
        parse(starter()).unwrap().into_inner()
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
        let (before, mut after) = (project(), project());
        after.title = "Another".to_owned();
        assert_eq!(change_words(&before, &after), "Project's name");
    }
}
