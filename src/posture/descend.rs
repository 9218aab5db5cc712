//! Downhill to the least sum of squares over a few spare freedoms.

use nalgebra::{SMatrix, SVector};

/// The longest step, rad.
const LONGEST: f64 = 0.25;
/// A step is shortened to no less than this share of it.
const SHORTEST: f64 = 1e-3;

/// A sum of squares of residuals and how it changes with `F` freedoms: Σ r², Σ r r′ and Σ r′ r′ᵀ.
pub(super) struct Slope<const F: usize> {
    pub(super) cost: f64,
    pub(super) gradient: SVector<f64, F>,
    pub(super) normal: SMatrix<f64, F, F>,
}

/// Freedoms of least cost, followed downhill from `free`, looking at `looks` places at most.
///
/// Gauss–Newton: smooth residuals are followed without jumping over a ridge, so a start next door ends next door. What
/// Gauss and Newton leave out of the curvature is made up along the last step (sizing after Dennis, Gay and Welsch, ACM
/// TOMS 7, 1981). Where a step leads up, something came in the way that did not count where it began: it is shortened
/// to where that is met.
pub(super) fn descend<const F: usize>(
    mut free: [f64; F],
    looks: usize,
    mut at: impl FnMut(&[f64; F]) -> Slope<F>,
) -> [f64; F] {
    let mut here = at(&free);
    let mut sizing = 1.0;
    let mut left = looks;
    while left > 0 {
        let mut damped = here.normal * sizing;
        for i in 0..F {
            damped[(i, i)] += here.normal[(i, i)] * 1e-6 + 1e-9;
        }
        let mut step = solve(damped, -here.gradient);
        let long = step.norm_squared();
        if long > LONGEST * LONGEST {
            step *= LONGEST / long.sqrt();
        }
        let towards = |share: f64| std::array::from_fn(|i| free[i] + share * step[i]);
        let fall = here.gradient.dot(&step);
        // A step that promises next to nothing is taken on trust.
        if -fall < 1e-6 * (1.0 + here.cost) {
            return towards(1.0);
        }
        let guessed = step.dot(&(here.normal * step));
        let mut share = 1.0;
        loop {
            let tried = towards(share);
            let there = at(&tried);
            left -= 1;
            if there.cost < here.cost {
                let bent = share * step.dot(&(there.gradient - here.gradient));
                let guessed = share * share * guessed;
                sizing = if guessed > 1e-30 { (bent / guessed).clamp(0.4, 4.0) } else { 1.0 };
                (free, here) = (tried, there);
                break;
            }
            share *=
                shorter(here.cost, share * fall, share * share * guessed, &there, share * there.gradient.dot(&step));
            if left == 0 || share < SHORTEST {
                return free;
            }
        }
    }
    free
}

/// The share of a step that led up at which the cost is likely least. What the cost is over what slope and curvature
/// foretold is taken for the square of something that begins to count on the way: value and slope at the end say where
/// and how steeply.
fn shorter<const F: usize>(cost: f64, fall: f64, bend: f64, there: &Slope<F>, rise: f64) -> f64 {
    let over = there.cost - (cost + 2.0 * fall + bend);
    let steeper = 2.0 * (rise - fall - bend);
    if over <= 0.0 || steeper <= 0.0 {
        return 0.3;
    }
    let met = (1.0 - 2.0 * over / steeper).max(0.0);
    let stiff = steeper * steeper / (4.0 * over);
    ((stiff * met - fall) / (stiff + bend)).clamp(0.03, 0.7)
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
