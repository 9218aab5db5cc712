//! One zone of one limb on a lattice that is fine only where the zone ends.
//!
//! The coarse lattice is flooded from poses that are spread over the joints' ranges, so that no part of the zone is
//! missed; the finer ones follow the boundary from cell to cell until it closes. A hole narrower than a coarse cell
//! (40 mm) that nothing else opens is not seen: hands and feet are wider than that, and what they meet makes holes wider
//! than they are. Every lattice stands on whole multiples of its step in W, so that those of different limbs and people
//! fall together.

use rayon::prelude::*;

use super::{
    Stopped, Watch,
    judge::{Found, State},
    zone::{Angles, MOST},
};
use crate::{geometry::Vec3, units::mm};

/// The step of the coarse lattice, m.
pub(super) const COARSE: f64 = mm(40.0);
/// Poses tried at a point of the coarse lattice that no neighbour's pose reaches.
const MORE: usize = 4;
/// Points evaluated at a time between two looks at the clock.
const CHUNK: usize = 4096;

/// What looks at points: one limb in one zone, or more than that.
pub(super) trait Looks: Sync {
    /// Looks at a point, beginning from `starts` and then from `more` poses of its own.
    fn look(&self, point: Vec3, starts: &[Angles], more: usize) -> Found;

    /// Points and poses from which a lattice is flooded.
    fn begin(&self) -> Vec<(Vec3, Angles)>;
}

/// A point of the lattice.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub state: State,
    /// As in [`Found`].
    pub by: f32,
    toward: [f32; 3],
    /// Net and index of what blocks.
    net: u8,
    index: u16,
    angles: [f32; MOST],
}

impl Node {
    fn of(found: &Found) -> Self {
        Self {
            state: found.state,
            by: found.by as f32,
            toward: [found.toward.x as f32, found.toward.y as f32, found.toward.z as f32],
            net: found.whose.0 as u8,
            index: found.whose.1 as u16,
            angles: found.angles.map(|x| x as f32),
        }
    }

    pub fn toward(&self) -> Vec3 {
        Vec3::from(self.toward.map(f64::from))
    }

    pub fn whose(&self) -> (usize, usize) {
        (usize::from(self.net), usize::from(self.index))
    }

    pub fn angles(&self) -> Angles {
        self.angles.map(f64::from)
    }

    pub fn reached(&self) -> bool {
        self.state == State::Reached
    }
}

/// A place on a lattice, in steps from the world's origin.
pub(super) type Place = [i32; 3];

/// The corners of the cell at a place.
pub(super) const fn corner([i, j, k]: Place, which: usize) -> Place {
    // Eight corners: small enough for any kind of number.
    let which = which as u8;
    [i + (which & 1) as i32, j + (which >> 1 & 1) as i32, k + (which >> 2) as i32]
}

/// A lattice of one step, holding the points that were looked at.
#[derive(Clone, Debug)]
pub(super) struct Level {
    /// From point to point, m.
    pub step: f64,
    low: Place,
    blocks: [i32; 3],
    /// For each block of 8³ points the leaf that holds them.
    top: Vec<u32>,
    leaves: Vec<[u32; 512]>,
    /// What was found.
    pub nodes: Vec<Node>,
    /// Where.
    pub places: Vec<Place>,
    /// Cells that the boundary crosses, in order.
    pub cells: Vec<Place>,
}

const NONE: u32 = u32::MAX;
/// Stands where the answer is still to come.
const PENDING: Node =
    Node { state: State::Out, by: f32::INFINITY, toward: [0.0; 3], net: 0, index: 0, angles: [0.0; MOST] };

impl Level {
    fn over(step: f64, (low, high): (Vec3, Vec3)) -> Self {
        let low: Place = std::array::from_fn(|i| (low[i] / step).floor() as i32 - 2);
        let blocks: [i32; 3] = std::array::from_fn(|i| (((high[i] / step).ceil() as i32 + 3 - low[i]) + 7) / 8);
        let all = blocks.iter().map(|&n| n as usize).product();
        Self {
            step,
            low,
            blocks,
            top: vec![NONE; all],
            leaves: Vec::new(),
            nodes: Vec::new(),
            places: Vec::new(),
            cells: Vec::new(),
        }
    }

    pub fn point(&self, place: Place) -> Vec3 {
        Vec3::from(place.map(f64::from)) * self.step
    }

    fn slot(&self, place: Place) -> Option<(usize, usize)> {
        let off: Place = std::array::from_fn(|i| place[i] - self.low[i]);
        if (0..3).any(|i| off[i] < 0 || off[i] >= self.blocks[i] * 8) {
            return None;
        }
        let block = ((off[0] / 8) * self.blocks[1] + off[1] / 8) * self.blocks[2] + off[2] / 8;
        Some((block as usize, ((off[0] % 8) * 64 + (off[1] % 8) * 8 + off[2] % 8) as usize))
    }

    /// The point at a place, if it was looked at.
    pub fn get(&self, place: Place) -> Option<&Node> {
        let (block, within) = self.slot(place)?;
        let leaf = self.top[block];
        if leaf == NONE {
            return None;
        }
        let at = self.leaves[leaf as usize][within];
        (at != NONE).then(|| &self.nodes[at as usize])
    }

    /// Makes room for a place that is not known yet; false where it is, or lies outside.
    fn want(&mut self, place: Place) -> bool {
        let Some((block, within)) = self.slot(place) else { return false };
        if self.top[block] == NONE {
            self.top[block] = self.leaves.len() as u32;
            self.leaves.push([NONE; 512]);
        }
        let slot = &mut self.leaves[self.top[block] as usize][within];
        if *slot != NONE {
            return false;
        }
        *slot = self.nodes.len() as u32;
        self.nodes.push(PENDING);
        self.places.push(place);
        true
    }

    /// Whether any corner of a cell is reached and any is not; `None` where one is not known.
    fn crossed(&self, cell: Place) -> Option<[bool; 8]> {
        let mut reached = [false; 8];
        for (which, reached) in reached.iter_mut().enumerate() {
            *reached = self.get(corner(cell, which))?.reached();
        }
        Some(reached)
    }

    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.nodes.len() * (size_of::<Node>() + size_of::<Place>())
            + self.leaves.len() * 2048
            + self.top.len() * 4
            + self.cells.len() * size_of::<Place>()
    }
}

/// A zone of a limb: the coarse lattice over all of it and a finer one along its boundary.
#[derive(Clone, Debug)]
pub(super) struct Field {
    /// All of the zone and a margin about it.
    pub coarse: Level,
    /// The boundary, once refined.
    pub fine: Option<Level>,
}

impl Field {
    /// The finest lattice there is.
    pub fn finest(&self) -> &Level {
        self.fine.as_ref().unwrap_or(&self.coarse)
    }

    /// Floods the coarse lattice. `inner` is the zone within this one, whose points need no second look.
    pub fn flood(
        judge: &impl Looks,
        inner: Option<&Self>,
        extent: (Vec3, Vec3),
        watch: &Watch<'_>,
    ) -> Result<Self, Stopped> {
        let mut level = Level::over(COARSE, extent);
        let mut starts: Vec<Option<Angles>> = Vec::new();
        for (tip, angles) in &judge.begin() {
            let place: Place = std::array::from_fn(|i| (tip[i] / COARSE).round() as i32);
            if level.want(place) {
                starts.push(Some(*angles));
            }
        }
        if let Some(inner) = inner {
            for (node, place) in inner.coarse.nodes.iter().zip(&inner.coarse.places) {
                if node.reached() && level.want(*place) {
                    starts.push(Some(node.angles()));
                }
            }
        }
        level.spread(judge, inner.map(|inner| &inner.coarse), &starts, 0, watch)?;
        Ok(Self { coarse: level, fine: None })
    }

    /// Works the zone out anew where `affected` says so of a point and what was known of it; the step stays. Returns how
    /// many points that were.
    pub fn renew(
        &mut self,
        judge: &impl Looks,
        inner: Option<&Self>,
        extent: (Vec3, Vec3),
        affected: &(dyn Fn(Vec3, &Node) -> bool + Sync),
        watch: &Watch<'_>,
    ) -> Result<usize, Stopped> {
        let of = |level: &Level| -> Vec<usize> {
            let all = (0..level.nodes.len()).into_par_iter().with_min_len(512);
            all.filter(|&at| affected(level.point(level.places[at]), &level.nodes[at])).collect()
        };
        let step = self.finest().step;
        let mut coarse = self.coarse.clone();
        let touched = of(&coarse);
        let mut count = touched.len();
        let found: Vec<Node> = touched
            .par_iter()
            .map(|&at| {
                let place = coarse.places[at];
                if let Some(node) = inner.and_then(|inner| inner.coarse.get(place)).filter(|node| node.reached()) {
                    return *node;
                }
                let mut starts = vec![coarse.nodes[at].angles()];
                coarse.begin(place, usize::MAX, None, &mut starts);
                Node::of(&judge.look(coarse.point(place), &starts, MORE))
            })
            .collect();
        watch.go_on()?;
        for (&at, node) in touched.iter().zip(&found) {
            coarse.nodes[at] = *node;
        }
        let from = coarse.nodes.len();
        for &at in &touched {
            coarse.want_around(at);
        }
        coarse.spread(judge, inner.map(|inner| &inner.coarse), &[], from, watch)?;
        let mut old = self.fine.clone();
        if let Some(old) = &mut old {
            for at in of(old) {
                old.nodes[at] = PENDING;
                count += 1;
            }
        }
        let mut new = Self { coarse, fine: None };
        while new.finest().step > step * 1.01 {
            new.finer(judge, inner, extent, old.as_ref(), watch)?;
        }
        *self = new;
        Ok(count)
    }

    /// Halves the step along the boundary.
    pub fn refine(
        &mut self,
        judge: &impl Looks,
        inner: Option<&Self>,
        extent: (Vec3, Vec3),
        watch: &Watch<'_>,
    ) -> Result<(), Stopped> {
        self.finer(judge, inner, extent, None, watch)
    }

    /// [`Field::refine`] with what is still known of an earlier lattice as fine or finer.
    fn finer(
        &mut self,
        judge: &impl Looks,
        inner: Option<&Self>,
        extent: (Vec3, Vec3),
        old: Option<&Level>,
        watch: &Watch<'_>,
    ) -> Result<(), Stopped> {
        let coarse = self.finest();
        let mut level = Level::over(coarse.step / 2.0, extent);
        let inner = inner.map(Self::finest).filter(|inner| (inner.step - level.step).abs() < 1e-9);
        let mut seen = Cells::over(&level);
        let mut todo: Vec<Place> = Vec::with_capacity(coarse.cells.len() * 8);
        for cell in &coarse.cells {
            let twice = cell.map(|x| 2 * x);
            for which in 0..8 {
                let cell = corner(twice, which);
                if seen.add(&level, cell) {
                    todo.push(cell);
                }
            }
        }
        let mut cells = Vec::new();
        while !todo.is_empty() {
            let from = level.nodes.len();
            for cell in &todo {
                for which in 0..8 {
                    level.want(corner(*cell, which));
                }
            }
            level.look(judge, &Known { inner, coarse: Some(coarse), old, starts: &[] }, from, 0, watch)?;
            level.doubted(judge, from);
            let mut next = Vec::new();
            for cell in &todo {
                let Some(reached) = level.crossed(*cell) else { continue };
                if reached.iter().all(|&x| x == reached[0]) {
                    continue;
                }
                cells.push(*cell);
                // The boundary goes on through each face whose corners differ.
                for axis in 0..3 {
                    for side in 0..2 {
                        let mut face = (0..8).filter(|which| which >> axis & 1 == side).map(|which| reached[which]);
                        let first = face.next();
                        if face.all(|x| Some(x) == first) {
                            continue;
                        }
                        let mut beside = *cell;
                        beside[axis] += if side == 0 { -1 } else { 1 };
                        if seen.add(&level, beside) {
                            next.push(beside);
                        }
                    }
                }
            }
            todo = next;
        }
        cells.sort_unstable();
        level.cells = cells;
        self.fine = Some(level);
        Ok(())
    }

    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.coarse.bytes() + self.fine.as_ref().map_or(0, Level::bytes)
    }

    /// What is known nearest to a point, to begin from.
    pub fn poses_near(&self, point: Vec3) -> Vec<Angles> {
        let mut near: Vec<(f64, Angles)> = Vec::new();
        for level in [Some(&self.coarse), self.fine.as_ref()].into_iter().flatten() {
            let cell: Place = std::array::from_fn(|i| (point[i] / level.step).floor() as i32);
            for which in 0..8 {
                let place = corner(cell, which);
                if let Some(node) = level.get(place) {
                    let worse = if node.reached() { 0.0 } else { 1.0 };
                    near.push((worse + (level.point(place) - point).norm(), node.angles()));
                }
            }
        }
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        near.into_iter().map(|(_, angles)| angles).collect()
    }
}

/// Cells that were looked at.
struct Cells(Vec<u64>);

impl Cells {
    /// A bit a cell would be too many at 5 mm: a bit map a block, made when first touched.
    fn over(level: &Level) -> Self {
        Self(vec![0; level.top.len() * 8])
    }

    /// Takes a cell in; false where it was, or lies outside.
    fn add(&mut self, level: &Level, cell: Place) -> bool {
        let Some((block, within)) = level.slot(cell) else { return false };
        let (word, bit) = (block * 8 + within / 64, within % 64);
        let new = self.0[word] >> bit & 1 == 0;
        self.0[word] |= 1 << bit;
        new
    }
}

/// What is known elsewhere of the points of a lattice.
#[derive(Clone, Copy)]
struct Known<'a> {
    /// The zone within this one, same step.
    inner: Option<&'a Level>,
    /// The lattice of twice the step.
    coarse: Option<&'a Level>,
    /// An earlier lattice, this one's step or finer.
    old: Option<&'a Level>,
    /// Poses to begin from, by the points' order.
    starts: &'a [Option<Angles>],
}

impl Level {
    /// How many of this lattice's steps make a longer one.
    fn times(&self, step: f64) -> i32 {
        (step / self.step).round() as i32
    }

    /// Looks again, from all sides, at points from `from` on that were not reached though both neighbours along some axis
    /// were: few, most of them truly out at an edge of the zone, some missed by an unlucky start. Returns those that are
    /// reached after all.
    fn doubted(&mut self, judge: &impl Looks, from: usize) -> Vec<usize> {
        let known: &Self = self;
        let found: Vec<(usize, Node)> = (from..known.nodes.len())
            .into_par_iter()
            .with_min_len(256)
            .filter_map(|at| {
                if known.nodes[at].state != State::Out {
                    return None;
                }
                let place = known.places[at];
                let beside: Vec<Option<&Node>> = (0..6)
                    .map(|way| {
                        let mut beside = place;
                        beside[way / 2] += if way % 2 == 0 { -1 } else { 1 };
                        known.get(beside).filter(|node| node.reached())
                    })
                    .collect();
                let doubtful = beside.chunks(2).any(|pair| pair[0].is_some() && pair[1].is_some());
                if !doubtful {
                    return None;
                }
                let starts: Vec<Angles> = beside.into_iter().flatten().map(Node::angles).collect();
                let again = judge.look(known.point(place), &starts, 8);
                (again.state == State::Reached).then(|| (at, Node::of(&again)))
            })
            .collect();
        found
            .into_iter()
            .map(|(at, node)| {
                self.nodes[at] = node;
                at
            })
            .collect()
    }

    /// Makes room for the neighbours of a point through which the zone may go on.
    fn want_around(&mut self, at: usize) {
        let place = self.places[at];
        match self.nodes[at].state {
            State::Reached => {
                for i in -1..=1 {
                    for j in -1..=1 {
                        for k in -1..=1 {
                            self.want([place[0] + i, place[1] + j, place[2] + k]);
                        }
                    }
                }
            }
            State::Blocked => {
                for axis in 0..3 {
                    for way in [-1, 1] {
                        let mut beside = place;
                        beside[axis] += way;
                        self.want(beside);
                    }
                }
            }
            State::Out => {}
        }
    }

    /// Looks at the points from `from` on and floods on from them; then finds the cells that the boundary crosses.
    fn spread(
        &mut self,
        judge: &impl Looks,
        inner: Option<&Self>,
        starts: &[Option<Angles>],
        mut from: usize,
        watch: &Watch<'_>,
    ) -> Result<(), Stopped> {
        loop {
            while from < self.nodes.len() {
                self.look(judge, &Known { inner, coarse: None, old: None, starts }, from, MORE, watch)?;
                let to = self.nodes.len();
                for at in from..to {
                    self.want_around(at);
                }
                from = to;
            }
            let found = self.doubted(judge, 0);
            if found.is_empty() {
                break;
            }
            for at in found {
                self.want_around(at);
            }
        }
        let known: &Self = self;
        let mixed = |cell: &&Place| known.crossed(**cell).is_some_and(|c| c.contains(&true) && c.contains(&false));
        let mut cells: Vec<Place> = known.places.par_iter().with_min_len(512).filter(mixed).copied().collect();
        cells.sort_unstable();
        self.cells = cells;
        Ok(())
    }

    /// Looks at the points from `from` on. Each begins from the poses of neighbours that were known before, on this lattice
    /// and on the coarser one, so that the answer does not depend on how many cores work.
    fn look(
        &mut self,
        judge: &impl Looks,
        known_of: &Known<'_>,
        from: usize,
        more: usize,
        watch: &Watch<'_>,
    ) -> Result<(), Stopped> {
        let Known { inner, coarse, old, starts } = *known_of;
        let to = self.nodes.len();
        let mut begun = from;
        while begun < to {
            watch.go_on()?;
            let end = (begun + CHUNK).min(to);
            let known: &Self = self;
            let found: Vec<Node> = (begun..end)
                .into_par_iter()
                .with_min_len(32)
                .map(|at| {
                    let place = known.places[at];
                    let mut first = Vec::with_capacity(4);
                    if let Some(node) = inner.and_then(|inner| inner.get(place)) {
                        if node.reached() {
                            return *node;
                        }
                        first.push(node.angles());
                    }
                    if let Some(coarse) = coarse
                        && place.iter().all(|x| x % 2 == 0)
                        && let Some(node) = coarse.get(place.map(|x| x / 2))
                    {
                        return *node;
                    }
                    if let Some(node) = old.and_then(|old| old.get(place.map(|x| x * old.times(known.step))))
                        && node.by.is_finite()
                    {
                        return *node;
                    }
                    if let Some(Some(start)) = starts.get(at) {
                        first.push(*start);
                    }
                    known.begin(place, from, coarse, &mut first);
                    Node::of(&judge.look(known.point(place), &first, more))
                })
                .collect();
            self.nodes[begun..end].copy_from_slice(&found);
            watch.did(end - begun);
            begun = end;
        }
        Ok(())
    }

    /// The poses of up to two neighbours known before this round, the best first.
    fn begin(&self, place: Place, round: usize, coarse: Option<&Self>, out: &mut Vec<Angles>) {
        let mut best: [Option<(f32, &Node)>; 2] = [None; 2];
        for axis in 0..3 {
            for way in [-1, 1] {
                let mut beside = place;
                beside[axis] += way;
                keep(&mut best, self.before(beside, round));
            }
        }
        if let Some(coarse) = coarse {
            let cell = place.map(|x| x.div_euclid(2));
            for which in 0..8 {
                // Corners that lie on the same side where a coordinate is even.
                let odd = (0..3).all(|axis| place[axis].rem_euclid(2) == 1 || which >> axis & 1 == 0);
                if odd {
                    keep(&mut best, coarse.get(corner(cell, which)));
                }
            }
        }
        out.extend(best.into_iter().flatten().map(|(_, node)| node.angles()));
    }

    /// A point known before a round.
    fn before(&self, place: Place, round: usize) -> Option<&Node> {
        let (block, within) = self.slot(place)?;
        let leaf = self.top[block];
        if leaf == NONE {
            return None;
        }
        let at = self.leaves[leaf as usize][within] as usize;
        (at < round).then(|| &self.nodes[at])
    }
}

/// Keeps the two nodes that say most, the best first.
fn keep<'a>(best: &mut [Option<(f32, &'a Node)>; 2], node: Option<&'a Node>) {
    let Some(node) = node else { return };
    let rank = match node.state {
        State::Reached => 0.0,
        State::Blocked => 1.0,
        State::Out => 2.0 + node.by,
    };
    if !rank.is_finite() {
        return;
    }
    if best[0].is_none_or(|(other, _)| rank < other) {
        best[1] = best[0];
        best[0] = Some((rank, node));
    } else if best[1].is_none_or(|(other, _)| rank < other) {
        best[1] = Some((rank, node));
    }
}
