//! The body's skin, bent to a posture, as matter.

use super::{
    matter::Form,
    theme::{Matter, Theme},
};
use crate::{
    body::{Skin, SkinPart},
    posture::Posture,
};

/// The driver's skin in a posture.
pub fn form(skin: &Skin, posture: &Posture, theme: &Theme) -> Form {
    of(skin, posture, |part| match part {
        SkinPart::Body => theme.body,
        SkinPart::Shoe | SkinPart::Headgear => theme.shoe,
    })
}

/// Somebody else's skin in a posture.
pub fn ghost(skin: &Skin, posture: &Posture, theme: &Theme) -> Form {
    of(skin, posture, |_| theme.ghost)
}

fn of(skin: &Skin, posture: &Posture, matter: impl Fn(SkinPart) -> Matter) -> Form {
    let (positions, normals) = skin.posed(&posture.bones());
    let matter = skin.parts.iter().map(|&part| matter(part)).collect();
    Form { positions, normals, matter, open: Vec::new(), triangles: skin.triangles.clone() }
}
