//! What a number is measured from and to, in place of a drawing: under a heading, or when its label is pointed at.

/// What all numbers of a part have in common, if that is not plain.
pub(super) fn of_part(part: &str) -> Option<&'static str> {
    Some(match part {
        "Place" | "Centre" => "From the rear face of the frame, its middle, and the floor",
        "Set" => "The rear edge of the heel plate on the set's middle line",
        "Clutch" | "Brake" | "Throttle" => {
            "Seen from the rear edge of the heel plate, along the plate and square to it"
        }
        "Cushion" | "Back" | "Shoulder wings" => "Along and square to the surface that you sit on or lean on",
        "Wheel unit" => "Along the shaft and across it",
        _ => return None,
    })
}

/// What a number says, by its path.
pub(super) fn of(path: &str) -> Option<&'static str> {
    let bare = bare(path);
    let whole = bare.split_once('[').map_or(bare.as_str(), |(whole, _)| whole);
    HINTS.iter().find(|(known, _)| *known == bare || *known == whole).map(|&(_, hint)| hint)
}

/// `pedals.pedals[2].face_mm[0]` → `pedals.pedals.face_mm[0]`: places in lists are left out.
fn bare(path: &str) -> String {
    let mut out = String::new();
    let mut rest = path;
    while let Some((before, after)) = rest.split_once('[') {
        let Some((index, behind)) = after.split_once(']') else { break };
        out.push_str(before);
        if !behind.starts_with('.') {
            out.push('[');
            out.push_str(index);
            out.push(']');
        }
        rest = behind;
    }
    out + rest
}

const HINTS: &[(&str, &str)] = &[
    ("seat.position_mm", "Where the surfaces of cushion and back meet on the seat's middle line, slider at 0"),
    ("seat.slider.at_mm", "How far the seat stands forward of the place above"),
    ("seat.slider.step_mm", "From one detent to the next; 0 for a slider that holds anywhere"),
    ("seat.cushion_angle_deg", "A gauge laid along the cushion; positive with its front edge up"),
    ("seat.back_angle_deg", "A gauge laid along the back, on its middle line"),
    ("seat.cushion.length_mm", "Along the cushion, from the back to its front edge"),
    ("seat.cushion.width_mm", "Between the bolsters, where the hips sit"),
    ("seat.cushion.foam_mm", "Above the shell, with nobody on it"),
    ("seat.cushion.give_mm", "How far the foam goes down under 77 kg"),
    ("seat.cushion.bolster_height_mm", "Above the cushion; 0 for none"),
    ("seat.cushion.bolster_width_mm", "Of one bolster, across"),
    ("seat.back.length_mm", "Along the back, from the cushion to its top edge"),
    ("seat.back.width_mm", "Between the bolsters, at the ribs"),
    ("seat.back.foam_mm", "In front of the shell, with nobody leaning on it"),
    ("seat.back.give_mm", "How far the foam goes in under 77 kg"),
    ("seat.back.bolster_depth_mm", "How far they stand out from the back; 0 for none"),
    ("seat.back.bolster_width_mm", "Of one bolster, across"),
    ("seat.back.bolster_top_mm", "Along the back, from the cushion to their upper end"),
    ("seat.back.lumbar_mm", "How far the pad stands out; 0 for a flat back"),
    ("seat.back.lumbar_height_mm", "Along the back, from the cushion to where the pad stands out most"),
    ("seat.back.lumbar_length_mm", "From its lower to its upper end, along the back"),
    ("seat.wings.from_mm", "Along the back, from the cushion"),
    ("seat.wings.to_mm", "Along the back, from the cushion"),
    ("seat.wings.depth_mm", "How far they stand out from the back"),
    ("seat.wings.width_mm", "Between the two wings"),
    ("seat.shell_mm", "Thickness of the shell under the foam"),
    ("wheel.centre_mm", "The middle of the rim, in the plane of its ring"),
    ("wheel.column_angle_deg", "The shaft from level; the wheel leans from upright by the same angle, its top forward"),
    ("wheel.rim.diameter_mm", "Over the outside of the grip"),
    ("wheel.rim.flat_mm", "From the middle down to the outside of the flat"),
    ("wheel.rim.opening_deg", "The part of the circle that is left out at the top"),
    ("wheel.rim.width_mm", "Over the outside of the grips"),
    ("wheel.rim.height_mm", "Over the outside, from bottom to top"),
    ("wheel.rim.corner_mm", "Radius of the outside of a corner"),
    ("wheel.tube_mm", "Through the grip, where the hand closes round it"),
    ("wheel.lock_deg", "From straight ahead to the stop on one side"),
    ("wheel.hands_h", "Where the hand holds, as on the face of a clock"),
    ("wheel_unit.size_mm[0]", "Along the shaft"),
    ("wheel_unit.size_mm[1]", "From left to right"),
    ("wheel_unit.size_mm[2]", "Across the shaft, from below to above"),
    ("wheel_unit.behind_mm", "Along the shaft, from the plane of the rim to the near face of the unit"),
    ("wheel_unit.drop_mm", "From the shaft down to the middle of the unit, across the shaft"),
    ("pedals.position_mm", "The rear edge of the heel plate, on the set's middle line"),
    ("pedals.plate_angle_deg", "The plate from level, its front edge up"),
    ("pedals.heel_rest_mm", "Where the heels stand, square to the plate"),
    ("pedals.pedals.sideways_mm", "From the set's middle line to the middle of the face"),
    ("pedals.pedals.face_mm[0]", "To the middle of the face, at rest, along the plate"),
    ("pedals.pedals.face_mm[1]", "To the middle of the face, at rest, square to the plate"),
    ("pedals.pedals.pivot_mm[0]", "To the axle that the arm turns about, along the plate"),
    (
        "pedals.pedals.pivot_mm[1]",
        "To the axle, square to the plate: below the face it is hinged at the floor, above it top-hung",
    ),
    ("pedals.pedals.tilt_deg", "The face at rest, from square to the plate; its top edge forward"),
    ("pedals.pedals.travel_mm", "Of the middle of the face, along its arc, from rest to the stop"),
    ("pedals.pedals.working_travel_mm", "How far it goes under the working force"),
    ("pedals.pedals.working_force_n", "What you press it with when you drive"),
    ("controls.at_mm", "Where the hand grips it"),
    ("frame.from_on.along_mm", "From the first end of the rail that carries it"),
    ("frame.to_on.along_mm", "From the first end of the rail that carries it"),
    ("frame.from_on.sideways_mm", "Aside from the slot: up, or left on a top or bottom face"),
    ("frame.to_on.sideways_mm", "Aside from the slot: up, or left on a top or bottom face"),
    ("frame.roll_deg", "Turned about its own middle line"),
    ("shapes.at_mm", "Where the file's origin stands, seen from the part that it stands for"),
    ("shapes.turn_deg", "Turned there, about forward, left and up in this order"),
    ("loads.wheel_torque_nm", "The greatest that the wheel unit gives"),
    ("loads.wheel_pull_n", "As somebody who gets in pulls on the rim"),
    ("loads.floor_friction", "Between feet and floor: about 0.5 for rubber on a hard floor"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{fields, parse};

    #[test]
    fn every_hint_belongs_to_a_number_and_every_place_in_a_list_shares_it() {
        assert_eq!(bare("pedals.pedals[2].face_mm[0]"), "pedals.pedals.face_mm[0]");
        assert_eq!(bare("wheel.tube_mm"), "wheel.tube_mm");
        let mut known = Vec::new();
        let demos = [
            include_str!("../../../assets/club_rig.ron"),
            include_str!("../../../assets/three_pedals.ron"),
            include_str!("../../../assets/formula.ron"),
            include_str!("../../../assets/bucket_shell.ron"),
            include_str!("../../../assets/closed_car.ron"),
        ];
        for text in demos {
            fields(&mut parse(text).unwrap().into_inner(), &mut |field| known.push(bare(&field.path)));
        }
        assert_eq!(of("pedals.pedals[1].tilt_deg"), of("pedals.pedals[0].tilt_deg"));
        // What no demo has: other rims, wings, loads.
        let unseen = ["wheel.rim", "seat.wings", "loads"];
        for (path, _) in HINTS {
            let is_known = known.iter().any(|known| known == path || known.starts_with(&format!("{path}[")));
            assert!(is_known || unseen.iter().any(|part| path.starts_with(part)), "{path}");
        }
    }
}
