//! What the push on a pedal does to the seat.

use crate::{geometry::Vec3, posture::Sitting, rig::Rig, units::mm};

/// What the seat takes on because a pedal is pressed, over and above the body's weight, in the side plane.
///
/// The back carries whatever runs along its normal, without friction. What runs along its surface is carried by the
/// cushion through the H-point, partly as pressure and partly as shear. The moment of the trunk about the H-point is
/// carried at the height of the shoulder joints; the rest of the push goes in at the height of the H-point.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct BackReaction {
    /// On the back along its normal, N.
    pub push: f64,
    /// Of it at lumbar height, the height of the H-point, N.
    pub lumbar: f64,
    /// Of it at the height of the shoulder joints, N; negative where the push takes weight off the shoulders.
    pub shoulders: f64,
    /// Height of the resultant above the H-point along the back, m.
    pub height: f64,
    /// Added pressure on the cushion along its normal, N; negative where the push takes weight off it.
    pub cushion: f64,
    /// Shear along the cushion, N; positive where the body would slide forward on it.
    pub shear: f64,
}

impl BackReaction {
    /// From the pedal's force on the foot (W, N) and the moment in which the hip extends because of it (N·m).
    pub(super) fn of(rig: &Rig, sitting: &Sitting, on_foot: Vec3, hip_extension: f64) -> Self {
        let (seat, back) = (rig.seat.X_WS.rotation, rig.seat.X_WK.rotation);
        let (off, up) = (back * Vec3::x(), back * Vec3::z());
        let push = -on_foot.dot(&off);
        let along = up * on_foot.dot(&up);
        let shoulder = (sitting.shoulders[0] + sitting.shoulders[1]) / 2.0;
        let lever = (shoulder - sitting.h_point).dot(&up).max(mm(100.0));
        let shoulders = hip_extension / lever;
        Self {
            push,
            lumbar: push - shoulders,
            shoulders,
            height: if push.abs() > 1e-9 { hip_extension / push } else { 0.0 },
            cushion: -along.dot(&(seat * Vec3::z())),
            shear: along.dot(&(seat * Vec3::x())),
        }
    }
}
