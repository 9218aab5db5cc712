//! Sections of trunk and limbs in the frames of their bones: the one place that turns breadths, depths and girths into
//! shape. The skin is drawn through them and the collision shapes are laid into them.
//!
//! Where a breadth, a depth or a girth was measured or estimated, a section has it. What lies between (where a muscle
//! is thickest) is drawn by eye in shares of those dimensions.

use super::super::{Dimensions, Skeleton};
use crate::{
    geometry::{TaperedCapsule, Vec3},
    project::Population,
    units::mm,
};

/// A section across z: a rounded rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    pub z: f64,
    /// Least and greatest x.
    pub x: [f64; 2],
    /// Least and greatest y.
    pub y: [f64; 2],
    /// 0 is an ellipse, 1 a well rounded rectangle.
    pub square: f64,
}

impl Section {
    /// Middle along x and y.
    pub fn middle(&self) -> [f64; 2] {
        [0.5 * (self.x[0] + self.x[1]), 0.5 * (self.y[0] + self.y[1])]
    }

    /// Half extents along x and y.
    pub fn half(&self) -> [f64; 2] {
        [0.5 * (self.x[1] - self.x[0]), 0.5 * (self.y[1] - self.y[0])]
    }

    fn squared(self, square: f64) -> Self {
        Self { square, ..self }
    }
}

/// The body's sections. Limbs are the left ones: for the right, y changes its sign.
#[derive(Clone, Debug)]
pub struct Contours {
    /// Pelvis frame, from the seat to the root of the neck.
    pub trunk: [Section; 9],
    /// Upper arm.
    pub upper_arm: [Section; 5],
    /// Forearm; x is towards the thumb.
    pub forearm: [Section; 6],
    /// Thigh; x is the front, which is the top while sitting.
    pub thigh: [Section; 6],
    /// Shank.
    pub shank: [Section; 7],
    /// How far the deltoid's outside lies from the shoulder joint.
    pub deltoid: f64,
    /// Slope of the left shoulder: trapezius, collar bone, front and rear fold of the armpit; pelvis frame.
    pub shoulder: [TaperedCapsule; 4],
    /// Left buttock: middle and half axes; pelvis frame.
    pub buttock: [Vec3; 2],
    /// Left breast, or the muscle in its place: middle and half axes; pelvis frame.
    pub breast: [Vec3; 2],
    /// Neck frame.
    pub neck: TaperedCapsule,
    /// Head frame: from the chin to the widest of the skull.
    pub head: [Section; 5],
    /// Tip of the nose, head frame.
    pub nose: Vec3,
    /// Upper of the left shoe, from the heel to the toes: x up, y left, z backwards from the ankle.
    pub shoe: [Section; 8],
}

/// Muscles at the wheel are slack; the survey has girths of flexed ones. Own estimates.
pub const SLACK_BICEPS: f64 = 0.95;
const SLACK_FOREARM: f64 = 0.97;

/// A section from least and greatest x and y.
fn section(z: f64, x: [f64; 2], y: [f64; 2]) -> Section {
    Section { z, x, y, square: 0.0 }
}

/// A round section about the axis with a middle shifted along x and y.
fn round(z: f64, half: [f64; 2], shift: [f64; 2]) -> Section {
    section(z, [shift[0] - half[0], shift[0] + half[0]], [shift[1] - half[1], shift[1] + half[1]])
}

fn scaled(half: [f64; 2], by: f64) -> [f64; 2] {
    half.map(|x| by * x)
}

pub fn mix(a: f64, b: f64, share: f64) -> f64 {
    a + (b - a) * share
}

/// Squareness of a section of half extents that has a girth, as near as it can come.
pub fn square_for(half: [f64; 2], around: f64) -> f64 {
    solve(around, 0.0, 1.0, |square| girth(half, square))
}

/// Girth of a section of half extents `a` and `b`.
fn girth([a, b]: [f64; 2], square: f64) -> f64 {
    // A quarter of the outline in 16 pieces; the chords are 0.04 % short.
    const STEPS: u32 = 16;
    let point = |step: u32| {
        let (sin, cos) = (f64::from(step) / f64::from(STEPS) * std::f64::consts::FRAC_PI_2).sin_cos();
        let k = (1.0 - square * (sin * cos).powi(2)).sqrt().recip();
        [a * cos * k, b * sin * k]
    };
    let mut from = [a, 0.0];
    let mut sum = 0.0;
    for step in 1..=STEPS {
        let to = point(step);
        sum += (to[0] - from[0]).hypot(to[1] - from[1]);
        from = to;
    }
    4.0 * sum
}

/// Half extents of some girth whose first is `ratio` times the second.
fn ellipse(around: f64, ratio: f64) -> [f64; 2] {
    let second = around / girth([ratio, 1.0], 0.0);
    [ratio * second, second]
}

/// Where `f`, nearly straight, is `wanted`, between `low` and `high`.
fn solve(wanted: f64, low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a) - wanted, f(b) - wanted);
    if fa >= 0.0 || fb <= 0.0 {
        return if fa >= 0.0 { low } else { high };
    }
    for _ in 0..4 {
        let x = a - fa * (b - a) / (fb - fa);
        let fx = f(x) - wanted;
        if fx < 0.0 {
            (a, fa) = (x, fx);
        } else {
            (b, fb) = (x, fx);
        }
    }
    a - fa * (b - a) / (fb - fa)
}

/// The other half extent of a section of some girth and one half extent.
fn other_half(half: f64, around: f64, square: f64) -> f64 {
    solve(around, 0.4 * half, 2.2 * half, |other| girth([half, other], square))
}

impl Contours {
    pub fn of(dimensions: &Dimensions, bones: &Skeleton) -> Self {
        let (upper_arm, deltoid) = upper_arm(dimensions, bones);
        Self {
            trunk: trunk(dimensions, bones),
            upper_arm,
            forearm: forearm(dimensions, bones),
            thigh: thigh(dimensions, bones),
            shank: shank(dimensions, bones),
            deltoid,
            shoulder: shoulder(dimensions, bones),
            buttock: buttock(dimensions, bones),
            breast: breast(dimensions, bones),
            neck: neck(dimensions, bones),
            head: head(dimensions, bones),
            nose: nose(dimensions, bones),
            shoe: shoe(dimensions, bones),
        }
    }
}

/// Height of the bust as a share of the way from hips to shoulders.
pub const BUST: f64 = 0.77;

/// The back of the trunk at a height over the hips; the waist is a little hollow.
pub fn back(bones: &Skeleton, z: f64) -> f64 {
    -mix(bones.buttock_to_hip, bones.back_to_shoulder, z / bones.hip_to_shoulder)
}

/// Height of the shoulder joints in the pelvis frame, whose z leads to their middle.
pub fn shoulder_height(bones: &Skeleton) -> f64 {
    (bones.back_to_shoulder - bones.buttock_to_hip).hypot(bones.hip_to_shoulder)
}

/// The joint between neck and thorax in the pelvis frame, x and z: the torso line leans back where the chest is deeper than
/// the buttocks.
fn neck_root(bones: &Skeleton) -> [f64; 2] {
    let along = shoulder_height(bones);
    let [x, z] = [bones.back_to_shoulder - bones.buttock_to_hip, bones.hip_to_shoulder].map(|length| length / along);
    let root = [bones.back_to_neck - bones.buttock_to_hip, bones.hip_to_neck];
    [root[0] * z - root[1] * x, root[1] * z + root[0] * x]
}

fn trunk(dims: &Dimensions, bones: &Skeleton) -> [Section; 9] {
    let d = |name: &str| dims.m(name);
    let women = dims.population() == Population::Women;
    let behind = |z: f64| back(bones, z);
    let half = |y: f64| [-y, y];
    let at = |share: f64| share * bones.hip_to_shoulder;

    let (hips, seated) = (d("hipbreadth") / 2.0, d("hipbreadthsitting") / 2.0);
    let waist = d("waistbreadth") / 2.0;
    let belly = d("abdominalextensiondepthsitting");
    let bust = d("chestdepth");
    // The calliper of chestbreadth goes round the ribs only; the tape goes round the muscles too.
    let chest = other_half(0.5 * bust, d("chestcircumference"), CHEST_SQUARE);
    // The chest of a woman carries breasts, drawn apart.
    let ribs = bust * if women { 0.84 } else { 0.94 } - mm(8.0);
    let neck = d("neckcircumference") / std::f64::consts::TAU;
    let hollow = mm(16.0);
    let crest = bones.hip_to_lumbar;
    let (waist_z, ribs_z, bust_z) = (at(0.40), at(0.56), at(BUST));
    let waist_square = square_for([0.5 * belly, waist], d("waistcircumference"));
    let [root_x, root_z] = neck_root(bones);
    [
        section(-0.72 * bones.seat_to_hip, [behind(0.0) + 0.24 * bones.buttock_to_hip, mm(40.0)], half(0.52 * seated))
            .squared(0.5),
        section(at(0.03), [behind(at(0.03)) + mm(8.0), 0.36 * d("buttockdepth")], half(0.84 * mix(hips, seated, 0.4)))
            .squared(0.36),
        section(
            crest,
            [behind(crest) + 0.5 * hollow, behind(crest) + mix(d("buttockdepth"), belly, 0.75)],
            half(0.97 * mix(hips, waist, 0.55)),
        )
        .squared(0.36),
        section(waist_z, [behind(waist_z) + hollow, behind(waist_z) + hollow + belly], half(waist))
            .squared(waist_square),
        section(
            ribs_z,
            [behind(ribs_z) + 0.5 * hollow, behind(ribs_z) + mix(belly + hollow, ribs, 0.6)],
            half(mix(waist, chest, 0.55)),
        )
        .squared(0.5),
        section(bust_z, [behind(bust_z) + mm(8.0), behind(bust_z) + mm(8.0) + ribs], half(0.96 * chest))
            .squared(CHEST_SQUARE),
        section(
            at(0.90),
            [behind(at(0.90)) + mm(8.0), behind(at(0.90)) + 0.80 * ribs],
            half(mix(chest, bones.shoulder_half_breadth, 0.55)),
        )
        .squared(0.5),
        section(
            at(1.02),
            [behind(at(1.02)) + 0.06 * bust, behind(at(1.02)) + 0.60 * bust],
            half(0.74 * bones.shoulder_half_breadth),
        )
        .squared(0.36),
        section(root_z - mm(12.0), [root_x - 1.02 * neck, root_x + 1.00 * neck], half(1.06 * neck)).squared(0.1),
    ]
}

/// Of the chest: its girth is larger than an ellipse of its depth and of any breadth between the arms could have.
const CHEST_SQUARE: f64 = 0.8;

fn upper_arm(dims: &Dimensions, bones: &Skeleton) -> ([Section; 5], f64) {
    let d = |name: &str| dims.m(name);
    let length = bones.upper_arm;
    let biceps = ellipse(SLACK_BICEPS * d("bicepscircumferenceflexed"), 1.10);
    let elbow = ellipse(0.80 * d("bicepscircumferenceflexed"), 1.02);
    // Deltoid: out to the breadth across the shoulders.
    let out = d("bideltoidbreadth") / 2.0 - bones.shoulder_half_breadth - mm(10.0);
    let bulge = (out - biceps[1]).max(0.0);
    let sections = [
        round(-0.02 * length, [0.88 * biceps[0], 0.86 * biceps[1]], [0.0, 0.85 * bulge]),
        round(-0.28 * length, [biceps[0], 0.98 * biceps[1]], [mm(2.0), 0.55 * bulge]),
        round(-0.55 * length, biceps, [mm(3.0), 0.15 * bulge]),
        round(-0.80 * length, scaled(biceps, 0.87), [mm(1.0), 0.0]),
        round(-0.96 * length, [0.86 * elbow[0], 0.84 * elbow[1]], [mm(-1.0), 0.0]),
    ];
    (sections, out)
}

fn forearm(dims: &Dimensions, bones: &Skeleton) -> [Section; 6] {
    // Thickest below the elbow, flat at the wrist.
    let length = bones.forearm;
    let thick = ellipse(SLACK_FOREARM * dims.m("forearmcircumferenceflexed"), 1.08);
    let wrist = ellipse(dims.m("wristcircumference"), 1.28);
    [
        round(-0.02 * length, scaled(thick, 0.80), [mm(-1.0), 0.0]),
        round(-0.20 * length, thick, [mm(3.0), mm(2.0)]),
        round(-0.45 * length, scaled(thick, 0.90), [mm(2.0), mm(1.0)]),
        round(-0.75 * length, [mix(thick[0], wrist[0], 0.72), mix(thick[1], wrist[1], 0.66)], [0.0; 2]),
        round(-0.92 * length, scaled(wrist, 1.02), [0.0; 2]),
        round(-0.99 * length, wrist, [0.0; 2]),
    ]
}

fn thigh(dims: &Dimensions, bones: &Skeleton) -> [Section; 6] {
    let d = |name: &str| dims.m(name);
    let length = bones.thigh;
    // The outside ends at the breadth of the seated hips, the inside at the other thigh, against which it is pressed.
    let (top, under) = (d("thighclearance") - bones.seat_to_hip - mm(3.5), bones.seat_to_hip);
    let outside = d("hipbreadthsitting") / 2.0 - bones.hip_half_breadth;
    let inside = -(bones.hip_half_breadth + mm(14.0));
    let (full, low) = (d("thighcircumference"), d("lowerthighcircumference"));
    let thickest = [-0.93 * under, top];
    let half = 0.5 * (thickest[1] - thickest[0]);
    let most = 0.5 * (outside - inside);
    let square = square_for([half, most], full);
    let across = other_half(half, full, square).min(most);
    let middle = ellipse(mix(full, low, 0.45), 0.96);
    let lower = ellipse(low, 1.02);
    let knee = bones.knee_front;
    [
        section(0.05 * length, [-0.86 * under, 0.78 * top], [outside - 1.7 * across, 0.90 * outside]),
        section(-0.12 * length, [-0.96 * under, 0.96 * top], [outside - 1.9 * across, 0.97 * outside])
            .squared(0.5 * square),
        section(-0.30 * length, thickest, [outside - 2.0 * across, outside]).squared(square),
        round(-0.58 * length, middle, [mm(4.0).min(top - middle[0]), 0.0]).squared(0.2 * square),
        round(-0.82 * length, lower, [mm(1.0), 0.0]),
        round(-0.95 * length, scaled(lower, 0.86), [-0.04 * knee, 0.0]),
    ]
}

fn shank(dims: &Dimensions, bones: &Skeleton) -> [Section; 7] {
    let length = bones.shank;
    let knee = bones.knee_front;
    let calf = ellipse(dims.m("calfcircumference"), 1.04);
    let ankle = ellipse(dims.m("anklecircumference"), 1.18);
    [
        round(-0.03 * length, [0.84 * knee, 0.88 * knee], [-0.08 * knee, 0.0]),
        round(-0.12 * length, [0.93 * knee, 0.93 * knee], [-0.14 * knee, 0.0]),
        round(-0.30 * length, calf, [-0.36 * calf[0], mm(2.0)]),
        round(-0.52 * length, [0.87 * calf[0], 0.86 * calf[1]], [-0.27 * calf[0], 0.0]),
        round(-0.80 * length, scaled(ankle, 1.04), [-0.18 * ankle[0], 0.0]),
        round(-0.90 * length, ankle, [-0.10 * ankle[0], 0.0]),
        round(-1.06 * length, scaled(ankle, 1.04), [0.0; 2]),
    ]
}

fn shoulder(dims: &Dimensions, bones: &Skeleton) -> [TaperedCapsule; 4] {
    let neck = dims.m("neckcircumference") / std::f64::consts::TAU;
    let bust = dims.m("chestdepth");
    // Seen from the shoulder joint.
    let joint = Vec3::new(0.0, bones.shoulder_half_breadth, shoulder_height(bones));
    let inward = -bones.shoulder_half_breadth;
    let tip = 0.104 * dims.m("acromionradialelength");
    let thick = 0.72 * tip;
    let [root_x, root_z] = neck_root(bones);
    let (ahead, up) = (root_x, root_z - joint.z);
    let front = -bones.back_to_shoulder + 0.80 * bust;
    let back = -bones.back_to_shoulder;
    let cone = |a: [f64; 3], radius_a: f64, b: [f64; 3], radius_b: f64| TaperedCapsule {
        a: joint + Vec3::from(a),
        b: joint + Vec3::from(b),
        radius_a,
        radius_b,
    };
    [
        cone(
            [ahead - mm(10.0), inward + 0.62 * neck, up - mm(20.0)],
            0.80 * tip,
            [mm(-6.0), mm(14.0), tip - 1.75 * thick],
            thick,
        ),
        cone(
            [ahead + mm(26.0), inward + 0.55 * neck, up - mm(58.0)],
            0.80 * tip,
            [mm(10.0), mm(-8.0), tip - 1.65 * thick],
            0.85 * thick,
        ),
        cone(
            [front - 0.20 * bust, 0.50 * inward, -0.15 * bones.hip_to_shoulder],
            0.18 * bust,
            [mm(18.0), mm(-2.0), tip - 0.16 * bust - mm(14.0)],
            0.16 * bust,
        ),
        cone(
            [back + 0.18 * bust, 0.40 * inward, -0.22 * bones.hip_to_shoulder],
            0.16 * bust,
            [mm(-14.0), mm(-2.0), tip - 0.16 * bust - mm(16.0)],
            0.16 * bust,
        ),
    ]
}

/// Reaches the rear and the bottom of the seated body.
fn buttock(dims: &Dimensions, bones: &Skeleton) -> [Vec3; 2] {
    let seated = dims.m("hipbreadthsitting") / 2.0;
    let half = Vec3::new(bones.buttock_round(), 0.46 * seated, 0.80 * bones.buttock_to_hip);
    let middle =
        Vec3::new(mm(4.0) - bones.buttock_to_hip + half.x, 0.46 * seated, mm(6.0) - bones.seat_to_hip + half.z);
    [middle, half]
}

fn breast(dims: &Dimensions, bones: &Skeleton) -> [Vec3; 2] {
    let (chest, bust) = (dims.m("chestbreadth") / 2.0, dims.m("chestdepth"));
    let at = |share: f64| share * bones.hip_to_shoulder;
    if dims.population() == Population::Women {
        let deep = 0.17 * bust;
        let middle = Vec3::new(back(bones, at(0.71)) + 0.985 * bust - deep, 0.47 * chest, at(0.715));
        [middle, Vec3::new(deep, 0.235 * bust, 0.225 * bust)]
    } else {
        let middle = Vec3::new(back(bones, at(BUST)) + 0.83 * bust - mm(4.0), 0.46 * chest, at(0.79));
        [middle, Vec3::new(0.14 * bust, 0.52 * chest, at(0.14))]
    }
}

fn neck(dims: &Dimensions, bones: &Skeleton) -> TaperedCapsule {
    let radius = dims.m("neckcircumference") / std::f64::consts::TAU;
    TaperedCapsule {
        a: Vec3::new(mm(2.0), 0.0, -mm(35.0)),
        b: Vec3::new(mm(2.0), 0.0, 1.02 * bones.neck),
        radius_a: 0.99 * radius,
        radius_b: 0.945 * radius,
    }
}

/// The brow, ahead of the joint between head and neck: about 20 mm ahead of the outer corner of the eye.
pub fn brow(dims: &Dimensions, bones: &Skeleton) -> f64 {
    bones.eye_forward + 0.1 * dims.m("headlength")
}

fn nose(dims: &Dimensions, bones: &Skeleton) -> Vec3 {
    let (long, face) = (dims.m("headlength"), dims.m("mentonsellionlength"));
    Vec3::new(brow(dims, bones) + 0.030 * long, 0.0, bones.eye_up - 0.36 * face)
}

fn head(dims: &Dimensions, bones: &Skeleton) -> [Section; 5] {
    let d = |name: &str| dims.m(name);
    let (wide, cheek, long) = (d("headbreadth") / 2.0, d("bizygomaticbreadth") / 2.0, d("headlength"));
    let brow = brow(dims, bones);
    let face = d("mentonsellionlength");
    let chin = bones.eye_up - 0.96 * face;
    let square = square_for([0.5 * long, wide], 0.985 * d("headcircumference"));
    let at = |z: f64, front: f64, back: f64, half: f64| {
        section(z, [brow - back * long, brow - front * long], [-half, half]).squared(square)
    };
    [
        at(chin + 0.16 * face, 0.085, 0.57, 0.60 * cheek),
        at(chin + 0.36 * face, 0.060, 0.74, 0.80 * cheek),
        at(chin + 0.62 * face, 0.055, 0.88, 0.94 * cheek),
        at(bones.eye_up, 0.050, 0.965, cheek),
        at(bones.eye_up + 0.26 * face, 0.0, 1.0, wide),
    ]
}

fn shoe(dims: &Dimensions, bones: &Skeleton) -> [Section; 8] {
    let (sole, height) = (-bones.ankle_height, bones.ankle_height);
    let wide = 0.5 * bones.shoe_width;
    let heel = (dims.m("heelbreadth") / 2.0 + mm(3.0)).min(0.9 * wide);
    let rear = -bones.heel_to_ankle;
    let ball = rear + bones.heel_to_ball;
    let tip = rear + bones.shoe_length;
    let toes = tip - ball;
    let at = |ahead: f64, rise: f64, top: f64, half: f64, inward: f64| {
        section(-ahead, [sole + rise, sole + top * height], [-half - inward * wide, half - inward * wide]).squared(0.5)
    };
    [
        at(rear + mm(8.0), mm(1.0), 0.66, 0.72 * heel, 0.0),
        at(rear + heel, 0.0, 0.84, heel, 0.0),
        at(0.0, 0.0, 0.97, 0.98 * heel, 0.0),
        at(0.45 * ball, 0.0, 0.86, mix(heel, wide, 0.45), 0.01),
        at(0.75 * ball, 0.0, 0.66, mix(heel, wide, 0.8), 0.04),
        at(ball, 0.0, 0.53, wide - mm(1.0), 0.0),
        at(ball + 0.55 * toes, mm(3.0), 0.45, 0.78 * wide, 0.12),
        at(tip - mm(14.0), mm(7.0), 0.38, 0.46 * wide, 0.20),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn girths_are_those_of_circle_and_rectangle() {
        // A circle of radius 1, 2π; 1 × 2 half axes, an ellipse of perimeter 9.68845 (from tables of E).
        assert!((girth([1.0, 1.0], 0.0) - std::f64::consts::TAU).abs() < 0.004);
        assert!((girth([1.0, 2.0], 0.0) - 9.688_45).abs() < 0.006);
        let other = other_half(0.12, 1.0, 0.5);
        assert!((girth([0.12, other], 0.5) - 1.0).abs() < 1e-4);
    }
}
