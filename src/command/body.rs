//! `heelpoint body FILE`: the whole body, measured and estimated, as a table or as JSON.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::{Ending, Units, note, print_json, read_driven, wrapped};
use crate::{
    body::{DimensionGroup, DimensionName, Dimensions, Estimate, Warning},
    project::{Driver, Measured, Population},
    units::Unit,
};

/// Print the whole body: what was measured, what is estimated from it and how surely.
#[derive(Debug, Args)]
pub(super) struct Body {
    /// The project.
    file: PathBuf,
    /// Of several drivers the one of this name; without it, the one who sits.
    #[arg(long, value_name = "NAME")]
    driver: Option<String>,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    units: Units,
}

impl Body {
    pub(super) fn run(self) -> Ending {
        self.units.show();
        let project = match read_driven(&self.file, self.driver.as_deref()) {
            Ok(project) => project,
            Err(ending) => return ending,
        };
        let dimensions = Dimensions::estimate(project.driver.population, &project.driver.measured);
        if self.json {
            return print_json(&Report::of(&project.driver, &dimensions));
        }
        say!(bare "{}", table(&project.driver, &dimensions));
        Ending::Good
    }
}

/// The body as a table that a person can read.
fn table(driver: &Driver, dimensions: &Dimensions) -> String {
    let survey = match driver.population {
        Population::Men => "men",
        Population::Women => "women",
    };
    let (measured, all) = (dimensions.measured().count(), dimensions.iter().count());
    let mut out = format!(
        "{}: {measured} dimensions measured, {} estimated from them and the {survey} of ANSUR II\n",
        driver.name,
        all - measured
    );
    for warning in dimensions.warnings() {
        for text in wrapped(&note(warning), 98) {
            out += &format!("  {text}\n");
        }
    }
    let mut beyond = false;
    for group in DimensionGroup::ALL {
        out += &format!(
            "\n  {:<40}{:<7}{:>9}  {:>7}  {:>10}   measured\n",
            group.title(),
            "ISO",
            "value",
            "±",
            "percentile"
        );
        for name in DimensionName::all().iter().filter(|name| name.group == group) {
            let (unit, estimate) = dimensions.known(&name.variable);
            beyond |= estimate.beyond_survey;
            let line = format!(
                "{} {:<40}{:<7}{:>9}  {:>7}  {:>10}   {}",
                if estimate.measured.is_some() { '✓' } else { ' ' },
                name.label,
                name.iso_7250.as_deref().and_then(|iso| iso.split(' ').next()).unwrap_or_default(),
                unit.show(estimate.mean),
                spread(unit, estimate.sd),
                percentile(&estimate),
                estimate.measured.map_or_else(String::new, |measured| said(unit, measured)),
            );
            out += line.trim_end();
            out.push('\n');
        }
    }
    out += "\n✓ measured: the value weighs the measurement by its error against what the others imply. ± is one standard \
            deviation:\ntwo of three people of these measurements lie within it. The percentile is the share of the \
            survey that is smaller.\nISO: numbers of ISO 7250-1:2008, from memory.\n";
    if beyond {
        out += "! smaller or larger than everyone in the survey: extrapolated.\n";
    }
    out
}

fn spread(unit: Unit, sd: f64) -> String {
    // A tenth of a millimetre is finer than any of this.
    if unit == Unit::Millimetre && sd < 0.5 { format!("< {}", unit.show(1.0)) } else { unit.show(sd) }
}

fn percentile(estimate: &Estimate) -> String {
    let share = 100.0 * estimate.percentile;
    let text = match share {
        _ if share < 1.0 => "< 1".to_owned(),
        _ if share > 99.0 => "> 99".to_owned(),
        _ => format!("{share:.0}"),
    };
    if estimate.beyond_survey { format!("! {text}") } else { text }
}

fn said(unit: Unit, measured: Measured) -> String {
    format!("{} ± {}", unit.show(measured.value), unit.show(measured.error))
}

/// What `heelpoint body --json` prints; the README documents it.
#[derive(Serialize)]
struct Report<'a> {
    version: u32,
    driver: &'a str,
    population: Population,
    warnings: &'a [Warning],
    dimensions: Vec<Dimension>,
}

#[derive(Serialize)]
struct Dimension {
    name: &'static str,
    label: &'static str,
    group: DimensionGroup,
    iso_7250: Option<&'static str>,
    unit: Unit,
    value: f64,
    sd: f64,
    percentile: f64,
    beyond_survey: bool,
    measured: Option<Measured>,
}

impl<'a> Report<'a> {
    fn of(driver: &'a Driver, dimensions: &'a Dimensions) -> Self {
        let round = |value: f64, digits: i32| (value * 10_f64.powi(digits)).round() / 10_f64.powi(digits);
        let dimension = |name: &'static DimensionName| {
            let (unit, estimate) = dimensions.known(&name.variable);
            Dimension {
                name: &name.variable,
                label: &name.label,
                group: name.group,
                iso_7250: name.iso_7250.as_deref(),
                unit,
                value: round(estimate.mean, 2),
                sd: round(estimate.sd, 2),
                percentile: round(100.0 * estimate.percentile, 1),
                beyond_survey: estimate.beyond_survey,
                measured: estimate.measured,
            }
        };
        Self {
            version: 1,
            driver: &driver.name,
            population: driver.population,
            warnings: dimensions.warnings(),
            dimensions: DimensionName::all().iter().map(dimension).collect(),
        }
    }
}
