//! `heelpoint check FILE`: the findings as a table or as JSON.

use std::path::PathBuf;

use clap::Args;

use super::{Ending, note, print_json, read, wrapped};
use crate::{
    findings::{Group, Level},
    study::{Study, check, check_and_mend},
};

/// Check a project and print what was found.
///
/// The exit status is 0 where nothing is outside, 1 where something is, 2 for a bad file.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// The project.
    file: PathBuf,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
    /// Print only what is not good.
    #[arg(long)]
    brief: bool,
    /// Leave out the search for what to move, which takes the longest.
    #[arg(long)]
    no_mend: bool,
}

impl Check {
    pub(super) fn run(self) -> Ending {
        let (project, _) = match read(&self.file) {
            Ok(read) => read,
            Err(ending) => return ending,
        };
        let study = if self.no_mend { check(&project) } else { check_and_mend(&project) };
        if self.json {
            let printed = print_json(&crate::study::Report::of(&study));
            if printed != Ending::Good {
                return printed;
            }
        } else {
            print!("{}", table(&study, self.brief));
        }
        if study.worst() == Level::Outside { Ending::Outside } else { Ending::Good }
    }
}

/// The findings as a table that a person can read.
pub(super) fn table(study: &Study, brief: bool) -> String {
    let mut out = String::new();
    let mut line = |text: &str| {
        out.push_str(text.trim_end());
        out.push('\n');
    };
    let project = &study.solved.project;
    line(&format!("{}: {} in this rig", project.title, project.driver.name));
    for warning in study.solved.body.dimensions.warnings() {
        for text in wrapped(&note(warning), 98) {
            line(&format!("  {text}"));
        }
    }
    let count = |level: Level| study.findings.iter().filter(|finding| finding.level == level).count();
    line(&format!(
        "{} good, {} borderline, {} outside",
        count(Level::Good),
        count(Level::Borderline),
        count(Level::Outside)
    ));
    for group in Group::ALL {
        let mut headed = false;
        for finding in study.findings.iter().filter(|finding| finding.group == group) {
            if brief && finding.level == Level::Good {
                continue;
            }
            if !headed {
                line("");
                line(group.title());
                headed = true;
            }
            line(&format!(
                "{:>3} {} {:<10} {:<42} {:>8}   good: {}{}",
                finding.number,
                finding.level.mark(),
                finding.level.word(),
                clipped(&finding.title, 42),
                finding.value_words(),
                finding.band.words(),
                if finding.band.overridden { " (your own band)" } else { "" }
            ));
            if finding.level != Level::Good {
                for text in wrapped(&finding.sentence, 96) {
                    line(&format!("      {text}"));
                }
                if let Some(mend) = &finding.mend {
                    for text in wrapped(&mend.sentence, 94) {
                        line(&format!("      → {text}"));
                    }
                }
                for text in wrapped(&format!("Source: {}", finding.band.source), 96) {
                    line(&format!("      {text}"));
                }
            }
        }
    }
    line("");
    line("These figures are for a fixed simulator and are advice, not a medical or engineering statement.");
    line("Strong wheel torque and pedal forces can hurt: see the cautions in the README.");
    out
}

fn clipped(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut out: String = text.chars().take(most - 1).collect();
    out.push('…');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_sentences_are_broken_between_words() {
        assert_eq!(wrapped("one two three", 7), ["one two", "three"]);
        assert_eq!(clipped("abcdef", 4), "abc…");
    }
}
