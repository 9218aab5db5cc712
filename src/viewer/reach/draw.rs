//! What is drawn over the view: section curves with their extents, names of the boundaries, controls, and what is known
//! of the point under the pointer.

use bevy_egui::egui::{
    Align2, FontId, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, text::LayoutJob, vec2,
};

use super::{Cut, Line, Placing, ReachPage, Sheath, Standing, Tint, Touched, Who};
use crate::{
    geometry::{Side, Vec3 as Point},
    reach::Plane,
    rig::Rig,
    study::Study,
    units::{Unit, mm_point, show_place, to_mm},
    viewer::{
        labels::Labels,
        overlay::{Pane, arrow},
        theme::{BODY, HALF, RHYTHM, SMALL, THICK, THIN, Theme, strong},
    },
};

/// How near the pointer must come to a control or a handle, points.
pub const GRAB: f32 = 13.0;

/// What was drawn that the pointer can take hold of.
#[derive(Clone, Copy, Debug, Default)]
pub struct Holds {
    /// The control under the pointer.
    pub control: Option<usize>,
    /// Where the handle of the section is, and how the screen moves with a metre along its normal.
    pub handle: Option<(Pos2, Vec2)>,
}

/// Everything that the page draws over a view, but for what is known of the point under the pointer.
pub fn over(
    painter: &Painter,
    pane: &Pane,
    page: &mut ReachPage,
    cut: Option<Cut>,
    study: &Study,
    pointer: Option<Pos2>,
    theme: &Theme,
) -> Holds {
    let mut holds = Holds::default();
    let mut edges: Vec<Edge> = page.seen().map(|sheath| Edge::of(sheath, pane)).collect();
    if let Some(cut) = cut {
        let plane = page.plane(cut, study);
        if !pane.eye.is_parallel() {
            holds.handle = sheet(painter, pane, page, cut, &plane, pointer, theme);
        }
        let lines = page.section(&plane);
        curves(painter, pane, &plane, lines, study, theme);
        for (edge, line) in edges.iter_mut().zip(lines) {
            edge.take(line, pane, &plane);
        }
    }
    // What is written keeps off what was written before it.
    let mut written: Vec<Rect> = Vec::new();
    names(painter, pane, &edges, &mut written, theme);
    let rig = &study.solved.rig;
    if page.choice.hands {
        holds.control = rings(painter, pane, &of_controls(page, rig), pointer, &mut written, theme);
    } else {
        // Pedals are not dragged.
        rings(painter, pane, &of_pedals(page, rig), None, &mut written, theme);
    }
    if let Some(cut) = cut {
        let plane = page.plane(cut, study);
        extents(painter, pane, &plane, page.section(&plane), study, &mut written, theme);
    }
    if let Placing::At(index, best) = &page.placing {
        let from = rig.controls.get(*index).map(|control| control.at);
        spot(painter, pane, from, mm_point(best.at_mm), &best.control, theme);
    }
    holds
}

/// A line in the strokes of a boundary.
pub fn stroke(painter: &Painter, points: &[Pos2], tint: Tint, width: f32, theme: &Theme) {
    let pen = Stroke::new(width, theme.reach(tint));
    let (strokes, gaps) = tint.dashes();
    if strokes.is_empty() {
        painter.add(Shape::line(points.to_vec(), pen));
    } else {
        painter.extend(Shape::dashed_line_with_offset(points, pen, strokes, gaps, 0.0));
    }
}

/// What a boundary looks like beside its name: its film with its line through it.
pub fn swatch(painter: &Painter, rect: Rect, tint: Tint, on: bool, theme: &Theme) {
    let colour = theme.reach(tint);
    let film = if on { colour.gamma_multiply(0.28) } else { bevy_egui::egui::Color32::TRANSPARENT };
    let ring = if on { colour } else { theme.hairline };
    painter.rect(rect, 2.0, film, Stroke::new(THIN, ring), StrokeKind::Inside);
    if on {
        let y = rect.center().y;
        stroke(painter, &[pos2(rect.left() + 1.0, y), pos2(rect.right() - 1.0, y)], tint, THICK, theme);
    }
}

/// The curves of a section, and the H-point.
fn curves(painter: &Painter, pane: &Pane, plane: &Plane, lines: &[Line], study: &Study, theme: &Theme) {
    for line in lines.iter().rev() {
        for curve in &line.curves {
            let mut points: Vec<Pos2> = curve.points.iter().filter_map(|point| pane.at(plane.out(*point))).collect();
            if curve.closed {
                points.extend(points.first().copied());
            }
            stroke(painter, &points, line.tint, 2.5, theme);
        }
    }
    if lines.iter().any(|line| !line.curves.is_empty()) {
        let h_point = study.solved.rest.sitting.h_point;
        mark(painter, pane, plane.out(plane.seen(h_point)), h_point, theme);
    }
}

/// How far the curves of a section go from the H-point. The outermost come first: where they crowd, theirs are read.
fn extents(
    painter: &Painter,
    pane: &Pane,
    plane: &Plane,
    lines: &[Line],
    study: &Study,
    written: &mut Vec<Rect>,
    theme: &Theme,
) {
    let zero = plane.seen(study.solved.rest.sitting.h_point);
    for line in lines.iter().rev() {
        for (axis, sign) in [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)] {
            let points = line.curves.iter().flat_map(|curve| &curve.points);
            let most = points.max_by(|a, b| (sign * a[axis]).total_cmp(&(sign * b[axis])));
            if let Some(most) = most {
                extent(painter, pane, plane, *most, axis, zero, line.tint, written, theme);
            }
        }
    }
}

/// How far a curve goes along one axis of its plane, from the H-point, beside its outermost point.
fn extent(
    painter: &Painter,
    pane: &Pane,
    plane: &Plane,
    most: [f64; 2],
    axis: usize,
    zero: [f64; 2],
    tint: Tint,
    written: &mut Vec<Rect>,
    theme: &Theme,
) {
    let mut beyond = most;
    let far = most[axis] - zero[axis];
    beyond[axis] += far.signum() * 0.02;
    let (Some(tip), Some(out)) = (pane.at(plane.out(most)), pane.at(plane.out(beyond))) else { return };
    let way = (out - tip).normalized();
    let words = format!("{} {}", Unit::Millimetre.show(to_mm(far.abs())), direction(plane, axis, far));
    let galley = painter.layout_no_wrap(words, FontId::proportional(SMALL), theme.reach(tint));
    let middle = tip + way * (10.0 + 0.5 * (galley.size().x * way.x.abs() + galley.size().y * way.y.abs()));
    let rect = Align2::CENTER_CENTER.anchor_size(middle, galley.size());
    // It gives way along the edge, and where there is no room it is left out.
    let aside = way.rot90() * (6.0 + galley.size().y * way.x.abs() + 0.6 * galley.size().x * way.y.abs());
    let free = |rect: &Rect| {
        pane.rect.contains_rect(*rect) && !written.iter().any(|other| other.intersects(rect.expand2(vec2(4.0, 1.0))))
    };
    let ways = [0.0, 1.0, -1.0, 2.0, -2.0].map(|step| rect.translate(aside * step));
    let Some(rect) = ways.into_iter().find(free) else { return };
    // A tick across the curve's end.
    painter.line_segment([tip - way.rot90() * 5.0, tip + way.rot90() * 5.0], Stroke::new(1.5, theme.reach(tint)));
    painter.rect_filled(rect.expand2(vec2(3.0, 0.0)), 2.0, theme.panel.gamma_multiply(0.88));
    painter.galley(rect.min, galley, theme.reach(tint));
    written.push(rect);
}

/// What the way along an axis of a plane is called.
fn direction(plane: &Plane, axis: usize, far: f64) -> &'static str {
    let way = if axis == 0 { plane.right } else { plane.up } * far.signum();
    let most = way.iamax();
    match (most, way[most] > 0.0) {
        (0, true) => "forward",
        (0, false) => "back",
        (1, true) => "left",
        (1, false) => "right",
        (_, true) => "up",
        (_, false) => "down",
    }
}

/// The H-point, and its foot in the plane: what the extents count from.
fn mark(painter: &Painter, pane: &Pane, foot: Point, h_point: Point, theme: &Theme) {
    let Some(at) = pane.at(foot) else { return };
    if let Some(itself) = pane.at(h_point).filter(|itself| itself.distance(at) > 3.0) {
        painter.line_segment([itself, at], Stroke::new(THIN, theme.quiet));
    }
    // It is seen on dark parts too.
    painter.circle_filled(at, 9.0, theme.panel.gamma_multiply(0.8));
    painter.circle_stroke(at, 5.0, Stroke::new(1.5, theme.ink));
    painter.line_segment([at - vec2(9.0, 0.0), at + vec2(9.0, 0.0)], Stroke::new(THIN, theme.ink));
    painter.line_segment([at - vec2(0.0, 9.0), at + vec2(0.0, 9.0)], Stroke::new(THIN, theme.ink));
    let galley = painter.layout_no_wrap("H-point".to_owned(), FontId::proportional(SMALL), theme.ink);
    let rect = Align2::LEFT_BOTTOM.anchor_size(at + vec2(9.0, -6.0), galley.size());
    painter.rect_filled(rect.expand2(vec2(3.0, 0.0)), 2.0, theme.panel.gamma_multiply(0.8));
    painter.galley(rect.min, galley, theme.ink);
}

/// The sheet of a section in a view in perspective: its edge and, in a corner, the handle that moves it. Returns where
/// the handle is and how the screen moves with a metre along the normal.
fn sheet(
    painter: &Painter,
    pane: &Pane,
    page: &ReachPage,
    cut: Cut,
    plane: &Plane,
    pointer: Option<Pos2>,
    theme: &Theme,
) -> Option<(Pos2, Vec2)> {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for point in page.seen().flat_map(|sheath| sheath.bounds.points()) {
        let seen = plane.seen(point);
        for axis in 0..2 {
            low[axis] = low[axis].min(seen[axis] - 0.06);
            high[axis] = high[axis].max(seen[axis] + 0.06);
        }
    }
    if !low[0].is_finite() {
        return None;
    }
    let corners = [[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]];
    let corners: Vec<Pos2> = corners.iter().filter_map(|corner| pane.at(plane.out(*corner))).collect();
    if corners.len() < 4 {
        return None;
    }
    painter.add(Shape::convex_polygon(corners.clone(), theme.ink.gamma_multiply(0.035), Stroke::new(1.2, theme.quiet)));
    // The handle stands in the corner that is furthest to the left, clear of figure and names.
    let index = (0..4).min_by(|a, b| corners[*a].x.total_cmp(&corners[*b].x))?;
    let at = corners[index];
    let corner = [[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]][index];
    let along = (pane.at(plane.out(corner) + cut.normal() * 0.05)? - at) / 0.05;
    let way = if along.length() > 1.0 { along.normalized() } else { Vec2::Y };
    let near = pointer.is_some_and(|pointer| pointer.distance(at) < GRAB * 1.5) || page.dragged_cut.is_some();
    let colour = if near { theme.accent } else { theme.ink };
    painter.line_segment([at - way * 16.0, at + way * 16.0], Stroke::new(1.5, colour));
    arrow(painter, at + way * 20.0, way, colour);
    arrow(painter, at - way * 20.0, -way, colour);
    painter.circle(at, 6.0, theme.panel, Stroke::new(THICK, colour));
    Some((at, along))
}

/// A boundary as it is seen: what its name points at.
struct Edge {
    side: Side,
    tint: Tint,
    points: Vec<Pos2>,
}

impl Edge {
    fn of(sheath: &Sheath, pane: &Pane) -> Self {
        let points = sheath.bounds.points().filter_map(|point| pane.at(point)).collect();
        Self { side: sheath.limb.side(), tint: sheath.tint, points }
    }

    /// Where a section is drawn, its curve has the name.
    fn take(&mut self, line: &Line, pane: &Pane, plane: &Plane) {
        let points = line.curves.iter().flat_map(|curve| &curve.points);
        self.points = points.filter_map(|point| pane.at(plane.out(*point))).collect();
    }
}

/// The names of the boundaries, each at the end of a line from its edge.
fn names(painter: &Painter, pane: &Pane, edges: &[Edge], written: &mut Vec<Rect>, theme: &Theme) {
    let both = edges.iter().any(|edge| edge.side != edges[0].side);
    for edge in edges.iter().rev().filter(|edge| !edge.points.is_empty()) {
        // Each kind of boundary is named in a direction of its own, on the side of the picture where it is.
        let bounds = Rect::from_points(&edge.points);
        let right = bounds.center().x > pane.rect.center().x - 0.15 * pane.rect.width();
        let angle = [-28.0_f32, -52.0, -76.0, -8.0, 10.0][edge.tint.index()].to_radians();
        let mut way = Vec2::angled(angle);
        if !right {
            way.x = -way.x;
        }
        let along = |at: &&Pos2| at.to_vec2().dot(way);
        let Some(&from) = edge.points.iter().max_by(|a, b| along(a).total_cmp(&along(b))) else { continue };
        let mut words = edge.tint.words();
        if both {
            words = format!("{}, {}", edge.side.word(), words);
        }
        let galley = painter.layout_no_wrap(words, FontId::proportional(BODY), theme.ink);
        let size = vec2(galley.size().x + 34.0, galley.size().y);
        let anchor = if right { Align2::LEFT_CENTER } else { Align2::RIGHT_CENTER };
        let inner = pane.rect.shrink2(vec2(RHYTHM, 2.0 * RHYTHM));
        let mut rect = anchor.anchor_size(from + way * 26.0, size);
        let shift = vec2(
            (inner.left() - rect.left()).max(0.0) - (rect.right() - inner.right()).max(0.0),
            (inner.top() - rect.top()).max(0.0) - (rect.bottom() - inner.bottom()).max(0.0),
        );
        rect = rect.translate(shift);
        while let Some(other) = written.iter().find(|other| other.intersects(rect)) {
            rect = rect.translate(vec2(0.0, other.bottom() + 2.0 - rect.top()));
        }
        written.push(rect);
        painter.line_segment([from, if right { rect.left_center() } else { rect.right_center() }], theme.thin());
        painter.circle_filled(from, 2.2, theme.ink);
        painter.rect_filled(rect.expand2(vec2(3.0, 1.0)), 3.0, theme.panel.gamma_multiply(0.9));
        let mark = Rect::from_center_size(pos2(rect.left() + 14.0, rect.center().y), vec2(26.0, 11.0));
        swatch(painter, mark, edge.tint, true, theme);
        painter.galley(pos2(rect.left() + 34.0, rect.top()), galley, theme.ink);
    }
}

/// A control or a pedal on the view.
struct Worked<'a> {
    name: &'a str,
    at: Point,
    zone: Standing,
    marked: bool,
}

fn of_controls<'a>(page: &ReachPage, rig: &'a Rig) -> Vec<Worked<'a>> {
    let of = |(index, control): (usize, &'a crate::rig::ControlPoint)| {
        let dragged = page.dragged.filter(|(dragged, _)| *dragged == index);
        Worked {
            name: &control.name,
            // What is in hand stays with the pointer, whatever still has to be worked out.
            at: dragged.map_or(control.at, |(_, at)| at),
            zone: match page.who() {
                Who::Drivers => {
                    page.common.get(index).copied().flatten().map_or(Standing::Unknown, |common| common.zone.into())
                }
                _ => page.rows.get(index).map_or(Standing::Unknown, |(row, _)| row.zone.into()),
            },
            marked: dragged.is_some() || page.control == Some(index),
        }
    };
    rig.controls.iter().enumerate().map(of).collect()
}

fn of_pedals<'a>(page: &ReachPage, rig: &'a Rig) -> Vec<Worked<'a>> {
    let of = |(index, pedal): (usize, &'a crate::rig::PedalPart)| Worked {
        name: pedal.kind.word(),
        at: pedal.face_pose(&rig.pedals, 0.0).translation.vector,
        zone: page.treads.get(index).map_or(Standing::Unknown, |(row, _)| row.worst().zone.into()),
        marked: page.pedal == Some(index),
    };
    rig.pedals.list.iter().enumerate().map(of).collect()
}

/// The ring of a control: in the colour of its zone, crossed where it is out of reach.
fn ring(painter: &Painter, at: Pos2, zone: Standing, strong: bool, theme: &Theme) {
    let colour = match zone {
        Standing::In(zone) => theme.reach(Tint::Zone(zone)),
        Standing::Out => theme.level(crate::findings::Level::Outside),
        Standing::Unknown => theme.quiet,
    };
    let radius = if strong { 9.0 } else { 7.0 };
    painter.circle(at, radius + 1.5, theme.panel.gamma_multiply(0.85), Stroke::NONE);
    painter.circle(at, radius, colour.gamma_multiply(0.25), Stroke::new(if strong { 3.0 } else { THICK }, colour));
    painter.circle_filled(at, 2.0, theme.ink);
    if zone == Standing::Out {
        let d = radius * 0.72;
        painter.line_segment([at - vec2(d, d), at + vec2(d, d)], Stroke::new(THICK, colour));
    }
}

/// What limbs work, each with its name. Returns the one under the pointer.
fn rings(
    painter: &Painter,
    pane: &Pane,
    all: &[Worked<'_>],
    pointer: Option<Pos2>,
    written: &mut Vec<Rect>,
    theme: &Theme,
) -> Option<usize> {
    let places: Vec<(usize, Pos2)> = all
        .iter()
        .enumerate()
        .filter_map(|(index, worked)| Some((index, pane.at(worked.at).filter(|at| pane.rect.contains(*at))?)))
        .collect();
    let under = pointer.and_then(|pointer| {
        let near = places.iter().filter(|(_, at)| at.distance(pointer) < GRAB);
        near.min_by(|a, b| a.1.distance(pointer).total_cmp(&b.1.distance(pointer))).map(|(index, _)| *index)
    });
    written.extend(places.iter().map(|(_, at)| Rect::from_center_size(*at, Vec2::splat(18.0))));
    for (index, at) in places {
        let worked = &all[index];
        let marked = under == Some(index) || worked.marked;
        ring(painter, at, worked.zone, marked, theme);
        let colour = if marked { theme.accent } else { theme.ink };
        let galley = painter.layout_no_wrap(worked.name.to_owned(), FontId::proportional(SMALL), colour);
        // Where a name is free of the other ring and names: below, above, to the right, to the left.
        let ways = [
            (Align2::CENTER_TOP, vec2(0.0, 12.0)),
            (Align2::CENTER_BOTTOM, vec2(0.0, -12.0)),
            (Align2::LEFT_CENTER, vec2(15.0, 0.0)),
            (Align2::RIGHT_CENTER, vec2(-15.0, 0.0)),
        ];
        let rects = ways.map(|(anchor, off)| anchor.anchor_size(at + off, galley.size()).expand2(vec2(3.0, 0.0)));
        // Where none is, further off, with a line to it.
        let mut labels = Labels::new(pane.rect);
        for taken in written.iter() {
            labels.keep_off(*taken);
        }
        let rect = labels.place(rects[0].size(), rects.map(|rect| rect.center()));
        written.push(rect);
        let near = rect.clamp(at);
        if near.distance(at) > 18.0 {
            painter.line_segment([at + (near - at).normalized() * 9.0, near], theme.thin());
        }
        painter.rect_filled(rect, 2.0, theme.panel.gamma_multiply(0.85));
        painter.galley(rect.min + vec2(3.0, 0.0), galley, colour);
    }
    under
}

/// The best place of a control.
fn spot(painter: &Painter, pane: &Pane, from: Option<Point>, to: Point, name: &str, theme: &Theme) {
    let Some(to) = pane.at(to) else { return };
    if let Some(from) = from.and_then(|from| pane.at(from)).filter(|from| from.distance(to) > 24.0) {
        let way = (to - from).normalized();
        painter.line_segment([from + way * 10.0, to - way * 12.0], Stroke::new(1.5, theme.accent));
        arrow(painter, to - way * 9.0, way, theme.accent);
    }
    painter.circle(to, 8.0, theme.accent.gamma_multiply(0.3), Stroke::new(THICK, theme.accent));
    painter.line_segment([to - vec2(12.0, 0.0), to + vec2(12.0, 0.0)], Stroke::new(THIN, theme.accent));
    painter.line_segment([to - vec2(0.0, 12.0), to + vec2(0.0, 12.0)], Stroke::new(THIN, theme.accent));
    let words = format!("best for {name}");
    let galley = painter.layout_no_wrap(words, FontId::proportional(SMALL), theme.accent);
    let rect = Align2::CENTER_BOTTOM.anchor_size(to - vec2(0.0, 13.0), galley.size());
    painter.rect_filled(rect.expand2(vec2(3.0, 0.0)), 2.0, theme.panel.gamma_multiply(0.9));
    painter.galley(rect.min, galley, theme.accent);
}

/// A margin in words: "42 mm inside", "113 mm outside".
pub fn margin_words(margin: f64) -> String {
    let side = if margin >= 0.0 { "inside" } else { "outside" };
    format!("{} {side}", Unit::Millimetre.show(to_mm(margin.abs())))
}

/// What is known of the point under the pointer, on a slip beside it, and the limb's bones going there.
pub fn touched(painter: &Painter, pane: &Pane, touched: &Touched, pointer: Pos2, theme: &Theme) {
    let joints: Vec<Pos2> =
        touched.going.iter().flat_map(|(pose, _)| pose.joints).filter_map(|joint| pane.at(joint)).collect();
    painter.add(Shape::line(joints.clone(), Stroke::new(1.5, theme.accent)));
    for joint in &joints {
        painter.circle(*joint, 3.0, theme.panel, Stroke::new(1.5, theme.accent));
    }

    let mut job = LayoutJob::default();
    let mut add = |words: &str, font: FontId, colour| {
        let text = if job.is_empty() { words.to_owned() } else { format!("\n{words}") };
        job.append(&text, 0.0, bevy_egui::egui::TextFormat::simple(font, colour));
    };
    add(&touched.title, strong(BODY), theme.ink);
    let small = || FontId::proportional(SMALL);
    for line in &touched.lines {
        add(line, small(), theme.ink);
    }
    add(&touched.cause, small(), theme.accent);
    add(&show_place(touched.at), small(), theme.quiet);

    let galley = painter.layout_job(job);
    let size = galley.size() + vec2(2.0 * RHYTHM, RHYTHM);
    // Beside the pointer, off the limb where there is room.
    let (left, right) = (pointer.x - 18.0 - size.x, pointer.x + 18.0);
    let limb_right = joints.first().is_some_and(|root| root.x > pointer.x);
    let fits = |x: f32| x > pane.rect.left() + HALF && x + size.x < pane.rect.right() - HALF;
    let ways = if limb_right { [left, right] } else { [right, left] };
    let mut min = pos2(ways.into_iter().find(|x| fits(*x)).unwrap_or(right), pointer.y + 14.0);
    if min.y + size.y > pane.rect.bottom() - HALF {
        min.y = pointer.y - 14.0 - size.y;
    }
    let rect = Rect::from_min_size(min, size);
    painter.rect(rect, 3.0, theme.panel.gamma_multiply(0.95), Stroke::new(THIN, theme.hairline), StrokeKind::Inside);
    let bar = match touched.tint {
        Some(tint) => theme.reach(tint),
        None => theme.level(crate::findings::Level::Outside),
    };
    painter.rect_filled(Rect::from_min_size(rect.min, vec2(3.0, size.y)), 0.0, bar);
    painter.galley(rect.min + vec2(RHYTHM, HALF), galley, theme.ink);
    if let Some(at) = pane.at(touched.at) {
        painter.circle(at, 4.0, bar, Stroke::new(1.5, theme.panel));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Axes of ISO 8855: x forward, y left, z up.
    #[test]
    fn extents_are_named_as_the_driver_sees_them() {
        let (side, top, front) = (Plane::side(0.0), Plane::top(0.5), Plane::front(0.3));
        let named =
            [(&side, 0, 0.3), (&side, 1, -0.2), (&top, 0, -0.1), (&top, 1, 0.4), (&front, 0, 0.4), (&front, 1, 0.9)];
        let names = named.map(|(plane, axis, far)| direction(plane, axis, far));
        assert_eq!(names, ["forward", "down", "back", "left", "right", "up"]);
    }
}
