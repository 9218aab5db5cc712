//! Sheets over the window: where to begin, and the list of keys.

use bevy::math::UVec2;
use bevy_egui::egui::{
    self, Context, CursorIcon, FontId, Id, Modal, RichText, ScrollArea, Sense, Ui, WidgetInfo, WidgetType,
    text::LayoutJob, vec2,
};

use super::{Desk, Sheet, heading, inputs::short_path, picture::picture_ui};
use crate::{
    home::{DEMOS, Settings},
    viewer::{
        files::{FileCommand, Source},
        keys::{ELSEWHERE, Shortcut, TABLE},
        pictures::Pictures,
        theme::{BODY, HALF, RHYTHM, SMALL, Theme, strong},
    },
};

/// Shows the sheet that is open; returns what was asked for on it.
pub(super) fn sheet_ui(
    ctx: &Context,
    desk: &mut Desk,
    settings: &Settings,
    pictures: &mut Pictures,
    view: UVec2,
    theme: &Theme,
) -> Option<FileCommand> {
    let sheet = desk.sheet?;
    let backdrop = egui::Color32::from_black_alpha(if sheet == Sheet::Start { 40 } else { 72 });
    let mut wish = None;
    let mut closes = false;
    let modal = Modal::new(Id::new("sheet")).backdrop_color(backdrop).show(ctx, |ui| {
        ui.spacing_mut().item_spacing.y = HALF;
        match sheet {
            Sheet::Start => (wish, closes) = start_ui(ui, desk, settings, theme),
            Sheet::Keys => closes = keys_ui(ui, theme),
            Sheet::Picture => (wish, closes) = picture_ui(ui, pictures, &mut desk.writing, view, theme),
        }
    });
    if closes || wish.is_some() || modal.should_close() {
        desk.sheet = None;
    }
    wish
}

/// Where to begin: with a demo, with one's own numbers, with a file opened lately.
fn start_ui(ui: &mut Ui, desk: &mut Desk, settings: &Settings, theme: &Theme) -> (Option<FileCommand>, bool) {
    let mut wish = None;
    let mut closes = false;
    let width = (ui.ctx().content_rect().width() - 96.0).min(660.0);
    ui.set_width(width);
    ui.label(RichText::new("Where to begin").heading());
    let does = "Sits a body of your measures in a rig that you have in mind, and says what touches, what strains, and what to move.";
    ui.add(egui::Label::new(RichText::new(does).color(theme.quiet)).wrap());
    ui.columns(2, |columns| {
        let [left, right] = columns else { return };
        heading(left, "Your own rig", theme);
        if row_ui(left, "Begin with your own numbers", "Step by step: what to measure, from where to where.", theme) {
            desk.guide.get_or_insert_default();
            wish = Some(FileCommand::OpenThis(Source::Starter));
        }
        if row_ui(left, "Open a project…", "From a file. You can also drop it onto the window.", theme) {
            wish = Some(FileCommand::Open);
        }
        if !settings.recent.is_empty() {
            heading(left, "Opened lately", theme);
            ScrollArea::vertical().max_height(200.0).show(left, |ui| {
                for path in &settings.recent {
                    if row_ui(ui, &short_path(path), "", theme) {
                        wish = Some(FileCommand::OpenThis(Source::File(path.clone())));
                    }
                }
            });
        }
        heading(right, "Or look at a demo", theme);
        for (index, demo) in DEMOS.iter().enumerate() {
            if row_ui(right, demo.name, demo.sentence, theme) {
                // The one for a first look lies behind this sheet.
                wish = Some(FileCommand::OpenThis(Source::Demo(index)));
            }
        }
    });
    ui.add_space(HALF);
    ui.horizontal(|ui| {
        let close = if settings.recent.is_empty() { "Look at the demo behind this" } else { "Close" };
        closes = ui.button(close).on_hover_text("Esc").clicked();
        ui.label(RichText::new("Start brings this back").size(SMALL).color(theme.quiet));
    });
    (wish, closes)
}

/// Something that can be chosen, with a sentence about it.
fn row_ui(ui: &mut Ui, name: &str, sentence: &str, theme: &Theme) -> bool {
    let wide = ui.available_width() - 2.0 * HALF;
    let lay = |text: &str, font, colour| {
        ui.painter().layout_job(LayoutJob {
            wrap: egui::text::TextWrapping::wrap_at_width(wide),
            ..LayoutJob::single_section(text.to_owned(), egui::TextFormat::simple(font, colour))
        })
    };
    let name_drawn = lay(name, strong(BODY), theme.ink);
    let sentence_drawn = lay(sentence, FontId::proportional(SMALL), theme.quiet);
    let below = if sentence.is_empty() { 0.0 } else { sentence_drawn.size().y };
    let size = vec2(ui.available_width(), name_drawn.size().y + below + 2.0 * HALF);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    if response.hovered() || response.has_focus() {
        ui.painter().rect_filled(rect, 3.0, theme.wash);
    }
    if response.has_focus() {
        ui.painter().rect_stroke(rect, 3.0, egui::Stroke::new(1.0, theme.accent), egui::StrokeKind::Inside);
    }
    let at = rect.min + vec2(HALF, HALF);
    let next = at + vec2(0.0, name_drawn.size().y);
    ui.painter().galley(at, name_drawn, theme.ink);
    ui.painter().galley(next, sentence_drawn, theme.quiet);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, format!("{name}. {sentence}")));
    response.on_hover_cursor(CursorIcon::PointingHand).clicked()
}

/// The list of keys, from the table that acts on them.
fn keys_ui(ui: &mut Ui, theme: &Theme) -> bool {
    ui.set_width((ui.ctx().content_rect().width() - 96.0).min(660.0));
    ui.label(RichText::new("Keys").heading());
    // With large text in a small window the list is longer than that.
    let tall = (ui.ctx().content_rect().height() - 140.0).max(120.0);
    ScrollArea::vertical().max_height(tall).show(ui, |ui| {
        ui.columns(2, |columns| {
            for (index, (title, shortcuts)) in TABLE.iter().enumerate() {
                let ui = &mut columns[usize::from(index >= 2)];
                group_ui(ui, title, shortcuts.iter().filter_map(Shortcut::words), theme);
            }
            group_ui(
                &mut columns[1],
                ELSEWHERE.0,
                ELSEWHERE.1.iter().map(|&(keys, does)| (keys, does.to_owned())),
                theme,
            );
        });
    });
    ui.add_space(HALF);
    ui.button("Close").on_hover_text("Esc").clicked()
}

fn group_ui(ui: &mut Ui, title: &str, rows: impl Iterator<Item = (&'static str, String)>, theme: &Theme) {
    heading(ui, title, theme);
    ui.add_space(RHYTHM / 4.0);
    egui::Grid::new(title).num_columns(2).spacing(vec2(2.0 * RHYTHM, 2.0)).min_col_width(128.0).show(ui, |ui| {
        for (keys, does) in rows {
            ui.label(RichText::new(keys).font(strong(SMALL)).color(theme.ink));
            ui.label(RichText::new(does).size(SMALL).color(theme.ink));
            ui.end_row();
        }
    });
}
