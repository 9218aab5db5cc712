//! A number in a row: dragged, nudged with the keys, or typed with a unit behind it.

use std::collections::BTreeMap;

use bevy_egui::egui::{
    self, CursorIcon, EventFilter, FontId, Key, Modifiers, Response, Sense, StrokeKind, TextEdit, Ui, WidgetInfo,
    emath::smart_aim::best_in_range_f64,
    text::{CCursor, CCursorRange},
    text_edit::TextEditState,
    vec2,
};

use super::inputs::marked;
use crate::{
    findings::Level,
    project::{Field, Pending, Project, fields},
    units::{System, Unit, typed},
    viewer::theme::{BODY, THIN, Theme},
};

/// What stands in the place of a number that is being typed, or that could not be read.
#[derive(Clone, Debug, Default)]
struct Typed {
    text: String,
    /// The value that it began at: where that is another now, the text is of yesterday.
    value: u64,
    /// True while it has the keyboard.
    open: bool,
    /// Why it is no value.
    unread: Option<typed::Unread>,
}

/// A step of a point of the pointer's way, one of an arrow key, and the digits that are shown.
const fn steps(unit: Unit, system: System) -> (f64, f64, usize) {
    match (unit, system) {
        (Unit::Millimetre, System::Metric) => (0.5, system.nudge(), 1),
        (Unit::Millimetre, System::Inch) => (0.02, system.nudge(), 2),
        (Unit::Degree | Unit::Kilogram | Unit::NewtonMetre | Unit::Hertz, _) => (0.1, 0.5, 1),
        (Unit::Newton | Unit::Percent | Unit::Count, _) => (1.0, 1.0, 0),
        (Unit::FineMillimetre, System::Inch) => (0.001, 0.001, 3),
        (Unit::ClockHour | Unit::Times | Unit::FineMillimetre | Unit::FineDegree, _) => (0.01, 0.1, 2),
    }
}

/// Shows a number of the project. What is typed is checked, not cut; what cannot be read stays, and [`unread_ui`] says
/// why.
pub(super) fn number(ui: &mut Ui, field: &mut Field<'_>, theme: &Theme) -> Response {
    let id = egui::Id::new(("number", &field.path));
    let system = System::shown();
    let (speed, step, digits) = steps(field.unit, system);
    let bare = system.bare(field.unit);
    let whole = field.adjust.map_or(0.0, |adjust| adjust.step);
    let was = field.value.to_bits();
    let mut typed: Option<Typed> = ui.data_mut(|data| data.remove_temp(id));
    typed.take_if(|typed| typed.value != was);
    ui.memory_mut(|memory| memory.interested_in_focus(id, ui.layer_id()));
    let focused = ui.is_enabled() && ui.memory(|memory| memory.has_focus(id));

    // Up and down, and by pages; left and right move the cursor.
    if focused {
        let count = |key| ui.input_mut(|input| input.count_and_consume_key(Modifiers::NONE, key)) as f64;
        let steps = count(Key::ArrowUp) - count(Key::ArrowDown) + 10.0 * (count(Key::PageUp) - count(Key::PageDown));
        if steps != 0.0 {
            let by = if whole > 0.0 { whole / bare } else { step };
            let (low, high) = field.range;
            *field.value = (snapped(*field.value, whole) + steps * by * bare).clamp(low, high);
            typed = None;
        }
    } else if let Some(left) = typed.take_if(|typed| typed.open) {
        // The keyboard was taken away from it.
        typed = taken(left, field, system);
    }

    let response = if focused {
        let begins = typed.as_ref().is_none_or(|typed| !typed.open);
        let mut now = typed.unwrap_or_else(|| Typed {
            text: plain(*field.value / bare, digits),
            value: field.value.to_bits(),
            open: true,
            unread: None,
        });
        now.open = true;
        if begins {
            // Before it takes this frame's letters: they replace the number.
            select_all(ui, id, &now.text);
        }
        let edit = TextEdit::singleline(&mut now.text)
            .id(id)
            .clip_text(false)
            .horizontal_align(ui.layout().horizontal_align())
            .vertical_align(ui.layout().vertical_align())
            .margin(ui.spacing().button_padding)
            .min_size(ui.spacing().interact_size)
            .desired_width(ui.spacing().interact_size.x - 2.0 * ui.spacing().button_padding.x);
        let response = ui.add(edit);
        if begins {
            // Tab may have led out of what is in sight.
            response.scroll_to_me(None);
        }
        if response.changed() {
            now.unread = None;
        }
        typed = if response.lost_focus() {
            // Escape leaves the number as it was.
            if ui.input(|input| input.key_pressed(Key::Escape)) { None } else { taken(now, field, system) }
        } else {
            Some(now)
        };
        response
    } else {
        let unread = typed.as_ref().filter(|typed| typed.unread.is_some());
        let text = unread.map_or_else(|| plain(*field.value / bare, digits), |typed| typed.text.clone());
        let suffix = if unread.is_some() { "" } else { system.suffix(field.unit) };
        let response = resting_ui(ui, id, &text, suffix, unread.is_some(), theme);
        if response.clicked() {
            ui.memory_mut(|memory| memory.request_focus(id));
        } else if response.dragged() {
            typed = None;
            dragged(ui, id, &response, field, speed * bare, bare, whole);
        }
        response
    };
    let unread = typed.as_ref().and_then(|typed| typed.unread.as_ref()).map(ToString::to_string);
    note_pending(ui, field, typed.as_ref(), system);
    if let Some(typed) = typed {
        ui.data_mut(|data| data.insert_temp(id, typed));
    }
    if focused {
        let filter = EventFilter { vertical_arrows: true, horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
    }
    let (label, value, unit) = (field.label, *field.value / bare, system.suffix(field.unit));
    response.widget_info(|| {
        let mut info = WidgetInfo::drag_value(ui.is_enabled(), value);
        let unread = unread.as_ref().map_or_else(String::new, |unread| format!(": {unread}"));
        info.label = Some(format!("{label},{unit}{unread}"));
        info
    });
    response
}

/// What stands in numbers as it was typed and is no value, or not yet, by their fields.
type Texts = BTreeMap<String, String>;

fn texts() -> egui::Id {
    egui::Id::new("typed numbers")
}

/// Remembers what stands in a number's place, or that nothing does.
fn note_pending(ui: &Ui, field: &Field<'_>, typed: Option<&Typed>, system: System) {
    let (.., digits) = steps(field.unit, system);
    let text =
        typed.map(|typed| &typed.text).filter(|text| **text != plain(*field.value / system.bare(field.unit), digits));
    ui.data_mut(|data| {
        let texts: &mut Texts = data.get_temp_mut_or_default(texts());
        match text {
            Some(text) if texts.get(&field.path) != Some(text) => {
                texts.insert(field.path.clone(), text.clone());
            }
            None if !texts.is_empty() => {
                texts.remove(&field.path);
            }
            _ => {}
        }
    });
}

/// What was typed and is no value, or not yet.
pub(super) fn pending_texts(ctx: &egui::Context) -> Vec<Pending> {
    let texts: Texts = ctx.data(|data| data.get_temp(texts())).unwrap_or_default();
    texts.into_iter().map(|(path, text)| Pending { path, text }).collect()
}

/// Puts texts into the places of a project's numbers, as if they had just been typed there; whatever stood there goes.
pub(super) fn give_back(ctx: &egui::Context, list: &[Pending], project: &Project) {
    let id = |path: &str| egui::Id::new(("number", path));
    ctx.data_mut(|data| {
        let former: Texts = data.remove_temp(texts()).unwrap_or_default();
        for path in former.keys() {
            data.remove::<Typed>(id(path));
        }
        fields(&mut project.clone(), &mut |field| {
            if let Some(pending) = list.iter().find(|pending| pending.path == field.path) {
                let typed =
                    Typed { text: pending.text.clone(), value: field.value.to_bits(), open: true, unread: None };
                data.insert_temp(id(&field.path), typed);
            }
        });
        let now: Texts = list.iter().map(|pending| (pending.path.clone(), pending.text.clone())).collect();
        data.insert_temp(texts(), now);
    });
}

/// The number while nobody types: a wash with the value on it.
fn resting_ui(ui: &mut Ui, id: egui::Id, text: &str, suffix: &str, unread: bool, theme: &Theme) -> Response {
    let font = FontId::proportional(BODY);
    let galley = ui.painter().layout_no_wrap(text.to_owned(), font.clone(), theme.ink);
    let unit = ui.painter().layout_no_wrap(suffix.to_owned(), font, theme.quiet);
    let padding = ui.spacing().button_padding;
    let wanted = vec2(galley.size().x + unit.size().x, galley.size().y) + 2.0 * padding;
    let (rect, _) = ui.allocate_exact_size(wanted.max(ui.spacing().interact_size), Sense::hover());
    let response = ui.interact(rect, id, Sense::click_and_drag()).on_hover_cursor(CursorIcon::ResizeHorizontal);
    let look = ui.style().interact(&response);
    let outline = if unread { egui::Stroke::new(THIN, theme.level(Level::Outside)) } else { look.bg_stroke };
    ui.painter().rect(rect, look.corner_radius, look.weak_bg_fill, outline, StrokeKind::Inside);
    let at = rect.right_center() - vec2(padding.x + unit.size().x, galley.size().y / 2.0);
    let beside = at - vec2(galley.size().x, 0.0);
    ui.painter().galley(beside, galley, theme.ink);
    ui.painter().galley(at, unit, theme.quiet);
    response
}

/// Reads what was typed into the value; what cannot be read is returned with why.
fn taken(typed: Typed, field: &mut Field<'_>, system: System) -> Option<Typed> {
    // As it stood, to all digits: nothing was typed.
    let (.., digits) = steps(field.unit, system);
    if typed.text == plain(*field.value / system.bare(field.unit), digits) {
        return None;
    }
    match typed::read(&typed.text, field.unit, system) {
        Ok(value) => {
            *field.value = value;
            None
        }
        Err(unread) => Some(Typed { open: false, unread: Some(unread), ..typed }),
    }
}

/// Follows the pointer to round numbers within the range.
fn dragged(ui: &Ui, id: egui::Id, response: &Response, field: &mut Field<'_>, speed: f64, bare: f64, whole: f64) {
    let delta = response.drag_delta();
    let speed = if ui.input(|input| input.modifiers.shift_only()) { 0.1 * speed } else { speed };
    let by = f64::from(delta.x - delta.y) * speed;
    let precise = id.with("precise");
    let from = if response.drag_started() { None } else { ui.data(|data| data.get_temp::<f64>(precise)) };
    let to = from.unwrap_or(*field.value) + by;
    ui.data_mut(|data| data.insert_temp(precise, to));
    if by == 0.0 {
        return;
    }
    let aim = 5.0 * speed;
    let round = best_in_range_f64((to - aim) / bare, (to + aim) / bare) * bare;
    let (low, high) = field.range;
    *field.value = snapped(round, whole).clamp(low, high);
}

/// Says why what stands in a number's place is no value, where it is none.
pub(super) fn unread_ui(ui: &mut Ui, number: &Response, theme: &Theme) {
    let unread = ui.data(|data| data.get_temp::<Typed>(number.id)).and_then(|typed| typed.unread);
    if let Some(unread) = unread {
        marked(ui, Level::Outside, &unread.to_string(), theme);
    }
}

fn select_all(ui: &Ui, id: egui::Id, text: &str) {
    let mut state = TextEditState::load(ui.ctx(), id).unwrap_or_default();
    let all = CCursorRange::two(CCursor::default(), CCursor::new(text.chars().count()));
    state.cursor.set_char_range(Some(all));
    state.store(ui.ctx(), id);
}

/// A number with at most so many digits behind the point, none of them an idle zero.
pub(super) fn plain(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.replace('-', "−") }
}

/// On the nearest whole step, for an adjuster that has steps.
fn snapped(value: f64, step: f64) -> f64 {
    if step > 0.0 { (value / step).round() * step } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_shown_without_idle_zeros() {
        assert_eq!(plain(1800.0, 1), "1800");
        assert_eq!(plain(12.5, 1), "12.5");
        assert_eq!(plain(9.25, 2), "9.25");
        assert_eq!(plain(-0.01, 1), "0");
        assert_eq!(plain(-30.0, 1), "−30");
    }

    #[test]
    fn a_dragged_value_lands_on_whole_steps() {
        assert!((snapped(17.0, 10.0) - 20.0).abs() < 1e-12);
        assert!((snapped(17.3, 0.0) - 17.3).abs() < 1e-12);
    }

    #[test]
    fn a_number_that_was_only_looked_at_keeps_its_digits() {
        let mut value = 12.345;
        let mut field = Field {
            path: "wheel.tube_mm".to_owned(),
            page: crate::project::Page::Wheel,
            part: String::new(),
            label: "Grip thickness",
            unit: Unit::Millimetre,
            range: (0.0, 100.0),
            value: &mut value,
            adjust: None,
        };
        let typed = |text: &str| Typed { text: text.to_owned(), value: 0, open: true, unread: None };
        assert!(taken(typed("12.3"), &mut field, System::Metric).is_none());
        assert!((*field.value - 12.345).abs() < 1e-12);
        assert!(taken(typed("1 in"), &mut field, System::Metric).is_none());
        assert!((*field.value - 25.4).abs() < 1e-12);
        let left = taken(typed("wide"), &mut field, System::Metric);
        assert!((*field.value - 25.4).abs() < 1e-12);
        assert!(left.is_some_and(|left| left.text == "wide" && left.unread.is_some()));
    }
}
