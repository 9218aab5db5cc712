//! One smooth skin over the body, made once for a body and bent with its bones.
//!
//! The body down to wrists and ankles is one closed surface; gloves and shoes are closed surfaces that it enters.

pub(super) mod contour;
mod figure;
pub(super) mod form;

use nalgebra::Quaternion;
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
    /// For a graphics card and for pictures: about 7.5 mm, finer at hands and feet.
    Fine,
}

/// What a stretch of skin is, for its material.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SkinPart {
    /// Body and head.
    Body,
    /// Shoes.
    Shoe,
    /// Helmet or headset.
    Headgear,
}

/// Up to four bones by [`Bone::index`], heaviest first, and their weights, which sum to 1.
pub type Binding = ([u16; 4], [f32; 4]);

/// A mesh with the bones that move it.
#[derive(Clone, Debug)]
pub struct Skin {
    /// Positions in the pose in which the skin was made, W, m.
    pub positions: Vec<Vec3>,
    /// Unit normals.
    pub normals: Vec<Vec3>,
    /// Triangles, anticlockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// What moves each vertex.
    pub weights: Vec<Binding>,
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
            SkinDetail::Coarse => [mm(12.0), mm(5.5), mm(6.5)],
            SkinDetail::Fine => [mm(7.5), mm(3.2), mm(5.0)],
        };
        let [left, right] = Side::BOTH;
        let pieces = [
            (figure.body(), whole, SkinPart::Body),
            (figure.hand(left), hand, SkinPart::Body),
            (figure.hand(right), hand, SkinPart::Body),
            (figure.shoe(left), shoe, SkinPart::Shoe),
            (figure.shoe(right), shoe, SkinPart::Shoe),
        ];
        let headgear = figure.headgear().into_iter().map(|piece| (piece, shoe, SkinPart::Headgear));
        let pieces: Vec<_> = pieces.into_iter().chain(headgear).collect();
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

    /// Positions and unit normals with the bones in these poses ([`Posture::bones`]), to a micrometre.
    ///
    /// Dual quaternion blending: Kavan, Collins, Zara and O'Sullivan, ACM Trans. Graph. 27(4), 2008. A limb that turns
    /// about its own axis keeps its girth.
    pub fn posed(&self, bones: &[Pose; Bone::COUNT]) -> (Vec<Vec3>, Vec<Vec3>) {
        let motions: [Motion; Bone::COUNT] =
            std::array::from_fn(|bone| Motion::of(&(bones[bone] * self.bind[bone].inverse())));
        let mut positions = vec![Vec3::zeros(); self.positions.len()];
        let mut normals = vec![Vec3::zeros(); self.positions.len()];
        const CHUNK: usize = 4096;
        positions.par_chunks_mut(CHUNK).zip(normals.par_chunks_mut(CHUNK)).enumerate().for_each(|(chunk, moved)| {
            let from = chunk * CHUNK;
            let to = from + moved.0.len();
            let still = self.positions[from..to].iter().zip(&self.normals[from..to]).zip(&self.weights[from..to]);
            let moved = moved.0.iter_mut().zip(moved.1);
            for (((position, normal), (bones, weights)), moved) in still.zip(moved) {
                // Heaviest first.
                let motion = if weights[1] == 0.0 {
                    motions[usize::from(bones[0])]
                } else {
                    Motion::blend(&motions, *bones, *weights)
                };
                let turn = motion.turn();
                *moved.0 = turn.apply(position, motion.shift());
                *moved.1 = turn.apply(normal, [0.0; 3]);
            }
        });
        (positions, normals)
    }
}

/// A rigid motion as a dual quaternion, vector parts first, the real part of length 1.
#[derive(Clone, Copy)]
struct Motion {
    real: [f32; 4],
    dual: [f32; 4],
}

/// The rows of a rotation.
struct Turn([[f32; 3]; 3]);

impl Motion {
    fn of(pose: &Pose) -> Self {
        let rotation = pose.rotation.quaternion();
        let dual = Quaternion::from_imag(pose.translation.vector) * rotation * 0.5;
        let narrow = |q: &Quaternion<f64>| [q.i, q.j, q.k, q.w].map(|x| x as f32);
        Self { real: narrow(rotation), dual: narrow(&dual) }
    }

    fn blend(motions: &[Self; Bone::COUNT], bones: [u16; 4], weights: [f32; 4]) -> Self {
        let lead = &motions[usize::from(bones[0])];
        let mut sum = Self { real: lead.real.map(|x| x * weights[0]), dual: lead.dual.map(|x| x * weights[0]) };
        for (bone, weight) in bones.into_iter().zip(weights).skip(1) {
            if weight == 0.0 {
                break;
            }
            let motion = &motions[usize::from(bone)];
            // q and −q are one rotation: take the one on the side of the first bone.
            let weight = if dot(&motion.real, &lead.real) < 0.0 { -weight } else { weight };
            for at in 0..4 {
                sum.real[at] += weight * motion.real[at];
                sum.dual[at] += weight * motion.dual[at];
            }
        }
        let shrink = dot(&sum.real, &sum.real).sqrt().recip();
        Self { real: sum.real.map(|x| x * shrink), dual: sum.dual.map(|x| x * shrink) }
    }

    fn shift(&self) -> [f32; 3] {
        let ([x, y, z, w], [a, b, c, d]) = (self.real, self.dual);
        // Twice the vector part of dual times the conjugate of real.
        [
            2.0 * (w * a - d * x + c * y - b * z),
            2.0 * (w * b - d * y + a * z - c * x),
            2.0 * (w * c - d * z + b * x - a * y),
        ]
    }

    fn turn(&self) -> Turn {
        let [x, y, z, w] = self.real;
        Turn([
            [1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y - w * z), 2.0 * (x * z + w * y)],
            [2.0 * (x * y + w * z), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z - w * x)],
            [2.0 * (x * z - w * y), 2.0 * (y * z + w * x), 1.0 - 2.0 * (x * x + y * y)],
        ])
    }
}

impl Turn {
    fn apply(&self, to: &Vec3, shift: [f32; 3]) -> Vec3 {
        let [x, y, z] = [to.x as f32, to.y as f32, to.z as f32];
        let row = |at: usize| f64::from(self.0[at][0] * x + self.0[at][1] * y + self.0[at][2] * z + shift[at]);
        Vec3::new(row(0), row(1), row(2))
    }
}

fn dot(a: &[f32; 4], b: &[f32; 4]) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}

/// Meshes a piece and binds it to the bones.
fn draw(piece: &Piece, cell: f64, rig: &Rigging) -> (Mesh, Vec<Binding>) {
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
                elbow: hinge(upper, fore, 0.10 * bones.forearm),
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
    fn bind(&self, at: Vec3, form: &Form) -> Binding {
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

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use nalgebra::UnitQuaternion;

    use super::*;
    use crate::{body::tests::person, geometry::mirrored, project::Population};

    const BODIES: [(Population, f64, f64); 6] = [
        (Population::Men, 1760.0, 82.0),
        (Population::Men, 1960.0, 150.0),
        (Population::Men, 1640.0, 52.0),
        (Population::Women, 1630.0, 67.0),
        (Population::Women, 1600.0, 110.0),
        (Population::Women, 1480.0, 43.0),
    ];

    #[test]
    fn headgear_stands_out_from_the_head_by_what_it_measures() {
        let bare = person(Population::Women, 1630.0, 67.0);
        let mut worn = bare.clone();
        worn.worn.headgear = Some([mm(45.0), mm(90.0)]);
        let [bare_skin, worn_skin] = [&bare, &worn].map(|body| Skin::of(body, mm(15.0), SkinDetail::Coarse));
        let head = bare_skin.bind[Bone::Head.index()];
        let reach = |skin: &Skin, way: Vec3, part: SkinPart| {
            let corners = skin.positions.iter().zip(&skin.parts).filter(|(_, of)| **of == part);
            corners.map(|(at, _)| head.inverse_transform_point(&(*at).into()).coords.dot(&way)).fold(f64::MIN, f64::max)
        };
        let (over, before) = (SkinPart::Headgear, SkinPart::Body);
        let higher = reach(&worn_skin, Vec3::z(), over) - reach(&bare_skin, Vec3::z(), before);
        assert!((higher - mm(45.0)).abs() < mm(2.0), "{higher}");
        let ahead = reach(&worn_skin, Vec3::x(), over) - bare.skeleton.eye_forward;
        assert!((ahead - mm(90.0)).abs() < mm(2.0), "{ahead}");
        assert!((reach(&worn_skin, Vec3::z(), before) - reach(&bare_skin, Vec3::z(), before)).abs() < mm(0.1));
    }

    #[test]
    fn skin_is_closed_finite_and_bound_to_bones() {
        for (population, stature, mass) in BODIES {
            let skin = Skin::of(&person(population, stature, mass), mm(15.0), SkinDetail::Coarse);
            let mut edges: HashMap<(u32, u32), i32> = HashMap::new();
            for &[a, b, c] in &skin.triangles {
                for (from, to) in [(a, b), (b, c), (c, a)] {
                    *edges.entry((from.min(to), from.max(to))).or_default() += if from < to { 1 } else { -1 };
                }
            }
            let open = edges.values().filter(|&&balance| balance != 0).count();
            assert_eq!(open, 0, "open edges in the skin of {stature} mm, {mass} kg");
            assert!(skin.positions.iter().chain(&skin.normals).all(|p| p.iter().all(|x| x.is_finite())));
            for (indices, weights) in &skin.weights {
                assert!(
                    (weights.iter().sum::<f32>() - 1.0).abs() < 1e-5 && weights.iter().all(|&weight| weight >= 0.0)
                );
                assert!(indices.iter().all(|&bone| usize::from(bone) < Bone::COUNT));
            }
        }
    }

    #[test]
    fn field_never_exceeds_the_distance_to_the_skin() {
        // The surface is found by leaving out what the field says is far; so the field must not exaggerate.
        for (population, stature, mass) in BODIES {
            let body = person(population, stature, mass);
            let posture = Posture::for_skin(&body, mm(15.0));
            let piece = Figure::of(&body, &posture, mm(15.0)).body();
            let form = Form::of(&piece.shapes, &piece.cuts);
            let (low, high) = form.bounds();
            let mesh = isosurface(&form, low, high, mm(14.0));
            // Quasi-random points: the fractional parts of multiples of the plastic number's powers (Roberts 2018).
            for step in 1..=600_u32 {
                let share = [0.819_172_5, 0.671_043_6, 0.549_700_5].map(|a: f64| (0.5 + a * f64::from(step)).fract());
                let at = low + (high - low).component_mul(&Vec3::from(share));
                let nearest = mesh.positions.iter().map(|p| (p - at).norm()).fold(f64::INFINITY, f64::min);
                let value = form.value(at).abs();
                assert!(value <= nearest + mm(1.0), "{value} at {at:?}, {nearest} from the skin");
            }
        }
    }

    #[test]
    fn skin_is_as_tall_and_wide_as_the_body() {
        for (population, stature, mass) in BODIES {
            let body = person(population, stature, mass);
            let skin = Skin::of(&body, mm(15.0), SkinDetail::Coarse);
            let bones = &body.skeleton;
            let pelvis = skin.bind[Bone::Pelvis.index()];
            let head = skin.bind[Bone::Head.index()];
            let extent = |frame: &Pose, axis: usize, part: SkinPart, bone: Bone| {
                let of_bone = skin
                    .positions
                    .iter()
                    .zip(&skin.weights)
                    .zip(&skin.parts)
                    .filter(|((_, weight), known)| **known == part && usize::from(weight.0[0]) == bone.index());
                let coordinates = of_bone.map(|((p, _), _)| frame.inverse_transform_point(&(*p).into())[axis]);
                coordinates.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
            };
            let close = |value: f64, expected: f64, within: f64, what: &str| {
                assert!(
                    (value - expected).abs() < mm(within),
                    "{what}: {value} for {expected} ({stature} mm, {mass} kg)"
                );
            };
            close(extent(&head, 2, SkinPart::Body, Bone::Head).1, bones.head_up, 6.0, "top of the head");
            let (right, left) = extent(&pelvis, 1, SkinPart::Body, Bone::Pelvis);
            close(left - right, body.dimensions.m("hipbreadthsitting"), 35.0, "breadth of the hips");
            close(-extent(&pelvis, 0, SkinPart::Body, Bone::Pelvis).0, bones.buttock_to_hip, 12.0, "rear");
            close(-extent(&pelvis, 2, SkinPart::Body, Bone::Pelvis).0, bones.seat_to_hip, 16.0, "bottom");
            let foot = skin.bind[Bone::Foot(Side::Left).index()];
            let (rear, tip) = extent(&foot, 0, SkinPart::Shoe, Bone::Foot(Side::Left));
            close(tip - rear, bones.shoe_length, 8.0, "length of the shoe");
            close(-extent(&foot, 2, SkinPart::Shoe, Bone::Foot(Side::Left)).0, bones.ankle_height, 3.0, "sole");
        }
    }

    #[test]
    fn a_rod_in_the_hand_is_held_but_not_entered_deeply() {
        let body = person(Population::Men, 1760.0, 82.0);
        let tube = mm(15.0);
        let posture = Posture::for_skin(&body, tube);
        for side in Side::BOTH {
            let piece = Figure::of(&body, &posture, tube).hand(side);
            let form = Form::of(&piece.shapes, &piece.cuts);
            let arm = &posture.arms[side.index()];
            let rod = arm.hand.rotation * Vec3::new(arm.tilt.cos(), 0.0, -arm.tilt.sin());
            for step in -3..=3 {
                // Air on the axis of the rod; the flesh begins at its surface, give or take what flesh yields.
                let room = form.value(arm.grip + rod * (mm(10.0) * f64::from(step))) / form::SAFE;
                assert!(room > 0.6 * tube && room < 1.3 * tube, "{side:?}, {step}: {room}");
            }
        }
    }

    #[test]
    fn both_sides_are_mirror_images() {
        let body = person(Population::Women, 1700.0, 62.0);
        let posture = Posture::for_skin(&body, mm(14.0));
        let figure = Figure::of(&body, &posture, mm(14.0));
        let (whole, left, right) = (figure.body(), figure.hand(Side::Left), figure.hand(Side::Right));
        let form = |piece: &Piece, at: Vec3| Form::of(&piece.shapes, &piece.cuts).value(at);
        let (low, high) = Form::of(&whole.shapes, &whole.cuts).bounds();
        for step in 1..=200_u32 {
            let share = [0.819_172_5, 0.671_043_6, 0.549_700_5].map(|a: f64| (0.5 + a * f64::from(step)).fract());
            let at = low + (high - low).component_mul(&Vec3::from(share));
            assert!((form(&whole, at) - form(&whole, mirrored(at))).abs() < 1e-9);
            assert!((form(&left, at) - form(&right, mirrored(at))).abs() < 1e-9);
        }
    }

    #[test]
    fn posed_on_its_own_bones_the_skin_stays_and_a_turn_of_all_bones_turns_it() {
        let skin = Skin::of(&person(Population::Men, 1760.0, 82.0), mm(15.0), SkinDetail::Coarse);
        let (positions, normals) = skin.posed(&skin.bind);
        let apart = |a: &[Vec3], b: &[Vec3]| a.iter().zip(b).map(|(p, q)| (p - q).norm()).fold(0.0, f64::max);
        assert!(apart(&positions, &skin.positions) < 1e-6 && apart(&normals, &skin.normals) < 1e-6);

        let turn = Pose::new(Vec3::new(0.4, -0.2, 1.1), Vec3::new(0.3, 2.4, -0.7));
        let turned: Vec<Vec3> = skin.positions.iter().map(|p| turn.rotation * p + turn.translation.vector).collect();
        assert!(apart(&skin.posed(&skin.bind.map(|bone| turn * bone)).0, &turned) < 2e-6);
    }

    #[test]
    fn a_forearm_turned_about_its_axis_keeps_its_girth() {
        // Linear blending would draw a wrist turned by 80° in to cos 40° = 0.77 of its girth.
        let body = person(Population::Men, 1760.0, 82.0);
        let skin = Skin::of(&body, mm(15.0), SkinDetail::Coarse);
        let mut bones = skin.bind;
        let fore = bones[Bone::Forearm(Side::Left).index()];
        let turned = |pose: Pose, angle: f64| {
            let about = UnitQuaternion::new(fore.rotation * Vec3::z() * angle);
            Pose::from_parts(pose.translation, about * pose.rotation)
        };
        for (bone, angle) in [(Bone::ForearmTwist(Side::Left), 0.7), (Bone::Hand(Side::Left), 1.4)] {
            bones[bone.index()] = turned(bones[bone.index()], angle);
        }
        let (positions, _) = skin.posed(&bones);
        let across = |p: &Vec3| {
            let local = fore.inverse_transform_point(&(*p).into());
            (local.x.hypot(local.y), local.z / body.skeleton.forearm)
        };
        for (before, after) in skin.positions.iter().zip(&positions) {
            let ((girth, along), (turned, _)) = (across(before), across(after));
            if girth < mm(80.0) && (-0.9..-0.2).contains(&along) {
                assert!((turned - girth).abs() < 0.04 * girth, "{girth} became {turned} at {along}");
            }
        }
    }
}
