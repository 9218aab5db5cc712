//! Every number of a project in one list: its place, label, unit and range.
//!
//! The loader checks ranges with it, the window builds its inputs from it, and the search for what to move
//! takes its adjusters from it.

use std::borrow::Cow;

use super::{
    AdjusterRange, BackAngle, Driver, FrameLoads, Measurements, PedalKind, PedalSet, Project, Rail, Rim, SavedView,
    ScreenKind, ScreenPlace, ScreenSize, ScreenStand, Screens, Seat, Shape, Slider, StandsFor, Wheel, WheelUnit,
};
use crate::units::Unit::{self, ClockHour, Degree, Kilogram, Millimetre, Newton, NewtonMetre, Times};

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
    /// Screens and their stand.
    Screens,
    /// Points to reach.
    Controls,
    /// Range of the checks.
    Motion,
    /// Views that were kept: no topic that is asked for.
    Views,
}

impl Page {
    /// All topics that are asked for, in the order in which a rig is fitted.
    pub const ALL: [Self; 8] =
        [Self::You, Self::Seat, Self::Wheel, Self::Pedals, Self::Frame, Self::Screens, Self::Controls, Self::Motion];

    /// The topic so many places further on in [`Page::ALL`], round its ends.
    #[must_use]
    pub fn beside(self, by: isize) -> Self {
        let here = Self::ALL.iter().position(|page| *page == self).unwrap_or(0);
        let count = Self::ALL.len();
        Self::ALL[(here + count).saturating_add_signed(by % count.cast_signed()) % count]
    }

    /// The heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::You => "You",
            Self::Seat => "Seat",
            Self::Wheel => "Wheel",
            Self::Pedals => "Pedals",
            Self::Frame => "Frame",
            Self::Screens => "Screens",
            Self::Controls => "Controls",
            Self::Motion => "Motion",
            Self::Views => "Views",
        }
    }
}

impl StandsFor {
    /// The topic under which a shape that stands for this is asked for.
    pub const fn page(self) -> Page {
        match self {
            Self::Seat => Page::Seat,
            Self::Rim | Self::WheelUnit => Page::Wheel,
            Self::PedalPlate => Page::Pedals,
            Self::Screen => Page::Screens,
            Self::Other => Page::Frame,
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
    ("screens.place.distance_mm", adjuster("the screen", "away", "towards you", 0.0, 300.0)),
    ("screens.place.forward_mm", adjuster("the screen", "away", "towards you", 0.0, 300.0)),
    ("screens.height_mm", adjuster("the screen", "up", "down", 0.0, 200.0)),
    ("seat.back.lumbar_mm", adjuster("the lumbar pad", "out", "in", 0.0, 50.0)),
    ("seat.back.lumbar_height_mm", adjuster("the lumbar pad", "up", "down", 0.0, 80.0)),
];

/// What is an adjuster only where the project describes it as one.
const DESCRIBED: &[(&str, Adjust)] = &[
    ("seat.position_mm[0]", adjuster("the seat", "forward", "back", 0.0, 0.0)),
    ("seat.cushion_angle_deg", adjuster("the cushion's front edge", "up", "down", 0.0, 0.0)),
    ("seat.back_angle_deg", adjuster("the gauge reading of the back", "up", "down", 0.0, 0.0)),
    ("seat.tilt_deg", adjuster("the seat's front edge", "up", "down", 0.0, 0.0)),
    ("pedals.position_mm[1]", adjuster("the pedal set", "to the left", "to the right", 0.0, 0.0)),
    ("pedals.plate_angle_deg", adjuster("the pedal plate's front edge", "up", "down", 0.0, 0.0)),
    ("pedals.pedals.face_mm[0]", adjuster("the pedal face", "away", "towards you", 0.0, 0.0)),
    ("pedals.pedals.face_mm[1]", adjuster("the pedal face", "up", "down", 0.0, 0.0)),
    ("screens.place.left_mm", adjuster("the screen", "to the left", "to the right", 0.0, 0.0)),
    ("screens.tilt_deg", adjuster("the screen's upper edge", "back", "towards you", 0.0, 0.0)),
    ("screens.kind.side_angle_deg", adjuster("the side screens", "in", "out", 0.0, 0.0)),
    ("shapes.at_mm[0]", adjuster("the imported part", "away", "towards you", 0.0, 0.0)),
    ("shapes.at_mm[1]", adjuster("the imported part", "to the left", "to the right", 0.0, 0.0)),
    ("shapes.at_mm[2]", adjuster("the imported part", "up", "down", 0.0, 0.0)),
];

/// Whether the number at a path can be described as an adjuster.
pub fn can_be_adjusted(path: &str) -> bool {
    let bare = without_index(path);
    ADJUSTERS.iter().chain(DESCRIBED).any(|(name, _)| *name == bare)
}

/// The topic of the number at a path that can be adjusted; `None` where none can be there.
pub(super) fn page_of_adjustable(project: &Project, path: &str) -> Option<Page> {
    if !can_be_adjusted(path) {
        return None;
    }
    let (part, rest) = path.split_once(['.', '['])?;
    match part {
        "seat" => Some(Page::Seat),
        "wheel" => Some(Page::Wheel),
        "pedals" => Some(Page::Pedals),
        "screens" => Some(Page::Screens),
        "shapes" => Some(project.shapes.get(rest.split(']').next()?.parse::<usize>().ok()?)?.stands_for.page()),
        _ => None,
    }
}

const fn adjuster(name: &'static str, up: &'static str, down: &'static str, step: f64, reach: f64) -> Adjust {
    Adjust { name, up, down, step, reach }
}

/// Least and greatest value that is taken for each measured dimension, in the order of [`Measurements::LIST`]: wide
/// enough for a child at the pedals and for the tallest and heaviest on record, narrow enough to tell a slip of unit.
/// What is odd only beside the other dimensions is questioned later, with the survey.
const MEASURED: [(f64, f64); 19] = [
    (900.0, 2500.0), // stature
    (25.0, 300.0),   // mass
    (500.0, 1400.0), // sitting height
    (400.0, 1300.0), // eye height, sitting
    (300.0, 1000.0), // shoulder height, sitting
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
    walk(project, None, visit);
}

/// Calls `visit` for the numbers of one topic, in their order among all; the others take no time.
pub fn fields_of_page(project: &mut Project, page: Page, visit: &mut dyn FnMut(Field<'_>)) {
    walk(project, Some(page), visit);
}

fn walk(project: &mut Project, only: Option<Page>, visit: &mut dyn FnMut(Field<'_>)) {
    let wants = |page: Page| only.is_none_or(|only| only == page);
    let described = project.adjusters.clone();
    let mut list = List { visit, page: Page::You, part: String::new(), described };
    if wants(Page::You) {
        driver(&mut list, "driver", "", &mut project.driver);
        for (index, other) in project.others.iter_mut().enumerate() {
            let name = format!("{}: ", other.name);
            driver(&mut list, &format!("others[{index}]"), &name, other);
        }
    }
    if wants(Page::Seat) {
        seat(&mut list, &mut project.seat);
    }
    if wants(Page::Wheel) {
        wheel(&mut list, &mut project.wheel);
        wheel_unit(&mut list, &mut project.wheel_unit);
    }
    if wants(Page::Pedals) {
        pedals(&mut list, &mut project.pedals);
    }
    if wants(Page::Frame) {
        for (index, rail) in project.frame.iter_mut().enumerate() {
            self::rail(&mut list, &format!("frame[{index}]"), rail);
        }
        if let Some(loads) = &mut project.loads {
            self::loads(&mut list, loads);
        }
    }
    if let Some(screens) = &mut project.screens
        && wants(Page::Screens)
    {
        self::screens(&mut list, screens);
    }
    if wants(Page::Controls) {
        for (index, control) in project.controls.iter_mut().enumerate() {
            list.begin(Page::Controls, control.name.clone());
            list.row(&format!("controls[{index}].at_mm"), PLACE, [(-2000.0, 4000.0); 3], &mut control.at_mm);
        }
    }
    for (index, shape) in project.shapes.iter_mut().enumerate() {
        if wants(shape.stands_for.page()) {
            self::shape(&mut list, &format!("shapes[{index}]"), shape);
        }
    }
    if wants(Page::Views) {
        for (index, view) in project.views.iter_mut().enumerate() {
            self::view(&mut list, &format!("views[{index}]"), view);
        }
    }
    if wants(Page::Motion) {
        list.begin(Page::Motion, "Checks");
        let steer = &mut project.motion.steer_deg;
        list.put("motion.steer_deg", "Steering to each side", Degree, (0.0, 1080.0), steer);
        let hold = &mut project.motion.throttle_hold_mm;
        list.put("motion.throttle_hold_mm", "Throttle held", Millimetre, (0.0, 300.0), hold);
        if let Some(tolerances) = &mut project.tolerances {
            list.begin(Page::Motion, "Tolerances");
            list.put("tolerances.length_mm", "Lengths", Millimetre, (0.0, 20.0), &mut tolerances.length_mm);
            list.put("tolerances.angle_deg", "Angles", Degree, (0.0, 5.0), &mut tolerances.angle_deg);
        }
    }
}

fn view(list: &mut List, at: &str, view: &mut SavedView) {
    list.begin(Page::Views, format!("View: {}", view.name));
    list.row(&format!("{at}.focus_mm"), PLACE, [(-10_000.0, 10_000.0); 3], &mut view.focus_mm);
    list.put(format!("{at}.azimuth_deg"), "From forward to the left", Degree, (-3600.0, 3600.0), &mut view.azimuth_deg);
    list.put(format!("{at}.elevation_deg"), "Above the floor", Degree, (-90.0, 90.0), &mut view.elevation_deg);
    list.put(format!("{at}.height_mm"), "Height of the picture", Millimetre, (50.0, 12_000.0), &mut view.height_mm);
}

fn rail(list: &mut List, at: &str, rail: &mut Rail) {
    list.begin(Page::Frame, format!("Rail: {}", rail.name));
    let section = ["Section, across", "Section, upright"];
    list.row(&format!("{at}.section_mm"), section, [(10.0, 320.0); 2], &mut rail.section_mm);
    let from = ["From, forward", "From, left", "From, up"];
    let to = ["To, forward", "To, left", "To, up"];
    for (end, labels, [along, aside], place, on) in [
        ("from", from, ["From, along", "From, aside"], &mut rail.from_mm, &mut rail.from_on),
        ("to", to, ["To, along", "To, aside"], &mut rail.to_mm, &mut rail.to_on),
    ] {
        if let Some(on) = on {
            let on_at = format!("{at}.{end}_on");
            list.put(format!("{on_at}.along_mm"), along, Millimetre, (-500.0, 6000.0), &mut on.along_mm);
            list.put(format!("{on_at}.sideways_mm"), aside, Millimetre, (-500.0, 500.0), &mut on.sideways_mm);
        } else {
            list.row(&format!("{at}.{end}_mm"), labels, [(-4000.0, 5000.0); 3], place);
        }
    }
    list.put(format!("{at}.roll_deg"), "Roll", Degree, (-180.0, 180.0), &mut rail.roll_deg);
    if let Some(turn) = rail.joint.as_mut().and_then(|joint| joint.turn_nm_per_rad.as_mut()) {
        let path = format!("{at}.joint.turn_nm_per_rad");
        list.put(&path, "Joint stiffness per rad", NewtonMetre, (10.0, 1e7), turn);
    }
}

fn shape(list: &mut List, at: &str, shape: &mut Shape) {
    list.begin(shape.stands_for.page(), format!("Shape: {}", shape.name));
    list.row(&format!("{at}.at_mm"), PLACE, [(-4000.0, 5000.0); 3], &mut shape.at_mm);
    let labels = ["Turn about forward", "Turn about left", "Turn about up"];
    for (axis, (label, value)) in labels.into_iter().zip(&mut shape.turn_deg).enumerate() {
        list.put(format!("{at}.turn_deg[{axis}]"), label, Degree, (-180.0, 180.0), value);
    }
}

fn screens(list: &mut List, screens: &mut Screens) {
    list.begin(Page::Screens, "Picture");
    match &mut screens.size {
        ScreenSize::Diagonal { diagonal_mm, aspect: [wide, high] } => {
            list.put("screens.size.diagonal_mm", "Diagonal", Millimetre, (150.0, 3000.0), diagonal_mm);
            list.put("screens.size.aspect[0]", "Width to height, width", Times, (1.0, 100.0), wide);
            list.put("screens.size.aspect[1]", "Width to height, height", Times, (1.0, 100.0), high);
        }
        ScreenSize::Sides { width_mm, height_mm } => {
            list.put("screens.size.width_mm", "Width", Millimetre, (100.0, 3000.0), width_mm);
            list.put("screens.size.height_mm", "Height", Millimetre, (60.0, 2000.0), height_mm);
        }
    }
    match &mut screens.kind {
        ScreenKind::Single => {}
        ScreenKind::Triple { side_angle_deg } => {
            list.put("screens.kind.side_angle_deg", "Side screens turned in", Degree, (0.0, 90.0), side_angle_deg);
        }
        ScreenKind::Ultrawide { radius_mm } => {
            list.put("screens.kind.radius_mm", "Radius of the bend", Millimetre, (300.0, 10000.0), radius_mm);
        }
    }
    list.put("screens.bezel_mm", "Casing beside the picture", Millimetre, (0.0, 100.0), &mut screens.bezel_mm);
    list.put("screens.thickness_mm", "Thickness", Millimetre, (2.0, 300.0), &mut screens.thickness_mm);

    list.begin(Page::Screens, "Place");
    match &mut screens.place {
        ScreenPlace::InRig { forward_mm, left_mm } => {
            list.put("screens.place.forward_mm", "Picture's middle, forward", Millimetre, (0.0, 5000.0), forward_mm);
            list.put("screens.place.left_mm", "Picture's middle, left", Millimetre, (-1500.0, 1500.0), left_mm);
        }
        ScreenPlace::FromEye { distance_mm, eye_mm } => {
            list.put("screens.place.distance_mm", "From the eye", Millimetre, (100.0, 4000.0), distance_mm);
            let labels = ["The eye, forward", "The eye, left", "The eye, up"];
            let ranges = [(-1000.0, 2500.0), (-600.0, 600.0), (200.0, 2000.0)];
            list.row("screens.place.eye_mm", labels, ranges, eye_mm);
        }
    }
    list.put("screens.height_mm", "Picture's middle, up", Millimetre, (100.0, 2500.0), &mut screens.height_mm);
    list.put("screens.tilt_deg", "Leant back", Degree, (-45.0, 45.0), &mut screens.tilt_deg);

    list.begin(Page::Screens, "Stand");
    match &mut screens.stand {
        ScreenStand::Elsewhere => {}
        ScreenStand::Feet { post_mm, foot_mm, apart_mm } => {
            list.row("screens.stand.post_mm", ["Post, across", "Post, along"], [(10.0, 300.0); 2], post_mm);
            let labels = ["Foot, length", "Foot, width", "Foot, height"];
            list.row("screens.stand.foot_mm", labels, [(50.0, 1500.0), (10.0, 300.0), (5.0, 300.0)], foot_mm);
            list.put("screens.stand.apart_mm", "Feet apart", Millimetre, (50.0, 2500.0), apart_mm);
        }
        ScreenStand::Rail { arm_mm, .. } => {
            list.row("screens.stand.arm_mm", ["Arm, across", "Arm, upright"], [(5.0, 300.0); 2], arm_mm);
        }
    }

    list.begin(Page::Screens, "Mass");
    for (path, label, value) in [
        ("screens.mass_kg", "One screen, without stand", &mut screens.mass_kg),
        ("screens.stand_kg", "What holds them", &mut screens.stand_kg),
    ] {
        if let Some(value) = value {
            list.put(path, label, Kilogram, (0.0, 100.0), value);
        }
    }
}

fn loads(list: &mut List, loads: &mut FrameLoads) {
    list.begin(Page::Frame, "Loads");
    for (name, label, unit, range, value) in [
        ("wheel_torque_nm", "Wheel torque", NewtonMetre, (0.0, 60.0), &mut loads.wheel_torque_nm),
        ("wheel_pull_n", "Pull on the rim", Newton, (0.0, 1000.0), &mut loads.wheel_pull_n),
        ("wheel_unit_kg", "Wheel and unit", Kilogram, (0.0, 60.0), &mut loads.wheel_unit_kg),
        ("seat_kg", "Seat", Kilogram, (0.0, 120.0), &mut loads.seat_kg),
        ("pedals_kg", "Pedal set", Kilogram, (0.0, 60.0), &mut loads.pedals_kg),
        ("floor_friction", "Friction on the floor", Times, (0.05, 1.5), &mut loads.floor_friction),
    ] {
        list.put(format!("loads.{name}"), label, unit, range, value);
    }
    for (index, weight) in loads.weights.iter_mut().enumerate() {
        list.begin(Page::Frame, format!("Weight: {}", weight.name));
        list.put(format!("loads.weights[{index}].kg"), "Mass", Kilogram, (0.0, 200.0), &mut weight.kg);
        let ranges = [(-2000.0, 4000.0), (-2500.0, 2500.0), (-100.0, 2500.0)];
        list.row(&format!("loads.weights[{index}].at_mm"), PLACE, ranges, &mut weight.at_mm);
    }
}

/// Labels of a place.
const PLACE: [&str; 3] = ["Forward", "Left", "Up"];

/// The numbers of the driver at path `at`; `whose` stands before the parts of those who do not sit.
fn driver(list: &mut List, at: &str, whose: &str, driver: &mut Driver) {
    list.begin(Page::You, format!("{whose}Measured"));
    for (&(field, _, label, unit, _), range) in Measurements::LIST.iter().zip(MEASURED) {
        if let Some(Some(measured)) = driver.measured.entry(field) {
            let most = if unit == Kilogram { 20.0 } else { 60.0 };
            list.put(format!("{at}.measured.{field}.value"), label, unit, range, &mut measured.value);
            list.put(format!("{at}.measured.{field}.error"), "±", unit, (0.0, most), &mut measured.error);
        }
    }
    list.begin(Page::You, format!("{whose}Shoes"));
    let shoe = &mut driver.footwear;
    list.put(
        format!("{at}.footwear.heel_sole_mm"),
        "Sole under the heel",
        Millimetre,
        (0.0, 60.0),
        &mut shoe.heel_sole_mm,
    );
    list.put(
        format!("{at}.footwear.ball_sole_mm"),
        "Sole under the ball",
        Millimetre,
        (0.0, 60.0),
        &mut shoe.ball_sole_mm,
    );
    let extra = &mut shoe.extra_length_mm;
    list.put(format!("{at}.footwear.extra_length_mm"), "Longer than the foot", Millimetre, (0.0, 80.0), extra);
    list.put(format!("{at}.footwear.width_mm"), "Outer width", Millimetre, (50.0, 160.0), &mut shoe.width_mm);
    list.begin(Page::You, format!("{whose}Clothes"));
    list.put(format!("{at}.clothing_mm"), "One layer", Millimetre, (0.0, 40.0), &mut driver.clothing_mm);
    if let Some(headgear) = &mut driver.headgear {
        list.put(
            format!("{at}.headgear.over_mm"),
            "Headgear, over the head",
            Millimetre,
            (0.0, 120.0),
            &mut headgear.over_mm,
        );
        list.put(
            format!("{at}.headgear.ahead_mm"),
            "Headgear, before the eyes",
            Millimetre,
            (0.0, 200.0),
            &mut headgear.ahead_mm,
        );
    }
    list.begin(Page::You, format!("{whose}Limits"));
    let limits = &mut driver.limits;
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
            list.put(format!("{at}.limits.{name}"), label, Degree, (0.0, most), value);
        }
    }
}

fn seat(list: &mut List, seat: &mut Seat) {
    list.begin(Page::Seat, "Place");
    let ranges = [(-500.0, 2500.0), (-600.0, 600.0), (-100.0, 1200.0)];
    list.row("seat.position_mm", PLACE, ranges, &mut seat.position_mm);
    let Slider { at_mm, range_mm, step_mm } = &mut seat.slider;
    let range = (range_mm[0].min(range_mm[1]), range_mm[0].max(range_mm[1]));
    list.stepped("seat.slider.at_mm", "Slider", Millimetre, range, at_mm, *step_mm);
    let ends = ["Slider, rear end", "Slider, front end"];
    list.row("seat.slider.range_mm", ends, [(-1000.0, 1000.0); 2], range_mm);
    list.put("seat.slider.step_mm", "Slider step", Millimetre, (0.0, 50.0), step_mm);

    list.begin(Page::Seat, "Angles");
    let cushion_angle = &mut seat.cushion_angle_deg;
    list.put("seat.cushion_angle_deg", "Cushion from horizontal", Degree, (-10.0, 70.0), cushion_angle);
    let (label, range, value) = match &mut seat.back_angle_deg {
        BackAngle::FromHorizontal(value) => ("Back from horizontal", (0.0, 100.0), value),
        BackAngle::FromVertical(value) => ("Back from vertical", (-10.0, 90.0), value),
    };
    list.put("seat.back_angle_deg", label, Degree, range, value);
    list.put("seat.tilt_deg", "Whole seat tilted, front up", Degree, (-30.0, 30.0), &mut seat.tilt_deg);

    list.begin(Page::Seat, "Cushion");
    let cushion = &mut seat.cushion;
    for (name, label, range, value) in [
        ("length_mm", "Length", (200.0, 700.0), &mut cushion.length_mm),
        ("width_mm", "Inner width at the hips", (200.0, 800.0), &mut cushion.width_mm),
        ("foam_mm", "Foam", (0.0, 150.0), &mut cushion.foam_mm),
        ("give_mm", "Foam give", (0.0, 100.0), &mut cushion.give_mm),
        ("bolster_height_mm", "Bolster height", (0.0, 250.0), &mut cushion.bolster_height_mm),
        ("bolster_width_mm", "Bolster width", (10.0, 150.0), &mut cushion.bolster_width_mm),
    ] {
        list.put(format!("seat.cushion.{name}"), label, Millimetre, range, value);
    }
    list.begin(Page::Seat, "Back");
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
        ("lumbar_length_mm", "Lumbar length", (60.0, 400.0), &mut back.lumbar_length_mm),
    ] {
        list.put(format!("seat.back.{name}"), label, Millimetre, range, value);
    }
    if let Some(wings) = &mut seat.wings {
        list.begin(Page::Seat, "Shoulder wings");
        list.put("seat.wings.from_mm", "Lower edge", Millimetre, (200.0, 1000.0), &mut wings.from_mm);
        list.put("seat.wings.to_mm", "Upper edge", Millimetre, (250.0, 1200.0), &mut wings.to_mm);
        list.put("seat.wings.depth_mm", "Depth", Millimetre, (10.0, 300.0), &mut wings.depth_mm);
        list.put("seat.wings.width_mm", "Inner width", Millimetre, (250.0, 900.0), &mut wings.width_mm);
    }
    list.begin(Page::Seat, "Shell");
    list.put("seat.shell_mm", "Wall", Millimetre, (1.0, 40.0), &mut seat.shell_mm);
}

fn wheel(list: &mut List, wheel: &mut Wheel) {
    list.begin(Page::Wheel, "Centre");
    let ranges = [(0.0, 3000.0), (-600.0, 600.0), (100.0, 1600.0)];
    list.row("wheel.centre_mm", PLACE, ranges, &mut wheel.centre_mm);
    let column = &mut wheel.column_angle_deg;
    list.put("wheel.column_angle_deg", "Column from horizontal", Degree, (-10.0, 80.0), column);

    list.begin(Page::Wheel, "Rim");
    if let Rim::Round { diameter_mm } | Rim::FlatBottomed { diameter_mm, .. } | Rim::OpenTopped { diameter_mm, .. } =
        &mut wheel.rim
    {
        list.put("wheel.rim.diameter_mm", "Diameter", Millimetre, (150.0, 600.0), diameter_mm);
    }
    match &mut wheel.rim {
        Rim::Round { .. } => {}
        Rim::FlatBottomed { flat_mm, .. } => {
            list.put("wheel.rim.flat_mm", "Centre to flat", Millimetre, (50.0, 300.0), flat_mm);
        }
        Rim::OpenTopped { opening_deg, .. } => {
            list.put("wheel.rim.opening_deg", "Opening", Degree, (10.0, 160.0), opening_deg);
        }
        Rim::Formula { width_mm, height_mm, corner_mm } => {
            list.put("wheel.rim.width_mm", "Width", Millimetre, (150.0, 500.0), width_mm);
            list.put("wheel.rim.height_mm", "Height", Millimetre, (100.0, 400.0), height_mm);
            list.put("wheel.rim.corner_mm", "Corner radius", Millimetre, (20.0, 200.0), corner_mm);
        }
    }
    list.put("wheel.tube_mm", "Grip thickness", Millimetre, (15.0, 60.0), &mut wheel.tube_mm);
    list.put("wheel.lock_deg", "Turn to each stop", Degree, (10.0, 1080.0), &mut wheel.lock_deg);

    list.begin(Page::Wheel, "Hands");
    let [left, right] = &mut wheel.hands_h;
    list.put("wheel.hands_h[0]", "Left hand", ClockHour, (6.0, 12.0), left);
    list.put("wheel.hands_h[1]", "Right hand", ClockHour, (0.0, 6.0), right);
}

fn wheel_unit(list: &mut List, unit: &mut WheelUnit) {
    list.begin(Page::Wheel, "Wheel unit");
    let labels = ["Length", "Width", "Height"];
    list.row("wheel_unit.size_mm", labels, [(30.0, 600.0); 3], &mut unit.size_mm);
    list.put("wheel_unit.behind_mm", "Behind the rim", Millimetre, (0.0, 400.0), &mut unit.behind_mm);
    list.put("wheel_unit.drop_mm", "Below the shaft", Millimetre, (-200.0, 300.0), &mut unit.drop_mm);
}

fn pedals(list: &mut List, set: &mut PedalSet) {
    list.begin(Page::Pedals, "Set");
    let ranges = [(0.0, 3500.0), (-600.0, 600.0), (-100.0, 1000.0)];
    list.row("pedals.position_mm", PLACE, ranges, &mut set.position_mm);
    let plate = &mut set.plate_angle_deg;
    list.put("pedals.plate_angle_deg", "Plate from horizontal", Degree, (-20.0, 60.0), plate);
    list.put("pedals.heel_rest_mm", "Heel rest above plate", Millimetre, (0.0, 150.0), &mut set.heel_rest_mm);
    for (index, pedal) in set.pedals.iter_mut().enumerate() {
        let part = match pedal.kind {
            PedalKind::Clutch => "Clutch",
            PedalKind::Brake => "Brake",
            PedalKind::Throttle => "Throttle",
        };
        list.begin(Page::Pedals, part);
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
            list.put(format!("pedals.pedals[{index}].{name}"), label, unit, range, value);
        }
    }
}

/// The list of numbers being made, at one topic and part.
struct List<'v> {
    visit: &'v mut dyn FnMut(Field<'_>),
    page: Page,
    part: String,
    described: Vec<AdjusterRange>,
}

impl List<'_> {
    /// The numbers that follow belong to this part.
    fn begin(&mut self, page: Page, part: impl Into<String>) {
        self.page = page;
        self.part = part.into();
    }

    fn put(&mut self, path: impl Into<String>, label: &'static str, unit: Unit, range: (f64, f64), value: &mut f64) {
        self.stepped(path, label, unit, range, value, 0.0);
    }

    /// A number that moves in whole steps.
    fn stepped(
        &mut self,
        path: impl Into<String>,
        label: &'static str,
        unit: Unit,
        range: (f64, f64),
        value: &mut f64,
        step: f64,
    ) {
        let path = path.into();
        let bare = without_index(&path);
        let find = |table: &[(&str, Adjust)]| table.iter().find(|(name, _)| *name == bare).map(|&(_, adjust)| adjust);
        let described = self.described.iter().find(|described| described.field == path);
        let (range, adjust) = match described {
            // As far as it is built for, and no further than makes sense.
            Some(described) => {
                let [low, high] = described.range;
                let reach = (high - low).abs();
                let adjust = find(ADJUSTERS).or_else(|| find(DESCRIBED));
                let adjust = adjust.map(|adjust| Adjust { step: described.step, reach, ..adjust });
                let (low, high) = (range.0.max(low), range.1.min(high));
                // Written the wrong way round it narrows nothing, and stays there to be put right.
                (if low <= high { (low, high) } else { range }, adjust)
            }
            None => (range, find(ADJUSTERS).map(|adjust| Adjust { step, ..adjust })),
        };
        let (page, part) = (self.page, self.part.clone());
        (self.visit)(Field { path, page, part, label, unit, range, value, adjust });
    }

    /// Lengths in a row, such as a place.
    fn row<const N: usize>(
        &mut self,
        path: &str,
        labels: [&'static str; N],
        ranges: [(f64, f64); N],
        values: &mut [f64; N],
    ) {
        for (index, ((value, label), range)) in values.iter_mut().zip(labels).zip(ranges).enumerate() {
            self.put(format!("{path}[{index}]"), label, Millimetre, range, value);
        }
    }
}

/// `pedals.pedals[2].tilt_deg` → `pedals.pedals.tilt_deg`: parts of one kind share their adjusters.
fn without_index(path: &str) -> Cow<'_, str> {
    for list in ["pedals.pedals", "shapes"] {
        if let Some((_, rest)) =
            path.strip_prefix(list).and_then(|rest| rest.strip_prefix('[')).and_then(|rest| rest.split_once(']'))
        {
            return format!("{list}{rest}").into();
        }
    }
    path.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Least and greatest value in ANSUR II (Gordon et al. 2014, NATICK/TR-15/007; all 1986 women and 4082 men of
    /// the public data), mm and kg.
    const SURVEY: [(&str, f64, f64); 19] = [
        ("stature_mm", 1409.0, 1993.0),
        ("mass_kg", 35.8, 144.2),
        ("sitting_height_mm", 750.0, 1039.0),
        ("eye_height_sitting_mm", 654.0, 912.0),
        ("shoulder_height_sitting_mm", 476.0, 714.0),
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
    fn an_adjuster_written_the_wrong_way_round_narrows_no_number() {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/open_day.ron");
        let mut project = crate::project::load(&path).unwrap().0.into_inner();
        for adjuster in &mut project.adjusters {
            adjuster.range.reverse();
        }
        let described: Vec<String> = project.adjusters.iter().map(|adjuster| adjuster.field.clone()).collect();
        let mut count = 0;
        fields(&mut project, &mut |field| {
            assert!(field.range.0 <= field.range.1, "{}", field.path);
            assert!(field.adjust.is_some() || !described.contains(&field.path), "{} can't be put right", field.path);
            count += usize::from(field.range.0 <= *field.value && *field.value <= field.range.1);
        });
        assert!(count > 100, "{count}");
    }

    #[test]
    fn the_numbers_of_all_topics_together_are_all_numbers_in_their_order() {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/open_day.ron");
        let mut project = crate::project::load(&path).unwrap().0.into_inner();
        let mut all = Vec::new();
        fields(&mut project, &mut |field| all.push((field.page, field.path, *field.value)));
        assert!(all.len() > 500);
        let mut count = 0;
        for page in Page::ALL.into_iter().chain([Page::Views]) {
            let mut own = Vec::new();
            fields_of_page(&mut project, page, &mut |field| own.push((field.page, field.path, *field.value)));
            assert!(own.iter().eq(all.iter().filter(|field| field.0 == page)), "{page:?}");
            count += own.len();
        }
        assert_eq!(count, all.len());
    }

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
        assert_eq!(without_index("pedals.pedals[2].tilt_deg"), "pedals.pedals.tilt_deg");
        assert_eq!(without_index("seat.slider.at_mm"), "seat.slider.at_mm");
    }
}
