//! Curves over the wheel's turn and the pedals' travel, with their band; the line in them goes with the pose.

use bevy_egui::egui::{Align2, ComboBox, RichText, Sense, Ui, Vec2b, WidgetInfo, WidgetType, vec2};
use egui_plot::{Line, LineStyle, Plot, PlotPoint, PlotPoints, Span, Text, VLine};

use super::{Desk, word};
use crate::{
    curves::{Curve, Motion, Over},
    geometry::Side,
    posture::Moment,
    units::Unit,
    viewer::{
        scene::Shown,
        theme::{RHYTHM, SMALL, Theme},
    },
};

/// Height of the panel, points.
pub(super) const TALL: f32 = 196.0;

/// Which curves are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CurveChoice {
    /// What moves; without a choice, the wheel.
    over: Option<Over>,
    /// Row of the table of bands.
    id: Option<&'static str>,
}

/// Shows the panel; returns where wheel and pedals have been moved to.
pub(super) fn curves_ui(
    ui: &mut Ui,
    motions: &[Motion],
    shown: &Shown,
    desk: &mut Desk,
    theme: &Theme,
) -> Option<Moment> {
    if motions.is_empty() {
        ui.label(RichText::new("working out").color(theme.quiet));
        return None;
    }
    follow(desk, motions);
    let choice = &mut desk.curve;
    let motion = motions.iter().find(|motion| Some(motion.over) == choice.over).unwrap_or(&motions[0]);
    let ids = ids(motion);
    let id = choice.id.filter(|id| ids.contains(id)).or_else(|| ids.first().copied())?;
    let curves: Vec<&Curve> = motion.curves.iter().filter(|curve| curve.id == id).collect();

    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 1.5 * RHYTHM;
        ui.label(RichText::new("Over").color(theme.quiet));
        for other in motions {
            if word(ui, other.over.word(), other.over == motion.over, theme).clicked() {
                choice.over = Some(other.over);
            }
        }
        ui.add_space(RHYTHM);
        let label = |id: &str| {
            motion.curves.iter().find(|curve| curve.id == id).map_or_else(String::new, |curve| curve.band.label.clone())
        };
        ComboBox::from_id_salt("curve").selected_text(label(id)).width(190.0).show_ui(ui, |ui| {
            for other in &ids {
                if ui.selectable_label(*other == id, label(other)).clicked() {
                    choice.id = Some(other);
                }
            }
        });
        for curve in &curves {
            let side = curve.side.map_or("", Side::word);
            let dashes = if curve.side == Some(Side::Right) { "- - -" } else { "—" };
            let [low, high] = curve.span();
            let unit = curve.band.unit;
            let words = format!("{dashes} {side} {} to {}", unit.show(low), unit.show(high));
            ui.label(RichText::new(words).size(SMALL).color(theme.ink));
        }
    });

    let unit = curves[0].band.unit;
    let now = motion.over.place(&shown.moment);
    // The wheel's left lock stands on the left, as in the strip.
    let mirrored = motion.over == Over::Wheel;
    let sign = if mirrored { -1.0 } else { 1.0 };
    let axis = if mirrored { Unit::Degree } else { Unit::Millimetre };
    let plot = Plot::new("curves")
        .height(ui.available_height())
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .allow_axis_zoom_drag(false)
        .show_x(false)
        .show_y(false)
        .show_background(false)
        .grid_color(theme.hairline)
        .sense(Sense::click_and_drag())
        .set_margin_fraction(vec2(0.0, 0.08))
        .auto_bounds(Vec2b::TRUE)
        .x_axis_formatter(move |mark, _| {
            let place = mark.value * sign;
            match (mirrored, place) {
                (true, place) if place.abs() < 1e-9 => "straight".to_owned(),
                (true, place) => format!("{} {}", axis.show(place.abs()), if place > 0.0 { "left" } else { "right" }),
                (false, place) => axis.show(place),
            }
        })
        .y_axis_formatter(move |mark, _| unit.show(mark.value));
    let (accent, ink) = (theme.accent, theme.ink);
    let good = theme.level(crate::findings::Level::Good).gamma_multiply(0.16);
    let response = plot.show(ui, |plot| {
        let band = &curves[0].band;
        let spans = curves.iter().map(|curve| curve.span());
        let low = spans.clone().map(|[low, _]| low).fold(f64::MAX, f64::min);
        let high = spans.map(|[_, high]| high).fold(f64::MIN, f64::max);
        let room = (high - low).max(10.0);
        // An open end of the band goes as far as the picture does.
        let from = band.good[0].unwrap_or(low - room).max(low - 0.6 * room);
        let to = band.good[1].unwrap_or(high + room).min(high + 0.6 * room);
        if from < to {
            plot.span(Span::new("", from..=to).axis(egui_plot::Axis::Y).fill(good).border_width(0.0));
        }
        for curve in &curves {
            let points: PlotPoints<'_> =
                motion.places.iter().zip(&curve.values).map(|(place, value)| [sign * place, *value]).collect();
            let style =
                if curve.side == Some(Side::Right) { LineStyle::Dashed { length: 6.0 } } else { LineStyle::Solid };
            plot.line(Line::new(curve.title.clone(), points).color(accent).width(1.8).style(style).allow_hover(false));
        }
        plot.vline(VLine::new("", sign * now).color(ink).width(1.0).allow_hover(false));
        for curve in &curves {
            let value = at(&motion.places, &curve.values, now);
            let text = RichText::new(unit.show(value)).size(SMALL).color(ink);
            let anchor = if curve.side == Some(Side::Right) { Align2::LEFT_TOP } else { Align2::RIGHT_BOTTOM };
            plot.text(Text::new("", PlotPoint::new(sign * now, value), text).anchor(anchor));
        }
        plot.pointer_coordinate()
    });
    let title = format!("{} over the {}", curves[0].band.label, motion.over.word().to_lowercase());
    response.response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, title.clone()));
    let pressed = response.response.is_pointer_button_down_on() || response.response.clicked();
    let to = response.inner.filter(|_| pressed)?;
    let (first, last) = (motion.places.first()?, motion.places.last()?);
    let place = (sign * to.x).clamp(*first, *last);
    let moment = motion.over.moment(place, shown.moment);
    (moment != shown.moment).then_some(moment)
}

/// The figures of a motion, each once, in their order.
fn ids(motion: &Motion) -> Vec<&'static str> {
    let mut ids = Vec::new();
    for curve in &motion.curves {
        if !ids.contains(&curve.id) {
            ids.push(curve.id);
        }
    }
    ids
}

/// A finding that was chosen brings its curve, once.
fn follow(desk: &mut Desk, motions: &[Motion]) {
    if desk.curve_of == desk.selected {
        return;
    }
    desk.curve_of.clone_from(&desk.selected);
    let Some(id) = desk.selected.as_deref().and_then(|key| key.split('.').next()) else { return };
    // The motion that moves it most.
    let found = motions.iter().flat_map(|motion| {
        let of = motion.curves.iter().filter(|curve| curve.id == id);
        of.map(move |curve| (motion.over, curve))
    });
    let span = |curve: &Curve| curve.span()[1] - curve.span()[0];
    if let Some((over, curve)) = found.max_by(|a, b| span(a.1).total_cmp(&span(b.1))) {
        desk.curve = CurveChoice { over: Some(over), id: Some(curve.id) };
    }
}

/// The value at a place, between the places that were looked at.
fn at(places: &[f64], values: &[f64], place: f64) -> f64 {
    let next = places.partition_point(|&other| other < place).clamp(1, places.len().max(2) - 1);
    let (Some(&a), Some(&b)) = (places.get(next - 1), places.get(next)) else {
        return values.first().copied().unwrap_or(0.0);
    };
    let share = ((place - a) / (b - a).max(1e-9)).clamp(0.0, 1.0);
    values[next - 1] + (values[next] - values[next - 1]) * share
}

/// Where wheel and pedals stand at a time of the cycle that is played, s: from lock to lock as far as the hands stay on
/// the rim, and each pedal once.
pub(super) fn played(shown: &Shown, time: f64) -> Option<Moment> {
    const CYCLE: f64 = 12.0;
    let solved = &shown.study.as_ref()?.solved;
    let [left, right] = solved.motion.arms.hands_on;
    let phase = time.rem_euclid(CYCLE) / CYCLE;
    let mut moment = Moment::REST;
    if phase < 0.5 {
        let turn = (phase * 2.0 * std::f64::consts::TAU).sin();
        moment.steer = if turn > 0.0 { turn * left } else { turn * right };
    } else {
        let pedals = &solved.rig.pedals.list;
        let share = (phase - 0.5) * 2.0 * pedals.len() as f64;
        let pedal = pedals.get(share as usize)?;
        let press = (share.fract() * std::f64::consts::PI).sin();
        moment = moment.with_travel(pedal.kind, press * pedal.travel);
    }
    Some(moment)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::{project::parse, study};

    #[test]
    fn values_between_places_lie_on_the_line_between_them() {
        let (places, values) = ([-10.0, 0.0, 30.0], [5.0, 7.0, 1.0]);
        for (place, wanted) in [(-20.0, 5.0), (-5.0, 6.0), (0.0, 7.0), (15.0, 4.0), (99.0, 1.0)] {
            assert!((at(&places, &values, place) - wanted).abs() < 1e-12, "{place}");
        }
    }

    #[test]
    fn the_cycle_goes_as_far_as_hands_and_pedals_go_and_no_farther() {
        let study = study::check_body(
            &parse(include_str!("../../../assets/closed_car.ron")).unwrap(),
            crate::body::Body::of(&parse(include_str!("../../../assets/closed_car.ron")).unwrap().driver),
        );
        let [left, right] = study.solved.motion.arms.hands_on;
        let travel: Vec<_> = study.solved.rig.pedals.list.iter().map(|pedal| (pedal.kind, pedal.travel)).collect();
        let mut shown = Shown::default();
        shown.set_study(Arc::new(study));
        let moments: Vec<Moment> = (0..1200).filter_map(|tick| played(&shown, f64::from(tick) * 0.01)).collect();
        let most = moments.iter().map(|moment| moment.steer).fold(f64::MIN, f64::max);
        let least = moments.iter().map(|moment| moment.steer).fold(f64::MAX, f64::min);
        assert!((most - left).abs() < 0.01 && (least + right).abs() < 0.01, "{least} to {most}");
        for (kind, travel) in travel {
            let most = moments.iter().map(|moment| moment.travel_of(kind)).fold(0.0, f64::max);
            assert!((most - travel).abs() < 0.001);
        }
    }
}
