//! Joint angles and seat angles.

use super::{Figure, Place, sentence::signed_sides};
use crate::{
    geometry::{Side, Vec3},
    posture::{Arm, Leg, Moment},
    project::PedalKind,
    study::Solved,
    units::{Unit, deg, mm, to_deg, to_mm},
};

/// The hip angle of a leg: trunk to thigh seen from the side, included, rad.
pub(crate) fn hip_angle(leg: &Leg) -> f64 {
    deg(180.0) - leg.angles.hip_flexion
}

/// The angles of an arm as people read them, degrees, by their rows in the table of bands.
pub(crate) fn arm_angles(arm: &Arm) -> [(&'static str, f64); 4] {
    let angles = &arm.angles;
    [
        ("elbow", 180.0 - to_deg(angles.elbow_flexion)),
        ("shoulder", to_deg(angles.shoulder_flexion)),
        ("wrist_flexion", to_deg(angles.wrist_flexion)),
        ("wrist_deviation", to_deg(angles.wrist_deviation)),
    ]
}

/// The included angles of knee and ankle as people read them, degrees.
pub(crate) fn knee_and_ankle(leg: &Leg) -> [f64; 2] {
    [180.0 - to_deg(leg.angles.knee_flexion), 90.0 - to_deg(leg.angles.ankle_dorsiflexion)]
}

/// The figures.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let mut out = Vec::new();
    let (sitting, rest) = (&study.rest.sitting, &study.rest);
    let seat = &study.project.seat;
    let show = |value: f64| Unit::Degree.show(value);

    // Torso and seat surfaces.
    let shoulders = (sitting.shoulders[0] + sitting.shoulders[1]) / 2.0;
    let above = |point: Vec3| point + Vec3::z() * 0.3;
    let recline = to_deg(sitting.recline);
    out.push(Figure {
        id: "torso_recline",
        side: None,
        item: None,
        value: recline,
        sentence: format!(
            "Your torso line leans {} back from vertical ({} from horizontal).",
            show(recline),
            show(90.0 - recline)
        ),
        place: Place::Angle { at: sitting.h_point, from: shoulders, to: above(sitting.h_point) },
        moment: Moment::REST,
        parts: vec!["torso".into(), "seat back".into()],
    });
    let from_vertical = seat.back_from_vertical_deg();
    let between = seat.cushion_to_back_deg();
    let origin = study.rig.seat.X_WS.translation.vector;
    let along_cushion = origin + study.rig.seat.X_WS.rotation * Vec3::x() * mm(seat.cushion.length_mm);
    let along_back = origin + study.rig.seat.X_WK.rotation * Vec3::z() * mm(seat.back.length_mm);
    out.push(Figure {
        id: "seat_cushion_angle",
        side: None,
        item: None,
        value: seat.cushion_deg(),
        sentence: format!(
            "The cushion rises {} from horizontal; cushion and back stand {} apart, and tilting a rigid shell turns both.",
            show(seat.cushion_deg()),
            show(between)
        ),
        place: Place::Angle { at: origin, from: along_cushion, to: origin + Vec3::x() * 0.3 },
        moment: Moment::REST,
        parts: vec!["cushion".into()],
    });
    out.push(Figure {
        id: "seat_back_angle",
        side: None,
        item: None,
        value: 90.0 - from_vertical,
        sentence: format!(
            "The back stands {} from horizontal, {} from vertical.",
            show(90.0 - from_vertical),
            show(from_vertical)
        ),
        place: Place::Angle { at: origin, from: along_back, to: origin - Vec3::x() * 0.3 },
        moment: Moment::REST,
        parts: vec!["seat back".into()],
    });

    // Legs.
    for side in Side::BOTH {
        let leg = &rest.legs[side.index()];
        let value = to_deg(hip_angle(leg));
        out.push(Figure {
            id: "trunk_thigh",
            side: Some(side),
            item: None,
            value,
            sentence: format!("Your {} thigh and your trunk make {}.", side.word(), show(value)),
            place: Place::Angle { at: leg.hip(), from: rest.sitting.shoulders[side.index()], to: leg.knee() },
            moment: Moment::REST,
            parts: vec![format!("{} hip", side.word())],
        });
    }
    if let Some((side, leg, moment)) = brake_at_work(study) {
        let [knee, ankle] = knee_and_ankle(&leg);
        out.push(knee_figure(
            "knee_brake",
            side,
            &leg,
            moment,
            format!("With the brake at its working force your {} knee stands at {}.", side.word(), show(knee)),
        ));
        out.push(ankle_figure("ankle_brake", side, &leg, moment, ankle, "with the brake at its working force"));
    }
    let right = &rest.legs[Side::Right.index()];
    if right.pedal == Some(PedalKind::Throttle) {
        let [knee, ankle] = knee_and_ankle(right);
        out.push(knee_figure(
            "knee_throttle",
            Side::Right,
            right,
            Moment::REST,
            format!("On the released throttle your right knee stands at {}.", show(knee)),
        ));
        out.push(ankle_figure("ankle_throttle", Side::Right, right, Moment::REST, ankle, "on the released throttle"));
    }
    if let Some((leg, moment, travel)) = throttle_held(study) {
        let [_, ankle] = knee_and_ankle(&leg);
        let held = format!("with the throttle held {} down", Unit::Millimetre.show(to_mm(travel)));
        out.push(ankle_figure("ankle_hold", Side::Right, &leg, moment, ankle, &held));
    }

    // Arms.
    for side in Side::BOTH {
        let arm = &rest.arms[side.index()];
        let parts = |joint: &str| vec![format!("{} {joint}", side.word())];
        let mut angle = |id: &'static str, value: f64, sentence: String, place: Place, parts: Vec<String>| {
            out.push(Figure { id, side: Some(side), item: None, value, sentence, place, moment: Moment::REST, parts });
        };
        let [(_, elbow), (_, trunk), (_, flexion), (_, deviation)] = arm_angles(arm);
        angle(
            "elbow",
            elbow,
            format!("Your {} elbow is bent to {} with the wheel straight.", side.word(), show(elbow)),
            Place::Angle { at: arm.elbow(), from: arm.shoulder(), to: arm.wrist() },
            parts("elbow"),
        );
        angle(
            "shoulder",
            trunk,
            format!("Your {} upper arm stands {} forward of your trunk.", side.word(), show(trunk)),
            Place::Angle { at: arm.shoulder(), from: rest.sitting.hips[side.index()], to: arm.elbow() },
            parts("shoulder"),
        );
        let wrist = Place::Angle { at: arm.wrist(), from: arm.elbow(), to: arm.grip };
        angle(
            "wrist_flexion",
            flexion,
            format!("Your {} wrist is bent {}.", side.word(), signed_sides(flexion, "towards the palm", "back")),
            wrist,
            parts("wrist"),
        );
        angle(
            "wrist_deviation",
            deviation,
            format!(
                "Your {} wrist is turned {}.",
                side.word(),
                signed_sides(deviation, "towards the thumb", "towards the little finger")
            ),
            wrist,
            parts("wrist"),
        );
    }

    let neck = to_deg(sitting.neck_flexion);
    out.push(Figure {
        id: "neck",
        side: None,
        item: None,
        value: neck,
        sentence: format!("To look ahead you hold your head {} forward of your torso line.", show(neck)),
        place: Place::Angle {
            at: sitting.neck.translation.vector,
            from: sitting.neck.translation.vector + (shoulders - sitting.h_point) * 0.5,
            to: sitting.head.translation.vector,
        },
        moment: Moment::REST,
        parts: vec!["neck".into()],
    });
    out
}

/// The braking leg with the brake at its working travel.
pub(super) fn brake_at_work(study: &Solved) -> Option<(Side, Leg, Moment)> {
    let travel = study.rig.pedals.get(PedalKind::Brake)?.working_travel;
    let sweep = study.motion.pedal(PedalKind::Brake)?;
    let moment = Moment::REST.with_travel(PedalKind::Brake, travel);
    Some((sweep.side, study.between().leg(sweep.side, &moment), moment))
}

/// The right leg with the throttle held part of the way down, and how far.
fn throttle_held(study: &Solved) -> Option<(Leg, Moment, f64)> {
    let pedal = study.rig.pedals.get(PedalKind::Throttle)?;
    let sweep = study.motion.pedal(PedalKind::Throttle)?;
    let travel = mm(study.project.motion.throttle_hold_mm).min(pedal.travel);
    let moment = Moment::REST.with_travel(PedalKind::Throttle, travel);
    (travel > 0.0).then(|| (study.between().leg(sweep.side, &moment), moment, travel))
}

fn knee_figure(id: &'static str, side: Side, leg: &Leg, moment: Moment, sentence: String) -> Figure {
    Figure {
        id,
        side: Some(side),
        item: None,
        value: knee_and_ankle(leg)[0],
        sentence,
        place: Place::Angle { at: leg.knee(), from: leg.hip(), to: leg.ankle() },
        moment,
        parts: vec![format!("{} knee", side.word())],
    }
}

fn ankle_figure(id: &'static str, side: Side, leg: &Leg, moment: Moment, ankle: f64, when: &str) -> Figure {
    let pulled = if ankle < 90.0 { "pulled up" } else { "pointed" };
    Figure {
        id,
        side: Some(side),
        item: None,
        value: ankle,
        sentence: format!(
            "Your {} ankle stands at {} between shank and sole {when}, {} {pulled}.",
            side.word(),
            Unit::Degree.show(ankle),
            Unit::Degree.show((ankle - 90.0).abs())
        ),
        place: Place::Angle { at: leg.ankle(), from: leg.knee(), to: leg.ball },
        moment,
        parts: vec![format!("{} ankle", side.word())],
    }
}
