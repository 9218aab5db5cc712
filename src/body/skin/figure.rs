//! The figure that the skin is drawn over: shapes in the frames of the bones, sized from the body's dimensions.
//!
//! Trunk and limbs follow their [`Contours`]; muscles, joints, head, hands and shoes are added here, drawn by eye in shares
//! of the dimensions.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::{
    contour::{Contours, SLACK_BICEPS, Section, back, brow, mix},
    form::{Cut, Loft, Shape, Solid, Tool, Zone},
};
use crate::{
    body::{Body, Dimensions, Skeleton},
    geometry::{Pose, Rot, Side, Vec3, from_axes, unit_or},
    posture::{Bone, Posture},
    project::Population,
    units::{deg, mm},
};

/// A closed surface of the figure before it is meshed.
pub struct Piece {
    pub shapes: Vec<Shape>,
    pub cuts: Vec<Cut>,
}

/// What a figure is drawn from.
pub struct Figure<'a> {
    body: &'a Body,
    contours: Contours,
    bones: [Pose; Bone::COUNT],
    /// Tilt of the rod in each hand, rad.
    tilts: [f64; 2],
    /// Radius of that rod.
    tube: f64,
}

/// Draws shapes in the frame of a bone; for the right side mirrored, so that both sides are drawn as the left.
struct Pencil<'a> {
    pose: Pose,
    sign: f64,
    zone: Zone,
    shapes: &'a mut Vec<Shape>,
}

impl Pencil<'_> {
    fn point(&self, p: Vec3) -> Vec3 {
        Vec3::new(p.x, p.y * self.sign, p.z)
    }

    fn put(&mut self, local: Pose, solid: Solid, blend: f64) {
        self.shapes.push(Shape::new(self.pose * local, solid, blend, self.zone));
    }

    /// Hull of two balls, flattened by `flat` along `across` (a direction) and square to it.
    fn flat_cone(&mut self, a: (Vec3, f64), b: (Vec3, f64), across: Vec3, flat: [f64; 2], blend: f64) {
        let (from, to) = (self.point(a.0), self.point(b.0));
        let z = unit_or(to - from, Vec3::z());
        let across = self.point(across);
        let x = unit_or(across - z * z.dot(&across), unit_or(z.cross(&Vec3::new(0.31, 0.87, 0.38)), Vec3::x()));
        let local = Pose::from_parts(from.into(), from_axes(x, z.cross(&x), z));
        self.put(local, Solid::Cone { length: (to - from).norm(), radii: [a.1, b.1], flat }, blend);
    }

    fn cone(&mut self, a: (Vec3, f64), b: (Vec3, f64), blend: f64) {
        self.flat_cone(a, b, Vec3::x(), [1.0; 2], blend);
    }

    /// An ellipsoid turned about y, then x, then z.
    fn ball(&mut self, centre: Vec3, half: Vec3, turned: [f64; 3], blend: f64) {
        let [x, y, z] = turned;
        let about = |axis: Vec3, angle: f64| Rot::new(axis * angle);
        let rotation = about(Vec3::z(), z * self.sign) * about(Vec3::x(), x * self.sign) * about(Vec3::y(), y);
        self.put(Pose::from_parts(self.point(centre).into(), rotation), Solid::Ball(half), blend);
    }

    fn loft(&mut self, sections: &[Section], caps: [f64; 2], blend: f64) {
        let mirrored: Vec<Section> = sections
            .iter()
            .map(|section| {
                let [right, left] = section.y;
                Section { y: if self.sign < 0.0 { [-left, -right] } else { [right, left] }, ..*section }
            })
            .collect();
        self.put(Pose::identity(), Solid::Loft(Loft::through(&mirrored, caps)), blend);
    }
}

fn v(x: f64, y: f64, z: f64) -> Vec3 {
    Vec3::new(x, y, z)
}

/// A section about the axis.
fn centred(z: f64, half: [f64; 2], square: f64) -> Section {
    Section { z, x: [-half[0], half[0]], y: [-half[1], half[1]], square }
}

/// Half axes of an ellipse of some girth whose first is `ratio` times the second (root mean square rule).
fn ellipse(girth: f64, ratio: f64) -> [f64; 2] {
    let second = girth / TAU * (2.0 / (1.0 + ratio * ratio)).sqrt();
    [ratio * second, second]
}

impl<'a> Figure<'a> {
    pub fn of(body: &'a Body, posture: &Posture, tube: f64) -> Self {
        let contours = Contours::of(&body.dimensions, &body.skeleton);
        Self { body, contours, bones: posture.bones(), tilts: posture.arms.map(|arm| arm.tilt), tube }
    }

    fn dimensions(&self) -> &Dimensions {
        &self.body.dimensions
    }

    fn skeleton(&self) -> &Skeleton {
        &self.body.skeleton
    }

    fn pencil<'s>(&self, bone: Bone, side: Side, zone: Zone, shapes: &'s mut Vec<Shape>) -> Pencil<'s> {
        Pencil { pose: self.bones[bone.index()], sign: side.sign(), zone, shapes }
    }

    /// Head, trunk, arms down to the wrists and legs down to the ankles.
    pub fn body(&self) -> Piece {
        let mut shapes = Vec::new();
        self.trunk(&mut shapes);
        for side in Side::BOTH {
            self.shoulder(side, &mut shapes);
            self.arm(side, &mut shapes);
            self.leg(side, &mut shapes);
        }
        let cuts = self.head(&mut shapes);
        Piece { shapes, cuts }
    }

    /// Pelvis, belly, chest and the collar round the neck, in the pelvis frame: x forward, z along the torso line.
    fn trunk(&self, shapes: &mut Vec<Shape>) {
        let (dims, bones) = (self.dimensions(), self.skeleton());
        let d = |name: &str| dims.m(name);
        let women = dims.population() == Population::Women;
        let shoulder = bones.hip_to_shoulder;
        let behind = |z: f64| back(bones, z);
        let chest = d("chestbreadth") / 2.0;
        let bust = d("chestdepth");
        let at = |share: f64| share * shoulder;
        let mut pencil = self.pencil(Bone::Pelvis, Side::Left, Zone::Trunk, shapes);
        pencil.loft(&self.contours.trunk, [0.22 * bones.seat_to_hip, mm(30.0)], mm(40.0));

        for side in Side::BOTH {
            let mut pencil = self.pencil(Bone::Pelvis, side, Zone::Trunk, shapes);
            let [middle, half] = self.contours.buttock;
            pencil.ball(middle, half, [0.0; 3], mm(45.0));
            let [middle, half] = self.contours.breast;
            let turned = if women { [0.0, 16.0, 8.0] } else { [-10.0, -14.0, 16.0] };
            pencil.ball(middle, half, turned.map(deg), mm(45.0));
            // Shoulder blade.
            pencil.ball(
                v(behind(at(0.80)) + 0.20 * bust + mm(5.0), 0.52 * chest, at(0.80)),
                v(0.20 * bust, 0.50 * chest, 0.20 * shoulder),
                [deg(-8.0), deg(-6.0), deg(-10.0)],
                mm(40.0),
            );
        }
    }

    /// The slope from the neck to the tip of the shoulder.
    fn shoulder(&self, side: Side, shapes: &mut Vec<Shape>) {
        let mut pencil = self.pencil(Bone::Pelvis, side, Zone::Trunk, shapes);
        let flat = [[1.15, 1.0], [1.0; 2], [1.0; 2], [1.0; 2]];
        let blend = [44.0, 34.0, 45.0, 40.0];
        for (cone, (flat, blend)) in self.contours.shoulder.iter().zip(flat.into_iter().zip(blend)) {
            pencil.flat_cone((cone.a, cone.radius_a), (cone.b, cone.radius_b), Vec3::x(), flat, mm(blend));
        }
    }

    fn arm(&self, side: Side, shapes: &mut Vec<Shape>) {
        let (dims, bones) = (self.dimensions(), self.skeleton());
        let d = |name: &str| dims.m(name);
        let zone = Zone::From(Bone::UpperArm(side));

        let length = bones.upper_arm;
        let biceps = ellipse(SLACK_BICEPS * d("bicepscircumferenceflexed"), 1.10);
        let elbow = ellipse(0.80 * d("bicepscircumferenceflexed"), 1.02);
        let mut pencil = self.pencil(Bone::UpperArm(side), side, zone, shapes);
        // Deltoid: out to the breadth across the shoulders.
        let out = self.contours.deltoid;
        let cap = 0.52 * out + mm(10.0);
        pencil.ball(
            v(mm(2.0), out - cap, -0.18 * length),
            v(1.06 * cap, cap, 0.22 * length),
            [deg(7.0), 0.0, 0.0],
            mm(45.0),
        );
        pencil.loft(&self.contours.upper_arm, [0.75 * elbow[0], 0.25 * biceps[0]], mm(26.0));

        let length = bones.forearm;
        let mut pencil = self.pencil(Bone::Forearm(side), side, zone, shapes);
        pencil.loft(&self.contours.forearm, [mm(8.0), 0.55 * biceps[0]], mm(26.0));
        // Point of the elbow.
        let mut pencil = self.pencil(Bone::Forearm(side), side, zone, shapes);
        pencil.cone(
            (v(-0.42 * elbow[0], 0.0, 0.26 * elbow[0]), 0.40 * elbow[0]),
            (v(-0.40 * elbow[0], 0.0, -0.25 * length), 0.40 * elbow[0]),
            mm(24.0),
        );
    }

    fn leg(&self, side: Side, shapes: &mut Vec<Shape>) {
        let (dims, bones) = (self.dimensions(), self.skeleton());
        let d = |name: &str| dims.m(name);
        let zone = Zone::From(Bone::Thigh(side));

        let knee = bones.knee_front;
        let full = d("thighcircumference") / TAU;
        let mut pencil = self.pencil(Bone::Thigh(side), side, zone, shapes);
        pencil.loft(&self.contours.thigh, [0.80 * knee, 0.5 * full], mm(34.0));
        let mut pencil = self.pencil(Bone::Shank(side), side, zone, shapes);
        pencil.loft(&self.contours.shank, [mm(10.0), 0.70 * knee], mm(30.0));
        // Kneecap: half way between the fronts of thigh and shank.
        let thigh = self.bones[Bone::Thigh(side).index()].rotation * Vec3::x();
        let shank = self.bones[Bone::Shank(side).index()].rotation * Vec3::x();
        let joint = self.bones[Bone::Shank(side).index()].translation.vector;
        let front = unit_or(thigh + shank, Vec3::x());
        let cap = v(0.46 * knee, 0.60 * knee, 0.85 * knee);
        let x = front;
        let y = self.bones[Bone::Shank(side).index()].rotation * Vec3::y();
        let pose = Pose::from_parts((joint + front * (knee - 1.12 * cap.x)).into(), from_axes(x, y, x.cross(&y)));
        shapes.push(Shape::new(pose, Solid::Ball(cap), mm(45.0), zone));
    }

    /// Neck and head. Returns what is hollowed out for the eyes.
    fn head(&self, shapes: &mut Vec<Shape>) -> Vec<Cut> {
        let (dims, bones) = (self.dimensions(), self.skeleton());
        let d = |name: &str| dims.m(name);
        let mut pencil = self.pencil(Bone::Neck, Side::Left, Zone::Trunk, shapes);
        let neck = self.contours.neck;
        pencil.flat_cone((neck.a, neck.radius_a), (neck.b, neck.radius_b), Vec3::x(), [1.03, 0.97], mm(20.0));

        let wide = d("headbreadth") / 2.0;
        let cheek = d("bizygomaticbreadth") / 2.0;
        let long = d("headlength");
        let brow = brow(dims, bones);
        let eye = bones.eye_up;
        let face = d("mentonsellionlength");
        let zone = Zone::From(Bone::Head);
        let mut pencil = self.pencil(Bone::Head, Side::Left, zone, shapes);
        // The vault of the skull is the rounded end above the last section.
        let vault = self.contours.head[4].z;
        pencil.loft(&self.contours.head, [0.16 * face, bones.head_up - vault], mm(28.0));
        // Nose: bridge and tip.
        let tip = self.contours.nose;
        pencil.flat_cone(
            (v(brow - 0.085 * long, 0.0, eye + 0.10 * face), 0.040 * long),
            (tip, 0.056 * long),
            Vec3::y(),
            [0.95, 1.0],
            mm(20.0),
        );
        for side in Side::BOTH {
            let mut pencil = self.pencil(Bone::Head, side, zone, shapes);
            // Ear.
            pencil.ball(
                v(brow - 0.535 * long, 0.95 * wide, eye - 0.08 * face),
                v(0.075 * long, 0.034 * long, 0.150 * long),
                [deg(-9.0), deg(-12.0), deg(20.0)],
                mm(13.0),
            );
        }
        Side::BOTH
            .map(|side| {
                let local = Vec3::new(brow + 0.045 * long, side.sign() * 0.46 * cheek, eye - 0.03 * face);
                Cut {
                    pose: self.bones[Bone::Head.index()] * Pose::from_parts(local.into(), Rot::identity()),
                    tool: Tool::Ball(v(0.12 * long, 0.26 * cheek, 0.15 * face)),
                    round: mm(20.0),
                }
            })
            .to_vec()
    }

    /// What is worn on the head: a shell over the skull, open before the face, and what stands before the eyes.
    pub fn headgear(&self) -> Vec<Piece> {
        let Some([over, ahead]) = self.body.worn.headgear else { return Vec::new() };
        let (dims, bones) = (self.dimensions(), self.skeleton());
        let (long, wide) = (dims.m("headlength"), dims.m("headbreadth") / 2.0);
        let face = dims.m("mentonsellionlength");
        let (brow, eye) = (brow(dims, bones), bones.eye_up);
        let zone = Zone::From(Bone::Head);
        let mut pieces = Vec::new();
        if over > 0.0 {
            let mut shapes = Vec::new();
            let grown = self.contours.head.map(|section| Section {
                x: [section.x[0] - over, section.x[1] + over],
                y: [section.y[0] - over, section.y[1] + over],
                ..section
            });
            let mut pencil = self.pencil(Bone::Head, Side::Left, zone, &mut shapes);
            pencil.loft(&grown, [mm(12.0), bones.head_up - grown[4].z + over], mm(10.0));
            let head = |at: Vec3, turn: f64| {
                self.bones[Bone::Head.index()] * Pose::from_parts(at.into(), Rot::new(Vec3::y() * turn))
            };
            let cuts = vec![
                // Below a line that falls from the brow to the nape.
                Cut {
                    pose: head(v(brow - 0.35 * long, 0.0, eye - 0.50 * face), PI + deg(12.0)),
                    tool: Tool::Above,
                    round: mm(6.0),
                },
                Cut {
                    pose: head(v(brow + 0.28 * long, 0.0, eye - 0.36 * face), 0.0),
                    tool: Tool::Ball(v(0.60 * long, 1.04 * wide, 0.62 * face)),
                    round: mm(6.0),
                },
            ];
            pieces.push(Piece { shapes, cuts });
        }
        if ahead > 0.0 {
            let mut shapes = Vec::new();
            let mut pencil = self.pencil(Bone::Head, Side::Left, zone, &mut shapes);
            let front = bones.eye_forward + ahead;
            let back = brow - 0.20 * long;
            let half = v((front - back) / 2.0, 0.84 * wide, 0.36 * face);
            pencil.ball(v(f64::midpoint(front, back), 0.0, eye), half, [0.0; 3], mm(14.0));
            pieces.push(Piece { shapes, cuts: Vec::new() });
        }
        pieces
    }

    /// A hand closed round the rod, with the wrist that it shares with the sleeve.
    pub fn hand(&self, side: Side) -> Piece {
        let (dims, bones) = (self.dimensions(), self.skeleton());
        let d = |name: &str| dims.m(name);
        let mut shapes = Vec::new();
        let zone = Zone::From(Bone::UpperArm(side));
        let (hand, breadth) = (d("handlength"), d("handbreadth"));
        let wrist = ellipse(d("wristcircumference"), 1.28);

        let mut pencil = self.pencil(Bone::Forearm(side), side, zone, &mut shapes);
        let length = bones.forearm;
        let cuff = |share: f64, wider: f64| {
            centred(-share * length, [wider * wrist[0] + mm(3.5), wider * wrist[1] + mm(3.5)], 0.0)
        };
        pencil.loft(&[cuff(0.83, 1.16), cuff(0.90, 1.11), cuff(1.0, 1.0)], [mm(14.0), mm(3.5)], mm(16.0));

        let mut pencil = self.pencil(Bone::Hand(side), side, zone, &mut shapes);
        // The rod and the plane square to it, in the frame of a left hand: `toward` away from the palm, `along` from
        // the wrist to the fingertips.
        let tilt = self.tilts[side.index()];
        let rod = v(tilt.cos(), 0.0, -tilt.sin());
        let (toward, along) = (-Vec3::y(), v(-tilt.sin(), 0.0, -tilt.cos()));
        let centre = v(0.0, -(bones.palm + self.tube), -bones.wrist_to_grip);

        // Wrist to knuckles: four metacarpals under one skin; then each finger round the rod.
        let finger = 0.112 * breadth;
        let reach = [0.445, 0.450, 0.425, 0.390].map(|share| share * hand);
        let across = [0.355, 0.125, -0.105, -0.325].map(|share| share * breadth);
        let lengths = [0.93, 1.0, 0.95, 0.78];
        let thick = [1.0, 1.03, 0.98, 0.88];
        for ray in 0..4 {
            let radius = finger * thick[ray];
            let arch = -mm(3.0) * ((across[ray] / breadth) / 0.35).powi(2);
            let knuckle = v(across[ray], arch + 0.12 * bones.palm, -reach[ray]);
            pencil.flat_cone(
                (v(0.48 * across[ray], -mm(1.0), -0.04 * hand), 0.95 * bones.palm),
                (knuckle, 1.16 * radius),
                Vec3::x(),
                [1.15, 1.0],
                mm(14.0),
            );
            // Phalanges as tangents of a circle about the rod.
            let foot = centre + rod * (knuckle - centre).dot(&rod);
            let place = |p: [f64; 2], slide: f64| foot + toward * p[0] + along * p[1] + rod * slide;
            let from = knuckle - foot;
            let mut at = [from.dot(&toward), from.dot(&along)];
            let around = self.tube + 0.94 * radius;
            let mut joints = vec![(at, 1.04)];
            for (share, taper) in [(0.245, 0.98), (0.155, 0.90), (0.118, 0.78)] {
                at = tangent(at, around, share * hand * lengths[ray]);
                joints.push((at, taper));
            }
            // Bent round its joints, not broken at them; drawn a little together towards the tips.
            let bent = rounded(&joints);
            for (step, pair) in bent.windows(2).enumerate() {
                let slide = |step: usize| -0.10 * across[ray] * (step as f64 / bent.len() as f64);
                let end = |at: ([f64; 2], f64), step: usize| (place(at.0, slide(step)), radius * at.1);
                pencil.cone(end(pair[0], step), end(pair[1], step + 1), mm(6.0));
            }
        }

        // Balls of thumb and little finger.
        pencil.ball(
            v(0.24 * breadth, -0.95 * bones.palm, -0.17 * hand),
            v(0.19 * breadth, 0.80 * bones.palm, 0.14 * hand),
            [0.0, deg(-24.0), 0.0],
            mm(14.0),
        );
        pencil.ball(
            v(-0.28 * breadth, -0.45 * bones.palm, -0.18 * hand),
            v(0.17 * breadth, 0.72 * bones.palm, 0.15 * hand),
            [0.0, deg(8.0), 0.0],
            mm(14.0),
        );

        // Thumb: from the wrist beside the palm, over the rod against the fingers.
        let thumb = 0.118 * breadth;
        let around = self.tube + 0.95 * thumb;
        let beside = 0.50 * breadth;
        let on_rod = |angle: f64, out: f64, distance: f64| {
            centre + rod * out + (toward * angle.sin() - along * angle.cos()) * distance
        };
        let base = v(0.27 * breadth, -0.75 * bones.palm, -0.085 * hand);
        let first = on_rod(deg(-22.0), beside, around + 0.35 * thumb);
        let second = on_rod(deg(52.0), beside + 0.06 * breadth, 1.04 * around);
        let tip = on_rod(deg(112.0), beside - 0.02 * breadth, 1.04 * around);
        pencil.cone((base, 1.25 * thumb), (first, 1.12 * thumb), mm(16.0));
        pencil.cone((first, 1.10 * thumb), (second, 0.98 * thumb), mm(6.0));
        pencil.cone((second, 0.98 * thumb), (tip, 0.84 * thumb), mm(5.0));
        Piece { shapes, cuts: Vec::new() }
    }

    /// A shoe: sole, upper, toe a little raised, a collar round the ankle.
    pub fn shoe(&self, side: Side) -> Piece {
        let (dims, bones) = (self.dimensions(), self.skeleton());
        let mut shapes = Vec::new();
        let zone = Zone::From(Bone::Foot(side));
        let ankle = ellipse(1.03 * dims.m("anklecircumference"), 1.18);
        let rear = -bones.heel_to_ankle;
        let ball = rear + bones.heel_to_ball;
        let tip = rear + bones.shoe_length;
        let bottom = -bones.ankle_height;
        let wide = 0.5 * bones.shoe_width;
        let heel = (dims.m("heelbreadth") / 2.0 + mm(3.0)).min(0.9 * wide);

        let mut pencil = self.pencil(Bone::Foot(side), side, zone, &mut shapes);
        // Sole: a plate in plan from the heel to the ball and another from the ball to the raised toe.
        let slab = mm(9.0);
        let mut sole = |from: Vec3, to: Vec3, radii: [f64; 2], blend: f64| {
            let (from, to) = (pencil.point(from), pencil.point(to));
            let z = unit_or(to - from, Vec3::x());
            let y = unit_or(Vec3::z() - z * z.z, Vec3::z());
            let local = Pose::from_parts(from.into(), from_axes(y.cross(&z), y, z));
            let solid = Solid::Plate { length: (to - from).norm(), radii, thick: slab, round: mm(7.0) };
            pencil.put(local, solid, blend);
        };
        let inner = -0.06 * wide;
        let toe = 0.62 * wide;
        sole(
            v(rear + heel + mm(2.0), 0.0, bottom + slab),
            v(ball - 0.10 * wide, inner, bottom + slab),
            [heel + mm(2.0), wide],
            mm(10.0),
        );
        sole(
            v(ball - 0.10 * wide, inner, bottom + slab),
            v(tip - toe - mm(1.0), -0.20 * wide, bottom + slab + mm(6.0)),
            [wide, toe],
            mm(10.0),
        );
        let height = bones.ankle_height;
        let mut pencil = self.pencil(Bone::Foot(side), side, zone, &mut shapes);
        // Along the foot: x up, y left, z backwards.
        pencil.pose *= Pose::from_parts(Vec3::zeros().into(), from_axes(Vec3::z(), Vec3::y(), -Vec3::x()));
        pencil.loft(&self.contours.shoe, [mm(13.0), mm(8.0)], mm(14.0));
        let mut pencil = self.pencil(Bone::Foot(side), side, zone, &mut shapes);
        // Collar.
        pencil.flat_cone(
            (v(mm(-2.0), 0.0, bottom + 0.62 * height), ankle[1] + mm(7.0)),
            (v(mm(-3.0), 0.0, mm(16.0)), ankle[1] + mm(6.0)),
            Vec3::x(),
            [1.18, 1.0],
            mm(24.0),
        );
        let foot = self.bones[Bone::Foot(side).index()];
        let level = |z: f64, tilt: f64| Pose::from_parts(v(0.0, 0.0, z).into(), Rot::new(Vec3::y() * tilt));
        let cuts = vec![
            Cut { pose: foot * level(mm(14.0), deg(-14.0)), tool: Tool::Above, round: mm(8.0) },
            Cut { pose: foot * level(bottom, PI), tool: Tool::Above, round: mm(4.0) },
        ];
        Piece { shapes, cuts }
    }
}

/// From a point, `length` along the tangent to a circle about the origin, turning from the second axis to the first;
/// from inside the circle at a right angle to its radius.
fn tangent([x, y]: [f64; 2], radius: f64, length: f64) -> [f64; 2] {
    let distance = x.hypot(y).max(1e-6);
    // Angle between the way back to the middle and the tangent.
    let aside = if distance > radius { (radius / distance).asin() } else { FRAC_PI_2 };
    let (back_x, back_y) = (-x / distance, -y / distance);
    let (sin, cos) = aside.sin_cos();
    [x + length * (back_x * cos - back_y * sin), y + length * (back_y * cos + back_x * sin)]
}

/// A line with its corners cut once: Chaikin, a quarter on each side.
fn rounded(corners: &[([f64; 2], f64)]) -> Vec<([f64; 2], f64)> {
    let between = |a: &([f64; 2], f64), b: &([f64; 2], f64), share: f64| {
        ([mix(a.0[0], b.0[0], share), mix(a.0[1], b.0[1], share)], mix(a.1, b.1, share))
    };
    let mut line = vec![corners[0]];
    for (at, pair) in corners.windows(2).enumerate() {
        if at > 0 {
            line.push(between(&pair[0], &pair[1], 0.25));
        }
        if at + 2 < corners.len() {
            line.push(between(&pair[0], &pair[1], 0.75));
        }
    }
    line.push(corners[corners.len() - 1]);
    line
}
