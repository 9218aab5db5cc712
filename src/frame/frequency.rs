//! The slowest way in which a frame swings of its own.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::model::Stiff;

/// Shapes that are followed at once; the first converges the faster the more there are.
const SHAPES: usize = 4;
/// Rounds at most; most frames need six.
const ROUNDS: usize = 40;

/// The first natural frequency, Hz, and its shape.
pub(super) fn first(stiff: &Stiff) -> Option<(f64, DVector<f64>)> {
    let count = stiff.size();
    // Forces that begin along every axis and both ways of a turn, none of them regular.
    let mut forces: Vec<DVector<f64>> = (0..SHAPES)
        .map(|shape| {
            DVector::from_fn(count, |i, _| {
                let seed = (i * (2 * shape + 3) + 7 * shape) as f64;
                (12.9898 * seed).sin() + f64::from(u8::from(i % 6 == shape % 3))
            })
        })
        .map(|shape| stiff.mass_times(&shape))
        .collect();
    let mut former = 0.0;
    for _ in 0..ROUNDS {
        let moved: Vec<DVector<f64>> = forces.iter().map(|force| stiff.solve(force)).collect();
        let heavy: Vec<DVector<f64>> = moved.iter().map(|x| stiff.mass_times(x)).collect();
        let dot = |a: &[DVector<f64>], b: &[DVector<f64>]| DMatrix::from_fn(a.len(), a.len(), |i, j| a[i].dot(&b[j]));
        let (k, m) = (dot(&moved, &forces), dot(&moved, &heavy));
        // Within the shapes: m v = λ k v with the greatest λ = 1/ω².
        let ways = SymmetricEigen::new((&k + k.transpose()) * 0.5);
        let floor = 1e-12 * ways.eigenvalues.max();
        let kept: Vec<usize> = (0..moved.len()).filter(|&i| ways.eigenvalues[i] > floor).collect();
        let white = DMatrix::from_fn(moved.len(), kept.len(), |i, j| {
            ways.eigenvectors[(i, kept[j])] / ways.eigenvalues[kept[j]].sqrt()
        });
        if kept.is_empty() {
            return None;
        }
        let reduced = white.transpose() * m * &white;
        let eigen = SymmetricEigen::new((&reduced + reduced.transpose()) * 0.5);
        let top = eigen.eigenvalues.imax();
        let square = eigen.eigenvalues[top];
        if square.is_nan() || square <= 0.0 {
            return None;
        }
        let omega = square.recip().sqrt();
        let vectors = white * &eigen.eigenvectors;
        let mixed = |parts: &[DVector<f64>], column: usize| {
            let mut out = DVector::zeros(count);
            for (i, part) in parts.iter().enumerate() {
                out.axpy(vectors[(i, column)], part, 1.0);
            }
            out
        };
        if (omega - former).abs() < 1e-6 * omega {
            let shape = mixed(&moved, top);
            let largest = shape.amax();
            return Some((omega / std::f64::consts::TAU, shape / largest));
        }
        former = omega;
        forces = (0..vectors.ncols())
            .map(|column| mixed(&heavy, column))
            .map(|force| {
                let size = force.amax();
                if size > 0.0 { force / size } else { force }
            })
            .collect();
    }
    None
}
