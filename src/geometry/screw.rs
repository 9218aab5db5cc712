//! From one pose to another as on a screw: every motion of a rigid body is a turn about one axis and a way along it
//! (Chasles 1830).

use super::{MeshSolid, Pose, RimSolid, Rot, RoundedBox, Solid, TaperedCapsule, Vec3};

/// Turns less than this, rad, are none.
const STRAIGHT: f64 = 1e-9;

/// The pose at a share of the way from one to another on the one screw that leads there (by less than half a turn).
pub fn screw(from: &Pose, to: &Pose, share: f64) -> Pose {
    let step = to * from.inverse();
    let turn = step.rotation.scaled_axis();
    let way = step.translation.vector;
    let angle = turn.norm();
    if angle < STRAIGHT {
        return nalgebra::Translation3::from(way * share) * from;
    }
    let axis = turn / angle;
    let along = axis * way.dot(&axis);
    let aside = way - along;
    let centre = (aside + axis.cross(&aside) / (angle / 2.0).tan()) / 2.0;
    let rotation = Rot::new(turn * share);
    Pose::from_parts((centre + along * share - rotation * centre).into(), rotation) * from
}

impl Solid {
    /// This solid at a share of the way to where it stands as `to`, on a screw; what has no pose, and a size that is
    /// another there, goes straight. A solid of another kind is where it is.
    #[must_use]
    pub fn towards(&self, to: &Self, share: f64) -> Self {
        match (self, to) {
            (Self::Box(from), Self::Box(to)) => Self::Box(RoundedBox {
                pose: screw(&from.pose, &to.pose, share),
                half: from.half.lerp(&to.half, share),
                round: from.round + (to.round - from.round) * share,
            }),
            (Self::Rim(from), Self::Rim(to)) => {
                Self::Rim(RimSolid { pose: screw(&from.pose, &to.pose, share), ..from.clone() })
            }
            (Self::Mesh(from), Self::Mesh(to)) => {
                Self::Mesh(MeshSolid { mesh: from.mesh.clone(), pose: screw(&from.pose, &to.pose, share) })
            }
            (Self::Capsule(from), Self::Capsule(to)) => Self::Capsule(TaperedCapsule {
                a: from.a.lerp(&to.a, share),
                b: from.b.lerp(&to.b, share),
                radius_a: from.radius_a + (to.radius_a - from.radius_a) * share,
                radius_b: from.radius_b + (to.radius_b - from.radius_b) * share,
            }),
            _ => self.clone(),
        }
    }

    /// A length that no point of it exceeds on that way, m.
    pub fn longest_way(&self, to: &Self) -> f64 {
        // An arc is longer than its chord.
        let arc = |from: &Pose, to: &Pose| {
            let half = from.rotation.angle_to(&to.rotation) / 2.0;
            if half < 1e-6 { 1.0 } else { half / half.sin() }
        };
        let corners =
            |from: [Vec3; 8], to: [Vec3; 8]| from.iter().zip(&to).map(|(a, b)| (a - b).norm()).fold(0.0, f64::max);
        match (self, to) {
            (Self::Box(from), Self::Box(to)) => corners(from.corners(), to.corners()) * arc(&from.pose, &to.pose),
            (Self::Mesh(from), Self::Mesh(to)) => corners(from.corners(), to.corners()) * arc(&from.pose, &to.pose),
            (Self::Rim(from), Self::Rim(to)) => {
                let middle = (to.pose.translation.vector - from.pose.translation.vector).norm();
                let turn = from.pose.rotation.angle_to(&to.pose.rotation);
                middle * arc(&from.pose, &to.pose) + turn * (from.path.reach() + from.tube)
            }
            (Self::Capsule(from), Self::Capsule(to)) => {
                let grown = (from.radius_a - to.radius_a).abs().max((from.radius_b - to.radius_b).abs());
                (from.a - to.a).norm().max((from.b - to.b).norm()) + grown
            }
            _ => 0.0,
        }
    }

    /// How far it is from being another solid of its kind: by a corner, an end or, for rims, by a place of the rim, m.
    pub fn apart(&self, other: &Self) -> f64 {
        let most =
            |pairs: &mut dyn Iterator<Item = (Vec3, Vec3)>| pairs.map(|(a, b)| (a - b).norm()).fold(0.0, f64::max);
        match (self, other) {
            (Self::Box(one), Self::Box(other)) => most(&mut one.corners().into_iter().zip(other.corners())),
            (Self::Mesh(one), Self::Mesh(other)) => most(&mut one.corners().into_iter().zip(other.corners())),
            (Self::Capsule(one), Self::Capsule(other)) => most(&mut [(one.a, other.a), (one.b, other.b)].into_iter()),
            (Self::Rim(one), Self::Rim(other)) => {
                let reach = one.path.reach();
                let on =
                    |pose: &Pose| [0, 1, 2].map(|axis| (pose * nalgebra::Point3::from(Vec3::ith(axis, reach))).coords);
                most(&mut on(&one.pose).into_iter().zip(on(&other.pose)))
            }
            _ => f64::INFINITY,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_2;

    use super::*;

    fn pose(x: f64, y: f64, z: f64, turn: Vec3) -> Pose {
        Pose::from_parts(Vec3::new(x, y, z).into(), Rot::new(turn))
    }

    #[test]
    fn a_quarter_turn_about_an_axis_that_is_known_passes_its_eighth() {
        // By hand: about the upright line through (1, 0), from (2, 0) to (1, 1), rising by 0.4.
        let from = pose(2.0, 0.0, 0.0, Vec3::zeros());
        let to = pose(1.0, 1.0, 0.4, Vec3::z() * FRAC_PI_2);
        let half = screw(&from, &to, 0.5);
        let eighth = std::f64::consts::FRAC_1_SQRT_2;
        assert!((half.translation.vector - Vec3::new(1.0 + eighth, eighth, 0.2)).norm() < 1e-12);
        assert!((half.rotation.angle() - FRAC_PI_2 / 2.0).abs() < 1e-12);
    }

    #[test]
    fn the_ends_are_the_ends_and_equal_steps_repeat_one_motion() {
        let from = pose(0.3, -0.2, 1.1, Vec3::new(0.2, 0.9, -0.4));
        let to = pose(-0.5, 0.6, 0.7, Vec3::new(-0.7, 0.1, 1.2));
        let off = |a: Pose, b: Pose| (a.to_homogeneous() - b.to_homogeneous()).abs().max();
        assert!(off(screw(&from, &to, 0.0), from) < 1e-12 && off(screw(&from, &to, 1.0), to) < 1e-12);
        let quarters = [0.25, 0.5, 0.75].map(|share| screw(&from, &to, share));
        let step = |a: Pose, b: Pose| b * a.inverse();
        for pair in quarters.windows(2) {
            assert!(off(step(pair[0], pair[1]), step(from, quarters[0])) < 1e-12);
        }
    }

    #[test]
    fn no_corner_goes_further_than_the_longest_way() {
        let half = Vec3::new(0.3, 0.1, 0.2);
        let from = Solid::Box(RoundedBox { pose: pose(0.3, -0.2, 1.1, Vec3::zeros()), half, round: 0.0 });
        let to = Solid::Box(RoundedBox { pose: pose(0.1, 0.0, 1.0, Vec3::new(0.2, 0.9, -0.4)), half, round: 0.0 });
        let places: Vec<Solid> = (0..=500).map(|step| from.towards(&to, f64::from(step) / 500.0)).collect();
        let longest = (0..8).map(|corner| {
            let at = |solid: &Solid| if let Solid::Box(own) = solid { own.corners()[corner] } else { Vec3::zeros() };
            places.windows(2).map(|pair| (at(&pair[0]) - at(&pair[1])).norm()).sum::<f64>()
        });
        let longest = longest.fold(0.0, f64::max);
        let told = from.longest_way(&to);
        assert!(longest <= told && told < 1.2 * longest, "{longest} {told}");
    }
}
