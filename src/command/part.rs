//! `heelpoint part FILE`: what a file of triangles holds and how it would stand.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::{Ending, Units, print_json, wrapped};
use crate::{
    geometry::{MeshState, TriangleMesh},
    project::{Axis, LengthUnit, StandsFor, read_shape, shape_notes},
    units::{System, Unit, to_mm},
};

/// Look at a part's shape in an STL, OBJ or glTF file: its size, its holes, how it would stand.
///
/// The exit status is 0 where it was read, 2 for a bad file.
#[derive(Debug, Args)]
pub(super) struct PartCommand {
    /// The file: .stl, .obj, .gltf or .glb.
    file: PathBuf,
    /// The unit of its numbers; a glTF file's is m.
    #[arg(long, value_enum)]
    unit: FileUnit,
    /// Which of its axes points forward, as the driver looks.
    #[arg(long, value_enum, default_value = "+x", allow_hyphen_values = true)]
    forward: AxisName,
    /// Which of its axes points up.
    #[arg(long, value_enum, default_value = "+z", allow_hyphen_values = true)]
    up: AxisName,
    /// What it stands for.
    #[arg(long, value_enum, default_value = "other")]
    stands_for: Role,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    units: Units,
}

/// [`LengthUnit`] as it is typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum FileUnit {
    Mm,
    Cm,
    M,
    Inch,
}

/// [`Axis`] as it is typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum AxisName {
    #[value(name = "+x", alias = "x")]
    PlusX,
    #[value(name = "-x")]
    MinusX,
    #[value(name = "+y", alias = "y")]
    PlusY,
    #[value(name = "-y")]
    MinusY,
    #[value(name = "+z", alias = "z")]
    PlusZ,
    #[value(name = "-z")]
    MinusZ,
}

/// [`StandsFor`] as it is typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Role {
    Seat,
    Rim,
    WheelUnit,
    PedalPlate,
    Screen,
    Other,
}

/// The project's words for what was typed: both lists are in one order.
fn at<T: Copy>(list: &[T], place: usize) -> T {
    list[place]
}

impl PartCommand {
    pub(super) fn run(self) -> Ending {
        self.units.show();
        let unit = at(&LengthUnit::ALL, self.unit as usize);
        let (forward, up) = (at(&Axis::ALL, self.forward as usize), at(&Axis::ALL, self.up as usize));
        let stands_for = at(&StandsFor::ALL, self.stands_for as usize);
        if forward.is_along(up) {
            eprintln!(
                "--up {} lies on the same line as --forward {}: name two axes that stand square to one another.",
                up.word(),
                forward.word()
            );
            return Ending::BadInput;
        }
        let mesh = match read_shape(&self.file, unit, forward, up) {
            Ok(mesh) => mesh,
            Err(error) => {
                eprintln!("{error}");
                return Ending::BadInput;
            }
        };
        let file = self.file.display().to_string();
        let report = Report::of(&file, &mesh, unit, forward, up, stands_for);
        if self.json {
            return print_json(&report);
        }
        say!(bare "{}", report.text());
        Ending::Good
    }
}

/// What was found, for programs.
#[derive(Debug, Serialize)]
struct Report<'a> {
    version: u32,
    file: &'a str,
    unit: &'static str,
    forward: &'static str,
    up: &'static str,
    stands_for: StandsFor,
    /// Forward, left, up.
    size_mm: [f64; 3],
    from_mm: [f64; 3],
    to_mm: [f64; 3],
    state: MeshState,
    /// The entry of `shapes` that would take it in.
    entry: String,
    notes: Vec<String>,
}

impl<'a> Report<'a> {
    fn of(
        file: &'a str,
        mesh: &TriangleMesh,
        unit: LengthUnit,
        forward: Axis,
        up: Axis,
        stands_for: StandsFor,
    ) -> Self {
        let [low, high] = mesh.extent();
        // Adding nothing takes the sign from a zero.
        let tenths = |p: crate::geometry::Vec3| [p.x, p.y, p.z].map(|v| (to_mm(v) * 10.0).round() / 10.0 + 0.0);
        let (size_mm, state) = (tenths(high - low), *mesh.state());
        let name = std::path::Path::new(file).file_stem().map_or("part".into(), |stem| stem.to_string_lossy());
        let entry = format!(
            "(name: {name:?}, file: {file:?}, unit: {unit:?}, forward: {forward:?}, up: {up:?}, stands_for: {stands_for:?}, at_mm: (0, 0, 0)),"
        );
        Self {
            version: 1,
            file,
            unit: unit.word(),
            forward: forward.word(),
            up: up.word(),
            stands_for,
            size_mm,
            from_mm: tenths(low),
            to_mm: tenths(high),
            notes: shape_notes(mesh, unit),
            state,
            entry,
        }
    }

    fn text(&self) -> String {
        let mut out = String::new();
        let mut line = |text: &str| out.push_str(&format!("{text}\n"));
        line(&format!("{}: {} triangles, {} corners", self.file, self.state.triangles, self.state.points));
        line(&format!("Read in {}, forward along {}, up along {}.", self.unit, self.forward, self.up));
        let system = System::shown();
        let (bare, suffix) = (system.bare(Unit::Millimetre), system.suffix(Unit::Millimetre));
        let digits = if system == System::Inch { 2 } else { 1 };
        for (axis, name) in ["forward", "left", "up"].into_iter().enumerate() {
            let [size, from, to] = [self.size_mm, self.from_mm, self.to_mm].map(|values| values[axis] / bare);
            line(&format!("  {name:<7} {size:>9.digits$}{suffix}   from {from:>8.digits$} to {to:>8.digits$}"));
        }
        let stands = format!("Its origin stands {}, unless at_mm moves it.", self.stands_for.origin());
        for text in wrapped(&stands, 96) {
            line(&text);
        }
        for note in &self.notes {
            for (index, text) in wrapped(note, 94).iter().enumerate() {
                line(&format!("{} {text}", if index == 0 { '•' } else { ' ' }));
            }
        }
        line("");
        line("For the list `shapes` of your project, its path from the project's folder:");
        line(&format!("    {}", self.entry));
        out
    }
}
