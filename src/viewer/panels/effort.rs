//! Figures under the findings of load: what the brake asks of hip, knee and ankle over its travel, and how hard it could
//! be pushed over the angle of the knee.

use bevy_egui::egui::{
    Align2, Color32, FontId, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, remap,
    text::LayoutJob, vec2,
};

use crate::{
    study::{EffortReport, KneeRow},
    units::Unit,
    viewer::theme::{HALF, SMALL, Theme},
};

/// Height of a plot, and of a line of its key, points.
const TALL: f32 = 90.0;
const LINE: f32 = SMALL + 3.0;

/// How a curve is drawn: told apart by its dashes too.
#[derive(Clone, Copy)]
enum Dash {
    Solid,
    Dashed,
    Dotted,
}

/// A curve with its name.
struct Curve {
    name: &'static str,
    dash: Dash,
    colour: Color32,
    points: Vec<[f64; 2]>,
}

/// A small plot under a caption, its curves named in a key.
struct Plot<'a> {
    caption: String,
    curves: Vec<Curve>,
    /// From side to side, and what is named along the foot, with its unit.
    across: [f64; 2],
    named: &'a [f64],
    unit: Unit,
    /// The height, and its words.
    top: (f64, String),
    /// Where the driver is now.
    now: Option<[f64; 2]>,
}

/// Draws both figures.
pub(super) fn effort_ui(ui: &mut Ui, effort: &EffortReport, theme: &Theme) {
    let share = |joint: usize| effort.travel.iter().map(|row| [row.travel_mm, row.share_percent[joint]]).collect();
    let full = effort.travel.last().map_or(1.0, |row| row.travel_mm).max(1.0);
    let most = effort.travel.iter().flat_map(|row| row.share_percent).fold(0.0, f64::max);
    let top = 50.0 * (most / 50.0).ceil().max(1.0);
    let curve = |name, dash, colour, points| Curve { name, dash, colour, points };
    Plot {
        caption: format!("Share of your strength over the {}'s travel", effort.pedal),
        curves: vec![
            curve("ankle", Dash::Dotted, theme.ink, share(2)),
            curve("hip", Dash::Dashed, theme.quiet, share(0)),
            curve("knee", Dash::Solid, theme.accent, share(1)),
        ],
        across: [0.0, full],
        named: &[0.0, 0.5 * full, full],
        unit: Unit::Millimetre,
        top: (top, format!("{top:.0} %")),
        now: None,
    }
    .show(ui, theme);

    let now = knee_now(&effort.knee);
    let most = effort.knee.iter().flat_map(|row| [row.greatest_n, row.thigh_n]).fold(0.0, f64::max);
    let top = 500.0 * (most / 500.0).ceil().max(1.0);
    let you = now
        .map_or_else(String::new, |[knee, push]| format!("; you: {knee:.0}°, {}\u{a0}N", 10.0 * (push / 10.0).round()));
    let of = |push: fn(&KneeRow) -> f64| effort.knee.iter().map(|row| [row.knee_deg, push(row)]).collect();
    Plot {
        caption: format!("Greatest push on the {} over the knee's angle{you}", effort.pedal),
        curves: vec![
            curve("hip and knee alone", Dash::Dashed, theme.quiet, of(|row| row.thigh_n)),
            curve("with the ball of the foot", Dash::Solid, theme.accent, of(|row| row.greatest_n)),
        ],
        across: [90.0, 180.0],
        named: &[90.0, 110.0, 130.0, 160.0],
        unit: Unit::Degree,
        top: (top, format!("{top:.0} N")),
        now,
    }
    .show(ui, theme);
}

impl Plot<'_> {
    fn show(self, ui: &mut Ui, theme: &Theme) {
        let small = FontId::proportional(SMALL);
        let width = ui.available_width();
        let caption =
            ui.painter().layout_job(LayoutJob::simple(self.caption.clone(), small.clone(), theme.quiet, width));
        let key = LINE * self.curves.len() as f32;
        let tall = caption.size().y + key + 2.0 * HALF + TALL;
        let (rect, response) = ui.allocate_exact_size(vec2(width, tall), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, &self.caption));
        let painter = ui.painter().clone();
        painter.galley(rect.min, caption.clone(), theme.quiet);

        let below = rect.min + vec2(0.0, caption.size().y + HALF);
        let draw = |line: &[Pos2], curve: &Curve| {
            let stroke = Stroke::new(1.5, curve.colour);
            match curve.dash {
                Dash::Solid => painter.add(Shape::line(line.to_vec(), stroke)),
                Dash::Dashed => painter.add(Shape::Vec(Shape::dashed_line(line, stroke, 5.0, 3.0))),
                Dash::Dotted => painter.add(Shape::Vec(Shape::dotted_line(line, curve.colour, 4.0, 1.0))),
            };
        };
        for (line, curve) in self.curves.iter().enumerate() {
            let at = below + vec2(0.0, (line as f32 + 0.5) * LINE);
            draw(&[at, at + vec2(17.0, 0.0)], curve);
            painter.text(at + vec2(22.0, 0.0), Align2::LEFT_CENTER, curve.name, small.clone(), theme.ink);
        }

        let plot = Rect::from_min_max(below + vec2(0.0, key + HALF), rect.max - vec2(0.0, SMALL + HALF));
        let [low, high] = self.across.map(|x| x as f32);
        let at = |[x, y]: [f64; 2]| -> Pos2 {
            pos2(
                remap(x as f32, low..=high, plot.left()..=plot.right()),
                remap(y as f32, 0.0..=self.top.0 as f32, plot.bottom()..=plot.top()),
            )
        };
        painter.hline(plot.x_range(), plot.bottom(), theme.rule());
        painter.hline(plot.x_range(), plot.top(), theme.rule());
        painter.text(plot.left_top() + vec2(0.0, 1.0), Align2::LEFT_TOP, self.top.1, small.clone(), theme.quiet);
        for &x in self.named {
            let foot = at([x, 0.0]);
            painter.vline(foot.x, foot.y - 3.0..=foot.y, theme.thin());
            let side = match x {
                x if x <= self.across[0] => Align2::LEFT_TOP,
                x if x >= self.across[1] => Align2::RIGHT_TOP,
                _ => Align2::CENTER_TOP,
            };
            painter.text(foot + vec2(0.0, 2.0), side, self.unit.show(x), small.clone(), theme.quiet);
        }
        if let Some(now) = self.now {
            painter.vline(at(now).x, plot.y_range(), theme.rule());
            painter.circle_filled(at(now), 3.0, theme.accent);
        }
        for curve in &self.curves {
            let line: Vec<Pos2> = curve.points.iter().map(|&point| at(point)).collect();
            draw(&line, curve);
        }
    }
}

/// The knee's angle with the pedals where they are, degrees, and the greatest push there, N.
fn knee_now(rows: &[KneeRow]) -> Option<[f64; 2]> {
    rows.windows(2).find(|pair| pair[0].shift_mm <= 0.0 && pair[1].shift_mm > 0.0).map(|pair| {
        let [a, b] = [&pair[0], &pair[1]];
        let share = -a.shift_mm / (b.shift_mm - a.shift_mm);
        [a.knee_deg + share * (b.knee_deg - a.knee_deg), a.greatest_n + share * (b.greatest_n - a.greatest_n)]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half-way between two rows by the way of the pedals.
    #[test]
    fn the_knee_stands_where_the_pedals_are() {
        let row = |knee_deg: f64, shift_mm: f64, greatest_n: f64| KneeRow {
            knee_deg,
            shift_mm,
            greatest_n,
            thigh_n: 0.0,
            limits_n: [0.0; 3],
        };
        let rows = [row(115.0, -60.0, 700.0), row(120.0, -20.0, 800.0), row(125.0, 20.0, 1000.0)];
        assert_eq!(knee_now(&rows), Some([122.5, 900.0]));
        assert_eq!(knee_now(&rows[..2]), None);
    }
}
