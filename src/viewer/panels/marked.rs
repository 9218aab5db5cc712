//! The rail that is open in the left column, marked in the view: its edges, and which end is which.

use bevy_egui::egui::{Painter, Stroke};

use crate::{
    geometry::Vec3,
    rig::RailPart,
    viewer::{
        overlay::Pane,
        theme::{THICK, Theme},
    },
};

/// Radius of the mark at an end, points.
const END: f32 = 4.5;

/// Draws the rail on which a dragged one has caught, and where.
pub(super) fn caught(painter: &Painter, pane: &Pane, carrier: &RailPart, at: Vec3, theme: &Theme) {
    edges(painter, pane, carrier, theme);
    if let Some(at) = pane.at(at) {
        painter.circle(at, END, theme.accent, Stroke::new(THICK, theme.panel));
    }
}

/// Draws a rail's edges, a full disc at its first end and an open one at its other end.
pub(super) fn rail(painter: &Painter, pane: &Pane, rail: &RailPart, theme: &Theme) {
    edges(painter, pane, rail, theme);
    let (pose, half) = (rail.solid.pose, rail.solid.half);
    let place = |own: Vec3| pane.at((pose * nalgebra::Point3::from(own)).coords);
    for (z, fill) in [(-half.z, theme.accent), (half.z, theme.paper)] {
        if let Some(at) = place(Vec3::new(0.0, 0.0, z)) {
            painter.circle(at, END, fill, Stroke::new(THICK, theme.accent));
        }
    }
}

fn edges(painter: &Painter, pane: &Pane, rail: &RailPart, theme: &Theme) {
    let (pose, half) = (rail.solid.pose, rail.solid.half);
    let place = |own: Vec3| pane.at((pose * nalgebra::Point3::from(own)).coords);
    let corner = |index: usize| {
        let sign = |bit: usize| if index & (1 << bit) == 0 { -1.0 } else { 1.0 };
        place(Vec3::new(sign(0), sign(1), sign(2)).component_mul(&half))
    };
    let stroke = Stroke::new(1.5, theme.accent);
    for start in 0..8_usize {
        for bit in (0..3).filter(|bit| start & (1 << bit) == 0) {
            if let (Some(a), Some(b)) = (corner(start), corner(start | (1 << bit))) {
                painter.line_segment([a, b], stroke);
            }
        }
    }
}
