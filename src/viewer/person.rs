//! The body's skin, bent to a posture, as matter.

use super::{matter::Form, theme::Theme};
use crate::{
    body::{Skin, SkinPart},
    posture::Posture,
};

/// The skin of a body in a posture.
pub fn form(skin: &Skin, posture: &Posture, theme: &Theme) -> Form {
    let (positions, normals) = skin.posed(&posture.bones());
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
