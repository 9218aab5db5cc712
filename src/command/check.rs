//! `heelpoint check FILE`: the findings as a table or as JSON.

use std::path::PathBuf;

use clap::Args;

use super::{Ending, Units, note, print_json, progress::Progress, read_driven, wrapped};
use crate::{
    findings::{Group, Level},
    study::{Study, check, check_and_mend},
    uncertainty::sample,
    watch::Watch,
};

/// Check a project and print what was found.
///
/// The exit status is 0 where nothing is outside, 1 where something is, 2 for a bad file.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// The project.
    file: PathBuf,
    /// Of several drivers the one of this name; without it, the one who sits.
    #[arg(long, value_name = "NAME")]
    driver: Option<String>,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
    /// Print only what is not good.
    #[arg(long)]
    brief: bool,
    /// Leave out the search for what to move, which takes the longest.
    #[arg(long)]
    no_mend: bool,
    /// Draw this many bodies and rigs and say how surely each finding holds.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(10..=100_000))]
    draws: Option<u32>,
    /// The same seed gives the same draws.
    #[arg(long, default_value_t = 1, requires = "draws")]
    seed: u64,
    #[command(flatten)]
    units: Units,
}

impl Check {
    pub(super) fn run(self) -> Ending {
        self.units.show();
        let project = match read_driven(&self.file, self.driver.as_deref()) {
            Ok(project) => project,
            Err(ending) => return ending,
        };
        let mut study = if self.no_mend { check(&project) } else { check_and_mend(&project) };
        if let Some(draws) = self.draws {
            let progress = Progress::new("Drawing bodies and rigs", draws as usize);
            // Nobody stops it.
            sample(&mut study, draws as usize, self.seed, &Watch::telling(&|_| progress.step())).ok();
            progress.end();
        }
        if self.json {
            let printed = print_json(&crate::study::Report::of(&study));
            if printed != Ending::Good {
                return printed;
            }
        } else {
            say!(bare "{}", table(&study, self.brief));
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
    if !project.others.is_empty() {
        let names: Vec<&str> = project.others.iter().map(|other| other.name.as_str()).collect();
        line(&format!("  also driven by {} (--driver NAME)", names.join(", ")));
    }
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
            let spread = finding.spread.map_or_else(String::new, |spread| {
                let (sd, share) = (spread.sd_words(finding.band.unit), spread.share_words(finding.level));
                format!(" ± {sd:<7}holds in {share:<6}")
            });
            line(&format!(
                "{:>3} {} {:<10} {:<42} {:>8}{spread}   good: {}{}",
                finding.number,
                finding.level.mark(),
                finding.level.word(),
                clipped(&finding.title, 42),
                finding.value_words(),
                finding.band.words(),
                if finding.band.overridden { " (your own band)" } else { "" }
            ));
            let doubt = finding.spread.and_then(|spread| spread.doubt(finding.level, finding.band.unit));
            if let Some(doubt) = doubt {
                line(&format!("      {doubt}"));
            }
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
    if let Some(sampled) = &study.sampled {
        line("");
        line(&format!(
            "Uncertainty from {} draws of your body and of the rig's numbers, seed {}.",
            sampled.draws, sampled.seed
        ));
        for advice in &sampled.advice {
            for (index, text) in wrapped(&advice.sentence, 96).iter().enumerate() {
                line(&format!("{} {text}", if index == 0 { '→' } else { ' ' }));
            }
        }
        if sampled.advice.is_empty() {
            line("No further measurement of the body would narrow what is doubtful by much.");
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
