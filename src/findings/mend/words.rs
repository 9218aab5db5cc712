//! Mends in words.

use super::{Effect, Finding, Level, Rates, choose::Plan, rates::Adjuster};

/// Effects that a sentence says at most, unless more figures lose a level.
const SAID: usize = 4;

/// "Move the seat slider back by 18 mm: right knee angle then 128°; left wrist flexion loses 3°."
pub(super) fn sentence(finding: &Finding, plan: &Plan, rates: &Rates, then: f64, effects: &[Effect]) -> String {
    let moves = plan.moves.iter().map(|&(index, by)| one(&rates.adjusters[index], by));
    let mut out = format!("Move {}: {} then {}", moves.collect::<Vec<_>>().join(" and "), begun(&finding.title), {
        finding.band.unit.show(then)
    });
    if Level::of(then, &finding.band) == Level::Borderline {
        out.push_str(", still borderline");
    }
    let told = told(effects);
    let worse = told.iter().take_while(|(lost, _)| *lost).count();
    let said = told.len().min(SAID.max(worse));
    for (index, (_, words)) in told[..said].iter().enumerate() {
        out.push_str(if index == 0 { "; " } else { ", " });
        out.push_str(words);
    }
    match told.len() - said {
        0 => {}
        1 => out.push_str(", and one more changes a little"),
        more => out.push_str(&format!(", and {more} more change a little")),
    }
    out.push('.');
    out
}

/// "the seat slider back by 18 mm".
fn one(adjuster: &Adjuster, by: f64) -> String {
    let adjust = adjuster.adjust;
    let way = if by > 0.0 { adjust.up } else { adjust.down };
    let name = if adjuster.path.starts_with("pedals.pedals[") {
        adjust.name.replace("the pedal", &format!("the {}", adjuster.part.to_lowercase()))
    } else {
        adjust.name.to_owned()
    };
    format!("{name} {way} by {}", adjuster.unit.show(by.abs()))
}

/// A title inside a sentence.
fn begun(title: &str) -> String {
    let mut chars = title.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}

/// Each effect in words, and whether its figure loses a level; both sides of the body at once where they do the same.
fn told(effects: &[Effect]) -> Vec<(bool, String)> {
    let mut out: Vec<(bool, String)> = Vec::new();
    let mut done = vec![false; effects.len()];
    for (index, effect) in effects.iter().enumerate() {
        if done[index] {
            continue;
        }
        let change = change(effect);
        let (name, other) = match sides(&effect.title) {
            Some((bare, twin)) => {
                let same = |other: &Effect| other.title == twin && self::change(other) == change;
                let twin = effects[index + 1..].iter().position(same).map(|at| index + 1 + at);
                (if twin.is_some() { format!("{bare} (both sides)") } else { begun(&effect.title) }, twin)
            }
            None => (begun(&effect.title), None),
        };
        if let Some(other) = other {
            done[other] = true;
        }
        out.push((effect.level > effect.was, format!("{name} {change}")));
    }
    out
}

/// A title without its side, and that of the other side.
fn sides(title: &str) -> Option<(&str, String)> {
    let (side, bare) = title.split_once(' ')?;
    match side {
        "Left" => Some((bare, format!("Right {bare}"))),
        "Right" => Some((bare, format!("Left {bare}"))),
        _ => None,
    }
}

/// "gains 4 mm", "loses 3° and is borderline".
fn change(effect: &Effect) -> String {
    let by = effect.to - effect.from;
    let verb = if by > 0.0 { "gains" } else { "loses" };
    let amount = effect.unit.show(by.abs());
    match (amount == effect.unit.show(0.0), effect.level == effect.was) {
        (_, true) => format!("{verb} {amount}"),
        (false, false) => format!("{verb} {amount} and is {}", effect.level.word()),
        (true, false) => format!("is just {}", effect.level.word()),
    }
}
