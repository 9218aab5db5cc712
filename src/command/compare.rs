//! `heelpoint compare A B`: every finding that differs between two projects.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::{Ending, Units, print_json, read_driven};
use crate::{
    compare::{Difference, Side, Way, all_findings, differences},
    findings::Group,
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
        let rows = differences(&all_findings(&one), &all_findings(&other));
        let report = Report { version: 1, one: &one.title, other: &other.title, differences: &rows };
        if self.json {
            return print_json(&report);
        }
        say!(bare "{}", text(&report));
        Ending::Good
    }
}

#[derive(Serialize)]
struct Report<'a> {
    version: u32,
    one: &'a str,
    other: &'a str,
    differences: &'a [Difference],
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
            let better = match row.way() {
                Way::Better => "  better",
                Way::Worse => "  worse",
                Way::Same => "",
            };
            out.push_str(&format!("{:<46} {:>12}   {:>12}{better}\n", row.title, side(&row.one), side(&row.other)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        findings::Level,
        project::{Checked, parse},
    };

    #[test]
    fn differences_are_told_by_group_and_with_their_way() {
        let club = parse(include_str!("../../assets/club_rig.ron")).unwrap();
        let one = all_findings(&club);
        let report = |rows| text(&Report { version: 1, one: "a", other: "b", differences: rows });
        assert!(report(&[]).ends_with("No finding differs.\n"));
        let mut other = club.into_inner();
        other.pedals.pedals[0].working_force_n = 1400.0;
        let rows = differences(&one, &all_findings(&Checked::new(other).unwrap()));
        let told = report(&rows);
        assert!(told.contains("  worse") && told.contains(Level::Outside.mark()), "{told}");
    }
}
