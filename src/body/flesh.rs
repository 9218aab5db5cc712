//! The flesh on the bones as tapered capsules, sized from breadths, depths and girths.
//!
//! Bone frames as in [`crate::posture`].

use std::f64::consts::TAU;

use super::{Dimensions, Segments, Skeleton};
use crate::{
    geometry::{Pose, Side, TaperedCapsule, Vec3, mirrored},
    posture::{Arm, Bone, Leg, Posture},
    project::Footwear,
    units::mm,
};

/// A part of the body that can touch something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BodyPart {
    /// Head with hair, no helmet.
    Head,
    /// Neck.
    Neck,
    /// Rib cage.
    Chest,
    /// Belly.
    Abdomen,
    /// Pelvis and buttocks.
    Pelvis,
    /// Upper arm down to a hand's breadth above the elbow.
    UpperArm(Side),
    /// The elbow: the end of the upper arm and the start of the forearm.
    Elbow(Side),
    /// Forearm below the elbow.
    Forearm(Side),
    /// Hand, closed round the rim.
    Hand(Side),
    /// Thigh up to a hand's breadth above the knee.
    Thigh(Side),
    /// The knee: the end of the thigh and the start of the shank.
    Knee(Side),
    /// Shank below the knee.
    Shank(Side),
    /// Foot in its shoe.
    Foot(Side),
}

/// A collision shape with its part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodySolid {
    /// What it belongs to.
    pub part: BodyPart,
    /// Its shape, W.
    pub shape: TaperedCapsule,
}

/// A collision shape in the frame of its bone.
#[derive(Clone, Copy, Debug)]
struct Piece {
    part: BodyPart,
    bone: Bone,
    shape: TaperedCapsule,
}

impl Piece {
    const fn new(part: BodyPart, bone: Bone, a: Vec3, radius_a: f64, b: Vec3, radius_b: f64) -> Self {
        Self { part, bone, shape: TaperedCapsule { a, b, radius_a, radius_b } }
    }

    /// The piece of the left side as `side` has it.
    fn on(mut self, side: Side) -> Self {
        if side == Side::Right {
            self.shape.a = mirrored(self.shape.a);
            self.shape.b = mirrored(self.shape.b);
        }
        self
    }

    fn placed(&self, bone: &Pose) -> BodySolid {
        let at = |point: Vec3| bone.rotation * point + bone.translation.vector;
        BodySolid { part: self.part, shape: TaperedCapsule { a: at(self.shape.a), b: at(self.shape.b), ..self.shape } }
    }
}

/// Radii and places of all collision shapes of one person, in the frames of the bones.
///
/// Girths are turned into the radius of a circle of that girth; where a breadth or a depth says how far the outside
/// is from the joint, the shape is placed so that it ends there. Fractions along a limb are own estimates.
#[derive(Clone, Debug)]
pub struct Flesh {
    trunk: [Piece; 7],
    arms: [[Piece; 6]; 2],
    legs: [[Piece; 7]; 2],
}

impl Flesh {
    /// The flesh of a sized person in these shoes.
    pub fn of(dimensions: &Dimensions, skeleton: &Skeleton, shoes: &Footwear) -> Self {
        Self {
            trunk: trunk(dimensions, skeleton),
            arms: Side::BOTH.map(|side| arm(dimensions, skeleton, side).map(|piece| piece.on(side))),
            legs: Side::BOTH.map(|side| leg(dimensions, skeleton, shoes, side).map(|piece| piece.on(side))),
        }
    }

    /// The shapes of trunk and head in a posture, W.
    pub fn trunk(&self, posture: &Posture) -> [BodySolid; 7] {
        let sitting = &posture.sitting;
        self.trunk.map(|piece| {
            piece.placed(match piece.bone {
                Bone::Pelvis => &sitting.pelvis,
                Bone::Neck => &sitting.neck,
                Bone::Head => &sitting.head,
                _ => &sitting.thorax,
            })
        })
    }

    /// The shapes of one arm, W, upper arm first.
    pub fn arm(&self, arm: &Arm, side: Side) -> [BodySolid; 6] {
        self.arms[side.index()].map(|piece| {
            piece.placed(match piece.bone {
                Bone::UpperArm(_) => &arm.upper_arm,
                Bone::Forearm(_) => &arm.forearm,
                _ => &arm.hand,
            })
        })
    }

    /// The shapes of one leg, W, thigh first.
    pub fn leg(&self, leg: &Leg, side: Side) -> [BodySolid; 7] {
        self.legs[side.index()].map(|piece| {
            piece.placed(match piece.bone {
                Bone::Thigh(_) => &leg.thigh,
                Bone::Shank(_) => &leg.shank,
                _ => &leg.foot,
            })
        })
    }
}

/// The radius of a circle of some girth.
fn radius_of(girth: f64) -> f64 {
    girth / TAU
}

/// A capsule from side to side: its ends lie `half` from the centre plane over the flesh, its middle at (x, z).
fn across(part: BodyPart, bone: Bone, x: f64, z: f64, radius: f64, half: f64) -> Piece {
    let y = (half - radius).max(0.0);
    Piece::new(part, bone, Vec3::new(x, y, z), radius, Vec3::new(x, -y, z), radius)
}

fn trunk(d: &Dimensions, bones: &Skeleton) -> [Piece; 7] {
    // Back of the trunk behind the torso line, which runs from the hips to the shoulder joints.
    let behind = |height: f64| {
        bones.buttock_to_hip + (bones.back_to_shoulder - bones.buttock_to_hip) * height / bones.hip_to_shoulder
    };
    let thorax = bones.hip_to_lumbar + bones.lumbar;

    let hip_half = d.m("hipbreadthsitting") / 2.0;
    let pelvis = (0.8 * bones.buttock_to_hip).min(hip_half);
    // The lower back is hollow by about 15 mm.
    let waist = d.m("abdominalextensiondepthsitting") / 2.0;
    let waist_height = 0.36 * bones.hip_to_shoulder;
    let chest = d.m("chestdepth") / 2.0;
    let chest_height = 0.74 * bones.hip_to_shoulder;
    let shoulder = 0.78 * bones.back_to_shoulder;
    let neck = radius_of(d.m("neckcircumference"));

    // Head: the eyes lie about 20 mm behind the brow; the chin hangs below the root of the nose, level with the eyes.
    let skull = d.m("headbreadth") / 2.0;
    let brow = bones.eye_forward + mm(20.0);
    let nape = brow - d.m("headlength");
    let crown = bones.head_up - skull;
    let jaw = 0.4 * skull;
    let chin = bones.eye_up - d.m("mentonsellionlength") + jaw;

    [
        across(
            BodyPart::Pelvis,
            Bone::Pelvis,
            pelvis - bones.buttock_to_hip,
            pelvis - bones.seat_to_hip,
            pelvis,
            hip_half,
        ),
        across(
            BodyPart::Abdomen,
            Bone::Thorax,
            waist - behind(waist_height) + mm(15.0),
            waist_height - thorax,
            waist,
            d.m("waistbreadth") / 2.0,
        ),
        across(
            BodyPart::Chest,
            Bone::Thorax,
            chest - behind(chest_height),
            chest_height - thorax,
            chest,
            d.m("chestbreadth") / 2.0,
        ),
        across(
            BodyPart::Chest,
            Bone::Thorax,
            shoulder - bones.back_to_shoulder,
            bones.hip_to_shoulder - thorax - 0.3 * shoulder,
            shoulder,
            bones.shoulder_half_breadth + 0.4 * shoulder,
        ),
        Piece::new(
            BodyPart::Neck,
            Bone::Neck,
            Vec3::new(0.0, 0.0, 0.1 * bones.neck),
            neck,
            Vec3::new(0.0, 0.0, bones.neck),
            neck,
        ),
        Piece::new(
            BodyPart::Head,
            Bone::Head,
            Vec3::new(nape + skull, 0.0, crown),
            skull,
            Vec3::new(brow - skull, 0.0, crown),
            skull,
        ),
        Piece::new(
            BodyPart::Head,
            Bone::Head,
            Vec3::new(brow - 0.95 * skull, 0.0, bones.eye_up),
            0.9 * skull,
            Vec3::new(bones.eye_forward + mm(5.0) - jaw, 0.0, chin),
            jaw,
        ),
    ]
}

/// The left arm.
fn arm(d: &Dimensions, bones: &Skeleton, side: Side) -> [Piece; 6] {
    let (upper, fore, hand) = (Bone::UpperArm(side), Bone::Forearm(side), Bone::Hand(side));
    let down = |length: f64| Vec3::new(0.0, 0.0, -length);

    // The girth is of a flexed arm; one at the wheel is about 5 % thinner (own estimate).
    let biceps = 0.95 * radius_of(d.m("bicepscircumferenceflexed"));
    let deltoid = (d.m("bideltoidbreadth") / 2.0 - bones.shoulder_half_breadth - biceps).clamp(0.0, biceps);
    let over_joint = Segments::of(d.population()).get("shoulder_below_acromion") * d.m("acromionradialelength");
    // Underside of the elbow below its joint: shoulderelbowlength less what lies above the joint.
    let elbow = (d.m("shoulderelbowlength") - bones.upper_arm - over_joint).clamp(0.6 * biceps, 0.95 * biceps);
    let forearm = 0.97 * radius_of(d.m("forearmcircumferenceflexed"));
    let wrist = radius_of(d.m("wristcircumference"));

    // A fist round a rod of 30 mm: back of the hand, rod and fingers.
    let fingers = 0.1 * d.m("handbreadth");
    let thickness = 2.0 * bones.palm + mm(30.0) + 2.0 * fingers;
    let fist = thickness / 2.0;
    let middle = -(thickness / 2.0 - bones.palm);
    let beside = (d.m("handbreadth") / 2.0 - 0.75 * fist).max(0.0);

    [
        Piece::new(
            BodyPart::UpperArm(side),
            upper,
            Vec3::new(0.0, deltoid, -0.12 * bones.upper_arm),
            biceps,
            down(0.70 * bones.upper_arm),
            0.94 * biceps,
        ),
        Piece::new(
            BodyPart::Elbow(side),
            upper,
            down(0.75 * bones.upper_arm),
            0.9 * biceps,
            down(bones.upper_arm),
            elbow,
        ),
        Piece::new(BodyPart::Forearm(side), fore, down(0.0), elbow, down(0.25 * bones.forearm), forearm),
        Piece::new(BodyPart::Forearm(side), fore, down(0.25 * bones.forearm), forearm, down(bones.forearm), wrist),
        Piece::new(
            BodyPart::Hand(side),
            hand,
            down(0.0),
            wrist,
            Vec3::new(0.0, 0.5 * middle, -0.7 * bones.wrist_to_grip),
            0.85 * fist,
        ),
        Piece::new(
            BodyPart::Hand(side),
            hand,
            Vec3::new(-beside, middle, -bones.wrist_to_grip),
            fist,
            Vec3::new(beside, middle, -bones.wrist_to_grip),
            fist,
        ),
    ]
}

/// The left leg.
fn leg(d: &Dimensions, bones: &Skeleton, shoes: &Footwear, side: Side) -> [Piece; 7] {
    let (thigh, shank, foot) = (Bone::Thigh(side), Bone::Shank(side), Bone::Foot(side));

    // Thigh: its top, sitting, lies thighclearance above the seat.
    let top = d.m("thighclearance") - bones.seat_to_hip;
    let upper = radius_of(d.m("thighcircumference"));
    let lower = radius_of(d.m("lowerthighcircumference"));
    let middle = 0.55 * upper + 0.45 * lower;
    let knee = bones.knee_front;
    let above = |share: f64, x: f64| Vec3::new(x, 0.0, -share * bones.thigh);

    // Shank: the calf lies behind the line from knee to ankle, the shin close before it.
    let calf = radius_of(d.m("calfcircumference"));
    let ankle = radius_of(d.m("anklecircumference"));
    let below = |share: f64, x: f64| Vec3::new(x, 0.0, -share * bones.shank);

    // Shoe: two capsules from the heel, to the inside and to the outside of the toes, so far apart that the shoe has
    // its width at the ball.
    let heel = (d.m("heelbreadth") / 2.0 + mm(4.0)).min(0.5 * bones.ankle_height);
    let toe = 0.65 * heel;
    let sole = -bones.ankle_height;
    let rear = heel - bones.heel_to_ankle;
    let ball = bones.heel_to_ball - bones.heel_to_ankle;
    let tip = bones.shoe_length - bones.heel_to_ankle;
    let toes = |length: f64, sign: f64| {
        let x = (length * tip - toe).max(ball);
        let share = (ball - rear) / (x - rear);
        let radius = heel + (toe - heel) * share;
        let y = (mm(shoes.width_mm) / 2.0 - radius).max(0.0) / share;
        Piece::new(
            BodyPart::Foot(side),
            foot,
            Vec3::new(rear, 0.0, sole + heel),
            heel,
            Vec3::new(x, sign * y, sole + toe),
            toe,
        )
    };

    [
        Piece::new(BodyPart::Thigh(side), thigh, above(0.12, top - upper), upper, above(0.5, 0.0), middle),
        Piece::new(BodyPart::Thigh(side), thigh, above(0.5, 0.0), middle, above(0.8, 0.0), lower),
        Piece::new(BodyPart::Knee(side), thigh, above(0.8, 0.0), lower, above(1.0, 0.0), knee),
        Piece::new(BodyPart::Shank(side), shank, below(0.0, 0.0), knee, below(0.3, -0.35 * calf), calf),
        Piece::new(BodyPart::Shank(side), shank, below(0.3, -0.35 * calf), calf, below(0.97, 0.0), ankle),
        toes(1.0, -1.0),
        toes(0.88, 1.0),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        body::{Body, tests::person},
        project::Population,
    };

    /// Least and greatest value of a coordinate over some shapes.
    fn extent(solids: &[BodySolid], coordinate: usize) -> (f64, f64) {
        let ends = solids.iter().flat_map(|solid| {
            let shape = solid.shape;
            [(shape.a[coordinate], shape.radius_a), (shape.b[coordinate], shape.radius_b)]
        });
        ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (at, radius)| {
            (low.min(at - radius), high.max(at + radius))
        })
    }

    #[test]
    fn outside_of_the_body_lies_where_breadths_and_depths_say() {
        for body in [person(Population::Men, 1760.0, 84.0), person(Population::Women, 1600.0, 92.0)] {
            let (d, bones) = (&body.dimensions, &body.skeleton);
            let posture = Posture::for_skin(&body, mm(15.0));
            let trunk = body.flesh.trunk(&posture);

            let pelvis: Vec<_> = trunk.iter().filter(|solid| solid.part == BodyPart::Pelvis).copied().collect();
            let pelvis_in_world = posture.sitting.pelvis;
            let seen: Vec<_> = pelvis
                .iter()
                .map(|solid| BodySolid {
                    shape: TaperedCapsule {
                        a: pelvis_in_world.inverse_transform_point(&solid.shape.a.into()).coords,
                        b: pelvis_in_world.inverse_transform_point(&solid.shape.b.into()).coords,
                        ..solid.shape
                    },
                    ..*solid
                })
                .collect();
            assert!((extent(&seen, 0).0 + bones.buttock_to_hip).abs() < 1e-9);
            assert!((extent(&seen, 2).0 + bones.seat_to_hip).abs() < 1e-9);
            let (right, left) = extent(&seen, 1);
            assert!((left - right - d.m("hipbreadthsitting")).abs() < 1e-9);

            // Both arms hang at the deltoids' breadth; the top of the thigh is thighclearance over the seat.
            let leg = body.flesh.leg(&posture.legs[0], Side::Left);
            let top = leg[0].shape.radius_a + body.flesh.legs[0][0].shape.a.x;
            assert!((top + bones.seat_to_hip - d.m("thighclearance")).abs() < 1e-9);
            let shoulder = body.flesh.arms[0][0].shape;
            let deltoid = bones.shoulder_half_breadth + shoulder.a.y + shoulder.radius_a;
            assert!((2.0 * deltoid - d.m("bideltoidbreadth")).abs() < 1e-9);
        }
    }

    #[test]
    fn shoe_stands_on_its_sole_with_its_length_and_width() {
        let body = person(Population::Men, 1800.0, 80.0);
        let bones = &body.skeleton;
        let shoe: Vec<BodySolid> =
            body.flesh.legs[0][5..].iter().map(|piece| piece.placed(&Pose::identity())).collect();
        let (rear, tip) = extent(&shoe, 0);
        assert!((tip - rear - bones.shoe_length).abs() < 1e-9 && (rear + bones.heel_to_ankle).abs() < 1e-9);
        assert!((extent(&shoe, 2).0 + bones.ankle_height).abs() < 1e-9);
        // Width at the ball: each capsule's axis and radius there, by similar triangles.
        let ball = bones.heel_to_ball - bones.heel_to_ankle;
        let side = |solid: &BodySolid| {
            let s = solid.shape;
            let share = (ball - s.a.x) / (s.b.x - s.a.x);
            (s.a.y + (s.b.y - s.a.y) * share).abs() + s.radius_a + (s.radius_b - s.radius_a) * share
        };
        assert!((side(&shoe[0]) + side(&shoe[1]) - mm(104.0)).abs() < 1e-9);
    }

    #[test]
    fn a_heavy_body_is_thicker_than_a_light_one_of_the_same_stature() {
        let (light, heavy) = (person(Population::Men, 1760.0, 62.0), person(Population::Men, 1760.0, 120.0));
        let thigh = |body: &Body| body.flesh.legs[0][0].shape.radius_a;
        assert!(thigh(&heavy) > thigh(&light) + mm(15.0));
        let belly = |body: &Body| body.flesh.trunk[1].shape.radius_a;
        assert!(belly(&heavy) > belly(&light) + mm(30.0));
    }
}
