//! What to saw: rails by section and length, and how they fit on bars as they are sold.

use serde::Serialize;

use super::{Built, Duty};
use crate::{
    project::RailSection,
    units::{deg, to_deg, to_mm},
};

/// How bars are sold and sawn, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stock {
    /// Length of a bar.
    pub bar_mm: f64,
    /// What the saw takes for each cut.
    pub kerf_mm: f64,
}

impl Default for Stock {
    /// Bars of 6 m, a kerf of 4 mm (3 to 5): common practice, no published source.
    fn default() -> Self {
        Self { bar_mm: 6000.0, kerf_mm: 4.0 }
    }
}

/// Rails of one section and length.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cut {
    /// The section's name.
    pub section: String,
    /// The length along its middle, to a tenth.
    pub length_mm: f64,
    /// How far from square its ends are cut, whole degrees, the greater first.
    pub mitre_deg: [f64; 2],
    /// How many.
    pub count: usize,
    /// Their names.
    pub rails: Vec<String>,
}

impl Cut {
    /// How its ends are cut, in words; nothing where both are square: "one end 45° from square".
    pub fn mitre_words(&self) -> String {
        let slanted: Vec<String> = self.mitre_deg.iter().filter(|&&d| d > 0.0).map(|d| format!("{d:.0}°")).collect();
        match slanted.as_slice() {
            [] => String::new(),
            [one] => format!("one end {one} from square"),
            [one, other, ..] => format!("ends {one} and {other} from square"),
        }
    }

    /// What a bar gives for it: half of each slanted end beyond its middle, over the section's larger side.
    fn taken_mm(&self) -> f64 {
        let side =
            crate::project::sections().iter().find(|row| row.name == self.section).map_or(40.0, |row| row.upright_mm);
        let slant: f64 = self.mitre_deg.iter().map(|&lean| side / 2.0 * deg(lean).tan()).sum();
        ((self.length_mm + slant) * 10.0).round() / 10.0
    }
}

/// A bar and what is sawn from it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bar {
    /// The section's name.
    pub section: String,
    /// Lengths, longest first.
    pub cuts_mm: Vec<f64>,
    /// What is left over.
    pub offcut_mm: f64,
}

/// The whole list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CutList {
    /// How bars are sold and sawn.
    pub stock: Stock,
    /// Rails by section and length, sections in the order of the table, longest first.
    pub cuts: Vec<Cut>,
    /// Bars to buy.
    pub bars: Vec<Bar>,
    /// Rails that are longer than a bar.
    pub too_long: Vec<String>,
}

impl CutList {
    /// The list for a frame: bars are filled by first fit, longest piece first. A mitred piece is as long as its middle
    /// and half of its slanted ends, which the bar must give as well.
    pub fn of(duty: &Duty, built: &Built, stock: Stock) -> Self {
        let mut cuts: Vec<Cut> = Vec::new();
        for (rail, mitres) in duty.rails.iter().zip(&built.mitres) {
            let section = RailSection::of(rail).name;
            let length_mm = (to_mm(rail.length()) * 10.0).round() / 10.0;
            let mut mitre_deg = mitres.map(|lean| to_deg(lean).round());
            mitre_deg.sort_by(|a, b| b.total_cmp(a));
            let same = |cut: &&mut Cut| {
                let close = |a: f64, b: f64| (a - b).abs() < 0.05;
                let alike = (0..2).all(|i| close(cut.mitre_deg[i], mitre_deg[i]));
                cut.section == section && close(cut.length_mm, length_mm) && alike
            };
            if let Some(cut) = cuts.iter_mut().find(same) {
                cut.count += 1;
                cut.rails.push(rail.name.clone());
            } else {
                cuts.push(Cut { section, length_mm, mitre_deg, count: 1, rails: vec![rail.name.clone()] });
            }
        }
        let place = |name: &str| crate::project::sections().iter().position(|section| section.name == name);
        let order = |name: &str| (place(name).unwrap_or(usize::MAX), name.to_owned());
        cuts.sort_by(|a, b| order(&a.section).cmp(&order(&b.section)).then(b.length_mm.total_cmp(&a.length_mm)));
        let mut bars: Vec<Bar> = Vec::new();
        let mut too_long = Vec::new();
        for cut in &cuts {
            let taken = cut.taken_mm();
            if taken > stock.bar_mm {
                too_long.extend(cut.rails.iter().cloned());
                continue;
            }
            for _ in 0..cut.count {
                // Each further piece of a bar costs one cut; the last may use the bar up to its end.
                let fits = |bar: &Bar| bar.section == cut.section && bar.offcut_mm >= taken;
                let at = bars.iter().position(fits).unwrap_or_else(|| {
                    let (section, cuts_mm) = (cut.section.clone(), Vec::new());
                    bars.push(Bar { section, cuts_mm, offcut_mm: stock.bar_mm });
                    bars.len() - 1
                });
                let bar = &mut bars[at];
                bar.cuts_mm.push(cut.length_mm);
                bar.offcut_mm = (bar.offcut_mm - taken - stock.kerf_mm).max(0.0);
            }
        }
        for bar in &mut bars {
            bar.offcut_mm = (bar.offcut_mm * 10.0).round() / 10.0;
        }
        Self { stock, cuts, bars, too_long }
    }

    /// Bars to buy by section.
    pub fn to_buy(&self) -> Vec<(&str, usize)> {
        let mut out: Vec<(&str, usize)> = Vec::new();
        for bar in &self.bars {
            match out.iter_mut().find(|(section, _)| *section == bar.section) {
                Some((_, count)) => *count += 1,
                None => out.push((&bar.section, 1)),
            }
        }
        out
    }
}
