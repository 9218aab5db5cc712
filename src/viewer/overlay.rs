//! What is drawn over the view: numbered balloons on leaders, the dimension or the angle of the selected finding,
//! and a scale bar. Lines as in ISO 128, dimensions as in ISO 129-1, item numbers as in ISO 6433.

use std::sync::Arc;

use bevy_egui::egui::{
    Align2, Color32, FontId, Galley, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2,
};

use super::{
    camera::{Bounds, Eye},
    crowd::{self, Crowd, List},
    labels::Labels,
    scene::area,
    theme::{BALLOON, BODY, RHYTHM, SMALL, THICK, THIN, Theme},
};
use crate::{
    findings::{Finding, Level, Place, arm_angles, hip_angle, knee_and_ankle},
    geometry::{Side, Vec3 as Point},
    posture::Posture,
    units::{System, Unit, mm, to_deg},
};

/// Greatest radius of the arc at a joint, m.
const ARC: f64 = 0.11;
/// Length of an arrowhead, points.
const ARROW: f32 = 9.0;
/// Opacity of the balloons that are not looked at.
const STANDING_BACK: f32 = 0.3;

/// A view of the stage on the screen.
#[derive(Clone, Copy, Debug)]
pub struct Pane {
    /// Where it is, points.
    pub rect: Rect,
    /// The part of it over which nothing else stands: here balloons and words have their places.
    pub free: Rect,
    /// From where it is seen.
    pub eye: Eye,
}

impl Pane {
    /// One over which nothing else stands.
    pub const fn open(rect: Rect, eye: Eye) -> Self {
        Self { rect, free: rect, eye }
    }

    /// Where a point of W is on the screen.
    pub fn at(&self, point: Point) -> Option<Pos2> {
        let projected = self.eye.project(point, area(self.rect))?;
        Some(self.rect.min + vec2(projected.at[0] as f32, projected.at[1] as f32))
    }
}

/// Draws a level's mark with a number in it: a disc for good, a triangle for borderline, a square for outside.
pub fn balloon(painter: &Painter, at: Pos2, level: Level, number: usize, theme: &Theme, ring: Stroke) {
    let fill = theme.level(level);
    let mut text_at = at;
    match level {
        Level::Good => {
            painter.circle(at, BALLOON, fill, ring);
        }
        Level::Borderline => {
            let r = BALLOON * 1.45;
            text_at.y += 1.5;
            painter.add(Shape::convex_polygon(triangle(at, r), fill, ring));
        }
        Level::Outside => {
            let rect = Rect::from_center_size(at, Vec2::splat(BALLOON * 1.9));
            painter.rect(rect, 1.5, fill, ring, StrokeKind::Middle);
        }
    }
    painter.text(text_at, Align2::CENTER_CENTER, number, FontId::proportional(SMALL), theme.on_level());
}

/// A level's small mark, without a number.
pub fn mark(painter: &Painter, at: Pos2, level: Level, theme: &Theme) {
    let (fill, ring) = (theme.level(level), theme.thin());
    match level {
        Level::Good => {
            painter.circle(at, 4.0, fill, ring);
        }
        Level::Borderline => {
            painter.add(Shape::convex_polygon(triangle(at, 5.6), fill, ring));
        }
        Level::Outside => {
            painter.rect(Rect::from_center_size(at, Vec2::splat(7.6)), 0.0, fill, ring, StrokeKind::Middle);
        }
    }
}

fn triangle(at: Pos2, r: f32) -> Vec<Pos2> {
    vec![at + vec2(0.0, -r * 0.86), at + vec2(r * 0.9, r * 0.62), at + vec2(-r * 0.9, r * 0.62)]
}

/// A balloon that has found its place.
struct Placed<'a> {
    crowd: Crowd<'a>,
    at: Pos2,
}

/// Draws the balloons of `shown` and returns the one under `pointer`.
pub fn balloons<'a>(
    painter: &Painter,
    pane: &Pane,
    shown: impl Iterator<Item = &'a Finding>,
    selected: Option<&str>,
    pointer: Option<Pos2>,
    bounds: &Bounds,
    labels: &mut Labels,
    theme: &Theme,
) -> Option<&'a Finding> {
    let is_chosen = |finding: &Finding| selected == Some(finding.key().as_str());
    let all = shown.filter_map(|finding| {
        let anchor = pane.at(finding.place.centre()).filter(|at| pane.rect.contains(*at))?;
        Some((finding, anchor))
    });
    let crowds = crowd::gather(all.collect(), is_chosen);
    let mut placed: Vec<Placed<'a>> = crowds.into_iter().map(|crowd| Placed { at: crowd.anchor, crowd }).collect();
    let outline = outline(bounds.points().filter_map(|point| pane.at(point)).collect());
    spread(&mut placed, &outline, pane.free);
    // The list of the crowd that is open lies over all balloons.
    let was_open = crowd::opened(painter);
    let open = placed.iter().find(|placed| was_open.as_deref() == Some(placed.crowd.head.key().as_str()));
    let mut list = open.map(|placed| List::of(painter, &placed.crowd, placed.at, pane.free, theme));
    let kept = list.as_ref().is_some_and(|list| pointer.is_some_and(|at| list.keeps(at)));
    // While one is looked at, the others stand back.
    let mut others = painter.clone();
    if placed.iter().any(|placed| is_chosen(placed.crowd.head)) {
        others.multiply_opacity(STANDING_BACK);
    }
    let mut under = None;
    for Placed { crowd, at } in &placed {
        let (finding, more) = (crowd.head, crowd.rest.len());
        let is_under = !kept && pointer.is_some_and(|pointer| pointer.distance(*at) < BALLOON * 1.4);
        let (painter, ring) = if is_chosen(finding) || is_under {
            (painter, Stroke::new(THICK, theme.accent))
        } else {
            (&others, theme.thin())
        };
        painter.line_segment([crowd.anchor, *at], theme.thin());
        painter.circle_filled(crowd.anchor, 2.2, theme.ink);
        balloon(painter, *at, finding.level, finding.number, theme, ring);
        labels.keep_off(Rect::from_center_size(*at, Vec2::splat(BALLOON * 2.4)));
        if more > 0 {
            labels.keep_off(crowd::count(painter, *at, more, theme));
        }
        if is_under {
            under = Some(finding);
            list = (more > 0).then(|| List::of(painter, crowd, *at, pane.free, theme));
        }
    }
    let stays = if kept { was_open } else { under.filter(|_| list.is_some()).map(Finding::key) };
    if let Some(list) = list.filter(|_| stays.is_some()) {
        under = list.draw(painter, pointer, theme).or(under);
    }
    crowd::open(painter, stays);
    under
}

/// Moves balloons off their anchors, outward over the edge of what is shown if that is near, and off one another.
/// `outline` is the convex outline of body and rig on the screen.
fn spread(balloons: &mut [Placed<'_>], outline: &[Pos2], rect: Rect) {
    if balloons.is_empty() {
        return;
    }
    let points = if outline.is_empty() { &[rect.center()] } else { outline };
    let middle = points.iter().fold(Vec2::ZERO, |sum, at| sum + at.to_vec2()) / points.len() as f32;
    let (least, most, apart) = (BALLOON * 4.0, BALLOON * 14.0, BALLOON * 3.0);
    for (index, balloon) in balloons.iter_mut().enumerate() {
        // Balloons on one spot start in different directions: the golden angle spreads any number of them.
        let out = balloon.crowd.anchor.to_vec2() - middle + Vec2::angled(index as f32 * 2.4) * 8.0;
        let out = out / out.length().max(1.0);
        let mut leader = least;
        while leader < most && inside(outline, balloon.crowd.anchor + out * (leader - BALLOON * 2.0)) {
            leader += BALLOON;
        }
        // One that cannot get out of the figure stays near its place.
        balloon.at = balloon.crowd.anchor + out * if leader >= most { least } else { leader };
    }
    let inner = rect.shrink(BALLOON * 2.0);
    for _ in 0..60 {
        for i in 0..balloons.len() {
            for j in i + 1..balloons.len() {
                let between = balloons[j].at - balloons[i].at;
                let distance = between.length();
                if distance < apart {
                    let way = if distance > 0.1 { between / distance } else { Vec2::angled(i as f32) };
                    let push = way * (apart - distance) * 0.5;
                    balloons[i].at -= push;
                    balloons[j].at += push;
                }
            }
            // Not on an anchor either, its own or another's.
            for j in 0..balloons.len() {
                let between = balloons[i].at - balloons[j].crowd.anchor;
                let distance = between.length();
                let room = BALLOON * 1.8;
                if distance < room {
                    let way = if distance > 0.1 { between / distance } else { Vec2::angled(j as f32) };
                    balloons[i].at += way * (room - distance) * 0.5;
                }
            }
        }
        for balloon in balloons.iter_mut() {
            balloon.at = inner.clamp(balloon.at);
        }
    }
}

/// True where a point lies in a convex outline.
fn inside(outline: &[Pos2], at: Pos2) -> bool {
    let side = |a: Pos2, b: Pos2| (b - a).rot90().dot(at - a);
    outline.len() > 2 && (0..outline.len()).all(|i| side(outline[i], outline[(i + 1) % outline.len()]) >= 0.0)
}

/// The convex outline of points on the screen (Andrew's monotone chain), with [`inside`] on its positive side.
pub fn outline(mut points: Vec<Pos2>) -> Vec<Pos2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = Pos2>| {
        let mut chain: Vec<Pos2> = Vec::new();
        for at in points {
            while let [.., a, b] = chain[..]
                && (b - a).rot90().dot(at - b) <= 0.0
            {
                chain.pop();
            }
            chain.push(at);
        }
        chain.pop();
        chain
    };
    let mut around = half(&mut points.iter().copied());
    around.extend(half(&mut points.iter().rev().copied()));
    around
}

/// Draws the place of the selected finding: two points and the dimension between them, or the angle at the joint.
pub fn selected(painter: &Painter, pane: &Pane, finding: &Finding, labels: &mut Labels, theme: &Theme) {
    let words = finding.value_words();
    let written = match finding.place {
        Place::Gap { from, to } => {
            let ends = pane.at(from).zip(pane.at(to));
            ends.map(|(a, b)| dimension(painter, a, b, &words, theme))
        }
        Place::Angle { at, from, to } => angle(painter, pane, at, [from, to], &words, theme),
        Place::Point { at } => pane.at(at).map(|at| {
            painter.circle_stroke(at, 9.0, Stroke::new(THICK, theme.accent));
            painter.circle_filled(at, 2.0, theme.accent);
            label(painter, at + vec2(0.0, -24.0), &words, theme)
        }),
    };
    if let Some(written) = written {
        labels.keep_off(written);
    }
}

/// A dimension line beside the two points that it measures between; where its value stands.
pub fn dimension(painter: &Painter, a: Pos2, b: Pos2, words: &str, theme: &Theme) -> Rect {
    let line = Stroke::new(1.5, theme.accent);
    let length = a.distance(b);
    let along = if length > 0.5 { (b - a) / length } else { Vec2::X };
    // Beside the points, on the upper side.
    let mut across = along.rot90();
    if across.y > 0.0 || (across.y == 0.0 && across.x < 0.0) {
        across = -across;
    }
    let offset = across * 30.0;
    for point in [a, b] {
        painter.line_segment([point + across * 4.0, point + offset + across * 6.0], Stroke::new(THIN, theme.accent));
        painter.circle_filled(point, 3.0, theme.accent);
    }
    let (a, b) = (a + offset, b + offset);
    if length > ARROW * 3.0 {
        painter.line_segment([a, b], line);
        arrow(painter, a, -along, theme.accent);
        arrow(painter, b, along, theme.accent);
        label(painter, a + (b - a) / 2.0 + across * 14.0, words, theme)
    } else {
        // Too short for its arrowheads: they stand outside and point inward.
        painter.line_segment([a - along * 22.0, a], line);
        painter.line_segment([b, b + along * 22.0], line);
        arrow(painter, a, along, theme.accent);
        arrow(painter, b, -along, theme.accent);
        label(painter, a + (b - a) / 2.0 + across * 16.0, words, theme)
    }
}

/// A slender arrowhead.
pub fn arrow(painter: &Painter, tip: Pos2, pointing: Vec2, colour: Color32) {
    let (back, side) = (pointing * ARROW, pointing.rot90() * (ARROW * 0.26));
    painter.add(Shape::convex_polygon(vec![tip, tip - back + side, tip - back - side], colour, Stroke::NONE));
}

fn angle(painter: &Painter, pane: &Pane, at: Point, ends: [Point; 2], words: &str, theme: &Theme) -> Option<Rect> {
    let joint = pane.at(at)?;
    for end in ends {
        if let Some(end) = pane.at(end) {
            painter.line_segment([joint, end], Stroke::new(1.5, theme.accent));
        }
    }
    painter.circle_filled(joint, 3.0, theme.accent);
    let radius = ends.iter().map(|end| 0.6 * (end - at).norm()).fold(ARC, f64::min);
    let Some((arc, middle)) = arc_points(pane, at, ends, radius) else {
        return Some(label(painter, joint + vec2(0.0, -24.0), words, theme));
    };
    painter.add(Shape::line(arc, Stroke::new(THICK, theme.accent)));
    let out = middle - joint;
    Some(label(painter, joint + out + out / out.length().max(1.0) * 22.0, words, theme))
}

/// The arc from one ray to the other round a point, on the screen, and its middle; straight or closed there is none.
pub fn arc_points(pane: &Pane, at: Point, ends: [Point; 2], radius: f64) -> Option<(Vec<Pos2>, Pos2)> {
    let [Some(u), Some(v)] = ends.map(|end| (end - at).try_normalize(1e-9)) else { return None };
    let open = u.cross(&v).norm().atan2(u.dot(&v));
    // Towards v in the plane of both.
    let w = (v - u * u.dot(&v)).try_normalize(1e-9)?;
    let on_arc = |t: f64| pane.at(at + (u * (open * t).cos() + w * (open * t).sin()) * radius);
    let arc: Vec<Pos2> = (0..=24).filter_map(|i| on_arc(f64::from(i) / 24.0)).collect();
    (arc.len() > 2).then_some((arc, on_arc(0.5)?))
}

/// The angles of all joints of arms and legs and of the torso, as they stand: a quiet arc with its value.
pub fn joint_angles(painter: &Painter, pane: &Pane, posture: &Posture, labels: &mut Labels, theme: &Theme) {
    let sitting = &posture.sitting;
    let shoulders = (sitting.shoulders[0] + sitting.shoulders[1]) / 2.0;
    let recline = to_deg(sitting.recline);
    let mut joints = vec![(sitting.h_point, [shoulders, sitting.h_point + Point::z() * 0.3], recline)];
    for side in Side::BOTH {
        let (arm, leg) = (&posture.arms[side.index()], &posture.legs[side.index()]);
        let [knee, ankle] = knee_and_ankle(leg);
        let [(_, elbow), (_, upper_arm), ..] = arm_angles(arm);
        joints.push((leg.hip(), [sitting.shoulders[side.index()], leg.knee()], to_deg(hip_angle(leg))));
        joints.push((leg.knee(), [leg.hip(), leg.ankle()], knee));
        joints.push((leg.ankle(), [leg.knee(), leg.ball], ankle));
        joints.push((arm.shoulder(), [sitting.hips[side.index()], arm.elbow()], upper_arm));
        joints.push((arm.elbow(), [arm.shoulder(), arm.wrist()], elbow));
    }
    // Where two lie on one another, as both legs do from the side, the nearer one is written.
    joints.sort_by(|a, b| {
        let near = |at: &Point| pane.eye.project(*at, area(pane.rect)).map_or(f64::MIN, |projected| projected.near);
        near(&b.0).total_cmp(&near(&a.0))
    });
    for (at, ends, value) in joints {
        arc(painter, pane, at, ends, &Unit::Degree.show(value), labels, theme);
    }
}

fn arc(painter: &Painter, pane: &Pane, at: Point, ends: [Point; 2], words: &str, labels: &mut Labels, theme: &Theme) {
    let Some(joint) = pane.at(at) else { return };
    let Some((points, middle)) = arc_points(pane, at, ends, 0.6 * ARC) else { return };
    let out = middle - joint;
    let place = joint + out + out / out.length().max(1.0) * 14.0;
    let galley = painter.layout_no_wrap(words.to_owned(), FontId::proportional(SMALL), theme.ink);
    let rect = Align2::CENTER_CENTER.anchor_size(place, galley.size()).expand2(vec2(3.0, 1.0));
    if labels.is_taken(rect) {
        return;
    }
    labels.keep_off(rect);
    painter.line_segment([joint, points[0]], Stroke::new(THIN, theme.ink));
    painter.line_segment([joint, points[points.len() - 1]], Stroke::new(THIN, theme.ink));
    painter.add(Shape::line(points, Stroke::new(1.5, theme.accent)));
    painter.circle_filled(joint, 2.5, theme.ink);
    painter.rect_filled(rect, 3.0, theme.panel.gamma_multiply(0.9));
    painter.galley(rect.min + vec2(3.0, 1.0), galley, theme.ink);
}

/// A value on a slip of paper; where it stands.
pub fn label(painter: &Painter, at: Pos2, words: &str, theme: &Theme) -> Rect {
    let galley = painter.layout_no_wrap(words.to_owned(), FontId::proportional(BODY), theme.accent);
    slip(painter, Align2::CENTER_CENTER.anchor_size(at, galley.size()), galley, theme)
}

/// Words on a slip of paper that stays inside a view, on several lines where they are long.
pub fn label_within(painter: &Painter, view: Rect, at: Pos2, words: &str, theme: &Theme) -> Rect {
    let room = view.shrink(8.0);
    let widest = LINE.min(room.width());
    let galley = painter.layout(words.to_owned(), FontId::proportional(BODY), theme.accent, widest);
    let half = galley.size() / 2.0;
    let middle = at.max(room.min + half).min((room.max - half).max(room.min + half));
    slip(painter, Rect::from_center_size(middle, galley.size()), galley, theme)
}

/// Longer lines on a slip are broken, points.
const LINE: f32 = 340.0;

fn slip(painter: &Painter, words_at: Rect, words: Arc<Galley>, theme: &Theme) -> Rect {
    let slip = words_at.expand2(vec2(5.0, 2.0));
    painter.rect_filled(slip, 3.0, theme.panel.gamma_multiply(0.92));
    painter.galley(words_at.min, words, theme.accent);
    slip
}

/// The scale of a parallel view: a bar of round length in the lower left corner.
pub fn scale_bar(painter: &Painter, pane: &Pane, theme: &Theme) {
    if !pane.eye.is_parallel() {
        return;
    }
    let metre = 1.0 / pane.eye.metres_per_unit(area(pane.rect));
    let round: &[f64] = match System::shown() {
        System::Metric => &[10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0],
        System::Inch => &[0.5, 1.0, 2.0, 4.0, 8.0, 12.0, 24.0, 48.0],
    };
    let bare = System::shown().bare(Unit::Millimetre);
    let Some((round, length)) =
        round.iter().map(|round| (round, mm(round * bare))).rfind(|(_, length)| length * metre < 180.0)
    else {
        return;
    };
    let left = pane.rect.left_bottom() + vec2(2.0 * RHYTHM, -2.0 * RHYTHM);
    let right = left + vec2((length * metre) as f32, 0.0);
    painter.line_segment([left, right], theme.thin());
    for end in [left, right] {
        painter.line_segment([end - vec2(0.0, 4.0), end + vec2(0.0, 4.0)], theme.thin());
    }
    let words = format!("{round}{}", System::shown().suffix(Unit::Millimetre));
    let at = pos2(f32::midpoint(left.x, right.x), left.y - 5.0);
    painter.text(at, Align2::CENTER_BOTTOM, words, FontId::proportional(SMALL), theme.quiet);
}

/// The floor of a level view, seen on its edge.
pub fn floor_line(painter: &Painter, pane: &Pane, theme: &Theme) {
    if !pane.eye.is_parallel() || pane.eye.elevation.abs() > 0.02 {
        return;
    }
    let at = Point::new(pane.eye.focus.x, pane.eye.focus.y, 0.0);
    if let Some(at) = pane.at(at).filter(|at| pane.rect.y_range().contains(at.y)) {
        painter.hline(pane.rect.x_range(), at.y, Stroke::new(1.5, theme.ink));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{project::parse, study::check};

    #[test]
    fn an_outline_holds_its_points_and_leaves_others_out() {
        let corners = [pos2(0.0, 0.0), pos2(10.0, 0.0), pos2(10.0, 8.0), pos2(0.0, 8.0)];
        let within = [pos2(5.0, 4.0), pos2(1.0, 7.0), pos2(9.0, 1.0)];
        let around = outline(corners.iter().chain(&within).copied().collect());
        assert_eq!(around.len(), 4);
        assert!(within.iter().all(|at| inside(&around, *at)));
        assert!(!inside(&around, pos2(11.0, 4.0)) && !inside(&around, pos2(5.0, -1.0)));
    }

    #[test]
    fn balloons_keep_clear_of_one_another_and_inside() {
        let study = check(&parse(crate::command::DEMO).unwrap());
        let rect = Rect::from_min_size(Pos2::ZERO, vec2(840.0, 720.0));
        // As crowded as it gets: all findings, anchors within a hand's breadth.
        let mut placed: Vec<Placed<'_>> = study
            .findings
            .iter()
            .enumerate()
            .map(|(i, finding)| {
                let anchor = pos2(400.0 + (i % 5) as f32 * 16.0, 300.0 + (i / 5) as f32 * 16.0);
                Placed { crowd: Crowd { head: finding, anchor, rest: Vec::new() }, at: anchor }
            })
            .collect();
        assert!(placed.len() > 10);
        spread(&mut placed, &[], rect);
        for (i, a) in placed.iter().enumerate() {
            assert!(rect.contains(a.at));
            for b in &placed[i + 1..] {
                assert!(a.at.distance(b.at) > BALLOON * 2.0, "{:?} {:?}", a.at, b.at);
            }
        }
    }
}
