//! What is pressed, what that asks of the leg, and what goes into the seat.

use super::{Figure, Place, posture::brake_at_work};
use crate::{
    effort::{Effort, Joint, JointEffort, Presser},
    geometry::{Side, Vec3},
    posture::{Leg, Moment},
    project::PedalKind,
    study::Solved,
    units::{GRAVITY, Unit, mm, to_mm},
};

/// The figures: the brake's working force, and the effort of the leg that holds it.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let mut out = Vec::new();
    let rig = &study.rig;
    let Some(pedal) = rig.pedals.get(PedalKind::Brake) else { return out };
    let force = pedal.working_force;
    let face = pedal.face_at(0.0);
    let at = rig.pedals.X_WP * nalgebra::Point3::new(face.centre[0], pedal.sideways, face.centre[1]);
    out.push(Figure {
        id: "brake_force",
        side: None,
        item: None,
        value: force,
        sentence: format!("You work the brake with {} ({:.0} kg on the scale).", newtons(force), force / GRAVITY),
        place: Place::Point { at: at.coords },
        moment: Moment::REST.with_travel(PedalKind::Brake, pedal.working_travel),
        parts: vec!["brake".into()],
    });
    let Some((side, leg, moment)) = brake_at_work(study) else { return out };
    let presser = Presser::new(&study.body, rig, &study.rest.sitting, study.project.driver.age);
    let Some(effort) = presser.press(side, PedalKind::Brake, &leg, pedal.working_travel) else { return out };
    for (joint, id) in [(Joint::Knee, "knee_effort"), (Joint::Hip, "hip_effort"), (Joint::Ankle, "ankle_effort")] {
        let shoulder = study.rest.sitting.shoulders[side.index()];
        out.push(Figure {
            id,
            side: Some(side),
            item: None,
            value: 100.0 * effort.joint(joint).share,
            sentence: joint_sentence(side, &effort, effort.joint(joint)),
            place: joint_place(joint, &leg, shoulder),
            moment,
            parts: vec![format!("{} {}", side.word(), joint.word()), "brake".into()],
        });
    }
    let joints: Vec<&str> = effort.give_out_first().map(Joint::word).collect();
    let first = match joints.as_slice() {
        [] => String::new(),
        [one] => format!("; the {one} gives out first"),
        [some @ .., last] => format!("; {} and {last} give out first", some.join(", ")),
    };
    out.push(Figure {
        id: "push_reserve",
        side: None,
        item: None,
        value: effort.reserve(),
        sentence: format!(
            "As you sit you could push the brake with about {}, {} its working force{first}.",
            newtons(effort.greatest),
            Unit::Times.show(effort.reserve())
        ),
        place: Place::Point { at: leg.ball },
        moment,
        parts: vec![format!("{} leg", side.word()), "brake".into()],
    });
    out.push(back(study, &effort, moment));
    out
}

fn newtons(force: f64) -> String {
    Unit::Newton.show(force)
}

fn percent(share: f64) -> String {
    Unit::Percent.show(100.0 * share)
}

fn joint_sentence(side: Side, effort: &Effort, joint: &JointEffort) -> String {
    let does = match (joint.joint, joint.torque >= 0.0) {
        (Joint::Hip, true) => "your {} hip presses the thigh down with",
        (Joint::Hip, false) => "your {} hip lifts the thigh with",
        (Joint::Knee, true) => "your {} knee opens with",
        (Joint::Knee, false) => "your {} knee folds with",
        (Joint::Ankle, true) => "your {} calf points the foot with",
        (Joint::Ankle, false) => "your {} shin pulls the foot up with",
    }
    .replace("{}", side.word());
    let free = if (joint.share_heel_free - joint.share).abs() < 0.03 {
        String::new()
    } else {
        format!(" ({} with a heel that carries nothing)", percent(joint.share_heel_free))
    };
    let more = match joint.joint {
        Joint::Hip => format!("; {:.0} N·m more go to the side and into twist", effort.hip_aside),
        Joint::Knee => String::new(),
        Joint::Ankle => format!(
            "; with the heel down the calf alone could hold {}, {} of the force, which is its part in fine control",
            newtons(effort.calf),
            percent(effort.calf / effort.force.max(1.0))
        ),
    };
    format!(
        "To hold the brake at {} {does} {:.0} N·m, {} of what people of your sex, mass and stature give at that angle \
         between 18 and 25{free}{more}.",
        newtons(effort.force),
        joint.torque.abs(),
        percent(joint.share)
    )
}

fn joint_place(joint: Joint, leg: &Leg, shoulder: Vec3) -> Place {
    match joint {
        Joint::Hip => Place::Angle { at: leg.hip(), from: shoulder, to: leg.knee() },
        Joint::Knee => Place::Angle { at: leg.knee(), from: leg.hip(), to: leg.ankle() },
        Joint::Ankle => Place::Angle { at: leg.ankle(), from: leg.knee(), to: leg.ball },
    }
}

fn back(study: &Solved, effort: &Effort, moment: Moment) -> Figure {
    let (back, sitting) = (&effort.back, &study.rest.sitting);
    let shoulders = if back.shoulders >= 0.0 {
        format!("{} at lumbar height and {} at the shoulders", newtons(back.lumbar), newtons(back.shoulders))
    } else {
        format!("{} at lumbar height, while {} come off the shoulders", newtons(back.lumbar), newtons(-back.shoulders))
    };
    let cushion = if back.cushion >= 0.0 {
        format!("the cushion carries {} more", newtons(back.cushion))
    } else {
        format!("the cushion carries {} less", newtons(-back.cushion))
    };
    let way = if back.shear >= 0.0 { "forward" } else { "back" };
    // The resultant stands behind the trunk; a push of nearly nothing has it far away.
    let height = back.height.clamp(mm(-200.0), mm(700.0));
    let frame = &study.rig.seat.X_WK;
    let from = sitting.h_point + frame.rotation * Vec3::z() * height;
    let off = (from - frame.translation.vector).dot(&(frame.rotation * Vec3::x()));
    Figure {
        id: "back_push",
        side: None,
        item: None,
        value: back.push,
        sentence: format!(
            "The brake pushes you into the seat back with {}, {} {} the H-point: {shoulders}; {cushion} and is sheared \
             {way} by {}, on top of your weight.",
            newtons(back.push),
            Unit::Millimetre.show(to_mm(back.height).abs()),
            if back.height >= 0.0 { "above" } else { "below" },
            newtons(back.shear.abs())
        ),
        place: Place::Gap { from, to: from - frame.rotation * Vec3::x() * off },
        moment,
        parts: vec!["back".into(), "seat back".into()],
    }
}
