//! When a bolted joint slips.
//!
//! A clamped bolt holds µ F along the face, F the preload that tightening surely leaves: F = T/(K α), K the torque per
//! preload and per metre (VDI 2230, from memory), α what a hand torque wrench scatters.

use super::{Found, Tie};
use crate::{
    geometry::Vec3,
    project::{JointKind, joint_row},
    units::mm,
};

/// Interface friction of aluminium: 0.12 (untreated alloys 0.12 to 0.20 by surface state, a published table; degreased
/// 0.08 to 0.15).
const FRICTION: f64 = 0.12;
/// Scatter of tightening by hand torque wrench, from memory (VDI 2230): 1.6.
const SCATTER: f64 = 1.6;
/// Of a bolt: tightening torque in a slot, N·m (common practice, no published source), and torque per preload, m, at a
/// thread friction of 0.14 (VDI 2230's formula, from memory).
const BOLTS: [(&str, f64, f64); 3] = [("M5", 5.0, 0.963e-3), ("M6", 10.0, 1.151e-3), ("M8", 20.0, 1.526e-3)];
/// A bracket's leg beside the contact, m: its bolt is about the middle of it.
const LEG: f64 = mm(20.0);

/// What one clamped bolt holds along the face, N.
pub fn of_bolt(size: &str) -> f64 {
    let (_, torque, per_preload) = BOLTS.iter().find(|bolt| bolt.0 == size).unwrap_or(&BOLTS[0]);
    FRICTION * torque / (per_preload * SCATTER)
}

/// What a joint holds before it slips, N.
pub(super) fn holds(tie: &Tie, bolt: &str) -> f64 {
    match *tie {
        Tie::Rails { kind, pieces, .. } => of_bolt(bolt) * f64::from(joint_row(kind).holding_bolts * pieces),
        Tie::Part { .. } => of_bolt(bolt),
    }
}

/// What is asked of the bolts of a joint, N: the force along the face, with what pulls the faces apart where brackets
/// alone hold them together; and moments as a couple across the contact and the brackets' legs. What presses the faces
/// together is carried by the faces.
pub(super) fn asks(force: Vec3, moment: Vec3, found: &Found) -> f64 {
    let [u, v] = found.size;
    let apart = match found.tie {
        // A screw in the core thread is pulled, not slid.
        Tie::Rails { kind: JointKind::EndToFace, .. } | Tie::Part { .. } => 0.0,
        Tie::Rails { .. } => force.x.abs(),
    };
    let slid = Vec3::new(apart, force.y, force.z).norm();
    let couple =
        moment.x.abs() / (u.hypot(v) / 2.0 + LEG) + moment.y.abs() / (v + 2.0 * LEG) + moment.z.abs() / (u + 2.0 * LEG);
    slid + couple
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked in the reference: M8 at 20 N·m gives 13.1 kN, surely 8.2 kN, holds 0.98 kN; M6 at 10 N·m 0.65 kN.
    #[test]
    fn one_bolt_holds_what_was_worked_out() {
        assert!((of_bolt("M8") - 983.0).abs() < 5.0, "{}", of_bolt("M8"));
        assert!((of_bolt("M6") - 652.0).abs() < 4.0, "{}", of_bolt("M6"));
        // A corner bracket with one M8 in each leg holds about 1 kN along each rail, two about 2 kN.
        let tie = |pieces: u32| Tie::Rails { guest: 1, host: 0, kind: JointKind::Bracket, pieces };
        assert!((holds(&tie(1), "M8") - 983.0).abs() < 5.0 && (holds(&tie(2), "M8") - 1966.0).abs() < 10.0);
    }
}
