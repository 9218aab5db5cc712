//! What is written over a view, in the window and in pictures alike: balloons, angles, distances, principal dimensions
//! and the chosen finding, each word where it covers no other.

use bevy_egui::egui::{Align2, FontId, Painter, Pos2, Rect, Shape, Stroke, Vec2, vec2};

use super::{
    camera::{Bounds, StandardView},
    hand::Mark,
    labels::Labels,
    overlay::{self, Pane, arrow},
    scene::area,
    theme::{BALLOON, BODY, SMALL, THIN, Theme, strong},
};
use crate::{
    findings::{Finding, Level, Place},
    posture::{Moment, Posture},
    principal::{Dimension, Elevation, Span, dimensions},
    study::Study,
};

/// What is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Writing {
    /// The numbers of findings at their places.
    pub balloons: bool,
    /// The angle of every joint.
    pub angles: bool,
    /// Distances that are near their band's limit.
    pub distances: bool,
    /// The principal dimensions.
    pub dimensions: bool,
}

impl Default for Writing {
    fn default() -> Self {
        Self { balloons: true, angles: false, distances: false, dimensions: false }
    }
}

impl Writing {
    /// The same beside the page of reach, which has words of its own where findings have theirs.
    #[must_use]
    pub const fn beside(self, reaches: bool) -> Self {
        Self { balloons: self.balloons && !reaches, distances: self.distances && !reaches, ..self }
    }
}

/// What there is to write about.
pub struct Over<'a> {
    /// The study.
    pub study: Option<&'a Study>,
    /// The body now.
    pub posture: Option<&'a Posture>,
    /// Where wheel and pedals stand now.
    pub moment: Moment,
    /// The findings.
    pub findings: &'a [Finding],
    /// The chosen one, by its key.
    pub selected: Option<&'a str>,
    /// Whether good findings have their balloons too.
    pub show_all: bool,
    /// What is written.
    pub writing: Writing,
    /// Body and rig.
    pub bounds: &'a Bounds,
    /// The view, where it is a standard one.
    pub standard: Option<StandardView>,
}

/// Writes it all; the finding whose balloon lies under the pointer is returned.
pub fn over<'a>(
    painter: &Painter,
    pane: &Pane,
    over: &Over<'a>,
    pointer: Option<Pos2>,
    theme: &Theme,
) -> Option<&'a Finding> {
    let mut labels = Labels::new(pane.free.shrink(4.0));
    let is_selected = |finding: &Finding| over.selected == Some(finding.key().as_str());
    let writing = over.writing;
    let mut under = None;
    if writing.balloons {
        let seen = |finding: &&Finding| over.show_all || finding.level != Level::Good || is_selected(finding);
        let shown = over.findings.iter().filter(seen);
        under = overlay::balloons(painter, pane, shown, over.selected, pointer, over.bounds, &mut labels, theme);
        if let Some(finding) = over.findings.iter().find(|finding| is_selected(finding)) {
            overlay::selected(painter, pane, finding, &mut labels, theme);
        }
    }
    if let (true, Some(study), Some(posture)) = (writing.dimensions, over.study, over.posture) {
        let view = elevation(pane, over.standard);
        for dimension in dimensions(&study.solved, posture, over.bounds.extent()).iter().filter(|one| one.view == view)
        {
            drawn(painter, pane, dimension, &mut labels, theme);
        }
    }
    if writing.distances {
        let near = over.findings.iter().filter(|finding| finding.is_close() && !is_selected(finding));
        distances(painter, pane, near, &over.moment, &mut labels, theme);
    }
    if let (true, Some(posture)) = (writing.angles, over.posture) {
        overlay::joint_angles(painter, pane, posture, &mut labels, theme);
    }
    under
}

/// The dimensions of a standard view, and what it has to hold to show them.
pub fn beside(
    study: &Study,
    posture: &Posture,
    bounds: &Bounds,
    standard: Option<StandardView>,
) -> (Elevation, Bounds) {
    let view = elevation_of(standard);
    let list = dimensions(&study.solved, posture, bounds.extent());
    let points: Vec<_> = list.iter().filter(|one| one.view == view).flat_map(Dimension::points).collect();
    (view, Bounds::around(points.iter()))
}

const fn elevation_of(standard: Option<StandardView>) -> Elevation {
    match standard {
        Some(StandardView::Top) => Elevation::Top,
        Some(StandardView::Front) => Elevation::Front,
        Some(StandardView::Side | StandardView::ThreeQuarter) | None => Elevation::Side,
    }
}

/// Which dimensions a view shows: those of the standard view, or of the one that it is near to.
fn elevation(pane: &Pane, standard: Option<StandardView>) -> Elevation {
    let [_, _, back] = pane.eye.axes();
    match standard {
        None if back.z > 0.9 => Elevation::Top,
        None if back.x.abs() > 0.9 => Elevation::Front,
        standard => elevation_of(standard),
    }
}

/// A value with its name above it, on a slip of paper.
fn slip(
    painter: &Painter,
    labels: &mut Labels,
    (name, value): (&str, String),
    places: impl IntoIterator<Item = Pos2>,
    theme: &Theme,
) -> Rect {
    let name = painter.layout_no_wrap(name.to_owned(), FontId::proportional(SMALL), theme.quiet);
    let value = painter.layout_no_wrap(value, strong(BODY), theme.ink);
    let inner = vec2(name.size().x.max(value.size().x), name.size().y + value.size().y - 3.0);
    let rect = labels.place(inner + vec2(8.0, 2.0), places);
    painter.rect_filled(rect, 3.0, theme.panel.gamma_multiply(0.92));
    let below = Align2::CENTER_BOTTOM.anchor_size(rect.center_bottom() - vec2(0.0, 1.0), value.size());
    painter.galley(
        Align2::CENTER_TOP.anchor_size(rect.center_top() + vec2(0.0, 1.0), name.size()).min,
        name,
        theme.quiet,
    );
    painter.galley(below.min, value, theme.ink);
    rect
}

/// A principal dimension as in ISO 129-1: thin lines, slender arrows, the value at its line.
fn drawn(painter: &Painter, pane: &Pane, dimension: &Dimension, labels: &mut Labels, theme: &Theme) {
    let thin = Stroke::new(THIN, theme.ink);
    let words = (dimension.name.as_str(), dimension.words());
    match dimension.span {
        Span::Along { ends, line } => {
            let [Some(a), Some(b)] = line.map(|end| pane.at(end)) else { return };
            let length = a.distance(b);
            // Looked at along there is nothing to see.
            if length < 6.0 {
                return;
            }
            let along = (b - a) / length;
            for (end, on) in ends.into_iter().zip([a, b]) {
                let Some(end) = pane.at(end) else { continue };
                painter.circle_filled(end, 2.0, theme.ink);
                let way = on - end;
                if way.length() > 8.0 {
                    let way = way / way.length();
                    painter.line_segment([end + way * 4.0, on + way * 6.0], Stroke::new(0.75, theme.ink));
                }
            }
            if length > 24.0 {
                painter.line_segment([a, b], thin);
                arrow(painter, a, -along, theme.ink);
                arrow(painter, b, along, theme.ink);
            } else {
                // Too short for its arrows: they stand outside.
                painter.line_segment([a - along * 20.0, b + along * 20.0], thin);
                arrow(painter, a, along, theme.ink);
                arrow(painter, b, -along, theme.ink);
            }
            let share = [0.5, 0.35, 0.65, 0.2, 0.8, -0.25, 1.25];
            let room = along.rot90() * 24.0;
            let on = share.into_iter().map(|share| a + (b - a) * share);
            let off = [1.0, -1.0].into_iter().map(|sign| a + (b - a) * 0.5 + room * sign);
            slip(painter, labels, words, on.chain(off), theme);
        }
        Span::Angle { at, rays, .. } => {
            let Some(joint) = pane.at(at) else { return };
            let Some((points, middle)) = overlay::arc_points(pane, at, rays, 0.09) else { return };
            for ray in rays {
                if let Some(ray) = pane.at(ray) {
                    painter.add(Shape::dashed_line(&[joint, ray], Stroke::new(0.75, theme.ink), 6.0, 3.0));
                }
            }
            if let [from, .., to] = points[..] {
                let [before, after] = [points[1] - from, points[points.len() - 2] - to];
                for (tip, back) in [(from, before), (to, after)] {
                    if back.length() > 0.1 {
                        arrow(painter, tip, -back / back.length(), theme.ink);
                    }
                }
            }
            painter.add(Shape::line(points, thin));
            painter.circle_filled(joint, 2.0, theme.ink);
            let out = middle - joint;
            let out = out / out.length().max(1.0);
            let places = [26.0, 40.0, 58.0].into_iter().map(|far| middle + out * far);
            let rect = slip(painter, labels, words, places.chain([joint - out * 30.0]), theme);
            leader(painter, middle, rect, theme);
        }
    }
}

/// A thin line from a place to its words, where they stand apart.
fn leader(painter: &Painter, from: Pos2, rect: Rect, theme: &Theme) {
    let to = rect.clamp(from);
    if from.distance(to) > 10.0 {
        painter.line_segment([from, to], Stroke::new(0.75, theme.quiet));
    }
}

/// Distances near their limits: a leader from point to point with its value. Those of another moment of the motion are
/// dashed.
fn distances<'a>(
    painter: &Painter,
    pane: &Pane,
    near: impl Iterator<Item = &'a Finding>,
    moment: &Moment,
    labels: &mut Labels,
    theme: &Theme,
) {
    let mut near: Vec<_> = near
        .filter_map(|finding| {
            let Place::Gap { from, to } = finding.place else { return None };
            let [a, b] = [pane.at(from)?, pane.at(to)?];
            let seen = pane.rect.contains(a) && pane.rect.contains(b);
            let depth = pane.eye.project((from + to) / 2.0, area(pane.rect))?.near;
            seen.then_some((finding, a, b, depth))
        })
        .collect();
    // The worst first, of these the nearest: they get the places that they want.
    near.sort_by(|one, other| other.0.level.cmp(&one.0.level).then(other.3.total_cmp(&one.3)));
    for (finding, a, b, _) in near {
        let now = finding.moment == *moment;
        let line = Stroke::new(1.5, theme.ink);
        // On paper under the line it stays visible on dark parts.
        painter.line_segment([a, b], Stroke::new(4.0, theme.panel.gamma_multiply(0.8)));
        if now {
            painter.line_segment([a, b], line);
        } else {
            painter.add(Shape::dashed_line(&[a, b], line, 4.0, 3.0));
        }
        for end in [a, b] {
            painter.circle(end, 2.6, theme.ink, Stroke::new(THIN, theme.panel));
        }
        let middle = a + (b - a) / 2.0;
        let galley = painter.layout_no_wrap(finding.value_words(), strong(SMALL), theme.ink);
        let size = galley.size() + vec2(BALLOON + 8.0, 2.0);
        let across = (b - a).rot90();
        let across = if across.length() > 0.5 { across / across.length() } else { Vec2::Y };
        let places = [1.0, -1.0, 2.0, -2.0].into_iter().map(|sign| middle + across * (18.0 * sign));
        let rect = labels.place(size, places);
        leader(painter, middle, rect, theme);
        painter.rect(
            rect,
            3.0,
            theme.panel.gamma_multiply(0.95),
            Stroke::new(0.75, theme.hairline),
            bevy_egui::egui::StrokeKind::Inside,
        );
        overlay::mark(painter, rect.left_center() + vec2(8.0, 0.0), finding.level, theme);
        painter.galley(rect.min + vec2(BALLOON + 5.0, 1.0), galley, theme.ink);
    }
}

/// Distances that were measured by hand: between each two points.
pub fn measured(painter: &Painter, pane: &Pane, marks: &[Mark], theme: &Theme) {
    for pair in marks.chunks_exact(2) {
        if let (Some(a), Some(b)) = (pane.at(pair[0].at), pane.at(pair[1].at)) {
            overlay::dimension(painter, a, b, &super::hand::draw::distance_words(pair[1].at - pair[0].at), theme);
        }
    }
}
