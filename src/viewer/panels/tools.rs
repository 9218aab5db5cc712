//! The line of tools over the view: what a drag does, what is hidden, where the stage is cut, views that were kept.

use bevy_egui::egui::{self, Align, Layout, Rect, RichText, Shape, Slider, Ui, UiBuilder, vec2};

use super::{Interface, word};
use crate::{
    project::SavedView,
    units::{mm, to_mm},
    viewer::{
        edit::Edit,
        hand::{self, Cut, Tool, draw::cut_words},
        over::Writing,
        theme::{RHYTHM, SMALL, Theme},
    },
};

/// Shows the line.
pub(super) fn tools_ui(ui: &mut Ui, line: Rect, interface: &mut Interface, theme: &Theme) {
    let line = line.shrink2(vec2(2.0 * RHYTHM, 0.0));
    let mut ui = ui.new_child(UiBuilder::new().max_rect(line).layout(Layout::left_to_right(Align::Center)));
    ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
    // Words stay legible before whatever stands behind them.
    let backs = [(); 2].map(|()| ui.painter().add(Shape::Noop));
    let back = |words: Rect| {
        let rect = words.expand2(vec2(RHYTHM, 0.0));
        Shape::rect_filled(rect, 0.0, theme.paper)
    };
    for tool in Tool::ALL {
        let hint = format!("{}. Key {}", tool.hint(), tool.key());
        if word(&mut ui, tool.word(), interface.hand.tool == tool, theme).on_hover_text(hint).clicked() {
            interface.hand.take(tool);
        }
    }
    ui.painter().set(backs[0], back(ui.min_rect()));
    let right = ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        writing_ui(ui, line.width() >= ROOMY, &mut interface.desk.writing, theme);
        views_ui(ui, interface, theme);
        cut_ui(ui, interface, theme);
        if interface.choice.hides() && word(ui, "Show all", false, theme).on_hover_text("Key Shift+H").clicked() {
            interface.choice.show_all();
        }
        if let Some(held) = interface.choice.held {
            if word(ui, "Alone", false, theme).on_hover_text("Hide everything else. Key I").clicked() {
                let project = interface.document.good().clone();
                interface.choice.isolate(held, &project);
            }
            for (name, key, mirrors) in [("Mirror", "Ctrl+M", true), ("Copy", "Ctrl+D", false)] {
                let again = if mirrors { hand::mirrored } else { hand::copied };
                if hand::repeats(held, mirrors)
                    && word(ui, name, false, theme).on_hover_text(format!("Key {key}")).clicked()
                    && let Some((project, other)) = again(interface.document.draft(), held)
                {
                    interface.choice.held = Some(other);
                    interface.desk.turn_to(other, &project);
                    interface.edits.write(Edit::Draft { project: Box::new(project), stroke: None });
                }
            }
            if word(ui, "Hide", false, theme).on_hover_text("Key H").clicked() {
                interface.choice.hidden.insert(held);
                interface.choice.held = None;
            }
        }
        ui.min_rect()
    });
    ui.painter().set(backs[1], back(right.inner));
}

/// From this width on, what is written over the view has words of its own in the line, points.
const ROOMY: f32 = 780.0;

/// What is written over the view.
fn writing_ui(ui: &mut Ui, roomy: bool, writing: &mut Writing, theme: &Theme) {
    let Writing { angles, distances, dimensions, .. } = writing;
    let all = [
        ("Angles", angles, "The angle of every joint, as it stands now. Key A"),
        ("Distances", distances, "Distances that are near their limits, each with its value. Key G"),
        ("Dimensions", dimensions, "The principal dimensions, as on a drawing. Key N"),
    ];
    if roomy {
        // From right to left.
        for (name, on, hint) in all {
            if word(ui, name, *on, theme).on_hover_text(hint).clicked() {
                *on = !*on;
            }
        }
        return;
    }
    let any = all.iter().any(|(_, on, _)| **on);
    let button =
        egui::Button::new(RichText::new("Values").color(if any { theme.ink } else { theme.quiet })).frame(false);
    egui::containers::menu::MenuButton::from_button(button)
        .config(egui::containers::menu::MenuConfig::new().close_behavior(egui::PopupCloseBehavior::CloseOnClickOutside))
        .ui(ui, |ui| {
            for (name, on, hint) in all {
                ui.checkbox(on, name).on_hover_text(hint);
            }
        });
}

/// Where the stage is cut open.
fn cut_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) {
    let cut = interface.choice.cut;
    let words = cut.map_or_else(|| "Cut".to_owned(), |cut| format!("Cut {}", Cut::WORDS[cut.axis]));
    let (_, inner) = egui::containers::menu::MenuButton::from_button(
        egui::Button::new(RichText::new(words).color(if cut.is_some() { theme.ink } else { theme.quiet })).frame(false),
    )
    .config(egui::containers::menu::MenuConfig::new().close_behavior(egui::PopupCloseBehavior::CloseOnClickOutside))
    .ui(ui, |ui| {
        let mut now = cut;
        for (axis, name) in [(1, "Lengthwise"), (0, "Across"), (2, "Level")] {
            if ui.radio(cut.is_some_and(|cut| cut.axis == axis), name).clicked() {
                let middle = interface.view.bounds.centre();
                now = Some(Cut { axis, at: if axis == 1 { 0.0 } else { middle[axis] } });
            }
        }
        if ui.radio(cut.is_none(), "Not cut").clicked() {
            now = None;
        }
        if let Some(cut) = &mut now {
            let points: Vec<f64> = interface.view.bounds.points().map(|point| to_mm(point[cut.axis])).collect();
            let low = points.iter().copied().fold(f64::MAX, f64::min).floor();
            let high = points.iter().copied().fold(f64::MIN, f64::max).ceil();
            let mut at = to_mm(cut.at);
            if ui.add(Slider::new(&mut at, low..=high).show_value(false)).changed() {
                cut.at = mm(at.round());
            }
            ui.label(RichText::new(cut_words(*cut)).size(SMALL).color(theme.quiet));
        }
        now
    });
    let now = inner.map(|inner| inner.inner);
    if let Some(now) = now
        && now != interface.choice.cut
    {
        interface.choice.cut = now;
    }
}

/// Views that were kept in the project.
fn views_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) {
    let button = egui::Button::new(RichText::new("Kept views").color(theme.quiet)).frame(false);
    let mut wish = None;
    let (_, _) = egui::containers::menu::MenuButton::from_button(button).ui(ui, |ui| {
        for (index, view) in interface.document.draft().views.iter().enumerate() {
            ui.horizontal(|ui| {
                if ui.button(&view.name).clicked() {
                    wish = Some(Wish::Show(index));
                    ui.close();
                }
                if ui.small_button("Forget").clicked() {
                    wish = Some(Wish::Forget(index));
                    ui.close();
                }
            });
        }
        if ui.button("Keep this view").clicked() {
            wish = Some(Wish::Keep);
            ui.close();
        }
    });
    let Some(wish) = wish else { return };
    let mut project = interface.document.draft().clone();
    match wish {
        Wish::Show(index) => {
            if let Some(view) = project.views.get(index) {
                interface.view.go_to(view);
            }
        }
        Wish::Keep => {
            let taken = |name: &str| project.views.iter().any(|view| view.name == name);
            let name = (1..=project.views.len() + 1)
                .map(|number| format!("View {number}"))
                .find(|name| !taken(name))
                .unwrap_or_default();
            let view: SavedView = interface.view.eye.kept(name);
            project.views.push(view);
            interface.edits.write(Edit::Draft { project: Box::new(project), stroke: None });
        }
        Wish::Forget(index) => {
            project.views.remove(index);
            interface.edits.write(Edit::Draft { project: Box::new(project), stroke: None });
        }
    }
}

enum Wish {
    Show(usize),
    Forget(usize),
    Keep,
}
