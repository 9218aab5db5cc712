//! The rig's surfaces as matter.

use super::{
    hand::Choice,
    matter::Form,
    theme::{Matter, Theme},
};
use crate::{
    posture::Moment,
    rig::{Handle, Rig, Surface},
};

/// All surfaces of a rig at a moment that are not hidden; those of the part in hand in the colour of what is chosen.
pub fn form(rig: &Rig, moment: &Moment, choice: &Choice, theme: &Theme) -> Form {
    let mut form = Form::default();
    for surface in rig.surfaces() {
        let handle = Handle::of(surface.part, rig);
        if handle.is_some_and(|handle| choice.hidden.contains(&handle)) {
            continue;
        }
        let matter = theme.matter(surface.kind);
        let is_held = choice.held.is_some() && handle == choice.held;
        add(&mut form, rig, surface, moment, if is_held { theme.held(matter) } else { matter });
    }
    form
}

/// One part of a rig at a moment.
pub fn part(rig: &Rig, moment: &Moment, handle: Handle, theme: &Theme) -> Form {
    let whole = match handle {
        Handle::RailEnd(index, _) => Handle::Rail(index),
        other => other,
    };
    let mut form = Form::default();
    // Pedals go with the set that carries them.
    let belongs = |of: Handle| of == whole || (whole == Handle::PedalSet && matches!(of, Handle::Pedal(_)));
    for surface in rig.surfaces() {
        if Handle::of(surface.part, rig).is_some_and(belongs) {
            add(&mut form, rig, surface, moment, theme.ghost);
        }
    }
    form
}

fn add(form: &mut Form, rig: &Rig, surface: &Surface, moment: &Moment, matter: Matter) {
    let pose = rig.part_pose(&surface.part, moment);
    let positions: Vec<_> = surface.positions.iter().map(|p| (pose * nalgebra::Point3::from(*p)).coords).collect();
    let normals: Vec<_> = surface.normals.iter().map(|n| pose.rotation * n).collect();
    let from = form.triangles.len();
    form.add(&positions, &normals, &surface.triangles, matter);
    form.pieces.push((surface.part, from..form.triangles.len()));
}
