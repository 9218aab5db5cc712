//! Links between joint centres, from external dimensions by published rules (`shared/segments.md`).

use super::Dimensions;
use crate::{project::Footwear, units::mm};

/// Lengths between joint centres and from joints to the outside of the body, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skeleton {
    /// Hip joint centre to the centre plane.
    pub hip_half_breadth: f64,
    /// Hip joint centre above a hard seat, sitting.
    pub seat_to_hip: f64,
    /// Rearmost buttock to the hip joint centre, sitting.
    pub buttock_to_hip: f64,
    /// Hip joint centre to knee centre.
    pub thigh: f64,
    /// Knee centre to ankle centre.
    pub shank: f64,
    /// Ankle centre above the bottom of the sole.
    pub ankle_height: f64,
    /// Rear of the heel of the shoe to below the ankle centre.
    pub heel_to_ankle: f64,
    /// Rear of the heel of the shoe to below the ball of the foot.
    pub heel_to_ball: f64,
    /// Shoe over all.
    pub shoe_length: f64,
    /// Midpoint of the hips to the midpoint of the shoulder joints, sitting relaxed.
    pub hip_to_shoulder: f64,
    /// Midpoint of the hips to the joint between neck and thorax (C7/T1), sitting relaxed.
    pub hip_to_neck: f64,
    /// Skin of the upper back to the midpoint of the shoulder joints.
    pub back_to_shoulder: f64,
    /// Skin of the upper back to the joint between neck and thorax.
    pub back_to_neck: f64,
    /// Joint between neck and thorax to the joint between head and neck.
    pub neck: f64,
    /// Joint between head and neck to the eyes, gaze level: forward.
    pub eye_forward: f64,
    /// Joint between head and neck to the eyes, gaze level: up.
    pub eye_up: f64,
    /// Joint between head and neck to the top of the head, gaze level.
    pub head_up: f64,
    /// Shoulder joint centre to the centre plane.
    pub shoulder_half_breadth: f64,
    /// How far the shoulder joint can move forward off the seat.
    pub protraction: f64,
    /// Shoulder joint centre to elbow centre.
    pub upper_arm: f64,
    /// Elbow centre to wrist centre.
    pub forearm: f64,
    /// Wrist centre to the centre of a gripped rod, along the hand.
    pub wrist_to_grip: f64,
    /// Middle of the hand's thickness to the palm's surface.
    pub palm: f64,
    /// Wrist centre to the tip of the middle finger.
    pub hand: f64,
    /// L5/S1 above the hip joint centres along the torso line.
    pub hip_to_lumbar: f64,
    /// Length of the lumbar spine, L5/S1 to T12/L1.
    pub lumbar: f64,
}

impl Skeleton {
    /// The skeleton of a sized person in these shoes.
    pub fn of(dimensions: &Dimensions, shoes: &Footwear) -> Self {
        let d = |name: &str| dimensions.m(name);
        let upper = d("acromionradialelength");
        // Hara et al. 2016, Sci Rep 6:37707: z = 8 + 0.086 LL; leg length LL about 75 mm above the trochanter (own estimate).
        let leg_length = d("trochanterionheight") + mm(75.0);
        let hip_half_breadth = mm(8.0) + 0.086 * leg_length;
        // Hip centre about 15 mm above the palpated trochanterion (own estimate; Drillis and Contini 0.245 H agrees).
        let hip_over_trochanter = mm(15.0);
        let thigh = 1.04 * (d("trochanterionheight") - d("lateralfemoralepicondyleheight"));
        let shank = d("lateralfemoralepicondyleheight") - d("lateralmalleolusheight");
        let seat_to_hip = d("sittingheight") + d("trochanterionheight") - d("stature") + hip_over_trochanter;
        // Knee centre to the front of the kneecap about 55 mm (own estimate); J826 agrees: 135 ahead of the back.
        let buttock_to_hip = d("buttockkneelength") - thigh - mm(55.0);
        // de Leva, J Biomech 1996;29:1231: shoulder joint 10.4 % of acromion-radiale below the acromion, elbow 4.3 % above radiale.
        let shoulder_over_seat = d("acromialheight") - d("stature") + d("sittingheight") - 0.104 * upper;
        let neck_over_seat = d("cervicaleheight") - d("stature") + d("sittingheight") - mm(15.0);
        // Erect to relaxed: sitting height falls by 20 to 50 mm (from memory).
        let slump = mm(22.0);
        let back_to_neck = 0.30 * d("chestdepth");
        let neck = 0.065 * d("stature");
        let eye_over_seat = d("eyeheightsitting");
        let head_joint_over_seat = neck_over_seat + neck;
        Self {
            hip_half_breadth,
            seat_to_hip,
            buttock_to_hip,
            thigh,
            shank,
            ankle_height: d("lateralmalleolusheight") + mm(shoes.heel_sole_mm),
            heel_to_ankle: 0.22 * d("footlength") + mm(0.4 * shoes.extra_length_mm),
            heel_to_ball: d("balloffootlength") + mm(0.4 * shoes.extra_length_mm),
            shoe_length: d("footlength") + mm(shoes.extra_length_mm),
            hip_to_shoulder: shoulder_over_seat - seat_to_hip - slump,
            hip_to_neck: neck_over_seat - seat_to_hip - slump,
            back_to_shoulder: 0.42 * d("chestdepth"),
            back_to_neck,
            neck,
            eye_forward: 0.5 * d("headlength") - mm(8.0),
            eye_up: eye_over_seat - head_joint_over_seat,
            head_up: d("sittingheight") - head_joint_over_seat,
            shoulder_half_breadth: 0.5 * d("biacromialbreadth") - mm(32.0),
            // Extended less plain functional reach: 56 to 58 (NUREG-0700 rev 3, table 11.4).
            protraction: mm(57.0),
            upper_arm: 0.853 * upper,
            forearm: d("radialestylionlength") + 0.043 * upper + mm(2.0),
            wrist_to_grip: d("forearmcenterofgriplength") - d("radialestylionlength") - mm(25.0),
            palm: mm(14.0),
            hand: d("handlength") - mm(2.0),
            hip_to_lumbar: 0.055 * d("stature"),
            lumbar: 0.105 * d("stature"),
        }
    }
}
