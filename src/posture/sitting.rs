//! Sitting by contact: pelvis on cushion and back, torso along the back, head over it.

use crate::{
    body::{Body, Skeleton},
    geometry::{Pose, Vec3},
    rig::Rig,
};

/// Pelvis, spine and head of a seated person, W.
#[derive(Clone, Debug)]
pub struct Sitting {
    /// H-point: midpoint of the hip joint centres.
    pub h_point: Vec3,
    /// Pelvis frame B; z along the torso line.
    pub pelvis: Pose,
    /// Belly, origin at L5/S1.
    pub abdomen: Pose,
    /// Rib cage, origin at T12/L1; axes of the torso line.
    pub thorax: Pose,
    /// Neck, origin at C7/T1.
    pub neck: Pose,
    /// Head, origin at the joint between head and neck.
    pub head: Pose,
    /// Left and right hip joint centre.
    pub hips: [Vec3; 2],
    /// Left and right shoulder joint centre with the shoulders on the seat.
    pub shoulders: [Vec3; 2],
    /// Midpoint of the eyes.
    pub eyes: Vec3,
    /// Torso line from vertical, rad, leaning back positive.
    pub recline: f64,
    /// Neck and head forward of the torso line, rad.
    pub neck_flexion: f64,
    /// The back of the body in the seat's side plane from the buttock to the neck: (height along the back surface,
    /// gap to it), m.
    pub back_line: Vec<[f64; 2]>,
    /// Largest gap behind the lower back and its height along the back surface, m.
    pub lumbar_gap: [f64; 2],
    /// Gap between shoulder blades and back surface, m; 0 where they touch.
    pub shoulder_gap: f64,
}

/// Seats a body.
pub fn sit(_body: &Body, _rig: &Rig) -> Sitting {
    todo!()
}

/// An upright trunk at the origin, for making the skin.
pub(super) fn upright(_skeleton: &Skeleton) -> Sitting {
    todo!()
}
