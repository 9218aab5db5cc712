//! Links between joint centres, from external dimensions by published rules (`shared/segments.csv`).

use super::{Dimensions, Segments};
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
    /// Knee centre to the front of the kneecap.
    pub knee_front: f64,
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
    /// Shoe across the ball of the foot.
    pub shoe_width: f64,
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
    ///
    /// Links between two measured heights can come out too short when measurements contradict one another; each is
    /// held at a share of stature, about half of an adult's, so that a body stays a body.
    pub fn of(dimensions: &Dimensions, shoes: &Footwear) -> Self {
        let d = |variable: &str| dimensions.m(variable);
        let segments = Segments::of(dimensions.population());
        let share = |name: &str| segments.get(name);
        let constant = |name: &str| mm(segments.get(name));
        let stature = d("stature");
        let at_least = |length: f64, share: f64| length.max(share * stature);

        let upper = d("acromionradialelength");
        let trochanter = d("trochanterionheight");
        let epicondyle = d("lateralfemoralepicondyleheight");
        let malleolus = d("lateralmalleolusheight");
        // A height standing, seen from the seat: the trunk is the same above both.
        let over_seat = |height: f64| height - stature + d("sittingheight");

        let leg_length = trochanter + constant("leg_length_above_trochanterion");
        let thigh = at_least(share("thigh_per_trochanterion_to_epicondyle") * (trochanter - epicondyle), 0.15);
        let seat_to_hip = at_least(over_seat(trochanter + constant("hip_above_trochanterion")), 0.02);
        let knee_front = share("knee_to_kneecap") * stature;
        let buttock_to_hip = d("buttockkneelength") - thigh - knee_front;
        let shoulder_over_seat = over_seat(d("acromialheight")) - share("shoulder_below_acromion") * upper;
        let neck_over_seat = over_seat(d("cervicaleheight")) - constant("neck_joint_below_cervicale");
        let head_over_seat = d("sittingheight") - d("tragiontopofhead") - constant("head_joint_below_tragion");
        let slump = constant("slump");

        let rear = share("shoe_length_behind_heel") * mm(shoes.extra_length_mm);
        let foot = d("footlength");
        let heel_to_ankle = share("ankle_ahead_of_heel") * foot + rear;
        let heel_to_ball = d("balloffootlength").clamp(0.6 * foot, 0.9 * foot) + rear;

        Self {
            hip_half_breadth: constant("hip_lateral_constant") + share("hip_lateral_per_leg_length") * leg_length,
            seat_to_hip,
            buttock_to_hip: at_least(buttock_to_hip, 0.04),
            thigh,
            knee_front,
            shank: at_least(epicondyle - malleolus, 0.15),
            ankle_height: malleolus + mm(shoes.heel_sole_mm),
            heel_to_ankle,
            heel_to_ball,
            shoe_length: foot + mm(shoes.extra_length_mm),
            shoe_width: mm(shoes.width_mm),
            hip_to_shoulder: at_least(shoulder_over_seat - seat_to_hip - slump, 0.18),
            hip_to_neck: at_least(neck_over_seat - seat_to_hip - slump, 0.20),
            back_to_shoulder: share("back_to_shoulder") * d("chestdepth"),
            back_to_neck: share("back_to_neck") * d("chestdepth"),
            neck: at_least(head_over_seat - neck_over_seat, 0.03),
            eye_forward: 0.5 * d("headlength") - constant("eye_behind_half_head"),
            eye_up: at_least(d("eyeheightsitting") - head_over_seat, 0.004),
            head_up: d("tragiontopofhead") + constant("head_joint_below_tragion"),
            shoulder_half_breadth: (1.0 - share("shoulder_inside_acromion")) * 0.5 * d("biacromialbreadth"),
            protraction: constant("protraction"),
            upper_arm: (1.0 - share("shoulder_below_acromion") - share("elbow_above_radiale")) * upper,
            // Both are measured from the back of the elbow, so their difference is free of where its joint lies.
            forearm: at_least(
                d("forearmhandlength") - d("handlength") - constant("elbow_ahead_of_olecranon")
                    + constant("wrist_beyond_stylion"),
                0.08,
            ),
            wrist_to_grip: at_least(
                d("forearmcenterofgriplength") - d("forearmhandlength") + d("handlength")
                    - constant("wrist_beyond_stylion"),
                0.02,
            ),
            palm: share("palm_per_hand_breadth") * d("handbreadth"),
            hand: d("handlength") - constant("wrist_beyond_stylion"),
            hip_to_lumbar: share("hip_to_lumbar") * stature,
            lumbar: share("lumbar") * stature,
        }
    }
}

impl Skeleton {
    /// Radius of the buttocks' round in the side plane: 83 mm in the mean man; own estimate.
    pub const fn buttock_round(&self) -> f64 {
        0.62 * self.buttock_to_hip
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::project::{Measured, Measurements, Population};

    fn of(population: Population, measured: &Measurements) -> Skeleton {
        Skeleton::of(&Dimensions::estimate(population, measured), &Footwear::default())
    }

    /// Every length, in the order of the fields.
    fn lengths(s: &Skeleton) -> [f64; 28] {
        [
            s.hip_half_breadth,
            s.seat_to_hip,
            s.buttock_to_hip,
            s.thigh,
            s.knee_front,
            s.shank,
            s.ankle_height,
            s.heel_to_ankle,
            s.heel_to_ball,
            s.shoe_length,
            s.shoe_width,
            s.hip_to_shoulder,
            s.hip_to_neck,
            s.back_to_shoulder,
            s.back_to_neck,
            s.neck,
            s.eye_forward,
            s.eye_up,
            s.head_up,
            s.shoulder_half_breadth,
            s.protraction,
            s.upper_arm,
            s.forearm,
            s.wrist_to_grip,
            s.palm,
            s.hand,
            s.hip_to_lumbar,
            s.lumbar,
        ]
    }

    #[test]
    fn mean_man_has_the_links_worked_out_by_hand() {
        // From the means in shared/ansur2/men_stats.csv, mm: thigh 1.049 (900.91 − 491.61), shank 491.61 − 72.88,
        // seat to hip 918.18 + 900.91 + 20 − 1756.01, hip breadth 8 + 0.086 · 975.91, upper arm 0.853 · 335.19,
        // forearm 480.10 − 193.23 − 18 + 2, grip 348.93 − 480.10 + 193.23 − 2, neck 787.01 − 15 − (679.32 − 15).
        let s = of(Population::Men, &Measurements::default());
        for (length, by_hand) in [
            (s.thigh, 429.36),
            (s.shank, 418.73),
            (s.seat_to_hip, 83.08),
            (s.hip_half_breadth, 91.93),
            (s.upper_arm, 285.92),
            (s.forearm, 270.87),
            (s.wrist_to_grip, 60.06),
            (s.neck, 107.69),
        ] {
            assert!((length - mm(by_hand)).abs() < mm(0.02), "{length} against {by_hand} mm");
        }
    }

    proptest! {
        #[test]
        fn every_length_is_positive_and_in_order(
            women in any::<bool>(),
            stature in 1200.0..2200.0,
            mass in 35.0..200.0,
            other in prop::option::of((0_usize..17, 0.75..1.3)),
        ) {
            let population = if women { Population::Women } else { Population::Men };
            let mut measured = Measurements {
                stature_mm: Some(Measured::new(stature, 8.0)),
                mass_kg: Some(Measured::new(mass, 1.0)),
                ..Measurements::default()
            };
            if let Some((at, factor)) = other {
                let (field, variable, ..) = Measurements::LIST[2 + at];
                let mean = crate::body::Survey::of(population).mean(variable).unwrap();
                *measured.entry(field).unwrap() = Some(Measured::new(factor * mean, 4.0));
            }
            let s = of(population, &measured);
            for (at, length) in lengths(&s).into_iter().enumerate() {
                prop_assert!(length.is_finite() && length > 0.001, "length {at} is {length}");
            }
            prop_assert!(s.heel_to_ankle < s.heel_to_ball && s.heel_to_ball < s.shoe_length);
            prop_assert!(s.hip_to_lumbar + s.lumbar < s.hip_to_neck);
            prop_assert!(s.eye_up < s.head_up);
        }
    }
}
