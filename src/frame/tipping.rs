//! Whether the rig tips over an edge of its feet, or slides.
//!
//! Moments about an edge of the feet's hull: what weights inside hold against what weights outside and pushes turn.
//! The pushes of a driver on pedals and seat back cancel and never enter.

use super::{Built, Duty, Mass};
use crate::{geometry::Vec3, units::GRAVITY};

/// An edge of the feet's hull, anticlockwise seen from above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// One foot.
    pub from: Vec3,
    /// The next.
    pub to: Vec3,
}

impl Edge {
    /// Level and outward, length 1.
    fn outward(&self) -> Vec3 {
        let along = self.to - self.from;
        let out = Vec3::new(along.y, -along.x, 0.0);
        out / out.norm().max(1e-12)
    }

    /// How far outside the edge a point is in plan, m; negative inside.
    pub fn outside(&self, p: Vec3) -> f64 {
        (p - self.from).dot(&self.outward())
    }

    /// "front", "rear", "left" or "right", as it lies under the rig.
    pub fn word(&self) -> &'static str {
        let out = self.outward();
        match (out.x.abs() > out.y.abs(), out.x > 0.0, out.y > 0.0) {
            (true, true, _) => "front",
            (true, false, _) => "rear",
            (false, _, true) => "left",
            (false, _, false) => "right",
        }
    }
}

/// The edges of the hull of points, in plan (Andrew's monotone chain).
pub fn edges(points: &[Vec3]) -> Vec<Edge> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup_by(|a, b| (a.xy() - b.xy()).norm() < 1e-6);
    if sorted.len() < 3 {
        return Vec::new();
    }
    let turn = |a: Vec3, b: Vec3, c: Vec3| (b - a).xy().perp(&(c - a).xy());
    let chain = |points: &mut dyn Iterator<Item = &Vec3>| {
        let mut out: Vec<Vec3> = Vec::new();
        for &p in points {
            while out.len() >= 2 && turn(out[out.len() - 2], out[out.len() - 1], p) <= 1e-12 {
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut hull = chain(&mut sorted.iter());
    hull.extend(chain(&mut sorted.iter().rev()));
    if hull.len() < 3 {
        return Vec::new();
    }
    (0..hull.len()).map(|i| Edge { from: hull[i], to: hull[(i + 1) % hull.len()] }).collect()
}

/// Σ W b / Σ (F a + P h) about an edge: weights (N, where) and level pushes (N, where). Infinite where nothing turns it.
pub fn factor(edge: &Edge, weights: &[(f64, Vec3)], pushes: &[(Vec3, Vec3)]) -> f64 {
    let (mut holds, mut turns) = (0.0, 0.0);
    let mut add = |moment: f64| if moment > 0.0 { turns += moment } else { holds -= moment };
    for &(weight, at) in weights {
        add(weight * edge.outside(at));
    }
    for &(push, at) in pushes {
        add(push.dot(&edge.outward()) * (at.z - edge.from.z));
    }
    if turns > 0.0 { holds / turns } else { f64::INFINITY }
}

/// One way in which the rig was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// "with your weight on the top of the seat back".
    pub how: String,
    /// The edge that it turns about.
    pub edge: Edge,
    /// Over what it would tip with, how many times.
    pub factor: f64,
    /// Where the load is, W.
    pub at: Vec3,
}

/// The worst of each kind: getting in and out, and hard braking; `None` where the rig has no three feet.
#[derive(Clone, Debug, PartialEq)]
pub struct Stability {
    /// Somebody gets in or out: their weight on the seat's back or on the rail that stands out furthest, or a pull on the
    /// rim, half as hard to the side (own choice); nobody in the seat.
    pub entering: Trial,
    /// Hard braking: what isn't returned by the seat at once.
    pub braking: Trial,
    /// Friction over the same push.
    pub sliding: f64,
    /// The push that isn't returned, N.
    pub unreturned: f64,
}

/// The share of a hard braking force that the seat doesn't return at once, while the body is still moving back: own
/// choice, no published source.
pub const UNRETURNED: f64 = 0.25;

impl Stability {
    /// Tries a rig.
    pub fn of(duty: &Duty, built: &Built, mass: &Mass) -> Option<Self> {
        let feet: Vec<Vec3> = built.feet.iter().map(|foot| foot.at).collect();
        let edges = edges(&feet);
        let rig = (mass.rig * GRAVITY, mass.rig_at);
        let body = duty.driver * GRAVITY;
        let mut trials: Vec<(String, Edge, f64, Vec3)> = Vec::new();
        for edge in &edges {
            let mut weigh = |how: String, at: Vec3| {
                trials.push((how, *edge, factor(edge, &[rig, (body, at)], &[]), at));
            };
            weigh("with your weight on the top of the seat back".to_owned(), duty.back_top);
            // The end of a rail that stands out furthest, where a foot may step.
            let ends = duty
                .rails
                .iter()
                .flat_map(|rail| [rail.from_mm, rail.to_mm].map(|end| (rail, crate::units::mm_point(end))));
            let furthest =
                ends.filter(|(_, at)| at.z < STEP).max_by(|a, b| edge.outside(a.1).total_cmp(&edge.outside(b.1)));
            if let Some((rail, at)) = furthest {
                weigh(format!("with your weight on the end of rail '{}'", rail.name), at);
            }
            // Somebody who gets in pulls the rim down and towards them; to the side they pull half as hard.
            let force = if ["left", "right"].contains(&edge.word()) { duty.pull / 2.0 } else { duty.pull };
            let by_pull = factor(edge, &[rig], &[(edge.outward() * force, duty.wheel)]);
            trials.push((
                format!("when the rim is pulled {} with {force:.0} N", way_word(edge)),
                *edge,
                by_pull,
                duty.wheel,
            ));
        }
        let entering = trials.into_iter().min_by(|a, b| a.2.total_cmp(&b.2))?;
        let force = duty.brake().map_or(Vec3::zeros(), |push| push.force);
        let level = Vec3::new(force.x, force.y, 0.0) * UNRETURNED;
        let at = duty.brake().map_or(Vec3::zeros(), |push| push.at);
        let driven = (mass.driven * GRAVITY, mass.driven_at);
        let braking = edges
            .iter()
            .map(|edge| (*edge, factor(edge, &[driven], &[(level, at)])))
            .min_by(|a, b| a.1.total_cmp(&b.1))?;
        let unreturned = level.norm();
        let sliding = if unreturned > 0.0 { duty.friction * mass.driven * GRAVITY / unreturned } else { f64::INFINITY };
        let (how, edge, factor, place) = entering;
        Some(Self {
            entering: Trial { how, edge, factor, at: place },
            braking: Trial { how: "under hard braking".to_owned(), edge: braking.0, factor: braking.1, at },
            sliding,
            unreturned,
        })
    }
}

/// Higher than this nobody steps, m: own choice.
const STEP: f64 = 0.6;

fn way_word(edge: &Edge) -> &'static str {
    match edge.word() {
        "front" => "forward",
        "rear" => "back",
        "left" => "to the left",
        _ => "to the right",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A rig of 60 kg, its centre of mass 0.70 m ahead of the rear feet; feet 0.48 m apart, 1.40 m long.
    fn feet() -> Vec<Edge> {
        edges(&[(0.0, 0.24), (0.0, -0.24), (1.4, 0.24), (1.4, -0.24), (0.7, 0.0)].map(|(x, y)| Vec3::new(x, y, 0.0)))
    }

    fn edge(word: &str) -> Edge {
        *feet().iter().find(|edge| edge.word() == word).unwrap()
    }

    const RIG: (f64, Vec3) = (60.0 * GRAVITY, Vec3::new(0.7, 0.0, 0.45));
    const PERSON: f64 = 80.0 * GRAVITY;

    fn with_person(word: &str, x: f64, y: f64) -> f64 {
        factor(&edge(word), &[RIG, (PERSON, Vec3::new(x, y, 0.5))], &[])
    }

    /// By hand (statics): 411.9/117.7 on the seat back 0.15 m behind the rear feet; 588.4·0.24/31.4 on a side 0.04 m
    /// outside; 141.2/156.9 on a bracket 0.20 m outside.
    #[test]
    fn factors_worked_by_hand() {
        assert_eq!(feet().len(), 4);
        for (word, x, y, wanted) in [("rear", -0.15, 0.0, 3.50), ("left", 0.7, 0.28, 4.50), ("right", 0.7, -0.44, 0.90)]
        {
            let found = with_person(word, x, y);
            assert!((found - wanted).abs() < 0.006, "{word}: {found}");
        }
        assert!(with_person("left", 0.7, 0.0).is_infinite());
    }

    /// By hand: 588.4·0.24/1.0 = 141.2 N at 1.0 m tips the empty rig sideways, 1373·0.24 = 329.5 N the driven one.
    #[test]
    fn a_push_that_tips_by_hand() {
        let push = |force: f64| [(Vec3::new(0.0, force, 0.0), Vec3::new(0.7, 0.0, 1.0))];
        assert!((factor(&edge("left"), &[RIG], &push(141.2)) - 1.0).abs() < 1e-3);
        let driver = (PERSON, Vec3::new(0.5, 0.0, 0.4));
        assert!((factor(&edge("left"), &[RIG, driver], &push(329.5)) - 1.0).abs() < 1e-3);
        // Towards the other side it doesn't turn about this edge.
        assert!(factor(&edge("right"), &[RIG], &push(141.2)).is_infinite());
    }

    #[test]
    fn feet_in_a_line_have_no_hull() {
        assert!(edges(&[0.0, 0.5, 1.0].map(|x| Vec3::new(x, 0.2, 0.0))).is_empty());
        assert!(edges(&[]).is_empty());
    }
}
