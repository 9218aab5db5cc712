//! The rig's surfaces as matter.

use super::{matter::Form, theme::Theme};
use crate::{posture::Moment, rig::Rig};

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
