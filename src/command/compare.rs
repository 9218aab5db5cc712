//! `heelpoint compare A B`: every finding that differs between two projects.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::{Ending, Units, print_json, read_driven};
use crate::{
    findings::{Finding, Group, Level},
    frame,
    project::Checked,
    study,
};

/// Compare two projects: every finding that differs, in one table, posture to frame.
///
/// The exit status is 0, also where they differ; 2 for a bad file.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// The one project.
    one: PathBuf,
    /// The other one.
    other: PathBuf,
    /// Of several drivers the one of this name, in both; without it, those who sit.
    #[arg(long, value_name = "NAME")]
    driver: Option<String>,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    units: Units,
}

impl Compare {
    pub(super) fn run(self) -> Ending {
        self.units.show();
        let read = |path: &PathBuf| read_driven(path, self.driver.as_deref());
        let (one, other) = match (read(&self.one), read(&self.other)) {
            (Ok(one), Ok(other)) => (one, other),
            (Err(ending), _) | (_, Err(ending)) => return ending,
        };
        let rows = differences(&all(&one), &all(&other));
        let report = Report { version: 1, one: &one.title, other: &other.title, differences: &rows };
        if self.json {
            return print_json(&report);
        }
        say!(bare "{}", text(&report));
        Ending::Good
    }
}

/// All findings of a project, the frame's behind the others.
fn all(project: &Checked) -> Vec<Finding> {
    let mut findings = study::check(project).findings;
    // Of rails without joints the frame is asked for here alone.
    if !project.describes_frame() {
        findings.extend(frame::check(project).findings);
    }
    findings
}

/// A finding as one of two projects has it.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Side {
    level: Level,
    value: f64,
    words: String,
}

impl Side {
    fn of(finding: &Finding) -> Self {
        Self { level: finding.level, value: finding.value, words: finding.value_words() }
    }
}

/// A finding that differs; `None` on the side that doesn't have it.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Difference {
    key: String,
    title: String,
    group: Group,
    one: Option<Side>,
    other: Option<Side>,
}

#[derive(Serialize)]
struct Report<'a> {
    version: u32,
    one: &'a str,
    other: &'a str,
    differences: &'a [Difference],
}

/// Findings that differ in what is read of them, in reading order.
fn differences(one: &[Finding], other: &[Finding]) -> Vec<Difference> {
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

fn text(report: &Report) -> String {
    let mut out = format!("one:   {}\nother: {}\n", report.one, report.other);
    if report.differences.is_empty() {
        out.push_str("No finding differs.\n");
    }
    for group in Group::ALL {
        let rows: Vec<&Difference> = report.differences.iter().filter(|row| row.group == group).collect();
        if rows.is_empty() {
            continue;
        }
        out.push_str(&format!("\n{:<46} {:>12}   {:>12}\n", group.title(), "one", "other"));
        for row in rows {
            let side = |side: &Option<Side>| {
                side.as_ref().map_or_else(|| "—".to_owned(), |side| format!("{} {}", side.level.mark(), side.words))
            };
            let better = match (&row.one, &row.other) {
                (Some(one), Some(other)) if other.level < one.level => "  better",
                (Some(one), Some(other)) if other.level > one.level => "  worse",
                _ => "",
            };
            out.push_str(&format!("{:<46} {:>12}   {:>12}{better}\n", row.title, side(&row.one), side(&row.other)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{fields, parse};

    fn club() -> Checked {
        parse(include_str!("../../assets/club_rig.ron")).unwrap()
    }

    #[test]
    fn a_project_does_not_differ_from_itself() {
        let findings = all(&club());
        assert!(differences(&findings, &findings).is_empty());
        let report = Report { version: 1, one: "a", other: "a", differences: &[] };
        assert!(text(&report).ends_with("No finding differs.\n"));
    }

    /// A stronger brake changes what is pressed and what gives, and nothing about the wheel.
    #[test]
    fn a_stronger_brake_differs_in_load_and_frame_alone() {
        let one = club();
        let mut other = one.clone().into_inner();
        fields(&mut other, &mut |field| {
            if field.path == "pedals.pedals[0].working_force_n" {
                *field.value = 1400.0;
            }
        });
        let rows = differences(&all(&one), &all(&Checked::new(other).unwrap()));
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
        let report = Report { version: 1, one: "a", other: "b", differences: &rows };
        assert!(text(&report).contains("worse"));
    }
}
