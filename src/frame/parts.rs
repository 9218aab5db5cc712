//! What to buy besides rails, and what it all weighs.

use serde::Serialize;

use super::{Built, Duty, Tie};
use crate::{
    geometry::Vec3,
    project::{JointKind, RailSection, joint_row},
    units::mm_point,
};

/// A line of the parts list.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Part {
    /// What.
    pub part: String,
    /// Its size: "slot 8", "M8", a section.
    pub size: String,
    /// How many.
    pub count: u32,
}

/// Brackets, connectors, bolts, slot nuts, end caps and feet, counted.
pub fn parts(duty: &Duty, built: &Built) -> Vec<Part> {
    let mut list = List::default();
    let section = |rail: usize| RailSection::of(&duty.rails[rail]);
    for found in &built.joints {
        match found.tie {
            Tie::Rails { guest, host, kind, pieces } => {
                let (row, own) = (joint_row(kind), section(guest));
                let slot = format!("slot {}", own.slot_mm);
                match kind {
                    JointKind::EndToFace => {
                        // A screw into every core thread of the cut end.
                        list.add(&row.part, &own.bolt, pieces * modules(&own));
                    }
                    JointKind::Butt | JointKind::Bracket | JointKind::Pivot => list.add(&row.part, &slot, pieces),
                }
                // One leg sits in each rail's slot.
                let bolts = row.bolts * pieces;
                let half = bolts / 2;
                list.add("bolt", &own.bolt, bolts - half);
                list.add("bolt", &section(host).bolt, half);
                let nuts = row.nuts * pieces;
                let half = nuts / 2;
                list.add("slot nut", &nut(&own), nuts - half);
                list.add("slot nut", &nut(&section(host)), half);
            }
            Tie::Part { rail, .. } => {
                let own = section(rail);
                list.add("bolt", &own.bolt, 1);
                list.add("slot nut", &nut(&own), 1);
            }
        }
    }
    for (rail, open) in built.open_ends.iter().enumerate() {
        list.add("end cap", &bare(&section(rail)), open.iter().map(|&open| u32::from(open)).sum());
    }
    list.add("foot", "height adjustable", built.feet.len() as u32);
    list.rows
}

fn nut(section: &RailSection) -> String {
    format!("slot {} {}", section.slot_mm, section.bolt)
}

/// Core threads of a cut end.
fn modules(section: &RailSection) -> u32 {
    let along = |size: f64| (size / section.pitch_mm).round().max(1.0) as u32;
    along(section.across_mm) * along(section.upright_mm)
}

/// A section's size without its grade: caps fit both.
fn bare(section: &RailSection) -> String {
    format!("{}x{}", section.across_mm, section.upright_mm)
}

#[derive(Default)]
struct List {
    rows: Vec<Part>,
}

impl List {
    fn add(&mut self, part: &str, size: &str, count: u32) {
        if count == 0 {
            return;
        }
        match self.rows.iter_mut().find(|row| row.part == part && row.size == size) {
            Some(row) => row.count += count,
            None => self.rows.push(Part { part: part.to_owned(), size: size.to_owned(), count }),
        }
        self.rows.sort();
    }
}

/// Masses, kg, and where they are, W.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mass {
    /// Rails: length times kg/m, nothing taken off for holes.
    pub rails: f64,
    /// The whole rig without its driver: rails, seat, wheel, pedals and other weights, no brackets.
    pub rig: f64,
    /// Centre of mass of the rig.
    pub rig_at: Vec3,
    /// The rig with its driver.
    pub driven: f64,
    /// Centre of mass of the rig with its driver in the seat.
    pub driven_at: Vec3,
}

impl Mass {
    /// The masses of a duty.
    pub fn of(duty: &Duty) -> Self {
        let rails: Vec<(f64, Vec3)> = duty
            .rails
            .iter()
            .map(|rail| {
                let middle = (mm_point(rail.from_mm) + mm_point(rail.to_mm)) / 2.0;
                (rail.length() * RailSection::of(rail).kg_per_m, middle)
            })
            .collect();
        let parts = |driver: f64| {
            duty.carried
                .iter()
                .enumerate()
                .map(move |(index, part)| (part.mass - if index == super::SEAT { driver } else { 0.0 }, part.at))
        };
        let all = |driver: f64| {
            let sums = rails
                .iter()
                .copied()
                .chain(parts(driver))
                .fold((0.0, Vec3::zeros()), |(mass, moment), (m, at)| (mass + m, moment + at * m));
            (sums.0, if sums.0 > 0.0 { sums.1 / sums.0 } else { Vec3::zeros() })
        };
        let ((rig, rig_at), (driven, driven_at)) = (all(duty.driver), all(0.0));
        Self { rails: rails.iter().fold(0.0, |sum, (mass, _)| sum + mass), rig, rig_at, driven, driven_at }
    }
}
