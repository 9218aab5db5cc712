//! The project's controls: each in its zone, with its margin and the arm that works it.

use serde::Serialize;

use super::{Answer, Grip, Limb, Reach, Zone};
use crate::{
    geometry::Side,
    rig::Rig,
    units::{to_deg, to_mm},
};

/// One control.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ControlReach {
    /// Its name.
    pub name: String,
    /// The hand that works it.
    pub hand: Side,
    /// What the hand does.
    pub grip: Grip,
    /// The innermost zone that holds it, or null.
    pub zone: Option<Zone>,
    /// Signed distance to the boundary of what the arm attains with the shoulders on the seat, mm, positive inside; null
    /// where that is empty.
    pub margin_mm: Option<f64>,
    /// The same of the comfortable zone.
    pub comfortable_margin_mm: Option<f64>,
    /// The wrist towards the palm (+) or its back (−), degrees.
    pub wrist_flexion_deg: f64,
    /// The wrist towards the thumb (+) or the little finger (−), degrees.
    pub wrist_deviation_deg: f64,
    /// The angle at the elbow, degrees, 180 straight.
    pub elbow_deg: f64,
    /// What is in the way where it cannot be reached, or null.
    pub blocked_by: Option<String>,
    /// What the arm falls short by where it cannot, mm; 0 elsewhere.
    pub short_mm: f64,
}

/// All controls of a rig, asked of the reach of both hands (left, right).
pub fn controls(rig: &Rig, hands: [&Reach; 2]) -> Vec<(ControlReach, Answer)> {
    rig.controls
        .iter()
        .map(|control| {
            let reach = hands[control.hand.index()];
            let answer = reach.ask(control.at);
            let grip = match reach.limb {
                Limb::Hand(_, grip) => grip,
                Limb::Foot(..) => Grip::Full,
            };
            let tenth = |value: f64| (value * 10.0).round() / 10.0;
            let margin = |zone: Zone| answer.margin(zone).map(|margin| tenth(to_mm(margin)));
            let [.., flexion, deviation] = answer.pose.angles;
            let row = ControlReach {
                name: control.name.clone(),
                hand: control.hand,
                grip,
                zone: answer.zone,
                margin_mm: margin(Zone::Attainable),
                comfortable_margin_mm: margin(Zone::Comfortable),
                wrist_flexion_deg: tenth(to_deg(flexion)),
                wrist_deviation_deg: tenth(to_deg(deviation)),
                elbow_deg: tenth(to_deg(answer.pose.middle_angle())),
                blocked_by: answer.blocked_by.as_ref().map(|what| what.words(rig)),
                short_mm: tenth(to_mm(answer.short)),
            };
            (row, answer)
        })
        .collect()
}
