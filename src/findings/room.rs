//! How far what is adjusted can go: where a seat, a wheel, a pedal or a screen meets a rail or another part.
//!
//! Parts that touch already where they stand are bolted to one another, or told of by themselves; they stop nothing.

use std::fmt;

use rayon::prelude::*;

use super::{Figure, Place};
use crate::{
    geometry::{Nearest, Solid, Vec3, between},
    posture::Moment,
    project::{Adjust, Checked, PedalKind, Project, StandsFor, fields},
    rig::Rig,
    units::{Unit, mm},
    words::first_upper,
};

/// Nearer than this two parts touch, m.
const TOUCH: f64 = mm(0.1);
/// Near something the way is looked at in steps of this, m: less than any rail is thick.
const STRIDE: f64 = mm(8.0);
/// How exactly it is told where two parts meet, m.
const CLOSE: f64 = mm(0.002);
/// Nearer than this to a screw, m, a motion is one.
const EXACT: f64 = mm(0.02);
/// The shortest stretch that is still cut in two, as a share of the way.
const SHORTEST: f64 = 0.05;

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
    let here = pieces(rig, |_| true);
    rooms.par_iter_mut().for_each(|room| room.stops = [0, 1].map(|end| stop(project, room, room.range[end], &here)));
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
            first_upper(&said.join(" "))
        };
        let stopped = self.stops.iter().flatten().next();
        let group = moving(&self.path, rig).first().copied();
        let middle = pieces(rig, |other| Some(other) == group).first().map(|piece| centre(&piece.solid));
        let place = stopped.map_or_else(
            || Place::Point { at: middle.unwrap_or_else(Vec3::zeros) },
            |stop| Place::Gap { from: stop.nearest.on_a, to: stop.nearest.on_b },
        );
        let bare = |words: &String| words.trim_start_matches("the ").trim_start_matches("your ").to_owned();
        let parts =
            stopped.map_or_else(|| vec![bare(&self.adjust.name.to_owned())], |s| s.parts.iter().map(bare).collect());
        Figure {
            id: "adjuster_barred",
            side: None,
            item: Some(first_upper(&self.name)),
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
    let at = |share: f64| room.value + share * (end - room.value);
    // Where the project allows no such value, its own range ends before.
    let placed = |share: f64| Some(Rig::place(&project.adjusted(&room.path, at(share))?));
    let there = placed(1.0)?;
    let groups = moving(&room.path, &there);
    let movers: Vec<usize> = (0..here.len()).filter(|&index| groups.contains(&here[index].group)).collect();
    let solids = |rig: &Rig| -> Option<Vec<Solid>> {
        let moved = pieces(rig, |group| groups.contains(&group)).into_iter().map(|piece| piece.solid);
        let moved: Vec<Solid> = moved.collect();
        (moved.len() == movers.len()).then_some(moved)
    };
    let start = Stand { share: 0.0, movers: movers.iter().map(|&index| here[index].solid.clone()).collect() };
    let finish = Stand { share: 1.0, movers: solids(&there)? };
    let mut stretches = Vec::new();
    split(&|share| solids(&placed(share)?), start, finish, &mut stretches);

    let mut first: Option<(f64, (usize, usize), Nearest)> = None;
    for (mover, &a) in movers.iter().enumerate() {
        let way: f64 = stretches.iter().map(|stretch| stretch.ways[mover]).sum();
        if way < TOUCH {
            continue;
        }
        for (b, other) in here.iter().enumerate().filter(|(_, piece)| stays(piece, &groups, &room.path)) {
            let gap = between(&here[a].solid, &other.solid, way).gap;
            if gap <= TOUCH || gap >= way {
                continue;
            }
            let until = first.as_ref().map_or(1.0, |(share, ..)| *share);
            if let Some((share, nearest)) = meets(&stretches, mover, &other.solid, gap, until) {
                first = Some((share, (a, b), nearest));
            }
        }
    }
    let (share, (a, b), nearest) = first?;
    Some(Stop { at: at(share), parts: [here[a].words.clone(), here[b].words.clone()], nearest })
}

/// What moves, at a share of the way.
#[derive(Clone)]
struct Stand {
    share: f64,
    movers: Vec<Solid>,
}

/// A part of the way on which everything goes as on a screw.
struct Stretch {
    from: Stand,
    to: Stand,
    /// How far each mover goes at most, m.
    ways: Vec<f64>,
}

/// Cuts the way into stretches on which the movers go as on screws.
fn split(placed: &impl Fn(f64) -> Option<Vec<Solid>>, from: Stand, to: Stand, stretches: &mut Vec<Stretch>) {
    let share = f64::midpoint(from.share, to.share);
    let as_on_screw = |middle: &[Solid]| {
        from.movers.iter().zip(&to.movers).zip(middle).all(|((a, b), middle)| a.towards(b, 0.5).apart(middle) < EXACT)
    };
    match placed(share) {
        Some(movers) if to.share - from.share > SHORTEST && !as_on_screw(&movers) => {
            let middle = Stand { share, movers };
            split(placed, from, middle.clone(), stretches);
            split(placed, middle, to, stretches);
        }
        _ => {
            let ways = from.movers.iter().zip(&to.movers).map(|(a, b)| a.longest_way(b)).collect();
            stretches.push(Stretch { from, to, ways });
        }
    }
}

/// The share of the way at which a mover meets something, before `until`. It stands `gap` from it at the start.
fn meets(stretches: &[Stretch], mover: usize, other: &Solid, gap: f64, until: f64) -> Option<(f64, Nearest)> {
    // As far as there is room, it can go without looking.
    let mut room = gap;
    for stretch in stretches {
        let way = stretch.ways[mover];
        let length = stretch.to.share - stretch.from.share;
        let stand = |part: f64| {
            let moved = stretch.from.movers[mover].towards(&stretch.to.movers[mover], part);
            between(&moved, other, way.max(TOUCH))
        };
        let end = ((until - stretch.from.share) / length).min(1.0);
        let mut free = 0.0;
        while free < end {
            if room >= way * (end - free) {
                room -= way * (end - free);
                break;
            }
            let next = (free + room.max(STRIDE) / way).min(end);
            let nearest = stand(next);
            if nearest.gap < 0.0 {
                let (mut hit, mut found) = (next, nearest);
                while (hit - free) * way > CLOSE {
                    let middle = f64::midpoint(free, hit);
                    let nearest = stand(middle);
                    if nearest.gap < 0.0 { (hit, found) = (middle, nearest) } else { free = middle }
                }
                return Some((stretch.from.share + free * length, found));
            }
            (free, room) = (next, nearest.gap);
        }
    }
    None
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

/// Whether a piece stands still while the groups move. A pedal stands on its base.
fn stays(piece: &Piece, groups: &[Group], path: &str) -> bool {
    let base = path.starts_with("pedals.") && piece.group == Group::PedalBase;
    !(base || groups.contains(&piece.group))
}

/// The rig's parts as they are now, of the groups that are wanted; a shape from a file takes the place of what the
/// dimensions say.
fn pieces(rig: &Rig, wanted: impl Fn(Group) -> bool) -> Vec<Piece> {
    let mut out = Vec::new();
    let mut put = |group, words: fmt::Arguments<'_>, solid| {
        if wanted(group) {
            out.push(Piece { group, words: words.to_string(), solid });
        }
    };
    if !rig.is_imported(StandsFor::Seat) {
        for (_, solid) in &rig.seat.solids {
            put(Group::Seat, format_args!("the seat"), Solid::Box(*solid));
        }
    }
    if !rig.is_imported(StandsFor::Rim) {
        put(Group::Wheel, format_args!("the rim"), Solid::Rim(rig.wheel.rim(0.0)));
    }
    if !rig.is_imported(StandsFor::WheelUnit) {
        put(Group::Wheel, format_args!("the wheel unit"), Solid::Box(rig.wheel.unit));
    }
    if !rig.is_imported(StandsFor::PedalPlate) {
        put(Group::PedalBase, format_args!("the pedal plate"), Solid::Box(rig.pedals.base));
    }
    for pedal in &rig.pedals.list {
        let (face, arm) = pedal.solids(&rig.pedals, 0.0);
        for solid in [Solid::Box(face), Solid::Capsule(arm)] {
            put(Group::Pedal(pedal.kind), format_args!("the {}", pedal.kind.word()), solid);
        }
    }
    for (name, solid) in rig.screens.iter().flat_map(|screens| &screens.solids) {
        // The arm reaches for its rail wherever the screen is.
        if *name != "screen arm" {
            put(Group::Screens, format_args!("the {name}"), Solid::Box(*solid));
        }
    }
    for rail in &rig.rails {
        put(Group::Rail, format_args!("the rail “{}”", rail.name), Solid::Box(rail.solid));
    }
    for (index, part) in rig.imported.iter().enumerate() {
        let group = match part.stands_for {
            StandsFor::Seat => Group::Seat,
            StandsFor::Rim | StandsFor::WheelUnit => Group::Wheel,
            StandsFor::PedalPlate => Group::PedalBase,
            StandsFor::Screen | StandsFor::Other => Group::Imported(index),
        };
        put(group, format_args!("“{}”", part.name), Solid::Mesh(part.solid.clone()));
    }
    out
}

fn centre(solid: &Solid) -> Vec3 {
    match solid {
        Solid::Box(own) => own.pose.translation.vector,
        Solid::Mesh(own) => own.pose.translation.vector,
        Solid::Capsule(own) => (own.a + own.b) / 2.0,
        Solid::Rim(own) => own.pose.translation.vector,
    }
}
