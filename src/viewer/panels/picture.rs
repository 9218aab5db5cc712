//! The sheet of the picture: how large, what is written over it, where it goes; and what became of it.

use bevy::math::UVec2;
use bevy_egui::egui::{self, Align, Label, Layout, Rect, RichText, Ui, UiBuilder, vec2};

use super::{heading, word};
use crate::viewer::{
    files::{FileCommand, Purpose, drop_words},
    over::Writing,
    overlay::label,
    pictures::{Format, Pictures, Told},
    theme::{Ground, HALF, RHYTHM, SMALL, THICK, Theme},
};

/// Shows the sheet; returns where to ask for the file, and whether it is to close.
pub(super) fn picture_ui(
    ui: &mut Ui,
    pictures: &mut Pictures,
    writing: &mut Writing,
    view: UVec2,
    theme: &Theme,
) -> (Option<FileCommand>, bool) {
    let mut wish = None;
    ui.set_width(340.0);
    ui.label(RichText::new("Picture of this view").heading());
    let does =
        "As the view stands: its direction, the positions of wheel and pedals, what is hidden, what was measured.";
    ui.add(Label::new(RichText::new(does).size(SMALL).color(theme.quiet)).wrap());
    heading(ui, "Size", theme);
    ui.add_space(HALF);
    for format in Format::ALL {
        let (width, height) = format.size(view);
        ui.horizontal(|ui| {
            if ui.radio(pictures.format == format, format.word()).clicked() {
                pictures.format = format;
            }
            ui.label(RichText::new(format!("{width} × {height}")).size(SMALL).color(theme.quiet));
        });
    }
    heading(ui, "Ground", theme);
    ui.add_space(HALF);
    let now = pictures.ground(theme.ground);
    ui.horizontal(|ui| {
        for ground in [Ground::Paper, Ground::Graphite] {
            if ui.radio(now == ground, ground.word()).clicked() {
                pictures.choose_ground(ground);
            }
        }
    });
    heading(ui, "Written over it", theme);
    ui.add_space(HALF);
    let Writing { balloons, angles, distances, dimensions } = writing;
    egui::Grid::new("writing").num_columns(2).spacing(vec2(3.0 * RHYTHM, HALF)).show(ui, |ui| {
        ui.checkbox(balloons, "Numbers of findings");
        ui.checkbox(dimensions, "Dimensions");
        ui.end_row();
        ui.checkbox(distances, "Distances near limits");
        ui.checkbox(angles, "Angles of joints");
        ui.end_row();
    });
    ui.add_space(RHYTHM);
    let mut closes = false;
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let busy = pictures.is_busy();
        let button = egui::Button::new(RichText::new("Save as PNG…").color(theme.accent));
        let hint = "Another picture is still being drawn";
        if ui.add_enabled(!busy, button).on_disabled_hover_text(hint).clicked() {
            wish = Some(FileCommand::Ask(Purpose::Picture));
        }
        closes = ui.button("Close").on_hover_text("Esc").clicked();
    });
    (wish, closes)
}

/// How it stands with the last picture, on a slip in the lower right corner of the view.
pub(super) fn told_ui(ui: &mut Ui, rect: Rect, pictures: &mut Pictures, theme: &Theme) {
    let (words, done) = match &pictures.told {
        None => return,
        Some(Told::Drawing(_)) => ("Drawing the picture; go on meanwhile".to_owned(), false),
        Some(Told::Written(path)) => (format!("Picture written: {}", path.display()), true),
    };
    let line = Rect::from_min_max(rect.left_bottom() - vec2(0.0, 40.0), rect.right_bottom()).shrink(RHYTHM);
    let mut ui = ui.new_child(UiBuilder::new().max_rect(line).layout(Layout::right_to_left(Align::Center)));
    let slip = egui::Frame::new().fill(theme.panel).corner_radius(3).inner_margin(egui::Margin::symmetric(8, 4));
    slip.stroke(theme.rule()).show(&mut ui, |ui| {
        if done && word(ui, "Close", false, theme).clicked() {
            pictures.told = None;
        }
        ui.add(Label::new(RichText::new(words).color(theme.ink)).truncate().selectable(true));
    });
}

/// What becomes of the file that is held over the window, in the middle of the view.
pub(super) fn drop_ui(ui: &Ui, rect: Rect, theme: &Theme) {
    let path = ui.input(|input| input.raw.hovered_files.first().and_then(|file| file.path.clone()));
    let Some(path) = path else { return };
    let painter = ui.painter_at(rect);
    painter.rect_stroke(rect, 0.0, egui::Stroke::new(THICK, theme.accent), egui::StrokeKind::Inside);
    label(&painter, rect.center(), &drop_words(&path), theme);
}
