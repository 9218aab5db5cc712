//! Two projects beside one another: every finding that differs, and which way.

use serde::Serialize;

use crate::{
    findings::{Finding, Group, Level},
    frame,
    project::{Checked, Project, fields},
    study::{self, Study},
    units::Unit,
};

/// All findings of a project, the frame's behind the others.
pub fn all_findings(project: &Checked) -> Vec<Finding> {
    with_frame(&study::check(project))
}

/// All findings of a study, with the frame's where the check leaves it out.
pub fn with_frame(study: &Study) -> Vec<Finding> {
    let mut findings = study.findings.clone();
    let project = &study.solved.project;
    // Of rails without joints the frame is asked for here alone.
    if !project.describes_frame() {
        findings.extend(frame::check(project).findings);
    }
    findings
}

/// A finding as one of two projects has it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Side {
    /// How it stands.
    pub level: Level,
    /// The figure, in the finding's unit.
    pub value: f64,
    /// The same as a reader wants it.
    pub words: String,
    #[serde(skip)]
    strain: f64,
}

impl Side {
    fn of(finding: &Finding) -> Self {
        let (level, value) = (finding.level, finding.value);
        Self { level, value, words: finding.value_words(), strain: strain(finding) }
    }
}

/// How far a value lies beyond what is good, as a share of the way to the limit; 0 where it is good.
fn strain(finding: &Finding) -> f64 {
    let (value, band) = (finding.value, &finding.band);
    let beyond = |good: Option<f64>, limit: Option<f64>, sign: f64| {
        let good = good?;
        let way = limit.map_or(0.0, |limit| (limit - good).abs());
        // Where nothing is borderline, shares of the figure itself.
        let way = if way > 0.0 { way } else { good.abs().max(1e-9) };
        Some((sign * (value - good) / way).max(0.0))
    };
    let below = beyond(band.good[0], band.limit[0], -1.0).unwrap_or(0.0);
    let above = beyond(band.good[1], band.limit[1], 1.0).unwrap_or(0.0);
    below.max(above)
}

/// A finding that differs; `None` on the side that doesn't have it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// What tells the finding from every other.
    pub key: String,
    /// What it is about.
    pub title: String,
    /// Its group.
    pub group: Group,
    /// In the one project.
    pub one: Option<Side>,
    /// In the other one.
    pub other: Option<Side>,
}

/// Which way a finding goes from the one project to the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Its level is a worse one.
    Worse,
    /// Its level is a better one.
    Better,
    /// Its level is the same, or only one of them has it.
    Same,
}

impl Difference {
    /// Which way its level goes.
    pub fn way(&self) -> Way {
        match (&self.one, &self.other) {
            (Some(one), Some(other)) if other.level < one.level => Way::Better,
            (Some(one), Some(other)) if other.level > one.level => Way::Worse,
            _ => Way::Same,
        }
    }

    /// How much worse the other project is, levels before shares of a band; what one of them doesn't have counts as good.
    pub fn worse_by(&self) -> f64 {
        let ill = |side: &Option<Side>| {
            side.as_ref().map_or(0.0, |side| f64::from(side.level as u8) * 10.0 + side.strain.min(9.0))
        };
        ill(&self.other) - ill(&self.one)
    }
}

/// Findings that differ in what is read of them, in reading order.
pub fn differences(one: &[Finding], other: &[Finding]) -> Vec<Difference> {
    let find = |list: &[Finding], key: &str| list.iter().find(|finding| finding.key() == key).map(Side::of);
    let mut out: Vec<Difference> = Vec::new();
    for finding in one.iter().chain(other) {
        let key = finding.key();
        let sides = [find(one, &key), find(other, &key)];
        let same = match &sides {
            [Some(a), Some(b)] => a.words == b.words && a.level == b.level,
            _ => false,
        };
        if same || out.iter().any(|row| row.key == key) {
            continue;
        }
        let [one, other] = sides;
        out.push(Difference { key, title: finding.title.clone(), group: finding.group, one, other });
    }
    out.sort_by_key(|row| row.group);
    out
}

/// The same with what gets worse first, most before least, and what gets better last.
pub fn worst_first(mut rows: Vec<Difference>) -> Vec<Difference> {
    rows.sort_by(|a, b| b.worse_by().total_cmp(&a.worse_by()));
    rows
}

/// A number that differs; `None` in the project that doesn't have it.
#[derive(Clone, Debug, PartialEq)]
pub struct Changed {
    /// The part: "Cushion", "Rail: left base".
    pub part: String,
    /// Its label.
    pub label: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// In the one project and in the other one.
    pub values: [Option<f64>; 2],
}

/// Numbers that differ between two projects, in the order in which a rig is fitted. Rails, controls and other parts of
/// which there are several are told apart by their names.
pub fn changed(one: &Project, other: &Project) -> Vec<Changed> {
    // Every part of a list carries its name, so that its place there says nothing more.
    let key = |part: &str, path: &str| {
        let named =
            path.split_once('[').filter(|(_, rest)| rest.contains("].")).and_then(|(_, rest)| rest.split_once("]."));
        format!("{part}|{}", named.map_or(path, |(_, within)| within))
    };
    let mut rows: Vec<Changed> = Vec::new();
    let mut places = std::collections::HashMap::new();
    fields(&mut one.clone(), &mut |field| {
        places.insert(key(&field.part, &field.path), rows.len());
        let values = [Some(*field.value), None];
        rows.push(Changed { part: field.part, label: field.label, unit: field.unit, values });
    });
    let mut added = Vec::new();
    fields(&mut other.clone(), &mut |field| {
        let value = Some(*field.value);
        if let Some(at) = places.remove(&key(&field.part, &field.path)) {
            rows[at].values[1] = value;
        } else {
            added.push(Changed { part: field.part, label: field.label, unit: field.unit, values: [None, value] });
        }
    });
    let differs = |row: &Changed| match row.values {
        [Some(a), Some(b)] => (a - b).abs() > 1e-9,
        _ => true,
    };
    rows.into_iter().filter(differs).chain(added).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{fields, parse};

    fn club() -> Checked {
        parse(include_str!("../assets/club_rig.ron")).unwrap()
    }

    fn with_brake(newtons: f64) -> Checked {
        let mut project = club().into_inner();
        fields(&mut project, &mut |field| {
            if field.path == "pedals.pedals[0].working_force_n" {
                *field.value = newtons;
            }
        });
        Checked::new(project).unwrap()
    }

    #[test]
    fn a_project_does_not_differ_from_itself() {
        let findings = all_findings(&club());
        assert!(differences(&findings, &findings).is_empty());
    }

    #[test]
    fn numbers_that_were_changed_are_told_with_both_values() {
        let rows = changed(&club(), &with_brake(1400.0));
        assert_eq!(rows.len(), 1, "{rows:?}");
        assert_eq!((rows[0].label, rows[0].values), ("Working force", [Some(900.0), Some(1400.0)]));
        let mut more = club().into_inner();
        more.mirror_rail(0);
        let rows = changed(&club(), &more);
        assert!(!rows.is_empty() && rows.iter().all(|row| row.values[0].is_none()), "only the new rail's numbers");
        // One that goes takes none of the others' numbers with it, wherever they stand in the list.
        let mut fewer = club().into_inner();
        fewer.remove_rail(fewer.frame.len() - 2);
        let rows = changed(&club(), &fewer);
        assert!(!rows.is_empty() && rows.iter().all(|row| row.part.starts_with("Rail: ")), "{rows:?}");
    }

    /// A stronger brake changes what is pressed and what gives, and nothing about the wheel.
    #[test]
    fn a_stronger_brake_differs_in_load_and_frame_alone() {
        let rows = differences(&all_findings(&club()), &all_findings(&with_brake(1400.0)));
        assert!(rows.iter().all(|row| matches!(row.group, Group::Load | Group::Frame)), "{rows:?}");
        let row = |key: &str| rows.iter().find(|row| row.key == key).unwrap();
        let force = row("brake_force");
        assert_eq!(
            (force.one.as_ref().unwrap().words.as_str(), force.other.as_ref().unwrap().words.as_str()),
            ("900 N", "1400 N")
        );
        // Give grows as the force does: 1400/900, linear.
        let give = row("pedal_flex.Brake");
        let [a, b] = [&give.one, &give.other].map(|side| side.as_ref().unwrap().value);
        assert!((b / a - 1400.0 / 900.0).abs() < 0.02, "{a} {b}");
        assert!(rows.iter().all(|row| row.key != "wheel_flex"));
    }

    #[test]
    fn what_gets_worse_comes_first_and_turning_round_turns_the_order_round() {
        let (one, other) = (all_findings(&club()), all_findings(&with_brake(1400.0)));
        let rows = worst_first(differences(&one, &other));
        let back = worst_first(differences(&other, &one));
        let last_worse = rows.iter().rposition(|row| row.way() == Way::Worse).unwrap();
        let first_better = rows.iter().position(|row| row.way() == Way::Better).unwrap_or(rows.len());
        assert!(last_worse < first_better);
        assert_eq!(back.last().unwrap().way(), Way::Better, "what got worse first gets better last");
        let give = rows.iter().find(|row| row.key == "pedal_flex.Brake").unwrap();
        let give_back = back.iter().find(|row| row.key == "pedal_flex.Brake").unwrap();
        assert!(give.worse_by() > 0.0 && (give.worse_by() + give_back.worse_by()).abs() < 1e-12);
    }
}
