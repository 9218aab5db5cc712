//! The pedal set, placed: plate, faces and their arcs.

use nalgebra::{Point3, Translation3, UnitQuaternion};

use crate::{
    geometry::{Pose, RoundedBox, TaperedCapsule, Vec3},
    project::{PedalKind, PedalSet},
    units::{deg, mm, mm_pair, mm_point},
};

/// One placed pedal.
#[derive(Clone, Debug)]
pub struct PedalPart {
    /// What it does.
    pub kind: PedalKind,
    /// Sideways in P, m.
    pub sideways: f64,
    /// Centre of the face at rest in P: (forward, up), m.
    pub face: [f64; 2],
    /// Pivot in P: (forward, up), m.
    pub pivot: [f64; 2],
    /// Tilt of the face at rest from the vertical of the plate, top forward, rad.
    pub tilt: f64,
    /// Width and height of the face, m.
    pub size: [f64; 2],
    /// Full travel of the face's centre along its arc, m.
    pub travel: f64,
    /// Travel at the working force, m.
    pub working_travel: f64,
    /// Working force, N.
    pub working_force: f64,
}

/// The face of a pedal at some travel, in the side plane of the pedal set: (forward, up) in P.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Centre of the pressed surface.
    pub centre: [f64; 2],
    /// Tilt from the vertical of the plate, top forward, rad.
    pub tilt: f64,
}

/// The placed pedal set.
#[derive(Clone, Debug)]
pub struct Pedals {
    /// Pedal set frame P in W.
    pub X_WP: Pose,
    /// Height of the heel plate over the plate, m.
    pub heel_rest: f64,
    /// The pedals.
    pub list: Vec<PedalPart>,
    /// The heel plate, W; its upper face carries the heels.
    pub base: RoundedBox,
}

/// Thickness of a pedal face, m: common practice, no published source.
const FACE_THICKNESS: f64 = mm(8.0);
/// Radius of a pedal arm, m: common practice, no published source.
const ARM_RADIUS: f64 = mm(9.0);
/// Thickness of heel and base plate, m: common practice, no published source.
const PLATE_THICKNESS: f64 = mm(10.0);

impl Pedals {
    /// Places a pedal set.
    pub fn place(set: &PedalSet) -> Self {
        let turn = UnitQuaternion::from_axis_angle(&Vec3::y_axis(), -deg(set.plate_angle_deg));
        let X_WP = Pose::from_parts(Translation3::from(mm_point(set.position_mm)), turn);
        let list: Vec<PedalPart> = set
            .pedals
            .iter()
            .map(|pedal| PedalPart {
                kind: pedal.kind,
                sideways: mm(pedal.sideways_mm),
                face: mm_pair(pedal.face_mm),
                pivot: mm_pair(pedal.pivot_mm),
                tilt: deg(pedal.tilt_deg),
                size: mm_pair(pedal.size_mm),
                travel: mm(pedal.travel_mm),
                working_travel: mm(pedal.working_travel_mm),
                working_force: pedal.working_force_n,
            })
            .collect();
        let heel_rest = mm(set.heel_rest_mm);
        // The plate carries the heels and every pivot that stands on it.
        let ahead = list.iter().map(|pedal| pedal.pivot[0].max(pedal.face[0])).fold(mm(150.0), f64::max) + mm(60.0);
        let side = |sign: f64| {
            list.iter().map(|pedal| sign * pedal.sideways + pedal.size[0] / 2.0).fold(mm(80.0), f64::max) + mm(15.0)
        };
        let (left, right) = (side(1.0), side(-1.0));
        let middle = X_WP * Point3::new(ahead / 2.0, (left - right) / 2.0, heel_rest - PLATE_THICKNESS / 2.0);
        let base = RoundedBox {
            pose: Pose::from_parts(Translation3::from(middle.coords), turn),
            half: Vec3::new(ahead / 2.0, f64::midpoint(left, right), PLATE_THICKNESS / 2.0),
            round: mm(2.0),
        };
        Self { X_WP, heel_rest, list, base }
    }

    /// The pedal of a kind, if the set has it.
    pub fn get(&self, kind: PedalKind) -> Option<&PedalPart> {
        self.list.iter().find(|pedal| pedal.kind == kind)
    }
}

impl PedalPart {
    /// The turn about the pivot that `travel` (m) along the arc makes, rad about +y of P: the sense that pushes the
    /// face forward.
    pub fn turn(&self, travel: f64) -> f64 {
        let arm = [self.face[0] - self.pivot[0], self.face[1] - self.pivot[1]];
        let length = arm[0].hypot(arm[1]).max(1e-6);
        // A positive turn about y moves a point above the pivot forward.
        let inward = [self.tilt.cos(), -self.tilt.sin()];
        let sense = if arm[1] * inward[0] - arm[0] * inward[1] >= 0.0 { 1.0 } else { -1.0 };
        sense * travel / length
    }

    /// The face after `travel` (m) along its arc.
    pub fn face_at(&self, travel: f64) -> Face {
        let turn = self.turn(travel);
        let (sin, cos) = turn.sin_cos();
        let arm = [self.face[0] - self.pivot[0], self.face[1] - self.pivot[1]];
        Face {
            centre: [self.pivot[0] + arm[0] * cos + arm[1] * sin, self.pivot[1] - arm[0] * sin + arm[1] * cos],
            tilt: self.tilt + turn,
        }
    }

    /// Pose in W of the face frame F: origin in the middle of the pressed surface, x into it, y left, z up along it.
    pub fn face_pose(&self, pedals: &Pedals, travel: f64) -> Pose {
        let face = self.face_at(travel);
        let lean = UnitQuaternion::from_axis_angle(&Vec3::y_axis(), face.tilt);
        pedals.X_WP * Pose::from_parts(Translation3::new(face.centre[0], self.sideways, face.centre[1]), lean)
    }

    /// Solids at a travel, W: the face plate and the arm.
    pub fn solids(&self, pedals: &Pedals, travel: f64) -> (RoundedBox, TaperedCapsule) {
        let face = self.face_pose(pedals, travel);
        let half = Vec3::new(FACE_THICKNESS / 2.0, self.size[0] / 2.0, self.size[1] / 2.0);
        let plate = RoundedBox {
            pose: face * Pose::translation(FACE_THICKNESS / 2.0, 0.0, 0.0),
            half,
            round: mm(3.0).min(half.min()),
        };
        let pivot = pedals.X_WP * Point3::new(self.pivot[0], self.sideways, self.pivot[1]);
        let behind = face * Point3::new(FACE_THICKNESS + ARM_RADIUS, 0.0, 0.0);
        let arm = TaperedCapsule { a: pivot.coords, b: behind.coords, radius_a: ARM_RADIUS, radius_b: ARM_RADIUS };
        (plate, arm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::to_deg;

    fn pedal(face: [f64; 2], pivot: [f64; 2]) -> PedalPart {
        PedalPart {
            kind: PedalKind::Brake,
            sideways: 0.0,
            face,
            pivot,
            tilt: 0.0,
            size: [0.06, 0.08],
            travel: 0.05,
            working_travel: 0.03,
            working_force: 500.0,
        }
    }

    /// By hand: 50 mm along an arc of 200 mm is 0.25 rad = 14.32°; the centre goes 200 sin 14.32° = 49.48 forward.
    #[test]
    fn fifty_millimetres_on_a_200_mm_arm_turn_the_face_by_14_32_degrees() {
        let hinged_below = pedal([0.2, 0.2], [0.2, 0.0]).face_at(0.05);
        assert!((to_deg(hinged_below.tilt) - 14.324).abs() < 1e-3);
        assert!((hinged_below.centre[0] - 0.249_48).abs() < 1e-5 && hinged_below.centre[1] < 0.2);
        let hung_above = pedal([0.2, 0.2], [0.2, 0.4]).face_at(0.05);
        assert!((to_deg(hung_above.tilt) + 14.324).abs() < 1e-3);
        assert!((hung_above.centre[0] - 0.249_48).abs() < 1e-5 && hung_above.centre[1] > 0.2);
    }
}
