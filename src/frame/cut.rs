//! What to saw: rails by section and length, and how they fit on bars as they are sold.

use serde::Serialize;

use super::Duty;
use crate::{project::RailSection, units::to_mm};

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
    /// The length, to a tenth.
    pub length_mm: f64,
    /// How many.
    pub count: usize,
    /// Their names.
    pub rails: Vec<String>,
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
    /// The list for a frame: bars are filled by first fit, longest piece first.
    pub fn of(duty: &Duty, stock: Stock) -> Self {
        let mut cuts: Vec<Cut> = Vec::new();
        for rail in &duty.rails {
            let section = RailSection::of(rail).name;
            let length_mm = (to_mm(rail.length()) * 10.0).round() / 10.0;
            let same = |cut: &&mut Cut| cut.section == section && (cut.length_mm - length_mm).abs() < 0.05;
            if let Some(cut) = cuts.iter_mut().find(same) {
                cut.count += 1;
                cut.rails.push(rail.name.clone());
            } else {
                cuts.push(Cut { section, length_mm, count: 1, rails: vec![rail.name.clone()] });
            }
        }
        let place = |name: &str| crate::project::sections().iter().position(|section| section.name == name);
        let order = |name: &str| (place(name).unwrap_or(usize::MAX), name.to_owned());
        cuts.sort_by(|a, b| order(&a.section).cmp(&order(&b.section)).then(b.length_mm.total_cmp(&a.length_mm)));
        let mut bars: Vec<Bar> = Vec::new();
        let mut too_long = Vec::new();
        for cut in &cuts {
            if cut.length_mm > stock.bar_mm {
                too_long.extend(cut.rails.iter().cloned());
                continue;
            }
            for _ in 0..cut.count {
                // Each further piece of a bar costs one cut; the last may use the bar up to its end.
                let fits = |bar: &Bar| bar.section == cut.section && bar.offcut_mm >= cut.length_mm;
                let at = bars.iter().position(fits).unwrap_or_else(|| {
                    let (section, cuts_mm) = (cut.section.clone(), Vec::new());
                    bars.push(Bar { section, cuts_mm, offcut_mm: stock.bar_mm });
                    bars.len() - 1
                });
                let bar = &mut bars[at];
                bar.cuts_mm.push(cut.length_mm);
                bar.offcut_mm = (bar.offcut_mm - cut.length_mm - stock.kerf_mm).max(0.0);
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
