//! One zone of one limb on a lattice that is fine only where the zone ends.
//!
//! The first lattice is flooded from poses that are spread over the joints' ranges; the finer ones follow the boundary
//! from cell to cell until it closes, from where the coarser one crosses it, and from where that may have missed it:
//! where poses end that no neighbour reaches, and where something stands between points that are reached. A hole narrower
//! than 40 mm that nothing else opens is not seen: hands and feet are wider than that, and what they meet makes holes
//! wider than they are. Every lattice stands on whole multiples of its step in W, so that those of different limbs and people
//! fall together.

use rayon::prelude::*;

use super::{
    Stopped, Watch,
    judge::{Found, Query, State},
    lanes::{Few, few},
    zone::{Angles, MOST},
};
use crate::{geometry::Vec3, units::mm};

/// The step of the first lattice, m.
pub(super) const FIRST: f64 = mm(80.0);
/// The step of lattices that hold all of a zone for others to be compared with, m.
pub(super) const COARSE: f64 = mm(40.0);
/// Poses tried at a point of the coarse lattice that no neighbour's pose reaches.
const MORE: usize = 4;
/// Along the boundary a pose that presses something deeper than so many steps is not led around it: those of neighbours
/// that are reached press less.
const DEEPEST: f64 = 1.25;
/// How often neighbours of points that were freed are looked at again.
const FREED: usize = 3;
/// Where a limb keeps clear by less than this, the next cell of the first lattice may hold something that it meets, m.
const NARROW: f64 = mm(5.0);
/// Lattices finer than this hold only the points next to the boundary: those of coarser ones are few, and spare looking
/// at them again where an obstacle is dragged, m.
const SPARE: f64 = mm(15.0);
/// Points looked at between two looks at whether to go on, and those that are looked at together.
const CHUNK: usize = 4096;
const BATCH: usize = 256;

/// Which of some points have to be looked at again, by where they are and what was known of them.
pub(super) type Affected<'a> = dyn Fn(&[Vec3], &[Node]) -> Vec<bool> + Sync + 'a;

/// What looks at points: one limb in one zone, or more than that.
pub(super) trait Looks: Sync {
    /// Looks at points.
    fn look(&self, queries: &[Query]) -> Vec<Found>;

    /// Whether something is in the way at the very point, however the limb comes there.
    fn is_blocked(&self, _: Vec3) -> bool {
        false
    }

    /// Points and poses from which a lattice is flooded.
    fn begin(&self) -> Vec<(Vec3, Angles)>;
}

/// A point of the lattice.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub state: State,
    /// Net and index of what blocks.
    net: u8,
    index: u16,
    /// As in [`Found`].
    pub by: f32,
    /// In parts of [`PARTS`].
    toward: [i16; 3],
    /// In parts of [`PARTS`] of [`WIDEST`].
    angles: [i16; MOST],
}

/// What a number of 16 bits tells apart, and the greatest angle (rad) or slide (m) that it holds: to 0.007°.
const PARTS: f32 = 32_767.0;
const WIDEST: f32 = 4.0;

impl Node {
    fn of(found: &Found) -> Self {
        Self {
            state: found.state,
            by: found.by as f32,
            toward: [0, 1, 2].map(|i| (found.toward[i] as f32 * PARTS).round() as i16),
            net: found.whose.0 as u8,
            index: found.whose.1 as u16,
            angles: found.angles.map(|x| (x as f32 * (PARTS / WIDEST)).round() as i16),
        }
    }

    pub fn toward(&self) -> Vec3 {
        Vec3::from(self.toward.map(f64::from)) / f64::from(PARTS)
    }

    pub fn whose(&self) -> (usize, usize) {
        (usize::from(self.net), usize::from(self.index))
    }

    /// The pose that was found.
    pub fn angles(&self) -> Few {
        self.angles.map(|x| f32::from(x) * (WIDEST / PARTS))
    }

    /// The limb's point in the pose that was found, beside where the lattice's point lies.
    fn tip(&self, at: Vec3) -> Vec3 {
        if self.state == State::Out { at + self.toward() * f64::from(self.by) } else { at }
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
    /// For each block of 4³ points the leaf that holds them.
    top: Vec<u32>,
    leaves: Vec<[u32; 64]>,
    /// What was found.
    pub nodes: Vec<Node>,
    /// Where.
    places: Vec<Short>,
    /// Cells that the boundary crosses, in order.
    cells: Vec<Short>,
}

/// A place in numbers that hold it down to steps of 1 mm.
type Short = [i16; 3];

fn short(place: Place) -> Short {
    place.map(|x| x as i16)
}

fn long(place: Short) -> Place {
    place.map(i32::from)
}

/// A number that puts places in order.
fn in_order(place: &Short) -> u64 {
    place.iter().fold(0, |all, x| all << 16 | u64::from(x.cast_unsigned() ^ 0x8000))
}

const NONE: u32 = u32::MAX;
/// Stands where the answer is still to come.
const PENDING: Node =
    Node { state: State::Out, net: 0, index: 0, by: f32::INFINITY, toward: [0; 3], angles: [0; MOST] };

impl Level {
    fn over(step: f64, (low, high): (Vec3, Vec3)) -> Self {
        let low: Place = std::array::from_fn(|i| (low[i] / step).floor() as i32 - 2);
        let blocks: [i32; 3] = std::array::from_fn(|i| (((high[i] / step).ceil() as i32 + 3 - low[i]) + 3) / 4);
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

    /// Where a point that was looked at is.
    fn place(&self, at: usize) -> Place {
        long(self.places[at])
    }

    /// Points that were looked at, with their places.
    pub fn all(&self) -> impl Iterator<Item = (&Node, Place)> {
        self.nodes.iter().zip(self.places.iter().copied().map(long))
    }

    /// Cells that the boundary crosses, in order.
    pub fn cells(&self) -> impl Iterator<Item = Place> {
        self.cells.iter().copied().map(long)
    }

    pub fn point(&self, place: Place) -> Vec3 {
        Vec3::from(place.map(f64::from)) * self.step
    }

    #[inline]
    fn slot(&self, place: Place) -> Option<(usize, usize)> {
        // What lies below is a great number.
        let [x, y, z]: [u32; 3] = std::array::from_fn(|i| (place[i] - self.low[i]) as u32);
        let [nx, ny, nz] = self.blocks.map(|n| n as u32);
        if x >= nx * 4 || y >= ny * 4 || z >= nz * 4 {
            return None;
        }
        let block = ((x >> 2) * ny + (y >> 2)) * nz + (z >> 2);
        Some((block as usize, ((x & 3) << 4 | (y & 3) << 2 | (z & 3)) as usize))
    }

    /// The point at a place, if it was looked at.
    pub fn get(&self, place: Place) -> Option<&Node> {
        self.index(place).map(|at| &self.nodes[at])
    }

    /// The number of the point at a place.
    fn index(&self, place: Place) -> Option<usize> {
        let (block, within) = self.slot(place)?;
        let leaf = self.top[block];
        if leaf == NONE {
            return None;
        }
        let at = self.leaves[leaf as usize][within];
        (at != NONE).then_some(at as usize)
    }

    /// Makes room for a place that is not known yet; false where it is, or lies outside.
    fn want(&mut self, place: Place) -> bool {
        let Some((block, within)) = self.slot(place) else { return false };
        if self.top[block] == NONE {
            self.top[block] = self.leaves.len() as u32;
            self.leaves.push([NONE; 64]);
        }
        let slot = &mut self.leaves[self.top[block] as usize][within];
        if *slot != NONE {
            return false;
        }
        *slot = self.nodes.len() as u32;
        self.nodes.push(PENDING);
        self.places.push(short(place));
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

    /// The edges of cells that the boundary crosses and that it crosses as well: the cell and the edge's corners of it.
    fn crossed_edges(&self) -> impl Iterator<Item = (Place, [usize; 2])> + '_ {
        self.cells().flat_map(move |cell| {
            let reached = self.crossed(cell);
            let edges = (0..3).flat_map(|axis| (0..8).map(move |near| [near, near | 1 << axis]));
            edges
                .filter(move |[near, far]| {
                    near != far && reached.is_some_and(|reached| reached[*near] != reached[*far])
                })
                .map(move |edge| (cell, edge))
        })
    }

    /// Only the points round the cells that the boundary crosses.
    fn along_boundary(self) -> Self {
        let top = vec![NONE; self.top.len()];
        let (step, low, blocks) = (self.step, self.low, self.blocks);
        let (leaves, nodes, places, cells) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut out = Self { step, low, blocks, top, leaves, nodes, places, cells };
        for cell in self.cells.iter().copied().map(long) {
            for which in 0..8 {
                let place = corner(cell, which);
                if let Some(&node) = self.get(place)
                    && out.want(place)
                    && let Some(last) = out.nodes.last_mut()
                {
                    *last = node;
                }
            }
        }
        out.cells = self.cells;
        out.all_kept()
    }

    /// Gives back what was held for more to come.
    fn all_kept(mut self) -> Self {
        self.nodes.shrink_to_fit();
        self.places.shrink_to_fit();
        self.cells.shrink_to_fit();
        self.leaves.shrink_to_fit();
        self
    }

    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.nodes.capacity() * size_of::<Node>()
            + (self.places.capacity() + self.cells.capacity()) * size_of::<Short>()
            + self.leaves.capacity() * size_of::<[u32; 64]>()
            + self.top.len() * size_of::<u32>()
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

    /// Floods a lattice of `step` (m). `inner` is the zone within this one, whose points need no second look.
    pub fn flood(
        judge: &impl Looks,
        inner: Option<&Self>,
        extent: (Vec3, Vec3),
        step: f64,
        watch: &Watch<'_>,
    ) -> Result<Self, Stopped> {
        let mut level = Level::over(step, extent);
        let mut starts: Vec<Few> = Vec::new();
        for (tip, angles) in &judge.begin() {
            let place: Place = std::array::from_fn(|i| (tip[i] / step).round() as i32);
            if level.want(place) {
                starts.push(few(angles));
            }
        }
        if let Some(inner) = inner {
            for (node, place) in inner.coarse.all() {
                if node.reached() && level.want(place) {
                    starts.push(node.angles());
                }
            }
        }
        level.spread(judge, inner.map(|inner| &inner.coarse), &starts, 0, Vec::new(), watch)?;
        Ok(Self { coarse: level, fine: None })
    }

    /// Works the zone out anew where `affected` says so of a point and what was known of it; the step stays. Returns how
    /// many points that were.
    pub fn renew(
        &mut self,
        judge: &impl Looks,
        inner: Option<&Self>,
        extent: (Vec3, Vec3),
        affected: &Affected<'_>,
        watch: &Watch<'_>,
    ) -> Result<usize, Stopped> {
        let of = |level: &Level| -> Vec<usize> {
            let some = level.nodes.par_chunks(BATCH).zip(level.places.par_chunks(BATCH)).enumerate();
            some.flat_map_iter(|(first, (nodes, places))| {
                let points: Vec<Vec3> = places.iter().map(|place| level.point(long(*place))).collect();
                let affected = affected(&points, nodes).into_iter().enumerate();
                affected.filter(|(_, affected)| *affected).map(move |(at, _)| first * BATCH + at).collect::<Vec<_>>()
            })
            .collect()
        };
        let step = self.finest().step;
        let mut coarse = self.coarse.clone();
        let touched = of(&coarse);
        let mut count = touched.len();
        let known = inner.map(|inner| &inner.coarse);
        let found = coarse.looked(judge, &touched, |at| {
            let place = coarse.place(at);
            if let Some(node) = known.and_then(|inner| inner.get(place)).filter(|node| node.reached()) {
                return Look::Known(*node);
            }
            let mut query = Query::at(coarse.point(place), MORE);
            query.begin(coarse.nodes[at].angles());
            coarse.begin(place, usize::MAX, None, &mut query);
            Look::Ask(query)
        });
        watch.go_on()?;
        for (&at, node) in touched.iter().zip(&found) {
            coarse.nodes[at] = *node;
        }
        let from = coarse.nodes.len();
        for &at in &touched {
            coarse.want_around(at);
        }
        coarse.spread(judge, inner.map(|inner| &inner.coarse), &[], from, touched, watch)?;
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
        let known = Known { inner, coarse: Some(coarse), old, starts: &[] };
        let mut todo: Vec<Place> = Vec::with_capacity(coarse.cells.len() * 4);
        if self.fine.is_some() {
            // From where the boundary crosses an edge of the coarse lattice it is followed as far as it goes.
            let edges: Vec<(Place, [usize; 2])> = coarse.crossed_edges().collect();
            for (cell, ends) in &edges {
                let [from, to] = ends.map(|end| corner(*cell, end));
                level.want(from.map(|x| 2 * x));
                level.want(to.map(|x| 2 * x));
                level.want(std::array::from_fn(|i| from[i] + to[i]));
            }
            let new = level.look(judge, &known, 0, 0, watch)?;
            level.doubted(judge, &new);
            level.freed(judge, &new);
            for (cell, ends) in edges {
                let [from, to] = ends.map(|end| corner(cell, end));
                let half = |end: Place| level.get(end).map(Node::reached);
                let middle = half(std::array::from_fn(|i| from[i] + to[i]));
                // Of the two cells of half the size at the edge the one whose part of the edge is crossed.
                let end = if half(from.map(|x| 2 * x)) == middle { ends[1] } else { ends[0] };
                let cell = corner(cell.map(|x| 2 * x), end);
                if seen.add(&level, cell) {
                    todo.push(cell);
                }
            }
        } else {
            for cell in coarse.cells() {
                let twice = cell.map(|x| 2 * x);
                for which in 0..8 {
                    let cell = corner(twice, which);
                    if seen.add(&level, cell) {
                        todo.push(cell);
                    }
                }
            }
        }
        for cell in self.doubtful_cells(judge, &level) {
            if seen.add(&level, cell) {
                todo.push(cell);
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
            let new = level.look(judge, &known, from, 0, watch)?;
            level.doubted(judge, &new);
            level.freed(judge, &new);
            let mut next = Vec::new();
            for cell in &todo {
                let Some(reached) = level.crossed(*cell) else { continue };
                if reached.iter().all(|&x| x == reached[0]) {
                    continue;
                }
                cells.push(short(*cell));
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
        cells.sort_unstable_by_key(in_order);
        level.cells = cells;
        self.fine = Some(if level.step < SPARE { level.along_boundary() } else { level.all_kept() });
        Ok(())
    }

    /// Cells of a lattice of half the step of the first one in which the zone may begin or end unseen by that: where seeds
    /// end that lie not deep in it, and where something is or nearly is in the way between points that are reached.
    fn doubtful_cells(&self, judge: &impl Looks, level: &Level) -> Vec<Place> {
        if self.fine.is_some() {
            return Vec::new();
        }
        let deep = |cell: Place| (0..8).all(|which| self.coarse.get(corner(cell, which)).is_some_and(Node::reached));
        let of_seeds = judge.begin().into_iter().filter_map(|(tip, _)| {
            let cell: Place = std::array::from_fn(|i| (tip[i] / level.step).floor() as i32);
            (!deep(cell.map(|x| x.div_euclid(2)))).then_some(cell)
        });
        let all = self.coarse.places.par_iter().with_min_len(256);
        let narrow: Vec<Place> = all
            .map(|cell| long(*cell))
            .filter(|&cell| {
                let near =
                    |which: usize| self.coarse.get(corner(cell, which)).is_some_and(|node| f64::from(node.by) < NARROW);
                let between = |way: i32| {
                    let place = [2 * cell[0] + way / 9, 2 * cell[1] + way / 3 % 3, 2 * cell[2] + way % 3];
                    judge.is_blocked(level.point(place))
                };
                deep(cell) && ((0..8).any(near) || (0..27).any(between))
            })
            .collect();
        let halves = |cell: Place| (0..8).map(move |which| corner(cell.map(|x| 2 * x), which));
        of_seeds.chain(narrow.into_iter().flat_map(halves)).collect()
    }

    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.coarse.bytes() + self.fine.as_ref().map_or(0, Level::bytes)
    }

    /// What is known nearest to a point, to begin from.
    pub fn poses_near(&self, point: Vec3) -> Vec<Few> {
        let mut near: Vec<(f64, Few)> = Vec::new();
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

/// Cells that were looked at: a bit for each of a block's 64.
struct Cells(Vec<u64>);

impl Cells {
    fn over(level: &Level) -> Self {
        Self(vec![0; level.top.len()])
    }

    /// Takes a cell in; false where it was, or lies outside.
    fn add(&mut self, level: &Level, cell: Place) -> bool {
        let Some((block, within)) = level.slot(cell) else { return false };
        let new = self.0[block] >> within & 1 == 0;
        self.0[block] |= 1 << within;
        new
    }
}

/// What is known of a point, or what to look for.
enum Look {
    Known(Node),
    Ask(Query),
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
    starts: &'a [Few],
}

impl Level {
    /// How many of this lattice's steps make a longer one.
    fn times(&self, step: f64) -> i32 {
        (step / self.step).round() as i32
    }

    /// Looks again, from all sides, at those of some points that were not reached though both neighbours along some axis
    /// were: few, most of them truly out at an edge of the zone, some missed by an unlucky start. Returns those that are
    /// reached after all.
    fn doubted(&mut self, judge: &impl Looks, some: &[usize]) -> Vec<usize> {
        let known: &Self = self;
        let doubtful: Vec<(usize, Query)> = some
            .par_iter()
            .with_min_len(256)
            .filter_map(|&at| {
                if known.nodes[at].state != State::Out || known.nodes[at].by == f32::INFINITY {
                    return None;
                }
                let place = known.place(at);
                let beside: [Option<&Node>; 6] = std::array::from_fn(|way| {
                    let mut beside = place;
                    beside[way / 2] += if way % 2 == 0 { -1 } else { 1 };
                    known.get(beside).filter(|node| node.reached())
                });
                if !beside.chunks(2).any(|pair| pair[0].is_some() && pair[1].is_some()) {
                    return None;
                }
                let mut query = Query::at(known.point(place), 8);
                query.thorough = true;
                beside.into_iter().flatten().for_each(|node| query.begin(node.angles()));
                Some((at, query))
            })
            .collect();
        let which: Vec<usize> = (0..doubtful.len()).collect();
        let found = known.looked(judge, &which, |at| Look::Ask(doubtful[at].1));
        doubtful
            .into_iter()
            .zip(found)
            .filter(|(_, again)| again.reached())
            .map(|((at, _), again)| {
                self.nodes[at] = again;
                at
            })
            .collect()
    }

    /// Looks again at those of some points where something was in the way, from the poses of neighbours that are reached,
    /// and on from those that are after all. Returns these.
    fn freed(&mut self, judge: &impl Looks, some: &[usize]) -> Vec<usize> {
        let mut all = Vec::new();
        let mut last: Option<Vec<usize>> = None;
        for _ in 0..FREED {
            let known: &Self = self;
            let blocked: Vec<(usize, Query)> = some
                .par_iter()
                .with_min_len(256)
                .filter_map(|&at| {
                    if known.nodes[at].state != State::Blocked {
                        return None;
                    }
                    let place = known.place(at);
                    let mut query = Query::at(known.point(place), 0);
                    query.thorough = true;
                    for way in 0..6 {
                        let mut beside = place;
                        beside[way / 2] += if way % 2 == 0 { -1 } else { 1 };
                        let Some(index) = known.index(beside).filter(|&index| known.nodes[index].reached()) else {
                            continue;
                        };
                        if last.as_ref().is_none_or(|last| last.binary_search(&index).is_ok()) {
                            query.begin(known.nodes[index].angles());
                        }
                    }
                    (query.has_starts() && !judge.is_blocked(query.point)).then(|| (at, query.at_most(3, 0)))
                })
                .collect();
            let which: Vec<usize> = (0..blocked.len()).collect();
            let found = known.looked(judge, &which, |at| Look::Ask(blocked[at].1));
            let mut now = Vec::new();
            for ((at, _), again) in blocked.into_iter().zip(found) {
                if again.reached() {
                    self.nodes[at] = again;
                    now.push(at);
                }
            }
            if now.is_empty() {
                break;
            }
            all.extend(&now);
            now.sort_unstable();
            last = Some(now);
        }
        all
    }

    /// Looks at some points, those together that lie together: each by what is known of it or else by a query.
    fn looked(&self, judge: &impl Looks, which: &[usize], of: impl Fn(usize) -> Look + Sync) -> Vec<Node> {
        which
            .par_chunks(BATCH)
            .flat_map_iter(|which| {
                let mut nodes = Vec::with_capacity(which.len());
                let mut open = Vec::new();
                let mut queries = Vec::new();
                for (place, &at) in which.iter().enumerate() {
                    match of(at) {
                        Look::Known(node) => nodes.push(node),
                        Look::Ask(query) => {
                            nodes.push(PENDING);
                            open.push(place);
                            queries.push(query);
                        }
                    }
                }
                for (place, found) in open.into_iter().zip(judge.look(&queries)) {
                    nodes[place] = Node::of(&found);
                }
                nodes
            })
            .collect()
    }

    /// Makes room for the neighbours of a point through which the zone may go on.
    fn want_around(&mut self, at: usize) {
        let place = self.place(at);
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

    /// Looks at the points from `from` on and floods on from them, looking again at those in `new` as well; then finds the cells that the boundary crosses.
    fn spread(
        &mut self,
        judge: &impl Looks,
        inner: Option<&Self>,
        starts: &[Few],
        mut from: usize,
        mut new: Vec<usize>,
        watch: &Watch<'_>,
    ) -> Result<(), Stopped> {
        loop {
            while from < self.nodes.len() {
                new.extend(self.look(judge, &Known { inner, coarse: None, old: None, starts }, from, MORE, watch)?);
                let to = self.nodes.len();
                for at in from..to {
                    self.want_around(at);
                }
                from = to;
            }
            let mut found = self.doubted(judge, &new);
            found.extend(self.freed(judge, &new));
            if found.is_empty() {
                break;
            }
            for at in found {
                self.want_around(at);
            }
        }
        let known: &Self = self;
        let mixed =
            |cell: &&Short| known.crossed(long(**cell)).is_some_and(|c| c.contains(&true) && c.contains(&false));
        let mut cells: Vec<Short> = known.places.par_iter().with_min_len(512).filter(mixed).copied().collect();
        cells.sort_unstable_by_key(in_order);
        self.cells = cells;
        Ok(())
    }

    /// Looks at the points from `from` on. Each begins from the poses of neighbours that were known before, on this lattice
    /// and on the coarser one, so that the answer does not depend on how many cores work. Returns those
    /// of which no earlier lattice knew.
    fn look(
        &mut self,
        judge: &impl Looks,
        known_of: &Known<'_>,
        from: usize,
        more: usize,
        watch: &Watch<'_>,
    ) -> Result<Vec<usize>, Stopped> {
        let Known { inner, coarse, old, starts } = *known_of;
        let earlier = |level: &Self, place: Place| {
            let old = old?;
            old.get(place.map(|x| x * old.times(level.step))).filter(|node| node.by.is_finite())
        };
        let to = self.nodes.len();
        let mut begun = from;
        while begun < to {
            watch.go_on()?;
            let end = (begun + CHUNK).min(to);
            let known: &Self = self;
            let which: Vec<usize> = (begun..end).collect();
            let found = known.looked(judge, &which, |at| {
                let place = known.place(at);
                let of_inner = inner.and_then(|inner| inner.get(place));
                if let Some(node) = of_inner.filter(|node| node.reached()) {
                    return Look::Known(*node);
                }
                if let Some(coarse) = coarse
                    && place.iter().all(|x| x % 2 == 0)
                    && let Some(node) = coarse.get(place.map(|x| x / 2))
                {
                    return Look::Known(*node);
                }
                if let Some(node) = earlier(known, place) {
                    return Look::Known(*node);
                }
                let point = known.point(place);
                if let Some(node) = of_inner.filter(|node| node.state == State::Blocked && judge.is_blocked(point)) {
                    return Look::Known(*node);
                }
                let round = coarse.map(|coarse| coarse.round(place));
                if let Some(node) = round.as_ref().and_then(|round| beyond(round, point, known.step)) {
                    return Look::Known(node);
                }
                let mut query = Query::at(point, more);
                if coarse.is_some() {
                    query.deepest = (DEEPEST * known.step) as f32;
                }
                if let Some(node) = of_inner {
                    query.begin(node.angles());
                }
                if let Some(start) = starts.get(at) {
                    query.begin(*start);
                }
                known.begin(place, from, round.as_ref(), &mut query);
                Look::Ask(query)
            });
            self.nodes[begun..end].copy_from_slice(&found);
            watch.did(end - begun);
            begun = end;
        }
        Ok((from..to).filter(|&at| earlier(self, self.place(at)).is_none()).collect())
    }

    /// The poses of up to two neighbours known before this round whose points lie nearest, the nearest first.
    fn begin(&self, place: Place, round: usize, coarse: Option<&Round<'_>>, query: &mut Query) {
        let mut best: [Option<(f64, &Node)>; 2] = [None; 2];
        let point = query.point;
        for axis in 0..3 {
            for way in [-1, 1] {
                let mut beside = place;
                beside[axis] += way;
                keep(&mut best, self.before(beside, round), point, self.point(beside), self.step);
            }
        }
        if best[1].is_none() && coarse.is_none() {
            for way in 0..27 {
                let beside = [place[0] + way / 9 - 1, place[1] + way / 3 % 3 - 1, place[2] + way % 3 - 1];
                keep(&mut best, self.before(beside, round), point, self.point(beside), self.step);
            }
        }
        for (node, at) in coarse.into_iter().flatten().flatten() {
            keep(&mut best, Some(node), point, *at, self.step);
        }
        if let Some(start) = coarse.and_then(between) {
            query.begin(start);
        }
        best.into_iter().flatten().for_each(|(_, node)| query.begin(node.angles()));
    }

    /// The points round a place of the lattice of half the step: two, four or eight.
    fn round(&self, place: Place) -> Round<'_> {
        let cell = place.map(|x| x.div_euclid(2));
        std::array::from_fn(|which| {
            // Corners that lie on the same side where a coordinate is even.
            if !(0..3).all(|axis| place[axis] & 1 == 1 || which >> axis & 1 == 0) {
                return None;
            }
            let at = corner(cell, which);
            Some((self.get(at)?, self.point(at)))
        })
    }

    /// A point known before a round.
    fn before(&self, place: Place, round: usize) -> Option<&Node> {
        self.index(place).filter(|&at| at < round).map(|at| &self.nodes[at])
    }
}

/// What is known round a point, and where.
type Round<'a> = [Option<(&'a Node, Vec3)>; 8];

/// What is said of a point that lies more than `step` away from all that is reached, by what is known round it: no
/// boundary passes beside it.
fn beyond(round: &Round<'_>, point: Vec3, step: f64) -> Option<Node> {
    round.iter().flatten().filter(|(node, _)| node.state == State::Out).find_map(|(node, at)| {
        let by = f64::from(node.by) - (at - point).norm();
        (by > step).then_some(Node { by: by as f32, ..**node })
    })
}

/// Two poses whose angles differ by no more than this have one between them that gets between their points, in [`PARTS`]
/// of [`WIDEST`]: about 0.1 rad.
const CLOSE: u16 = 820;

/// The pose midway between those of two points on opposite sides that are both reached, if two are alike.
fn between(round: &Round<'_>) -> Option<Few> {
    let opposite = (0..8).rev().find(|which| round[*which].is_some())?;
    let pairs = (0..4).filter_map(|which| {
        let [(a, _), (b, _)] = [round[which]?, round[which ^ opposite]?];
        let apart = a.angles.iter().zip(&b.angles).map(|(a, b)| a.abs_diff(*b)).max()?;
        (a.reached() && b.reached() && apart <= CLOSE).then_some((apart, a, b))
    });
    let (_, a, b) = pairs.min_by_key(|(apart, ..)| *apart)?;
    let (a, b) = (a.angles(), b.angles());
    Some(std::array::from_fn(|i| f32::midpoint(a[i], b[i])))
}

/// Keeps the two nodes whose poses bring the limb's point nearest to `point`, the nearest first; of those that press
/// something, as if it were a step further.
fn keep<'a>(best: &mut [Option<(f64, &'a Node)>; 2], node: Option<&'a Node>, point: Vec3, at: Vec3, step: f64) {
    let Some(node) = node.filter(|node| node.by.is_finite()) else { return };
    let presses = if node.state == State::Blocked { step } else { 0.0 };
    let rank = (node.tip(at) - point).norm() + presses;
    if best[0].is_none_or(|(other, _)| rank < other) {
        best[1] = best[0];
        best[0] = Some((rank, node));
    } else if best[1].is_none_or(|(other, _)| rank < other) {
        best[1] = Some((rank, node));
    }
}
