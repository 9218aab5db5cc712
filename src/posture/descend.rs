//! Downhill to the least sum of squares over a few spare freedoms.

use nalgebra::{SMatrix, SVector};

/// The longest step, rad.
const LONGEST: f64 = 0.25;

/// A sum of squares of residuals and how it changes with `F` freedoms: Σ r², Σ r r′ and Σ r′ r′ᵀ.
pub(super) struct Slope<const F: usize> {
    pub(super) cost: f64,
    pub(super) gradient: SVector<f64, F>,
    pub(super) normal: SMatrix<f64, F, F>,
}

/// Freedoms of least cost, followed downhill from `free`.
///
/// Damped Gauss–Newton: smooth residuals are followed without jumping over a ridge, so a start next door ends next
/// door. What Gauss and Newton leave out of the curvature is made up along the last step (sizing after Dennis, Gay and
/// Welsch, ACM TOMS 7, 1981).
pub(super) fn descend<const F: usize>(
    mut free: [f64; F],
    steps: usize,
    mut at: impl FnMut(&[f64; F]) -> Slope<F>,
) -> [f64; F] {
    let mut here = at(&free);
    let mut damping = 1e-6;
    let mut sizing = 1.0;
    for _ in 0..steps {
        let mut damped = here.normal * sizing;
        for i in 0..F {
            damped[(i, i)] += here.normal[(i, i)] * damping + 1e-9;
        }
        let mut step = solve(damped, -here.gradient);
        let long = step.norm_squared();
        if long > LONGEST * LONGEST {
            step *= LONGEST / long.sqrt();
        }
        let promised = -here.gradient.dot(&step);
        let tried: [f64; F] = std::array::from_fn(|i| free[i] + step[i]);
        // A step that promises next to nothing is taken on trust.
        if promised < 1e-6 * (1.0 + here.cost) {
            return tried;
        }
        let there = at(&tried);
        if there.cost < here.cost {
            let bent = step.dot(&(there.gradient - here.gradient));
            let guessed = step.dot(&(here.normal * step));
            sizing = if guessed > 1e-30 { (bent / guessed).clamp(0.4, 4.0) } else { 1.0 };
            (free, here) = (tried, there);
            damping = (damping * 0.1).max(1e-8);
        } else {
            damping = damping.max(0.03) * 8.0;
            if damping > 1e4 {
                break;
            }
        }
    }
    free
}

/// x with `A` x = `b`, `A` symmetric and positive: elimination without square roots.
fn solve<const F: usize>(mut A: SMatrix<f64, F, F>, mut b: SVector<f64, F>) -> SVector<f64, F> {
    for i in 0..F {
        let per = 1.0 / A[(i, i)];
        for j in i + 1..F {
            let share = A[(j, i)] * per;
            for k in i + 1..F {
                A[(j, k)] -= share * A[(i, k)];
            }
            b[j] -= share * b[i];
        }
    }
    for i in (0..F).rev() {
        for k in i + 1..F {
            b[i] -= A[(i, k)] * b[k];
        }
        b[i] /= A[(i, i)];
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rosenbrock's valley as least squares: the least is 0 at (1, 1).
    #[test]
    fn the_bottom_of_a_bent_valley_is_found() {
        let valley = |x: &[f64; 2]| {
            let r = SVector::from([1.0 - x[0], 10.0 * (x[1] - x[0] * x[0])]);
            let slopes = SMatrix::<f64, 2, 2>::new(-1.0, 0.0, -20.0 * x[0], 10.0);
            Slope { cost: r.norm_squared(), gradient: slopes.tr_mul(&r), normal: slopes.tr_mul(&slopes) }
        };
        let free = descend([-0.5, 0.8], 200, valley);
        let cost = valley(&free).cost;
        assert!(cost < 1e-6 && (free[0] - 1.0).abs() < 1e-3 && (free[1] - 1.0).abs() < 1e-3, "{free:?} {cost}");
    }
}
