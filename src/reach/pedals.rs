//! The project's pedals: each face in its zone, with its margin and the leg that works it, released and pressed.

use serde::Serialize;

use super::{Answer, Footing, Limb, Reach, Zone};
use crate::{
    geometry::Side,
    posture::foot_of,
    rig::Rig,
    units::{mm, to_deg, to_mm},
};

/// One pedal.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PedalReach {
    /// "clutch", "brake" or "throttle".
    pub name: &'static str,
    /// The foot that works it.
    pub foot: Side,
    /// What the foot does.
    pub footing: Footing,
    /// Its face as it stands.
    pub released: FaceReach,
    /// Its face at full travel.
    pub pressed: FaceReach,
}

/// The face of a pedal at some travel: where on it the ball of the foot stands best.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaceReach {
    /// How far over the middle of the face the ball stands, mm.
    pub over_middle_mm: f64,
    /// The innermost zone that holds it, or null.
    pub zone: Option<Zone>,
    /// Signed distance to the boundary of what the leg attains, mm, positive inside; null where that is empty.
    pub margin_mm: Option<f64>,
    /// The same of the comfortable zone.
    pub comfortable_margin_mm: Option<f64>,
    /// The angle at the knee, degrees, 180 straight.
    pub knee_deg: f64,
    /// The angle from shank to sole, degrees, less with the toes drawn up.
    pub ankle_deg: f64,
    /// What is in the way where it cannot be reached, or null.
    pub blocked_by: Option<String>,
    /// What the leg falls short by where it cannot, mm; 0 elsewhere.
    pub short_mm: f64,
}

impl PedalReach {
    /// The face that is worse to reach.
    pub fn worst(&self) -> &FaceReach {
        let rank = |face: &FaceReach| (face.zone.is_none(), face.zone);
        if rank(&self.pressed) > rank(&self.released) { &self.pressed } else { &self.released }
    }
}

/// The ball of the foot keeps this far from the upper and lower edge of a face, m; own choice, as in the solver of legs.
const EDGE: f64 = mm(8.0);
/// Places of the ball over the height of a face, as shares of what there is, the middle first.
const PLACES: [f64; 5] = [0.0, 0.5, -0.5, 1.0, -1.0];

/// All pedals of a rig, asked of the reach of both feet (left, right), with the answers for the released and the pressed
/// face. `brakes_with` is the foot that brakes.
pub fn pedals(rig: &Rig, brakes_with: Side, feet: [&Reach; 2]) -> Vec<(PedalReach, [Answer; 2])> {
    let all = rig.pedals.list.iter().map(|pedal| {
        let side = foot_of(pedal.kind, brakes_with);
        let reach = feet[side.index()];
        let footing = match reach.limb {
            Limb::Foot(_, footing) => footing,
            Limb::Hand(..) => Footing::default(),
        };
        let [released, pressed] = [0.0, pedal.travel].map(|travel| {
            let face = pedal.face_pose(&rig.pedals, travel);
            let most = (pedal.size[1] / 2.0 - EDGE).max(0.0);
            let asked = PLACES.map(|share| {
                let over = share * most;
                let point = face * nalgebra::Point3::new(0.0, 0.0, over);
                (over, reach.ask(point.coords))
            });
            // In the innermost zone; of places in the same one nearer the middle, where none is reached the nearest.
            let rank = |(_, answer): &(f64, Answer)| {
                (answer.zone.map_or(Zone::ALL.len(), |zone| zone as usize), answer.blocked_by.is_some(), answer.short)
            };
            let best = asked.into_iter().min_by(|a, b| {
                let (a, b) = (rank(a), rank(b));
                a.0.cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.total_cmp(&b.2))
            });
            best.unwrap_or_else(|| (0.0, reach.ask(face.translation.vector)))
        });
        let row = PedalReach {
            name: pedal.kind.word(),
            foot: side,
            footing,
            released: row(rig, released.0, &released.1),
            pressed: row(rig, pressed.0, &pressed.1),
        };
        (row, [released.1, pressed.1])
    });
    all.collect()
}

fn row(rig: &Rig, over: f64, answer: &Answer) -> FaceReach {
    let tenth = |value: f64| (value * 10.0).round() / 10.0;
    let margin = |zone: Zone| answer.margin(zone).map(|margin| tenth(to_mm(margin)));
    let [.., dorsiflexion, _, _] = answer.pose.angles;
    FaceReach {
        over_middle_mm: tenth(to_mm(over)),
        zone: answer.zone,
        margin_mm: margin(Zone::Attainable),
        comfortable_margin_mm: margin(Zone::Comfortable),
        knee_deg: tenth(to_deg(answer.pose.middle_angle())),
        ankle_deg: tenth(90.0 - to_deg(dorsiflexion)),
        blocked_by: answer.blocked_by.as_ref().map(|what| what.words(rig)),
        short_mm: tenth(to_mm(answer.short)),
    }
}
