//! Findings that lie close to one another in a view: the worst of them has its balloon, the others are counted beside
//! it, and a list of all opens under the pointer.

use std::sync::Arc;

use bevy_egui::egui::{
    Align2, FontId, Galley, Id, LayerId, Order, Painter, Pos2, Rect, Stroke, StrokeKind, pos2, vec2,
};

use super::{
    overlay,
    theme::{BALLOON, HALF, SMALL, Theme, strong},
};
use crate::findings::{Finding, Level};

/// Balloons that can be told apart in one view: own choice. Of more, those close to one another are gathered.
const MANY: usize = 24;
/// How close they are at first, points.
const CLOSE: f32 = 28.0;
/// Height of a row of the list, points.
const ROW: f32 = 18.0;
/// Around the list it stays open, points.
const ABOUT: f32 = 8.0;

/// Findings with one balloon.
pub struct Crowd<'a> {
    /// The worst of them, whose number the balloon bears.
    pub head: &'a Finding,
    /// Its place on the screen.
    pub anchor: Pos2,
    /// The others.
    pub rest: Vec<&'a Finding>,
}

/// Gathers what is close to one another, so that few enough balloons remain. What is to be mended hides behind nothing
/// else unless there is too much of it, and `alone` (the chosen one) never does.
pub fn gather<'a>(all: Vec<(&'a Finding, Pos2)>, alone: impl Fn(&Finding) -> bool) -> Vec<Crowd<'a>> {
    let single = |(head, anchor)| Crowd { head, anchor, rest: Vec::new() };
    if all.len() <= MANY {
        return all.into_iter().map(single).collect();
    }
    let bad = all.iter().filter(|(finding, _)| finding.level != Level::Good).count();
    let joins = |finding: &Finding| !alone(finding) && (finding.level == Level::Good || bad > MANY);
    let mut sorted = all;
    sorted.sort_by_key(|(finding, _)| std::cmp::Reverse(finding.level));
    let mut close = CLOSE;
    loop {
        let mut crowds: Vec<Crowd<'a>> = Vec::new();
        for &(finding, at) in &sorted {
            let near = crowds
                .iter_mut()
                .filter(|crowd| !alone(crowd.head) && joins(finding) && crowd.anchor.distance(at) < close)
                .min_by(|a, b| a.anchor.distance(at).total_cmp(&b.anchor.distance(at)));
            match near {
                Some(crowd) => crowd.rest.push(finding),
                None => crowds.push(single((finding, at))),
            }
        }
        close *= 1.25;
        if crowds.len() <= MANY + bad.min(MANY) || close > 4.0 * CLOSE {
            return crowds;
        }
    }
}

/// Writes beside a balloon how many more stand behind it; where.
pub fn count(painter: &Painter, at: Pos2, more: usize, theme: &Theme) -> Rect {
    let galley = painter.layout_no_wrap(format!("+{more}"), FontId::proportional(SMALL), theme.ink);
    let size = galley.size() + vec2(6.0, 0.0);
    let right = at.x + BALLOON * 0.7;
    let fits = right + size.x < painter.clip_rect().right();
    let place = pos2(if fits { right } else { at.x - BALLOON * 0.7 - size.x }, at.y + BALLOON * 0.35);
    let rect = Rect::from_min_size(place, size);
    painter.rect(rect, 3.0, theme.panel.gamma_multiply(0.95), theme.thin(), StrokeKind::Inside);
    painter.galley(place + vec2(3.0, 0.0), galley, theme.ink);
    rect
}

/// The list of a crowd beside its balloon, with where it stands.
pub struct List<'a> {
    rows: Vec<(&'a Finding, [Arc<Galley>; 3])>,
    rect: Rect,
}

impl<'a> List<'a> {
    /// The list of a crowd whose balloon is at `at`, within `pane`; what has no room is left out.
    pub fn of(painter: &Painter, crowd: &Crowd<'a>, at: Pos2, pane: Rect, theme: &Theme) -> Self {
        let most = ((pane.height() - 4.0 * HALF) / ROW).max(1.0) as usize;
        let lay = |text: String, font, colour| painter.layout_no_wrap(text, font, colour);
        let small = FontId::proportional(SMALL);
        let row = |finding: &'a Finding| {
            let parts = [
                lay(finding.number.to_string(), small.clone(), theme.quiet),
                lay(finding.title.clone(), small.clone(), theme.ink),
                lay(finding.value_words(), strong(SMALL), theme.ink),
            ];
            (finding, parts)
        };
        let rows: Vec<_> = std::iter::once(crowd.head).chain(crowd.rest.iter().copied()).take(most).map(row).collect();
        let widest = |part: usize| rows.iter().map(|(_, parts)| parts[part].size().x).fold(0.0, f32::max);
        let wide = 52.0 + widest(1) + 12.0 + widest(2) + HALF;
        let size = vec2(wide, ROW * rows.len() as f32 + 2.0 * HALF);
        let left =
            if at.x + BALLOON * 3.0 + wide < pane.right() { at.x + BALLOON * 3.0 } else { at.x - BALLOON * 1.5 - wide };
        let room = (pane.top() + HALF, (pane.bottom() - HALF - size.y).max(pane.top() + HALF));
        let min = pos2(left.max(pane.left() + HALF), (at.y - ROW).clamp(room.0, room.1));
        Self { rows, rect: Rect::from_min_size(min, size) }
    }

    /// Whether the pointer is on it, or near enough to keep it open.
    pub fn keeps(&self, at: Pos2) -> bool {
        self.rect.expand2(vec2(BALLOON * 2.0, ABOUT)).contains(at)
    }

    /// Draws it; the finding under the pointer.
    pub fn draw(&self, painter: &Painter, pointer: Option<Pos2>, theme: &Theme) -> Option<&'a Finding> {
        // Over all that is written in the view.
        let painter = &painter.clone().with_layer_id(LayerId::new(Order::Middle, Id::new("crowd")));
        painter.rect(self.rect, 3.0, theme.panel, Stroke::new(1.0, theme.hairline), StrokeKind::Inside);
        let mut under = None;
        for (index, (finding, [number, title, value])) in self.rows.iter().enumerate() {
            let top = self.rect.top() + HALF + ROW * index as f32;
            let row = Rect::from_x_y_ranges(self.rect.x_range().shrink(2.0), top..=top + ROW);
            if pointer.is_some_and(|at| row.contains(at)) {
                under = Some(*finding);
                painter.rect_filled(row, 2.0, theme.wash);
            }
            let line = |galley: &Arc<Galley>, at: Pos2, align: Align2| align.anchor_size(at, galley.size()).min;
            let (left, middle) = (self.rect.left(), row.center().y);
            overlay::mark(painter, pos2(left + 12.0, middle), finding.level, theme);
            painter.galley(line(number, pos2(left + 44.0, middle), Align2::RIGHT_CENTER), number.clone(), theme.quiet);
            painter.galley(line(title, pos2(left + 52.0, middle), Align2::LEFT_CENTER), title.clone(), theme.ink);
            let end = pos2(self.rect.right() - HALF, middle);
            painter.galley(line(value, end, Align2::RIGHT_CENTER), value.clone(), theme.ink);
        }
        under
    }
}

/// Which crowd is open, by its head's key.
pub fn opened(painter: &Painter) -> Option<String> {
    painter.ctx().data(|data| data.get_temp(Id::new("crowd")))
}

/// Opens a crowd, or closes the one that is open.
pub fn open(painter: &Painter, key: Option<String>) {
    painter.ctx().data_mut(|data| match key {
        Some(key) => {
            data.insert_temp(Id::new("crowd"), key);
        }
        None => data.remove::<String>(Id::new("crowd")),
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{project::parse, study::check};

    #[test]
    fn every_finding_of_a_crowd_is_behind_the_worst_of_it() {
        let study = check(&parse(crate::command::DEMO).unwrap());
        let all: Vec<_> = study
            .findings
            .iter()
            .enumerate()
            .map(|(i, finding)| {
                // Nine spots, 200 points apart.
                let spot = (i % 9) as f32;
                (finding, pos2(100.0 + 200.0 * (spot % 3.0), 100.0 + 200.0 * (spot / 3.0).floor()))
            })
            .collect();
        assert!(all.len() > MANY);
        let chosen = study.findings.iter().rfind(|finding| finding.level == Level::Good).unwrap().key();
        let crowds = gather(all.clone(), |finding| finding.key() == chosen);
        assert_eq!(crowds.iter().map(|crowd| 1 + crowd.rest.len()).sum::<usize>(), all.len());
        assert!(crowds.iter().all(|crowd| crowd.rest.iter().all(|other| other.level <= crowd.head.level)));
        // The chosen one, one a spot, and what is to be mended.
        let bad = all.iter().filter(|(finding, _)| finding.level != Level::Good).count();
        assert!(crowds.len() <= 9 + bad + 1, "{}", crowds.len());
        assert!(crowds.iter().any(|crowd| crowd.head.key() == chosen && crowd.rest.is_empty()));
        // Few stand as they are.
        let few = gather(all[..MANY].to_vec(), |_| false);
        assert!(few.len() == MANY && few.iter().all(|crowd| crowd.rest.is_empty()));
    }
}
