//! The flesh on the bones as tapered capsules, laid into the contours of the skin.
//!
//! Bone frames as in [`crate::posture`].

use std::f64::consts::TAU;

use super::{
    Dimensions, Segments, Skeleton,
    skin::{
        contour::{Contours, Section, brow},
        form::Loft,
    },
};
use crate::{
    geometry::{Pose, Side, TaperedCapsule, Vec3, mirrored},
    posture::{Arm, Bone, Leg, Sitting},
    project::Population,
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

impl BodyPart {
    /// How far it gives way before another part of the same body, m: common practice, no published source.
    pub const fn gives(self) -> f64 {
        match self {
            Self::Abdomen => mm(35.0),
            Self::Chest | Self::Thigh(_) => mm(15.0),
            _ => mm(6.0),
        }
    }
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
    const fn new(part: BodyPart, bone: Bone, shape: TaperedCapsule) -> Self {
        Self { part, bone, shape }
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
/// They are laid into the contours through which the skin is drawn, so that both have one outside.
#[derive(Clone, Debug)]
pub struct Flesh {
    trunk: Vec<Piece>,
    arms: [Vec<Piece>; 2],
    legs: [Vec<Piece>; 2],
}

impl Flesh {
    /// The flesh of a sized person.
    pub fn of(dimensions: &Dimensions, skeleton: &Skeleton) -> Self {
        let contours = Contours::of(dimensions, skeleton);
        let mirrored = |pieces: [Vec<Piece>; 2]| {
            let mut sides = Side::BOTH.into_iter();
            pieces.map(|pieces| {
                let side = sides.next().unwrap_or(Side::Left);
                pieces.into_iter().map(|piece| piece.on(side)).collect()
            })
        };
        Self {
            trunk: trunk(dimensions, skeleton, &contours),
            arms: mirrored(Side::BOTH.map(|side| arm(dimensions, skeleton, &contours, side))),
            legs: mirrored(Side::BOTH.map(|side| leg(dimensions, skeleton, &contours, side))),
        }
    }

    /// The shapes of trunk and head in a posture, W.
    pub fn trunk(&self, sitting: &Sitting) -> Vec<BodySolid> {
        let placed = self.trunk.iter().map(|piece| {
            piece.placed(match piece.bone {
                Bone::Pelvis => &sitting.pelvis,
                Bone::Neck => &sitting.neck,
                Bone::Head => &sitting.head,
                _ => &sitting.thorax,
            })
        });
        placed.collect()
    }

    /// The shapes of one arm, W, upper arm first.
    pub fn arm(&self, arm: &Arm, side: Side) -> Vec<BodySolid> {
        let placed = self.arms[side.index()].iter().map(|piece| {
            piece.placed(match piece.bone {
                Bone::UpperArm(_) => &arm.upper_arm,
                Bone::Forearm(_) => &arm.forearm,
                _ => &arm.hand,
            })
        });
        placed.collect()
    }

    /// The shapes of one leg, W, thigh first.
    pub fn leg(&self, leg: &Leg, side: Side) -> Vec<BodySolid> {
        let placed = self.legs[side.index()].iter().map(|piece| {
            piece.placed(match piece.bone {
                Bone::Thigh(_) => &leg.thigh,
                Bone::Shank(_) => &leg.shank,
                _ => &leg.foot,
            })
        });
        placed.collect()
    }
}

const fn cone(a: Vec3, radius_a: f64, b: Vec3, radius_b: f64) -> TaperedCapsule {
    TaperedCapsule { a, b, radius_a, radius_b }
}

/// Capsules from side to side in a section, no thicker than `most`: one where that is enough, else one along its front,
/// one along its rear, which stop where the section's corners are rounded off, and one between them.
fn across(section: &Section, most: f64) -> impl Iterator<Item = TaperedCapsule> {
    let ([x, y], [a, b]) = (section.middle(), section.half());
    let radius = a.min(b).min(most);
    // The corner of the section lies at this share of both half extents; the balls of front and rear touch it.
    let corner = (2.0 - 0.5 * section.square).sqrt().recip();
    let aside = (radius * radius - (radius - (1.0 - corner) * a).powi(2)).max(0.0).sqrt();
    let shorter = (corner * b + radius - aside).clamp(radius, b);
    let z = section.z;
    let row = move |ahead: f64, half: f64| {
        let end = |sign: f64| Vec3::new(x + ahead, y + sign * (half - radius), z);
        cone(end(1.0), radius, end(-1.0), radius)
    };
    let apart = a - radius;
    let rows = if apart > mm(2.0) {
        [Some((0.0, b)), Some((apart, shorter)), Some((-apart, shorter))]
    } else {
        [Some((0.0, b)), None, None]
    };
    rows.into_iter().flatten().map(move |(ahead, half)| row(ahead, half))
}

/// A cone from section to section, as thick as they are in the mean.
fn between(from: &Section, to: &Section) -> TaperedCapsule {
    let end = |section: &Section| {
        let ([x, y], [a, b]) = (section.middle(), section.half());
        (Vec3::new(x, y, section.z), 0.5 * (a + b))
    };
    let ((a, radius_a), (b, radius_b)) = (end(from), end(to));
    cone(a, radius_a, b, radius_b)
}

/// Two cones side by side from section to section, each as thick as the sections along x, reaching their breadth.
fn beside(from: &Section, to: &Section) -> [TaperedCapsule; 2] {
    [1.0, -1.0].map(|sign| {
        let end = |section: &Section| {
            let ([x, y], [a, b]) = (section.middle(), section.half());
            let radius = a.min(b);
            (Vec3::new(x, y + sign * (b - radius), section.z), radius)
        };
        let ((a, radius_a), (b, radius_b)) = (end(from), end(to));
        cone(a, radius_a, b, radius_b)
    })
}

/// Heights of the trunk's capsules as shares of the way from hips to shoulders, their parts, and how thick they may be as
/// shares of half the depth: thinner ones follow the slope of the upper chest.
const LEVELS: [(f64, BodyPart, f64); 15] = [
    (-0.06, BodyPart::Pelvis, 0.5),
    (0.05, BodyPart::Pelvis, 0.4),
    (0.13, BodyPart::Pelvis, 0.5),
    (0.21, BodyPart::Pelvis, 0.5),
    (0.29, BodyPart::Abdomen, 0.6),
    (0.36, BodyPart::Abdomen, 0.8),
    (0.43, BodyPart::Abdomen, 0.8),
    (0.50, BodyPart::Abdomen, 0.7),
    (0.57, BodyPart::Chest, 0.7),
    (0.64, BodyPart::Chest, 0.7),
    (0.71, BodyPart::Chest, 0.6),
    (0.78, BodyPart::Chest, 0.6),
    (0.85, BodyPart::Chest, 0.5),
    (0.92, BodyPart::Chest, 0.5),
    (1.00, BodyPart::Chest, 0.5),
];

fn trunk(d: &Dimensions, bones: &Skeleton, contours: &Contours) -> Vec<Piece> {
    let thorax = Vec3::new(0.0, 0.0, bones.hip_to_lumbar + bones.lumbar);
    // Ribs and belly move with the thorax.
    let of_trunk = |part: BodyPart, shape: TaperedCapsule| match part {
        BodyPart::Pelvis => Piece::new(part, Bone::Pelvis, shape),
        _ => Piece::new(part, Bone::Thorax, cone(shape.a - thorax, shape.radius_a, shape.b - thorax, shape.radius_b)),
    };
    let both = |part: BodyPart, shape: TaperedCapsule| {
        let other = cone(mirrored(shape.a), shape.radius_a, mirrored(shape.b), shape.radius_b);
        [of_trunk(part, shape), of_trunk(part, other)]
    };
    let loft = Loft::through(&contours.trunk, [0.0; 2]);
    let mut pieces = Vec::new();
    for (share, part, thick) in LEVELS {
        let section = loft.section(share * bones.hip_to_shoulder);
        // Not out through the bottom.
        let most = (thick * section.half()[0]).min(section.z + 0.95 * bones.seat_to_hip).max(mm(8.0));
        pieces.extend(across(&section, most).map(|shape| of_trunk(part, shape)));
    }

    // Buttocks: from the rear and the bottom of the seated body up.
    let hip_half = d.m("hipbreadthsitting") / 2.0;
    let [middle, half] = contours.buttock;
    let radius = half.x;
    let low = Vec3::new(radius - bones.buttock_to_hip, 0.92 * hip_half - radius, radius - bones.seat_to_hip);
    let high = Vec3::new(low.x, low.y, (middle.z + 0.95 * half.z - radius).max(low.z));
    for end in [low, high] {
        pieces.push(of_trunk(BodyPart::Pelvis, cone(end, radius, mirrored(end), radius)));
    }
    if d.population() == Population::Women {
        let [middle, half] = contours.breast;
        let radius = 0.5 * (half.y + half.z);
        let middle = Vec3::new(middle.x + half.x - radius, middle.y, middle.z);
        pieces.extend(both(BodyPart::Chest, cone(middle, radius, middle, radius)));
    }
    for shape in contours.shoulder {
        pieces.extend(both(BodyPart::Chest, shape));
    }
    // Under the notch of the breastbone, between the collar bones.
    let [_, collar, ..] = contours.shoulder;
    pieces.push(of_trunk(
        BodyPart::Chest,
        cone(collar.a, 0.9 * collar.radius_a, mirrored(collar.a), 0.9 * collar.radius_a),
    ));
    pieces.push(Piece::new(BodyPart::Neck, Bone::Neck, contours.neck));

    // Head: the eyes lie about 20 mm behind the brow; the chin hangs below the root of the nose, level with the eyes.
    let skull = d.m("headbreadth") / 2.0;
    let brow = brow(d, bones);
    let long = d.m("headlength");
    let nape = brow - long;
    let crown = bones.head_up - skull;
    let jaw = 0.4 * skull;
    let chin = bones.eye_up - d.m("mentonsellionlength") + jaw;
    let ahead = |x: f64, z: f64| Vec3::new(x, 0.0, z);
    let head = |shape: TaperedCapsule| Piece::new(BodyPart::Head, Bone::Head, shape);
    let front = brow - 0.06 * long - jaw;
    pieces.extend([
        head(cone(ahead(nape + skull, crown), skull, ahead(brow - skull, crown), skull)),
        head(cone(ahead(brow - 0.95 * skull, bones.eye_up), 0.9 * skull, ahead(front, chin), jaw)),
        head(cone(ahead(front, chin), jaw, ahead(brow - 0.5 * long, chin + 0.8 * jaw), 0.6 * skull)),
        head(cone(ahead(brow - 0.085 * long, bones.eye_up), 0.04 * long, contours.nose, 0.056 * long)),
    ]);
    pieces
}

/// The left arm.
fn arm(d: &Dimensions, bones: &Skeleton, contours: &Contours, side: Side) -> Vec<Piece> {
    let (upper, fore, hand) = (Bone::UpperArm(side), Bone::Forearm(side), Bone::Hand(side));
    let down = |length: f64| Vec3::new(0.0, 0.0, -length);
    let upper_arm = Loft::through(&contours.upper_arm, [0.0; 2]);
    let forearm = Loft::through(&contours.forearm, [0.0; 2]);
    let on_upper = |share: f64| upper_arm.section(-share * bones.upper_arm);
    let on_fore = |share: f64| forearm.section(-share * bones.forearm);

    let [thick, biceps] = on_upper(0.4).half();
    let biceps = 0.5 * (thick + biceps);
    let deltoid = (contours.deltoid - biceps).clamp(0.0, biceps);
    let over_joint = Segments::of(d.population()).get("shoulder_below_acromion") * d.m("acromionradialelength");
    // Underside of the elbow below its joint: shoulderelbowlength less what lies above the joint.
    let elbow = (d.m("shoulderelbowlength") - bones.upper_arm - over_joint).clamp(0.6 * biceps, 0.95 * biceps);
    let wrist = on_fore(1.0).half();
    let wrist = 0.5 * (wrist[0] + wrist[1]);

    // A fist round a rod of 30 mm: back of the hand, rod and fingers.
    let fingers = 0.1 * d.m("handbreadth");
    let thickness = 2.0 * bones.palm + mm(30.0) + 2.0 * fingers;
    let fist = thickness / 2.0;
    let middle = -(thickness / 2.0 - bones.palm);
    let reach = (d.m("handbreadth") / 2.0 - 0.75 * fist).max(0.0);

    let shoulder = Vec3::new(0.0, deltoid, -0.12 * bones.upper_arm);
    let arm = on_upper(0.70);
    let end = between(&arm, &arm);
    let thickest = between(&on_fore(0.22), &on_fore(0.22));
    vec![
        Piece::new(BodyPart::UpperArm(side), upper, cone(shoulder, biceps, end.a, end.radius_a)),
        Piece::new(BodyPart::Elbow(side), upper, cone(end.a, end.radius_a, down(bones.upper_arm), elbow)),
        Piece::new(BodyPart::Forearm(side), fore, cone(down(0.0), elbow, thickest.a, thickest.radius_a)),
        Piece::new(BodyPart::Forearm(side), fore, between(&on_fore(0.22), &on_fore(0.60))),
        Piece::new(BodyPart::Forearm(side), fore, between(&on_fore(0.60), &on_fore(1.0))),
        Piece::new(
            BodyPart::Hand(side),
            hand,
            cone(down(0.0), wrist, Vec3::new(0.0, 0.5 * middle, -0.7 * bones.wrist_to_grip), 0.85 * fist),
        ),
        Piece::new(
            BodyPart::Hand(side),
            hand,
            cone(
                Vec3::new(-reach, middle, -bones.wrist_to_grip),
                fist,
                Vec3::new(reach, middle, -bones.wrist_to_grip),
                fist,
            ),
        ),
    ]
}

/// The left leg.
fn leg(d: &Dimensions, bones: &Skeleton, contours: &Contours, side: Side) -> Vec<Piece> {
    let (thigh, shank, foot) = (Bone::Thigh(side), Bone::Shank(side), Bone::Foot(side));
    let on = |loft: &Loft, length: f64, share: f64| loft.section(-share * length);
    let (upper, lower) = (Loft::through(&contours.thigh, [0.0; 2]), Loft::through(&contours.shank, [0.0; 2]));
    let on_thigh = |share: f64| on(&upper, bones.thigh, share);
    let on_shank = |share: f64| on(&lower, bones.shank, share);

    let mut pieces: Vec<Piece> = [(0.06, 0.28), (0.28, 0.55)]
        .into_iter()
        .flat_map(|(from, to)| beside(&on_thigh(from), &on_thigh(to)))
        .chain([between(&on_thigh(0.55), &on_thigh(0.80))])
        .map(|shape| Piece::new(BodyPart::Thigh(side), thigh, shape))
        .collect();
    let knee = bones.knee_front;
    let above = on_thigh(0.80);
    let above = between(&above, &above);
    let joint = Vec3::new(0.0, 0.0, -bones.thigh);
    pieces.push(Piece::new(BodyPart::Knee(side), thigh, cone(above.a, above.radius_a, joint, knee)));
    let calf = on_shank(0.30);
    let calf = between(&calf, &calf);
    pieces.extend(
        [
            cone(Vec3::zeros(), knee, calf.a, calf.radius_a),
            between(&on_shank(0.30), &on_shank(0.62)),
            between(&on_shank(0.62), &on_shank(0.97)),
        ]
        .map(|shape| Piece::new(BodyPart::Shank(side), shank, shape)),
    );
    pieces.extend(shoe(d, bones, contours).into_iter().map(|shape| Piece::new(BodyPart::Foot(side), foot, shape)));
    pieces
}

/// The left shoe in the frame of the foot: heel and collar, then both edges from heel to toes.
fn shoe(d: &Dimensions, bones: &Skeleton, contours: &Contours) -> Vec<TaperedCapsule> {
    let [_, heel, _, instep, _, ball, _, toes] = contours.shoe;
    let radius = heel.half()[1];
    let behind = Vec3::new(radius - bones.heel_to_ankle, 0.0, radius - bones.ankle_height);
    let ankle = d.m("anklecircumference") / TAU + mm(5.0);
    // From the frame of the sections: x up, z backwards.
    let turned = |shape: TaperedCapsule| {
        let turn = |p: Vec3| Vec3::new(-p.z, p.y, p.x);
        cone(turn(shape.a), shape.radius_a, turn(shape.b), shape.radius_b)
    };
    let mut shapes = vec![cone(behind, radius, Vec3::new(mm(-3.0), 0.0, mm(6.0) - 0.5 * ankle), ankle)];
    for (from, to) in [(heel, instep), (instep, ball), (ball, toes)] {
        shapes.extend(beside(&from, &to).map(turned));
    }
    shapes
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
            let posture = crate::posture::Posture::for_skin(&body, mm(15.0));
            let trunk = body.flesh.trunk(&posture.sitting);

            let pelvis = posture.sitting.pelvis;
            let seen: Vec<_> = trunk
                .iter()
                .filter(|solid| solid.part == BodyPart::Pelvis)
                .map(|solid| BodySolid {
                    shape: TaperedCapsule {
                        a: pelvis.inverse_transform_point(&solid.shape.a.into()).coords,
                        b: pelvis.inverse_transform_point(&solid.shape.b.into()).coords,
                        ..solid.shape
                    },
                    ..*solid
                })
                .collect();
            assert!((extent(&seen, 0).0 + bones.buttock_to_hip).abs() < mm(1.0));
            assert!((extent(&seen, 2).0 + bones.seat_to_hip).abs() < mm(1.0));
            // Where it is thickest the thigh reaches the breadth of the seated hips.
            let outside = |piece: &Piece| piece.shape.b.y + piece.shape.radius_b;
            let thigh = body.flesh.legs[0].iter().filter(|piece| matches!(piece.part, BodyPart::Thigh(_)));
            let outside = bones.hip_half_breadth + thigh.map(outside).fold(0.0, f64::max);
            assert!((2.0 * outside - d.m("hipbreadthsitting")).abs() < mm(6.0), "{outside}");
        }
    }

    #[test]
    fn shoe_stands_on_its_sole_with_its_length_and_width() {
        let body = person(Population::Men, 1800.0, 80.0);
        let bones = &body.skeleton;
        let shoe: Vec<BodySolid> = body.flesh.legs[0]
            .iter()
            .filter(|piece| matches!(piece.part, BodyPart::Foot(_)))
            .map(|piece| piece.placed(&Pose::identity()))
            .collect();
        let (rear, tip) = extent(&shoe, 0);
        assert!((tip - rear - bones.shoe_length).abs() < mm(6.0) && (rear + bones.heel_to_ankle).abs() < 1e-9);
        assert!((extent(&shoe, 2).0 + bones.ankle_height).abs() < 1e-9);
        let (right, left) = extent(&shoe, 1);
        assert!((left - right - mm(104.0)).abs() < mm(4.0));
    }

    #[test]
    fn a_heavy_body_is_thicker_than_a_light_one_of_the_same_stature() {
        let (light, heavy) = (person(Population::Men, 1760.0, 62.0), person(Population::Men, 1760.0, 120.0));
        let thigh = |body: &Body| body.flesh.legs[0][0].shape.radius_a;
        assert!(thigh(&heavy) > thigh(&light) + mm(15.0));
        let belly = |body: &Body| {
            let piece = body.flesh.trunk.iter().find(|piece| piece.part == BodyPart::Abdomen);
            piece.expect("there is a belly").shape.radius_a
        };
        assert!(belly(&heavy) > belly(&light) + mm(30.0));
    }
}
