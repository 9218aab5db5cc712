//! Where the tape goes: drawings of the driver in place of the rig, with the dimension in hand marked.

use bevy_egui::egui::{
    self, Align, CursorIcon, FontId, Layout, Painter, Pos2, Rect, RichText, Sense, Shape, Stroke, Ui, UiBuilder, pos2,
    vec2,
};

use super::word;
use crate::{
    body::Dimensions,
    measuring::{Figure, Figures, Guide, StrokeKind, Tape},
    viewer::{
        overlay,
        theme::{BODY, RHYTHM, SMALL, TITLE, Theme, strong},
    },
};

/// Width of the words beside the drawing, points.
const WORDS: f32 = 280.0;
/// How near the pointer must come to a tape, points.
const GRAB: f32 = 9.0;

/// Shows the page; returns the dimension that is to be in hand from now on, none when the page is to be closed.
pub(super) fn measuring_ui(
    ui: &mut Ui,
    rect: Rect,
    field: &'static str,
    figures: Option<&Figures>,
    dimensions: Option<&Dimensions>,
    theme: &Theme,
) -> Option<&'static str> {
    ui.painter().rect_filled(rect, 0.0, theme.paper);
    let guide = Guide::of(field)?;
    let inside = rect.shrink(3.0 * RHYTHM);
    let (drawn, words) = inside.split_left_right_at_x(inside.right() - WORDS.min(0.45 * inside.width()));
    let mut next = Some(field);
    if let Some(figures) = figures {
        let drawn = drawn.with_max_x(drawn.right() - 3.0 * RHYTHM);
        next = drawing_ui(ui, drawn, guide, figures, theme).or(next);
    } else {
        let font = FontId::proportional(BODY);
        ui.painter().text(drawn.center(), egui::Align2::CENTER_CENTER, "Drawing you…", font, theme.quiet);
    }
    let mut ui = ui.new_child(UiBuilder::new().max_rect(words).layout(Layout::top_down(Align::Min)));
    ui.add_space(0.12 * words.height());
    words_ui(&mut ui, guide, dimensions, theme);
    ui.add_space(2.0 * RHYTHM);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 2.0 * RHYTHM;
        let guides = Guide::all();
        let at = guides.iter().position(|other| other.field == field).unwrap_or(0);
        for (text, step) in [("Previous", guides.len() - 1), ("Next", 1)] {
            if word(ui, text, false, theme).clicked() {
                next = Some(guides[(at + step) % guides.len()].field.as_str());
            }
        }
        if word(ui, "Back to the rig", false, theme).on_hover_text("Esc").clicked() {
            next = None;
        }
    });
    next
}

fn words_ui(ui: &mut Ui, guide: &Guide, dimensions: Option<&Dimensions>, theme: &Theme) {
    let (label, unit, error) = guide.label();
    ui.label(RichText::new(label).font(strong(TITLE)).color(theme.ink));
    ui.label(RichText::new(guide.standard()).size(SMALL).color(theme.quiet));
    ui.add_space(RHYTHM);
    if let Some(estimate) = dimensions.map(|dimensions| dimensions.get(guide.variable())) {
        let now = match estimate.measured {
            Some(measured) => {
                format!("You measured {} ± {}.", unit.show(measured.value), unit.show(measured.error))
            }
            None => format!(
                "Not measured. What is known of you implies {} ± {}.",
                unit.show(estimate.mean),
                unit.show(estimate.sd)
            ),
        };
        ui.label(RichText::new(now).color(theme.ink));
        ui.add_space(RHYTHM);
    }
    ui.label(RichText::new(format!("{}.", guide.definition)).color(theme.ink));
    ui.add_space(RHYTHM);
    ui.label(RichText::new(&guide.how).color(theme.quiet));
    ui.add_space(RHYTHM);
    let usual = format!("Usual error at home: ± {}", unit.show(error));
    ui.label(RichText::new(usual).size(SMALL).color(theme.quiet));
}

/// The drawing of the stance, its tapes and the one in hand; returns the tape that was clicked.
fn drawing_ui(ui: &mut Ui, rect: Rect, guide: &Guide, figures: &Figures, theme: &Theme) -> Option<&'static str> {
    let figure = figures.get(guide.stance);
    let place = Place::fit(figure, rect);
    let response = ui.interact(rect, ui.id().with("measuring"), Sense::click());
    let painter = ui.painter_at(rect.expand(2.0 * RHYTHM));
    let in_hand = figure.tape(&guide.field);
    for stroke in figure.strokes.iter().chain(in_hand.into_iter().flat_map(|tape| &tape.aids)) {
        let pen = match stroke.kind {
            StrokeKind::Body => Stroke::new(1.6, theme.ink),
            StrokeKind::Aid => Stroke::new(1.0, theme.quiet),
        };
        painter.add(Shape::line(stroke.points.iter().map(|&point| place.at(point)).collect(), pen));
    }
    let pointer = response.hover_pos();
    let mut under = None;
    for tape in figure.tapes.iter().filter(|tape| tape.field != guide.field) {
        let Some([a, b]) = tape.line.map(|line| line.map(|end| place.at(end))) else { continue };
        let near = pointer.is_some_and(|pointer| distance(pointer, a, b) < GRAB);
        painter.line_segment([a, b], Stroke::new(if near { 2.0 } else { 1.0 }, theme.quiet));
        if near {
            under = Some(tape);
        }
    }
    if let Some(tape) = in_hand {
        tape_ui(&painter, &place, tape, guide.label().0, theme);
    }
    let under = under?;
    ui.ctx().set_cursor_icon(CursorIcon::PointingHand);
    if let (Some(at), Some(guide)) = (pointer, Guide::of(under.field)) {
        overlay::label(&painter, at - vec2(0.0, 18.0), guide.label().0, theme);
    }
    response.clicked().then_some(under.field)
}

/// The tape in hand: extension lines, dimension line and its name.
fn tape_ui(painter: &Painter, place: &Place, tape: &Tape, name: &str, theme: &Theme) {
    let Some([a, b]) = tape.line.map(|line| line.map(|end| place.at(end))) else { return };
    for (end, beside) in tape.ends.map(|end| place.at(end)).into_iter().zip([a, b]) {
        painter.line_segment([end, beside], Stroke::new(1.0, theme.accent));
        painter.circle_filled(end, 3.0, theme.accent);
    }
    painter.line_segment([a, b], Stroke::new(2.5, theme.accent));
    let way = (b - a) / a.distance(b).max(1.0);
    overlay::arrow(painter, a, -way, theme.accent);
    overlay::arrow(painter, b, way, theme.accent);
    overlay::label(painter, a + (b - a) * 0.5, name, theme);
}

/// Where a drawing lies on the screen.
struct Place {
    origin: Pos2,
    scale: f32,
}

impl Place {
    fn fit(figure: &Figure, rect: Rect) -> Self {
        let [low, high] = figure.bounds.map(|corner| corner.map(|value| value as f32));
        let size = [high[0] - low[0], high[1] - low[1]];
        let scale = (rect.width() / size[0]).min(rect.height() / size[1]);
        let centre = rect.center();
        let origin =
            pos2(centre.x - scale * f32::midpoint(low[0], high[0]), centre.y + scale * f32::midpoint(low[1], high[1]));
        Self { origin, scale }
    }

    fn at(&self, point: [f64; 2]) -> Pos2 {
        self.origin + vec2(point[0] as f32, -point[1] as f32) * self.scale
    }
}

/// From a point to a line between two.
fn distance(point: Pos2, a: Pos2, b: Pos2) -> f32 {
    let along = b - a;
    let share = ((point - a).dot(along) / along.length_sq().max(1e-6)).clamp(0.0, 1.0);
    point.distance(a + along * share)
}
