//! Whole rails that are hung where their ends have come near to slots: one rail that was moved, or all of a frame.

use super::{
    Attachment, Rail, RailEnd,
    rail::UNWRITTEN,
    snap::{attach, detach, nearest_for_end},
};
use crate::{
    geometry::Vec3,
    units::{deg, mm, mm_point, to_mm},
};

/// An end that was hung on a rail.
#[derive(Clone, Debug, PartialEq)]
pub struct Hung {
    /// Whose end, by its place in the frame.
    pub rail: usize,
    /// Which end.
    pub end: RailEnd,
    /// Where it hangs now.
    pub on: Attachment,
    /// How far the end went, mm.
    pub moved_mm: f64,
    /// Whether the other end, which hangs nowhere, went with it.
    pub as_a_whole: bool,
}

/// A rail is turned no further by hanging it, rad: own choice, what a slip of a few centimetres does to a short rail.
const TURN: f64 = deg(10.0);

/// Hangs the free ends of a rail on the slots that they have come near to, within so many mm. Where both find one, both
/// hang; where only one does, a rail that hangs nowhere else goes there as a whole. An end that lies across a face keeps its
/// overhang. Nothing is hung that would turn the rail by more than 10° or leave it shorter than it is thick.
pub fn snap_rail(frame: &mut [Rail], rail: usize, within_mm: f64) -> Vec<Hung> {
    let mut out = Vec::new();
    // The nearer end first: the other one goes with it and then finds its own place.
    while let Some((end, on, _)) = nearest(frame, rail, within_mm, &[]) {
        match hang(frame, rail, end, on) {
            Some(hung) => out.push(hung),
            None => break,
        }
    }
    out
}

/// Hangs every free end of a frame on the slot that it has come near to, the nearest ones first, as [`snap_rail`] does one
/// rail's.
pub fn snap_all(frame: &mut [Rail], within_mm: f64) -> Vec<Hung> {
    let mut out = Vec::new();
    let mut given_up: Vec<(usize, RailEnd)> = Vec::new();
    loop {
        let found = (0..frame.len()).filter_map(|rail| {
            let (end, on, distance) = nearest(frame, rail, within_mm, &given_up)?;
            Some((rail, end, on, distance))
        });
        let Some((rail, end, on, _)) = found.min_by(|a, b| a.3.total_cmp(&b.3)) else { break };
        match hang(frame, rail, end, on) {
            Some(hung) => out.push(hung),
            None => given_up.push((rail, end)),
        }
    }
    out.sort_by_key(|hung| (hung.rail, hung.end));
    out
}

/// The free end of a rail that is nearest to a slot, with the slot and how far it is, mm.
fn nearest(
    frame: &[Rail],
    rail: usize,
    within_mm: f64,
    but: &[(usize, RailEnd)],
) -> Option<(RailEnd, Attachment, f64)> {
    let own = frame.get(rail)?;
    if [own.from_mm, own.to_mm].contains(&UNWRITTEN) {
        return None;
    }
    let free = RailEnd::BOTH.into_iter().filter(|&end| on(own, end).is_none() && !but.contains(&(rail, end)));
    let snaps = free.filter_map(|end| {
        let snap = nearest_for_end(frame, rail, end, place(own, end), within_mm, true)?;
        Some((end, snap.attachment, snap.distance_mm))
    });
    snaps.min_by(|a, b| a.2.total_cmp(&b.2))
}

/// Hangs an end, if the rail stays what it was; the frame is left as it is where it would not.
fn hang(frame: &mut [Rail], rail: usize, end: RailEnd, attachment: Attachment) -> Option<Hung> {
    let before = frame[rail].clone();
    let other = other(end);
    let moves_whole = on(&before, other).is_none();
    attach(frame, rail, end, attachment.clone()).ok()?;
    let went = mm_point(place(&frame[rail], end)) - mm_point(place(&before, end));
    if moves_whole {
        // Its direction stays, and so does how it lies on the face.
        let to = mm_point(place(&before, other)) + went;
        *place_mut(&mut frame[rail], other) = [to.x, to.y, to.z].map(|c| (to_mm(c) * 1e6).round() / 1e6);
        let _ = super::rail::attach_all(frame);
    }
    let now = &frame[rail];
    let long = |rail: &Rail| mm_point(rail.to_mm) - mm_point(rail.from_mm);
    let least = mm(before.section_mm[0].max(before.section_mm[1]));
    if long(now).norm() < least || turned(long(&before), long(now)) > TURN {
        // Taken off, it stands where it stood.
        detach(frame, rail, end);
        (frame[rail].from_mm, frame[rail].to_mm) = (before.from_mm, before.to_mm);
        let _ = super::rail::attach_all(frame);
        return None;
    }
    Some(Hung { rail, end, on: attachment, moved_mm: to_mm(went.norm()), as_a_whole: moves_whole })
}

fn turned(from: Vec3, to: Vec3) -> f64 {
    from.angle(&to)
}

const fn other(end: RailEnd) -> RailEnd {
    match end {
        RailEnd::From => RailEnd::To,
        RailEnd::To => RailEnd::From,
    }
}

const fn on(rail: &Rail, end: RailEnd) -> Option<&Attachment> {
    match end {
        RailEnd::From => rail.from_on.as_ref(),
        RailEnd::To => rail.to_on.as_ref(),
    }
}

const fn place(rail: &Rail, end: RailEnd) -> [f64; 3] {
    match end {
        RailEnd::From => rail.from_mm,
        RailEnd::To => rail.to_mm,
    }
}

const fn place_mut(rail: &mut Rail, end: RailEnd) -> &mut [f64; 3] {
    match end {
        RailEnd::From => &mut rail.from_mm,
        RailEnd::To => &mut rail.to_mm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Fit, RailFace};

    /// Two base rails of 40 × 80 at ±250: inner faces at ±230, tops 80 up.
    fn bases() -> Vec<Rail> {
        let base = |name: &str, y: f64| Rail::between(name, [40.0, 80.0], [0.0, y, 40.0], [1400.0, y, 40.0]);
        vec![base("left base", 250.0), base("right base", -250.0)]
    }

    fn at(found: [f64; 3], wanted: [f64; 3]) {
        assert!((0..3).all(|i| (found[i] - wanted[i]).abs() < 1e-3), "{found:?} is not {wanted:?}");
    }

    fn ends(hung: &[Hung]) -> Vec<(RailEnd, &str, RailFace, u32, f64)> {
        hung.iter().map(|h| (h.end, h.on.rail.as_str(), h.on.side, h.on.slot, h.on.along_mm)).collect()
    }

    /// A 40 × 40 cross member, 7 short of the left face, 5 of the right one and 4 above the upper slots, which lie 60 up.
    #[test]
    fn a_rail_between_two_parallel_ones_hangs_on_both() {
        let mut frame = bases();
        frame.push(Rail::between("cross", [40.0, 40.0], [600.0, -225.0, 64.0], [600.0, 223.0, 64.0]));
        let hung = snap_rail(&mut frame, 2, 20.0);
        let wanted = [
            (RailEnd::From, "right base", RailFace::Left, 2, 600.0),
            (RailEnd::To, "left base", RailFace::Right, 2, 600.0),
        ];
        assert_eq!(ends(&hung), wanted);
        at(frame[2].from_mm, [600.0, -230.0, 60.0]);
        at(frame[2].to_mm, [600.0, 230.0, 60.0]);
        assert!((hung[0].moved_mm - 41.0_f64.sqrt()).abs() < 1e-3, "5 and 4: {}", hung[0].moved_mm);
    }

    /// A cross member as high as the base rails has two slots that meet theirs: its middle stays in the middle of the face.
    #[test]
    fn slots_meet_slots() {
        let mut frame = bases();
        frame.push(Rail::between("cross", [40.0, 80.0], [600.0, -230.0, 40.0], [600.0, 230.0, 40.0]));
        let hung = snap_all(&mut frame, 20.0);
        assert_eq!(hung.len(), 2, "only its own ends: {hung:?}");
        assert!(hung.iter().all(|hung| hung.rail == 2 && hung.on.slot == 0 && hung.moved_mm < 1e-9));
        at(frame[2].from_mm, [600.0, -230.0, 40.0]);
    }

    /// An upright whose top is free, 6 aside of the slot and 8 above the face: all of it goes 10 there.
    #[test]
    fn a_rail_with_one_end_near_a_slot_goes_there_as_a_whole() {
        let mut frame = bases();
        frame.push(Rail::between("upright", [40.0, 40.0], [800.0, 256.0, 88.0], [800.0, 256.0, 700.0]));
        let hung = snap_rail(&mut frame, 2, 20.0);
        assert_eq!(ends(&hung), [(RailEnd::From, "left base", RailFace::Top, 1, 800.0)]);
        assert!(hung[0].as_a_whole && (hung[0].moved_mm - 10.0).abs() < 1e-3);
        at(frame[2].from_mm, [800.0, 250.0, 80.0]);
        at(frame[2].to_mm, [800.0, 250.0, 692.0]);
        assert!(frame[2].to_on.is_none());
    }

    /// A strip over both base rails, flush with their outer faces, hovers 3 over them: it comes down and keeps its overhang.
    #[test]
    fn a_strip_that_lies_across_keeps_its_overhang() {
        let mut frame = bases();
        frame.push(Rail::between("strip", [40.0, 40.0], [500.0, -270.0, 103.0], [500.0, 270.0, 103.0]));
        let hung = snap_rail(&mut frame, 2, 20.0);
        assert!(hung.len() == 2 && hung.iter().all(|hung| hung.on.fit == Fit::Across), "{hung:?}");
        at(frame[2].from_mm, [500.0, -270.0, 100.0]);
        at(frame[2].to_mm, [500.0, 270.0, 100.0]);
    }

    /// An upright that stands beside a base rail, bolted to its side, is left to be hung by hand.
    #[test]
    fn an_upright_beside_a_rail_stays_as_it_stands() {
        let mut frame = bases();
        frame.push(Rail::between("upright", [40.0, 80.0], [800.0, 290.0, 0.0], [800.0, 290.0, 755.0]));
        let before = frame.clone();
        assert_eq!(snap_all(&mut frame, 20.0), []);
        assert_eq!(frame, before);
    }

    /// By hand: a rail of 70 whose free end would go 18 aside on its way up by 15 would lean by atan(18 / 85) = 12°.
    #[test]
    fn no_rail_is_bent_out_of_its_direction() {
        let mut frame = bases();
        let mut short = Rail::between("short", [40.0, 40.0], UNWRITTEN, [900.0, 250.0, 150.0]);
        short.from_on = Some(Attachment {
            rail: "left base".to_owned(),
            side: RailFace::Top,
            slot: 1,
            along_mm: 900.0,
            sideways_mm: 0.0,
            fit: Fit::Against,
        });
        frame.push(short);
        frame.push(Rail::between("over", [40.0, 40.0], [918.0, 100.0, 185.0], [918.0, 400.0, 185.0]));
        let _ = super::super::rail::attach_all(&mut frame);
        let before = frame.clone();
        assert!(nearest_for_end(&frame, 2, RailEnd::To, frame[2].to_mm, 30.0, true).is_some(), "there is a slot near");
        assert_eq!(snap_rail(&mut frame, 2, 30.0), []);
        assert_eq!((frame[2].to_mm, &frame), (before[2].to_mm, &before));
    }

    #[test]
    fn what_is_far_or_hangs_already_stays() {
        let mut frame = bases();
        frame.push(Rail::between("far", [40.0, 40.0], [600.0, -200.0, 64.0], [600.0, 200.0, 64.0]));
        frame.push(Rail::between("stub", [40.0, 40.0], [900.0, 250.0, 85.0], [900.0, 250.0, 126.0]));
        let before = frame.clone();
        assert_eq!(snap_rail(&mut frame, 2, 20.0), []);
        assert_eq!(frame, before);
        assert_eq!(snap_all(&mut frame, 20.0).len(), 1, "the stub's lower end");
        let before = frame.clone();
        assert_eq!(snap_all(&mut frame, 20.0), [], "what hangs is left alone");
        assert_eq!(frame, before);
    }
}
