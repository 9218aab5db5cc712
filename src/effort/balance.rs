//! Static balance of a leg: what its muscles give at each joint angle while forces act on it.

use crate::{
    body::{Body, Segments},
    geometry::{Side, Vec3},
    posture::{Leg, Sitting, forward_leg},
    units::GRAVITY,
};

/// A segment of the leg; forces act on one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Segment {
    Thigh,
    Shank,
    Foot,
}

/// A force on the leg: on which segment, where and what, W, N.
#[derive(Clone, Copy, Debug)]
pub(super) struct Force {
    pub(super) on: Segment,
    pub(super) at: Vec3,
    pub(super) newtons: Vec3,
}

/// The seven joint axes of a leg, each with a point on it, in the order of [`crate::posture::LegAngles`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Chain {
    hip: Vec3,
    axes: [(Vec3, Vec3); 7],
}

/// Of the seven angles those that open and fold the leg in its side plane: hip, knee, ankle.
pub(super) const FLEXIONS: [usize; 3] = [0, 3, 4];

impl Chain {
    /// The axes of a leg in place: that of each angle as the angles before it have turned it.
    pub(super) fn of(body: &Body, sitting: &Sitting, side: Side, leg: &Leg) -> Self {
        let s = side.sign();
        let R_WB = sitting.pelvis.rotation.to_rotation_matrix().into_inner();
        let a = leg.angles.array();
        let [(hip, R_WT), (knee, R_WS), (ankle, R_WF)] = forward_leg(&body.skeleton, side, &R_WB, leg.hip(), &a);
        let (flexed, bent) = (R_WB * turned_about_y(-a[0]), R_WS * turned_about_y(-a[4]));
        Self {
            hip,
            axes: [
                (hip, -R_WB.column(1)),
                (hip, flexed * s),
                (hip, R_WT.column(2) * -s),
                (knee, R_WS.column(1).into()),
                (ankle, -R_WS.column(1)),
                (ankle, bent * -s),
                (ankle, R_WF.column(2) * s),
            ],
        }
    }

    /// What the muscles give at each angle, in the sense in which it grows, N·m, so that the leg stays still.
    pub(super) fn torques(&self, forces: &[Force]) -> [f64; 7] {
        std::array::from_fn(|index| {
            let (at, axis) = self.axes[index];
            let least = match index {
                0..3 => Segment::Thigh,
                3 => Segment::Shank,
                _ => Segment::Foot,
            };
            let beyond = forces.iter().filter(|force| force.on >= least);
            -beyond.map(|force| axis.dot(&(force.at - at).cross(&force.newtons))).sum::<f64>()
        })
    }

    /// The moment that the trunk gives the thigh at the hip across its flexion, N·m: to the side and in twist.
    pub(super) fn hip_aside(&self, forces: &[Force]) -> f64 {
        let moment: Vec3 = forces.iter().map(|force| (force.at - self.hip).cross(&force.newtons)).sum();
        let axis = self.axes[0].1;
        (moment - axis * axis.dot(&moment)).norm()
    }
}

/// The x axis turned about y.
fn turned_about_y(angle: f64) -> Vec3 {
    Vec3::new(angle.cos(), 0.0, -angle.sin())
}

/// The weights of thigh, shank and foot at their centres of mass: de Leva 1996, table 4 (`shared/segments.csv`). The
/// foot's centre lies at half the height of the ankle: own choice, the table has only its place along the foot.
pub(super) fn weights(body: &Body, leg: &Leg) -> [Force; 3] {
    let segments = Segments::of(body.dimensions.population());
    let (hip, knee, ankle) = (leg.hip(), leg.knee(), leg.ankle());
    let bones = &body.skeleton;
    let along_foot = segments.get("foot_centre") * bones.shoe_length - bones.heel_to_ankle;
    let foot = ankle + leg.foot.rotation * Vec3::new(along_foot, 0.0, -0.5 * bones.ankle_height);
    let weight = |on: Segment, mass: &str, at: Vec3| Force {
        on,
        at,
        newtons: Vec3::z() * (-segments.get(mass) * body.mass() * GRAVITY),
    };
    [
        weight(Segment::Thigh, "thigh_mass", hip + (knee - hip) * segments.get("thigh_centre")),
        weight(Segment::Shank, "shank_mass", knee + (ankle - knee) * segments.get("shank_centre")),
        weight(Segment::Foot, "foot_mass", foot),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        posture::{LegAngles, Posture},
        units::deg,
    };

    /// A leg with the thigh level; hip and knee at the side of the trunk.
    fn leg(knee: f64) -> (Body, Sitting, Leg, Chain) {
        let project = crate::project::parse(include_str!("../../assets/closed_car.ron")).unwrap();
        let body = Body::of(&project.driver);
        let trunk = Posture::for_skin(&body, 0.016).sitting;
        let angles = LegAngles { hip_flexion: deg(90.0) - trunk.recline, knee_flexion: knee, ..LegAngles::default() };
        let posture = Posture::of_angles(&body, 0.016, &crate::posture::ArmAngles::default(), &angles);
        let leg = posture.legs[0];
        let chain = Chain::of(&body, &posture.sitting, Side::Left, &leg);
        (body, posture.sitting, leg, chain)
    }

    /// By hand: thigh level, shank hanging. 100 N backward at the ankle has the shank as its lever about knee and hip:
    /// the knee opens against it, the hip lifts. 100 N upward at the ankle passes through the knee and has the thigh
    /// as its lever about the hip, which presses down.
    #[test]
    fn a_force_at_the_ankle_asks_for_force_times_arm() {
        let (body, _, leg, chain) = leg(deg(90.0));
        let (thigh, shank) = (body.skeleton.thigh, body.skeleton.shank);
        let at = |newtons: Vec3| chain.torques(&[Force { on: Segment::Foot, at: leg.ankle(), newtons }]);
        let backward = at(Vec3::new(-100.0, 0.0, 0.0));
        assert!((backward[3] + 100.0 * shank).abs() < 1e-6 && (backward[0] - 100.0 * shank).abs() < 1e-6);
        let upward = at(Vec3::new(0.0, 0.0, 100.0));
        assert!(upward[3].abs() < 1e-6 && (upward[0] + 100.0 * thigh).abs() < 1e-6);
        assert!(upward[4].abs() < 1e-6, "a force through the ankle asks nothing of it");
        // To the left, outward for the left leg: levers are thigh (turning the thigh) and shank (swinging it out).
        let aside = [Force { on: Segment::Foot, at: leg.ankle(), newtons: Vec3::new(0.0, 100.0, 0.0) }];
        assert!((chain.hip_aside(&aside) - 100.0 * thigh.hypot(shank)).abs() < 1e-6);
    }

    /// By hand, with de Leva's numbers for men: a straight leg held level, the foot upright on its end.
    #[test]
    fn a_leg_held_level_asks_for_its_weights_times_their_arms() {
        let (body, _, leg, chain) = leg(0.0);
        let (t, s, ankle) = (body.skeleton.thigh, body.skeleton.shank, body.skeleton.ankle_height);
        let newton = body.mass() * 9.806_65;
        let shank_and_foot = 0.0433 * 0.4395 * s + 0.0137 * (s + 0.5 * ankle);
        let torques = chain.torques(&weights(&body, &leg));
        assert!((torques[3] + newton * shank_and_foot).abs() < 1e-3, "knee {}", torques[3]);
        let whole = shank_and_foot + (0.0433 + 0.0137) * t + 0.1416 * 0.4095 * t;
        assert!((torques[0] - newton * whole).abs() < 1e-3, "hip {} against {}", torques[0], newton * whole);
    }
}
