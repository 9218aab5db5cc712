//! Where words over the view stand: one after the other, each at the first of its places that is still free.

use bevy_egui::egui::{Pos2, Rect, Vec2};

/// The places that are taken.
#[derive(Debug)]
pub struct Labels {
    within: Rect,
    taken: Vec<Rect>,
}

/// Between two labels, points.
const GAP: f32 = 2.0;
/// How far round its first place a label looks for a free one: rings and their distance, points.
const RINGS: u8 = 12;
const RING: f32 = 14.0;

impl Labels {
    /// An area in which nothing is written yet.
    pub const fn new(within: Rect) -> Self {
        Self { within, taken: Vec::new() }
    }

    /// Keeps words off something.
    pub fn keep_off(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Whether something stands there.
    pub fn is_taken(&self, rect: Rect) -> bool {
        self.taken.iter().any(|other| other.intersects(rect))
    }

    /// Takes the first of the places (middles) that is free for something of this size, else the nearest free one round
    /// the first of them, else the one that covers least.
    pub fn place(&mut self, size: Vec2, places: impl IntoIterator<Item = Pos2>) -> Rect {
        let mut places = places.into_iter();
        let first = places.next().unwrap_or_else(|| self.within.center());
        let around = (1..=RINGS).flat_map(|ring| {
            let many = 6 + 2 * u16::from(ring);
            (0..many).map(move |step| {
                first + Vec2::angled(f32::from(step) / f32::from(many) * std::f32::consts::TAU) * RING * f32::from(ring)
            })
        });
        // An area too small for the label has one place: its middle.
        let half = (size / 2.0).min(self.within.size() / 2.0);
        let room = self.within.shrink2(half);
        let mut best = Rect::from_center_size(room.clamp(first), size);
        let mut least = f32::MAX;
        for place in std::iter::once(first).chain(places).chain(around) {
            let rect = Rect::from_center_size(room.clamp(place), size);
            let covers = self.covers(rect);
            if covers < least {
                (best, least) = (rect, covers);
            }
            if least <= 0.0 {
                break;
            }
        }
        self.taken.push(best.expand(GAP));
        best
    }

    /// The area of what is covered, square points.
    fn covers(&self, rect: Rect) -> f32 {
        self.taken.iter().map(|other| other.intersect(rect)).filter(Rect::is_positive).map(|both| both.area()).sum()
    }
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::{pos2, vec2};

    use super::*;

    #[test]
    fn twenty_labels_that_want_one_spot_cover_neither_one_another_nor_what_stands_there() {
        let within = Rect::from_min_size(pos2(220.0, 60.0), vec2(840.0, 600.0));
        let mut labels = Labels::new(within);
        let balloon = Rect::from_center_size(pos2(600.0, 300.0), vec2(30.0, 30.0));
        labels.keep_off(balloon);
        let size = vec2(74.0, 18.0);
        let mut placed: Vec<Rect> = vec![balloon];
        for _ in 0..20 {
            let rect = labels.place(size, [pos2(600.0, 300.0)]);
            assert!(within.contains_rect(rect), "{rect:?}");
            assert!(placed.iter().all(|other| !other.intersect(rect).is_positive()), "{rect:?} on {placed:?}");
            placed.push(rect);
        }
    }

    #[test]
    fn a_label_takes_its_first_free_place_and_stays_inside() {
        let within = Rect::from_min_size(Pos2::ZERO, vec2(400.0, 300.0));
        let mut labels = Labels::new(within);
        let size = vec2(40.0, 20.0);
        assert_eq!(labels.place(size, [pos2(100.0, 100.0)]).center(), pos2(100.0, 100.0));
        assert_eq!(labels.place(size, [pos2(110.0, 100.0), pos2(200.0, 100.0)]).center(), pos2(200.0, 100.0));
        let edge = labels.place(size, [pos2(-50.0, 10.0)]);
        assert_eq!(edge.min, Pos2::ZERO);
        let tiny = Rect::from_min_size(Pos2::ZERO, vec2(30.0, 30.0));
        assert_eq!(Labels::new(tiny).place(size, [pos2(90.0, 90.0)]).center(), pos2(15.0, 20.0));
    }
}
