//! The rig's surfaces as matter.

use std::collections::HashMap;

use super::{
    hand::Choice,
    matter::Form,
    theme::{Matter, Theme},
    thin::Thinner,
};
use crate::{
    geometry::Pose,
    posture::Moment,
    rig::{Handle, Rig, RigPart, Surface},
};

/// Places within this are the same, m.
const SAME: f64 = 2e-4;

/// All surfaces of a rig at a moment that are not hidden; those of the part in hand in the colour of what is chosen.
/// Where there is somebody to thin them, they have few triangles, and small parts are left out.
pub fn form(rig: &Rig, moment: &Moment, choice: &Choice, theme: &Theme, mut thinner: Option<&mut Thinner>) -> Form {
    let mut form = Form::default();
    let small = if thinner.is_some() { &[] } else { rig.small_surfaces() };
    for (place, surface) in rig.surfaces().iter().chain(small).enumerate() {
        let handle = Handle::of(surface.part, rig);
        if handle.is_some_and(|handle| choice.hidden.contains(&handle)) {
            continue;
        }
        let matter = theme.matter(surface.kind);
        let is_held = choice.held.is_some() && handle == choice.held;
        let matter = if is_held { theme.held(matter) } else { matter };
        match thinner.as_deref_mut().and_then(|thinner| thinner.surface(place, surface)) {
            None => add(&mut form, rig, surface, moment, matter),
            Some(thin) => add(&mut form, rig, &thin, moment, matter),
        }
    }
    form
}

/// Surfaces of a kept rig that stand where none of the present one does, seen through: what is alike would only cover it.
pub fn kept(rig: &Rig, present: &Rig, moment: &Moment, theme: &Theme) -> Form {
    let mut form = Form::default();
    // Rails may stand at other places of the list; they don't move.
    let key = |part: RigPart| if matches!(part, RigPart::Rail(_)) { RigPart::Rail(0) } else { part };
    let mut there: HashMap<RigPart, Vec<&Surface>> = HashMap::new();
    for surface in present.surfaces().iter().chain(present.small_surfaces()) {
        there.entry(key(surface.part)).or_default().push(surface);
    }
    for surface in rig.surfaces().iter().chain(rig.small_surfaces()) {
        let pose = rig.part_pose(&surface.part, moment);
        let stands = |other: &&Surface| {
            other.kind == surface.kind
                && other.positions.len() == surface.positions.len()
                && near(&pose, &present.part_pose(&other.part, moment))
                && other.positions.iter().zip(&surface.positions).all(|(a, b)| (a - b).norm_squared() < SAME * SAME)
        };
        if there.get(&key(surface.part)).is_some_and(|list| list.iter().any(stands)) {
            continue;
        }
        add(&mut form, rig, surface, moment, theme.kept);
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
    for surface in rig.surfaces().iter().chain(rig.small_surfaces()) {
        if Handle::of(surface.part, rig).is_some_and(belongs) {
            add(&mut form, rig, surface, moment, theme.ghost);
        }
    }
    form
}

fn near(one: &Pose, other: &Pose) -> bool {
    (one.to_homogeneous() - other.to_homogeneous()).abs().max() < SAME
}

fn add(form: &mut Form, rig: &Rig, surface: &Surface, moment: &Moment, matter: Matter) {
    let pose = rig.part_pose(&surface.part, moment);
    let positions: Vec<_> = surface.positions.iter().map(|p| (pose * nalgebra::Point3::from(*p)).coords).collect();
    let normals: Vec<_> = surface.normals.iter().map(|n| pose.rotation * n).collect();
    let from = form.triangles.len();
    form.add(&positions, &normals, &surface.triangles, matter);
    form.pieces.push((surface.part, from..form.triangles.len()));
}
