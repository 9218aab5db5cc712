//! The finished skin: measured with a tape, held against the collision shapes, bent and looked at.

#![expect(clippy::print_stdout, reason = "tables for whoever runs the tests with --nocapture")]

mod bends;
mod fit;
mod hug;
mod raster;
mod tape;

use heelpoint::{
    body::{Body, Skin, SkinDetail},
    geometry::{Pose, Side, Vec3},
    posture::{ArmAngles, Bone, LegAngles, Posture, forward_arm, forward_leg},
    project::{Driver, Population},
    units::mm,
};
use nalgebra::Matrix3;

/// Radius of the rod in the hands, m.
const TUBE: f64 = mm(15.0);

/// Percentiles 5, 50 and 95 of both sexes, and a heavy and a light driver of one stature: name, stature, mass.
const BODIES: [(&str, Population, f64, f64); 8] = [
    ("man 5", Population::Men, 1648.0, 64.4),
    ("man 50", Population::Men, 1755.0, 84.6),
    ("man 95", Population::Men, 1870.0, 110.7),
    ("woman 5", Population::Women, 1525.0, 51.3),
    ("woman 50", Population::Women, 1626.0, 66.8),
    ("woman 95", Population::Women, 1740.0, 87.1),
    ("heavy man", Population::Men, 1755.0, 120.0),
    ("light man", Population::Men, 1755.0, 60.0),
];

fn body(population: Population, stature: f64, mass: f64) -> Body {
    Body::of(&Driver::measured(population, crate::of_size(stature, mass, [0.5, 0.05])))
}

fn skin(body: &Body, detail: SkinDetail) -> Skin {
    Skin::of(body, TUBE, detail)
}

/// The axes of a pose as a matrix.
fn axes(pose: &Pose) -> Matrix3<f64> {
    *pose.rotation.to_rotation_matrix().matrix()
}

fn posed(at: Vec3, axes: Matrix3<f64>) -> Pose {
    let rotation = nalgebra::Rotation3::from_matrix_unchecked(axes);
    Pose::from_parts(at.into(), nalgebra::UnitQuaternion::from_rotation_matrix(&rotation))
}

/// `whole` without its turn about z against `home`: how bones of upper arm and thigh are kept.
fn untwisted(home: &Matrix3<f64>, whole: &Matrix3<f64>) -> Matrix3<f64> {
    let (from, to) = (home.column(2).into_owned(), whole.column(2).into_owned());
    nalgebra::Rotation3::rotation_between(&from, &to).map_or(*whole, |turn| turn.matrix() * home)
}

/// The posture of the skin with these angles of the left and right arm.
fn with_arm(body: &Body, mut posture: Posture, angles: [f64; 7]) -> Posture {
    for side in Side::BOTH {
        let trunk = axes(&posture.sitting.thorax);
        let shoulder = posture.sitting.shoulders[side.index()];
        let [(_, upper), (elbow, fore), (wrist, hand)] = forward_arm(&body.skeleton, side, &trunk, shoulder, &angles);
        let arm = &mut posture.arms[side.index()];
        arm.upper_arm = posed(shoulder, untwisted(&trunk, &upper));
        arm.forearm = posed(elbow, fore);
        arm.hand = posed(wrist, hand);
        arm.angles = ArmAngles::from_array(angles);
    }
    posture
}

/// The posture with these angles of both legs.
fn with_leg(body: &Body, mut posture: Posture, angles: [f64; 7]) -> Posture {
    for side in Side::BOTH {
        let trunk = axes(&posture.sitting.pelvis);
        let hip = posture.sitting.hips[side.index()];
        let [(_, thigh), (knee, shank), (ankle, foot)] = forward_leg(&body.skeleton, side, &trunk, hip, &angles);
        let forward =
            trunk * *nalgebra::Rotation3::from_axis_angle(&Vec3::y_axis(), -std::f64::consts::FRAC_PI_2).matrix();
        let leg = &mut posture.legs[side.index()];
        leg.thigh = posed(hip, untwisted(&forward, &thigh));
        leg.shank = posed(knee, shank);
        leg.foot = posed(ankle, foot);
        leg.angles = LegAngles::from_array(angles);
    }
    posture
}

/// The bone that moves a vertex most.
fn main_bone(skin: &Skin, vertex: usize) -> Bone {
    Bone::ALL[usize::from(skin.weights[vertex].0[0])]
}

/// The closed surface that each vertex belongs to, by its first vertex: 0 is the body without gloves and shoes.
fn surfaces(skin: &Skin) -> Vec<u32> {
    fn root(parent: &mut [u32], mut at: u32) -> u32 {
        while parent[at as usize] != at {
            parent[at as usize] = parent[parent[at as usize] as usize];
            at = parent[at as usize];
        }
        at
    }
    let mut parent: Vec<u32> = (0..skin.positions.len() as u32).collect();
    for &[a, b, c] in &skin.triangles {
        for next in [b, c] {
            let (a, b) = (root(&mut parent, a), root(&mut parent, next));
            parent[a.max(b) as usize] = a.min(b);
        }
    }
    (0..parent.len() as u32).map(|at| root(&mut parent, at)).collect()
}
