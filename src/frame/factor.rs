//! The stiffness of a whole frame as 6 × 6 blocks, node by node, factored into L D Lᵀ.
//!
//! Nodes are eliminated in the order of least degree, so that few blocks fill in. A pivot that comes out as nothing
//! is a movement without resistance: its shape is handed out instead of a division by zero.

use std::{cmp::Ordering, collections::BTreeMap};

use nalgebra::{DVector, Matrix6, Vector6};

/// A pivot below this share of the largest stiffness of its own direction resists nothing: round-off is some 1e-13
/// of it, the softest real frame some 1e-7.
const NOTHING: f64 = 1e-10;

/// A symmetric matrix of 6 × 6 blocks, only the lower half kept.
#[derive(Clone, Debug)]
pub struct Blocks {
    diagonal: Vec<Matrix6<f64>>,
    /// By column: row → block, row > column.
    below: Vec<BTreeMap<usize, Matrix6<f64>>>,
}

impl Blocks {
    /// All zero, for this many nodes.
    pub fn new(nodes: usize) -> Self {
        Self { diagonal: vec![Matrix6::zeros(); nodes], below: vec![BTreeMap::new(); nodes] }
    }

    /// Adds to the block of a pair of nodes, and to its mirror image.
    pub fn add(&mut self, row: usize, column: usize, block: &Matrix6<f64>) {
        match row.cmp(&column) {
            Ordering::Equal => self.diagonal[row] += block,
            Ordering::Greater => *self.below[column].entry(row).or_insert_with(Matrix6::zeros) += block,
            Ordering::Less => *self.below[row].entry(column).or_insert_with(Matrix6::zeros) += block.transpose(),
        }
    }

    /// Adds to one number of a diagonal block.
    pub fn add_spring(&mut self, node: usize, direction: usize, value: f64) {
        self.diagonal[node][(direction, direction)] += value;
    }

    /// Holds one movement of a node: its row and column become those of a unit matrix.
    pub fn hold(&mut self, node: usize, direction: usize) {
        let block = &mut self.diagonal[node];
        block.row_mut(direction).fill(0.0);
        block.column_mut(direction).fill(0.0);
        block[(direction, direction)] = 1.0;
        for block in self.below[node].values_mut() {
            block.column_mut(direction).fill(0.0);
        }
        for column in self.below.iter_mut().take(node) {
            if let Some(block) = column.get_mut(&node) {
                block.row_mut(direction).fill(0.0);
            }
        }
    }

    /// The order in which nodes are eliminated, and for each of them the later nodes that it is tied to by then.
    fn order(&self) -> (Vec<usize>, Vec<Vec<usize>>) {
        let count = self.diagonal.len();
        let mut tied: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (column, rows) in self.below.iter().enumerate() {
            for &row in rows.keys() {
                tied[column].push(row);
                tied[row].push(column);
            }
        }
        for list in &mut tied {
            list.sort_unstable();
        }
        let mut left: Vec<usize> = (0..count).collect();
        let mut order = Vec::with_capacity(count);
        while let Some((at, &node)) = left.iter().enumerate().min_by_key(|&(_, &node)| tied[node].len()) {
            left.swap_remove(at);
            order.push(node);
            // Its neighbours become tied to one another.
            let ring = tied[node].clone();
            for &other in &ring {
                let mut merged = Vec::with_capacity(tied[other].len() + ring.len());
                merged.extend(tied[other].iter().chain(&ring).copied().filter(|&n| n != other && n != node));
                merged.sort_unstable();
                merged.dedup();
                tied[other] = merged;
            }
        }
        (order, tied)
    }

    /// Factors the matrix.
    pub fn factor(mut self) -> Factor {
        let count = self.diagonal.len();
        let scale: Vec<Vector6<f64>> = self.diagonal.iter().map(Matrix6::diagonal).collect();
        let (order, tied) = self.order();
        let mut place = vec![0; count];
        for (at, &node) in order.iter().enumerate() {
            place[node] = at;
        }
        // Columns in the order of elimination, rows sorted by it.
        let mut columns: Vec<Column> = order
            .iter()
            .map(|&node| {
                let mut rows: Vec<usize> = tied[node].iter().map(|&other| place[other]).collect();
                rows.sort_unstable();
                let blocks = vec![Matrix6::zeros(); rows.len()];
                Column { rows, blocks, lower: self.diagonal[node], pivots: Vector6::zeros() }
            })
            .collect();
        for (node, rows) in self.below.iter_mut().enumerate() {
            for (&other, block) in rows.iter() {
                let (a, b) = (place[node], place[other]);
                let (column, row, block) = if a < b { (a, b, *block) } else { (b, a, block.transpose()) };
                if let Ok(at) = columns[column].rows.binary_search(&row) {
                    columns[column].blocks[at] = block;
                }
            }
        }
        let mut loose = Vec::new();
        for at in 0..count {
            let node = order[at];
            let (done, later) = columns.split_at_mut(at + 1);
            let column = &mut done[at];
            let (lower, pivots) = ldl(&column.lower, &scale[node]);
            let mut inverse = Vector6::zeros();
            for direction in 0..6 {
                if pivots[direction] > 0.0 {
                    inverse[direction] = 1.0 / pivots[direction];
                } else {
                    loose.push((node, direction));
                }
            }
            // W = A L⁻ᵀ and L = W D⁻¹, block by block.
            let mut unscaled = Vec::with_capacity(column.blocks.len());
            for block in &mut column.blocks {
                for j in 0..6 {
                    for k in 0..j {
                        let share = lower[(j, k)];
                        for i in 0..6 {
                            block[(i, j)] -= block[(i, k)] * share;
                        }
                    }
                }
                unscaled.push(*block);
                for (j, mut entries) in block.column_iter_mut().enumerate() {
                    entries *= inverse[j];
                }
            }
            for (a, &row) in column.rows.iter().enumerate() {
                let target = &mut later[row - at - 1];
                target.lower -= column.blocks[a] * unscaled[a].transpose();
                for (b, &further) in column.rows.iter().enumerate().skip(a + 1) {
                    if let Ok(found) = target.rows.binary_search(&further) {
                        target.blocks[found] -= column.blocks[b] * unscaled[a].transpose();
                    }
                }
            }
            column.lower = lower;
            column.pivots = inverse;
        }
        Factor { order, columns, loose }
    }
}

/// L D Lᵀ of one 6 × 6 block: the unit lower triangle and the pivots. A pivot that is nothing beside `scale` becomes 0
/// and leaves zeros below it.
fn ldl(a: &Matrix6<f64>, scale: &Vector6<f64>) -> (Matrix6<f64>, Vector6<f64>) {
    let mut lower = Matrix6::identity();
    let mut pivots = Vector6::zeros();
    for j in 0..6 {
        let mut pivot = a[(j, j)];
        for k in 0..j {
            pivot -= lower[(j, k)] * lower[(j, k)] * pivots[k];
        }
        let nothing = pivot <= NOTHING * scale[j].max(f64::MIN_POSITIVE);
        pivots[j] = if nothing { 0.0 } else { pivot };
        for i in j + 1..6 {
            let mut value = a[(i, j)];
            for k in 0..j {
                value -= lower[(i, k)] * lower[(j, k)] * pivots[k];
            }
            lower[(i, j)] = if nothing { 0.0 } else { value / pivot };
        }
    }
    (lower, pivots)
}

/// One eliminated node.
#[derive(Clone, Debug)]
struct Column {
    /// Later places with a block below.
    rows: Vec<usize>,
    /// Their blocks of L.
    blocks: Vec<Matrix6<f64>>,
    /// The node's own block: first A, then its unit lower triangle.
    lower: Matrix6<f64>,
    /// One over each pivot; 0 for a loose movement, which then stays at rest.
    pivots: Vector6<f64>,
}

/// A factored stiffness.
#[derive(Clone, Debug)]
pub struct Factor {
    order: Vec<usize>,
    columns: Vec<Column>,
    /// Movements (node, direction) that nothing resists.
    loose: Vec<(usize, usize)>,
}

impl Factor {
    /// The movements under forces `b`, six numbers a node; loose movements stay at rest.
    pub fn solve(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut x = self.sorted(b);
        for (at, column) in self.columns.iter().enumerate() {
            let mut own = x[at];
            for j in 1..6 {
                for k in 0..j {
                    own[j] -= column.lower[(j, k)] * own[k];
                }
            }
            for (&row, block) in column.rows.iter().zip(&column.blocks) {
                x[row] -= block * own;
            }
            x[at] = own;
        }
        for (own, column) in x.iter_mut().zip(&self.columns) {
            own.component_mul_assign(&column.pivots);
        }
        self.backward(x)
    }

    /// The shapes of the movements that nothing resists, six numbers a node, the largest being 1.
    pub fn loose_shapes(&self) -> Vec<DVector<f64>> {
        self.loose
            .iter()
            .map(|&(node, direction)| {
                let mut unit = DVector::zeros(6 * self.order.len());
                unit[6 * node + direction] = 1.0;
                let shape = self.backward(self.sorted(&unit));
                let largest = shape.amax();
                shape / largest
            })
            .collect()
    }

    /// True where something moves without resistance.
    pub fn is_loose(&self) -> bool {
        !self.loose.is_empty()
    }

    fn sorted(&self, b: &DVector<f64>) -> Vec<Vector6<f64>> {
        self.order.iter().map(|&node| b.fixed_rows::<6>(6 * node).into_owned()).collect()
    }

    /// Lᵀ x = z from the last node back.
    fn backward(&self, mut x: Vec<Vector6<f64>>) -> DVector<f64> {
        let mut out = DVector::zeros(6 * self.order.len());
        for (at, column) in self.columns.iter().enumerate().rev() {
            let mut own = x[at];
            for (&row, block) in column.rows.iter().zip(&column.blocks) {
                own -= block.tr_mul(&x[row]);
            }
            for k in (0..6).rev() {
                for j in k + 1..6 {
                    own[k] -= column.lower[(j, k)] * own[j];
                }
            }
            x[at] = own;
            out.fixed_rows_mut::<6>(6 * self.order[at]).copy_from(&own);
        }
        out
    }
}
