//! `heelpoint curves FILE`: joint angles and gaps over the wheel's turn and the pedals' travel.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::{Ending, Units, print_json, read_driven};
use crate::{
    curves::{Motion, Over, curves},
    study::Solved,
    units::Unit,
};

/// Say how joint angles and gaps go over the wheel's turn and each pedal's travel.
///
/// The exit status is 0; 2 for a bad file, 3 where the table cannot be written.
#[derive(Debug, Args)]
pub(super) struct Curves {
    /// The project.
    file: PathBuf,
    /// Of several drivers the one of this name; without it, the one who sits.
    #[arg(long, value_name = "NAME")]
    driver: Option<String>,
    /// Write `curves_wheel.csv`, `curves_brake.csv` and so on into this folder.
    #[arg(long, value_name = "FOLDER")]
    csv: Option<PathBuf>,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    units: Units,
}

#[derive(Serialize)]
struct Report<'a> {
    version: u32,
    title: &'a str,
    driver: &'a str,
    motions: &'a [Motion],
}

impl Curves {
    pub(super) fn run(self) -> Ending {
        self.units.show();
        let project = match read_driven(&self.file, self.driver.as_deref()) {
            Ok(project) => project,
            Err(ending) => return ending,
        };
        let motions = curves(&Solved::of(&project));
        if let Some(folder) = &self.csv
            && let Err(error) = write(folder, &motions)
        {
            eprintln!("cannot write the curves into {}: {error}", folder.display());
            return Ending::Unable;
        }
        if self.json {
            let report = Report { version: 1, title: &project.title, driver: &project.driver.name, motions: &motions };
            return print_json(&report);
        }
        say!(bare "{}", text(&motions));
        Ending::Good
    }
}

fn write(folder: &Path, motions: &[Motion]) -> Result<(), csv::Error> {
    std::fs::create_dir_all(folder)?;
    for motion in motions {
        let name = format!("curves_{}.csv", motion.over.word().to_lowercase());
        let mut out = csv::Writer::from_path(folder.join(name))?;
        let place = if motion.over == Over::Wheel { "wheel_deg_left" } else { "travel_mm" };
        let column = |curve: &crate::curves::Curve| {
            let unit = curve.band.unit.suffix().trim().replace('°', "deg");
            let side = curve.side.map_or_else(String::new, |side| format!("{}_", side.word()));
            format!("{side}{}_{unit}", curve.id)
        };
        out.write_record(std::iter::once(place.to_owned()).chain(motion.curves.iter().map(column)))?;
        for (row, place) in motion.places.iter().enumerate() {
            let values = motion.curves.iter().map(|curve| format!("{:.2}", curve.values[row]));
            out.write_record(std::iter::once(format!("{place:.2}")).chain(values))?;
        }
        out.flush()?;
    }
    Ok(())
}

fn text(motions: &[Motion]) -> String {
    let mut out = String::new();
    for motion in motions {
        let show = |place: f64| words(motion.over, place);
        let (first, last) = (motion.places.first().copied(), motion.places.last().copied());
        let (Some(first), Some(last)) = (first, last) else { continue };
        out.push_str(&format!("{} from {} to {}\n", motion.over.word(), show(first), show(last)));
        out.push_str(&format!("  {:<44}{:>9}{:>22}{:>22}\n", "", "at rest", "least", "greatest"));
        let rest = motion.places.iter().enumerate().min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        let rest = rest.map_or(0, |(index, _)| index);
        for curve in &motion.curves {
            let end = |better: fn(f64, f64) -> bool| {
                let mut at = 0;
                for (index, value) in curve.values.iter().enumerate() {
                    if better(*value, curve.values[at]) {
                        at = index;
                    }
                }
                format!("{} at {}", curve.band.unit.show(curve.values[at]), show(motion.places[at]))
            };
            out.push_str(&format!(
                "{} {:<44}{:>9}{:>22}{:>22}\n",
                // A joint's band is meant for the posture at rest or at work, not for the whole motion.
                if curve.band.unit == Unit::Degree { ' ' } else { curve.worst().mark() },
                curve.title,
                curve.band.unit.show(curve.values[rest]),
                end(|a, b| a < b),
                end(|a, b| a > b),
            ));
        }
        out.push('\n');
    }
    out
}

/// A place along an axis: "40° left", "12 mm".
fn words(over: Over, place: f64) -> String {
    if over != Over::Wheel {
        return Unit::Millimetre.show(place);
    }
    let degrees = Unit::Degree.show(place.abs());
    match degrees.as_str() {
        "0°" => "straight".to_owned(),
        _ => format!("{degrees} {}", if place > 0.0 { "left" } else { "right" }),
    }
}
