//! Frames at a joint: turns about its axes, their rates, and poses made from them.

use nalgebra::Matrix3;

use crate::geometry::{Pose, Rot, Vec3};

/// Rotation about x.
pub(super) fn about_x(angle: f64) -> Matrix3<f64> {
    let (s, c) = angle.sin_cos();
    Matrix3::new(1.0, 0.0, 0.0, 0.0, c, -s, 0.0, s, c)
}

/// Rotation about y.
pub(super) fn about_y(angle: f64) -> Matrix3<f64> {
    let (s, c) = angle.sin_cos();
    Matrix3::new(c, 0.0, s, 0.0, 1.0, 0.0, -s, 0.0, c)
}

/// Rotation about z.
pub(super) fn about_z(angle: f64) -> Matrix3<f64> {
    let (s, c) = angle.sin_cos();
    Matrix3::new(c, -s, 0.0, s, c, 0.0, 0.0, 0.0, 1.0)
}

/// Sines and cosines, up to a factor, of the angles a, b, c of `R` = Ry(−a) Rx(s b) Rz(−s c), where `s` is the sign of
/// the side.
#[inline]
pub(super) fn turns(R: &Matrix3<f64>, s: f64) -> [(f64, f64); 3] {
    let level = (R[(0, 2)] * R[(0, 2)] + R[(2, 2)] * R[(2, 2)]).sqrt();
    [(-R[(0, 2)], R[(2, 2)]), (-s * R[(1, 2)], level), (-s * R[(1, 0)], R[(1, 1)])]
}

/// Sine and cosine of the angle the other way.
pub(super) const fn back((sin, cos): (f64, f64)) -> (f64, f64) {
    (-sin, cos)
}

/// What an angular velocity is multiplied by to give the rates of [`turns`], one row an angle; the velocity is seen
/// from the frame that `R` leads into.
#[inline]
pub(super) fn turn_rates(R: &Matrix3<f64>, s: f64) -> Matrix3<f64> {
    let z = R.column(2);
    // a turns about y, c about z, b about the normal of both; where these two fall together the angles stand still.
    let level2 = (z.x * z.x + z.z * z.z).max(1e-12);
    let (per2, per) = (1.0 / level2, 1.0 / level2.sqrt());
    Matrix3::new(
        z.x * z.y * per2,
        -1.0,
        z.z * z.y * per2,
        s * z.z * per,
        0.0,
        -s * z.x * per,
        -s * z.x * per2,
        0.0,
        -s * z.z * per2,
    )
}

/// A pose from a point and a rotation matrix.
pub(super) fn pose(at: Vec3, rotation: &Matrix3<f64>) -> Pose {
    let rotation = nalgebra::Rotation3::from_matrix_unchecked(*rotation);
    Pose::from_parts(at.into(), Rot::from_rotation_matrix(&rotation))
}

/// The turn without its part about z: the shortest way that brings z to where the limb's frame, seen from its
/// parent's, has it; the limb's own where that is the opposite way.
pub(super) fn untwisted(limb: &Matrix3<f64>) -> Rot {
    let z = limb.column(2);
    if z.z < -0.999_999 {
        return Rot::from_rotation_matrix(&nalgebra::Rotation3::from_matrix_unchecked(*limb));
    }
    // Half-way between 1 and the turn by twice the way, up to its length.
    Rot::new_normalize(nalgebra::Quaternion::new(1.0 + z.z, -z.y, z.x, 0.0))
}

/// How [`untwisted`] turns while the limb's frame turns by `turning`, both seen from the parent's frame.
///
/// The shortest way has no part about the parent's z: that settles how much it turns about the limb's own.
pub(super) fn untwisted_rate(limb: &Matrix3<f64>, turning: Vec3) -> Vec3 {
    let z: Vec3 = limb.column(2).into();
    let across = turning - z * z.dot(&turning);
    across - z * (across.z / (1.0 + z.z).max(1e-6))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_of_a_turn_made_from_angles_are_those() {
        for s in [1.0, -1.0] {
            for [a, b, c] in [[0.3, -0.2, 0.9], [-2.5, 1.4, -0.4], [1.0, -1.2, 2.8]] {
                let R = about_y(-a) * about_x(s * b) * about_z(-s * c);
                for ((sin, cos), made) in turns(&R, s).into_iter().zip([a, b, c]) {
                    let found = sin.atan2(cos);
                    assert!((found - made).abs() < 1e-12, "{found} {made}");
                }
            }
        }
    }

    /// Central differences over a small turn of the frame.
    #[test]
    fn rates_are_those_of_a_small_turn() {
        const H: f64 = 1e-6;
        for s in [1.0, -1.0] {
            let R = about_y(-0.4) * about_x(s * 0.7) * about_z(-s * 1.1);
            let rates = turn_rates(&R, s);
            for (axis, about) in [about_x as fn(f64) -> Matrix3<f64>, about_y, about_z].into_iter().enumerate() {
                let angles = |R: Matrix3<f64>| turns(&R, s).map(|(sin, cos)| sin.atan2(cos));
                let (more, less) = (angles(about(H) * R), angles(about(-H) * R));
                for angle in 0..3 {
                    let rate = (more[angle] - less[angle]) / (2.0 * H);
                    assert!((rates[(angle, axis)] - rate).abs() < 1e-8, "{angle} {axis}");
                }
            }
        }
    }

    /// Central differences over a small turn of the limb.
    #[test]
    fn without_its_twist_a_limb_turns_as_its_rate_says() {
        const H: f64 = 1e-6;
        let R = about_y(-0.4) * about_x(0.7) * about_z(1.1);
        for (turning, about) in
            [(Vec3::x(), about_x as fn(f64) -> Matrix3<f64>), (Vec3::y(), about_y), (Vec3::z(), about_z)]
        {
            let (more, less) = (untwisted(&(about(H) * R)), untwisted(&(about(-H) * R)));
            let turned = (more * less.inverse()).scaled_axis() / (2.0 * H);
            let rate = untwisted_rate(&R, turning);
            assert!((turned - rate).norm() < 1e-7, "{turned} {rate}");
        }
    }

    #[test]
    fn without_its_twist_a_limb_still_points_its_way() {
        let R = about_y(-0.4) * about_x(0.7) * about_z(1.1);
        let straight = untwisted(&R);
        assert!((straight * Vec3::z() - R.column(2)).norm() < 1e-12);
        // The shortest way turns about an axis normal to z.
        assert!(straight.axis().is_some_and(|axis| axis.z.abs() < 1e-12));
    }
}
