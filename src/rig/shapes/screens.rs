//! Screens: casings as they are measured to, and a dark picture in each.

use super::{Surface, SurfaceKind, draft::Draft};
use crate::{
    geometry::{Pose, Vec3, from_axes, unit_or},
    rig::{Pane, RigPart, ScreensPart},
    units::mm,
};

/// How far a picture stands out of its casing, m: just enough to be seen.
const OUT: f64 = mm(0.4);

pub(super) fn surfaces(screens: Option<&ScreensPart>) -> Vec<Surface> {
    let Some(screens) = screens else { return Vec::new() };
    let casings = screens.solids.iter().map(|(name, solid)| {
        let mesh = Draft::rounded_box(solid.half, solid.round, 2).at(&solid.pose).mesh();
        Surface::new(RigPart::Screen(name), SurfaceKind::Housing, mesh)
    });
    casings.chain(screens.panes.iter().filter_map(picture)).collect()
}

fn picture(pane: &Pane) -> Option<Surface> {
    let (left, up) = (pane.left[0] - pane.right[0], pane.left[1] - pane.left[0]);
    let half = Vec3::new(OUT, left.norm() / 2.0, up.norm() / 2.0);
    if half.min() < mm(0.1) {
        return None;
    }
    let (left, up) = (unit_or(left, Vec3::y()), unit_or(up, Vec3::z()));
    let middle = (pane.left[0] + pane.left[1] + pane.right[0] + pane.right[1]) / 4.0;
    let pose = Pose::from_parts(middle.into(), from_axes(left.cross(&up), left, up));
    let mesh = Draft::rounded_box(half, mm(0.2), 1).at(&pose).mesh();
    Some(Surface::new(RigPart::Screen(pane.name), SurfaceKind::Grip, mesh))
}
