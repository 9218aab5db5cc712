//! Turns of phrase that several groups share.

use crate::{
    body::BodyPart,
    clearance::Partner,
    posture::Moment,
    project::{PedalKind, Project},
    rig::RigPart,
    units::{Unit, to_deg, to_mm},
};

/// "7° back", "12° towards the palm", "not at all".
pub(super) fn signed_sides(degrees: f64, positive: &str, negative: &str) -> String {
    if degrees.abs() < 0.5 {
        return "not at all".to_owned();
    }
    format!("{} {}", Unit::Degree.show(degrees.abs()), if degrees > 0.0 { positive } else { negative })
}

/// When a moment is, for the end of a sentence; empty at rest.
pub(super) fn when(moment: &Moment) -> String {
    let mut parts = Vec::new();
    let steer = to_deg(moment.steer);
    if steer.abs() >= 0.5 {
        let side = if steer > 0.0 { "left" } else { "right" };
        parts.push(format!("at {} of {side} lock", Unit::Degree.show(steer.abs())));
    }
    for kind in [PedalKind::Clutch, PedalKind::Brake, PedalKind::Throttle] {
        let travel = to_mm(moment.travel_of(kind));
        if travel >= 0.5 {
            parts.push(format!("with the {} {} down", kind.word(), Unit::Millimetre.show(travel)));
        }
    }
    if parts.is_empty() { String::new() } else { format!(" {}", parts.join(", ")) }
}

/// What a body part is called: "left knee".
pub(super) fn body_part(part: BodyPart) -> String {
    let (word, side) = match part {
        BodyPart::Head => ("head", None),
        BodyPart::Neck => ("neck", None),
        BodyPart::Chest => ("breastbone", None),
        BodyPart::Abdomen => ("belly", None),
        BodyPart::Pelvis => ("pelvis", None),
        BodyPart::UpperArm(side) => ("upper arm", Some(side)),
        BodyPart::Elbow(side) => ("elbow", Some(side)),
        BodyPart::Forearm(side) => ("forearm", Some(side)),
        BodyPart::Hand(side) => ("hand", Some(side)),
        BodyPart::Thigh(side) => ("thigh", Some(side)),
        BodyPart::Knee(side) => ("knee", Some(side)),
        BodyPart::Shank(side) => ("shin", Some(side)),
        BodyPart::Foot(side) => ("foot", Some(side)),
    };
    side.map_or_else(|| word.to_owned(), |side| format!("{} {word}", side.word()))
}

/// What the other partner is called, with its article: "the rim", "your right thigh".
pub(super) fn partner(partner: &Partner, project: &Project) -> String {
    match partner {
        Partner::Body(part) => format!("your {}", body_part(*part)),
        Partner::Rig(RigPart::Seat(name) | RigPart::Screen(name)) => format!("the {name}"),
        Partner::Rig(RigPart::Rim) => "the rim".to_owned(),
        Partner::Rig(RigPart::Hub) => "the hub".to_owned(),
        Partner::Rig(RigPart::WheelUnit) => "the wheel unit".to_owned(),
        Partner::Rig(RigPart::Pedal(kind)) => format!("the {}", kind.word()),
        Partner::Rig(RigPart::Control(index)) => {
            project.controls.get(*index).map_or_else(|| "a control".to_owned(), |control| control.name.clone())
        }
        Partner::Rig(RigPart::Imported(index)) => {
            // Shapes that were not read are not placed.
            let mut read = project.shapes.iter().filter(|shape| shape.mesh.0.is_some());
            read.nth(*index).map_or_else(|| "an imported part".to_owned(), |shape| format!("“{}”", shape.name))
        }
        Partner::Rig(RigPart::PedalBase) => "the pedal plate".to_owned(),
        Partner::Rig(RigPart::Rail(index)) => {
            project.frame.get(*index).map_or_else(|| "a rail".to_owned(), |rail| format!("the rail “{}”", rail.name))
        }
    }
}
