//! Every number of a project in one list: its place, label, unit and range.
//!
//! The loader checks ranges with it, the window builds its inputs from it, and the search for what to move
//! takes its adjusters from it.

use super::{BackAngle, Measurements, Project, Rim};
use crate::units::Unit;

/// The topic under which a number is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Page {
    /// The driver.
    You,
    /// The seat.
    Seat,
    /// Wheel and wheel unit.
    Wheel,
    /// The pedal set.
    Pedals,
    /// Rails.
    Frame,
    /// Points to reach.
    Controls,
    /// Range of the checks.
    Motion,
}

impl Page {
    /// All topics, in the order in which a rig is fitted.
    pub const ALL: [Self; 7] =
        [Self::You, Self::Seat, Self::Wheel, Self::Pedals, Self::Frame, Self::Controls, Self::Motion];

    /// The heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::You => "You",
            Self::Seat => "Seat",
            Self::Wheel => "Wheel",
            Self::Pedals => "Pedals",
            Self::Frame => "Frame",
            Self::Controls => "Controls",
            Self::Motion => "Motion",
        }
    }
}

/// How a number may be moved to mend a finding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adjust {
    /// What it is called in a sentence: "the seat slider".
    pub name: &'static str,
    /// What moving it up is called: "forward".
    pub up: &'static str,
    /// What moving it down is called: "back".
    pub down: &'static str,
    /// Step in the number's unit; 0 where it is continuous.
    pub step: f64,
    /// The reasonable reach of this adjuster around its present value, in the number's unit.
    pub reach: f64,
}

/// One number of a project.
#[derive(Debug)]
pub struct Field<'a> {
    /// Its place, as in a fault: `seat.cushion.length_mm`, `pedals.pedals[0].face_mm[1]`.
    pub path: String,
    /// Its topic.
    pub page: Page,
    /// The part within the topic: "Cushion", "Brake", "Rail: left base".
    pub part: String,
    /// Its label.
    pub label: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// Least and greatest allowed value.
    pub range: (f64, f64),
    /// The number itself.
    pub value: &'a mut f64,
    /// Set where turning a screw on the rig changes it.
    pub adjust: Option<Adjust>,
}

/// Adjusters by path without indices: name, up, down, step, reach.
const ADJUSTERS: &[(&str, Adjust)] = &[
    ("seat.slider.at_mm", adjuster("the seat slider", "forward", "back", 0.0, 200.0)),
    ("seat.position_mm[2]", adjuster("the seat", "up", "down", 0.0, 150.0)),
    ("seat.position_mm[1]", adjuster("the seat", "to the left", "to the right", 0.0, 80.0)),
    ("wheel.centre_mm[0]", adjuster("the wheel", "away", "towards you", 0.0, 200.0)),
    ("wheel.centre_mm[1]", adjuster("the wheel", "to the left", "to the right", 0.0, 80.0)),
    ("wheel.centre_mm[2]", adjuster("the wheel", "up", "down", 0.0, 150.0)),
    ("wheel.column_angle_deg", adjuster("the column angle", "up", "down", 0.0, 15.0)),
    ("pedals.position_mm[0]", adjuster("the pedal set", "away", "towards you", 0.0, 250.0)),
    ("pedals.position_mm[2]", adjuster("the pedal set", "up", "down", 0.0, 120.0)),
    ("pedals.pedals.tilt_deg", adjuster("the pedal face", "forward", "back", 0.0, 20.0)),
    ("pedals.pedals.sideways_mm", adjuster("the pedal", "to the left", "to the right", 0.0, 150.0)),
    ("seat.back.lumbar_mm", adjuster("the lumbar pad", "out", "in", 0.0, 50.0)),
];

const fn adjuster(name: &'static str, up: &'static str, down: &'static str, step: f64, reach: f64) -> Adjust {
    Adjust { name, up, down, step, reach }
}

/// Least and greatest value that is taken for each measured dimension, in the order of [`Measurements::LIST`]: wide
/// enough for a child at the pedals and for the tallest and heaviest on record, narrow enough to tell a slip of unit.
/// What is odd only beside the other dimensions is questioned later, with the survey.
const MEASURED: [(f64, f64); 18] = [
    (900.0, 2500.0), // stature
    (25.0, 300.0),   // mass
    (500.0, 1400.0), // sitting height
    (400.0, 1300.0), // eye height, sitting
    (700.0, 2200.0), // shoulder height
    (400.0, 1400.0), // inseam
    (300.0, 1000.0), // buttock to knee
    (280.0, 900.0),  // knee height
    (250.0, 850.0),  // shoulder breadth
    (200.0, 750.0),  // hip breadth, sitting
    (400.0, 1350.0), // arm reach
    (180.0, 600.0),  // shoulder to elbow
    (170.0, 570.0),  // elbow to grip
    (100.0, 320.0),  // hand length
    (130.0, 430.0),  // foot length
    (50.0, 170.0),   // foot breadth
    (80.0, 350.0),   // thigh clearance
    (90.0, 600.0),   // waist depth
];
const _: () = assert!(MEASURED.len() == Measurements::LIST.len(), "every dimension has its range");

/// Calls `visit` for every number of `project`, in the order in which a rig is fitted.
pub fn fields(project: &mut Project, visit: &mut dyn FnMut(Field<'_>)) {
    let mut put = |path: &str,
                   page: Page,
                   part: &str,
                   label: &'static str,
                   unit: Unit,
                   range: (f64, f64),
                   value: &mut f64,
                   step: f64| {
        let bare = without_pedal_index(path);
        let adjust = ADJUSTERS.iter().find(|(name, _)| *name == bare).map(|&(_, adjust)| Adjust { step, ..adjust });
        visit(Field { path: path.to_owned(), page, part: part.to_owned(), label, unit, range, value, adjust });
    };
    use Page::{Controls, Frame, Motion, Pedals, Seat, Wheel, You};
    use Unit::{ClockHour, Degree, Millimetre, Newton};

    // Driver.
    for (&(field, _, label, unit, _), range) in Measurements::LIST.iter().zip(MEASURED) {
        if let Some(Some(measured)) = project.driver.measured.entry(field) {
            put(
                &format!("driver.measured.{field}.value"),
                You,
                "Measured",
                label,
                unit,
                range,
                &mut measured.value,
                0.0,
            );
            let most = if unit == Unit::Kilogram { 20.0 } else { 60.0 };
            put(
                &format!("driver.measured.{field}.error"),
                You,
                "Measured",
                "±",
                unit,
                (0.0, most),
                &mut measured.error,
                0.0,
            );
        }
    }
    let shoe = &mut project.driver.footwear;
    for (name, label, range, value) in [
        ("heel_sole_mm", "Sole under the heel", (0.0, 60.0), &mut shoe.heel_sole_mm),
        ("ball_sole_mm", "Sole under the ball", (0.0, 60.0), &mut shoe.ball_sole_mm),
        ("extra_length_mm", "Longer than the foot", (0.0, 80.0), &mut shoe.extra_length_mm),
        ("width_mm", "Outer width", (50.0, 160.0), &mut shoe.width_mm),
    ] {
        put(&format!("driver.footwear.{name}"), You, "Shoes", label, Millimetre, range, value, 0.0);
    }
    let limits = &mut project.driver.limits;
    for (name, label, most, value) in [
        ("ankle_dorsiflexion_deg", "Ankle up", 60.0, &mut limits.ankle_dorsiflexion_deg),
        ("ankle_plantarflexion_deg", "Ankle down", 90.0, &mut limits.ankle_plantarflexion_deg),
        ("knee_flexion_deg", "Knee bend", 170.0, &mut limits.knee_flexion_deg),
        ("hip_flexion_deg", "Hip bend", 160.0, &mut limits.hip_flexion_deg),
        ("elbow_flexion_deg", "Elbow bend", 170.0, &mut limits.elbow_flexion_deg),
        ("wrist_flexion_deg", "Wrist to the palm", 100.0, &mut limits.wrist_flexion_deg),
        ("wrist_extension_deg", "Wrist to the back", 110.0, &mut limits.wrist_extension_deg),
    ] {
        if let Some(value) = value {
            put(&format!("driver.limits.{name}"), You, "Limits", label, Degree, (0.0, most), value, 0.0);
        }
    }

    // Seat.
    let seat = &mut project.seat;
    for (axis, label, range) in
        [(0, "Forward", (-500.0, 2500.0)), (1, "Left", (-600.0, 600.0)), (2, "Up", (-100.0, 1200.0))]
    {
        put(
            &format!("seat.position_mm[{axis}]"),
            Seat,
            "Place",
            label,
            Millimetre,
            range,
            &mut seat.position_mm[axis],
            0.0,
        );
    }
    let (slider_range, slider_step) = (seat.slider.range_mm, seat.slider.step_mm);
    put(
        "seat.slider.at_mm",
        Seat,
        "Place",
        "Slider",
        Millimetre,
        (slider_range[0].min(slider_range[1]), slider_range[1].max(slider_range[0])),
        &mut seat.slider.at_mm,
        slider_step,
    );
    put(
        "seat.slider.range_mm[0]",
        Seat,
        "Place",
        "Slider, rear end",
        Millimetre,
        (-1000.0, 1000.0),
        &mut seat.slider.range_mm[0],
        0.0,
    );
    put(
        "seat.slider.range_mm[1]",
        Seat,
        "Place",
        "Slider, front end",
        Millimetre,
        (-1000.0, 1000.0),
        &mut seat.slider.range_mm[1],
        0.0,
    );
    put("seat.slider.step_mm", Seat, "Place", "Slider step", Millimetre, (0.0, 50.0), &mut seat.slider.step_mm, 0.0);
    put(
        "seat.cushion_angle_deg",
        Seat,
        "Angles",
        "Cushion from horizontal",
        Degree,
        (-10.0, 70.0),
        &mut seat.cushion_angle_deg,
        0.0,
    );
    match &mut seat.back_angle_deg {
        BackAngle::FromHorizontal(value) => {
            put("seat.back_angle_deg", Seat, "Angles", "Back from horizontal", Degree, (0.0, 100.0), value, 0.0)
        }
        BackAngle::FromVertical(value) => {
            put("seat.back_angle_deg", Seat, "Angles", "Back from vertical", Degree, (-10.0, 90.0), value, 0.0)
        }
    }
    let cushion = &mut seat.cushion;
    for (name, label, range, value) in [
        ("length_mm", "Length", (200.0, 700.0), &mut cushion.length_mm),
        ("width_mm", "Inner width at the hips", (200.0, 800.0), &mut cushion.width_mm),
        ("foam_mm", "Foam", (0.0, 150.0), &mut cushion.foam_mm),
        ("give_mm", "Foam give", (0.0, 100.0), &mut cushion.give_mm),
        ("bolster_height_mm", "Bolster height", (0.0, 250.0), &mut cushion.bolster_height_mm),
        ("bolster_width_mm", "Bolster width", (10.0, 150.0), &mut cushion.bolster_width_mm),
    ] {
        put(&format!("seat.cushion.{name}"), Seat, "Cushion", label, Millimetre, range, value, 0.0);
    }
    let back = &mut seat.back;
    for (name, label, range, value) in [
        ("length_mm", "Length", (250.0, 1200.0), &mut back.length_mm),
        ("width_mm", "Inner width at the ribs", (200.0, 800.0), &mut back.width_mm),
        ("foam_mm", "Foam", (0.0, 150.0), &mut back.foam_mm),
        ("give_mm", "Foam give", (0.0, 100.0), &mut back.give_mm),
        ("bolster_depth_mm", "Bolster depth", (0.0, 300.0), &mut back.bolster_depth_mm),
        ("bolster_width_mm", "Bolster width", (10.0, 150.0), &mut back.bolster_width_mm),
        ("bolster_top_mm", "Bolster top", (50.0, 900.0), &mut back.bolster_top_mm),
        ("lumbar_mm", "Lumbar pad", (0.0, 80.0), &mut back.lumbar_mm),
        ("lumbar_height_mm", "Lumbar height", (50.0, 400.0), &mut back.lumbar_height_mm),
    ] {
        put(&format!("seat.back.{name}"), Seat, "Back", label, Millimetre, range, value, 0.0);
    }
    if let Some(wings) = &mut seat.wings {
        for (name, label, range, value) in [
            ("from_mm", "Lower edge", (200.0, 1000.0), &mut wings.from_mm),
            ("to_mm", "Upper edge", (250.0, 1200.0), &mut wings.to_mm),
            ("depth_mm", "Depth", (10.0, 300.0), &mut wings.depth_mm),
            ("width_mm", "Inner width", (250.0, 900.0), &mut wings.width_mm),
        ] {
            put(&format!("seat.wings.{name}"), Seat, "Shoulder wings", label, Millimetre, range, value, 0.0);
        }
    }
    put("seat.shell_mm", Seat, "Shell", "Wall", Millimetre, (1.0, 40.0), &mut seat.shell_mm, 0.0);

    // Wheel.
    let wheel = &mut project.wheel;
    for (axis, label, range) in
        [(0, "Forward", (0.0, 3000.0)), (1, "Left", (-600.0, 600.0)), (2, "Up", (100.0, 1600.0))]
    {
        put(
            &format!("wheel.centre_mm[{axis}]"),
            Wheel,
            "Centre",
            label,
            Millimetre,
            range,
            &mut wheel.centre_mm[axis],
            0.0,
        );
    }
    put(
        "wheel.column_angle_deg",
        Wheel,
        "Centre",
        "Column from horizontal",
        Degree,
        (-10.0, 80.0),
        &mut wheel.column_angle_deg,
        0.0,
    );
    match &mut wheel.rim {
        Rim::Round { diameter_mm } => {
            put("wheel.rim.diameter_mm", Wheel, "Rim", "Diameter", Millimetre, (150.0, 600.0), diameter_mm, 0.0)
        }
        Rim::FlatBottomed { diameter_mm, flat_mm } => {
            put("wheel.rim.diameter_mm", Wheel, "Rim", "Diameter", Millimetre, (150.0, 600.0), diameter_mm, 0.0);
            put("wheel.rim.flat_mm", Wheel, "Rim", "Centre to flat", Millimetre, (50.0, 300.0), flat_mm, 0.0);
        }
        Rim::OpenTopped { diameter_mm, opening_deg } => {
            put("wheel.rim.diameter_mm", Wheel, "Rim", "Diameter", Millimetre, (150.0, 600.0), diameter_mm, 0.0);
            put("wheel.rim.opening_deg", Wheel, "Rim", "Opening", Degree, (10.0, 160.0), opening_deg, 0.0);
        }
        Rim::Formula { width_mm, height_mm, corner_mm } => {
            put("wheel.rim.width_mm", Wheel, "Rim", "Width", Millimetre, (150.0, 500.0), width_mm, 0.0);
            put("wheel.rim.height_mm", Wheel, "Rim", "Height", Millimetre, (100.0, 400.0), height_mm, 0.0);
            put("wheel.rim.corner_mm", Wheel, "Rim", "Corner radius", Millimetre, (20.0, 200.0), corner_mm, 0.0);
        }
    }
    put("wheel.tube_mm", Wheel, "Rim", "Grip thickness", Millimetre, (15.0, 60.0), &mut wheel.tube_mm, 0.0);
    put("wheel.lock_deg", Wheel, "Rim", "Turn to each stop", Degree, (10.0, 1080.0), &mut wheel.lock_deg, 0.0);
    put("wheel.hands_h[0]", Wheel, "Hands", "Left hand", ClockHour, (6.0, 12.0), &mut wheel.hands_h[0], 0.0);
    put("wheel.hands_h[1]", Wheel, "Hands", "Right hand", ClockHour, (0.0, 6.0), &mut wheel.hands_h[1], 0.0);
    let unit = &mut project.wheel_unit;
    for (axis, label) in ["Length", "Width", "Height"].into_iter().enumerate() {
        put(
            &format!("wheel_unit.size_mm[{axis}]"),
            Wheel,
            "Wheel unit",
            label,
            Millimetre,
            (30.0, 600.0),
            &mut unit.size_mm[axis],
            0.0,
        );
    }
    put(
        "wheel_unit.behind_mm",
        Wheel,
        "Wheel unit",
        "Behind the rim",
        Millimetre,
        (0.0, 400.0),
        &mut unit.behind_mm,
        0.0,
    );
    put(
        "wheel_unit.drop_mm",
        Wheel,
        "Wheel unit",
        "Below the shaft",
        Millimetre,
        (-200.0, 300.0),
        &mut unit.drop_mm,
        0.0,
    );

    // Pedals.
    let set = &mut project.pedals;
    for (axis, label, range) in
        [(0, "Forward", (0.0, 3500.0)), (1, "Left", (-600.0, 600.0)), (2, "Up", (-100.0, 1000.0))]
    {
        put(
            &format!("pedals.position_mm[{axis}]"),
            Pedals,
            "Set",
            label,
            Millimetre,
            range,
            &mut set.position_mm[axis],
            0.0,
        );
    }
    put(
        "pedals.plate_angle_deg",
        Pedals,
        "Set",
        "Plate from horizontal",
        Degree,
        (-20.0, 60.0),
        &mut set.plate_angle_deg,
        0.0,
    );
    put(
        "pedals.heel_rest_mm",
        Pedals,
        "Set",
        "Heel rest above plate",
        Millimetre,
        (0.0, 150.0),
        &mut set.heel_rest_mm,
        0.0,
    );
    for (index, pedal) in set.pedals.iter_mut().enumerate() {
        let at = format!("pedals.pedals[{index}]");
        let part = match pedal.kind {
            super::PedalKind::Clutch => "Clutch",
            super::PedalKind::Brake => "Brake",
            super::PedalKind::Throttle => "Throttle",
        };
        let ([face_forward, face_up], [pivot_forward, pivot_up], [width, height]) =
            (&mut pedal.face_mm, &mut pedal.pivot_mm, &mut pedal.size_mm);
        for (name, label, unit, range, value) in [
            ("sideways_mm", "Sideways, left positive", Millimetre, (-500.0, 500.0), &mut pedal.sideways_mm),
            ("face_mm[0]", "Face forward", Millimetre, (0.0, 800.0), face_forward),
            ("face_mm[1]", "Face up", Millimetre, (20.0, 600.0), face_up),
            ("pivot_mm[0]", "Pivot forward", Millimetre, (-300.0, 1200.0), pivot_forward),
            ("pivot_mm[1]", "Pivot up", Millimetre, (-200.0, 900.0), pivot_up),
            ("tilt_deg", "Face from vertical, top forward", Degree, (-30.0, 75.0), &mut pedal.tilt_deg),
            ("size_mm[0]", "Face width", Millimetre, (20.0, 200.0), width),
            ("size_mm[1]", "Face height", Millimetre, (20.0, 250.0), height),
            ("travel_mm", "Full travel", Millimetre, (1.0, 200.0), &mut pedal.travel_mm),
            ("working_travel_mm", "Travel at working force", Millimetre, (0.0, 200.0), &mut pedal.working_travel_mm),
            ("working_force_n", "Working force", Newton, (1.0, 2500.0), &mut pedal.working_force_n),
        ] {
            put(&format!("{at}.{name}"), Pedals, part, label, unit, range, value, 0.0);
        }
    }

    // Frame.
    for (index, rail) in project.frame.iter_mut().enumerate() {
        let part = format!("Rail: {}", rail.name);
        let at = format!("frame[{index}]");
        for (axis, label) in ["Section, across", "Section, upright"].into_iter().enumerate() {
            put(
                &format!("{at}.section_mm[{axis}]"),
                Frame,
                &part,
                label,
                Millimetre,
                (10.0, 320.0),
                &mut rail.section_mm[axis],
                0.0,
            );
        }
        for (axis, label) in ["From, forward", "From, left", "From, up"].into_iter().enumerate() {
            put(
                &format!("{at}.from_mm[{axis}]"),
                Frame,
                &part,
                label,
                Millimetre,
                (-4000.0, 5000.0),
                &mut rail.from_mm[axis],
                0.0,
            );
        }
        for (axis, label) in ["To, forward", "To, left", "To, up"].into_iter().enumerate() {
            put(
                &format!("{at}.to_mm[{axis}]"),
                Frame,
                &part,
                label,
                Millimetre,
                (-4000.0, 5000.0),
                &mut rail.to_mm[axis],
                0.0,
            );
        }
        put(&format!("{at}.roll_deg"), Frame, &part, "Roll", Degree, (-180.0, 180.0), &mut rail.roll_deg, 0.0);
    }

    // Controls.
    for (index, control) in project.controls.iter_mut().enumerate() {
        for (axis, label) in ["Forward", "Left", "Up"].into_iter().enumerate() {
            put(
                &format!("controls[{index}].at_mm[{axis}]"),
                Controls,
                &control.name,
                label,
                Millimetre,
                (-2000.0, 4000.0),
                &mut control.at_mm[axis],
                0.0,
            );
        }
    }

    // Motion.
    put(
        "motion.steer_deg",
        Motion,
        "Checks",
        "Steering to each side",
        Degree,
        (0.0, 1080.0),
        &mut project.motion.steer_deg,
        0.0,
    );
}

/// `pedals.pedals[2].tilt_deg` → `pedals.pedals.tilt_deg`: all pedals share their adjusters.
fn without_pedal_index(path: &str) -> String {
    match path.strip_prefix("pedals.pedals[").and_then(|rest| rest.split_once(']')) {
        Some((_, rest)) => format!("pedals.pedals{rest}"),
        None => path.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Least and greatest value in ANSUR II (Gordon et al. 2014, NATICK/TR-15/007; all 1986 women and 4082 men of
    /// the public data), mm and kg.
    const SURVEY: [(&str, f64, f64); 18] = [
        ("stature_mm", 1409.0, 1993.0),
        ("mass_kg", 35.8, 144.2),
        ("sitting_height_mm", 750.0, 1039.0),
        ("eye_height_sitting_mm", 654.0, 912.0),
        ("shoulder_height_mm", 1115.0, 1683.0),
        ("inseam_mm", 610.0, 1031.0),
        ("buttock_knee_mm", 466.0, 736.0),
        ("knee_height_mm", 407.0, 666.0),
        ("shoulder_breadth_mm", 357.0, 637.0),
        ("hip_breadth_sitting_mm", 280.0, 541.0),
        ("arm_reach_mm", 602.0, 998.0),
        ("shoulder_elbow_mm", 271.0, 423.0),
        ("elbow_grip_mm", 258.0, 416.0),
        ("hand_length_mm", 145.0, 239.0),
        ("foot_length_mm", 198.0, 323.0),
        ("foot_breadth_mm", 77.0, 126.0),
        ("thigh_clearance_mm", 121.0, 259.0),
        ("waist_depth_mm", 138.0, 406.0),
    ];

    #[test]
    fn measured_ranges_hold_everyone_of_the_survey_with_a_quarter_to_spare() {
        for ((&(field, ..), (low, high)), (name, least, most)) in Measurements::LIST.iter().zip(MEASURED).zip(SURVEY) {
            assert_eq!(field, name, "the order of both tables");
            assert!(low <= 0.75 * least && 1.25 * most <= high, "{field}");
            // A slip by a factor of ten or more leaves the range for everyone of the survey.
            assert!(0.1 * most < low && high < 10.0 * least, "{field}");
        }
    }

    #[test]
    fn pedals_share_their_adjusters() {
        assert_eq!(without_pedal_index("pedals.pedals[2].tilt_deg"), "pedals.pedals.tilt_deg");
        assert_eq!(without_pedal_index("seat.slider.at_mm"), "seat.slider.at_mm");
    }
}
