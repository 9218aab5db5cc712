//! The command line: one file a subcommand, thin: read, call, print.

#![allow(clippy::print_stderr, reason = "this is the face that prints")]

/// Prints a line, or with `bare` what ends in a line break of its own, to the standard output.
macro_rules! say {
    (bare $($words:tt)*) => { $crate::command::put(&format!($($words)*)) };
    ($($words:tt)*) => { $crate::command::put(&(format!($($words)*) + "\n")) };
}

mod body;
mod check;
mod compare;
mod curves;
mod frame;
mod measure;
mod new;
mod open;
mod part;
mod picture;
mod progress;
mod reach;
mod snap;

use std::{path::PathBuf, process::ExitCode};

use clap::{Parser, Subcommand};

use crate::units::System;

/// Fits a driving-simulator cockpit to a body before anyone buys parts or cuts rail.
#[derive(Debug, Parser)]
#[command(version, about, args_conflicts_with_subcommands = true)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    /// Project to open in the window; without it, the demo.
    file: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Check a project and print what was found.
    Check(check::Check),
    /// Print the whole body: measured, estimated, how surely.
    Body(body::Body),
    /// Say what hands and feet reach, and write it as surfaces and section curves.
    Reach(Box<reach::ReachCommand>),
    /// Render a picture of a project, without a window.
    Picture(picture::Picture),
    /// Compare two projects: every finding that differs.
    Compare(compare::Compare),
    /// Say how joint angles and gaps go over the wheel's turn and the pedals' travel.
    Curves(curves::Curves),
    /// Say how the frame holds, what to cut and what to buy.
    Frame(frame::Frame),
    /// Look at a part's shape in an STL, OBJ or glTF file.
    Part(part::PartCommand),
    /// Write a starter project with comments that say what to measure.
    New(new::New),
    /// Say what to measure and how, or draw a sheet that shows where the tape goes.
    Measure(measure::Measure),
    /// Hang the free ends of rails on slots that they have come near to.
    Snap(snap::Snap),
}

/// In which unit lengths are printed.
#[derive(Clone, Copy, Debug, clap::Args)]
struct Units {
    /// Print lengths in this unit; what files and JSON call mm stays mm.
    #[arg(long, value_enum, default_value_t = LengthUnit::Mm)]
    units: LengthUnit,
}

/// A unit of length to print in.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum LengthUnit {
    /// Millimetres.
    Mm,
    /// Inches.
    Inch,
}

impl Units {
    /// Shows lengths in it from now on.
    fn show(self) {
        match self.units {
            LengthUnit::Mm => System::Metric.show(),
            LengthUnit::Inch => System::Inch.show(),
        }
    }
}

/// How a run ended, as the exit status tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Nothing is outside.
    Good = 0,
    /// At least one finding is outside.
    Outside = 1,
    /// The arguments or the file were wrong.
    BadInput = 2,
    /// The machine lacks something: a display, a graphics driver, a place to write.
    Unable = 3,
}

impl From<Ending> for ExitCode {
    fn from(ending: Ending) -> Self {
        Self::from(ending as u8)
    }
}

/// The closed-car demo, for a start without a file.
pub const DEMO: &str = include_str!("../../assets/closed_car.ron");

/// Reads the command line and runs what it asks for.
pub fn run() -> Ending {
    let arguments = Arguments::parse();
    match arguments.command {
        None => open::open(arguments.file.as_deref()),
        Some(Command::Check(check)) => check.run(),
        Some(Command::Body(body)) => body.run(),
        Some(Command::Reach(reach)) => reach.run(),
        Some(Command::Picture(picture)) => picture.run(),
        Some(Command::Compare(compare)) => compare.run(),
        Some(Command::Curves(curves)) => curves.run(),
        Some(Command::Frame(frame)) => frame.run(),
        Some(Command::Part(part)) => part.run(),
        Some(Command::New(new)) => new.run(),
        Some(Command::Measure(measure)) => measure.run(),
        Some(Command::Snap(snap)) => snap.run(),
    }
}

/// A project from a file, or what is wrong with it on standard error.
fn read(path: &std::path::Path) -> Result<(crate::project::Checked, String), Ending> {
    crate::project::load(path).map_err(|error| {
        eprintln!("{error}");
        Ending::BadInput
    })
}

/// A project from a file or, without one, the demo.
fn read_or_demo(path: Option<&std::path::Path>) -> Result<(crate::project::Checked, String), Ending> {
    match path {
        Some(path) => read(path),
        None => crate::project::parse(DEMO).map(|project| (project, DEMO.to_owned())).map_err(|faults| {
            for fault in faults {
                eprintln!("{}", fault.in_file("demo"));
            }
            Ending::BadInput
        }),
    }
}

/// A project from a file with the driver of a name in it, if one is named.
fn read_driven(path: &std::path::Path, driver: Option<&str>) -> Result<crate::project::Checked, Ending> {
    let (project, _) = read(path)?;
    let Some(name) = driver else { return Ok(project) };
    project.driven_by(name).ok_or_else(|| {
        let names: Vec<&str> = project.drivers().map(|(_, driver)| driver.name.as_str()).collect();
        eprintln!("{}: nobody is called {name}. Drivers: {}.", path.display(), names.join(", "));
        Ending::BadInput
    })
}

/// Writes to the standard output. A reader that has seen enough (`heelpoint check FILE | head`) ends the program quietly;
/// where nothing can be written it says so and ends.
fn put(text: &str) {
    use std::io::{ErrorKind, Write};
    if let Err(error) = std::io::stdout().lock().write_all(text.as_bytes()) {
        if error.kind() != ErrorKind::BrokenPipe {
            eprintln!("Nothing can be written to the standard output: {error}");
        }
        std::process::exit(Ending::Unable as i32);
    }
}

/// Prints a report as JSON.
fn print_json(report: &impl serde::Serialize) -> Ending {
    match serde_json::to_string_pretty(report) {
        Ok(text) => {
            say!("{text}");
            Ending::Good
        }
        Err(error) => {
            eprintln!("The report cannot be written as JSON: {error}");
            Ending::Unable
        }
    }
}

/// A doubt about the measurements, with what to write in the file where that settles it.
fn note(warning: &crate::body::Warning) -> String {
    let way_out = warning.way_out().map_or_else(String::new, |words| format!(" {words}"));
    format!("note: {warning}{way_out}")
}

/// Text broken between words into lines of at most `width` characters, where words allow it.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && lines[last].chars().count() + 1 + word.chars().count() > width {
            lines.push(word.to_owned());
        } else {
            if !lines[last].is_empty() {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    lines
}
