//! The body's skin, bent to a posture, as matter.

use super::{
    matter::Form,
    theme::{Matter, Theme},
};
use crate::{
    body::{Skin, SkinPart},
    posture::{Bone, Posture},
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

/// The driver of a kept state, seen through.
pub fn kept(skin: &Skin, posture: &Posture, theme: &Theme) -> Form {
    of(skin, posture, |_| theme.kept)
}

/// The parts of the driver's skin that some bones move most, in a posture, as a ghost.
pub fn limb(skin: &Skin, posture: &Posture, bones: &[Bone], theme: &Theme) -> Form {
    let mut form = ghost(skin, posture, theme);
    let moved = |vertex: u32| {
        let (by, _) = skin.weights[vertex as usize];
        bones.iter().any(|bone| bone.index() == usize::from(by[0]))
    };
    form.triangles.retain(|triangle| triangle.iter().all(|&vertex| moved(vertex)));
    form
}

fn of(skin: &Skin, posture: &Posture, matter: impl Fn(SkinPart) -> Matter) -> Form {
    let (positions, normals) = skin.posed(&posture.bones());
    let matter = skin.parts.iter().map(|&part| matter(part)).collect();
    Form { positions, normals, matter, triangles: skin.triangles.clone(), ..Form::default() }
}
