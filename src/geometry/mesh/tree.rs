//! A tree of boxes over triangles: halved at the median of the longer side, four triangles a leaf.

use rayon::join;

use crate::geometry::Vec3;

/// Triangles of a leaf at most.
const LEAF: usize = 4;
/// Triangles from which on both halves are grown side by side.
const SIDE_BY_SIDE: usize = 1 << 14;

/// A box and what is in it. Nodes stand in the order of a walk that goes to the first half first.
#[derive(Clone, Copy, Debug)]
pub(in crate::geometry) struct Node {
    pub low: [f32; 3],
    pub high: [f32; 3],
    /// First triangle of a leaf; of a branch how much further on its second half stands (the first stands next).
    pub at: u32,
    /// Triangles of a leaf; 0 for a branch.
    pub count: u32,
}

impl Node {
    /// How far along a direction its box goes.
    pub fn furthest(&self, way: Vec3) -> f64 {
        (0..3).map(|i| way[i] * f64::from(if way[i] > 0.0 { self.high[i] } else { self.low[i] })).sum()
    }
}

/// A triangle on its way into the tree.
#[derive(Clone, Copy)]
struct Item {
    centre: [f32; 3],
    triangle: [u32; 3],
}

/// Grows a tree and puts the triangles in the order of its leaves.
pub(super) fn grow(points: &[[f32; 3]], triangles: &mut [[u32; 3]]) -> Vec<Node> {
    if triangles.is_empty() {
        return Vec::new();
    }
    let corner = |at: u32| points[at as usize];
    let mut items: Vec<Item> = triangles
        .iter()
        .map(|&triangle| {
            let [a, b, c] = triangle.map(corner);
            Item { centre: [0, 1, 2].map(|i| (a[i] + b[i] + c[i]) / 3.0), triangle }
        })
        .collect();
    let nodes = branch(points, &mut items, 0);
    for (triangle, item) in triangles.iter_mut().zip(&items) {
        *triangle = item.triangle;
    }
    nodes
}

fn branch(points: &[[f32; 3]], items: &mut [Item], first: u32) -> Vec<Node> {
    let mut nodes = Vec::with_capacity(2 * items.len() / LEAF + 1);
    put(points, items, first, &mut nodes);
    nodes
}

fn put(points: &[[f32; 3]], items: &mut [Item], first: u32, nodes: &mut Vec<Node>) {
    if items.len() <= LEAF {
        let mut node =
            Node { low: [f32::INFINITY; 3], high: [f32::NEG_INFINITY; 3], at: first, count: items.len() as u32 };
        for point in items.iter().flat_map(|item| item.triangle).map(|at| points[at as usize]) {
            widen(&mut node, point, point);
        }
        nodes.push(node);
        return;
    }
    let (mut low, mut high) = ([f32::INFINITY; 3], [f32::NEG_INFINITY; 3]);
    for item in items.iter() {
        for axis in 0..3 {
            low[axis] = low[axis].min(item.centre[axis]);
            high[axis] = high[axis].max(item.centre[axis]);
        }
    }
    let size = |axis: usize| high[axis] - low[axis];
    let longest = (1..3).fold(0, |best, axis| if size(axis) > size(best) { axis } else { best });
    let half = items.len() / 2;
    items.select_nth_unstable_by(half, |a, b| a.centre[longest].total_cmp(&b.centre[longest]));
    let (left, right) = items.split_at_mut(half);
    let middle = first + half as u32;
    let own = nodes.len();
    nodes.push(Node { low: [f32::INFINITY; 3], high: [f32::NEG_INFINITY; 3], at: 0, count: 0 });
    let second;
    if left.len() >= SIDE_BY_SIDE {
        let (one, other) = join(|| branch(points, left, first), || branch(points, right, middle));
        nodes.extend(one);
        second = nodes.len();
        nodes.extend(other);
    } else {
        put(points, left, first, nodes);
        second = nodes.len();
        put(points, right, middle, nodes);
    }
    let halves = [nodes[own + 1], nodes[second]];
    let node = &mut nodes[own];
    node.at = (second - own) as u32;
    for half in halves {
        widen(node, half.low, half.high);
    }
}

fn widen(node: &mut Node, low: [f32; 3], high: [f32; 3]) {
    for axis in 0..3 {
        node.low[axis] = node.low[axis].min(low[axis]);
        node.high[axis] = node.high[axis].max(high[axis]);
    }
}
