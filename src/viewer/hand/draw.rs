//! What a tool draws over the view: the name under the pointer, arrows along which a part goes, measured distances.

use bevy_egui::egui::{Painter, Pos2, Stroke, Vec2, vec2};

use super::{Arrow, Cut, Hand, Mark, Tool, pick::Owner};
use crate::{
    geometry::Vec3 as Point,
    project::Project,
    rig::{Carried, Handle, Rig, Way},
    units::{Unit, to_mm},
    viewer::{
        overlay::{self, Pane},
        theme::{THICK, THIN, Theme},
    },
};

/// Length of an arrow, points.
const LENGTH: f32 = 54.0;
/// From the part's point to where an arrow begins, points.
const FOOT: f32 = 10.0;

/// Both tips of an arrow on the screen and its direction; `None` where it is looked at along.
fn on_screen(arrow: &Arrow, pane: &Pane) -> Option<(Pos2, Vec2)> {
    let foot = pane.at(arrow.at)?;
    let along = pane.at(arrow.at + arrow.way.rate.normalize() * 0.1)? - foot;
    let seen = along.length();
    // Less than a tenth of what it would be seen square on.
    let square = 0.1 / pane.eye.metres_per_unit([f64::from(pane.rect.width()), f64::from(pane.rect.height())]) as f32;
    (seen > 0.12 * square).then(|| (foot, along / seen))
}

/// The arrow under a point of the screen.
pub fn arrow_at<'a>(arrows: &'a [Arrow], pane: &Pane, at: Pos2, near: f32) -> Option<&'a Arrow> {
    let off = |arrow: &Arrow| {
        let (foot, way) = on_screen(arrow, pane)?;
        let from = at - foot;
        let along = from.dot(way).abs();
        let within = (FOOT..=LENGTH + 8.0).contains(&along);
        within.then(|| from.dot(way.rot90()).abs())
    };
    let best = arrows.iter().filter_map(|arrow| Some((arrow, off(arrow)?)));
    best.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, off)| *off < near).map(|(arrow, _)| arrow)
}

/// The knob under a point of the screen, from which arrows go: an arrow of what it takes hold of.
pub fn knob_at<'a>(arrows: &'a [Arrow], pane: &Pane, at: Pos2) -> Option<&'a Arrow> {
    let off = |arrow: &&Arrow| pane.at(arrow.at).map_or(f32::MAX, |foot| foot.distance(at));
    arrows.iter().min_by(|a, b| off(a).total_cmp(&off(b))).filter(|arrow| off(arrow) < FOOT)
}

/// Everything that the tool shows.
pub fn over(
    painter: &Painter,
    pane: &Pane,
    hand: &Hand,
    rig: &Rig,
    project: &Project,
    pointer: Option<Pos2>,
    theme: &Theme,
) {
    if hand.tool == Tool::Move {
        arrows(painter, pane, hand, pointer, theme);
    }
    measured(painter, pane, hand, theme);
    let Some(at) = pointer else { return };
    if let Some(told) = &hand.told {
        beside_pointer(painter, pane, at, told, theme);
    } else if !hand.drags()
        && hand.tool != Tool::Measure
        && let Some(name) = knob_at(&hand.arrows, pane, at)
            .map(|knob| knob.handle.name(project))
            .or_else(|| hand.over.and_then(|owner| name_of(owner, hand.tool, rig, project)))
    {
        beside_pointer(painter, pane, at, &name, theme);
    }
}

/// What the pointer would take hold of with a tool.
fn name_of(owner: Owner, tool: Tool, rig: &Rig, project: &Project) -> Option<String> {
    let handle = match owner {
        Owner::Part(part) => Handle::of(part, rig)?,
        Owner::Driver if tool == Tool::Move => Handle::Seat,
        Owner::Driver if tool == Tool::Look => return Some(project.driver.name.clone()),
        Owner::Driver => return None,
    };
    let works = matches!(handle, Handle::Wheel | Handle::Pedal(_));
    (tool != Tool::Drive || works).then(|| handle.name(project))
}

fn beside_pointer(painter: &Painter, pane: &Pane, at: Pos2, words: &str, theme: &Theme) {
    let up = if at.y - pane.rect.top() < 60.0 { 34.0 } else { -26.0 };
    overlay::label_within(painter, pane.rect, at + vec2(0.0, up), words, theme);
}

fn arrows(painter: &Painter, pane: &Pane, hand: &Hand, pointer: Option<Pos2>, theme: &Theme) {
    let knob = pointer.and_then(|at| knob_at(&hand.arrows, pane, at)).map(|knob| knob.handle);
    let under = pointer.filter(|_| knob.is_none()).and_then(|at| arrow_at(&hand.arrows, pane, at, super::NEAR));
    for arrow in &hand.arrows {
        let Some((foot, way)) = on_screen(arrow, pane) else { continue };
        let held = under.is_some_and(|under| std::ptr::eq(under, arrow));
        let stroke = Stroke::new(if held { 3.0 } else { THICK }, theme.accent);
        range(painter, pane, arrow, theme);
        for sign in [-1.0, 1.0] {
            let tip = foot + way * (LENGTH * sign);
            painter.line_segment([foot + way * (FOOT * sign), tip - way * (7.0 * sign)], stroke);
            overlay::arrow(painter, tip, way * sign, theme.accent);
        }
        let radius = if knob == Some(arrow.handle) { 6.5 } else { 4.0 };
        painter.circle(foot, radius, theme.panel, Stroke::new(THICK, theme.accent));
    }
}

/// The range of a number with its ends and detents, laid along the way on which the part goes.
fn range(painter: &Painter, pane: &Pane, arrow: &Arrow, theme: &Theme) {
    let way = &arrow.way;
    if !way.described {
        return;
    }
    let place = |value: f64| pane.at(arrow.at + way.rate * (value - way.at));
    let (Some(low), Some(high)) = (place(way.range.0), place(way.range.1)) else { return };
    let along = high - low;
    let length = along.length();
    if length < 4.0 {
        return;
    }
    let across = (along / length).rot90();
    let line = Stroke::new(THIN, theme.accent);
    painter.line_segment([low, high], line);
    for end in [low, high] {
        painter.line_segment([end - across * 7.0, end + across * 7.0], Stroke::new(THICK, theme.accent));
    }
    let apart = way.step / (way.range.1 - way.range.0).max(1e-6) * f64::from(length);
    if way.step > 0.0 && apart > 4.0 {
        let first = ((way.range.0 - way.at) / way.step).ceil() as i64;
        let last = ((way.range.1 - way.at) / way.step).floor() as i64;
        for hole in first..=last {
            if let Some(at) = place(way.at + hole as f64 * way.step) {
                painter.line_segment([at - across * 3.0, at + across * 3.0], line);
            }
        }
    }
}

/// Measured distances, whole and along the axes.
fn measured(painter: &Painter, pane: &Pane, hand: &Hand, theme: &Theme) {
    let dot = |mark: &Mark| {
        if let Some(at) = pane.at(mark.at) {
            if mark.corner {
                let square = bevy_egui::egui::Rect::from_center_size(at, Vec2::splat(8.0));
                painter.rect_stroke(square, 0.0, Stroke::new(THICK, theme.accent), bevy_egui::egui::StrokeKind::Middle);
            } else {
                painter.circle_stroke(at, 4.5, Stroke::new(THICK, theme.accent));
            }
        }
    };
    for pair in hand.marks.chunks(2) {
        pair.iter().for_each(dot);
        let other = if let [_, other] = pair { Some(*other) } else { hand.near };
        if let Some(other) = other
            && let (Some(a), Some(b)) = (pane.at(pair[0].at), pane.at(other.at))
        {
            overlay::dimension(painter, a, b, &distance_words(other.at - pair[0].at), theme);
        }
    }
    if let Some(near) = &hand.near {
        dot(near);
    }
}

/// "412 mm · 400 forward · 0 left · 98 up".
pub fn distance_words(by: Point) -> String {
    let whole = Unit::Millimetre.show(to_mm(by.norm()));
    let parts = along_words(by);
    if parts.is_empty() { whole } else { format!("{whole} · {}", parts.join(" · ")) }
}

/// How far along each axis, where there is something to tell.
fn along_words(by: Point) -> Vec<String> {
    let words = [["forward", "back"], ["left", "right"], ["up", "down"]];
    (0..3)
        .filter(|&axis| by[axis].abs() > 0.5e-3)
        .map(|axis| {
            let word = words[axis][usize::from(by[axis] < 0.0)];
            format!("{} {word}", Unit::Millimetre.show(to_mm(by[axis].abs())))
        })
        .collect()
}

/// "Seat: 36 mm forward · end of its range".
pub fn carried_words(handle: Handle, project: &Project, carried: &Carried, ways: &[Way]) -> String {
    let parts = along_words(carried.by);
    let went = if parts.is_empty() { "where it was".to_owned() } else { parts.join(" · ") };
    let end = carried.at_end.iter().any(|&way| ways[way].described);
    let end = if end { " · end of its range" } else { "" };
    format!("{}: {went}{end}", handle.name(project))
}

/// Where the stage is cut, in words.
pub fn cut_words(cut: Cut) -> String {
    let words = ["forward of the rear axis", "left of the middle", "above the floor"];
    format!("{} {}", Unit::Millimetre.show(to_mm(cut.at)), words[cut.axis])
}
