//! Snapping: the slot of a rail that is nearest to a point or to the end of another rail, and hanging an end there.

use super::{
    Attachment, Fit, Rail, RailFace, RailSection,
    rail::{UNWRITTEN, attach_all},
};
use crate::{
    geometry::Vec3,
    units::{mm, mm_point, to_mm},
};

/// An end of a rail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RailEnd {
    /// Where it begins.
    From,
    /// Where it ends.
    To,
}

impl RailEnd {
    /// Both.
    pub const BOTH: [Self; 2] = [Self::From, Self::To];
}

/// A place on a rail's face near something.
#[derive(Clone, Debug, PartialEq)]
pub struct Snap {
    /// The place, as it is written into a project.
    pub attachment: Attachment,
    /// The place in W, mm: in the middle of the slot, on the face.
    pub at_mm: [f64; 3],
    /// How far it is from what was asked for, mm.
    pub distance_mm: f64,
}

/// Why an end can't be hung on a rail.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SnapError {
    /// No such rail in the frame.
    #[error("the frame has no such rail; choose one that it lists.")]
    NoSuchRail,
    /// The rail that would carry it hangs on it.
    #[error("“{rail}” hangs on “{carrier}” and can't carry it. Choose another rail, or detach that one first.", rail = .carrier, carrier = .rail)]
    Circle {
        /// The rail whose end was to be hung.
        rail: String,
        /// The rail that was to carry it.
        carrier: String,
    },
}

/// The slot nearest to a point (W, mm) and no further than `within_mm`: a part's mounting point, say. Places along the
/// rail are in whole tenths of a millimetre. Rails without a place are passed over.
pub fn nearest_slot(frame: &[Rail], point_mm: [f64; 3], within_mm: f64) -> Option<Snap> {
    best(frame, within_mm, |_, _| Some(Sought { at_mm: point_mm, fit: Fit::Against, slots: 1, keeps: false }))
}

/// The slot nearest to where an end of a rail is (W, mm), on any rail that doesn't hang on this one. Where the rail points
/// at the face its cut end stands against it, else it lies across it, and the place is measured from its side.
pub fn nearest_slot_for_end(
    frame: &[Rail],
    rail: usize,
    end: RailEnd,
    point_mm: [f64; 3],
    within_mm: f64,
) -> Option<Snap> {
    nearest_for_end(frame, rail, end, point_mm, within_mm, false)
}

/// The same; an end that lies across a face `keeps` its place along its own rail, if asked, and is only brought onto it.
pub(super) fn nearest_for_end(
    frame: &[Rail],
    rail: usize,
    end: RailEnd,
    point_mm: [f64; 3],
    within_mm: f64,
    keeps: bool,
) -> Option<Snap> {
    let own = frame.get(rail)?;
    let other = match end {
        RailEnd::From => own.to_mm,
        RailEnd::To => own.from_mm,
    };
    let barred: Vec<bool> = (0..frame.len()).map(|carrier| hangs_on(frame, carrier, rail)).collect();
    let mut moved = own.clone();
    match end {
        RailEnd::From => moved.from_mm = point_mm,
        RailEnd::To => moved.to_mm = point_mm,
    }
    let (axes, along) = (moved.axes(), mm_point(point_mm) - mm_point(other));
    let section = own.section_mm;
    best(frame, within_mm, |carrier, face| {
        if barred[carrier] || !own.section_mm.iter().all(|side| side.is_finite()) {
            return None;
        }
        let normal = face.normal(&frame[carrier]);
        // Steeper than 45° to the face it stands on it.
        if along.dot(&normal).abs() >= along.norm() * std::f64::consts::FRAC_1_SQRT_2 {
            // Which of its own slots meet the face's: as many as it is wide that way.
            let aside = frame[carrier].axes().column(1 - face.outward().0).into_owned();
            let wide: f64 = (0..2).map(|i| axes.column(i).dot(&aside).abs() * section[i]).sum();
            let slots = (wide / RailSection::of(own).pitch_mm).round().max(1.0) as u32;
            return Some(Sought { at_mm: point_mm, fit: Fit::Against, slots, keeps: false });
        }
        // An upright has no side of its own until both its ends are known: one alone would turn it.
        if keeps && along.z.abs() > along.norm() * UPRIGHT {
            return None;
        }
        let half: f64 = (0..2).map(|i| axes.column(i).dot(&normal).abs() * section[i] / 2.0).sum();
        let foot = mm_point(point_mm) - normal * mm(half);
        Some(Sought { at_mm: [foot.x, foot.y, foot.z].map(to_mm), fit: Fit::Across, slots: 1, keeps })
    })
}

/// A rail steeper than 70° stands upright: its sine.
const UPRIGHT: f64 = 0.94;

/// What is sought on a face.
struct Sought {
    /// Near which point, W, mm.
    at_mm: [f64; 3],
    fit: Fit,
    /// Slots side by side that are to meet the face's: of an even number the middle lies between two.
    slots: u32,
    /// Whether the place may be anywhere across the face.
    keeps: bool,
}

impl RailFace {
    /// The way outward of this face of a rail, W.
    fn normal(self, rail: &Rail) -> Vec3 {
        let (axis, sign) = self.outward();
        rail.axes().column(axis) * sign
    }
}

/// The best place of all; `seek` says, for a carrier and a face of it, what to seek there.
fn best(frame: &[Rail], within_mm: f64, seek: impl Fn(usize, RailFace) -> Option<Sought>) -> Option<Snap> {
    let mut best: Option<Snap> = None;
    for (index, rail) in frame.iter().enumerate() {
        let length = to_mm(rail.length());
        let ends = [rail.from_mm, rail.to_mm];
        if ends.contains(&UNWRITTEN) || !length.is_finite() || length <= 0.0 {
            continue;
        }
        let axes = rail.axes();
        for side in RailFace::ALL {
            let Some(Sought { at_mm: point, fit, slots, keeps }) = seek(index, side) else { continue };
            let from = mm_point(point) - mm_point(rail.from_mm);
            let tenths = |mm: f64| (10.0 * mm).round() / 10.0;
            let along = tenths(to_mm(from.dot(&axes.column(2)))).clamp(0.0, length);
            let (outward, _) = side.outward();
            let aside = tenths(to_mm(from.dot(&axes.column(1 - outward))));
            let there = rail.slots(side);
            let over = aside.abs() <= rail.section_mm[1 - outward] / 2.0;
            // The middle of the face, slot 0, lies between two slots where there is an even number of them.
            let first = u32::from(!(keeps && over || there % 2 == 0 && slots % 2 == 0));
            let last = if keeps && over { 0 } else { there };
            for slot in first..=last {
                let sideways_mm = if keeps && over { aside } else { 0.0 };
                let attachment = Attachment { rail: rail.name.clone(), side, slot, along_mm: along, sideways_mm, fit };
                let (at_mm, _) = rail.on_face(&attachment);
                let distance_mm = to_mm((mm_point(at_mm) - mm_point(point)).norm());
                if distance_mm <= best.as_ref().map_or(within_mm, |known| known.distance_mm) {
                    best = Some(Snap { attachment, at_mm, distance_mm });
                }
            }
        }
    }
    best
}

/// Whether a rail is another one, or hangs on it by however many in between.
fn hangs_on(frame: &[Rail], rail: usize, other: usize) -> bool {
    let mut seen = vec![false; frame.len()];
    let mut open = vec![rail];
    while let Some(at) = open.pop() {
        if at == other {
            return true;
        }
        if std::mem::replace(&mut seen[at], true) {
            continue;
        }
        let carriers = frame[at].attachments().into_iter().flatten();
        open.extend(carriers.filter_map(|on| frame.iter().position(|rail| rail.name == on.rail)));
    }
    false
}

/// Hangs an end of a rail at a place on another rail; ends of rails that hang on it follow.
///
/// # Errors
/// If there is no such rail, or the one that is to carry it hangs on it. The frame is then as it was.
pub fn attach(frame: &mut [Rail], rail: usize, end: RailEnd, on: Attachment) -> Result<(), SnapError> {
    let carrier = frame.iter().position(|other| other.name == on.rail).ok_or(SnapError::NoSuchRail)?;
    let own = frame.get(rail).ok_or(SnapError::NoSuchRail)?;
    if hangs_on(frame, carrier, rail) {
        return Err(SnapError::Circle { rail: own.name.clone(), carrier: on.rail });
    }
    match end {
        RailEnd::From => frame[rail].from_on = Some(on),
        RailEnd::To => frame[rail].to_on = Some(on),
    }
    let _ = attach_all(frame);
    Ok(())
}

/// Takes an end of a rail off the one that carries it; it stays where it stands. False where it hangs on none.
pub fn detach(frame: &mut [Rail], rail: usize, end: RailEnd) -> bool {
    // Where it stands, should the frame not have been checked since it was changed.
    let _ = attach_all(frame);
    let Some(own) = frame.get_mut(rail) else { return false };
    match end {
        RailEnd::From => own.from_on.take().is_some(),
        RailEnd::To => own.to_on.take().is_some(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two base rails of 40 × 80 at ±250, and an upright beside the left one.
    fn frame() -> Vec<Rail> {
        let base = |name: &str, y: f64| Rail::between(name, [40.0, 80.0], [0.0, y, 40.0], [1400.0, y, 40.0]);
        vec![
            base("left base", 250.0),
            base("right base", -250.0),
            Rail::between("upright", [40.0, 40.0], [803.0, 256.0, 90.0], [803.0, 256.0, 700.0]),
            Rail::between("strip", [40.0, 40.0], [500.0, -260.0, 108.0], [500.0, 270.0, 100.0]),
        ]
    }

    /// By hand: the left base's inner face stands at y = 230; its two slots 20 below and above its middle, at 20 and 60 up.
    #[test]
    fn the_nearest_slot_of_a_face_is_found_within_a_tolerance() {
        let snap = nearest_slot(&frame()[..2], [520.04, 226.0, 57.0], 10.0).unwrap();
        assert_eq!((snap.attachment.rail.as_str(), snap.attachment.side), ("left base", RailFace::Right));
        assert_eq!((snap.attachment.slot, snap.attachment.along_mm), (2, 520.0));
        assert!((snap.distance_mm - 5.0).abs() < 1e-3, "3-4-5: {}", snap.distance_mm);
        assert!((0..3).all(|i| (snap.at_mm[i] - [520.0, 230.0, 60.0][i]).abs() < 1e-9));
        assert!(nearest_slot(&frame()[..2], [520.0, 200.0, 60.0], 10.0).is_none());
        assert!(nearest_slot(&[], [0.0; 3], 1e9).is_none());
    }

    /// By hand: the top is 80 up; the upright's end comes from (803, 256, 90) onto the slot at y = 250. A strip lies across:
    /// its middle 20 above the top.
    #[test]
    fn ends_stand_against_a_face_or_lie_across_it_and_come_off_where_they_stand() {
        let mut frame = frame();
        let snap = nearest_slot_for_end(&frame, 2, RailEnd::From, frame[2].from_mm, 15.0).unwrap();
        assert_eq!((snap.attachment.side, snap.attachment.fit), (RailFace::Top, Fit::Against));
        attach(&mut frame, 2, RailEnd::From, snap.attachment).unwrap();
        let off = (mm_point(frame[2].from_mm) - mm_point([803.0, 250.0, 80.0])).norm();
        assert!(off < 1e-9, "{:?}", frame[2].from_mm);
        let snap = nearest_slot_for_end(&frame, 3, RailEnd::From, frame[3].from_mm, 15.0).unwrap();
        assert_eq!((snap.attachment.rail.as_str(), snap.attachment.fit), ("right base", Fit::Across));
        attach(&mut frame, 3, RailEnd::From, snap.attachment).unwrap();
        assert!(
            (0..3).all(|i| (frame[3].from_mm[i] - [500.0, -250.0, 100.0][i]).abs() < 0.1),
            "{:?}",
            frame[3].from_mm
        );
        let stood = frame[2].from_mm;
        assert!(detach(&mut frame, 2, RailEnd::From) && !detach(&mut frame, 2, RailEnd::From));
        assert_eq!((frame[2].from_mm, &frame[2].from_on), (stood, &None));
    }

    #[test]
    fn no_rail_comes_to_hang_on_itself() {
        let mut frame = frame();
        let on = |rail: &str| Attachment {
            rail: rail.to_owned(),
            side: RailFace::Top,
            slot: 1,
            along_mm: 100.0,
            sideways_mm: 0.0,
            fit: Fit::Against,
        };
        attach(&mut frame, 2, RailEnd::From, on("left base")).unwrap();
        let before = frame.clone();
        let circle = attach(&mut frame, 0, RailEnd::To, on("upright")).unwrap_err();
        assert!(circle.to_string().contains("“upright” hangs on “left base”"), "{circle}");
        assert_eq!(attach(&mut frame, 2, RailEnd::To, on("nowhere")), Err(SnapError::NoSuchRail));
        assert_eq!(attach(&mut frame, 9, RailEnd::To, on("upright")), Err(SnapError::NoSuchRail));
        assert_eq!(frame, before);
        // Nor is such a rail offered.
        let near = nearest_slot_for_end(&frame, 0, RailEnd::To, frame[2].to_mm, 30.0);
        assert!(near.is_none_or(|snap| snap.attachment.rail != "upright"));
    }
}
