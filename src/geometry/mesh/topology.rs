//! Which triangles are neighbours, which way they face, and where a surface is open.

use std::{
    collections::HashMap,
    hash::{BuildHasherDefault, Hasher},
};

use super::{MeshState, NONE, wide};

/// A quick mixer for keys that are places already: nobody can gain by making them collide.
#[derive(Default)]
struct Mix(u64);

impl Hasher for Mix {
    fn finish(&self) -> u64 {
        self.0.rotate_left(26)
    }

    fn write(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.write_u64(byte.into());
        }
    }

    fn write_u32(&mut self, value: u32) {
        self.write_u64(value.into());
    }

    fn write_u64(&mut self, value: u64) {
        // The golden ratio's digits, as Knuth's multiplicative hashing has them.
        self.0 = (self.0.rotate_left(5) ^ value).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    }
}

/// Corners in one place made one; triangles of three different ones, and how many had not.
pub(super) fn welded(points: &[[f32; 3]], triangles: &[[u32; 3]]) -> (Vec<[f32; 3]>, Vec<[u32; 3]>, usize) {
    let mut known: HashMap<(u64, u32), u32, BuildHasherDefault<Mix>> = HashMap::default();
    known.reserve(points.len() / 4);
    let mut kept = Vec::with_capacity(points.len() / 4);
    let places: Vec<u32> = points
        .iter()
        .map(|&point| {
            // Adding nothing takes the sign from a zero.
            let [x, y, z] = point.map(|value| (value + 0.0).to_bits());
            *known.entry((u64::from(x) << 32 | u64::from(y), z)).or_insert_with(|| {
                kept.push(point);
                kept.len() as u32 - 1
            })
        })
        .collect();
    let mut out = Vec::with_capacity(triangles.len());
    for triangle in triangles {
        let corners = triangle.map(|at| places.get(at as usize).copied().unwrap_or(NONE));
        let [a, b, c] = corners;
        if !corners.contains(&NONE) && a != b && b != c && c != a {
            out.push(corners);
        }
    }
    let lost = triangles.len() - out.len();
    (kept, out, lost)
}

/// Neighbours over edges: half edges that share their two places.
struct Edges {
    /// By half edge (three a triangle): the half edge across, or [`NONE`].
    across: Vec<u32>,
    /// Half edges at a border or an edge of more than two triangles.
    bounds: Vec<bool>,
}

/// Finds neighbours, turns triangles to face one way and outward, and writes down what was found.
pub(super) fn oriented(
    points: &[[f32; 3]],
    triangles: &mut [[u32; 3]],
    state: &mut MeshState,
) -> (Vec<[u32; 3]>, Vec<bool>) {
    let edges = edges(points.len(), triangles, state);
    let mut turned = vec![None; triangles.len()];
    let mut closed = vec![false; triangles.len()];
    let mut piece: Vec<u32> = Vec::new();
    for first in 0..triangles.len() {
        if turned[first].is_some() {
            continue;
        }
        piece.clear();
        piece.push(first as u32);
        turned[first] = Some(false);
        let (mut is_closed, mut next) = (true, 0);
        while let Some(&own) = piece.get(next) {
            next += 1;
            for i in 0..3 {
                let half = 3 * own + i;
                is_closed &= !edges.bounds[half as usize];
                let other = edges.across[half as usize];
                if other == NONE {
                    continue;
                }
                // Two neighbours that face the same way run along their edge in opposite directions.
                let turn = turned[own as usize].unwrap_or(false) ^ (rises(triangles, half) == rises(triangles, other));
                let there = &mut turned[other as usize / 3];
                match there {
                    None => {
                        *there = Some(turn);
                        piece.push(other / 3);
                    }
                    // A surface with one side only.
                    Some(found) if *found != turn => is_closed = false,
                    Some(_) => {}
                }
            }
        }
        let is_turned = |triangle: &u32| turned[*triangle as usize] == Some(true);
        let reversed = if is_closed {
            let volume: f64 = piece
                .iter()
                .map(|triangle| {
                    let [a, b, c] = triangles[*triangle as usize].map(|at| wide(points[at as usize]));
                    let volume = a.dot(&b.cross(&c));
                    if is_turned(triangle) { -volume } else { volume }
                })
                .sum();
            volume < 0.0
        } else {
            // Most of them are right.
            2 * piece.iter().filter(|triangle| is_turned(triangle)).count() > piece.len()
        };
        state.pieces += 1;
        state.closed_pieces += usize::from(is_closed);
        for &triangle in &piece {
            let at = triangle as usize;
            closed[at] = is_closed;
            turned[at] = turned[at].map(|turn| turn ^ reversed);
        }
    }
    let mut neighbours: Vec<[u32; 3]> = edges
        .across
        .as_chunks::<3>()
        .0
        .iter()
        .map(|across| across.map(|half| if half == NONE { NONE } else { half / 3 }))
        .collect();
    for (at, _) in turned.iter().enumerate().filter(|(_, turn)| **turn == Some(true)) {
        triangles[at].swap(1, 2);
        neighbours[at].swap(0, 2);
        state.flipped += 1;
    }
    (neighbours, closed)
}

/// The two places of a half edge.
fn ends(triangles: &[[u32; 3]], half: u32) -> [u32; 2] {
    let triangle = triangles[half as usize / 3];
    let i = half as usize % 3;
    [triangle[i], triangle[(i + 1) % 3]]
}

fn rises(triangles: &[[u32; 3]], half: u32) -> bool {
    let [from, to] = ends(triangles, half);
    from < to
}

fn edges(points: usize, triangles: &[[u32; 3]], state: &mut MeshState) -> Edges {
    let halves = 3 * triangles.len() as u32;
    // Half edges by the lower of their places.
    let mut begins = vec![0_u32; points + 1];
    for half in 0..halves {
        let [a, b] = ends(triangles, half);
        begins[a.min(b) as usize + 1] += 1;
    }
    for at in 1..begins.len() {
        begins[at] += begins[at - 1];
    }
    let mut filled = begins.clone();
    let mut list = vec![(0_u32, 0_u32); halves as usize];
    for half in 0..halves {
        let [a, b] = ends(triangles, half);
        let place = &mut filled[a.min(b) as usize];
        list[*place as usize] = (a.max(b), half);
        *place += 1;
    }
    let mut out = Edges { across: vec![NONE; halves as usize], bounds: vec![false; halves as usize] };
    let mut open = Vec::new();
    for low in 0..points {
        let own = &mut list[begins[low] as usize..begins[low + 1] as usize];
        own.sort_unstable();
        for same in own.chunk_by(|a, b| a.0 == b.0) {
            match *same {
                [(_, one), (_, other)] => {
                    out.across[one as usize] = other;
                    out.across[other as usize] = one;
                }
                [(high, one)] => {
                    out.bounds[one as usize] = true;
                    open.push([low as u32, high]);
                }
                _ => {
                    state.crowded_edges += 1;
                    for (_, half) in same {
                        out.bounds[*half as usize] = true;
                    }
                }
            }
        }
    }
    state.open_edges = open.len();
    state.holes = rings(points, &open);
    out
}

/// How many groups of edges hang together.
fn rings(points: usize, edges: &[[u32; 2]]) -> usize {
    if edges.is_empty() {
        return 0;
    }
    let mut root: Vec<u32> = (0..points as u32).collect();
    fn find(root: &mut [u32], mut at: u32) -> u32 {
        while root[at as usize] != at {
            root[at as usize] = root[root[at as usize] as usize];
            at = root[at as usize];
        }
        at
    }
    let mut joined = 0;
    let mut touched = vec![false; points];
    for &[a, b] in edges {
        touched[a as usize] = true;
        touched[b as usize] = true;
        let (a, b) = (find(&mut root, a), find(&mut root, b));
        if a != b {
            root[a as usize] = b;
            joined += 1;
        }
    }
    touched.iter().filter(|touched| **touched).count() - joined
}
