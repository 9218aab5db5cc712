//! Parts taken in hand: which numbers of the project move a part, and where it goes with them.

use super::{Rig, RigPart};
use crate::{
    geometry::Vec3,
    project::{Checked, Page, PedalKind, Project, RailEnd, fields},
    units::to_mm,
};

/// What of a rig is taken in hand as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Handle {
    /// The seat, all of it.
    Seat,
    /// The wheel with its unit.
    Wheel,
    /// The pedal set on its plate.
    PedalSet,
    /// One pedal on the plate.
    Pedal(PedalKind),
    /// A rail from end to end, by its place in the project.
    Rail(usize),
    /// One end of a rail.
    RailEnd(usize, RailEnd),
    /// A control, by its place in the project.
    Control(usize),
    /// The screens with their stand.
    Screens,
    /// A part from a file, by its place in the project.
    Shape(usize),
}

/// "from" or "to", as the fields of an end begin.
const fn field_of(end: RailEnd) -> &'static str {
    match end {
        RailEnd::From => "from",
        RailEnd::To => "to",
    }
}

impl Handle {
    /// What a part is taken by.
    pub fn of(part: RigPart, rig: &Rig) -> Option<Self> {
        Some(match part {
            RigPart::Seat(_) => Self::Seat,
            RigPart::Rim | RigPart::Hub | RigPart::WheelUnit => Self::Wheel,
            RigPart::Pedal(kind) => Self::Pedal(kind),
            RigPart::PedalBase => Self::PedalSet,
            RigPart::Control(index) => Self::Control(index),
            RigPart::Rail(index) => Self::Rail(index),
            RigPart::Screen(_) => Self::Screens,
            RigPart::Imported(index) => Self::Shape(rig.imported.get(index)?.index),
        })
    }

    /// Its name: "Seat", "Brake", a rail's own.
    pub fn name(self, project: &Project) -> String {
        match self {
            Self::Seat => "Seat".to_owned(),
            Self::Wheel => "Wheel".to_owned(),
            Self::PedalSet => "Pedal set".to_owned(),
            Self::Screens => "Screens".to_owned(),
            Self::Pedal(kind) => crate::words::first_upper(kind.word()),
            Self::Rail(index) => project.frame.get(index).map_or_else(String::new, |rail| rail.name.clone()),
            Self::RailEnd(index, end) => {
                let name = project.frame.get(index).map_or("", |rail| &rail.name);
                match end {
                    RailEnd::From => format!("{name}, one end"),
                    RailEnd::To => format!("{name}, other end"),
                }
            }
            Self::Control(index) => {
                project.controls.get(index).map_or_else(String::new, |control| control.name.clone())
            }
            Self::Shape(index) => project.shapes.get(index).map_or_else(String::new, |shape| shape.name.clone()),
        }
    }

    /// The topic under which its numbers stand.
    pub fn page(self, project: &Project) -> Page {
        match self {
            Self::Seat => Page::Seat,
            Self::Wheel => Page::Wheel,
            Self::PedalSet | Self::Pedal(_) => Page::Pedals,
            Self::Rail(_) | Self::RailEnd(..) => Page::Frame,
            Self::Shape(index) => project.shapes.get(index).map_or(Page::Frame, |shape| shape.stands_for.page()),
            Self::Control(_) => Page::Controls,
            Self::Screens => Page::Screens,
        }
    }

    /// Whether a project has such a part.
    pub fn is_in(self, project: &Project) -> bool {
        match self {
            Self::Seat | Self::Wheel | Self::PedalSet => true,
            Self::Pedal(kind) => project.pedals.pedals.iter().any(|pedal| pedal.kind == kind),
            Self::Rail(index) | Self::RailEnd(index, _) => index < project.frame.len(),
            Self::Control(index) => index < project.controls.len(),
            Self::Shape(index) => index < project.shapes.len(),
            Self::Screens => project.screens.is_some(),
        }
    }

    /// The point of it that is followed while it is moved, W; `None` where there is no such part.
    pub fn anchor(self, rig: &Rig) -> Option<Vec3> {
        Some(match self {
            Self::Seat => rig.seat.X_WS.translation.vector,
            Self::Wheel => rig.wheel.X_WR.translation.vector,
            Self::PedalSet => rig.pedals.X_WP.translation.vector,
            Self::Pedal(kind) => rig.pedals.get(kind)?.face_pose(&rig.pedals, 0.0).translation.vector,
            Self::Rail(index) => rig.rails.get(index)?.solid.pose.translation.vector,
            Self::RailEnd(index, end) => {
                let solid = &rig.rails.get(index)?.solid;
                let along = solid.pose.rotation * Vec3::new(0.0, 0.0, solid.half.z);
                let way = if end == RailEnd::From { -along } else { along };
                solid.pose.translation.vector + way
            }
            Self::Control(index) => rig.controls.get(index)?.at,
            Self::Screens => rig.screens.as_ref()?.X_WM.translation.vector,
            Self::Shape(index) => rig.imported.iter().find(|part| part.index == index)?.solid.pose.translation.vector,
        })
    }

    /// The numbers that move it, each alone or together with others: paths without the index of the axis.
    fn paths(self, project: &Project, freely: bool) -> Vec<Vec<String>> {
        let row = |path: &str| (0..3).map(|axis| vec![format!("{path}[{axis}]")]).collect::<Vec<_>>();
        match self {
            Self::Seat => {
                let mut row = row("seat.position_mm");
                if !freely {
                    row[0] = vec!["seat.slider.at_mm".to_owned()];
                }
                row
            }
            Self::Wheel => row("wheel.centre_mm"),
            Self::PedalSet => row("pedals.position_mm"),
            Self::Pedal(kind) => {
                let Some(index) = project.pedals.pedals.iter().position(|pedal| pedal.kind == kind) else {
                    return Vec::new();
                };
                ["sideways_mm", "face_mm[0]", "face_mm[1]"]
                    .map(|field| vec![format!("pedals.pedals[{index}].{field}")])
                    .to_vec()
            }
            Self::Control(index) => row(&format!("controls[{index}].at_mm")),
            // Which of them there are depends on how their place is written.
            Self::Screens => ["place.forward_mm", "place.distance_mm", "place.left_mm", "place.eye_mm[1]", "height_mm"]
                .map(|field| vec![format!("screens.{field}")])
                .to_vec(),
            Self::Shape(index) => row(&format!("shapes[{index}].at_mm")),
            Self::Rail(index) => {
                let Some(rail) = project.frame.get(index) else { return Vec::new() };
                match (&rail.from_on, &rail.to_on) {
                    (None, None) => (0..3)
                        .map(|axis| {
                            RailEnd::BOTH.map(|end| format!("frame[{index}].{}_mm[{axis}]", field_of(end))).into()
                        })
                        .collect(),
                    (from, to) => {
                        let hung = [(from, RailEnd::From), (to, RailEnd::To)];
                        let hung = hung.into_iter().filter(|(on, _)| on.is_some());
                        vec![hung.map(|(_, end)| format!("frame[{index}].{}_on.along_mm", field_of(end))).collect()]
                    }
                }
            }
            Self::RailEnd(index, end) => {
                let Some(rail) = project.frame.get(index) else { return Vec::new() };
                let on = if end == RailEnd::From { &rail.from_on } else { &rail.to_on };
                let at = format!("frame[{index}].{}", field_of(end));
                if on.is_some() { vec![vec![format!("{at}_on.along_mm")]] } else { row(&format!("{at}_mm")) }
            }
        }
    }
}

/// One way in which a part goes: numbers that change by the same, and what that does.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// The project's fields, and how much each changes for a millimetre of the first.
    pub moves: Vec<(String, f64)>,
    /// Where the part goes for a millimetre, W, m.
    pub rate: Vec3,
    /// The first number as it stands, mm.
    pub at: f64,
    /// Between which values it may stand, mm.
    pub range: (f64, f64),
    /// Pitch of its holes or detents, mm; 0 where it goes freely.
    pub step: f64,
    /// Whether the project says how far it goes.
    pub described: bool,
}

/// The ways in which a part of a project can be moved, at most three. `freely` passes over the slider, and over the
/// holes and detents of what moves.
pub fn ways(project: &Checked, handle: Handle, freely: bool) -> Vec<Way> {
    let Some(start) = handle.anchor(&Rig::place(project)) else { return Vec::new() };
    let mut out = Vec::new();
    for paths in handle.paths(project, freely) {
        let mut moves: Vec<(String, f64)> = paths.iter().map(|path| (path.clone(), 1.0)).collect();
        let mut draft: Project = (**project).clone();
        let Some((at, range, step, described)) = read(&mut draft, &paths[0]) else { continue };
        // Which way, and how far for a millimetre, is asked of the placed rig itself.
        let toward = if at + 1.0 <= range.1 { 1.0 } else { -1.0 };
        change(&mut draft, &moves, toward);
        let Ok(checked) = Checked::new(draft) else { continue };
        let Some(then) = handle.anchor(&Rig::place(&checked)) else { continue };
        let mut rate = (then - start) * toward;
        if let Handle::Rail(index) = handle
            && let [(path, _)] = &moves[..]
            && path.contains("_on.")
        {
            // The middle goes half as far as the one end that hangs; the free end is to go with it.
            rate *= 2.0;
            let free = if path.contains("from_on") { "to" } else { "from" };
            moves.extend((0..3).map(|axis| (format!("frame[{index}].{free}_mm[{axis}]"), to_mm(rate[axis]))));
        }
        if rate.norm() < 1e-9 {
            continue;
        }
        let step = if freely { 0.0 } else { step };
        out.push(Way { moves, rate, at, range, step, described });
    }
    out
}

/// What came of carrying a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Carried {
    /// The project with the part there.
    pub project: Project,
    /// How far the part went, W, m.
    pub by: Vec3,
    /// The ways that are at one of their ends now, by their place in the list.
    pub at_end: Vec<usize>,
}

/// Carries a part as near to `by` (W, m, from where it stood when `ways` were asked for) as its ways lead: to whole
/// millimetres, or to holes and detents, and no further than its numbers go.
pub fn carry(project: &Project, ways: &[Way], by: Vec3) -> Carried {
    let mut project = project.clone();
    let mut went = Vec3::zeros();
    let mut at_end = Vec::new();
    // Ways of one part stand square on one another, or nearly.
    for (index, way) in ways.iter().enumerate() {
        let wanted = by.dot(&way.rate) / way.rate.norm_squared();
        let mut to = if way.step > 0.0 {
            way.at + (wanted / way.step).round() * way.step
        } else {
            // Whole millimetres where something moves; what stands, stands.
            if wanted.abs() < 0.5 { way.at } else { (way.at + wanted).round() }
        };
        let (low, high) = way.range;
        if to <= low || to >= high {
            at_end.push(index);
            to = to.clamp(low, high);
            if way.step > 0.0 {
                // The last hole that is there.
                to = way.at + ((to - way.at) / way.step).trunc() * way.step;
            }
        }
        let change_by = to - way.at;
        change(&mut project, &way.moves, change_by);
        went += way.rate * change_by;
    }
    Carried { project, by: went, at_end }
}

/// Value, range, step, and whether the project describes it as an adjuster.
fn read(project: &mut Project, path: &str) -> Option<(f64, (f64, f64), f64, bool)> {
    let described = project.adjusters.iter().any(|one| one.field == path) || path == "seat.slider.at_mm";
    let mut found = None;
    fields(project, &mut |field| {
        if field.path == path {
            found = Some((*field.value, field.range, field.adjust.map_or(0.0, |adjust| adjust.step), described));
        }
    });
    found
}

fn change(project: &mut Project, moves: &[(String, f64)], by: f64) {
    if by == 0.0 {
        return;
    }
    fields(project, &mut |field| {
        if let Some((_, share)) = moves.iter().find(|(path, _)| *path == field.path) {
            *field.value += share * by;
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::parse;

    fn demo(name: &str) -> Checked {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets").join(name);
        parse(&std::fs::read_to_string(path).unwrap()).unwrap()
    }

    fn anchor(project: &Project, handle: Handle) -> Vec3 {
        handle.anchor(&Rig::place(&Checked::new(project.clone()).unwrap())).unwrap()
    }

    #[test]
    fn every_part_goes_where_it_is_carried() {
        for name in ["closed_car.ron", "formula.ron", "three_pedals.ron", "club_rig.ron"] {
            let project = demo(name);
            let rig = Rig::place(&project);
            let mut handles = vec![Handle::Seat, Handle::Wheel, Handle::PedalSet];
            handles.extend(project.pedals.pedals.iter().map(|pedal| Handle::Pedal(pedal.kind)));
            for index in 0..project.frame.len() {
                handles.push(Handle::Rail(index));
                handles.extend(RailEnd::BOTH.map(|end| Handle::RailEnd(index, end)));
            }
            handles.extend((0..project.controls.len()).map(Handle::Control));
            for handle in handles {
                let ways = ways(&project, handle, true);
                assert!(!ways.is_empty(), "{name}: {handle:?} can't be moved");
                let by = Vec3::new(0.012, -0.007, 0.009);
                let carried = carry(&project, &ways, by);
                let went = anchor(&carried.project, handle) - handle.anchor(&rig).unwrap();
                assert!((went - carried.by).norm() < 2e-5, "{name} {handle:?}: {went:?} said {:?}", carried.by);
                if ways.len() == 3 {
                    assert!((went - by).norm() < 1.3e-3, "{name} {handle:?}: {went:?}");
                }
            }
        }
    }

    #[test]
    fn a_seat_slides_in_its_detents_and_stops_at_the_end_of_its_slider() {
        let mut project = demo("closed_car.ron").into_inner();
        project.seat.slider.at_mm = 0.0;
        project.seat.slider.step_mm = 12.0;
        project.seat.slider.range_mm = [-30.0, 50.0];
        project.adjusters.clear();
        let project = Checked::new(project).unwrap();
        let ways = ways(&project, Handle::Seat, false);
        // 31 mm lies between the second detent (24) and the third (36), nearer to the third.
        let carried = carry(&project, &ways, Vec3::new(0.031, 0.0, 0.0));
        assert!((carried.project.seat.slider.at_mm - 36.0).abs() < 1e-9);
        assert!(carried.at_end.is_empty());
        // The last detent before 50 is 48, before −30 it is −24.
        for (by, stands) in [(0.4, 48.0), (-0.4, -24.0)] {
            let carried = carry(&project, &ways, Vec3::new(by, 0.0, 0.0));
            assert!((carried.project.seat.slider.at_mm - stands).abs() < 1e-9, "{}", carried.project.seat.slider.at_mm);
            assert_eq!(carried.at_end, [0]);
        }
    }

    #[test]
    fn a_rail_that_hangs_on_others_stays_on_them() {
        let project = demo("club_rig.ron");
        let hung = project.frame.iter().position(|rail| rail.from_on.is_some() || rail.to_on.is_some()).unwrap();
        let ways = ways(&project, Handle::Rail(hung), false);
        assert_eq!(ways.len(), 1, "it slides along what carries it");
        let carried = carry(&project, &ways, ways[0].rate * 17.0);
        let (before, after) = (&project.frame[hung], Checked::new(carried.project).unwrap());
        let after = &after.frame[hung];
        assert_eq!(before.from_on.is_some(), after.from_on.is_some());
        let length =
            |rail: &crate::project::Rail| (0..3).map(|i| (rail.to_mm[i] - rail.from_mm[i]).powi(2)).sum::<f64>().sqrt();
        assert!((length(before) - length(after)).abs() < 0.01);
    }
}
