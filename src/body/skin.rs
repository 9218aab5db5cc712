//! One smooth skin over the body, made once for a body and bent with its bones.
//!
//! The body down to wrists and ankles is one closed surface; gloves and shoes are closed surfaces that it enters.

mod figure;
mod form;

use nalgebra::{Quaternion, UnitQuaternion};
use rayon::prelude::*;

use self::{
    figure::{Figure, Piece},
    form::{Form, Zone},
};
use super::{Body, Skeleton};
use crate::{
    geometry::{Field, Mesh, Pose, Side, Vec3, isosurface, unit_or},
    posture::{Bone, Posture},
    units::mm,
};

/// How fine the skin is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SkinDetail {
    /// For a processor that draws: about 12 mm, finer at hands and feet.
    Coarse,
    /// For a graphics card and for pictures: about 6.5 mm, finer at hands and feet.
    Fine,
}

/// What a stretch of skin is, for its material.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
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
    pub fn of(body: &Body, tube: f64, detail: SkinDetail) -> Self {
        let posture = Posture::for_skin(body, tube);
        let figure = Figure::of(body, &posture, tube);
        let rig = Rigging::of(&posture, &body.skeleton);
        let [whole, hand, shoe] = match detail {
            SkinDetail::Coarse => [mm(12.0), mm(5.5), mm(9.0)],
            SkinDetail::Fine => [mm(6.5), mm(2.8), mm(4.5)],
        };
        let [left, right] = Side::BOTH;
        let pieces = [
            (figure.body(), whole, SkinPart::Body),
            (figure.hand(left), hand, SkinPart::Body),
            (figure.hand(right), hand, SkinPart::Body),
            (figure.shoe(left), shoe, SkinPart::Shoe),
            (figure.shoe(right), shoe, SkinPart::Shoe),
        ];
        let drawn: Vec<_> =
            pieces.into_par_iter().map(|(piece, cell, part)| (draw(&piece, cell, &rig), part)).collect();

        let mut skin = Self {
            positions: Vec::new(),
            normals: Vec::new(),
            triangles: Vec::new(),
            weights: Vec::new(),
            parts: Vec::new(),
            bind: posture.bones(),
        };
        for ((mesh, weights), part) in drawn {
            let first = skin.positions.len() as u32;
            skin.parts.extend(std::iter::repeat_n(part, mesh.positions.len()));
            skin.positions.extend(mesh.positions);
            skin.normals.extend(mesh.normals);
            skin.triangles.extend(mesh.triangles.iter().map(|triangle| triangle.map(|corner| corner + first)));
            skin.weights.extend(weights);
        }
        skin
    }

    /// Positions and unit normals with the bones in these poses ([`Posture::bones`]).
    ///
    /// Dual quaternion blending: Kavan, Collins, Zara and O'Sullivan, ACM Trans. Graph. 27(4), 2008. A limb that turns
    /// about its own axis keeps its girth.
    pub fn posed(&self, bones: &[Pose; Bone::COUNT]) -> (Vec<Vec3>, Vec<Vec3>) {
        let motions: [Motion; Bone::COUNT] =
            std::array::from_fn(|bone| Motion::of(&(bones[bone] * self.bind[bone].inverse())));
        self.positions
            .par_iter()
            .zip(&self.normals)
            .zip(&self.weights)
            .with_min_len(2048)
            .map(|((position, normal), (indices, weights))| {
                let motion = Motion::blend(indices.map(|bone| &motions[usize::from(bone)]), weights.map(f64::from));
                (motion.rotation * position + motion.shift, motion.rotation * normal)
            })
            .unzip()
    }
}

/// A rigid motion as a dual quaternion or, once blended, as rotation and shift.
struct Motion {
    rotation: UnitQuaternion<f64>,
    shift: Vec3,
}

impl Motion {
    fn of(pose: &Pose) -> Self {
        Self { rotation: pose.rotation, shift: pose.translation.vector }
    }

    fn blend(motions: [&Self; 4], weights: [f64; 4]) -> Self {
        let lead = motions[0].rotation.quaternion();
        let (mut real, mut dual) =
            (Quaternion::from(nalgebra::Vector4::zeros()), Quaternion::from(nalgebra::Vector4::zeros()));
        for (motion, weight) in motions.into_iter().zip(weights) {
            if weight == 0.0 {
                continue;
            }
            let rotation = motion.rotation.quaternion();
            // q and −q are one rotation: take the one on the side of the first bone.
            let weight = if rotation.dot(lead) < 0.0 { -weight } else { weight };
            real += rotation * weight;
            dual += Quaternion::from_imag(motion.shift) * rotation * (0.5 * weight);
        }
        let size = real.norm();
        let rotation = UnitQuaternion::new_unchecked(real / size);
        Self { rotation, shift: (dual * (2.0 / size) * rotation.conjugate().into_inner()).imag() }
    }
}

/// Meshes a piece and binds it to the bones.
fn draw(piece: &Piece, cell: f64, rig: &Rigging) -> (Mesh, Vec<([u16; 4], [f32; 4])>) {
    let form = Form::of(&piece.shapes, &piece.cuts);
    let (low, high) = form.bounds();
    let mesh = isosurface(&form, low, high, cell);
    // Corners that follow one another lie close together, and few shapes matter to them.
    let weights = mesh
        .positions
        .par_chunks(64)
        .flat_map_iter(|corners| {
            let middle = corners.iter().sum::<Vec3>() / corners.len() as f64;
            let radius = corners.iter().map(|corner| (corner - middle).norm()).fold(0.0, f64::max);
            let near = form.near(middle, radius, (WIDER - 1.0) * MOST_BLEND).unwrap_or_else(|| form.clone());
            corners.iter().map(move |&at| rig.bind(at, &near)).collect::<Vec<_>>()
        })
        .collect();
    (mesh, weights)
}

/// How far beyond its own blend a shape takes part in moving the skin near another.
const WIDER: f64 = 1.4;
/// The widest blend of the figure.
const MOST_BLEND: f64 = mm(45.0);

/// Where one bone hands the skin over to the next: the share grows from 0 to 1 across a plane.
#[derive(Clone, Copy)]
struct Handover {
    at: Vec3,
    /// Unit, towards the next bone.
    towards: Vec3,
    /// Half the width.
    width: f64,
}

impl Handover {
    fn share(&self, p: Vec3) -> f64 {
        smooth(0.5 + 0.5 * (p - self.at).dot(&self.towards) / self.width)
    }
}

/// 0 below 0, 1 above 1, without a kink between.
fn smooth(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Everything that decides which bones move a point.
struct Rigging {
    /// Pelvis to belly, belly to ribs, ribs to neck.
    trunk: [Handover; 3],
    limbs: [Limbs; 2],
}

/// One side's limbs.
struct Limbs {
    side: Side,
    /// Ribs to collar bone: sideways and upwards.
    girdle: [Handover; 2],
    shoulder: Handover,
    elbow: Handover,
    /// Along the forearm, from no turn to half the hand's.
    turn: Handover,
    wrist: Handover,
    hip: Handover,
    knee: Handover,
    ankle: Handover,
}

/// Weights of all bones.
type Weights = [f64; Bone::COUNT];

impl Rigging {
    fn of(posture: &Posture, bones: &Skeleton) -> Self {
        let poses = posture.bones();
        let origin = |bone: Bone| poses[bone.index()].translation.vector;
        let axis = |bone: Bone, axis: Vec3| poses[bone.index()].rotation * axis;
        let up = axis(Bone::Pelvis, Vec3::z());
        let trunk = [
            Handover { at: origin(Bone::Abdomen), towards: up, width: 0.12 * bones.hip_to_shoulder },
            Handover { at: origin(Bone::Thorax), towards: up, width: 0.14 * bones.hip_to_shoulder },
            Handover { at: origin(Bone::Neck), towards: axis(Bone::Neck, Vec3::z()), width: 0.45 * bones.neck },
        ];
        let limbs = Side::BOTH.map(|side| {
            let down = |bone: Bone| axis(bone, -Vec3::z());
            // A hinge hands over across the plane that halves its angle.
            let hinge = |from: Bone, to: Bone, width: f64| Handover {
                at: origin(to),
                towards: unit_or(down(from) + down(to), down(to)),
                width,
            };
            let shoulder = origin(Bone::UpperArm(side));
            let out = Vec3::y() * side.sign();
            let (upper, fore) = (Bone::UpperArm(side), Bone::Forearm(side));
            let (thigh, shank, foot) = (Bone::Thigh(side), Bone::Shank(side), Bone::Foot(side));
            Limbs {
                side,
                girdle: [
                    Handover {
                        at: shoulder - out * (0.42 * bones.shoulder_half_breadth),
                        towards: out,
                        width: 0.40 * bones.shoulder_half_breadth,
                    },
                    Handover {
                        at: shoulder - up * (0.30 * bones.upper_arm),
                        towards: up,
                        width: 0.35 * bones.upper_arm,
                    },
                ],
                shoulder: Handover {
                    at: shoulder + down(upper) * mm(18.0),
                    towards: down(upper),
                    width: 0.26 * bones.upper_arm,
                },
                elbow: hinge(upper, fore, 0.15 * bones.forearm),
                turn: Handover {
                    at: origin(fore) + down(fore) * (0.5 * bones.forearm),
                    towards: down(fore),
                    width: 0.45 * bones.forearm,
                },
                wrist: hinge(fore, Bone::Hand(side), 0.10 * bones.forearm),
                hip: Handover {
                    at: origin(thigh) + down(thigh) * (0.05 * bones.thigh),
                    towards: down(thigh),
                    width: 0.22 * bones.thigh,
                },
                knee: hinge(thigh, shank, 0.13 * bones.shank),
                ankle: Handover {
                    at: origin(foot) + axis(shank, Vec3::z()) * mm(6.0),
                    towards: down(shank),
                    width: mm(26.0),
                },
            }
        });
        Self { trunk, limbs }
    }

    /// The four bones that move a point most, and their weights.
    fn bind(&self, at: Vec3, form: &Form) -> ([u16; 4], [f32; 4]) {
        let mut weights = [0.0; Bone::COUNT];
        for (zone, share) in form.shares(at, WIDER) {
            match zone {
                Zone::Trunk => self.trunk(at, share, &mut weights),
                Zone::From(Bone::UpperArm(side)) => self.arm(at, side, share, &mut weights),
                Zone::From(Bone::Thigh(side)) => self.leg(at, side, share, &mut weights),
                Zone::From(bone) => weights[bone.index()] += share,
            }
        }
        // The four greatest, by four rounds of looking for the greatest.
        let mut chosen = [(0, 0.0); 4];
        for place in &mut chosen {
            for (bone, &weight) in weights.iter().enumerate() {
                if weight > place.1 {
                    *place = (bone, weight);
                }
            }
            weights[place.0] = 0.0;
        }
        let sum: f64 = chosen.iter().map(|(_, weight)| weight).sum();
        (chosen.map(|(bone, _)| bone as u16), chosen.map(|(_, weight)| (weight / sum) as f32))
    }

    fn trunk(&self, at: Vec3, share: f64, weights: &mut Weights) {
        let [belly, ribs, neck] = self.trunk.map(|handover| handover.share(at));
        let mut left = share;
        let mut take = |bone: Bone, part: f64| {
            weights[bone.index()] += left * part;
            left *= 1.0 - part;
        };
        take(Bone::Neck, neck);
        for limbs in &self.limbs {
            take(Bone::Clavicle(limbs.side), limbs.girdle[0].share(at) * limbs.girdle[1].share(at));
        }
        take(Bone::Thorax, ribs);
        take(Bone::Abdomen, belly);
        take(Bone::Pelvis, 1.0);
    }

    fn arm(&self, at: Vec3, side: Side, share: f64, weights: &mut Weights) {
        let limbs = &self.limbs[side.index()];
        let shoulder = limbs.shoulder.share(at);
        self.trunk(at, share * (1.0 - shoulder), weights);
        let mut left = share * shoulder;
        let mut take = |bone: Bone, part: f64| {
            weights[bone.index()] += left * part;
            left *= 1.0 - part;
        };
        take(Bone::UpperArm(side), 1.0 - limbs.elbow.share(at));
        take(Bone::Hand(side), limbs.wrist.share(at));
        take(Bone::ForearmTwist(side), limbs.turn.share(at));
        take(Bone::Forearm(side), 1.0);
    }

    fn leg(&self, at: Vec3, side: Side, share: f64, weights: &mut Weights) {
        let limbs = &self.limbs[side.index()];
        let hip = limbs.hip.share(at);
        self.trunk(at, share * (1.0 - hip), weights);
        let mut left = share * hip;
        let mut take = |bone: Bone, part: f64| {
            weights[bone.index()] += left * part;
            left *= 1.0 - part;
        };
        take(Bone::Thigh(side), 1.0 - limbs.knee.share(at));
        take(Bone::Foot(side), limbs.ankle.share(at));
        take(Bone::Shank(side), 1.0);
    }
}
