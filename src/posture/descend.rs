//! Downhill to the least sum of squares over a few spare freedoms.

use nalgebra::{SMatrix, SVector};

/// The longest step, rad.
const LONGEST: f64 = 0.25;

/// Freedoms of least `Σ residuals²`, followed downhill from `free`, and that sum.
///
/// Damped Gauss–Newton: smooth residuals are followed without jumping over a ridge, so a start next door ends next
/// door. Derivatives are taken by forward differences once and then kept up by what each step shows (Broyden, Math.
/// Comp. 19, 1965); where such a step fails they are taken afresh. What Gauss and Newton leave out of the curvature is
/// made up along the last step (sizing after Dennis, Gay and Welsch, ACM TOMS 7, 1981).
pub(super) fn descend<const F: usize, const R: usize>(
    mut free: [f64; F],
    steps: usize,
    residuals: impl Fn(&[f64; F]) -> [f64; R],
) -> ([f64; F], f64) {
    const STEP: f64 = 1e-6;
    let differences = |free: &[f64; F], r: &[f64; R]| -> [[f64; R]; F] {
        std::array::from_fn(|i| {
            let mut moved = *free;
            moved[i] += STEP;
            let there = residuals(&moved);
            std::array::from_fn(|k| (there[k] - r[k]) / STEP)
        })
    };
    let dot = |a: &[f64; R], b: &[f64; R]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let mut r = residuals(&free);
    let mut cost = squared(&r);
    let mut columns = differences(&free, &r);
    let mut fresh = true;
    let mut damping = 1e-6;
    let mut sizing = 1.0;
    for _ in 0..steps {
        let normal = SMatrix::<f64, F, F>::from_fn(|i, j| dot(&columns[i], &columns[j]));
        let gradient = SVector::<f64, F>::from_fn(|i, _| dot(&columns[i], &r));
        let damped = SMatrix::<f64, F, F>::from_fn(|i, j| {
            if i == j { normal[(i, i)] * (sizing + damping) + 1e-9 } else { normal[(i, j)] * sizing }
        });
        let Some(factored) = damped.cholesky() else { break };
        let mut step = -factored.solve(&gradient);
        let length = step.norm();
        if length > LONGEST {
            step *= LONGEST / length;
        }
        // A step that promises next to nothing is not worth an evaluation.
        if -gradient.dot(&step) < 1e-7 * (1.0 + cost) {
            break;
        }
        let tried: [f64; F] = std::array::from_fn(|i| free[i] + step[i]);
        let tried_r = residuals(&tried);
        let tried_cost = squared(&tried_r);
        if tried_cost < cost {
            let expected: [f64; R] =
                std::array::from_fn(|k| r[k] + (0..F).map(|i| columns[i][k] * step[i]).sum::<f64>());
            let scale = 1.0 / step.norm_squared();
            for i in 0..F {
                for k in 0..R {
                    columns[i][k] += (tried_r[k] - expected[k]) * step[i] * scale;
                }
            }
            let bent: f64 = (0..F).map(|i| step[i] * (dot(&columns[i], &tried_r) - gradient[i])).sum();
            let guessed = (step.transpose() * normal * step)[0];
            sizing = if guessed > 1e-30 { (bent / guessed).clamp(0.4, 4.0) } else { 1.0 };
            // Poor progress: the derivatives have gone stale.
            let stale = F > 1 && tried_cost > 0.9 * cost;
            (free, r, cost) = (tried, tried_r, tried_cost);
            fresh = false;
            damping = (damping * 0.1).max(1e-8);
            if stale {
                columns = differences(&free, &r);
                fresh = true;
            }
        } else if fresh {
            damping = damping.max(1e-3) * 8.0;
            if damping > 1e4 {
                break;
            }
        } else {
            columns = differences(&free, &r);
            fresh = true;
        }
    }
    (free, cost)
}

/// Sum of squares.
pub(super) fn squared<const R: usize>(residuals: &[f64; R]) -> f64 {
    residuals.iter().map(|r| r * r).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rosenbrock's valley as least squares: the least is 0 at (1, 1).
    #[test]
    fn the_bottom_of_a_bent_valley_is_found() {
        let (free, cost) = descend([-0.5, 0.8], 200, |x| [1.0 - x[0], 10.0 * (x[1] - x[0] * x[0])]);
        assert!(cost < 1e-6 && (free[0] - 1.0).abs() < 1e-3 && (free[1] - 1.0).abs() < 1e-3, "{free:?} {cost}");
    }
}
