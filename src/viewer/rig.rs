//! The rig's surfaces as matter.

use super::{matter::Form, theme::Theme};
use crate::{posture::Moment, rig::Rig};

/// All surfaces of a rig at a moment.
pub fn form(rig: &Rig, moment: &Moment, theme: &Theme) -> Form {
    let mut form = Form::default();
    for surface in rig.surfaces(moment) {
        form.add(&surface.positions, &surface.normals, &surface.triangles, theme.matter(surface.kind));
    }
    form
}
