//! The body's skin, bent to a posture, as matter.

use super::{matter::Form, theme::Theme};
use crate::{
    body::{Skin, SkinPart},
    geometry::{Vec3 as Point, unit_or},
    posture::Posture,
};

/// The skin of a body in a posture.
pub fn form(skin: &Skin, posture: &Posture, theme: &Theme) -> Form {
    let (positions, normals) = posed(skin, posture);
    let matter = skin
        .parts
        .iter()
        .map(|part| match part {
            SkinPart::Body => theme.body,
            SkinPart::Shoe => theme.shoe,
        })
        .collect();
    Form { positions, normals, matter, open: Vec::new(), triangles: skin.triangles.clone() }
}

/// Positions and normals of the skin in a posture: each vertex follows its bones by their weights.
fn posed(skin: &Skin, posture: &Posture) -> (Vec<Point>, Vec<Point>) {
    let bones = posture.bones();
    let moves: Vec<_> = bones.iter().zip(&skin.bind).map(|(to, from)| (to * from.inverse()).to_homogeneous()).collect();
    let vertex = |(index, (numbers, weights)): (usize, &([u16; 4], [f32; 4]))| {
        let blended = numbers
            .iter()
            .zip(weights)
            .map(|(number, weight)| moves[usize::from(*number)] * f64::from(*weight))
            .sum::<nalgebra::Matrix4<f64>>();
        let at = (blended * skin.positions[index].push(1.0)).xyz();
        (at, unit_or((blended * skin.normals[index].push(0.0)).xyz(), skin.normals[index]))
    };
    skin.weights.iter().enumerate().map(vertex).unzip()
}
