//! Questions in the middle of the window: which file, what about changes, what went wrong.

use std::path::Path;

use bevy_egui::egui::{
    self, Align, Button, Id, Key, Layout, Modal, RichText, TextEdit,
    text::{CCursor, CCursorRange},
    text_edit::TextEditState,
};

use crate::viewer::{
    edit::Document,
    files::{Answer, Files, Question, Then},
    theme::{RHYTHM, SMALL, Theme},
};

/// Shows the open question; returns its answer.
pub(super) fn question_ui(
    ctx: &egui::Context,
    files: &mut Files,
    document: &Document,
    theme: &Theme,
) -> Option<Answer> {
    let portal = files.portal_is_open();
    let question = files.question.as_mut()?;
    let mut answer = None;
    let backdrop = egui::Color32::from_black_alpha(72);
    let modal = Modal::new(Id::new("question")).backdrop_color(backdrop).show(ctx, |ui| {
        ui.set_width(420.0);
        ui.spacing_mut().item_spacing.y = RHYTHM;
        match question {
            Question::Unsaved(then) => {
                ui.label(RichText::new("Save your changes?").heading());
                let loss = match then {
                    Then::Open(_) => "before another project opens",
                    Then::Close => "before the window closes",
                };
                ui.label(format!("“{}” has changes that are not saved, {loss}", document.good().title));
                answer = buttons(ui, theme, "Cancel", &[("Save", Answer::Save), ("Don't save", Answer::Discard)]);
            }
            Question::Path { purpose, typed, .. } => {
                let [title, does, which] = purpose.words();
                ui.label(RichText::new(title).heading());
                let note = if portal { "Choose in the system's dialog, or type the path here" } else { which };
                ui.label(RichText::new(note).size(SMALL).color(theme.quiet));
                let field = ui.add(TextEdit::singleline(typed).desired_width(f32::INFINITY));
                // Asked before the field takes the focus back.
                let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
                if !ui.memory(|memory| memory.focused().is_some()) {
                    field.request_focus();
                    select_name(ui.ctx(), field.id, typed);
                }
                let path = typed.trim();
                answer = buttons(ui, theme, "Cancel", &[(does, Answer::Path(path.into()))]);
                if entered {
                    answer = Some(Answer::Path(path.into()));
                }
                if path.is_empty() && matches!(answer, Some(Answer::Path(_))) {
                    answer = None;
                }
            }
            Question::Left(left) => {
                ui.label(RichText::new("Recover what was not saved?").heading());
                let file = left.path.as_deref().and_then(Path::file_name);
                let file = file.map_or_else(String::new, |name| format!(" ({})", name.to_string_lossy()));
                let words = format!(
                    "Heelpoint ended while “{}”{file} had changes that were not saved. They were kept {}.",
                    left.title,
                    left.when()
                );
                ui.add(egui::Label::new(words).wrap());
                answer = buttons(ui, theme, "Later", &[("Recover", Answer::Recover), ("Discard", Answer::Discard)]);
                if ui.memory(|memory| memory.focused().is_none()) && ui.input(|input| input.key_pressed(Key::Enter)) {
                    answer = Some(Answer::Recover);
                }
            }
            Question::Note { title, lines } => {
                ui.label(RichText::new(title.as_str()).heading());
                egui::ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
                    for line in lines.iter() {
                        ui.add(egui::Label::new(line.as_str()).wrap().selectable(true));
                    }
                });
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    if ui.button("Close").clicked() || ui.input(|input| input.key_pressed(Key::Enter)) {
                        answer = Some(Answer::Cancel);
                    }
                });
            }
        }
    });
    if modal.should_close() && answer.is_none() {
        answer = Some(Answer::Cancel);
    }
    answer
}

/// Selects the file's name in a path, without its ending: what is typed next replaces it.
fn select_name(ctx: &egui::Context, field: Id, path: &str) {
    let from = path.rfind(['/', '\\']).map_or(0, |at| at + 1);
    let to = path[from..].rfind('.').map_or(path.len(), |at| from + at);
    let cursor = |at: usize| CCursor::new(path[..at].chars().count());
    let mut state = TextEditState::load(ctx, field).unwrap_or_default();
    state.cursor.set_char_range(Some(CCursorRange::two(cursor(from), cursor(to))));
    state.store(ctx, field);
}

/// The ways on, the first in the accent colour, and the way back.
fn buttons(ui: &mut egui::Ui, theme: &Theme, back: &str, ways: &[(&str, Answer)]) -> Option<Answer> {
    let mut answer = None;
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        for (index, (text, way)) in ways.iter().enumerate() {
            let text = RichText::new(*text).color(if index == 0 { theme.accent } else { theme.ink });
            if ui.add(Button::new(text)).clicked() {
                answer = Some(way.clone());
            }
        }
        if ui.button(back).clicked() {
            answer = Some(Answer::Cancel);
        }
    });
    answer
}
