//! The page of comparing: a kept state or another project, and every finding that differs from there.

use bevy_egui::egui::{
    self, Align2, CursorIcon, FontId, Painter, Rect, RichText, ScrollArea, Sense, Ui, WidgetInfo, WidgetType, pos2,
    text::LayoutJob, vec2,
};

use super::{Interface, heading, inputs::action};
use crate::{
    compare::{Changed, Difference, Side, Way},
    viewer::{
        compare::Wish,
        files::{FileCommand, Purpose},
        overlay::mark,
        theme::{BODY, HALF, RHYTHM, SMALL, Theme, strong},
    },
};

/// Numbers that are listed as changed.
const MOST: usize = 40;

/// Shows the column; the key of a finding that is to be looked at.
pub(super) fn compare_ui(ui: &mut Ui, interface: &mut Interface, theme: &Theme) -> Option<String> {
    let quiet = |text: &str| RichText::new(text).color(theme.quiet);
    ui.label(RichText::new("Compare").heading());
    let page = &mut interface.comparison;
    match &page.kept {
        None => {
            let what = "Keep the rig as it is now, change what you like, and see here what that makes better and worse. \
                        Or set another project beside this one.";
            ui.add(egui::Label::new(quiet(what)).wrap());
        }
        Some(kept) => {
            ui.add(egui::Label::new(format!("With “{}”", kept.name)).wrap());
            if kept.state.is_none() || page.rows.is_none() {
                ui.label(quiet("working it out").size(SMALL));
            }
        }
    }
    ui.add_space(HALF);
    let mut wish = None;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(1.5 * RHYTHM, HALF);
        let has = page.kept.is_some();
        for (text, hint, asked) in [
            ("Keep this state", "Remember the rig as it is now", Wish::Keep),
            ("Swap", "Go to the kept state and keep this one", Wish::Swap),
            ("Take it back", "Go to the kept state, which stays kept; Undo comes back here", Wish::TakeBack),
            ("Forget", "Compare with nothing", Wish::Forget),
        ] {
            if (has || asked == Wish::Keep) && action(ui, text, theme).on_hover_text(hint).clicked() {
                wish = Some(asked);
            }
        }
        if action(ui, "Compare with a file…", theme).clicked() {
            interface.commands.write(FileCommand::Ask(Purpose::Compare));
        }
    });
    if let Some(wish) = wish {
        page.wish(wish);
    }
    let page = &*interface.comparison;
    let (Some(_), Some(rows)) = (&page.kept, &page.rows) else { return None };
    let mut look = None;
    ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        if rows.is_empty() {
            ui.add_space(RHYTHM);
            ui.label(quiet("No finding differs"));
        }
        let parts: [(&str, fn(f64) -> bool); 3] =
            [("Gets worse", |by| by > 0.0), ("Good in both", |by| by == 0.0), ("Gets better", |by| by < 0.0)];
        for (title, belongs) in parts {
            let of: Vec<&Difference> = rows.iter().filter(|row| belongs(row.worse_by())).collect();
            if of.is_empty() {
                continue;
            }
            let head = heading(ui, &format!("{title}, {}", of.len()), theme);
            let font = FontId::proportional(SMALL);
            ui.painter().text(head.right_bottom(), Align2::RIGHT_BOTTOM, "then → now", font, theme.quiet);
            for row in of {
                if row_ui(ui, row, theme).clicked() {
                    look = Some(row.key.clone());
                }
            }
        }
        if !page.changed.is_empty() {
            heading(ui, "Numbers that differ", theme);
            ui.add_space(HALF);
        }
        for row in page.changed.iter().take(MOST) {
            changed_ui(ui, row, theme);
        }
        if page.changed.len() > MOST {
            ui.label(quiet(&format!("and {} more", page.changed.len() - MOST)).size(SMALL));
        }
        ui.add_space(2.0 * RHYTHM);
    });
    look
}

/// A finding then and now.
fn row_ui(ui: &mut Ui, row: &Difference, theme: &Theme) -> egui::Response {
    let width = ui.available_width();
    let painter = ui.painter().clone();
    let lay = |text: &str, size: f32, colour, wrap: f32| {
        painter.layout_job(LayoutJob::simple(text.to_owned(), FontId::proportional(size), colour, wrap))
    };
    let title = lay(&row.title, BODY, theme.ink, width);
    let height = title.size().y + 18.0 + 8.0;
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::click());
    if response.hovered() {
        painter.rect_filled(rect.expand2(vec2(HALF, 0.0)), 3.0, theme.wash);
    }
    let top = rect.top() + 3.0;
    let below = top + title.size().y + 9.0;
    painter.galley(pos2(rect.left(), top), title, theme.ink);
    let mut x = side_at(&painter, rect.left(), below, row.one.as_ref(), theme);
    let font = FontId::proportional(BODY);
    x = painter.text(pos2(x + 6.0, below), Align2::LEFT_CENTER, "→", font, theme.quiet).right();
    side_at(&painter, x + 8.0, below, row.other.as_ref(), theme);
    let word = match row.way() {
        Way::Worse => "worse",
        Way::Better => "better",
        Way::Same => "",
    };
    painter.text(pos2(rect.right(), below), Align2::RIGHT_CENTER, word, strong(SMALL), theme.ink);
    let words = |side: &Option<Side>| {
        side.as_ref().map_or_else(|| "not there".to_owned(), |side| format!("{} {}", side.words, side.level.word()))
    };
    let label = format!("{}: {}, now {} {word}", row.title, words(&row.one), words(&row.other));
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &label));
    response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text("Look at it as it is now")
}

/// A value behind the mark of its level; where it ends.
fn side_at(painter: &Painter, x: f32, y: f32, side: Option<&Side>, theme: &Theme) -> f32 {
    let Some(side) = side else {
        return painter.text(pos2(x, y), Align2::LEFT_CENTER, "—", FontId::proportional(BODY), theme.quiet).right();
    };
    mark(painter, pos2(x + 5.0, y), side.level, theme);
    let font = FontId::proportional(BODY);
    painter.text(pos2(x + 14.0, y), Align2::LEFT_CENTER, &side.words, font, theme.ink).right()
}

/// A number then and now.
fn changed_ui(ui: &mut Ui, row: &Changed, theme: &Theme) {
    let [then, now] = row.values.map(|value| value.map_or_else(|| "—".to_owned(), |value| row.unit.show(value)));
    let difference = if then == now { "by less than is shown".to_owned() } else { format!("{then} → {now}") };
    let words = format!("{}, {}", row.part, crate::words::first_lower(row.label));
    ui.add(egui::Label::new(RichText::new(words).size(SMALL).color(theme.quiet)).wrap());
    ui.label(RichText::new(difference).size(SMALL));
    ui.add_space(HALF);
}

/// Says in the view's corner what the veils are.
pub(super) fn legend(painter: &Painter, view: Rect, kept: Option<&str>, ghost: Option<&str>, theme: &Theme) {
    // Below the line of tools.
    let mut at = view.left_top() + vec2(2.0 * RHYTHM, 5.5 * RHYTHM);
    let lines = [(kept, "Then", theme.kept), (ghost, "Ghost", theme.ghost)];
    // A ghost alone needs no words: there is nothing to confuse it with.
    for (name, what, matter) in lines.into_iter().filter(|_| kept.is_some()) {
        let Some(name) = name else { continue };
        let swatch = Rect::from_min_size(at + vec2(0.0, 3.0), vec2(12.0, 10.0));
        painter.rect(swatch, 2.0, matter.colour, theme.thin(), egui::StrokeKind::Inside);
        let text = format!("{what}: {name}");
        painter.text(at + vec2(18.0, 8.0), Align2::LEFT_CENTER, text, FontId::proportional(SMALL), theme.ink);
        at.y += 18.0;
    }
}
