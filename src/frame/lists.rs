//! What to cut and to buy, together, and as files for a spreadsheet.

use std::{fs, io, path::Path};

use super::{Built, CutList, Duty, Mass, Part, Stock, parts};
use crate::{findings::Finding, project::Checked, units::Unit};

/// What to cut and to buy for a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Lists {
    /// Rails and bars.
    pub cut: CutList,
    /// Everything else.
    pub parts: Vec<Part>,
    /// What it weighs.
    pub mass: Mass,
}

impl Lists {
    /// The lists for a frame.
    pub fn of(duty: &Duty, built: &Built, stock: Stock) -> Self {
        Self { cut: CutList::of(duty, built, stock), parts: parts(duty, built), mass: Mass::of(duty) }
    }

    /// The lists for a project's frame.
    pub fn of_project(project: &Checked, stock: Stock) -> Self {
        let duty = Duty::of(project);
        Self::of(&duty, &Built::of(&duty), stock)
    }

    /// Writes them as CSV files into a folder, which is made if it is missing: `cut_list.csv`, `bars.csv`, `parts.csv` and
    /// `frame_findings.csv`; units stand in the headings.
    ///
    /// # Errors
    /// If the folder or a file in it cannot be written.
    pub fn write_csv(&self, folder: &Path, findings: &[Finding]) -> io::Result<()> {
        fs::create_dir_all(folder)?;
        let table = |name: &str, head: &[&str], rows: Vec<Vec<String>>| -> io::Result<()> {
            let mut writer = csv::Writer::from_path(folder.join(name))?;
            writer.write_record(head)?;
            for row in rows {
                writer.write_record(row)?;
            }
            writer.flush()
        };
        let length = |value: f64| format!("{value:.1}");
        let cuts = self.cut.cuts.iter();
        table(
            "cut_list.csv",
            &["count", "section", "length_mm", "end_deg", "other_end_deg", "rails"],
            cuts.map(|cut| {
                let [end, other] = cut.mitre_deg.map(|lean| format!("{lean:.0}"));
                vec![
                    cut.count.to_string(),
                    cut.section.clone(),
                    length(cut.length_mm),
                    end,
                    other,
                    cut.rails.join("; "),
                ]
            })
            .collect(),
        )?;
        let bars = self.cut.bars.iter().enumerate();
        table(
            "bars.csv",
            &["bar", "section", "bar_mm", "cuts_mm", "offcut_mm"],
            bars.map(|(index, bar)| {
                let cuts: Vec<String> = bar.cuts_mm.iter().map(|&value| length(value)).collect();
                vec![
                    (index + 1).to_string(),
                    bar.section.clone(),
                    length(self.cut.stock.bar_mm),
                    cuts.join(" + "),
                    length(bar.offcut_mm),
                ]
            })
            .collect(),
        )?;
        let rows = self.parts.iter().map(|part| vec![part.count.to_string(), part.part.clone(), part.size.clone()]);
        table("parts.csv", &["count", "part", "size"], rows.collect())?;
        let findings = findings.iter();
        table(
            "frame_findings.csv",
            &["number", "id", "item", "level", "value", "unit", "sentence"],
            findings
                .map(|finding| {
                    let unit: Unit = finding.band.unit;
                    vec![
                        finding.number.to_string(),
                        finding.id.clone(),
                        finding.item.clone().unwrap_or_default(),
                        finding.level.word().to_owned(),
                        format!("{:.*}", unit.decimals().max(1), finding.value),
                        unit.suffix().trim().to_owned(),
                        finding.sentence.clone(),
                    ]
                })
                .collect(),
        )
    }
}
