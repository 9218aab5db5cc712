//! The pose that comes nearest to a point out of reach: joint angles kept in their ranges, distance made least.

use nalgebra::{SMatrix, SVector};

use crate::{body::Range, geometry::Vec3};

/// Joint angles inside `ranges` that bring the points `tips(angles)` as near to `targets` (least sum of squares) as
/// steps from `start` can.
///
/// Damped Gauss–Newton on the distance, each step projected into the ranges. The cost is a few microseconds for
/// each of at most 40 steps; it is called only where no exact pose exists.
pub(super) fn nearest<const N: usize, const P: usize>(
    start: [f64; N],
    ranges: &[Range; N],
    targets: [Vec3; P],
    tips: impl Fn(&[f64; N]) -> [Vec3; P],
) -> [f64; N] {
    const STEP: f64 = 1e-6;
    let missed = |angles: &[f64; N]| {
        let tips = tips(angles);
        let miss: [Vec3; P] = std::array::from_fn(|i| targets[i] - tips[i]);
        let squared: f64 = miss.iter().map(Vec3::norm_squared).sum();
        (miss, squared)
    };
    let mut angles: [f64; N] = std::array::from_fn(|i| ranges[i].clamp(start[i]));
    let (mut miss, mut squared) = missed(&angles);
    let mut damping = 1e-3;
    for _ in 0..120 {
        let mut columns = [[Vec3::zeros(); P]; N];
        let mut gradient = SVector::<f64, N>::zeros();
        for i in 0..N {
            let mut moved = angles;
            moved[i] += STEP;
            let (there, _) = missed(&moved);
            columns[i] = std::array::from_fn(|p| (miss[p] - there[p]) / STEP);
            gradient[i] = (0..P).map(|p| columns[i][p].dot(&miss[p])).sum();
            // A joint at its limit that would be pushed further out does not take part.
            let (low, high) = (angles[i] <= ranges[i].low, angles[i] >= ranges[i].high);
            if (low && gradient[i] < 0.0) || (high && gradient[i] > 0.0) {
                columns[i] = [Vec3::zeros(); P];
                gradient[i] = 0.0;
            }
        }
        let normal = SMatrix::<f64, N, N>::from_fn(|i, j| {
            let product: f64 = (0..P).map(|p| columns[i][p].dot(&columns[j][p])).sum();
            // A turning point's path bends towards its axis: where much is missing that bend counts as much as the slope.
            let bend: f64 = (0..P).map(|p| columns[i][p].norm() * miss[p].norm()).sum();
            if i == j { product + bend + damping } else { product }
        });
        let Some(factored) = normal.cholesky() else { break };
        let step = factored.solve(&gradient);
        let tried: [f64; N] = std::array::from_fn(|i| ranges[i].clamp(angles[i] + step[i].clamp(-0.3, 0.3)));
        let (tried_miss, tried_squared) = missed(&tried);
        if tried_squared < squared {
            let small = squared - tried_squared < 1e-13;
            (angles, miss, squared) = (tried, tried_miss, tried_squared);
            damping = (damping * 0.5).max(1e-9);
            if small {
                break;
            }
        } else {
            damping *= 4.0;
            if damping > 1e4 {
                break;
            }
        }
    }
    angles
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two links of 1 m in the plane.
    fn two_links(angles: &[f64; 2]) -> [Vec3; 1] {
        let (a, b) = (angles[0], angles[0] + angles[1]);
        [Vec3::new(a.cos() + b.cos(), a.sin() + b.sin(), 0.0)]
    }

    #[test]
    fn a_point_beyond_two_straight_links_is_missed_by_the_rest_of_its_distance() {
        let ranges = [Range { low: -2.0, high: 2.0 }, Range { low: 0.0, high: 2.5 }];
        let angles = nearest([0.3, 0.8], &ranges, [Vec3::new(0.0, 3.0, 0.0)], two_links);
        let miss = (two_links(&angles)[0] - Vec3::new(0.0, 3.0, 0.0)).norm();
        assert!((miss - 1.0).abs() < 1e-5, "{miss}");
    }

    #[test]
    fn a_joint_limit_is_kept_and_the_rest_does_what_it_can() {
        // The first link may only rise to 30°; the second then points straight at the target.
        let ranges = [Range::degrees(0.0, 30.0), Range::degrees(0.0, 150.0)];
        let target = Vec3::new(0.866_025_403_8, 2.5, 0.0);
        let angles = nearest([0.0, 0.5], &ranges, [target], two_links);
        assert!((angles[0] - 30.0_f64 * std::f64::consts::PI / 180.0).abs() < 1e-9);
        let miss = (two_links(&angles)[0] - target).norm();
        assert!((miss - 1.0).abs() < 1e-5, "{miss}");
    }
}
