//! A point's zone, how far it lies from the zone's boundary, what is in the way, and the limb going there.

use super::{
    Layer, Reach,
    field::Looks,
    judge::{Found, Judge, Query, State},
    lanes::{Task, few, full},
    limb::Pose,
    obstacle::Barrier,
    zone::{Angles, Limb, ROD, Zone},
};
use crate::{
    body::Body,
    geometry::{Vec3, unit_or},
    posture::{
        Arm, ArmAngles, Comfort, Leg, LegAngles, Sitting, arm_of_angles, comfort_of_arm, comfort_of_leg, leg_of_angles,
    },
    units::{deg, mm},
};

/// What can be said of a point.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The innermost zone that holds it; `None` where it cannot be reached.
    pub zone: Option<Zone>,
    /// Signed distance to the boundary of each zone, m, positive inside; `None` of a zone that is empty or was not worked
    /// out.
    pub margins: Vec<(Zone, Option<f64>)>,
    /// Not reached: what is in the way; `None` where the joints do not go so far.
    pub blocked_by: Option<Barrier>,
    /// What ends the zone where its boundary is nearest: of the zone that holds the point, else of the outermost one;
    /// `None` where the joints do.
    pub ends_by: Option<Barrier>,
    /// What the joints fall short by, m; 0 where they get there, whatever is in the way.
    pub short: f64,
    /// The limb there with least discomfort found, or as near as it comes.
    pub pose: LimbPose,
}

impl Answer {
    /// The margin to the boundary of a zone, m.
    pub fn margin(&self, zone: Zone) -> Option<f64> {
        self.margins.iter().find(|(other, _)| *other == zone)?.1
    }
}

/// A limb in a pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimbPose {
    /// The seven joint angles of [`ArmAngles`] or [`LegAngles`], rad.
    pub angles: [f64; 7],
    /// The trunk leans forward by, rad.
    pub lean: f64,
    /// The shoulder joint is ahead of its place on the seat by, m: following the arm and, beyond that, lifted.
    pub protraction: f64,
    /// Shoulder, elbow and wrist, or hip, knee and ankle, then the limb's point, W.
    pub joints: [Vec3; 4],
}

/// What leaning and a lifted shoulder cost beside the joints' discomfort: own choices, as in the solver of arms.
const LEAN: Comfort = Comfort::new(0.0, deg(6.0));
const LIFT: Comfort = Comfort::new(0.0, mm(12.0));

impl Layer {
    /// A point to be looked at, beginning from what is known about it.
    fn query(&self, point: Vec3, more: usize) -> Query {
        let mut query = Query::at(point, more);
        for angles in self.field.iter().flat_map(|field| field.poses_near(point)).take(Query::MOST) {
            query.begin(angles);
        }
        query.thorough = true;
        query
    }
}

impl Reach {
    /// Looks at a point: exactly for its zone, to about a quarter of the lattice's step for the margins.
    pub fn ask(&self, point: Vec3) -> Answer {
        let mut last = None;
        let mut zone = None;
        for (at, layer) in self.zones.iter().enumerate() {
            let judge = self.judge(at);
            let found = judge.asked(layer.query(point, 6));
            let reached = found.state == State::Reached;
            last = Some((at, found));
            if reached {
                zone = Some(layer.zone);
                break;
            }
        }
        let (at, found) = last.unwrap_or_else(|| (0, self.judge(0).asked(Query::at(point, 6))));
        let judge = self.judge(at);
        let found = if zone.is_some() { self.eased(&judge, point, found) } else { found };
        let pose = self.chain.pose(&found.angles);
        let margins: Vec<_> = self
            .zones
            .iter()
            .map(|layer| (layer.zone, self.margin(layer, point, zone.is_some_and(|zone| zone <= layer.zone))))
            .collect();
        let ends_by = self.surface(self.zones[at].zone).and_then(|surface| Some(surface.nearest(point)?.1?.clone()));
        Answer {
            zone,
            margins,
            blocked_by: (found.state == State::Blocked).then(|| self.barrier(found.whose)),
            ends_by,
            short: if found.state == State::Out { found.by } else { 0.0 },
            pose: self.limb_pose(&found.angles, &pose),
        }
    }

    fn margin(&self, layer: &Layer, point: Vec3, inside: bool) -> Option<f64> {
        let (at, _) = self.surface(layer.zone)?.nearest(point)?;
        let off = (at - point).norm();
        Some(if inside { off } else { -off })
    }

    pub(super) fn barrier(&self, (net, index): (usize, usize)) -> Barrier {
        self.around.nets[net].list[index].what.clone()
    }

    /// What is found at a point in one zone.
    pub(super) fn found(&self, point: Vec3, zone: Zone) -> Found {
        self.found_all(&[point], zone).first().copied().unwrap_or(Found::NOTHING)
    }

    /// What is found at some points in one zone.
    pub(super) fn found_all(&self, points: &[Vec3], zone: Zone) -> Vec<Found> {
        let at = self.zones.iter().position(|layer| layer.zone == zone).unwrap_or(0);
        let queries: Vec<Query> = points.iter().map(|point| self.zones[at].query(*point, 4).at_most(2, 4)).collect();
        self.judge(at).look(&queries)
    }

    /// Whether a point is reached in a zone.
    pub fn reaches(&self, point: Vec3, zone: Zone) -> bool {
        self.found(point, zone).state == State::Reached
    }

    /// Points and poses from which a zone is flooded.
    pub(super) fn begin(&self, zone: Zone) -> Vec<(Vec3, Angles)> {
        let at = self.zones.iter().position(|layer| layer.zone == zone).unwrap_or(0);
        self.judge(at).begin()
    }

    /// The least discomfort found of the limb at a point of a zone.
    pub(super) fn comfort_at(&self, point: Vec3, zone: Zone) -> f64 {
        let at = self.zones.iter().position(|layer| layer.zone == zone).unwrap_or(0);
        let judge = self.judge(at);
        let found = judge.asked(Query::from(point, &self.slack(), 2));
        self.discomfort(&if found.state == State::Reached { self.eased(&judge, point, found) } else { found }.angles)
    }

    /// The point of a zone that is nearest to a far one: the best of what seeds about `from` lead to.
    pub(super) fn furthest(&self, zone: Zone, from: Vec3, far: Vec3) -> LimbPose {
        let at = self.zones.iter().position(|layer| layer.zone == zone).unwrap_or(0);
        let judge = self.judge(at);
        let way = unit_or(far - from, Vec3::x());
        let (_, high) = self.extent;
        let target = from + way * ((high - from).norm() * 0.65);
        let seeds: [u16; 6] = judge.seeds.near(target);
        let tasks = seeds.map(|seed| Task { start: few(judge.seeds.pose(seed)), target });
        let best = judge.lanes.nearest(&tasks).into_iter().min_by(|a, b| a.miss.total_cmp(&b.miss));
        let angles = best.map_or_else(|| self.slack(), |best| full(&best.angles));
        self.limb_pose(&angles, &self.chain.pose(&angles))
    }

    fn slack(&self) -> Angles {
        let neutrals = self.neutrals();
        std::array::from_fn(|i| neutrals.get(i).map_or(0.0, |comfort| comfort.neutral))
    }

    /// Discomfort of a pose: squares of the distances from the neutrals in spreads.
    fn discomfort(&self, angles: &Angles) -> f64 {
        self.neutrals().iter().zip(angles).map(|(comfort, angle)| comfort.residual(*angle).powi(2)).sum()
    }

    fn neutrals(&self) -> Vec<Comfort> {
        match self.limb {
            Limb::Hand(..) => [LEAN, LIFT].into_iter().chain(*comfort_of_arm()).collect(),
            Limb::Foot(..) => comfort_of_leg().to_vec(),
        }
    }

    /// The pose of least discomfort that steps towards the neutral lead to, from the pose found and from seeds.
    fn eased(&self, judge: &Judge<'_>, point: Vec3, found: Found) -> Found {
        let slack = self.slack();
        let ease = |mut found: Found| {
            let mut cost = self.discomfort(&found.angles);
            let mut share = 0.5;
            for _ in 0..40 {
                let towards: Angles = std::array::from_fn(|i| found.angles[i] + share * (slack[i] - found.angles[i]));
                let next = judge.asked(Query::from(point, &towards, 0));
                let next_cost = self.discomfort(&next.angles);
                if next.state == State::Reached && next_cost < cost - 1e-6 {
                    (found, cost) = (next, next_cost);
                } else {
                    share *= 0.5;
                    if share < 0.02 {
                        break;
                    }
                }
            }
            (cost, found)
        };
        let seeds: [u16; 4] = judge.seeds.near(point);
        let others = std::iter::once(&slack)
            .chain(seeds.iter().map(|seed| judge.seeds.pose(*seed)))
            .map(|start| judge.asked(Query::from(point, start, 0)));
        std::iter::once(found)
            .chain(others.filter(|other| other.state == State::Reached))
            .map(ease)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map_or(found, |(_, found)| found)
    }

    fn limb_pose(&self, angles: &Angles, pose: &Pose) -> LimbPose {
        let first = if matches!(self.limb, Limb::Hand(..)) { 2 } else { 0 };
        let [a, b, c] = self.chain.bones.map(|bone| pose.frames[bone].at);
        LimbPose {
            angles: std::array::from_fn(|i| angles[first + i]),
            lean: if first == 2 { angles[0] } else { 0.0 },
            protraction: if first == 2 { angles[1] } else { 0.0 },
            joints: [a, b, c, pose.tip],
        }
    }
}

impl LimbPose {
    /// Trunk and arm in this pose, to be drawn.
    pub fn arm(&self, body: &Body, sitting: &Sitting, side: crate::geometry::Side) -> (Sitting, Arm) {
        let leant = leaning(sitting, self.lean);
        let mut lifted = leant.clone();
        lifted.shoulders[side.index()] += leant.thorax.rotation * Vec3::x() * self.protraction;
        let mut arm = arm_of_angles(body, &lifted, side, ROD, &ArmAngles::from_array(self.angles));
        arm.protraction = self.protraction;
        (leant, arm)
    }

    /// The leg in this pose, to be drawn.
    pub fn leg(&self, body: &Body, sitting: &Sitting, side: crate::geometry::Side) -> Leg {
        leg_of_angles(body, sitting, side, &LegAngles::from_array(self.angles))
    }

    /// The angle at the elbow or knee, rad, π straight.
    pub fn middle_angle(&self) -> f64 {
        std::f64::consts::PI - self.angles[3]
    }

    /// The way in which the last bone points, W.
    pub fn points(&self) -> Vec3 {
        unit_or(self.joints[3] - self.joints[2], Vec3::x())
    }
}

/// The trunk turned forward about the hips, above the pelvis.
pub(super) fn leaning(sitting: &Sitting, lean: f64) -> Sitting {
    let mut out = sitting.clone();
    if lean == 0.0 {
        return out;
    }
    let turn = crate::geometry::Rot::from_axis_angle(&Vec3::y_axis(), lean);
    let about = sitting.h_point;
    let moved = |point: Vec3| about + turn * (point - about);
    let placed = |pose: &crate::geometry::Pose| {
        crate::geometry::Pose::from_parts(moved(pose.translation.vector).into(), turn * pose.rotation)
    };
    out.abdomen = placed(&sitting.abdomen);
    out.thorax = placed(&sitting.thorax);
    out.neck = placed(&sitting.neck);
    out.head = placed(&sitting.head);
    out.shoulders = sitting.shoulders.map(moved);
    out.eyes = moved(sitting.eyes);
    out.spine = sitting.spine.map(moved);
    out.recline -= lean;
    out
}
