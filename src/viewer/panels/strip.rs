//! The strip below the view: the wheel and the pedals, moved by hand.

use std::ops::RangeInclusive;

use bevy_egui::egui::{
    self, Align2, CursorIcon, FontId, Rect, RichText, Sense, Stroke, Ui, UiBuilder, pos2, text::LayoutJob, vec2,
};

use crate::{
    posture::Moment,
    units::{Unit, to_deg, to_mm},
    viewer::{
        scene::Shown,
        theme::{BODY, RHYTHM, THICK, Theme},
    },
};

/// Shows the strip; returns where wheel and pedals have been moved to.
pub(super) fn strip_ui(ui: &mut Ui, shown: &Shown, plays: &mut bool, theme: &Theme) -> Option<Moment> {
    let study = shown.study.as_ref()?;
    let solved = &study.solved;
    let mut moment = shown.moment;
    let rect = ui.max_rect();

    // The wheel takes twice the width of a pedal; the word at the end has a place of its own.
    let pedals = &solved.rig.pedals.list;
    let end = 56.0;
    let gap = 3.0 * RHYTHM;
    let share = (rect.width() - end - gap * (pedals.len() + 1) as f32) / (pedals.len() + 2) as f32;
    let mut left = rect.left();
    let mut place = |shares: f32| {
        let place = Rect::from_min_size(pos2(left, rect.top()), vec2(share * shares, rect.height()));
        left = place.right() + gap;
        place
    };

    let reach = solved.motion.arms.hands_on;
    let most = solved.rig.wheel.lock.min(solved.project.motion.steer_deg.max(1.0) * std::f64::consts::PI / 180.0);
    let most = most.max(reach[0].max(reach[1]));
    let note = format!(
        "Your hands stay on the rim to {} left and {} right",
        Unit::Degree.show(to_deg(reach[0])),
        Unit::Degree.show(to_deg(reach[1]))
    );
    // Left lock is positive in W and on the left of the slider, where the top of the wheel goes.
    let mut turned = -moment.steer;
    let words = steer_words(moment.steer);
    slider(ui, place(2.0), "Wheel", &words, &mut turned, -most..=most, &[-reach[0], 0.0, reach[1]], &note, theme);
    moment.steer = -turned;

    for pedal in pedals {
        let name = crate::words::first_upper(pedal.kind.word());
        let mut travel = moment.travel_of(pedal.kind);
        let notch = [pedal.working_travel];
        let notches: &[f64] = if pedal.working_travel < 0.98 * pedal.travel { &notch } else { &[] };
        let note = format!(
            "{} at the working force of {}",
            Unit::Millimetre.show(to_mm(pedal.working_travel)),
            Unit::Newton.show(pedal.working_force)
        );
        let words = Unit::Millimetre.show(to_mm(travel));
        slider(ui, place(1.0), &name, &words, &mut travel, 0.0..=pedal.travel, notches, &note, theme);
        moment = moment.with_travel(pedal.kind, travel);
    }

    let rest = Rect::from_min_max(pos2(rect.right() - end, rect.top()), rect.max);
    let mut ui = ui.new_child(UiBuilder::new().max_rect(rest).layout(egui::Layout::top_down(egui::Align::RIGHT)));
    let text = RichText::new(if *plays { "Stop" } else { "Play" }).color(theme.accent);
    let button = ui.add(egui::Button::new(text).frame(false));
    if button.on_hover_text("The wheel from side to side, then each pedal").clicked() {
        *plays = !*plays;
    }
    let at_rest = moment == Moment::REST;
    let text = RichText::new("At rest").color(if at_rest { theme.quiet } else { theme.accent });
    let button = ui.add_enabled(!at_rest, egui::Button::new(text).frame(false));
    if button.on_hover_text("Wheel straight, pedals released").clicked() {
        moment = Moment::REST;
    }
    (moment != shown.moment).then_some(moment)
}

fn steer_words(steer: f64) -> String {
    let degrees = Unit::Degree.show(to_deg(steer.abs()));
    if degrees == "0°" {
        "straight".to_owned()
    } else {
        format!("{degrees} {}", if steer > 0.0 { "left" } else { "right" })
    }
}

/// A name, a value and a rail with a thumb. Arrow keys move the thumb too.
fn slider(
    ui: &mut Ui,
    place: Rect,
    name: &str,
    words: &str,
    value: &mut f64,
    range: RangeInclusive<f64>,
    notches: &[f64],
    note: &str,
    theme: &Theme,
) {
    let (low, high) = (*range.start(), *range.end());
    let span = (high - low).max(1e-9);
    let painter = ui.painter().clone();
    painter.text(place.min, Align2::LEFT_TOP, name, FontId::proportional(BODY), theme.ink);
    let galley =
        painter.layout_job(LayoutJob::simple_singleline(words.to_owned(), FontId::proportional(BODY), theme.ink));
    painter.galley(pos2(place.right() - galley.size().x, place.top()), galley, theme.ink);

    let rail = Rect::from_min_max(pos2(place.left(), place.top() + 20.0), pos2(place.right(), place.top() + 40.0));
    let response = ui.interact(rail.expand2(vec2(6.0, 2.0)), ui.id().with(("slider", name)), Sense::click_and_drag());
    let response = response.on_hover_cursor(CursorIcon::ResizeHorizontal);
    if let Some(at) = response.interact_pointer_pos() {
        let share = f64::from((at.x - rail.left()) / rail.width().max(1.0)).clamp(0.0, 1.0);
        *value = low + share * span;
        // The straight-ahead position and the ends are easy to hit.
        for &target in notches {
            if (*value - target).abs() < 0.012 * span {
                *value = target;
            }
        }
        response.request_focus();
    }
    if response.has_focus() {
        let step = |key| ui.input_mut(|input| input.count_and_consume_key(egui::Modifiers::NONE, key)) as f64;
        let keys = step(egui::Key::ArrowRight) - step(egui::Key::ArrowLeft);
        if keys != 0.0 {
            *value = (*value + keys * span / 100.0).clamp(low, high);
        }
    }

    let x = |value: f64| rail.left() + ((value - low) / span).clamp(0.0, 1.0) as f32 * rail.width();
    let y = rail.center().y;
    let from = if low < 0.0 { 0.0 } else { low };
    painter.hline(rail.x_range(), y, Stroke::new(THICK, theme.hairline));
    painter.hline(x(from).min(x(*value))..=x(from).max(x(*value)), y, Stroke::new(THICK, theme.accent));
    for notch in notches {
        painter.vline(x(*notch), y - 6.0..=y + 6.0, theme.thin());
    }
    let thumb = pos2(x(*value), y);
    let ring = if response.hovered() || response.has_focus() { theme.accent } else { theme.ink };
    painter.circle(thumb, 7.0, theme.panel, Stroke::new(THICK, ring));
    let response = if response.dragged() { response } else { response.on_hover_text(note) };
    response.widget_info(|| egui::WidgetInfo::slider(true, *value, format!("{name}: {words}")));
}
