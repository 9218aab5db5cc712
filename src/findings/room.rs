//! How far what is adjusted can go: where a seat, a wheel, a pedal or a screen meets a rail or another part.
//!
//! Parts that touch already where they stand are bolted to one another, or told of by themselves; they stop nothing.

use super::{Figure, Place};
use crate::{
    geometry::{Nearest, Solid, Vec3, between},
    posture::Moment,
    project::{Adjust, Checked, PedalKind, Project, StandsFor, fields},
    rig::Rig,
    units::{Unit, mm},
};

/// Nearer than this two parts touch, m.
const TOUCH: f64 = mm(0.1);
/// The way is looked at in places no further apart than this, m: less than any rail is thick.
const STRIDE: f64 = mm(8.0);
/// Places at most.
const PLACES: usize = 60;
/// Halvings between the last free place and the first that is not.
const HALVINGS: usize = 12;

/// An adjuster whose range the parts themselves narrow.
pub(super) struct Room {
    /// The number that it moves.
    pub path: String,
    /// What it is called, and its part: "the wheel, up and down".
    name: String,
    unit: Unit,
    value: f64,
    adjust: Adjust,
    /// As it is built.
    range: [f64; 2],
    /// What stops it on its way down and up.
    pub stops: [Option<Stop>; 2],
}

/// Where two parts first meet.
pub(super) struct Stop {
    /// The adjuster's value there.
    pub at: f64,
    /// The part that moves, and the other one, with article.
    parts: [String; 2],
    nearest: Nearest,
}

/// What moves together.
#[derive(Clone, Copy, PartialEq)]
enum Group {
    Seat,
    Wheel,
    PedalBase,
    Pedal(PedalKind),
    Screens,
    Rail,
    Imported(usize),
}

struct Piece {
    group: Group,
    words: String,
    solid: Solid,
}

/// The room of every adjuster that the project describes, and of the seat's slider.
pub(super) fn rooms(project: &Checked, rig: &Rig) -> Vec<Room> {
    let mut rooms = Vec::new();
    fields(&mut Project::clone(project), &mut |field| {
        let described = project.adjusters.iter().any(|described| described.field == field.path);
        let Some(adjust) = field.adjust.filter(|_| described || field.path == SLIDER) else { return };
        // Several of a kind are told apart by their part.
        let several = field.path.starts_with("pedals.pedals") || field.path.starts_with("shapes");
        let of = if several { format!(" ({})", field.part) } else { String::new() };
        rooms.push(Room {
            name: format!("{}{of}, {} and {}", adjust.name, adjust.up, adjust.down),
            path: field.path,
            unit: field.unit,
            value: *field.value,
            adjust,
            range: [field.range.0, field.range.1],
            stops: [None, None],
        });
    });
    if rooms.is_empty() {
        return rooms;
    }
    let here = pieces(rig);
    for room in &mut rooms {
        room.stops = [0, 1].map(|end| stop(project, room, room.range[end], &here));
    }
    rooms
}

pub(super) const SLIDER: &str = "seat.slider.at_mm";

/// The figures: of each described adjuster what of its range is barred. The slider has a figure of its own.
pub(super) fn figures(rooms: &[Room], rig: &Rig) -> Vec<Figure> {
    rooms.iter().filter(|room| room.path != SLIDER).map(|room| room.figure(rig)).collect()
}

impl Room {
    fn figure(&self, rig: &Rig) -> Figure {
        let [low, high] = self.range;
        let show = |value: f64| self.unit.show(value);
        let mut barred = 0.0;
        let mut said = Vec::new();
        for (end, (stop, way)) in self.stops.iter().zip([self.adjust.down, self.adjust.up]).enumerate() {
            let Some(stop) = stop else { continue };
            let left = (self.range[end] - stop.at).abs();
            barred += left;
            let [part, other] = &stop.parts;
            said.push(format!(
                "Moved {way}, {} goes to {}, but at {} {part} meets {other}: {} can't be used.",
                self.adjust.name,
                show(self.range[end]),
                show(stop.at),
                show(left)
            ));
        }
        let sentence = if said.is_empty() {
            format!("All the way from {} to {} {} meets nothing.", show(low), show(high), self.adjust.name)
        } else {
            let mut said = said.join(" ");
            said[..1].make_ascii_uppercase();
            said
        };
        let stopped = self.stops.iter().flatten().next();
        let group = moving(&self.path, rig).first().copied();
        let middle = pieces(rig).iter().find(|piece| Some(piece.group) == group).map(|piece| centre(&piece.solid));
        let place = stopped.map_or_else(
            || Place::Point { at: middle.unwrap_or_else(Vec3::zeros) },
            |stop| Place::Gap { from: stop.nearest.on_a, to: stop.nearest.on_b },
        );
        let bare = |words: &String| words.trim_start_matches("the ").trim_start_matches("your ").to_owned();
        let parts =
            stopped.map_or_else(|| vec![bare(&self.adjust.name.to_owned())], |s| s.parts.iter().map(bare).collect());
        let mut item = self.name.clone();
        if let Some(first) = item.get_mut(0..1) {
            first.make_ascii_uppercase();
        }
        Figure {
            id: "adjuster_barred",
            side: None,
            item: Some(item),
            value: if high > low { 100.0 * barred / (high - low) } else { 0.0 },
            sentence,
            place,
            moment: Moment::REST,
            parts,
        }
    }
}

/// The first place on the way to `end` where what moves meets something.
fn stop(project: &Checked, room: &Room, end: f64, here: &[Piece]) -> Option<Stop> {
    if (end - room.value).abs() < 1e-9 {
        return None;
    }
    let place = |value: f64| {
        let mut moved = Project::clone(project);
        fields(&mut moved, &mut |field| {
            if field.path == room.path {
                *field.value = value;
            }
        });
        Checked::new(moved).ok().map(|moved| Rig::place(&moved))
    };
    // Where the project allows no such value, its own range ends before.
    let there = place(end)?;
    let groups = moving(&room.path, &there);
    let far = pieces(&there);
    let way = here.iter().zip(&far).filter(|(piece, _)| groups.contains(&piece.group));
    let way = way.map(|(a, b)| most(&a.solid, &b.solid)).fold(0.0, f64::max);
    if way < TOUCH {
        return None;
    }
    // Turning, a corner may go out a little beyond its two ends.
    let pairs: Vec<(usize, usize)> = pairs(here, &groups, &room.path)
        .filter(|&(a, b)| {
            let gap = between(&here[a].solid, &here[b].solid, 1.5 * way).gap;
            gap > TOUCH && gap < 1.5 * way
        })
        .collect();
    if pairs.is_empty() {
        return None;
    }
    // What goes straight need not be placed anew at every step.
    let straight = place(f64::midpoint(room.value, end)).is_some_and(|rig| {
        let middle = pieces(&rig);
        pairs.iter().all(|&(a, _)| middle.get(a).is_some_and(|middle| goes_straight(&here[a], middle, &far[a])))
    });
    let met = |value: f64| {
        let meet = |a: usize, b: usize, moved: &Solid, other: &Solid| {
            let nearest = between(moved, other, TOUCH);
            (nearest.gap < 0.0).then_some((a, b, nearest))
        };
        if straight {
            let share = (value - room.value) / (end - room.value);
            return pairs.iter().find_map(|&(a, b)| {
                let by = (centre(&far[a].solid) - centre(&here[a].solid)) * share;
                meet(a, b, &here[a].solid.shifted(by), &here[b].solid)
            });
        }
        let placed = pieces(&place(value)?);
        pairs.iter().find_map(|&(a, b)| meet(a, b, &placed.get(a)?.solid, &placed.get(b)?.solid))
    };
    let places = ((way / STRIDE).ceil() as usize).clamp(2, PLACES);
    let at = |share: f64| room.value + share * (end - room.value);
    let first = (1..=places).find_map(|place| Some((place, met(at(place as f64 / places as f64))?)))?;
    let (mut free, mut hit) = ((first.0 - 1) as f64 / places as f64, first.0 as f64 / places as f64);
    let mut found = first.1;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(free, hit);
        match met(at(middle)) {
            Some(nearer) => (hit, found) = (middle, nearer),
            None => free = middle,
        }
    }
    let (a, b, nearest) = found;
    Some(Stop { at: at(free), parts: [here[a].words.clone(), here[b].words.clone()], nearest })
}

/// Whether a piece goes from one place to another without turning, and is half-way in the middle.
fn goes_straight(here: &Piece, middle: &Piece, far: &Piece) -> bool {
    const EXACT: f64 = 1e-9;
    let way = centre(&far.solid) - centre(&here.solid);
    let as_shifted = |share: f64, found: &Piece| most(&here.solid.shifted(way * share), &found.solid) < EXACT;
    // A rim's middle tells nothing of its turn; whatever turns it turns the unit behind it as well.
    let turns = |found: &Piece| match (&here.solid, &found.solid) {
        (Solid::Rim(here), Solid::Rim(found)) => {
            let off = |axis: Vec3| (here.pose.rotation * axis - found.pose.rotation * axis).norm();
            off(Vec3::x()) + off(Vec3::z()) > EXACT
        }
        _ => false,
    };
    as_shifted(0.5, middle) && as_shifted(1.0, far) && !turns(middle) && !turns(far)
}

/// What moves with the number at a path.
fn moving(path: &str, rig: &Rig) -> Vec<Group> {
    let pedals = || rig.pedals.list.iter().map(|pedal| Group::Pedal(pedal.kind));
    let index = || path.split(['[', ']']).nth(1).and_then(|index| index.parse::<usize>().ok());
    if path.starts_with("seat.") {
        vec![Group::Seat]
    } else if path.starts_with("wheel.") {
        vec![Group::Wheel]
    } else if path.starts_with("screens.") {
        vec![Group::Screens]
    } else if path.starts_with("pedals.pedals") {
        index().and_then(|index| pedals().nth(index)).into_iter().collect()
    } else if path.starts_with("pedals.") {
        std::iter::once(Group::PedalBase).chain(pedals()).collect()
    } else {
        index().map(Group::Imported).into_iter().collect()
    }
}

/// What moves against what doesn't, by their places in the list. A pedal stands on its base.
fn pairs<'p>(pieces: &'p [Piece], groups: &'p [Group], path: &'p str) -> impl Iterator<Item = (usize, usize)> + 'p {
    let on_base = path.starts_with("pedals.");
    let stays = move |piece: &Piece| !(groups.contains(&piece.group) || on_base && piece.group == Group::PedalBase);
    let moving = pieces.iter().enumerate().filter(|(_, piece)| groups.contains(&piece.group));
    moving.flat_map(move |(a, _)| {
        pieces.iter().enumerate().filter(move |(_, piece)| stays(piece)).map(move |(b, _)| (a, b))
    })
}

/// The rig's parts as they are now; a shape from a file takes the place of what the dimensions say.
fn pieces(rig: &Rig) -> Vec<Piece> {
    let mut out = Vec::new();
    let mut put = |group, words: String, solid| out.push(Piece { group, words, solid });
    if !rig.is_imported(StandsFor::Seat) {
        for (_, solid) in &rig.seat.solids {
            put(Group::Seat, "the seat".to_owned(), Solid::Box(*solid));
        }
    }
    if !rig.is_imported(StandsFor::Rim) {
        put(Group::Wheel, "the rim".to_owned(), Solid::Rim(rig.wheel.rim(0.0)));
    }
    if !rig.is_imported(StandsFor::WheelUnit) {
        put(Group::Wheel, "the wheel unit".to_owned(), Solid::Box(rig.wheel.unit));
    }
    if !rig.is_imported(StandsFor::PedalPlate) {
        put(Group::PedalBase, "the pedal plate".to_owned(), Solid::Box(rig.pedals.base));
    }
    for pedal in &rig.pedals.list {
        let (face, arm) = pedal.solids(&rig.pedals, 0.0);
        let words = format!("the {}", pedal.kind.word());
        put(Group::Pedal(pedal.kind), words.clone(), Solid::Box(face));
        put(Group::Pedal(pedal.kind), words, Solid::Capsule(arm));
    }
    for (name, solid) in rig.screens.iter().flat_map(|screens| &screens.solids) {
        // The arm reaches for its rail wherever the screen is.
        if *name != "screen arm" {
            put(Group::Screens, format!("the {name}"), Solid::Box(*solid));
        }
    }
    for rail in &rig.rails {
        put(Group::Rail, format!("the rail “{}”", rail.name), Solid::Box(rail.solid));
    }
    for (index, part) in rig.imported.iter().enumerate() {
        let group = match part.stands_for {
            StandsFor::Seat => Group::Seat,
            StandsFor::Rim | StandsFor::WheelUnit => Group::Wheel,
            StandsFor::PedalPlate => Group::PedalBase,
            StandsFor::Screen | StandsFor::Other => Group::Imported(index),
        };
        put(group, format!("“{}”", part.name), Solid::Mesh(part.solid.clone()));
    }
    out
}

/// How far a solid's corners go at most from one place to another, m.
fn most(from: &Solid, to: &Solid) -> f64 {
    let apart = |a: [Vec3; 8], b: [Vec3; 8]| a.iter().zip(&b).map(|(a, b)| (a - b).norm()).fold(0.0, f64::max);
    match (from, to) {
        (Solid::Box(from), Solid::Box(to)) => apart(from.corners(), to.corners()),
        (Solid::Mesh(from), Solid::Mesh(to)) => apart(from.corners(), to.corners()),
        (Solid::Capsule(from), Solid::Capsule(to)) => (from.a - to.a).norm().max((from.b - to.b).norm()),
        // A rim turns with its unit, whose far corners go further.
        _ => (centre(from) - centre(to)).norm(),
    }
}

fn centre(solid: &Solid) -> Vec3 {
    match solid {
        Solid::Box(own) => own.pose.translation.vector,
        Solid::Mesh(own) => own.pose.translation.vector,
        Solid::Capsule(own) => (own.a + own.b) / 2.0,
        Solid::Rim(own) => own.pose.translation.vector,
    }
}
