//! `heelpoint frame FILE`: how the frame holds, what to cut and what to buy.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::{Ending, Units, print_json, read_driven, wrapped};
use crate::{
    findings::{Finding, Level},
    frame::{CutList, FrameStudy, Lists, Part, Stiffening, Stock, check, check_and_stiffen},
    geometry::Vec3,
    units::{show_cut, show_cuts, show_place, to_mm},
};

/// Say how the frame holds, what to cut and what to buy.
///
/// The exit status is 0 where nothing is outside, 1 where something is or the frame doesn't hold together, 2 for a bad
/// file.
#[derive(Debug, Args)]
pub(super) struct Frame {
    /// The project.
    file: PathBuf,
    /// Of several drivers the one of this name; without it, the one who sits.
    #[arg(long, value_name = "NAME")]
    driver: Option<String>,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
    /// Write cut list, bars, parts and findings as CSV files into this folder; lengths in millimetres, as their columns
    /// say.
    #[arg(long, value_name = "DIR")]
    csv: Option<PathBuf>,
    /// Length of the bars that you buy, mm.
    #[arg(long, value_name = "MM", default_value_t = Stock::default().bar_mm, value_parser = bar_length)]
    bar: f64,
    /// What the saw takes for each cut, mm.
    #[arg(long, value_name = "MM", default_value_t = Stock::default().kerf_mm, value_parser = kerf)]
    kerf: f64,
    /// Leave out the search for what would stiffen it.
    #[arg(long)]
    no_stiffen: bool,
    #[command(flatten)]
    units: Units,
}

fn between(text: &str, low: f64, high: f64) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if (low..=high).contains(&value) => Ok(value),
        _ => Err(format!("write a number of millimetres from {low} to {high}")),
    }
}

fn bar_length(text: &str) -> Result<f64, String> {
    between(text, 200.0, 12_000.0)
}

fn kerf(text: &str) -> Result<f64, String> {
    between(text, 0.0, 20.0)
}

impl Frame {
    pub(super) fn run(self) -> Ending {
        self.units.show();
        let project = match read_driven(&self.file, self.driver.as_deref()) {
            Ok(project) => project,
            Err(ending) => return ending,
        };
        let study = if self.no_stiffen { check(&project) } else { check_and_stiffen(&project) };
        let stock = Stock { bar_mm: self.bar, kerf_mm: self.kerf };
        let lists = Lists::of(&study.duty, &study.built, stock);
        if let Some(folder) = &self.csv
            && let Err(error) = lists.write_csv(folder, &study.findings)
        {
            eprintln!("{}: cannot be written: {error}. Name a folder that you may write to.", folder.display());
            return Ending::Unable;
        }
        if self.json {
            let printed = print_json(&Report::of(&project.title, &study, &lists));
            if printed != Ending::Good {
                return printed;
            }
        } else {
            say!(bare "{}", text(&project.title, &study, &lists));
        }
        if study.worst() == Level::Outside { Ending::Outside } else { Ending::Good }
    }
}

/// The report that a person reads.
fn text(title: &str, study: &FrameStudy, lists: &Lists) -> String {
    let mut out = String::new();
    let mut line = |text: &str| {
        out.push_str(text.trim_end());
        out.push('\n');
    };
    line(&format!("{title}: the frame"));
    let mass = &study.mass;
    line(&format!(
        "{} rail{}, {:.1} kg of them; the rig weighs {:.1} kg without you and {:.1} kg with you.",
        study.duty.rails.len(),
        if study.duty.rails.len() == 1 { "" } else { "s" },
        mass.rails,
        mass.rig,
        mass.driven
    ));
    let [rig, driven] = [mass.rig_at, mass.driven_at].map(show_place);
    line(&format!("Centre of mass {rig} without you, {driven} with you."));
    // What doesn't hold together is told among the findings, but for a frame that isn't there.
    for loose in study.loose.iter().filter(|_| study.findings.is_empty()) {
        for (index, text) in wrapped(&loose.to_string(), 96).iter().enumerate() {
            line(&format!("{} {text}", if index == 0 { Level::Outside.mark() } else { ' ' }));
        }
    }
    for note in &study.notes {
        for text in wrapped(&format!("note: {note}"), 98) {
            line(&format!("  {text}"));
        }
    }
    if !study.findings.is_empty() {
        holds(study, &mut line);
    }
    if !study.duty.rails.is_empty() {
        shopping(lists, &mut line);
    }
    line("");
    for caution in CAUTIONS {
        for text in wrapped(caution, 98) {
            line(&text);
        }
    }
    out
}

/// The findings, each with its sentence.
fn holds(study: &FrameStudy, line: &mut dyn FnMut(&str)) {
    line("");
    line("How it holds");
    for finding in &study.findings {
        line(&format!(
            "{:>3} {} {:<10} {:<42} {:>8}   good: {}{}",
            finding.number,
            finding.level.mark(),
            finding.level.word(),
            finding.title,
            finding.value_words(),
            finding.band.words(),
            if finding.band.overridden { " (your own band)" } else { "" }
        ));
        for text in wrapped(&finding.sentence, 96) {
            line(&format!("      {text}"));
        }
        if let Some((_, stiffening)) = study.stiffenings.iter().find(|(number, _)| *number == finding.number) {
            for (index, text) in wrapped(&stiffening.sentence, 94).iter().enumerate() {
                line(&format!("      {} {text}", if index == 0 { '→' } else { ' ' }));
            }
        }
        if finding.level != Level::Good {
            for text in wrapped(&format!("Source: {}", finding.band.source), 96) {
                line(&format!("      {text}"));
            }
        }
    }
}

/// What to cut and to buy.
fn shopping(lists: &Lists, line: &mut dyn FnMut(&str)) {
    line("");
    line("What to cut");
    for cut in &lists.cut.cuts {
        let mitres = cut.mitre_words();
        let mitres = if mitres.is_empty() { mitres } else { format!(" ({mitres})") };
        let rails = cut.rails.join(", ");
        line(&format!("  {:>3} × {:<14} {:>10}   {rails}{mitres}", cut.count, cut.section, show_cut(cut.length_mm)));
    }
    line("");
    let Stock { bar_mm, kerf_mm } = lists.cut.stock;
    line(&format!("Bars of {} to buy, {} a cut", show_cut(bar_mm), show_cut(kerf_mm)));
    for (section, count) in lists.cut.to_buy() {
        line(&format!("  {count:>3} × {section}"));
        for bar in lists.cut.bars.iter().filter(|bar| bar.section == section) {
            let text = format!("{}; left over {}", show_cuts(&bar.cuts_mm, " + "), show_cut(bar.offcut_mm));
            for (index, text) in wrapped(&text, 88).iter().enumerate() {
                line(&format!("        {}{text}", if index == 0 { "" } else { "  " }));
            }
        }
    }
    for rail in &lists.cut.too_long {
        line(&format!("{} Rail '{rail}' is longer than a bar: buy longer ones, or splice it.", Level::Outside.mark()));
    }
    line("");
    line("What else to buy");
    for part in &lists.parts {
        line(&format!("  {:>3} × {}, {}", part.count, part.part, part.size));
    }
}

/// What can hurt or mislead, at the end of every report.
const CAUTIONS: [&str; 4] = [
    "The joints' stiffness is common practice and not measured; plates, feet on carpet and slots give as well. Expect a \
     built frame to give somewhat more.",
    "Cut ends are sharp: deburr them, put caps on, wear glasses when you saw or drill. Lift a rig in parts or by two.",
    "Tighten every joint before you sit in it, and never adjust one under load: fingers get crushed. Bolt lengths, nuts \
     and torques are your rail's maker's to say.",
    "These figures are for a fixed simulator at home, not for a vehicle, a ride or a moving platform, and no engineer's \
     statement.",
];

/// The report for programs.
#[derive(Serialize)]
struct Report<'a> {
    version: u32,
    title: &'a str,
    worst: Level,
    rails: usize,
    rails_kg: f64,
    rig_kg: f64,
    rig_centre_mm: [f64; 3],
    driven_kg: f64,
    driven_centre_mm: [f64; 3],
    feet_mm: Vec<[f64; 3]>,
    feet_n: Vec<f64>,
    loose: Vec<LooseReport<'a>>,
    notes: &'a [String],
    findings: Vec<FindingReport<'a>>,
    cut: &'a CutList,
    parts: &'a [Part],
}

#[derive(Serialize)]
struct LooseReport<'a> {
    #[serde(flatten)]
    loose: &'a crate::frame::Loose,
    sentence: String,
}

#[derive(Serialize)]
struct FindingReport<'a> {
    #[serde(flatten)]
    finding: &'a Finding,
    stiffening: Option<&'a Stiffening>,
}

impl<'a> Report<'a> {
    fn of(title: &'a str, study: &'a FrameStudy, lists: &'a Lists) -> Self {
        let tenth = |value: f64| (value * 10.0).round() / 10.0;
        let point = |p: Vec3| [p.x, p.y, p.z].map(|value| tenth(to_mm(value)));
        let stiffening = |number: usize| study.stiffenings.iter().find(|(own, _)| *own == number).map(|(_, s)| s);
        Self {
            version: 1,
            title,
            worst: study.worst(),
            rails: study.duty.rails.len(),
            rails_kg: tenth(study.mass.rails),
            rig_kg: tenth(study.mass.rig),
            rig_centre_mm: point(study.mass.rig_at),
            driven_kg: tenth(study.mass.driven),
            driven_centre_mm: point(study.mass.driven_at),
            feet_mm: study.built.feet.iter().map(|foot| point(foot.at)).collect(),
            feet_n: study.answers.feet.iter().map(|&force| tenth(force)).collect(),
            loose: study.loose.iter().map(|loose| LooseReport { loose, sentence: loose.to_string() }).collect(),
            notes: &study.notes,
            findings: study
                .findings
                .iter()
                .map(|finding| FindingReport { finding, stiffening: stiffening(finding.number) })
                .collect(),
            cut: &lists.cut,
            parts: &lists.parts,
        }
    }
}
