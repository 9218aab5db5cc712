//! The rig's surfaces as matter.

use std::collections::HashMap;

use super::{matter::Form, theme::Theme};
use crate::{
    geometry::Pose,
    posture::Moment,
    rig::{Rig, RigPart, Surface},
};

/// Places within this are the same, m.
const SAME: f64 = 2e-4;

/// All surfaces of a rig at a moment.
pub fn form(rig: &Rig, moment: &Moment, theme: &Theme) -> Form {
    let mut form = Form::default();
    for surface in rig.surfaces() {
        let pose = rig.part_pose(&surface.part, moment);
        let positions: Vec<_> = surface.positions.iter().map(|p| (pose * nalgebra::Point3::from(*p)).coords).collect();
        let normals: Vec<_> = surface.normals.iter().map(|n| pose.rotation * n).collect();
        form.add(&positions, &normals, &surface.triangles, theme.matter(surface.kind));
    }
    form
}

/// Surfaces of a kept rig that stand where none of the present one does, seen through: what is alike would only cover it.
pub fn kept(rig: &Rig, present: &Rig, moment: &Moment, theme: &Theme) -> Form {
    let mut form = Form::default();
    // Rails may stand at other places of the list; they don't move.
    let key = |part: RigPart| if matches!(part, RigPart::Rail(_)) { RigPart::Rail(0) } else { part };
    let mut there: HashMap<RigPart, Vec<&Surface>> = HashMap::new();
    for surface in present.surfaces() {
        there.entry(key(surface.part)).or_default().push(surface);
    }
    for surface in rig.surfaces() {
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
        let positions: Vec<_> = surface.positions.iter().map(|p| (pose * nalgebra::Point3::from(*p)).coords).collect();
        let normals: Vec<_> = surface.normals.iter().map(|n| pose.rotation * n).collect();
        form.add(&positions, &normals, &surface.triangles, theme.kept);
    }
    form
}

fn near(one: &Pose, other: &Pose) -> bool {
    (one.to_homogeneous() - other.to_homogeneous()).abs().max() < SAME
}
