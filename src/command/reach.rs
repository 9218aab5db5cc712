//! `heelpoint reach FILE`: what hands and feet reach; controls as a table, surfaces and section curves as files.

use std::{
    fs,
    path::{Path, PathBuf},
};

use clap::{Args, ValueEnum};
use rayon::prelude::*;
use serde::Serialize;

use super::{Ending, Units, print_json, progress::Progress, read_driven};
use crate::{
    geometry::{Side, Vec3},
    project::Checked,
    reach::{
        ControlReach, Drawing, FaceReach, Footing, Grip, Limb, PedalReach, Plane, Published, Reach, Region, Sharing,
        Spot, USUAL_LEAN, Zone, common_reach, controls, dxf, glb, pedals, published, section, shared_reach, stl, svg,
        where_to_put,
    },
    study::Solved,
    units::{Unit, deg, mm, mm_point, show_place, to_deg, to_mm},
    watch::{Stopped, Watch},
};

/// What the hand does at a control.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Holding {
    /// It closes round it.
    Full,
    /// Thumb and fingers hold it.
    Pinch,
    /// A finger presses it.
    Fingertip,
}

impl Holding {
    pub(super) const fn grip(self) -> Grip {
        match self {
            Self::Full => Grip::Full,
            Self::Pinch => Grip::Pinch,
            Self::Fingertip => Grip::Fingertip,
        }
    }
}

/// Say what hands and feet reach, and write it as surfaces and section curves.
///
/// The exit status is 0 where every control is reached with the shoulders on the seat, 1 where one is not, 2 for a bad
/// file.
#[derive(Debug, Args)]
pub(super) struct ReachCommand {
    /// The project.
    file: PathBuf,
    #[command(flatten)]
    units: Units,
    /// Of several drivers the one of this name; without it, the one who sits.
    #[arg(long, value_name = "NAME")]
    driver: Option<String>,
    /// What the hand does at its point.
    #[arg(long, value_enum, default_value_t = Holding::Full)]
    grip: Holding,
    /// How far the trunk may lean forward, degrees: as far as the belts let it.
    #[arg(long, default_value_t = to_deg(USUAL_LEAN), value_parser = lean)]
    lean: f64,
    /// Step of the lattice along the boundaries, mm.
    #[arg(long, default_value_t = 20.0, value_parser = step)]
    step: f64,
    /// A point to look at as well, for both hands: x,y,z in mm.
    #[arg(long, value_name = "X,Y,Z", value_parser = point, allow_hyphen_values = true)]
    at: Vec<[f64; 3]>,
    /// Say where this control can stand, and on which rail.
    #[arg(long, value_name = "CONTROL")]
    place: Option<String>,
    /// What so many people reach whose bodies are drawn from the survey, half men and half women.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(10..=20_000))]
    people: Option<u32>,
    /// The same seed draws the same people.
    #[arg(long, default_value_t = 1, requires = "people")]
    seed: u64,
    /// What all drivers of the project reach together with each hand.
    #[arg(long)]
    all_drivers: bool,
    /// Print the program's people beside published tables of reach.
    #[arg(long)]
    published: bool,
    /// A folder for the surfaces (STL, glTF), the section curves (SVG, DXF) and the tables (CSV).
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Where the side view cuts: mm to the left; without it, through the driver's middle.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    side: Option<f64>,
    /// Where the top view cuts: mm high; without it, at the shoulders.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    top: Option<f64>,
    /// Where the front view cuts: mm forward; without it, at the wheel's centre.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    front: Option<f64>,
    /// Any other plane: a point and a normal, x,y,z,nx,ny,nz in mm.
    #[arg(long, value_name = "X,Y,Z,NX,NY,NZ", value_parser = plane, allow_hyphen_values = true)]
    plane: Option<[f64; 6]>,
    /// Print JSON for programs; the README documents it.
    #[arg(long)]
    json: bool,
}

fn numbers<const N: usize>(text: &str, form: &str) -> Result<[f64; N], String> {
    let parts: Vec<f64> =
        text.split(',').filter_map(|part| part.trim().parse().ok()).filter(|x: &f64| x.is_finite()).collect();
    <[f64; N]>::try_from(parts).ok().ok_or_else(|| format!("“{text}” is not {form}"))
}

fn point(text: &str) -> Result<[f64; 3], String> {
    numbers(text, "three numbers x,y,z in mm, as in 560,-330,560")
}

fn plane(text: &str) -> Result<[f64; 6], String> {
    let all: [f64; 6] = numbers(text, "a point and a normal, as in 560,0,600,1,0,1")?;
    let [.., a, b, c] = all;
    if a.hypot(b).hypot(c) < 1e-6 {
        return Err(format!("“{text}” has a normal without length; write one as in 560,0,600,1,0,1"));
    }
    Ok(all)
}

fn between(text: &str, low: f64, high: f64, unit: &str) -> Result<f64, String> {
    text.trim()
        .parse()
        .ok()
        .filter(|x| (low..=high).contains(x))
        .ok_or_else(|| format!("“{text}” is not between {low} and {high} {unit}"))
}

pub(super) fn lean(text: &str) -> Result<f64, String> {
    between(text, 0.0, 60.0, "degrees")
}

fn step(text: &str) -> Result<f64, String> {
    between(text, 2.5, 40.0, "mm")
}

/// What is printed as JSON.
#[derive(Serialize)]
struct Report<'a> {
    version: u32,
    title: &'a str,
    driver: &'a str,
    lean_deg: f64,
    step_mm: f64,
    zones: Vec<ZoneRow>,
    controls: Vec<ControlReach>,
    pedals: &'a [PedalReach],
    points: Vec<PointRow>,
    place: Option<&'a Spot>,
    people: Option<&'a Sharing>,
    all_drivers: Option<&'a [Region]>,
    published: Option<Vec<Published>>,
}

/// Size of one zone.
#[derive(Serialize)]
struct ZoneRow {
    limb: String,
    zone: Zone,
    litres: f64,
    /// Greatest distances forward, to its own side and up from the seat's reference point (H-point), mm.
    forward_mm: f64,
    outward_mm: f64,
    up_mm: f64,
}

#[derive(Serialize)]
struct PointRow {
    at_mm: [f64; 3],
    limb: String,
    zone: Option<Zone>,
    margin_mm: Option<f64>,
    blocked_by: Option<String>,
}

impl ReachCommand {
    pub(super) fn run(self) -> Ending {
        self.units.show();
        let project = match read_driven(&self.file, self.driver.as_deref()) {
            Ok(project) => project,
            Err(ending) => return ending,
        };
        if let Some(name) = &self.place
            && !project.controls.iter().any(|control| control.name == *name)
        {
            let names: Vec<&str> = project.controls.iter().map(|control| control.name.as_str()).collect();
            eprintln!("{}: no control is called {name}. Controls: {}.", self.file.display(), names.join(", "));
            return Ending::BadInput;
        }
        let solved = Solved::of(&project);
        let grip = self.grip.grip();
        let hands = Side::BOTH.map(|side| Limb::Hand(side, grip));
        let feet = Side::BOTH
            .into_iter()
            .flat_map(|side| [Footing::HeelDown, Footing::Free].map(|footing| Limb::Foot(side, footing)));
        let limbs: Vec<Limb> = hands.into_iter().chain(feet).collect();
        let progress = Progress::new("Working the zones out", limbs.len());
        let reaches: Vec<Reach> = limbs
            .into_par_iter()
            .map(|limb| {
                let mut reach = Reach::of(&solved.body, &solved.rig, &solved.rest, limb, deg(self.lean), &[]);
                // Nobody stops it.
                let _ = reach.to_step(mm(self.step), &Watch::NOBODY);
                progress.step();
                reach
            })
            .collect();
        progress.end();
        let [left, right, ..] = &reaches[..] else { return Ending::Unable };

        let rows: Vec<ControlReach> = controls(&solved.rig, [left, right]).into_iter().map(|(row, _)| row).collect();
        // Heels down, then in the air.
        let treads: Vec<PedalReach> = [Footing::HeelDown, Footing::Free]
            .into_iter()
            .filter_map(|footing| {
                let foot = |side: Side| reaches.iter().find(|reach| reach.limb == Limb::Foot(side, footing));
                Some(pedals(&solved.rig, project.driver.brakes_with, [foot(Side::Left)?, foot(Side::Right)?]))
            })
            .flatten()
            .map(|(row, _)| row)
            .collect();
        let points: Vec<PointRow> =
            self.at.iter().flat_map(|at| [left, right].map(|reach| asked(&solved, reach, *at))).collect();
        let spot = self.place.as_ref().and_then(|name| {
            let at = solved.rig.controls.iter().position(|control| control.name == *name)?;
            let side = solved.rig.controls[at].hand;
            // Nobody stops it.
            where_to_put(&solved, &reaches[side.index()], at, &Watch::NOBODY).ok().flatten()
        });
        let sharing = self.people.map(|count| {
            let progress = Progress::new("Seating people", count as usize);
            let sharing = shared_reach(&project, grip, count as usize, self.seed, &Watch::NOBODY, &|| progress.step());
            progress.end();
            sharing
        });
        let sharing = match sharing.transpose() {
            Ok(sharing) => sharing,
            Err(stopped) => {
                eprintln!("{stopped}");
                return Ending::Unable;
            }
        };
        let together = match self.all_drivers.then(|| self.together(&project, grip)).transpose() {
            Ok(together) => together,
            Err(stopped) => {
                eprintln!("{stopped}");
                return Ending::Unable;
            }
        };
        let regions: Vec<&Region> = spot
            .iter()
            .map(|spot| &spot.region)
            .chain(sharing.iter().flat_map(|sharing| &sharing.regions))
            .chain(together.iter().flatten())
            .collect();
        if let Some(folder) = &self.output
            && let Err(error) = self.write(folder, &solved, &reaches, (&rows, &treads), &regions)
        {
            eprintln!("{} cannot be written: {error}", folder.display());
            return Ending::Unable;
        }

        let zones = zone_rows(&solved, &reaches);
        let beside = self.published.then(published);
        if self.json {
            let report = Report {
                version: 1,
                title: &project.title,
                driver: &project.driver.name,
                lean_deg: self.lean,
                step_mm: reaches.iter().filter_map(Reach::step).map(to_mm).fold(0.0, f64::max),
                zones,
                controls: rows.clone(),
                pedals: &treads,
                points,
                place: spot.as_ref(),
                people: sharing.as_ref(),
                all_drivers: together.as_deref(),
                published: beside,
            };
            let printed = print_json(&report);
            if printed != Ending::Good {
                return printed;
            }
        } else {
            say!(bare "{}", self.table(&solved, &zones, (&rows, &treads), &points, spot.as_ref(), sharing.as_ref()));
            if together.is_some() {
                say!("\nWhat all {} drivers reach:", project.drivers().count());
            }
            for region in together.iter().flatten() {
                say!("  {:<50}{:>6.0} litres", region.name, region.litres);
            }
            for row in beside.iter().flatten() {
                say!("{}", row.words());
            }
        }
        if rows.iter().all(|row| row.zone.is_some_and(|zone| zone <= Zone::Attainable)) {
            Ending::Good
        } else {
            Ending::Outside
        }
    }

    /// What all drivers of the project reach together.
    fn together(&self, project: &Checked, grip: Grip) -> Result<Vec<Region>, Stopped> {
        let progress = Progress::new("Seating all drivers", 4);
        let regions = Side::BOTH
            .into_par_iter()
            .flat_map_iter(|side| [Zone::Comfortable, Zone::Attainable].map(|zone| (side, zone)))
            .map(|(side, zone)| {
                let region = common_reach(project, side, grip, zone, 0.0, mm(self.step), &Watch::NOBODY);
                progress.step();
                region
            })
            .collect();
        progress.end();
        regions
    }

    fn table(
        &self,
        solved: &Solved,
        zones: &[ZoneRow],
        (rows, treads): (&[ControlReach], &[PedalReach]),
        points: &[PointRow],
        spot: Option<&Spot>,
        sharing: Option<&Sharing>,
    ) -> String {
        let mm_words = |value: f64| Unit::Millimetre.show(value);
        let mut out = format!("{}: what {} reaches\n\n", solved.project.title, solved.project.driver.name);
        out += &format!("{:<28}{:<20}{:>10}{:>12}{:>12}{:>10}\n", "Limb", "Zone", "litres", "forward", "outward", "up");
        for row in zones {
            out += &format!(
                "{:<28}{:<20}{:>10.0}{:>12}{:>12}{:>10}\n",
                row.limb,
                row.zone.word(),
                row.litres,
                mm_words(row.forward_mm),
                mm_words(row.outward_mm),
                mm_words(row.up_mm)
            );
        }
        out += "Greatest distances from the H-point. Leaning forward is taken up to ";
        out += &format!("{}.\n", Unit::Degree.show(self.lean));
        if !rows.is_empty() {
            out += &format!(
                "\n{:<18}{:<7}{:<20}{:>10}{:>13}{:>9}{:>11}{:>8}\n",
                "Control", "Hand", "Zone", "margin", "comfortable", "flexion", "deviation", "elbow"
            );
        }
        let margin = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), mm_words);
        for row in rows {
            out += &format!(
                "{:<18}{:<7}{:<20}{:>10}{:>13}{:>9}{:>11}{:>8}\n",
                row.name,
                row.hand.word(),
                row.zone.map_or("out of reach", Zone::word),
                margin(row.margin_mm),
                margin(row.comfortable_margin_mm),
                Unit::Degree.show(row.wrist_flexion_deg),
                Unit::Degree.show(row.wrist_deviation_deg),
                Unit::Degree.show(row.elbow_deg)
            );
            if let Some(what) = &row.blocked_by {
                out += &format!("    In the way: {what}.\n");
            } else if row.short_mm > 0.0 {
                out += &format!("    Your arm falls {} short of it.\n", mm_words(row.short_mm));
            }
        }
        if !rows.is_empty() {
            out += "Margins are to the boundary of the attainable and of the comfortable zone, positive inside; wrist: towards\n\
                    the palm and towards the thumb positive; elbow: 180° straight.\n";
        }
        out += &pedal_table(treads);
        for row in points {
            out += &format!(
                "\n{}, {}: {}, margin {}",
                show_place(mm_point(row.at_mm)),
                row.limb,
                row.zone.map_or("out of reach", Zone::word),
                margin(row.margin_mm)
            );
            out += &row.blocked_by.as_ref().map_or_else(String::new, |what| format!("; in the way: {what}"));
            out.push('\n');
        }
        if self.place.is_some() {
            out += &spot.map_or_else(
                || "\nNo place in the comfortable zone is free of what moves there.\n".to_owned(),
                |spot| format!("\n{}\n", spot.sentence),
            );
        }
        if let Some(sharing) = sharing {
            out += &format!("\n{}\n", sharing.sentence());
        }
        out
    }

    fn write(
        &self,
        folder: &Path,
        solved: &Solved,
        reaches: &[Reach],
        (rows, treads): (&[ControlReach], &[PedalReach]),
        regions: &[&Region],
    ) -> std::io::Result<()> {
        fs::create_dir_all(folder)?;
        let mut surfaces = Vec::new();
        for reach in reaches {
            for zone in reach.limb.zones() {
                if let Some(surface) = reach.surface(*zone).filter(|surface| !surface.mesh.triangles.is_empty()) {
                    let name = format!("{}, {}", reach.limb.words(), zone.word());
                    fs::write(folder.join(format!("{}.stl", file_name(&name))), stl(&surface.mesh))?;
                    surfaces.push((name, *zone, surface));
                }
            }
        }
        fs::write(folder.join("reach.glb"), glb(&surfaces))?;
        for region in regions {
            fs::write(folder.join(format!("{}.stl", file_name(&region.name))), stl(&region.mesh))?;
        }
        let sitting = &solved.rest.sitting;
        let middle = (sitting.shoulders[0] + sitting.shoulders[1]) * 0.5;
        let wheel = solved.rig.wheel.X_WR.translation.vector;
        let mut views = vec![
            ("side", Plane::side(self.side.map_or(sitting.h_point.y, mm)), ["forward", "up"]),
            ("top", Plane::top(self.top.map_or(middle.z, mm)), ["forward", "left"]),
            ("front", Plane::front(self.front.map_or(wheel.x, mm)), ["right", "up"]),
        ];
        if let Some([x, y, z, a, b, c]) = self.plane {
            views.push(("plane", Plane::through(mm_point([x, y, z]), Vec3::new(a, b, c)), ["across", "up"]));
        }
        for (name, plane, axes) in views {
            let curves = surfaces
                .iter()
                .map(|(name, zone, surface)| (name.clone(), *zone, section(surface, &plane)))
                .filter(|(.., curves)| !curves.is_empty())
                .collect();
            let drawing = Drawing {
                title: format!("{}: reach of {}, {name} section", solved.project.title, solved.project.driver.name),
                plane,
                axes,
                curves,
                marks: vec![("H-point".into(), sitting.h_point), ("wheel centre".into(), wheel)],
            };
            fs::write(folder.join(format!("section_{name}.svg")), svg(&drawing))?;
            fs::write(folder.join(format!("section_{name}.dxf")), dxf(&drawing))?;
        }
        let mut table = csv::Writer::from_path(folder.join("controls.csv"))?;
        table.write_record([
            "name",
            "hand",
            "zone",
            "margin_mm",
            "comfortable_margin_mm",
            "wrist_flexion_deg",
            "wrist_deviation_deg",
            "elbow_deg",
            "blocked_by",
            "short_mm",
        ])?;
        let number = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
        for row in rows {
            table.write_record([
                row.name.clone(),
                row.hand.word().to_owned(),
                row.zone.map_or("out of reach", Zone::word).to_owned(),
                number(row.margin_mm),
                number(row.comfortable_margin_mm),
                number(Some(row.wrist_flexion_deg)),
                number(Some(row.wrist_deviation_deg)),
                number(Some(row.elbow_deg)),
                row.blocked_by.clone().unwrap_or_default(),
                number(Some(row.short_mm)),
            ])?;
        }
        table.flush()?;
        write_pedals(&folder.join("pedals.csv"), treads)
    }
}

/// The pedals with the heel down, released and pressed; where that does not get there, what the foot in the air does.
fn pedal_table(treads: &[PedalReach]) -> String {
    let margin = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |margin| Unit::Millimetre.show(margin));
    let mut out = format!(
        "\n{:<18}{:<7}{:<20}{:>10}{:>13}{:>9}{:>8}\n",
        "Pedal, heel down", "Foot", "Zone", "margin", "comfortable", "knee", "ankle"
    );
    for row in treads.iter().filter(|row| row.footing == Footing::HeelDown) {
        for (words, face) in [("", &row.released), (", pressed", &row.pressed)] {
            out += &format!(
                "{:<18}{:<7}{:<20}{:>10}{:>13}{:>9}{:>8}\n",
                format!("{}{words}", crate::words::first_upper(row.name)),
                row.foot.word(),
                face.zone.map_or("out of reach", Zone::word),
                margin(face.margin_mm),
                margin(face.comfortable_margin_mm),
                Unit::Degree.show(face.knee_deg),
                Unit::Degree.show(face.ankle_deg)
            );
            if let Some(what) = &face.blocked_by {
                out += &format!("    In the way: {what}.\n");
            } else if face.short_mm > 0.0 {
                out += &format!("    Your leg falls {} short of it.\n", Unit::Millimetre.show(face.short_mm));
            }
        }
        let lifted = treads.iter().find(|other| other.footing == Footing::Free && other.name == row.name);
        if let Some(zone) = lifted.filter(|_| row.worst().zone.is_none()).and_then(|lifted| lifted.worst().zone) {
            out += &format!("    With the heel off the plate: {}.\n", zone.word());
        }
    }
    out += "The ball of the foot on the face, where on its height it gets best; knee: 180° straight; ankle: shank to sole.\n";
    out
}

fn write_pedals(path: &Path, treads: &[PedalReach]) -> std::io::Result<()> {
    let mut table = csv::Writer::from_path(path)?;
    table.write_record([
        "name",
        "foot",
        "footing",
        "face",
        "over_middle_mm",
        "zone",
        "margin_mm",
        "comfortable_margin_mm",
        "knee_deg",
        "ankle_deg",
        "blocked_by",
        "short_mm",
    ])?;
    let number = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    for row in treads {
        let mut write = |words: &str, face: &FaceReach| {
            table.write_record([
                row.name.to_owned(),
                row.foot.word().to_owned(),
                row.footing.word().to_owned(),
                words.to_owned(),
                number(Some(face.over_middle_mm)),
                face.zone.map_or("out of reach", Zone::word).to_owned(),
                number(face.margin_mm),
                number(face.comfortable_margin_mm),
                number(Some(face.knee_deg)),
                number(Some(face.ankle_deg)),
                face.blocked_by.clone().unwrap_or_default(),
                number(Some(face.short_mm)),
            ])
        };
        write("released", &row.released)?;
        write("pressed", &row.pressed)?;
    }
    table.flush()
}

fn file_name(words: &str) -> String {
    words
        .chars()
        .filter(|c| *c != ',')
        .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' })
        .collect()
}

fn asked(solved: &Solved, reach: &Reach, at: [f64; 3]) -> PointRow {
    let answer = reach.ask(mm_point(at));
    PointRow {
        at_mm: at,
        limb: reach.limb.words(),
        zone: answer.zone,
        margin_mm: answer.margin(Zone::Attainable).map(|margin| to_mm(margin).round()),
        blocked_by: answer.blocked_by.map(|what| what.words(&solved.rig)),
    }
}

fn zone_rows(solved: &Solved, reaches: &[Reach]) -> Vec<ZoneRow> {
    let from = solved.rest.sitting.h_point;
    let of = |reach: &Reach, zone: Zone| {
        let surface = reach.surface(zone)?;
        let sign = reach.limb.side().sign();
        let most = |measure: &dyn Fn(Vec3) -> f64| {
            to_mm(surface.mesh.positions.iter().map(|at| measure(at - from)).fold(f64::NEG_INFINITY, f64::max)).round()
        };
        (!surface.mesh.positions.is_empty()).then(|| ZoneRow {
            limb: reach.limb.words(),
            zone,
            litres: (surface.volume() * 1e4).round() / 10.0,
            forward_mm: most(&|off| off.x),
            outward_mm: most(&|off| off.y * sign),
            up_mm: most(&|off| off.z),
        })
    };
    reaches.iter().flat_map(|reach| reach.limb.zones().iter().filter_map(move |zone| of(reach, *zone))).collect()
}
