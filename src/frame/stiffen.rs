//! What stiffens a frame most cheaply: brackets and larger sections at what gives most, each tried by solving again.

use super::{Answers, Built, Duty, Giver, Tie, answer::answers};
use crate::{
    findings::Level,
    project::{Band, JointKind, Rail, RailJoint, RailSection, sections},
    units::Unit,
};

/// A change of a frame and what it does to one figure.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Stiffening {
    /// The rail that is changed.
    pub rail: String,
    /// What to do: "Give rail 'x' two more brackets at each end".
    pub what: String,
    /// What it adds, kg.
    pub adds_kg: f64,
    /// The figure before, in its band's unit.
    pub before: f64,
    /// The figure afterwards, solved again.
    pub then: f64,
    /// Its level afterwards.
    pub level: Level,
    /// In words.
    pub sentence: String,
}

/// Mass of a bracket with bolts and nuts, kg: own estimate.
const BRACKET: f64 = 0.12;
/// A change that does less than this share isn't worth its parts.
const WORTH: f64 = 0.05;
/// Givers that are looked at, and changes tried at each.
const GIVERS: usize = 4;

/// One change.
struct Change {
    rail: usize,
    new: Rail,
    what: String,
    adds_kg: f64,
}

/// The cheapest change that betters a figure's level, or the one that does most; `None` where none is worth it.
pub(super) fn stiffening(
    duty: &Duty,
    built: &Built,
    givers: &[(Giver, f64)],
    band: &Band,
    figure: &dyn Fn(&Answers) -> Option<f64>,
    before: f64,
) -> Option<Stiffening> {
    let former = Level::of(before, band);
    // A frequency is to rise, a give to fall.
    let better_by = |then: f64| if band.good[0].is_some() { then - before } else { before - then };
    let tried = changes(duty, built, givers).into_iter().filter_map(|change| {
        let mut duty = duty.clone();
        duty.rails[change.rail] = change.new.clone();
        let built = Built::of(&duty);
        let then = figure(&answers(&duty, &built))?;
        (better_by(then) > WORTH * before).then_some((change, then))
    });
    let tried: Vec<(Change, f64)> = tried.collect();
    let better = tried.iter().filter(|(_, then)| Level::of(*then, band) < former);
    let cheapest = better.min_by(|a, b| {
        (Level::of(a.1, band), a.0.adds_kg)
            .partial_cmp(&(Level::of(b.1, band), b.0.adds_kg))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let (change, then) = cheapest.or_else(|| tried.iter().max_by(|a, b| better_by(a.1).total_cmp(&better_by(b.1))))?;
    let show = |value: f64| band.unit.show(value);
    let sentence = format!(
        "{}: {} instead of {}, for {} more.",
        change.what,
        show(*then),
        show(before),
        Unit::Kilogram.show(change.adds_kg)
    );
    Some(Stiffening {
        rail: duty.rails[change.rail].name.clone(),
        what: change.what.clone(),
        adds_kg: (change.adds_kg * 100.0).round() / 100.0,
        before,
        then: *then,
        level: Level::of(*then, band),
        sentence,
    })
}

fn changes(duty: &Duty, built: &Built, givers: &[(Giver, f64)]) -> Vec<Change> {
    let mut out: Vec<Change> = Vec::new();
    for (giver, _) in givers.iter().take(GIVERS) {
        let rail = match *giver {
            Giver::Bending(rail) | Giver::Twist(rail) | Giver::Stretch(rail) => {
                larger(duty, rail, &mut out);
                continue;
            }
            Giver::Joint(joint) => match built.joints[joint].tie {
                Tie::Rails { guest, .. } => guest,
                Tie::Part { .. } => continue,
            },
            Giver::Feet => continue,
        };
        let own = &duty.rails[rail];
        let joint = own.joined();
        // A measured joint is as it is.
        if joint.turn_nm_per_rad.is_some() {
            continue;
        }
        let had = match joint.kind {
            JointKind::Bracket => joint.pieces.unwrap_or(2),
            JointKind::Pivot => joint.pieces.unwrap_or(1),
            JointKind::Butt | JointKind::EndToFace => 0,
        };
        let pieces = (had + 2).max(if had == 0 { 4 } else { 0 });
        if pieces > 8 {
            continue;
        }
        let what = if had == 0 {
            format!("Hold each end of rail '{}' with {pieces} brackets", own.name)
        } else {
            format!("Give rail '{}' two more brackets at each end", own.name)
        };
        let kind = if joint.kind == JointKind::Pivot { JointKind::Pivot } else { JointKind::Bracket };
        let joint = Some(RailJoint { kind, pieces: Some(pieces), turn_nm_per_rad: None });
        let adds_kg = 2.0 * BRACKET * f64::from(pieces - had);
        push(&mut out, Change { rail, new: Rail { joint, ..own.clone() }, what, adds_kg });
    }
    out
}

/// Equal as sizes of sections are, mm.
fn equal(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.1
}

/// The heavier section of the same size, and the next larger size both ways.
fn larger(duty: &Duty, rail: usize, out: &mut Vec<Change>) {
    let own = &duty.rails[rail];
    let now = RailSection::of(own);
    for section in sections().iter().filter(|section| equal(section.pitch_mm, now.pitch_mm)) {
        let [small, large] = section.size_mm();
        let same = equal(small, now.across_mm) && equal(large, now.upright_mm);
        let next = equal(small, now.across_mm) && equal(large, now.upright_mm + now.pitch_mm);
        let grade = |name: &str| name.rsplit('-').next().map(str::to_owned);
        let heavier = same && section.kg_per_m > now.kg_per_m + 1e-6;
        let alike = grade(&section.name) == grade(&now.name);
        if !(heavier || next && alike) {
            continue;
        }
        let adds_kg = own.length() * (section.kg_per_m - now.kg_per_m);
        let mut sizes = vec![own.section_mm];
        if next {
            sizes = if own.section_mm[0] > own.section_mm[1] { vec![[large, small]] } else { vec![[small, large]] };
            if equal(own.section_mm[0], own.section_mm[1]) {
                sizes = vec![[small, large], [large, small]];
            }
        }
        for size in sizes {
            let lying = if next && size[0] > size[1] { ", its wider side across" } else { "" };
            let what = format!("Make rail '{}' of {}{lying} instead of {}", own.name, section.name, now.name);
            let new = Rail { section: Some(section.name.clone()), section_mm: size, ..own.clone() };
            push(out, Change { rail, new, what, adds_kg });
        }
    }
}

fn push(out: &mut Vec<Change>, change: Change) {
    if out.iter().all(|known| known.what != change.what) {
        out.push(change);
    }
}
