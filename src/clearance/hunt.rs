//! The least distance of shapes on their ways, by branch and bound.
//!
//! A stretch of a way is looked at in its middle. Nowhere in it can the distance be less than there by more than the
//! surfaces move; nor, between convex shapes, less than what a plane across the line of nearest points keeps apart
//! all along. A stretch that cannot undercut the least found so far is dropped, every other is halved. Depth first:
//! nothing is kept but the way down.

use super::{
    Partner,
    course::{Course, Span},
    rim::Spin,
};
use crate::{
    geometry::{Nearest, Solid, TaperedCapsule, Vec3, bound, distance, distance_within, furthest},
    units::mm,
};

/// The least is known to this, m.
pub(super) const TOLERANCE: f64 = mm(0.02);
/// The least to a surface of triangles, which is itself no truer than this, m.
const MESH_TOLERANCE: f64 = mm(0.2);
/// The least where two touch by design, one soft and the other a surface of triangles, m: how deep they lie in one
/// another is felt no finer.
const TOUCHING: f64 = mm(0.5);
/// After so many looks the tolerance is doubled, so that the work ends whatever the shapes do.
const PATIENCE: u32 = 4096;

/// What a shape may come close to.
#[derive(Clone, Copy)]
pub(super) enum Against<'a> {
    /// Something on a way of its own.
    Course(&'a Course),
    /// A wheel from a file, as it turns.
    Spin(&'a Spin),
    /// Something that stands still.
    Still(&'a Solid),
}

/// Two shapes whose distance counts.
pub(super) struct Pair<'a> {
    pub(super) course: &'a Course,
    pub(super) against: Against<'a>,
    pub(super) partner: Partner,
    /// What the distance cannot be less than anywhere, cheaply, m.
    floor: f64,
    /// To what the least is wanted, m.
    tolerance: f64,
}

/// The least distance found.
#[derive(Clone, Copy, Debug)]
pub(super) struct Found {
    /// Place of the pair among those looked at.
    pub(super) pair: usize,
    /// Times of the first and of the second shape.
    pub(super) times: [f64; 2],
    pub(super) nearest: Nearest,
    /// Over the true motion the gap is nowhere less than this, m.
    pub(super) floor: f64,
}

/// Nothing is found.
const NOWHERE: Nearest = Nearest { gap: f64::INFINITY, on_a: Vec3::new(0.0, 0.0, 0.0), on_b: Vec3::new(0.0, 0.0, 0.0) };

/// A stretch of both ways.
type Node = [Span; 2];

/// The distance in the middle of a stretch, and what it cannot be less than in it.
#[derive(Clone, Copy)]
struct Look {
    nearest: Nearest,
    floor: f64,
}

/// Looks for the least distance of any of the pairs.
pub(super) fn hunt(pairs: &[Pair]) -> Option<Found> {
    let nearest = (0..pairs.len()).min_by(|&a, &b| pairs[a].floor.total_cmp(&pairs[b].floor))?;
    let mut hunt = Hunt { best: NOWHERE, pair: nearest, times: [0.0; 2], looks: 0, floor: f64::INFINITY };
    for index in std::iter::once(nearest).chain((0..pairs.len()).filter(|&index| index != nearest)) {
        let pair = &pairs[index];
        let enough = hunt.best.gap - hunt.tolerance(pair);
        if pair.floor - pair.worst() < enough {
            let node = pair.whole();
            hunt.dive(pair, index, node, pair.look(node, enough));
        }
    }
    let tolerance = pairs.iter().map(|pair| hunt.tolerance(pair)).fold(0.0, f64::max);
    let (times, nearest) = pairs[hunt.pair].settle(hunt.times, hunt.best);
    Some(Found { pair: hunt.pair, times, nearest, floor: hunt.floor.min(hunt.best.gap - tolerance) })
}

struct Hunt {
    best: Nearest,
    pair: usize,
    times: [f64; 2],
    looks: u32,
    /// The least floor of what was dropped because the shapes' courses are known no better.
    floor: f64,
}

impl Hunt {
    fn tolerance(&self, pair: &Pair) -> f64 {
        pair.tolerance * f64::from(1_u32 << (self.looks / PATIENCE).min(24))
    }

    fn dive(&mut self, pair: &Pair, index: usize, node: Node, look: Look) {
        self.looks += 1;
        if look.nearest.gap < self.best.gap {
            (self.best, self.pair, self.times) = (look.nearest, index, pair.middle(node));
        }
        let enough = self.best.gap - self.tolerance(pair);
        if look.floor - pair.worst() >= enough {
            return;
        }
        let settled = look.floor >= enough;
        if settled {
            let floor = look.floor - pair.error(node);
            if floor >= enough {
                return;
            }
            if pair.is_between_steps(node) {
                self.floor = self.floor.min(floor);
                return;
            }
        }
        let halves = if settled { pair.steps(node) } else { pair.halves(node) };
        let Some([first, second]) = halves else { return };
        let (here, there) = (pair.look(first, enough), pair.look(second, enough));
        if here.floor <= there.floor {
            self.dive(pair, index, first, here);
            self.dive(pair, index, second, there);
        } else {
            self.dive(pair, index, second, there);
            self.dive(pair, index, first, here);
        }
    }
}

impl<'a> Pair<'a> {
    pub(super) fn new(course: &'a Course, against: Against<'a>, partner: Partner) -> Self {
        let floor = match against {
            Against::Course(other) => {
                let (a, b) = (&course.ball, &other.ball);
                (a.a - b.a).norm() - a.radius_a - b.radius_a
            }
            Against::Spin(other) => (course.ball.a - other.centre()).norm() - course.ball.radius_a - other.reach(),
            // What else it is among lies in the box round a surface: only the surface itself tells which is near.
            Against::Still(solid @ Solid::Mesh(_)) => distance(&course.ball, solid).gap,
            Against::Still(solid) => bound(&course.ball, solid),
        };
        let is_from_file = matches!(against, Against::Spin(_) | Against::Still(Solid::Mesh(_)));
        let tolerance = if is_from_file { MESH_TOLERANCE } else { TOLERANCE };
        Self { course, against, partner, floor, tolerance }
    }

    /// The same for two that touch by design.
    pub(super) const fn touching(mut self) -> Self {
        self.tolerance = TOUCHING;
        self
    }

    fn whole(&self) -> Node {
        let other = match self.against {
            Against::Course(other) => other.whole(),
            Against::Spin(_) => Span::Within(0, 0.0, 1.0),
            Against::Still(_) => Span::Steps(0, 0),
        };
        [self.course.whole(), other]
    }

    /// The ways that both surfaces go in all, at most, m.
    fn ways(&self) -> [f64; 2] {
        let [here, there] = self.whole();
        let other = match self.against {
            Against::Course(other) => other.way(there),
            Against::Spin(other) => other.way(there),
            Against::Still(_) => 0.0,
        };
        [self.course.way(here), other]
    }

    fn middle(&self, [here, there]: Node) -> [f64; 2] {
        let other = match self.against {
            Against::Course(other) => other.middle(there),
            Against::Spin(other) => other.middle(there),
            Against::Still(_) => 0.0,
        };
        [self.course.middle(here), other]
    }

    /// Halves of the longer of both ways.
    fn halves(&self, [here, there]: Node) -> Option<[Node; 2]> {
        if let Against::Course(other) = self.against
            && other.way(there) > self.course.way(here)
            && let Some(halves) = other.halves(there)
        {
            return Some(halves.map(|there| [here, there]));
        }
        if let (Against::Spin(other), Span::Within(step, from, to)) = (self.against, there)
            && (other.way(there) > self.course.way(here) || self.course.halves(here).is_none())
        {
            let middle = f64::midpoint(from, to);
            return Some([(from, middle), (middle, to)].map(|(from, to)| [here, Span::Within(step, from, to)]));
        }
        Some(self.course.halves(here)?.map(|here| [here, there]))
    }

    /// Halves of a way over several steps.
    fn steps(&self, [here, there]: Node) -> Option<[Node; 2]> {
        match self.against {
            Against::Course(other) if !is_narrow(there) => Some(other.halves(there)?.map(|there| [here, there])),
            _ => Some(self.course.halves(here)?.map(|here| [here, there])),
        }
    }

    /// Whether neither way goes over more than two steps.
    const fn is_between_steps(&self, [here, there]: Node) -> bool {
        is_narrow(here) && is_narrow(there)
    }

    /// What both courses may be off within a stretch, and anywhere, m.
    fn error(&self, [here, there]: Node) -> f64 {
        self.course.error(here)
            + match self.against {
                Against::Course(other) => other.error(there),
                Against::Spin(_) | Against::Still(_) => 0.0,
            }
    }

    fn worst(&self) -> f64 {
        self.course.error
            + match self.against {
                Against::Course(other) => other.error,
                Against::Spin(_) | Against::Still(_) => 0.0,
            }
    }

    /// Looks at the middle of a stretch; how sharp a floor is needed lets it be found no sharper than that.
    fn look(&self, [here, there]: Node, enough: f64) -> Look {
        let shape = self.course.shape(here);
        let stray = self.course.stray(here);
        let most = stray[0].max(stray[1]);
        // Beyond this the stretch is dropped, however far it is.
        let limit = enough + self.worst();
        match self.against {
            Against::Course(other) => {
                let [a, b] = other.stray(there);
                let nearest = distance(&shape, &Solid::Capsule(other.shape(there)));
                self.across(here, nearest, most + a.max(b), limit, |way| other.support(there, way))
            }
            Against::Still(solid @ Solid::Mesh(_)) => self.over(here, &shape, solid, stray, limit),
            Against::Still(solid @ (Solid::Capsule(_) | Solid::Box(_))) => {
                let nearest = distance(&shape, solid);
                self.across(here, nearest, most, limit, |way| way.dot(&nearest.on_b))
            }
            Against::Still(solid @ Solid::Rim(_)) => {
                let nearest = distance(&shape, solid);
                Look { nearest, floor: nearest.gap - most }
            }
            Against::Spin(other) => {
                let turned = other.way(there) / 2.0;
                let solid = other.at(other.middle(there));
                self.over(here, &shape, &solid, stray.map(|stray| stray + turned), limit)
            }
        }
    }

    /// The floor of two convex shapes: what a plane across the line of nearest points keeps apart all along. How far the
    /// other one goes along a way within its stretch is `support`.
    fn across(&self, here: Span, nearest: Nearest, stray: f64, limit: f64, support: impl Fn(Vec3) -> f64) -> Look {
        let mut floor = nearest.gap - stray;
        // Where they touch there is no line of nearest points.
        if stray > 0.0 && floor < limit && nearest.gap.abs() > 1e-7 {
            let way = (nearest.on_a - nearest.on_b) / nearest.gap;
            floor = floor.max(-self.course.support(here, -way) - support(way));
        }
        Look { nearest, floor }
    }

    /// The floor over a surface of triangles. All that the shape sweeps within the stretch lies in a capsule that is
    /// thicker at each end by how far that end strays: mostly this alone drops the stretch.
    fn over(&self, here: Span, shape: &TaperedCapsule, solid: &Solid, stray: [f64; 2], limit: f64) -> Look {
        let most = stray[0].max(stray[1]);
        let within = |shape: &TaperedCapsule, limit: f64| {
            Some(distance_within(shape, solid, limit)).filter(|nearest| nearest.gap < limit)
        };
        if most <= 0.0 || limit.is_infinite() {
            return within(shape, limit).map_or(Look { nearest: NOWHERE, floor: limit }, |nearest| Look {
                nearest,
                floor: nearest.gap - most,
            });
        }
        let swept =
            TaperedCapsule { radius_a: shape.radius_a + stray[0], radius_b: shape.radius_b + stray[1], ..*shape };
        let Some(floor) = within(&swept, limit).map(|nearest| nearest.gap) else {
            return Look { nearest: NOWHERE, floor: limit };
        };
        let nearest = within(shape, limit + most).unwrap_or(NOWHERE);
        let mut look = Look { nearest, floor };
        if let (Against::Still(_), Solid::Mesh(solid)) = (self.against, solid)
            && (1e-7..f64::INFINITY).contains(&nearest.gap)
        {
            let way = (nearest.on_a - nearest.on_b) / nearest.gap;
            let own = -self.course.support(here, -way);
            // A surface may bulge beside its nearest point: what of it can come nearer than the limit counts.
            let enough = limit - self.worst();
            if let Some(other) = furthest(&swept, solid, limit, way, way.dot(&nearest.on_b), own - enough) {
                look.floor = floor.max((own - other).min(limit));
            }
        }
        look
    }

    /// The nearest points at two times, or `limit` where the gap is more.
    fn nearest_within(&self, [here, there]: [f64; 2], limit: f64) -> Nearest {
        let shape = self.course.at(here);
        match self.against {
            Against::Course(other) => distance(&shape, &Solid::Capsule(other.at(there))),
            Against::Spin(other) => distance_within(&shape, &other.at(there), limit),
            Against::Still(solid) => distance_within(&shape, solid, limit),
        }
    }

    /// From times near the least to those of the least: trying both ways with ever smaller steps.
    fn settle(&self, mut times: [f64; 2], mut best: Nearest) -> ([f64; 2], Nearest) {
        let ranges = [
            self.course.range(),
            match self.against {
                Against::Course(other) => other.range(),
                Against::Spin(other) => other.range,
                Against::Still(_) => [0.0; 2],
            },
        ];
        let ways = self.ways();
        // Twice round, for the one shifts the other's least.
        let moves = |axis: &usize| ranges[*axis][1] > ranges[*axis][0];
        let rounds = if [0, 1].iter().all(moves) { 2 } else { 1 };
        for axis in (0..2).filter(moves).cycle().take(rounds * (0..2).filter(moves).count()) {
            let [low, high] = ranges[axis];
            let mut step = (high - low) / 32.0;
            // Finer than what is felt of the way nothing is gained.
            let finest = (high - low) * (0.1 * self.tolerance / ways[axis].max(1e-6)).max(1e-5);
            while step > finest {
                let mut moved = false;
                for way in [step, -step] {
                    let mut tried = times;
                    tried[axis] = (times[axis] + way).clamp(low, high);
                    let there = self.nearest_within(tried, best.gap);
                    if there.gap < best.gap - 1e-12 {
                        (times, best, moved) = (tried, there, true);
                        break;
                    }
                }
                if !moved {
                    step *= 0.5;
                }
            }
        }
        (times, best)
    }
}

const fn is_narrow(span: Span) -> bool {
    match span {
        Span::Steps(first, last) => first == last,
        Span::Within(..) => true,
    }
}

/// A ball without extent, for distances from a point.
pub(super) const fn point(at: Vec3) -> Solid {
    Solid::Capsule(TaperedCapsule { a: at, b: at, radius_a: 0.0, radius_b: 0.0 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        clearance::course::{Axis, Owner},
        geometry::{MeshSolid, Pose, RimPath, RimPiece, RimSolid, Rot, RoundedBox, TriangleMesh},
        project::PedalKind,
        rig::RigPart,
    };

    /// A limb that winds its way past the origin: places at even times, by a seed.
    fn winding(seed: f64, axis: Axis, scale: f64) -> Course {
        let steps = 14;
        let times: Vec<f64> = (0..steps).map(|i| 0.1 * f64::from(i)).collect();
        let wave = |a: f64, b: f64, t: f64| (a * seed + b * t).sin();
        let shapes: Vec<TaperedCapsule> = times
            .iter()
            .map(|&t| {
                let a = Vec3::new(wave(1.0, 2.1, t), wave(2.3, 1.3, t), wave(3.1, 3.2, t)) * scale;
                let b = a + Vec3::new(wave(0.7, 1.0, t), wave(1.9, -2.0, t), wave(4.3, 0.5, t)) * 0.1;
                TaperedCapsule { a, b, radius_a: 0.02, radius_b: 0.05 }
            })
            .collect();
        Course::with(Owner::Other, None, axis, &times, shapes.iter())
    }

    /// An open trough of 20 folds: concave, with ridges.
    fn trough() -> TriangleMesh {
        let point = |i: u32, j: u32| {
            let (x, y) = (0.03 * f64::from(i) - 0.3, 0.1 * f64::from(j) - 0.2);
            [x, y, y * y * 2.0 + 0.02 * f64::from(i % 2)].map(|value| value as f32)
        };
        let points: Vec<[f32; 3]> = (0..21).flat_map(|i| (0..5).map(move |j| point(i, j))).collect();
        let corners = (0..20).flat_map(|i| (0..4).map(move |j| 5 * i + j));
        let triangles: Vec<[u32; 3]> = corners.flat_map(|at| [[at, at + 5, at + 6], [at, at + 6, at + 1]]).collect();
        TriangleMesh::new(&points, &triangles)
    }

    fn solids(seed: f64) -> [Solid; 4] {
        let turn = Rot::from_euler_angles(seed, 2.0 * seed, 3.0 * seed);
        let pose = Pose::from_parts(Vec3::new(0.1, -0.1, 0.05).into(), turn);
        let arc = RimPiece::Arc { centre: [0.0; 2], radius: 0.15, start: 0.4, sweep: 4.0 };
        [
            Solid::Box(RoundedBox { pose, half: Vec3::new(0.02, 0.3, 0.02), round: 0.002 }),
            point(Vec3::new(0.1, 0.0, -0.2)),
            Solid::Rim(RimSolid { pose, path: RimPath { pieces: vec![arc] }, tube: 0.016 }),
            Solid::Mesh(MeshSolid { mesh: std::sync::Arc::new(trough()), pose }),
        ]
    }

    /// Beside every pair of 4000 instants, or of 400 by 400: apart, touching and deep in one another.
    #[test]
    fn the_least_is_found_to_its_tolerance() {
        let partner = || Partner::Rig(RigPart::Hub);
        let (mut apart, mut inside) = (0, 0);
        for number in 0..24 {
            let seed = 0.7 * f64::from(number) + 0.3;
            let scale = 0.15 + 0.01 * f64::from(number);
            let course = winding(seed, Axis::Steer, scale);
            let other = winding(seed + 1.1, Axis::Travel(PedalKind::Brake), 0.3);
            let solids = solids(seed);
            let against = solids.iter().map(Against::Still).chain([Against::Course(&other)]);
            for against in against {
                let pair = Pair::new(&course, against, partner());
                let (here, there) = match against {
                    Against::Still(_) => (4000, 0),
                    Against::Spin(_) | Against::Course(_) => (400, 400),
                };
                let mut brute = f64::INFINITY;
                for i in 0..=here {
                    for j in 0..=there {
                        let times = [1.3 * f64::from(i) / f64::from(here), 1.3 * f64::from(j) / 400.0];
                        brute = brute.min(pair.nearest_within(times, f64::INFINITY).gap);
                    }
                }
                for pair in [Pair::new(&course, against, partner()).touching(), pair] {
                    let found = hunt(std::slice::from_ref(&pair)).unwrap();
                    let (gap, tolerance) = (found.nearest.gap, pair.tolerance);
                    assert!(gap <= brute + tolerance, "{seed}: {gap} {brute}");
                    assert!(found.floor <= brute + 1e-9, "{seed}: {} {brute}", found.floor);
                    assert!(found.floor >= gap - 4.0 * tolerance, "{seed}: {} {gap}", found.floor);
                    // Between two instants nothing moves further than this.
                    assert!(gap >= brute - 0.005, "{seed}: {gap} {brute}");
                    let apart_by = (found.nearest.on_a - found.nearest.on_b).norm();
                    assert!((apart_by - gap.abs()).abs() < 1e-9, "{seed}: {gap} but {apart_by}");
                    if gap > 0.0 { apart += 1 } else { inside += 1 }
                }
            }
        }
        assert!(apart > 10 && inside > 10, "{apart} apart, {inside} in one another");
    }
}
