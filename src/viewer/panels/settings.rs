//! The settings, under a word of the head: theme, units, size of text.

use bevy_egui::egui::{self, PopupCloseBehavior, RichText, Ui, containers::menu};

use super::{Sheet, word};
use crate::{
    home::{Settings, TextSize},
    units::System,
    viewer::theme::{Ground, HALF, RHYTHM, SMALL, Theme},
};

/// Shows the word, and below it what can be chosen; returns a sheet that was asked for.
pub(super) fn settings_ui(ui: &mut Ui, settings: &mut Settings, theme: &Theme) -> Option<Sheet> {
    let mut sheet = None;
    let button = egui::Button::new(RichText::new("Settings").color(theme.quiet)).frame(false);
    menu::MenuButton::from_button(button)
        .config(menu::MenuConfig::new().close_behavior(PopupCloseBehavior::CloseOnClickOutside))
        .ui(ui, |ui| {
            ui.set_width(232.0);
            let grounds = [(false, Ground::Paper.word()), (true, Ground::Graphite.word())];
            choose_ui(ui, "Theme", &mut settings.dark, &grounds, theme);
            choose_ui(ui, "Lengths", &mut settings.units, &System::ALL.map(|each| (each, each.word())), theme);
            choose_ui(ui, "Text", &mut settings.text, &TextSize::ALL.map(|each| (each, each.word())), theme);
            ui.add_space(HALF);
            let note = "Files are in millimetres, whatever is shown. You can type 65 cm or 25 5/8 in anywhere.";
            ui.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| {
                ui.add(egui::Label::new(RichText::new(note).size(SMALL).color(theme.quiet)).wrap());
            });
            ui.add_space(HALF);
            if word(ui, "Keys", false, theme).on_hover_text("F1").clicked() {
                sheet = Some(Sheet::Keys);
                ui.close();
            }
        });
    sheet
}

fn choose_ui<T: Copy + PartialEq>(ui: &mut Ui, label: &str, value: &mut T, words: &[(T, &str)], theme: &Theme) {
    ui.label(RichText::new(label).size(SMALL).color(theme.quiet));
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
        for (each, name) in words {
            if word(ui, name, value == each, theme).clicked() {
                *value = *each;
            }
        }
    });
}
