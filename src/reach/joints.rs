//! What a hand's joints alone say of a point, in well under a millisecond: for checks that are made many times over.

use super::{
    Grip, Limb, Reach, Zone,
    judge::{Query, State},
    zone::Angles,
};
use crate::{
    body::Body,
    geometry::{Side, Vec3, unit_or},
    posture::Sitting,
    units::mm,
};

/// How a point lies to a hand's reach, whatever stands in the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByJoints {
    /// The innermost zone that holds the point; `None` where the joints do not get there.
    pub zone: Option<Zone>,
    /// Inside what is attained with the shoulders on the seat: how much further the hand goes on the line from the
    /// shoulder, m. Outside: what is missing, negative.
    pub margin: f64,
    /// The end of the hand's reach that the margin is measured to, W.
    pub end: Vec3,
}

/// Seeds of a zone that is asked of single points.
pub(super) const FEW_SEEDS: u32 = 64;

/// How points lie to the reach of a hand, the trunk leaning forward by no more than `lean` (rad).
pub fn by_joints(body: &Body, sitting: &Sitting, side: Side, grip: Grip, lean: f64, points: &[Vec3]) -> Vec<ByJoints> {
    let reach = Reach::unobstructed(body, sitting, side, grip, lean);
    let shoulder = sitting.shoulders[side.index()];
    points.iter().map(|point| reach.by_joints(shoulder, *point)).collect()
}

impl Reach {
    /// A hand of a body that sits nowhere in particular, with nothing in its way.
    pub(super) fn unobstructed(body: &Body, sitting: &Sitting, side: Side, grip: Grip, lean: f64) -> Self {
        let limb = Limb::Hand(side, grip);
        let chain = super::Chain::arm(body, sitting, side, grip);
        let mut out = Self::made(body, limb, chain, super::Balls::none(), super::Around::nothing(), lean).alone();
        out.seeds = FEW_SEEDS;
        out
    }

    fn by_joints(&self, shoulder: Vec3, point: Vec3) -> ByJoints {
        let mut zone = None;
        let mut attained: Option<Angles> = None;
        let mut missing = 0.0;
        let mut end = point;
        for (at, layer) in self.zones.iter().enumerate() {
            let found = self.judge(at).asked(Query::at(point, 8));
            let reached = found.state == State::Reached;
            if layer.zone == Zone::Attainable {
                attained = reached.then_some(found.angles);
                missing = found.by;
                end = point + found.toward * found.by;
            }
            if reached {
                zone = zone.or(Some(layer.zone));
                if layer.zone >= Zone::Attainable {
                    break;
                }
            }
        }
        let Some(mut angles) = attained else { return ByJoints { zone, margin: -missing, end } };
        // Where the zone ends on the line from the shoulder: between a length that is reached and one that is not.
        let judge = self.judge(self.zones.iter().position(|layer| layer.zone == Zone::Attainable).unwrap_or(0));
        let way = unit_or(point - shoulder, Vec3::x());
        let (low, high) = self.extent();
        let (mut inside, mut outside) = (0.0, 0.5 * (high - low).norm());
        while outside - inside > mm(0.05) {
            let middle = f64::midpoint(inside, outside);
            let found = judge.asked(Query::from(point + way * middle, &angles, 2));
            if found.state == State::Reached {
                (inside, angles) = (middle, found.angles);
            } else {
                outside = middle;
            }
        }
        ByJoints { zone, margin: inside, end: point + way * inside }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        posture::{ArmAngles, LegAngles, Posture},
        project::{Driver, Measurements, Population},
        units::deg,
    };

    /// Straight ahead of a shoulder the hand ends where upper arm, forearm and hand stretched out do, and the shoulder
    /// joint follows by what the survey's thumb-tip reach is more than the links; what is nearer lies inside by the
    /// difference, what is further outside.
    #[test]
    fn a_point_ahead_of_the_shoulder_lies_inside_by_what_the_arm_is_longer() {
        let body = Body::of(&Driver::measured(Population::Men, Measurements::default()));
        let posture = Posture::of_angles(&body, mm(15.0), &ArmAngles::default(), &LegAngles::default());
        let shoulder = posture.sitting.shoulders[1];
        let ask = |ahead: f64| {
            let point = shoulder + posture.sitting.thorax.rotation * Vec3::x() * ahead;
            by_joints(&body, &posture.sitting, Side::Right, Grip::Full, deg(20.0), &[point])[0]
        };
        let bones = &body.skeleton;
        let straight = bones.upper_arm + bones.forearm + bones.wrist_to_grip.hypot(bones.palm + mm(15.0));
        let slides = crate::reach::zone::follows(&body);
        let near = ask(0.5);
        assert!(near.margin > straight + slides - 0.5 - mm(15.0) && near.margin < straight + slides - 0.5, "{near:?}");
        assert!(near.zone.is_some_and(|zone| zone <= Zone::Attainable));
        let far = ask(straight + slides + 0.02);
        assert!(far.margin < -mm(20.0) && far.margin > -mm(40.0), "{far:?}");
        assert_eq!(far.zone, Some(Zone::ShoulderLift));
        assert_eq!(ask(straight + 1.0).zone, None);
    }
}
