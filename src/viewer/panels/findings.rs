//! The right column: what was found, with number, level and value, and on a click all that is known about it.

use bevy_egui::egui::{
    self, Align2, CursorIcon, FontId, Rect, RichText, ScrollArea, Sense, Ui, pos2, text::LayoutJob, vec2,
};

use super::{Desk, effort::effort_ui, focus_ui, heading, word};
use crate::{
    findings::{Finding, Group, Level, Move},
    project::{Band, PedalKind},
    viewer::{
        overlay::{balloon, mark},
        solve::{Found, Progress},
        theme::{BODY, HALF, RHYTHM, SMALL, Theme, strong},
    },
};

/// What the user wants.
pub(super) enum Wish {
    /// To look at the finding of this number.
    Look(usize),
    /// To see how a dimension is measured, a field of the measurements.
    Measure(&'static str),
    /// To make the moves of a mend.
    Move(Vec<Move>),
}

/// Width of the balloon's place at the start of a row, points.
const GUTTER: f32 = 28.0;

/// Shows the column.
pub(super) fn findings_ui(ui: &mut Ui, found: &Found, desk: &mut Desk, theme: &Theme) -> Option<Wish> {
    ui.label(RichText::new("Findings").heading());
    let of = |level| found.list.iter().filter(|finding| finding.level == level).count();
    ui.columns(3, |columns| {
        for (ui, level) in columns.iter_mut().zip([Level::Outside, Level::Borderline, Level::Good]) {
            ui.spacing_mut().item_spacing = vec2(HALF, 0.0);
            ui.horizontal(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(12.0, 18.0), Sense::hover());
                mark(ui.painter(), rect.center(), level, theme);
                ui.label(RichText::new(of(level).to_string()).font(strong(BODY)));
            });
            ui.label(RichText::new(level.word()).size(SMALL).color(theme.quiet));
        }
    });
    ui.add_space(HALF);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
        if word(ui, "To mend", !desk.show_all, theme).clicked() {
            desk.show_all = false;
        }
        if word(ui, "All", desk.show_all, theme).clicked() {
            desk.show_all = true;
        }
        let progress = match found.progress {
            Progress::Done => "",
            Progress::Checking => "checking",
            Progress::Mending => "trying what to move",
            Progress::Doubting => "weighing how sure",
            Progress::Failed => "could not be worked out",
        };
        ui.label(RichText::new(progress).size(SMALL).color(theme.quiet));
    });

    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
        let order = if desk.by_group { "By group" } else { "Most urgent first" };
        if word(ui, order, false, theme).on_hover_text("Change the order").clicked() {
            desk.by_group = !desk.by_group;
        }
        let shown = desk.group.map_or("Every group", Group::title);
        let shown = RichText::new(shown).size(SMALL).color(theme.quiet);
        egui::containers::menu::MenuButton::from_button(egui::Button::new(shown).frame(false)).ui(ui, |ui| {
            if ui.radio(desk.group.is_none(), "Every group").clicked() {
                desk.group = None;
                ui.close();
            }
            for group in Group::ALL {
                let any = found.list.iter().any(|finding| finding.group == group);
                if any && ui.radio(desk.group == Some(group), group.title()).clicked() {
                    desk.group = Some(group);
                    ui.close();
                }
            }
        });
    });

    let mut wish = None;
    ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        for (title, findings) in sections(found, desk) {
            heading(ui, title, theme);
            for finding in findings {
                let selected = desk.selected.as_deref() == Some(finding.key().as_str());
                wish = finding_ui(ui, finding, selected, found, theme).or(wish.take());
            }
        }
        if found.list.iter().all(|finding| finding.level == Level::Good) && !found.list.is_empty() && !desk.show_all {
            ui.add_space(RHYTHM);
            ui.label(RichText::new("Everything is inside its band").color(theme.quiet));
        }
        if !found.advice.is_empty() {
            heading(ui, "To be surer", theme);
            ui.add_space(HALF);
        }
        for advice in &found.advice {
            let text = RichText::new(&advice.sentence).size(SMALL).color(theme.accent);
            let line = ui.add(egui::Label::new(text).wrap().sense(Sense::click()));
            if line.on_hover_cursor(CursorIcon::PointingHand).on_hover_text("Show how to measure it").clicked() {
                wish = Some(Wish::Measure(advice.field));
            }
            ui.add_space(HALF);
        }
        ui.add_space(2.0 * RHYTHM);
    });
    wish
}

/// What is listed, under headings: by urgency, or by group.
fn sections<'a>(found: &'a Found, desk: &Desk) -> Vec<(&'static str, Vec<&'a Finding>)> {
    let selected = |finding: &Finding| desk.selected.as_deref() == Some(finding.key().as_str());
    let listed = |finding: &&Finding| {
        (finding.level != Level::Good || desk.show_all || selected(finding))
            && desk.group.is_none_or(|group| finding.group == group)
    };
    let listed: Vec<&Finding> = found.list.iter().filter(listed).collect();
    let part =
        |belongs: &dyn Fn(&Finding) -> bool| listed.iter().copied().filter(|one| belongs(one)).collect::<Vec<_>>();
    let mut out: Vec<(&str, Vec<&Finding>)> = if desk.by_group {
        Group::ALL.into_iter().map(|group| (group.title(), part(&|one| one.group == group))).collect()
    } else {
        [Level::Outside, Level::Borderline, Level::Good]
            .into_iter()
            .map(|level| {
                let mut findings = part(&|one| one.level == level);
                findings.sort_by(|a, b| b.urgency().total_cmp(&a.urgency()));
                (level.title(), findings)
            })
            .collect()
    };
    out.retain(|(_, findings)| !findings.is_empty());
    out
}

fn finding_ui(ui: &mut Ui, finding: &Finding, selected: bool, found: &Found, theme: &Theme) -> Option<Wish> {
    let width = ui.available_width();
    let painter = ui.painter().clone();
    let lay = |text: &str, size: f32, colour, wrap: f32| {
        painter.layout_job(LayoutJob::simple(text.to_owned(), FontId::proportional(size), colour, wrap))
    };
    let value = lay(&finding.value_words(), BODY, theme.ink, f32::INFINITY);
    let title = lay(&finding.title, BODY, theme.ink, width - GUTTER - value.size().x - RHYTHM);
    let band = format!("{} · {}", finding.level.word(), short(&finding.band));
    let spread = finding.spread.map(|spread| format!("± {}", spread.sd_words(finding.band.unit)));
    let spread = spread.map(|words| lay(&words, SMALL, theme.quiet, f32::INFINITY));
    let room = spread.as_ref().map_or(0.0, |spread| spread.size().x + RHYTHM);
    let band = lay(&band, SMALL, theme.quiet, width - GUTTER - room);

    let height = title.size().y + band.size().y + 9.0;
    let (rect, response) = ui.allocate_exact_size(vec2(width, height.max(26.0)), Sense::click());
    let response = response.on_hover_cursor(CursorIcon::PointingHand);
    let area = rect.expand2(vec2(HALF, 0.0));
    if selected || response.hovered() {
        painter.rect_filled(area, 3.0, theme.wash);
    }
    if selected {
        painter.rect_filled(Rect::from_min_size(area.min, vec2(2.0, area.height())), 0.0, theme.accent);
    }
    let top = rect.top() + 4.0;
    let middle = pos2(rect.left() + BODY, top + title.size().y.min(17.0) / 2.0 + 5.0);
    balloon(&painter, middle, finding.level, finding.number, theme, theme.thin());
    let value_at = Align2::RIGHT_TOP.anchor_size(pos2(rect.right(), top), value.size());
    painter.galley(value_at.min, value, theme.ink);
    let below = top + title.size().y;
    if let Some(spread) = spread {
        let at = pos2(rect.right(), below);
        painter.galley(Align2::RIGHT_TOP.anchor_size(at, spread.size()).min, spread, theme.quiet);
    }
    painter.galley(pos2(rect.left() + GUTTER, top), title, theme.ink);
    painter.galley(pos2(rect.left() + GUTTER, below), band, theme.quiet);
    response.widget_info(|| {
        let words =
            format!("{}. {}: {}, {}", finding.number, finding.title, finding.value_words(), finding.level.word());
        egui::WidgetInfo::selected(egui::WidgetType::Button, true, selected, words)
    });

    focus_ui(ui, &response, theme);
    let mut wish = response.clicked().then_some(Wish::Look(finding.number));
    if selected {
        wish = detail_ui(ui, finding, found, theme).or(wish);
    }
    wish
}

/// A band in signs: "≥ 50 mm", "95 to 120°".
fn short(band: &Band) -> String {
    match band.good {
        [Some(low), None] => format!("≥ {}", band.unit.show(low)),
        [None, Some(high)] => format!("≤ {}", band.unit.show(high)),
        _ => band.words(),
    }
}

/// The sentence, what to move, and where the band comes from.
fn detail_ui(ui: &mut Ui, finding: &Finding, found: &Found, theme: &Theme) -> Option<Wish> {
    let mut wish = None;
    super::detail_frame(GUTTER, theme).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = HALF;
        ui.set_width(ui.available_width());
        ui.add(egui::Label::new(&finding.sentence).wrap());
        let doubt = finding.spread.and_then(|spread| spread.doubt(finding.level, finding.band.unit));
        if let Some(doubt) = doubt {
            ui.add(egui::Label::new(RichText::new(doubt).color(theme.ink)).wrap());
        }
        match &finding.mend {
            Some(mend) => {
                ui.add(egui::Label::new(RichText::new(&mend.sentence).color(theme.ink)).wrap());
                if ui.button(RichText::new("Move it").color(theme.accent)).clicked() {
                    wish = Some(Wish::Move(mend.moves.clone()));
                }
            }
            None if finding.level != Level::Good && matches!(found.progress, Progress::Doubting | Progress::Done) => {
                ui.label(RichText::new("No adjuster mends this, nor any two").color(theme.quiet));
            }
            None => {}
        }
        let brake = found.effort.iter().find(|effort| effort.pedal == PedalKind::Brake.word());
        if let Some(effort) = brake.filter(|_| finding.group == Group::Load) {
            effort_ui(ui, effort, theme);
        }
        let whose = if finding.band.overridden { "Your own band" } else { "Band" };
        let source = format!("{whose}: {}. {}", finding.band.words(), finding.band.source);
        ui.add(egui::Label::new(RichText::new(source).size(SMALL).color(theme.quiet)).wrap());
    });
    wish
}
