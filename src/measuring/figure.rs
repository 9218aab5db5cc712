//! Drawings of a body that show where the tape goes.

use nalgebra::Point3;

use super::{
    Stance, hand_and_foot,
    outline::{View, outlines},
};
use crate::{
    body::{Body, Skin, SkinDetail},
    geometry::{Mesh, Side, Vec3},
    posture::{ArmAngles, Bone, LegAngles, Posture},
    project::{Driver, Footwear},
    units::{deg, mm, to_mm},
};

/// What a line of a drawing is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StrokeKind {
    /// The body's outline.
    Body,
    /// Floor, wall, bench, books: what one measures from or with.
    Aid,
}

/// A line of a drawing, m, right and up.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// What it is.
    pub kind: StrokeKind,
    /// Its points.
    pub points: Vec<[f64; 2]>,
}

/// Where the tape of one dimension goes, m, right and up.
#[derive(Clone, Debug, PartialEq)]
pub struct Tape {
    /// The project's field.
    pub field: &'static str,
    /// The two points of the body that it measures between.
    pub ends: [[f64; 2]; 2],
    /// The dimension line beside them; a mass has none.
    pub line: Option<[[f64; 2]; 2]>,
    /// Where a book or the like is held for it.
    pub aids: Vec<Stroke>,
}

/// A drawing of one stance with the tapes of all dimensions that are taken in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Body, floor, bench.
    pub strokes: Vec<Stroke>,
    /// One a dimension.
    pub tapes: Vec<Tape>,
    /// Least and greatest corner of all, tapes included.
    pub bounds: [[f64; 2]; 2],
}

impl Figure {
    /// The tape of a field.
    pub fn tape(&self, field: &str) -> Option<&Tape> {
        self.tapes.iter().find(|tape| tape.field == field)
    }
}

/// The drawings of one body in every stance.
#[derive(Clone, Debug)]
pub struct Figures([Figure; Stance::ALL.len()]);

impl Figures {
    /// Draws a driver, bareheaded and barefoot. It takes some tenths of a second.
    pub fn of(driver: &Driver) -> Self {
        let dimensions = Body::of(driver).dimensions;
        let bare = Footwear {
            heel_sole_mm: 0.0,
            ball_sole_mm: 0.0,
            extra_length_mm: 0.0,
            width_mm: to_mm(dimensions.m("footbreadthhorizontal")),
        };
        let body = Body::of(&Driver { footwear: bare, clothing_mm: 0.0, headgear: None, ..driver.clone() });
        let skin = Skin::of(&body, ROD, SkinDetail::Coarse);
        Self(Stance::ALL.map(|stance| draw(&body, &skin, stance)))
    }

    /// The drawing of a stance.
    pub fn get(&self, stance: Stance) -> &Figure {
        let at = Stance::ALL.iter().position(|&other| other == stance);
        &self.0[at.unwrap_or(0)]
    }
}

/// Radius of the pencil in the fist, m.
const ROD: f64 = mm(5.0);
/// Distance of a dimension line from the body, and of one from the next, m.
const OFFSET: f64 = mm(70.0);
const NEXT: f64 = mm(55.0);
/// Half the length and thickness of a book seen from its edge, m.
const BOOK: [f64; 2] = [mm(110.0), mm(14.0)];

/// A posed body to be measured.
struct Model {
    bones: [crate::geometry::Pose; Bone::COUNT],
    mesh: Mesh,
    /// The bone that moves each corner most.
    owners: Vec<usize>,
    view: View,
}

impl Model {
    fn of(body: &Body, skin: &Skin, stance: Stance) -> Self {
        let (arm, leg) = match stance {
            Stance::ReachingSide => ([88.0, 0.0, 0.0, 4.0, 0.0, 0.0, 0.0], [0.0; 7]),
            Stance::SittingSide | Stance::SittingFront => {
                ([0.0, 3.0, 0.0, 90.0, 0.0, 0.0, 0.0], [90.0, 0.0, 0.0, 90.0, 0.0, 0.0, 0.0])
            }
            _ => ([0.0, 8.0, 0.0, 6.0, 0.0, 0.0, 0.0], [0.0, 4.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        };
        let leg = LegAngles::from_array(leg.map(deg));
        let posture = Posture::of_angles(body, ROD, &ArmAngles::from_array(arm.map(deg)), &leg);
        let bones = posture.bones();
        let (positions, normals) = skin.posed(&bones);
        let front = matches!(stance, Stance::StandingFront | Stance::SittingFront);
        Self {
            bones,
            mesh: Mesh { positions, normals, triangles: skin.triangles.clone() },
            owners: skin.weights.iter().map(|(bones, _)| usize::from(bones[0])).collect(),
            view: View { right: if front { Vec3::y() } else { Vec3::x() }, up: Vec3::z() },
        }
    }

    /// Place of a joint in the drawing, moved by a part of its bone's frame.
    fn joint(&self, bone: Bone, moved: Vec3) -> [f64; 2] {
        self.view.flat((self.bones[bone.index()] * Point3::from(moved)).coords)
    }

    /// Corners moved most by some bones, in the drawing.
    fn corners(&self, bones: &[Bone]) -> impl Iterator<Item = [f64; 2]> {
        let of = move |owner: usize| bones.iter().any(|bone| bone.index() == owner);
        let corners = self.mesh.positions.iter().zip(&self.owners).filter(move |&(_, &owner)| of(owner));
        corners.map(|(&at, _)| self.view.flat(at))
    }

    /// The corner that lies farthest in a direction among those moved by some bones.
    fn far(&self, way: [f64; 2], bones: &[Bone]) -> [f64; 2] {
        let along = |at: &[f64; 2]| at[0] * way[0] + at[1] * way[1];
        self.corners(bones).max_by(|a, b| along(a).total_cmp(&along(b))).unwrap_or_default()
    }

    /// How far left and how far right the body reaches at a height.
    fn through(&self, height: f64, bones: &[Bone]) -> [f64; 2] {
        let near = self.corners(bones).filter(|at| (at[1] - height).abs() < mm(15.0));
        near.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], at| [low.min(at[0]), high.max(at[0])])
    }

    /// How high the body reaches at a place along the drawing's right.
    fn top(&self, place: f64, bones: &[Bone]) -> f64 {
        let near = self.corners(bones).filter(|at| (at[0] - place).abs() < mm(12.0));
        near.map(|at| at[1]).fold(f64::NEG_INFINITY, f64::max)
    }
}

const RIGHT: [f64; 2] = [1.0, 0.0];
const LEFT: [f64; 2] = [-1.0, 0.0];
const UP: [f64; 2] = [0.0, 1.0];
const DOWN: [f64; 2] = [0.0, -1.0];

fn draw(body: &Body, skin: &Skin, stance: Stance) -> Figure {
    match stance {
        Stance::Hand => flat(hand_and_foot::hand(&body.dimensions), hand_tapes(body)),
        Stance::Foot => flat(hand_and_foot::foot(&body.dimensions), foot_tapes(body)),
        _ => {
            let model = Model::of(body, skin, stance);
            let lines = outlines(&model.mesh, &model.view);
            let body_lines = lines.into_iter().map(|points| Stroke { kind: StrokeKind::Body, points });
            let (aids, tapes) = measured(body, &model, stance);
            finish(body_lines.chain(aids).collect(), tapes)
        }
    }
}

fn flat(lines: Vec<Vec<[f64; 2]>>, tapes: Vec<Tape>) -> Figure {
    finish(lines.into_iter().map(|points| Stroke { kind: StrokeKind::Body, points }).collect(), tapes)
}

/// Adds up the bounds.
fn finish(strokes: Vec<Stroke>, tapes: Vec<Tape>) -> Figure {
    let mut bounds = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
    let tape_points = tapes.iter().flat_map(|tape| {
        tape.ends.iter().chain(tape.line.iter().flatten()).chain(tape.aids.iter().flat_map(|aid| &aid.points)).copied()
    });
    for at in strokes.iter().flat_map(|stroke| &stroke.points).copied().chain(tape_points) {
        for i in 0..2 {
            bounds[0][i] = bounds[0][i].min(at[i]);
            bounds[1][i] = bounds[1][i].max(at[i]);
        }
    }
    Figure { strokes, tapes, bounds }
}

fn aid(points: Vec<[f64; 2]>) -> Stroke {
    Stroke { kind: StrokeKind::Aid, points }
}

/// A closed rectangle by its least and greatest corner.
fn block(low: [f64; 2], high: [f64; 2]) -> Stroke {
    aid(vec![low, [high[0], low[1]], high, [low[0], high[1]], low])
}

/// A book that lies level with its underside or top at a height.
fn level_book(middle: f64, from: f64, to: f64) -> Stroke {
    block([middle - BOOK[0], from.min(to)], [middle + BOOK[0], from.max(to)])
}

/// A book that stands upright against a place.
fn upright_book(from: f64, to: f64, middle: f64) -> Stroke {
    block([from.min(to), middle - BOOK[0]], [from.max(to), middle + BOOK[0]])
}

/// A tape along the drawing's up between two heights, drawn at `x`.
fn upright(field: &'static str, ends: [[f64; 2]; 2], x: f64, aids: Vec<Stroke>) -> Tape {
    Tape { field, ends, line: Some(ends.map(|end| [x, end[1]])), aids }
}

/// A tape along the drawing's right between two places, drawn at `y`.
fn level(field: &'static str, ends: [[f64; 2]; 2], y: f64, aids: Vec<Stroke>) -> Tape {
    Tape { field, ends, line: Some(ends.map(|end| [end[0], y])), aids }
}

/// What stands around the body in a stance, and the tapes taken in it.
fn measured(body: &Body, model: &Model, stance: Stance) -> (Vec<Stroke>, Vec<Tape>) {
    let side = Side::Right;
    let bones = &body.skeleton;
    let (upper, fore, hand) = (Bone::UpperArm(side), Bone::Forearm(side), Bone::Hand(side));
    let (thigh, shank, foot) = (Bone::Thigh(side), Bone::Shank(side), Bone::Foot(side));
    let trunk = [Bone::Pelvis, Bone::Abdomen, Bone::Thorax];
    let top = model.far(UP, &[Bone::Head]);
    let floor = model.far(DOWN, &[foot])[1];
    let low = model.far(LEFT, &Bone::ALL)[0];
    let high = model.far(RIGHT, &Bone::ALL)[0];
    let ground = aid(vec![[low - 0.12, floor], [high + 0.12, floor]]);
    // The outer tip of the shoulder blade stands over the shoulder joint by the share of the upper arm that the joint
    // lies below it.
    let acromion = {
        let over = bones.upper_arm * (body.dimensions.m("acromionradialelength") / bones.upper_arm - 1.0) * 0.6;
        model.joint(upper, Vec3::new(0.0, 0.0, over))
    };
    match stance {
        Stance::StandingSide => {
            let back = model.far(LEFT, &trunk)[0];
            let wall = aid(vec![[back, floor], [back, top[1] + 0.16]]);
            let navel = floor + body.dimensions.m("stature") * 0.60;
            let [hollow, waist] = model.through(navel, &trunk);
            let first = high + OFFSET;
            let tapes = vec![
                upright(
                    "stature_mm",
                    [[high, floor], top],
                    first + NEXT,
                    vec![level_book(f64::midpoint(back, top[0]) + mm(20.0), top[1], top[1] + 2.0 * BOOK[1])],
                ),
                upright("shoulder_height_mm", [[high, floor], acromion], first, Vec::new()),
                level(
                    "waist_depth_mm",
                    [[hollow, navel], [waist, navel]],
                    navel,
                    vec![upright_book(waist, waist + 2.0 * BOOK[1], navel)],
                ),
            ];
            (vec![ground, wall], tapes)
        }
        Stance::StandingFront => {
            let crotch = model
                .mesh
                .positions
                .iter()
                .zip(&model.owners)
                .filter(|(at, owner)| **owner == Bone::Pelvis.index() && at.y.abs() < mm(20.0))
                .map(|(at, _)| at.z)
                .fold(f64::INFINITY, f64::min);
            let book = block([-mm(15.0), crotch - 0.22], [mm(15.0), crotch]);
            let scale = block([-0.20, floor - 0.045], [0.20, floor]);
            let tapes = vec![
                upright("inseam_mm", [[0.0, floor], [0.0, crotch]], 0.0, vec![book]),
                Tape { field: "mass_kg", ends: [[-0.20, floor]; 2], line: None, aids: vec![scale] },
            ];
            (vec![ground], tapes)
        }
        Stance::ReachingSide => {
            let back = model.far(LEFT, &trunk)[0];
            let wall = aid(vec![[back, floor], [back, top[1] + 0.10]]);
            let tip = model.far(RIGHT, &[hand]);
            // The thumb lies on the forefinger a little beyond the fist.
            let reach = [tip[0] + mm(20.0), tip[1]];
            let tape = level("arm_reach_mm", [[back, tip[1]], reach], top[1] + 0.04, Vec::new());
            (vec![ground, wall], vec![tape])
        }
        Stance::SittingSide => {
            let hip = model.joint(thigh, Vec3::zeros());
            let knee = model.joint(shank, Vec3::zeros());
            let seat = hip[1] - bones.seat_to_hip;
            let back = model.far(LEFT, &trunk)[0];
            let front = knee[0] - mm(90.0);
            let bench = block([back, seat - mm(40.0)], [front, seat]);
            let legs = aid(vec![[back + mm(30.0), seat - mm(40.0)], [back + mm(30.0), floor]]);
            let wall = aid(vec![[back, floor], [back, top[1] + 0.12]]);
            let eye =
                [model.joint(Bone::Head, Vec3::zeros())[0] + bones.eye_forward, top[1] - bones.head_up + bones.eye_up];
            let over_knee = model.top(knee[0] - mm(20.0), &Side::BOTH.map(Bone::Thigh));
            let thickest = hip[0] + 0.45 * (knee[0] - hip[0]);
            let over_thigh = model.top(thickest, &Side::BOTH.map(Bone::Thigh));
            let at_knee = |at: &[f64; 2]| (at[1] - knee[1]).abs() < mm(60.0);
            let before = model.corners(&[thigh, shank]).filter(at_knee).max_by(|a, b| a[0].total_cmp(&b[0]));
            let kneecap = before.unwrap_or(knee);
            let elbow = model.joint(fore, Vec3::zeros());
            let under = model.far(DOWN, &[fore, upper])[1];
            let at_elbow = |at: &[f64; 2]| (at[1] - elbow[1]).abs() < mm(25.0);
            let behind = model.corners(&[fore, upper]).filter(at_elbow).map(|at| at[0]).fold(f64::INFINITY, f64::min);
            let grip = model.joint(hand, Vec3::new(0.0, 0.0, -bones.wrist_to_grip));
            let left = back - OFFSET;
            let right = high + OFFSET;
            let tapes = vec![
                upright(
                    "sitting_height_mm",
                    [[back, seat], top],
                    left - NEXT,
                    vec![level_book(f64::midpoint(back, top[0]) + mm(20.0), top[1], top[1] + 2.0 * BOOK[1])],
                ),
                upright("eye_height_sitting_mm", [[back, seat], eye], left, Vec::new()),
                upright("shoulder_height_sitting_mm", [[back, seat], acromion], left + 0.5 * OFFSET, Vec::new()),
                level(
                    "buttock_knee_mm",
                    [[back, knee[1]], kneecap],
                    floor - OFFSET,
                    vec![upright_book(kneecap[0], kneecap[0] + 2.0 * BOOK[1], knee[1])],
                ),
                upright(
                    "knee_height_mm",
                    [[right, floor], [knee[0], over_knee]],
                    right,
                    vec![level_book(knee[0] - mm(20.0), over_knee, over_knee + 2.0 * BOOK[1])],
                ),
                upright(
                    "shoulder_elbow_mm",
                    [[elbow[0], under], acromion],
                    acromion[0] + mm(10.0),
                    vec![level_book(elbow[0], under, under - 2.0 * BOOK[1])],
                ),
                level(
                    "elbow_grip_mm",
                    [[behind, elbow[1]], grip],
                    elbow[1] + mm(95.0),
                    vec![aid(vec![[grip[0], grip[1] - mm(90.0)], [grip[0], grip[1] + mm(90.0)]])],
                ),
                upright(
                    "thigh_clearance_mm",
                    [[thickest, seat], [thickest, over_thigh]],
                    thickest,
                    vec![level_book(thickest, over_thigh, over_thigh + 2.0 * BOOK[1])],
                ),
            ];
            (vec![ground, wall, bench, legs], tapes)
        }
        Stance::SittingFront => {
            let seat = model.joint(thigh, Vec3::zeros())[1] - bones.seat_to_hip;
            let arms = [Side::Left, Side::Right].map(Bone::UpperArm);
            let legs = [Bone::Pelvis, Bone::Thigh(Side::Left), Bone::Thigh(Side::Right)];
            let (left, right) = (model.far(LEFT, &arms), model.far(RIGHT, &arms));
            let (hip_left, hip_right) = (model.far(LEFT, &legs), model.far(RIGHT, &legs));
            let bench = block([hip_left[0] - 0.12, seat - mm(40.0)], [hip_right[0] + 0.12, seat]);
            let thick = 2.0 * BOOK[1];
            let tapes = vec![
                level(
                    "shoulder_breadth_mm",
                    [left, [right[0], left[1]]],
                    top[1] + OFFSET,
                    vec![
                        upright_book(left[0] - thick, left[0], left[1]),
                        upright_book(right[0], right[0] + thick, left[1]),
                    ],
                ),
                level(
                    "hip_breadth_sitting_mm",
                    [hip_left, [hip_right[0], hip_left[1]]],
                    floor - OFFSET,
                    vec![
                        upright_book(hip_left[0] - thick, hip_left[0], hip_left[1]),
                        upright_book(hip_right[0], hip_right[0] + thick, hip_left[1]),
                    ],
                ),
            ];
            (vec![ground, bench], tapes)
        }
        Stance::Hand | Stance::Foot => (Vec::new(), Vec::new()),
    }
}

fn hand_tapes(body: &Body) -> Vec<Tape> {
    let (length, half) = (body.dimensions.m("handlength"), body.dimensions.m("handbreadth") / 2.0);
    let x = -half - mm(18.0);
    vec![Tape {
        field: "hand_length_mm",
        ends: [[0.0, 0.0], [half * 0.24, length]],
        line: Some([[x, 0.0], [x, length]]),
        aids: Vec::new(),
    }]
}

fn foot_tapes(body: &Body) -> Vec<Tape> {
    let (length, half) = (body.dimensions.m("footlength"), body.dimensions.m("footbreadthhorizontal") / 2.0);
    let x = half + mm(22.0);
    let wall = aid(vec![[-half - mm(20.0), 0.0], [half + mm(40.0), 0.0]]);
    vec![
        Tape {
            field: "foot_length_mm",
            ends: [[0.0, 0.0], [-half * 0.42, length]],
            line: Some([[x, 0.0], [x, length]]),
            aids: vec![wall],
        },
        level(
            "foot_breadth_mm",
            [[-half, body.dimensions.m("balloffootlength")], [half, length * 0.64]],
            length + mm(20.0),
            Vec::new(),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{measuring::Guide, project::Measurements};

    fn figures() -> (Body, Figures) {
        let driver = crate::project::parse(crate::project::starter()).unwrap().driver.clone();
        (Body::of(&driver), Figures::of(&driver))
    }

    #[test]
    fn every_dimension_but_mass_has_a_tape_as_long_as_the_dimension() {
        // The drawing is of this very body: each tape on it is as long as the dimension, to what the drawn stance and
        // the skin leave: within 12 mm and 6 %.
        let (body, figures) = figures();
        for &(field, variable, label, ..) in Measurements::LIST {
            let guide = Guide::of(field).unwrap();
            let tape = figures.get(guide.stance).tape(field).unwrap_or_else(|| panic!("no tape for {label}"));
            let Some([a, b]) = tape.line else {
                assert_eq!(field, "mass_kg");
                continue;
            };
            let drawn = (b[0] - a[0]).hypot(b[1] - a[1]);
            let real = body.dimensions.m(variable);
            assert!((drawn - real).abs() < mm(12.0) + 0.06 * real, "{label}: {drawn:.3} m drawn, {real:.3} m");
        }
    }
}
