//! Rails of the frame: what they are, how they lie, and how their ends find their places on other rails.

use nalgebra::Matrix3;
use serde::{Deserialize, Serialize};

use super::RailSection;
use crate::{
    geometry::{Vec3, unit_or},
    units::{deg, mm, mm_point, to_mm},
};

/// A rail of the frame, straight from end to end.
///
/// Each end has a place, or is attached to another rail and finds its place there.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Rail {
    /// What it is called in findings and lists.
    pub name: String,
    /// Section: sideways and upright when the rail lies level and unrolled.
    pub section_mm: [f64; 2],
    /// Which section of that size, by its name in the table; without it the usual one.
    pub section: Option<String>,
    /// Centre of one end. Where the end is attached, the check of a project puts its place here.
    pub from_mm: [f64; 3],
    /// Centre of the other end, likewise.
    pub to_mm: [f64; 3],
    /// What `from` is attached to.
    pub from_on: Option<Attachment>,
    /// What `to` is attached to.
    pub to_on: Option<Attachment>,
    /// Turn about its own axis.
    pub roll_deg: f64,
    /// How its ends are joined to what they meet; without it, by brackets.
    pub joint: Option<RailJoint>,
}

/// An end of a rail on another rail's face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attachment {
    /// The other rail, by name.
    pub rail: String,
    /// Which of its faces.
    pub side: RailFace,
    /// Which slot of that face, counted from below or from the right, from 1; 0 for the face's middle.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub slot: u32,
    /// How far along the other rail from its `from` end.
    pub along_mm: f64,
    /// Aside from the slot, across the face: up, or left on a top or bottom face.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub sideways_mm: f64,
    /// Whether the end stands against the face or lies on it.
    #[serde(default, skip_serializing_if = "Fit::is_against")]
    pub fit: Fit,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the form that serde asks for")]
const fn is_zero(count: &u32) -> bool {
    *count == 0
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the form that serde asks for")]
fn is_nothing(value: &f64) -> bool {
    *value == 0.0
}

/// A face of a rail, looking along it from `from` to `to`, unrolled; for an upright rail `Left` is the driver's left and
/// `Top` faces the rear.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum RailFace {
    /// On the left.
    Left,
    /// On the right.
    Right,
    /// Above.
    Top,
    /// Below.
    Bottom,
}

impl RailFace {
    /// All faces.
    pub const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Top, Self::Bottom];

    /// "left", "right", "top" or "bottom".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }

    /// Outward along which axis of the rail (0 across, 1 upright), and which way.
    pub(super) const fn outward(self) -> (usize, f64) {
        match self {
            Self::Left => (0, 1.0),
            Self::Right => (0, -1.0),
            Self::Top => (1, 1.0),
            Self::Bottom => (1, -1.0),
        }
    }
}

/// How an end meets the face that it is attached to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Fit {
    /// Its cut end stands against the face: the face says how long the rail is.
    #[default]
    Against,
    /// The rail lies on the face, its end over the place.
    Across,
}

impl Fit {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "the form that serde asks for")]
    fn is_against(&self) -> bool {
        *self == Self::Against
    }
}

/// How two rails are joined; each kind is a row of `shared/rail_joints.csv`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum JointKind {
    /// An end held to a face or to another end by a connector inside the slots.
    Butt,
    /// A screw through the one rail into the core thread of the other's end.
    EndToFace,
    /// Corner brackets in the slots of both.
    #[default]
    Bracket,
    /// A hinged bracket in the slots of both: what every end cut at a slant is held by.
    Pivot,
}

impl JointKind {
    /// All kinds.
    pub const ALL: [Self; 4] = [Self::Butt, Self::EndToFace, Self::Bracket, Self::Pivot];

    /// "butt joint", "end-to-face joint", "bracket joint" or "slanted joint".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Butt => "butt joint",
            Self::EndToFace => "end-to-face joint",
            Self::Bracket => "bracket joint",
            Self::Pivot => "slanted joint",
        }
    }
}

/// The joints of a rail with the rails that its ends meet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RailJoint {
    /// What kind.
    pub kind: JointKind,
    /// Brackets, screws or connectors of each joint; without it as many as the table says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pieces: Option<u32>,
    /// Stiffness of each joint against turning, where somebody measured it; without it the table's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn_nm_per_rad: Option<f64>,
}

/// A place that the file doesn't tell.
pub(super) const UNWRITTEN: [f64; 3] = [f64::MAX; 3];

/// A rail as it stands in a file: an end has a place or an attachment.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename = "Rail", deny_unknown_fields)]
struct Written {
    name: String,
    section_mm: [f64; 2],
    #[serde(default, skip_serializing_if = "Option::is_none")]
    section: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    from_mm: Option<[f64; 3]>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    from_on: Option<Attachment>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    to_mm: Option<[f64; 3]>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    to_on: Option<Attachment>,
    #[serde(default)]
    roll_deg: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    joint: Option<RailJoint>,
}

/// The end of a rail that is placed twice.
pub(super) const PLACED_TWICE: &str = "both say where one end is";

impl TryFrom<Written> for Rail {
    type Error = String;

    fn try_from(written: Written) -> Result<Self, String> {
        let Written { name, section_mm, section, from_mm, from_on, to_mm, to_on, roll_deg, joint } = written;
        for (end, place, on) in [("from", from_mm, &from_on), ("to", to_mm, &to_on)] {
            if place.is_some() && on.is_some() {
                return Err(format!("`{end}_mm` and `{end}_on` {PLACED_TWICE}"));
            }
        }
        let [from_mm, to_mm] = [from_mm, to_mm].map(|place| place.unwrap_or(UNWRITTEN));
        Ok(Self { name, section_mm, section, from_mm, to_mm, from_on, to_on, roll_deg, joint })
    }
}

impl From<Rail> for Written {
    fn from(rail: Rail) -> Self {
        let Rail { name, section_mm, section, from_mm, to_mm, from_on, to_on, roll_deg, joint } = rail;
        let place = |place: [f64; 3], on: &Option<Attachment>| (on.is_none() && place != UNWRITTEN).then_some(place);
        let (from_mm, to_mm) = (place(from_mm, &from_on), place(to_mm, &to_on));
        Self { name, section_mm, section, from_mm, from_on, to_mm, to_on, roll_deg, joint }
    }
}

impl PartialEq for Rail {
    /// As they are written: the place of an attached end follows from what it is attached to.
    fn eq(&self, other: &Self) -> bool {
        Written::from(self.clone()) == Written::from(other.clone())
    }
}

impl Rail {
    /// A rail between two places, unrolled, of the usual section of its size.
    pub fn between(name: &str, section_mm: [f64; 2], from_mm: [f64; 3], to_mm: [f64; 3]) -> Self {
        Self {
            name: name.to_owned(),
            section_mm,
            section: None,
            from_mm,
            to_mm,
            from_on: None,
            to_on: None,
            roll_deg: 0.0,
            joint: None,
        }
    }

    /// From one end to the other, m.
    pub fn length(&self) -> f64 {
        (mm_point(self.to_mm) - mm_point(self.from_mm)).norm()
    }

    /// Its axes in W as columns: across, upright, along. Unrolled, its first section size lies level across it and the
    /// second upright; for a rail that itself stands upright the first lies along y and the second along x.
    pub fn axes(&self) -> Matrix3<f64> {
        axes(mm_point(self.to_mm) - mm_point(self.from_mm), self.roll_deg)
    }

    /// The attachments of its two ends.
    pub fn attachments(&self) -> [Option<&Attachment>; 2] {
        [self.from_on.as_ref(), self.to_on.as_ref()]
    }

    /// How its ends are joined to what they meet.
    pub fn joined(&self) -> RailJoint {
        self.joint.unwrap_or_default()
    }

    /// Slots that a face has side by side.
    pub fn slots(&self, face: RailFace) -> u32 {
        let (outward, _) = face.outward();
        let pitch = RailSection::of(self).pitch_mm;
        (self.section_mm[1 - outward] / pitch).round().max(1.0) as u32
    }

    /// The middle of a place on a face, mm, and the way outward.
    pub(super) fn on_face(&self, on: &Attachment) -> ([f64; 3], Vec3) {
        let axes = self.axes();
        let (outward, sign) = on.side.outward();
        let normal = axes.column(outward) * sign;
        let pitch = RailSection::of(self).pitch_mm;
        let slot = match on.slot {
            0 => 0.0,
            slot => pitch * (f64::from(slot - 1) - f64::from(self.slots(on.side) - 1) / 2.0),
        };
        let at = mm_point(self.from_mm)
            + axes.column(2) * mm(on.along_mm)
            + normal * mm(self.section_mm[outward] / 2.0)
            + axes.column(1 - outward) * mm(slot + on.sideways_mm);
        ([at.x, at.y, at.z].map(to_mm), normal)
    }

    /// Puts its attached ends where the rails that carry them have them.
    fn attach(&mut self, carriers: [Option<&Self>; 2]) {
        let mut lifts = [None; 2];
        let mut ends = [self.from_mm, self.to_mm];
        for (index, (on, carrier)) in self.attachments().into_iter().zip(carriers).enumerate() {
            if let (Some(on), Some(carrier)) = (on, carrier) {
                let (at, normal) = carrier.on_face(on);
                ends[index] = at;
                lifts[index] = (on.fit == Fit::Across).then_some(normal);
            }
        }
        // A rail that lies on a face is half its own thickness above it, which depends on how it lies, and that on where
        // its ends come to lie: settled after the second time but for rails that lie askew.
        let places = ends;
        for _ in 0..8 {
            let own = axes(mm_point(ends[1]) - mm_point(ends[0]), self.roll_deg);
            for ((end, place), lift) in ends.iter_mut().zip(places).zip(lifts) {
                let Some(normal) = lift else { continue };
                let half: f64 = (0..2).map(|i| own.column(i).dot(&normal).abs() * self.section_mm[i] / 2.0).sum();
                *end = std::array::from_fn(|axis| place[axis] + normal[axis] * half);
            }
        }
        // Round-off of a computed place is no part of it.
        [self.from_mm, self.to_mm] = ends.map(|end| end.map(|value| (value * 1e6).round() / 1e6));
    }
}

/// Across, upright and along as columns, for a rail in this direction.
fn axes(direction: Vec3, roll_deg: f64) -> Matrix3<f64> {
    let along = unit_or(direction, Vec3::x());
    // Across and level; an upright rail has no such direction of its own and takes the world's left.
    let across = unit_or(Vec3::z().cross(&along), Vec3::y());
    let upright = along.cross(&across);
    let (sin, cos) = deg(roll_deg).sin_cos();
    Matrix3::from_columns(&[across * cos + upright * sin, upright * cos - across * sin, along])
}

/// What keeps a rail from its place.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Astray {
    /// No rail has that name.
    NoSuchRail { rail: usize, end: usize },
    /// Rails that are attached to one another in a circle, or to one without a place.
    Circle { rail: usize },
}

/// Puts every attached end where it belongs, each rail after those that carry it.
pub(super) fn attach_all(frame: &mut [Rail]) -> Vec<Astray> {
    let mut astray = Vec::new();
    let carriers: Vec<[Option<usize>; 2]> = frame
        .iter()
        .enumerate()
        .map(|(rail, own)| {
            let ends = own.attachments();
            std::array::from_fn(|end| {
                let name = &ends[end]?.rail;
                let found = frame.iter().position(|other| other.name == *name);
                if found.is_none() {
                    astray.push(Astray::NoSuchRail { rail, end });
                }
                found
            })
        })
        .collect();
    let hangs = |rail: usize| frame[rail].attachments().iter().any(Option::is_some);
    let mut placed: Vec<bool> = (0..frame.len()).map(|rail| !hangs(rail)).collect();
    // A rail whose carrier isn't named rightly is told of once.
    for fault in &astray {
        if let Astray::NoSuchRail { rail, .. } = *fault {
            placed[rail] = true;
        }
    }
    loop {
        let next = (0..frame.len())
            .find(|&rail| !placed[rail] && carriers[rail].iter().flatten().all(|&carrier| placed[carrier]));
        let Some(rail) = next else { break };
        let (before, rest) = frame.split_at_mut(rail);
        if let Some((own, after)) = rest.split_first_mut() {
            let carrier =
                |end: usize| carriers[rail][end].map(|at| if at < rail { &before[at] } else { &after[at - rail - 1] });
            own.attach([carrier(0), carrier(1)]);
        }
        placed[rail] = true;
    }
    astray.extend((0..frame.len()).filter(|&rail| !placed[rail]).map(|rail| Astray::Circle { rail }));
    astray
}

#[cfg(test)]
mod tests {
    use super::*;

    fn base() -> Rail {
        Rail::between("base", [40.0, 80.0], [0.0, 250.0, 40.0], [1400.0, 250.0, 40.0])
    }

    fn at(found: [f64; 3], wanted: [f64; 3]) {
        assert!((0..3).all(|i| (found[i] - wanted[i]).abs() < 1e-6), "{found:?} is not {wanted:?}");
    }

    fn on(rail: &str, side: RailFace, along_mm: f64) -> Attachment {
        Attachment { rail: rail.to_owned(), side, slot: 0, along_mm, sideways_mm: 0.0, fit: Fit::Against }
    }

    /// By hand: base rails 500 mm apart, 40 wide: 460 mm between their inner faces.
    #[test]
    fn a_cross_member_between_two_faces_gets_its_length_from_them() {
        let right = Rail { name: "other".into(), ..base() };
        let right = Rail { from_mm: [0.0, -250.0, 40.0], to_mm: [1400.0, -250.0, 40.0], ..right };
        let mut cross = Rail::between("cross", [40.0, 40.0], UNWRITTEN, UNWRITTEN);
        cross.from_on = Some(Attachment { slot: 2, ..on("other", RailFace::Left, 520.0) });
        cross.to_on = Some(Attachment { slot: 2, ..on("base", RailFace::Right, 520.0) });
        // It may stand before those that carry it.
        let mut frame = [cross, base(), right];
        assert_eq!(attach_all(&mut frame), []);
        at(frame[0].from_mm, [520.0, -230.0, 60.0]);
        at(frame[0].to_mm, [520.0, 230.0, 60.0]);
        assert!((frame[0].length() - 0.46).abs() < 1e-12);
    }

    /// By hand: on a base rail whose top is 80 mm high a 40 × 80 upright stands from 80; a 40 × 40 strip that lies across
    /// both has its middle at 100.
    #[test]
    fn uprights_stand_on_a_face_and_strips_lie_on_it() {
        let mut upright = Rail::between("upright", [40.0, 80.0], UNWRITTEN, [800.0, 250.0, 700.0]);
        upright.from_on = Some(on("base", RailFace::Top, 800.0));
        let right =
            Rail { name: "other".into(), from_mm: [0.0, -250.0, 40.0], to_mm: [1400.0, -250.0, 40.0], ..base() };
        let mut strip = Rail::between("strip", [40.0, 40.0], UNWRITTEN, UNWRITTEN);
        strip.from_on = Some(Attachment { fit: Fit::Across, sideways_mm: -20.0, ..on("other", RailFace::Top, 1200.0) });
        strip.to_on = Some(Attachment { fit: Fit::Across, sideways_mm: 20.0, ..on("base", RailFace::Top, 1200.0) });
        let mut frame = [base(), right, upright, strip];
        assert_eq!(attach_all(&mut frame), []);
        at(frame[2].from_mm, [800.0, 250.0, 80.0]);
        at(frame[3].from_mm, [1200.0, -270.0, 100.0]);
        at(frame[3].to_mm, [1200.0, 270.0, 100.0]);
    }

    #[test]
    fn chains_are_followed_and_circles_are_told() {
        let hung = |name: &str, on_rail: &str| Rail {
            from_on: Some(on(on_rail, RailFace::Left, 100.0)),
            ..Rail::between(name, [40.0, 40.0], UNWRITTEN, [500.0, 900.0, 40.0])
        };
        let mut chain = [hung("third", "second"), hung("second", "base"), base()];
        assert_eq!(attach_all(&mut chain), []);
        at(chain[1].from_mm, [100.0, 270.0, 40.0]);
        let mut circle = [hung("a", "b"), hung("b", "a"), base(), hung("c", "c"), hung("d", "nowhere")];
        assert_eq!(
            attach_all(&mut circle),
            [
                Astray::NoSuchRail { rail: 4, end: 0 },
                Astray::Circle { rail: 0 },
                Astray::Circle { rail: 1 },
                Astray::Circle { rail: 3 },
            ]
        );
    }
}
