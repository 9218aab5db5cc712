//! Whether a point can be reached in a zone: some pose that gets there and keeps clear of all that is in the way.

use super::{
    field::Looks,
    limb::{Chain, Nearest, Pose, Seeds},
    obstacle::{Around, Balls, Pressed},
    zone::{Angles, MOST},
};
use crate::{body::Range, geometry::Vec3, units::mm};

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
    pub ranges: [Range; MOST],
    pub seeds: &'a Seeds,
    pub balls: &'a Balls,
    /// `None` looks at the joints alone.
    pub around: Option<&'a Around>,
}

/// Steps that a pose is led around what it presses.
const STEPS: usize = 7;
/// A pose that is led around something ends up so far off it, m.
const CLEAR: f64 = mm(2.0);

impl Looks for Judge<'_> {
    fn look(&self, point: Vec3, starts: &[Angles], more: usize) -> Found {
        let mut best: Option<Found> = None;
        let certain = || self.around.is_some_and(|around| self.balls.pressed_at(around, point).is_some());
        // Whether there is nothing more to be found from other starts.
        let mut take = |start: &Angles| {
            let found = self.from(point, start);
            if best.as_ref().is_none_or(|best| found.says_more(best)) {
                best = Some(found);
            }
            found.state == State::Reached || found.state == State::Blocked && certain()
        };
        if !starts.iter().any(&mut take) && more > 0 {
            let near: [&Angles; 8] = self.seeds.near(point);
            near.into_iter().take(more).any(take);
        }
        best.unwrap_or_else(|| {
            let [start] = self.seeds.near(point);
            self.from(point, start)
        })
    }

    fn begin(&self) -> Vec<(Vec3, Angles)> {
        self.seeds.all().to_vec()
    }
}

/// A judge who tries no more than one pose of its own.
pub(super) struct Quick<'a>(pub Judge<'a>);

impl Looks for Quick<'_> {
    fn look(&self, point: Vec3, starts: &[Angles], more: usize) -> Found {
        self.0.look(point, &starts[..starts.len().min(2)], more.min(1))
    }

    fn begin(&self) -> Vec<(Vec3, Angles)> {
        self.0.begin()
    }
}

impl Judge<'_> {
    fn from(&self, point: Vec3, start: &Angles) -> Found {
        let nearest = self.chain.nearest(&self.ranges, start, point);
        if nearest.miss > 0.0 {
            let way = nearest.pose.tip - point;
            return Found {
                state: State::Out,
                angles: nearest.angles,
                by: nearest.miss,
                toward: way / way.norm().max(1e-12),
                whose: (0, 0),
            };
        }
        let Some(around) = self.around else {
            return Found {
                state: State::Reached,
                angles: nearest.angles,
                by: mm(100.0),
                toward: Vec3::zeros(),
                whose: (0, 0),
            };
        };
        if let Some((by, whose)) = self.balls.pressed_at(around, point) {
            let (state, angles) = (State::Blocked, nearest.angles);
            return Found { state, angles, by, toward: Vec3::zeros(), whose };
        }
        let (nearest, pressed) = self.led_around(around, point, nearest);
        let (state, whose) = if pressed.by > 0.0 {
            (State::Blocked, self.balls.whose(around, &nearest.pose, pressed))
        } else {
            (State::Reached, (0, 0))
        };
        Found { state, angles: nearest.angles, by: pressed.by.abs(), toward: Vec3::zeros(), whose }
    }

    /// A pose with the same point that presses less, if steps from the first one lead to it.
    fn led_around(&self, around: &Around, point: Vec3, mut nearest: Nearest) -> (Nearest, Pressed) {
        let mut pressed = self.balls.pressed(around, &nearest.pose);
        let mut better = 0;
        for step in 0..STEPS {
            if pressed.by <= 0.0 || step > better + 2 {
                break;
            }
            let lever = self.balls.way_out(around, &nearest.pose, pressed);
            let aside =
                self.chain.aside(&self.ranges, &nearest.angles, &nearest.pose, lever, pressed.by.min(mm(60.0)) + CLEAR);
            let next = self.chain.nearest(&self.ranges, &aside, point);
            if next.miss > 0.0 {
                break;
            }
            let next_pressed = self.balls.pressed(around, &next.pose);
            if next_pressed.by > pressed.by - mm(0.5) {
                break;
            }
            better = step;
            (nearest, pressed) = (next, next_pressed);
        }
        (nearest, pressed)
    }

    /// The pose of angles.
    pub fn pose(&self, angles: &Angles) -> Pose {
        self.chain.pose(angles)
    }
}
