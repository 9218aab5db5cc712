//! Whether a point can be reached in a zone: some pose that gets there and keeps clear of all that is in the way.

use super::{
    field::Looks,
    lanes::{Few, Lanes, Lever, Task, few, full},
    limb::{Chain, Seeds},
    obstacle::{APART, Around, Balls, Pressed},
    zone::{Angles, MOST},
};
use crate::{geometry::Vec3, units::mm};

/// What was found at a point.
#[derive(Clone, Copy, Debug)]
pub(super) struct Found {
    pub state: State,
    /// The pose that gets there or comes nearest.
    pub angles: Angles,
    /// Reached: what the limb keeps clear by. Blocked: how deep it presses. Out: what is missing. All m, none negative.
    pub by: f64,
    /// Out: the way to what can be reached, unit.
    pub toward: Vec3,
    /// Blocked: net and index of the obstacle.
    pub whose: (usize, usize),
}

/// Whether a point can be reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// By a pose that keeps clear.
    Reached,
    /// But for what is in the way.
    Blocked,
    /// By none of the joints' poses.
    Out,
}

impl Found {
    /// Out of reach from everywhere, before anything was found.
    pub const NOTHING: Self = Self {
        state: State::Out,
        angles: [0.0; MOST],
        by: f64::INFINITY,
        toward: Vec3::new(0.0, 0.0, 0.0),
        whose: (0, 0),
    };

    /// Reached says more than blocked, that more than missed; less deep or less far more than deeper or further.
    fn says_more(&self, than: &Self) -> bool {
        let rank = |found: &Self| match found.state {
            State::Reached => (0, 0.0),
            State::Blocked => (1, found.by),
            State::Out => (2, found.by),
        };
        rank(self) < rank(than)
    }
}

/// One limb in one zone among its surroundings.
#[derive(Clone, Debug)]
pub(super) struct Judge<'a> {
    pub chain: &'a Chain,
    pub lanes: Lanes,
    pub seeds: &'a Seeds,
    pub balls: &'a Balls,
    /// `None` looks at the joints alone.
    pub around: Option<&'a Around>,
}

/// A point to be looked at, and where to begin.
#[derive(Clone, Copy, Debug)]
pub(super) struct Query {
    pub point: Vec3,
    starts: [Few; Self::MOST],
    count: usize,
    /// Poses of the judge's own that are tried after them, at most eight.
    pub more: usize,
    /// Poses that press something deeper are not led around it, m.
    pub deepest: f32,
    /// Whether all are tried where two agree that the joints do not go there.
    pub thorough: bool,
}

impl Query {
    /// Most poses to begin from.
    pub const MOST: usize = 4;

    /// From nowhere in particular.
    pub const fn at(point: Vec3, more: usize) -> Self {
        Self { point, starts: [[0.0; MOST]; Self::MOST], count: 0, more, deepest: f32::INFINITY, thorough: false }
    }

    /// From one pose.
    pub fn from(point: Vec3, start: &Angles, more: usize) -> Self {
        let mut query = Self::at(point, more);
        query.begin(few(start));
        query
    }

    /// A pose to begin from beside those that it has, the first being tried first; those beyond the fourth are left out.
    pub fn begin(&mut self, start: Few) {
        if self.count < Self::MOST {
            self.starts[self.count] = start;
            self.count += 1;
        }
    }

    /// Whether there is a pose to begin from.
    pub const fn has_starts(&self) -> bool {
        self.count > 0
    }

    /// At most so many of the poses to begin from.
    pub const fn at_most(mut self, starts: usize, more: usize) -> Self {
        if self.count > starts {
            self.count = starts;
        }
        if self.more > more {
            self.more = more;
        }
        self
    }
}

/// Steps that a pose is led around what it presses.
const STEPS: usize = 7;
/// A step that takes less than this share of what is pressed away leads nowhere in so few.
const GAIN: f32 = 0.2;
/// A pose that is led around something ends up so far off it, m.
const CLEAR: f32 = 0.002;
/// Two poses whose points lie nearer together than this agree on the nearest point that is reached, m.
const AGREE: f64 = mm(2.0);

/// Poses whose joints differ by less than this lead to the same point, rad; own choice.
const ALIKE: f32 = 0.2;

/// A query on its way to its answer.
struct Work<'q> {
    query: &'q Query,
    /// How deep what is in the way is pressed at the very point, and what it is.
    certain: Option<(f64, (usize, usize))>,
    seeds: Option<[u16; 8]>,
    best: Option<Found>,
    done: bool,
}

/// A pose that gets there and may press something.
struct Held {
    work: usize,
    angles: Few,
    pressed: Pressed,
    /// The last step that helped.
    better: usize,
    /// Nothing more is to be gained.
    ends: bool,
}

impl Looks for Judge<'_> {
    fn look(&self, queries: &[Query]) -> Vec<Found> {
        let mut works: Vec<Work<'_>> = queries
            .iter()
            .map(|query| {
                let certain = self.around.and_then(|around| self.balls.pressed_at(around, query.point));
                Work { query, certain, seeds: None, best: None, done: false }
            })
            .collect();
        let mut open: Vec<usize> = (0..works.len()).collect();
        let mut round = 0;
        while !open.is_empty() {
            open.retain(|&at| !works[at].rests(round));
            let tasks: Vec<Task> = open
                .iter()
                .map(|&at| Task { start: self.start(&mut works[at], round), target: works[at].query.point })
                .collect();
            self.try_all(&mut works, &open, &tasks);
            round += 1;
            open = (0..works.len())
                .filter(|&at| !works[at].done && round < works[at].query.count + works[at].query.more)
                .collect();
        }
        works.into_iter().map(|work| work.best.unwrap_or(Found::NOTHING)).collect()
    }

    fn is_blocked(&self, point: Vec3) -> bool {
        self.around.is_some_and(|around| self.balls.pressed_at(around, point).is_some())
    }

    fn begin(&self) -> Vec<(Vec3, Angles)> {
        self.seeds.all().to_vec()
    }
}

/// A judge who tries no more than one pose of its own.
pub(super) struct Quick<'a>(pub Judge<'a>);

impl Looks for Quick<'_> {
    fn look(&self, queries: &[Query]) -> Vec<Found> {
        let queries: Vec<Query> = queries.iter().map(|query| query.at_most(2, 1)).collect();
        self.0.look(&queries)
    }

    fn begin(&self) -> Vec<(Vec3, Angles)> {
        self.0.begin()
    }
}

impl Work<'_> {
    /// Whether the start of a round is not worth trying: where something is in the way and neighbours will be asked
    /// later, and where the joints do not go there from a pose so like it that it would end in the same place.
    fn rests(&self, round: usize) -> bool {
        let query = self.query;
        if query.thorough || round == 0 {
            return false;
        }
        match self.best.map(|best| best.state) {
            Some(State::Blocked) => query.more == 0,
            Some(State::Out) if round < query.count => {
                let next = &query.starts[round];
                query.starts[..round].iter().any(|other| next.iter().zip(other).all(|(a, b)| (a - b).abs() < ALIKE))
            }
            _ => false,
        }
    }

    /// Takes what was found from one start in.
    fn take(&mut self, found: Found) {
        match found.state {
            State::Reached => self.done = true,
            State::Blocked => self.done |= self.certain.is_some(),
            State::Out => {
                let agrees = |best: &Found| {
                    best.state == State::Out && (best.toward * best.by - found.toward * found.by).norm() < AGREE
                };
                self.done |= !self.query.thorough && self.best.as_ref().is_some_and(agrees);
            }
        }
        if self.best.as_ref().is_none_or(|best| found.says_more(best)) {
            self.best = Some(found);
        }
    }
}

impl Judge<'_> {
    /// Looks at one point.
    pub fn asked(&self, query: Query) -> Found {
        self.look(&[query]).first().copied().unwrap_or(Found::NOTHING)
    }

    /// The pose from which a query is begun in some round.
    fn start(&self, work: &mut Work<'_>, round: usize) -> Few {
        let query = work.query;
        if round < query.count {
            return query.starts[round];
        }
        let seeds = work.seeds.get_or_insert_with(|| self.seeds.near(query.point));
        few(self.seeds.pose(seeds[(round - query.count).min(7)]))
    }

    /// Follows a start of each of some queries to its end.
    fn try_all(&self, works: &mut [Work<'_>], open: &[usize], tasks: &[Task]) {
        let mut held: Vec<Held> = Vec::new();
        for (&at, nearest) in open.iter().zip(self.lanes.nearest(tasks)) {
            let work = &mut works[at];
            let found = Found { angles: full(&nearest.angles), ..Found::NOTHING };
            if nearest.miss > 0.0 {
                let way = Vec3::from(nearest.off.map(f64::from));
                work.take(Found { by: f64::from(nearest.miss), toward: way / way.norm().max(1e-12), ..found });
            } else if self.around.is_none() {
                work.take(Found { state: State::Reached, by: f64::from(APART), ..found });
            } else if let Some((by, whose)) = work.certain {
                work.take(Found { state: State::Blocked, by, whose, ..found });
            } else {
                held.push(Held { work: at, angles: nearest.angles, pressed: Pressed::NOTHING, better: 0, ends: false });
            }
        }
        let Some(around) = self.around.filter(|_| !held.is_empty()) else { return };
        let poses: Vec<Few> = held.iter().map(|held| held.angles).collect();
        for (held, pressed) in held.iter_mut().zip(self.balls.pressed(around, &self.lanes, &poses)) {
            held.pressed = pressed;
        }
        self.led_around(around, works, &mut held);
        for held in held {
            let by = f64::from(held.pressed.by);
            let found = Found { angles: full(&held.angles), by: by.abs(), ..Found::NOTHING };
            works[held.work].take(if by > 0.0 {
                Found { state: State::Blocked, whose: self.balls.whose(around, self.chain, &held.pressed), ..found }
            } else {
                Found { state: State::Reached, ..found }
            });
        }
    }

    /// Poses with the same points that press less, if steps from the first ones lead to them.
    fn led_around(&self, around: &Around, works: &[Work<'_>], all: &mut [Held]) {
        for step in 0..STEPS {
            let mut some: Vec<&mut Held> = all
                .iter_mut()
                .filter(|held| {
                    held.pressed.by > 0.0
                        && held.pressed.by <= works[held.work].query.deepest
                        && !held.ends
                        && step <= held.better + 2
                })
                .collect();
            if some.is_empty() {
                return;
            }
            let levers: Vec<Lever> = some
                .iter()
                .map(|held| {
                    let (bone, at, way) = self.balls.way_out(around, self.chain, &held.pressed);
                    Lever { angles: held.angles, bone, at, way, gain: held.pressed.by.min(0.060) + CLEAR }
                })
                .collect();
            let tasks: Vec<Task> = some
                .iter()
                .zip(self.lanes.aside(&levers))
                .map(|(held, start)| Task { start, target: works[held.work].query.point })
                .collect();
            let nearest = self.lanes.nearest(&tasks);
            let mut kept = Vec::with_capacity(some.len());
            let mut poses = Vec::with_capacity(some.len());
            for (at, nearest) in nearest.iter().enumerate() {
                if nearest.miss > 0.0 {
                    some[at].ends = true;
                } else {
                    kept.push(at);
                    poses.push(nearest.angles);
                }
            }
            for ((at, angles), pressed) in
                kept.into_iter().zip(&poses).zip(self.balls.pressed(around, &self.lanes, &poses))
            {
                let held = &mut *some[at];
                if pressed.by > (1.0 - GAIN) * held.pressed.by {
                    held.ends = true;
                } else {
                    (held.angles, held.pressed, held.better) = (*angles, pressed, step);
                }
            }
        }
    }
}
