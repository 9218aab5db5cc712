//! Numbers that were typed and are not part of the sound project: refused by the checks, unreadable, or half typed.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Project, fields};
use crate::{
    units::{System, Unit, typed},
    words::first_lower,
};

/// One of them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pending {
    /// The number's field: `wheel.centre_mm[2]`.
    pub path: String,
    /// What stands in its place. A bare number is in the unit that was shown.
    pub text: String,
}

/// What a refused draft has otherwise than the last sound project, number by number.
pub fn pending(draft: &Project, good: &Project) -> Vec<Pending> {
    if draft == good {
        return Vec::new();
    }
    let mut good = good.clone();
    let mut sound = BTreeMap::new();
    fields(&mut good, &mut |field| {
        sound.insert(field.path, *field.value);
    });
    let mut list = Vec::new();
    fields(&mut draft.clone(), &mut |field| {
        if sound.get(&field.path).is_some_and(|was: &f64| was.to_bits() != field.value.to_bits())
            && field.value.is_finite()
        {
            // With its unit, for whoever reads it may have inches shown.
            let unit = match field.unit {
                Unit::Millimetre | Unit::FineMillimetre => " mm",
                _ => "",
            };
            list.push(Pending { path: field.path, text: format!("{}{unit}", *field.value) });
        }
    });
    list
}

/// Puts what can be read into a draft, sound or not; returns what cannot, and what has no place in it any more.
pub fn put_back(list: &[Pending], draft: &mut Project, system: System) -> Vec<Pending> {
    let mut left = list.to_vec();
    fields(draft, &mut |field| {
        let Some(index) = left.iter().position(|pending| pending.path == field.path) else { return };
        if let Ok(value) = typed::read(&left[index].text, field.unit, system) {
            *field.value = value;
            left.remove(index);
        }
    });
    left
}

/// Each as a line: where it stands, and what.
pub fn pending_words(list: &[Pending], draft: &Project) -> Vec<String> {
    let mut lines = Vec::new();
    fields(&mut draft.clone(), &mut |field| {
        let there = list.iter().find(|pending| pending.path == field.path);
        lines.extend(there.map(|pending| {
            let place = if field.part.is_empty() { String::new() } else { format!("{}, ", field.part) };
            format!("{}: {place}{}: “{}”", field.page.title(), first_lower(field.label), pending.text)
        }));
    });
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Checked, parse, starter};

    #[test]
    fn what_was_refused_comes_back_to_its_place_and_is_refused_again() {
        let good = parse(starter()).unwrap().into_inner();
        let mut draft = good.clone();
        // A cushion of 12 m, and a wheel a little higher: with the first the second is not taken either.
        draft.seat.cushion.length_mm = 12_000.0;
        draft.wheel.centre_mm[2] += 5.5;
        let kept = pending(&draft, &good);
        let paths: Vec<&str> = kept.iter().map(|pending| pending.path.as_str()).collect();
        assert_eq!(paths, ["seat.cushion.length_mm", "wheel.centre_mm[2]"]);
        assert_eq!(kept[0].text, "12000 mm");
        for system in System::ALL {
            let mut again = good.clone();
            assert_eq!(put_back(&kept, &mut again, system), []);
            assert_eq!(again, draft, "whatever is shown");
            assert!(Checked::new(again).unwrap_err().iter().any(|fault| fault.path == "seat.cushion.length_mm"));
        }
        assert_eq!(pending(&good, &good), []);
    }

    #[test]
    fn what_cannot_be_read_is_given_back_as_it_was_typed() {
        let good = parse(starter()).unwrap().into_inner();
        let entry = |path: &str, text: &str| Pending { path: path.to_owned(), text: text.to_owned() };
        let list = [entry("wheel.tube_mm", "abuot 30"), entry("nowhere", "3"), entry("seat.shell_mm", "1/4 in")];
        let mut draft = good.clone();
        assert_eq!(put_back(&list, &mut draft, System::Metric), list[..2]);
        assert_eq!(pending_words(&list[..1], &good), ["Wheel: Rim, grip thickness: “abuot 30”"]);
        // A quarter of 25.4 mm.
        assert!((draft.seat.shell_mm - 6.35).abs() < 1e-12);
    }
}
