//! What can be moved and how far, beside its number: a bar with its steps, and the words that a click opens.

use bevy_egui::egui::{CursorIcon, RichText, Sense, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::{
    inputs::{Column, action, pick, row},
    number::number,
};
use crate::{
    project::{AdjusterRange, Field, Page, Project, can_be_adjusted, fields_of_page},
    units::{System, Unit},
    viewer::theme::{HALF, RHYTHM, SMALL, Theme},
};

/// Height of the bar's row, points.
const BAR: f32 = 22.0;
/// Steps nearer to each other than this on the screen are not drawn, points.
const APART: f32 = 3.0;
/// The range that a new adjuster begins with to either side, in the number's unit: own choice.
const BEGIN: f64 = 50.0;
/// The number whose adjuster is the slider's own range.
const SLIDER: &str = "seat.slider.at_mm";

/// No end of an adjuster is dragged farther than this, in its unit.
const FAR: f64 = 1e4;

/// How an adjuster moves, in words: "590 to 790 mm, anywhere".
fn words(range: (f64, f64), step: f64, unit: Unit) -> String {
    let (low, high) = (unit.show(range.0), unit.show(range.1));
    let low = low.trim_end_matches(System::shown().suffix(unit));
    if step > 0.0 {
        format!("{low} to {high} in steps of {}", unit.show(step))
    } else {
        format!("{low} to {high}, anywhere")
    }
}

/// Where a project says how far the number at `field` can be moved, if it does.
pub(super) fn path_of(adjusters: &[AdjusterRange], field: &str) -> Option<String> {
    let index = adjusters.iter().position(|adjuster| adjuster.field == field)?;
    Some(format!("adjusters[{index}]"))
}

/// Shows how far a number can be moved, if its adjuster is described, and changes that.
pub(super) fn adjuster_ui(ui: &mut Ui, field: &mut Field<'_>, adjusters: &mut Vec<AdjusterRange>, theme: &Theme) {
    let at = adjusters.iter().position(|adjuster| adjuster.field == field.path);
    let Some(adjust) = field.adjust.filter(|_| at.is_some() || field.path == SLIDER) else { return };
    let range = at.map_or(field.range, |at| (adjusters[at].range[0], adjusters[at].range[1]));
    let hint = if at.is_some() {
        "Drag it to where it is to stand; click to change how far it goes"
    } else {
        "Drag it to where it is to stand; the numbers below say how far it goes"
    };
    let bar = bar_ui(ui, range, adjust.step, field, hint, theme);
    let Some(at) = at else { return };
    let id = ui.id().with(("adjuster", field.path.as_str()));
    let mut open = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    if bar {
        open = !open;
        ui.data_mut(|data| data.insert_temp(id, open));
    }
    if open && edit_ui(ui, &mut adjusters[at], field.unit, theme) {
        adjusters.remove(at);
        ui.data_mut(|data| data.remove_temp::<bool>(id));
    }
}

/// The place on a range that is `share` of it from its low end, held where there is a step: steps are counted from
/// where it stands.
fn dragged(value: f64, range: (f64, f64), step: f64, share: f64) -> f64 {
    let (low, high) = range;
    let to = low + share.clamp(0.0, 1.0) * (high - low);
    if step <= 0.0 {
        return ((to * 10.0).round() / 10.0).clamp(low, high);
    }
    let least = ((low - value) / step - 1e-6).ceil();
    let most = ((high - value) / step + 1e-6).floor();
    if most < least {
        return value;
    }
    value + ((to - value) / step).round().clamp(least, most) * step
}

/// The bar: its range from end to end, its steps, where it stands; a drag moves it. True where it was clicked.
fn bar_ui(ui: &mut Ui, range: (f64, f64), step: f64, field: &mut Field<'_>, hint: &str, theme: &Theme) -> bool {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), BAR), Sense::click_and_drag());
    let ends = (rect.left() + RHYTHM, rect.right() - RHYTHM);
    // Typed the wrong way round it is no way yet.
    if let Some(at) = response.interact_pointer_pos().filter(|_| response.dragged() && range.0 <= range.1) {
        let share = f64::from((at.x - ends.0) / (ends.1 - ends.0).max(1.0));
        *field.value = dragged(*field.value, range, step, share);
    }
    let value = *field.value;
    let painter = ui.painter();
    let (left, right) = ends;
    let line = rect.top() + 5.0;
    let colour = if response.hovered() || response.dragged() { theme.accent } else { theme.quiet };
    painter.hline(left..=right, line, (1.0, colour));
    let way = (range.1 - range.0).max(1e-9);
    let place = |value: f64| left + ((value - range.0) / way).clamp(0.0, 1.0) as f32 * (right - left);
    for end in [left, right] {
        painter.vline(end, line - 4.0..=line + 4.0, (1.0, colour));
    }
    // Steps are counted from where it stands.
    if step > 0.0 && (step / way) as f32 * (right - left) >= APART {
        let first = ((range.0 - value) / step).ceil() as i64;
        let last = ((range.1 - value) / step).floor() as i64;
        for index in first..=last {
            painter.vline(place(value + index as f64 * step), line - 2.5..=line + 2.5, (1.0, colour));
        }
    }
    painter.circle_filled(pos2(place(value), line), 3.5, theme.ink);
    let words = words(range, step, field.unit);
    let font = bevy_egui::egui::FontId::proportional(SMALL);
    painter.text(rect.left_bottom(), bevy_egui::egui::Align2::LEFT_BOTTOM, &words, font, colour);
    response
        .widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, format!("{} moves from {words}", field.label)));
    response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text(hint).clicked()
}

/// The ends and the steps. True where it is to be taken away.
fn edit_ui(ui: &mut Ui, adjuster: &mut AdjusterRange, unit: Unit, theme: &Theme) -> bool {
    let path = adjuster.field.clone();
    let typed = |ui: &mut Ui, label: &'static str, value: &mut f64, range: (f64, f64)| {
        row(ui, RichText::new(label).color(theme.quiet), |ui| {
            // Not one of the project's list, but read and shown as those are.
            let (path, part) = (format!("{path}: {label}"), String::new());
            let mut field = Field { path, page: Page::Motion, part, label, unit, range, value, adjust: None };
            number(ui, &mut field, theme);
        });
    };
    let [low, high] = &mut adjuster.range;
    // What is typed is checked with the project, like every number.
    typed(ui, "  At least", low, (-FAR, high.max(-FAR)));
    typed(ui, "  At most", high, (low.min(FAR), FAR));
    let way = (*high - *low).max(0.0);
    let mut kind = u8::from(adjuster.step > 0.0);
    super::inputs::choice(ui, "  Held", &mut kind, &[(0, "anywhere (slot)"), (1, "in holes, detents")]);
    if kind == 0 {
        adjuster.step = 0.0;
    } else {
        if adjuster.step <= 0.0 {
            adjuster.step = (way / 5.0).round().max(1.0);
        }
        typed(ui, "  From one to the next", &mut adjuster.step, (0.0, way));
    }
    let gone = action(ui, "It can't be moved so", theme).on_hover_text("Take this adjuster away").clicked();
    ui.add_space(HALF);
    gone
}

impl Column<'_> {
    /// Adds an adjuster to a number of the page that has none.
    pub(super) fn add_adjuster_ui(&self, ui: &mut Ui, draft: &mut Project) {
        let open = addable(draft, *self.page);
        let names: Vec<String> = open.iter().map(|(name, _)| name.clone()).collect();
        if let Some(index) = pick(ui, "Say what can be moved…", &names, true, self.theme) {
            draft.adjusters.push(open[index].1.clone());
        }
    }
}

/// Numbers of a page that an adjuster could move and none does, with one to begin with.
fn addable(project: &mut Project, page: Page) -> Vec<(String, AdjusterRange)> {
    let described: Vec<String> = project.adjusters.iter().map(|adjuster| adjuster.field.clone()).collect();
    let mut open = Vec::new();
    fields_of_page(project, page, &mut |field| {
        let free = can_be_adjusted(&field.path) && field.path != SLIDER && !described.contains(&field.path);
        if free {
            let by = field.adjust.map_or(BEGIN, |adjust| adjust.reach / 2.0);
            let (low, high) = field.range;
            let range = [(*field.value - by).max(low), (*field.value + by).min(high)];
            open.push((
                format!("{}: {}", field.part, field.label),
                AdjusterRange { field: field.path, range, step: 0.0 },
            ));
        }
    });
    open
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
mod tests {
    use super::*;
    use crate::project::{Checked, parse};

    #[test]
    fn how_far_something_moves_is_said_in_words() {
        assert_eq!(words((590.0, 790.0), 40.0, Unit::Millimetre), "590 to 790 mm in steps of 40 mm");
        assert_eq!(words((-5.0, 20.0), 0.0, Unit::Degree), "−5 to 20°, anywhere");
    }

    #[test]
    fn a_bar_is_dragged_from_hole_to_hole_and_along_a_slot() {
        // Holes at 10, 50, 90, of which the range from 0 to 100 holds all three.
        let range = (0.0, 100.0);
        assert_eq!(
            [0.0, 0.29, 0.31, 0.71, 1.0].map(|share| dragged(50.0, range, 40.0, share)),
            [10.0, 10.0, 50.0, 90.0, 90.0]
        );
        assert_eq!([-0.2, 0.255, 1.3].map(|share| dragged(50.0, range, 0.0, share)), [0.0, 25.5, 100.0]);
        // What stands beside its range comes in by whole steps, and stays where none leads in.
        assert_eq!(dragged(130.0, range, 40.0, 1.0), 90.0);
        assert_eq!(dragged(130.0, (0.0, 5.0), 40.0, 1.0), 130.0);
    }

    /// Each adjuster that the window offers is one that the checks take.
    #[test]
    fn what_is_offered_is_sound() {
        let mut project = parse(include_str!("../../../assets/club_rig.ron")).unwrap().into_inner();
        for page in Page::ALL {
            let open = addable(&mut project, page);
            project.adjusters.extend(open.into_iter().map(|(_, adjuster)| adjuster));
            assert!(addable(&mut project, page).is_empty());
        }
        assert!(project.adjusters.len() > 15);
        assert_eq!(Checked::new(project).map(|_| ()), Ok(()));
    }
}
