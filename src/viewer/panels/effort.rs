//! A figure under the findings of load: how hard the brake could be pushed over the angle of the knee.

use bevy_egui::egui::{
    Align2, FontId, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, remap, text::LayoutJob, vec2,
};

use crate::{
    study::{EffortReport, KneeRow},
    viewer::theme::{HALF, SMALL, Theme},
};

/// Height of the figure, points.
const TALL: f32 = 110.0;
/// Height of a line of the key, points.
const LINE: f32 = SMALL + 3.0;
/// Angles of the knee from side to side, degrees, and those that are named.
const KNEES: [f32; 2] = [90.0, 180.0];
const NAMED: [f32; 4] = [90.0, 110.0, 130.0, 160.0];

/// Draws the greatest push with the ball of the foot, that of hip and knee alone, and where the knee is now.
pub(super) fn effort_ui(ui: &mut Ui, effort: &EffortReport, theme: &Theme) {
    let now = knee_now(&effort.knee);
    let most = effort.knee.iter().flat_map(|row| [row.greatest_n, row.thigh_n]).fold(0.0, f64::max);
    let top = 500.0 * (most / 500.0).ceil().max(1.0);
    let small = FontId::proportional(SMALL);
    let caption = match now {
        Some((knee, push)) => format!(
            "Greatest push on the {} over the knee's angle; you: {knee:.0}°, {}\u{a0}N",
            effort.pedal,
            10.0 * (push / 10.0).round()
        ),
        None => format!("Greatest push on the {} over the knee's angle", effort.pedal),
    };
    let width = ui.available_width();
    let caption = ui.painter().layout_job(LayoutJob::simple(caption, small.clone(), theme.quiet, width));
    let (rect, response) =
        ui.allocate_exact_size(vec2(width, caption.size().y + 2.0 * (LINE + HALF) + TALL), Sense::hover());
    let words = caption.text().to_owned();
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, &words));
    let painter = ui.painter().clone();
    painter.galley(rect.min, caption.clone(), theme.quiet);

    // The key, then the plot.
    let below = rect.min + vec2(0.0, caption.size().y + HALF);
    let solid = Stroke::new(1.5, theme.accent);
    let dashed = |line: &[Pos2]| Shape::dashed_line(line, Stroke::new(1.5, theme.quiet), 5.0, 3.0);
    let sample = |line: f32| [0.0, 17.0].map(|x| below + vec2(x, (line + 0.5) * LINE));
    painter.extend(dashed(&sample(0.0)));
    painter.add(Shape::line_segment(sample(1.0), solid));
    for (line, words) in [(0.0, "hip and knee alone"), (1.0, "with the ball of the foot")] {
        let at = below + vec2(22.0, (line + 0.5) * LINE);
        painter.text(at, Align2::LEFT_CENTER, words, small.clone(), theme.ink);
    }
    let plot = Rect::from_min_max(below + vec2(0.0, 2.0 * LINE + HALF), rect.max - vec2(0.0, SMALL + HALF));
    let at = |knee: f64, push: f64| -> Pos2 {
        pos2(
            remap(knee as f32, KNEES[0]..=KNEES[1], plot.left()..=plot.right()),
            remap(push as f32, 0.0..=top as f32, plot.bottom()..=plot.top()),
        )
    };
    painter.hline(plot.x_range(), plot.bottom(), theme.rule());
    painter.hline(plot.x_range(), plot.top(), theme.rule());
    painter.text(plot.left_top() + vec2(0.0, 1.0), Align2::LEFT_TOP, format!("{top:.0} N"), small.clone(), theme.quiet);
    for knee in NAMED {
        let foot = at(f64::from(knee), 0.0);
        painter.vline(foot.x, foot.y - 3.0..=foot.y, theme.thin());
        let side = if knee > KNEES[0] { Align2::CENTER_TOP } else { Align2::LEFT_TOP };
        painter.text(foot + vec2(0.0, 2.0), side, format!("{knee:.0}°"), small.clone(), theme.quiet);
    }
    if let Some((knee, push)) = now {
        painter.vline(at(knee, 0.0).x, plot.y_range(), theme.rule());
        painter.circle_filled(at(knee, push), 3.0, theme.accent);
    }
    let line =
        |of: fn(&KneeRow) -> f64| -> Vec<Pos2> { effort.knee.iter().map(|row| at(row.knee_deg, of(row))).collect() };
    let (ball, thigh) = (line(|row| row.greatest_n), line(|row| row.thigh_n));
    painter.extend(dashed(&thigh));
    painter.add(Shape::line(ball, solid));
}

/// The knee's angle with the pedals where they are, degrees, and the greatest push there, N.
fn knee_now(rows: &[KneeRow]) -> Option<(f64, f64)> {
    rows.windows(2).find(|pair| pair[0].shift_mm <= 0.0 && pair[1].shift_mm > 0.0).map(|pair| {
        let [a, b] = [&pair[0], &pair[1]];
        let share = -a.shift_mm / (b.shift_mm - a.shift_mm);
        (a.knee_deg + share * (b.knee_deg - a.knee_deg), a.greatest_n + share * (b.greatest_n - a.greatest_n))
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
        assert_eq!(knee_now(&rows), Some((122.5, 900.0)));
        assert_eq!(knee_now(&rows[..2]), None);
    }
}
