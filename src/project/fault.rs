//! What can be wrong with a project, in sentences that say what was found, what is allowed and the way out.

use std::fmt;

use super::{PedalKind, RailFace};
use crate::{
    geometry::Side,
    units::{System, Unit},
};

/// What is wrong in one place of a project.
///
/// ```
/// use heelpoint::project::{FaultKind, parse, starter};
///
/// // The cushion's length, typed in metres.
/// let text = starter().replacen("length_mm: 460", "length_mm: 0.46", 1);
/// let faults = parse(&text).unwrap_err();
/// assert_eq!(faults.len(), 1);
/// assert_eq!(faults[0].path, "seat.cushion.length_mm");
/// assert!(matches!(faults[0].kind, FaultKind::OutOfRange { value: 0.46, low: 200.0, high: 700.0, .. }));
/// assert!(faults[0].in_file("rig.ron").ends_with(
///     "seat.cushion.length_mm is 0.46 mm; allowed 200 to 700 mm. Typed in metres? Write 460."
/// ));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Line and column in the file, from 1; `None` for a project that did not come from text.
    pub at: Option<(usize, usize)>,
    /// The field: `seat.cushion.length_mm`; empty where the text as a whole is meant.
    pub path: String,
    /// What kind of fault.
    pub kind: FaultKind,
}

impl Fault {
    /// A fault without a place in a text.
    pub(super) fn new(path: impl Into<String>, kind: FaultKind) -> Self {
        Self { at: None, path: path.into(), kind }
    }

    /// The fault with the file's name before it: `seat.ron:14:22  seat.back_angle_deg is 412°; …`.
    pub fn in_file(&self, name: &str) -> String {
        match self.at {
            Some((line, column)) => format!("{name}:{line}:{column}  {}", self.sentence()),
            None => format!("{name}  {}", self.sentence()),
        }
    }

    /// The fault without its place in the file.
    pub fn sentence(&self) -> String {
        let subject = if self.path.is_empty() { "The project".to_owned() } else { on_one_line(&self.path, 120) };
        if self.kind.is_about_a_field() { format!("{subject} {}", self.kind) } else { self.kind.to_string() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.at {
            Some((line, column)) => write!(f, "{line}:{column}  {}", self.sentence()),
            None => f.write_str(&self.sentence()),
        }
    }
}

impl std::error::Error for Fault {}

/// The kinds of fault, each with what was found and what is allowed.
///
/// Displayed, a fault of a field is the rest of a sentence that begins with the field; every other is a sentence.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FaultKind {
    // The text as a whole.
    /// Nothing but blanks and comments.
    #[error("The file is empty. `heelpoint new` writes a project to begin with.")]
    Empty,
    /// More text than a project can need.
    #[error("The file has {bytes} bytes; allowed are {limit}. Is it a project file?")]
    TooLarge {
        /// What it has.
        bytes: u64,
        /// What it may have.
        limit: u64,
    },
    /// Bytes that are not UTF-8.
    #[error("Byte {byte} is not UTF-8 text. Save the file as UTF-8; if it is no text at all, it is no project file.")]
    NotUtf8 {
        /// Offset of the first such byte, from 0.
        byte: usize,
    },
    /// A zero byte.
    #[error("Byte {byte} is zero, which no text has. Is it a project file?")]
    ZeroByte {
        /// Its offset, from 0.
        byte: usize,
    },
    /// Brackets inside brackets without end.
    #[error("Brackets are nested deeper than {limit}; a project needs six. Take the surplus brackets out.")]
    TooDeep {
        /// How deep they may be.
        limit: usize,
    },
    /// Written by another version of this program.
    #[error("{}", version_words(*found, *known))]
    Version {
        /// The version in the file.
        found: u64,
        /// The version that this program reads.
        known: u32,
    },

    // Signs and their order.
    /// A bracket without its closing one; the place is that of the opening one.
    #[error("The bracket `{bracket}` opened here is never closed. Is the end of the file missing, or a `{closing}`?")]
    Unclosed {
        /// The opening bracket.
        bracket: char,
        /// The one that is missing.
        closing: char,
    },
    /// A closing bracket of another shape than the opening one.
    #[error(
        "`{found}` stands where `{expected}` must close the bracket opened at {}:{}. Close that one first.",
        opened.0,
        opened.1
    )]
    Mismatched {
        /// The bracket found.
        found: char,
        /// The bracket that fits.
        expected: char,
        /// Line and column of the opening bracket.
        opened: (usize, usize),
    },
    /// A text without its closing quotation mark; the place is that of its beginning.
    #[error("The text that begins here has no closing quotation mark. Put a `\"` at its end.")]
    UnclosedText,
    /// A block comment without its end; the place is that of its beginning.
    #[error("The comment that begins here has no end. Put a `*/` behind it.")]
    UnclosedComment,
    /// Any other breach of RON's grammar.
    #[error("{problem} {mend}")]
    Syntax {
        /// What was found.
        problem: String,
        /// What to write.
        mend: String,
    },

    // Fields and the form of their values.
    /// A name that the project does not have here; nothing is dropped silently.
    #[error("is no field of a project. {}", choice_words(near.as_deref(), allowed))]
    UnknownField {
        /// The allowed name that is spelled most like it.
        near: Option<String>,
        /// The allowed names.
        allowed: &'static [&'static str],
    },
    /// A word that is none of the choices.
    #[error("is `{found}`, which is none of the choices. {}", choice_words(near.as_deref(), allowed))]
    UnknownWord {
        /// The word found.
        found: String,
        /// The allowed word that is spelled most like it.
        near: Option<String>,
        /// The allowed words.
        allowed: &'static [&'static str],
    },
    /// A field that must be there.
    #[error(
        "is missing. {}",
        example.as_ref().map_or_else(|| "Add it.".to_owned(), |example| format!("Add it, such as `{example}`."))
    )]
    MissingField {
        /// How it may look.
        example: Option<String>,
    },
    /// A field or a table's key that stands twice; the place is that of the second.
    #[error("stands there twice. Take one of the two out.")]
    RepeatedField,
    /// A value of another form than the field's.
    #[error("is {found}; write {expected}.")]
    WrongType {
        /// What was found.
        found: String,
        /// What is allowed, with an example.
        expected: String,
    },
    /// More or fewer values in brackets than the field takes.
    #[error("takes {expected} values, not {found}.")]
    WrongLength {
        /// How many there are.
        found: usize,
        /// How many it takes.
        expected: usize,
    },

    // Values.
    /// A number outside its range.
    #[error(
        "is {}; allowed {}{}.{}",
        shown(*value, *unit),
        range_words(*low, *high, *unit),
        reference.map_or_else(String::new, |line| format!(" {line}")),
        hints(slips)
    )]
    OutOfRange {
        /// The number.
        value: f64,
        /// Least allowed.
        low: f64,
        /// Greatest allowed.
        high: f64,
        /// Unit of the three.
        unit: Unit,
        /// The line an angle is read from: "from horizontal".
        reference: Option<&'static str>,
        /// Slips that would explain it.
        slips: Vec<Slip>,
    },
    /// A number below zero where none can be.
    #[error(
        "is {}; it cannot be negative. Allowed {}: leave out the minus sign.",
        shown(*value, *unit),
        range_words(*low, *high, *unit)
    )]
    Negative {
        /// The number.
        value: f64,
        /// Least allowed.
        low: f64,
        /// Greatest allowed.
        high: f64,
        /// Unit of the three.
        unit: Unit,
    },
    /// Infinite or not a number.
    #[error("is {value}, not a finite number. Write a number.")]
    NotFinite {
        /// Infinity, negative infinity or NaN.
        value: NonFinite,
    },
    /// A place within millimetres of the origin, as metres typed into a field of millimetres give.
    #[error(
        "is {}, a few millimetres from the rear of the frame. Typed in metres? Write {}.",
        place(found),
        place(&found.map(|v| tenth(v * 1000.0)))
    )]
    PlaceInMetres {
        /// The place.
        found: [f64; 3],
    },
    /// A number of positions out of its range or, where straight ahead must be one, even.
    #[error(
        "is {found}; allowed are {} numbers from {low} to {high}.{}",
        if *odd { "odd" } else { "whole" },
        if *odd { " An odd number has the middle as one position." } else { "" }
    )]
    Count {
        /// The count.
        found: usize,
        /// Least allowed.
        low: usize,
        /// Greatest allowed.
        high: usize,
        /// Whether it must be odd.
        odd: bool,
    },
    /// A name without a letter.
    #[error("is empty. Findings and lists call the part by this name: give it one.")]
    NameEmpty,
    /// A name that no list can show.
    #[error("has {found} characters; allowed are {limit}. Shorten it.")]
    NameTooLong {
        /// Its characters.
        found: usize,
        /// How many it may have.
        limit: usize,
    },
    /// A line break or another control character in a name.
    #[error("holds the control character U+{code:04X}. Write it on one line, without tabs.")]
    ControlCharacter {
        /// Its code.
        code: u32,
    },
    /// More parts than the program computes with.
    #[error("has {found} entries; allowed are {limit}. Take out those that are out of the driver's reach.")]
    TooMany {
        /// How many there are.
        found: usize,
        /// How many there may be.
        limit: usize,
    },
    /// More drivers than one rig has.
    #[error("has {found} drivers; allowed are {limit}. Keep the rest in a project of their own.")]
    TooManyDrivers {
        /// How many there are.
        found: usize,
        /// How many there may be.
        limit: usize,
    },
    /// Two parts, or drivers, of one name.
    #[error("is the name of {first} as well. Give each its own name, so that findings can tell them apart.")]
    RepeatedName {
        /// The first part with the name: `frame[0]`.
        first: String,
    },
    /// Two pedals of one kind.
    #[error("is a second {}; {first} is one already. Each pedal of a set does something else.", kind.word())]
    RepeatedPedal {
        /// The kind.
        kind: PedalKind,
        /// The first pedal of the kind: `pedals.pedals[0]`.
        first: String,
    },
    /// A band for a finding that does not exist.
    #[error("is no finding's id. Spelled most like it: {}.", near.join(", "))]
    UnknownBand {
        /// The ids that are spelled most like it.
        near: Vec<&'static str>,
    },
    /// Stature or mass was not measured.
    #[error("is missing. Stature and mass alone are enough to start: measure {}", measurement_words(field))]
    Unmeasured {
        /// The field.
        field: &'static str,
    },
    /// A shape whose file could not be read.
    #[error("names {0}")]
    Shape(super::ShapeError),
    /// Parts that contradict one another.
    #[error("{0}")]
    Contradiction(Contradiction),
}

impl FaultKind {
    /// True where the kind's words go on after the field's name.
    fn is_about_a_field(&self) -> bool {
        !matches!(
            self,
            Self::Empty
                | Self::TooLarge { .. }
                | Self::NotUtf8 { .. }
                | Self::ZeroByte { .. }
                | Self::TooDeep { .. }
                | Self::Version { .. }
                | Self::Unclosed { .. }
                | Self::Mismatched { .. }
                | Self::UnclosedText
                | Self::UnclosedComment
                | Self::Syntax { .. }
        )
    }
}

/// A number that is not finite.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NonFinite {
    /// Above every number.
    Infinity,
    /// Below every number.
    NegativeInfinity,
    /// Not a number.
    NotANumber,
}

impl NonFinite {
    /// What `value` is; `None` for a finite number.
    pub(super) fn of(value: f64) -> Option<Self> {
        if value.is_nan() {
            Some(Self::NotANumber)
        } else if value == f64::INFINITY {
            Some(Self::Infinity)
        } else if value == f64::NEG_INFINITY {
            Some(Self::NegativeInfinity)
        } else {
            None
        }
    }
}

impl fmt::Display for NonFinite {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Infinity => "infinity",
            Self::NegativeInfinity => "minus infinity",
            Self::NotANumber => "NaN",
        })
    }
}

/// A slip that would explain a number out of its range.
#[derive(Clone, Debug, PartialEq)]
pub enum Slip {
    /// Typed in another unit.
    Unit {
        /// That unit, in words: "metres".
        typed_in: &'static str,
        /// The number in the field's unit.
        meant: f64,
    },
    /// Two neighbouring digits in each other's place.
    Digits {
        /// The number with the two changed back.
        meant: f64,
    },
    /// Two measurements in each other's place.
    Swapped {
        /// The other one's path.
        with: String,
    },
    /// Read from the other line by the gauge.
    Line {
        /// That line: "vertical".
        read_from: &'static str,
        /// What to write: `FromVertical(40)`.
        say: String,
    },
}

impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unit { typed_in, meant } => {
                // Where inches are shown, a bare number would be taken for inches.
                let is_length =
                    System::shown() == System::Inch && !matches!(*typed_in, "pounds" | "stones" | "radians");
                let unit = if is_length { Unit::Millimetre.suffix() } else { "" };
                write!(f, "Typed in {typed_in}? Write {}{unit}.", plain(*meant))
            }
            Self::Digits { meant } => write!(f, "Two digits in each other's place? {} would do.", plain(*meant)),
            Self::Swapped { with } => write!(f, "Swapped with {with}?"),
            Self::Line { read_from, say } => write!(f, "Written from {read_from}? Say {say}."),
        }
    }
}

/// Parts of a project that cannot be true together; lengths in mm, angles in degrees, computed ones to a tenth.
///
/// Displayed, each is the rest of a sentence that begins with the field.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Contradiction {
    /// A slider whose rear end is before its front end.
    #[error("runs from {span}. The rear end comes first: write ({front}, {rear}).", span = span(*rear, *front))]
    SliderEndsSwapped {
        /// The end given first.
        rear: f64,
        /// The end given second.
        front: f64,
    },
    /// A slider that stands beyond its ends.
    #[error(
        "is {at}; the slider runs from {}. Move it between its ends, or correct `range_mm`.",
        span(range[0], range[1]), at = long(*at))]
    SliderOutside {
        /// Where it stands.
        at: f64,
        /// Its ends.
        range: [f64; 2],
    },
    /// Cushion and back at an angle at which nobody sits.
    #[error(
        "puts the back at {angle}° to the cushion; allowed 60 to 150°.{}",
        hints(slip.as_slice())
    )]
    CushionToBack {
        /// The angle between the two surfaces.
        angle: f64,
        /// The gauge's other line, where that would be a seat.
        slip: Option<Slip>,
    },
    /// A part of the seat's back that ends above its top.
    #[error("is {height} up the back, whose top is at {top}. Lower it, or correct `seat.back.length_mm`.", height = long(*height), top = long(*top))]
    AboveBack {
        /// Its height along the back.
        height: f64,
        /// The back's length.
        top: f64,
    },
    /// Wings whose lower edge is above their upper edge.
    #[error("is {from}, not below the upper edge at {to}. Heights count upwards along the back: swap the two.", from = long(*from), to = long(*to))]
    WingsUpsideDown {
        /// Lower edge.
        from: f64,
        /// Upper edge.
        to: f64,
    },
    /// A wheel that is not ahead of the seat.
    #[error(
        "is {wheel}, not ahead of the seat at {seat}. \
         Forward counts from the rear of the frame for both.", wheel = long(*wheel), seat = long(*seat))]
    WheelBehindSeat {
        /// Wheel centre, forward.
        wheel: f64,
        /// Seat, forward, its slider where it stands.
        seat: f64,
    },
    /// Pedals that are not ahead of the seat.
    #[error(
        "is {pedals}, not ahead of the seat at {seat}. \
         Forward counts from the rear of the frame for both.", pedals = long(*pedals), seat = long(*seat))]
    PedalsBehindSeat {
        /// Pedal set, forward.
        pedals: f64,
        /// Seat, forward, its slider where it stands.
        seat: f64,
    },
    /// A flat that lies outside the rim's circle.
    #[error(
        "is {flat} from the centre, not inside the rim's radius of {radius}. \
         Measure from the centre down to the outside of the flat.", flat = long(*flat), radius = long(*radius))]
    FlatBeyondRim {
        /// From the centre to the flat.
        flat: f64,
        /// Outer radius.
        radius: f64,
    },
    /// A corner rounder than the rim is wide.
    #[error("is {corner}; at most half of the smaller side, {most}, fits.", corner = long(*corner), most = long(*most))]
    CornerTooLarge {
        /// Corner radius.
        corner: f64,
        /// Half of the smaller side.
        most: f64,
    },
    /// A corner tighter than the grip's own radius.
    #[error(
        "is {corner}, less than half of the grip's thickness of {grip}. \
         Measure the radius on the outside of the rim.", corner = long(*corner), grip = long(*grip))]
    CornerTighterThanGrip {
        /// Corner radius, outside.
        corner: f64,
        /// Thickness of the grip.
        grip: f64,
    },
    /// A grip that leaves no opening in the rim.
    #[error(
        "is {grip}; the rim, {across} across, has no room for twice that. \
         Measure the thickness of the grip, not the rim.", grip = long(*grip), across = long(*across))]
    GripTooThick {
        /// Thickness of the grip.
        grip: f64,
        /// The rim's smaller outer size.
        across: f64,
    },
    /// Left and right hand in each other's place.
    #[error(
        "is ({0}, {1}). The left hand comes first: write ({1}, {0}).",
        found[0],
        found[1]
    )]
    HandsSwapped {
        /// The two places, in hours.
        found: [f64; 2],
    },
    /// A hand where an open-topped rim has nothing to hold.
    #[error(
        "puts the {} hand into the rim's opening, which is {opening}° wide around 12 o'clock. Hold the rim lower.",
        side.word()
    )]
    HandInOpening {
        /// The hand.
        side: Side,
        /// The opening.
        opening: f64,
    },
    /// One pedal, or more than three.
    #[error("lists {found}; a set has two or three pedals, a brake and a throttle among them.")]
    PedalCount {
        /// How many there are.
        found: usize,
    },
    /// A set without its brake or throttle.
    #[error("has no {}. Every set has a brake and a throttle.", kind.word())]
    NoPedal {
        /// The kind that is missing.
        kind: PedalKind,
    },
    /// A clutch right of the brake, or a throttle left of it.
    #[error(
        "puts the {} at {at}, not {} of the brake at {brake}. Left is positive, \
         and clutch, brake and throttle follow from left to right.",
        kind.word(),
        if *kind == PedalKind::Clutch { "left" } else { "right" }, at = long(*at), brake = long(*brake))]
    PedalOrder {
        /// The clutch or the throttle.
        kind: PedalKind,
        /// Where it is sideways.
        at: f64,
        /// Where the brake is.
        brake: f64,
    },
    /// A pivot in the face that turns about it.
    #[error(
        "is {distance} from the centre of the face; at least {least} are needed. \
         Measure the pivot's place, forward and up, like the face's.", distance = long(*distance), least = long(*least))]
    PivotAtFace {
        /// Distance between the two.
        distance: f64,
        /// The least that an arm can have.
        least: f64,
    },
    /// A pivot beside the face, about which it cannot move forward.
    #[error(
        "is level with the face at {height}, so that pressing moves the face up or down and not forward. \
         Put the pivot below the face, or above it for a top-hung pedal.", height = long(*height))]
    PivotLevel {
        /// Height of both.
        height: f64,
    },
    /// More travel than the arm allows before it points straight forward.
    #[error("is {travel}; about this pivot the face can move {arc} forward at most.", travel = long(*travel), arc = long(*arc))]
    TravelBeyondArc {
        /// Full travel.
        travel: f64,
        /// What the arc allows.
        arc: f64,
    },
    /// A working travel longer than the pedal's full travel.
    #[error("is {working}, more than the full travel of {full}. Shorten it, or correct `travel_mm`.", working = long(*working), full = long(*full))]
    WorkingTravelBeyondFull {
        /// Travel at the working force.
        working: f64,
        /// Full travel.
        full: f64,
    },
    /// A rail without length, or shorter than it is thick.
    #[error(
        "is {length} long, less than its section's {section}. \
         `from_mm` and `to_mm` are the centres of its two ends.{}",
        from_metres.map_or_else(String::new, |mm| format!(" Typed in metres? Then it is {mm} mm long.")), length = long(*length), section = long(*section))]
    RailTooShort {
        /// Its length.
        length: f64,
        /// The smaller side of its section.
        section: f64,
        /// Its length if it was written in metres, where that would be a rail.
        from_metres: Option<f64>,
    },
    /// An adjuster of a number that nothing adjusts.
    #[error("is {found}, which is no number that an adjuster moves.{}", near.as_ref().map_or_else(|| " Name one such as wheel.centre_mm[2].".to_owned(), |near| format!(" Did you mean {near}?")))]
    NoSuchAdjuster {
        /// What it names.
        found: String,
        /// A number whose name is like it.
        near: Option<String>,
    },
    /// An adjuster whose ends, or step, are none.
    #[error("goes from {} to {} in steps of {step}. Write the lesser end first, and a step from 0 (a slot) to the whole way.", range[0], range[1])]
    AdjusterRange {
        /// Its ends.
        range: [f64; 2],
        /// Its step.
        step: f64,
    },
    /// Two axes of a file on one line.
    #[error(
        "is {up}, on the same line as `forward`, {forward}. Name two axes of the file that stand square to one another."
    )]
    AxesOnOneLine {
        /// What points forward.
        forward: &'static str,
        /// What points up.
        up: &'static str,
    },
    /// A named section that isn't the rail's size.
    #[error(
        "is {} × {} mm; `section_mm` says {} × {}. Correct one of the two: which side is upright stands in `section_mm`.",
        size[0], size[1], found[0], found[1]
    )]
    SectionOfOtherSize {
        /// The section's size.
        size: [f64; 2],
        /// What the rail says.
        found: [f64; 2],
    },
    /// A screen that can't be that far from the eye at its height.
    #[error(
        "is {distance}, and the middle of the picture is {apart} {} the eye: no place at that height is so near. \
         Correct `height_mm`, or put the screen at least {least} away.",
        if *above { "above" } else { "below" }, distance = long(*distance), apart = long(*apart), least = long(*least))]
    ScreenNearerThanHeight {
        /// From the eye to the middle of the picture.
        distance: f64,
        /// How far the middle of the picture is above or below the eye.
        apart: f64,
        /// Whether it is above.
        above: bool,
        /// A distance that leaves room.
        least: f64,
    },
    /// A bend that comes round to the other side.
    #[error(
        "is {radius}; a screen {width} wide would be bent past half a circle. At least {least}, or a narrower screen.", radius = long(*radius), width = long(*width), least = long(*least))]
    BentTooFar {
        /// Radius of the bend.
        radius: f64,
        /// Width with the casing, along the bend.
        width: f64,
        /// The least radius.
        least: f64,
    },
    /// An end attached to a rail that isn't there.
    #[error(
        "is `{found}`, and no rail is called that.{}",
        near.as_ref().map_or_else(String::new, |near| format!(" Did you mean `{near}`?"))
    )]
    NoSuchRail {
        /// The name.
        found: String,
        /// The rail whose name is spelled most like it.
        near: Option<String>,
    },
    /// Rails that are attached to one another, so that none of them has a place.
    #[error(
        "leads in a circle: the rail hangs on one that hangs on it. Give one of them its place with `from_mm` and `to_mm`."
    )]
    AttachedInCircle,
    /// An end attached beyond the end of the rail that carries it.
    #[error("is {along}; \"{rail}\" is {length} long. Count from its `from` end, or lengthen it.", along = long(*along), length = long(*length))]
    AlongBeyondRail {
        /// Where along the rail.
        along: f64,
        /// The rail that carries the end.
        rail: String,
        /// Its length.
        length: f64,
    },
    /// A slot that the face doesn't have.
    #[error(
        "is {found}; the {} face has {slots}, counted from below or from the right. 0 is the face's middle.",
        side.word()
    )]
    NoSuchSlot {
        /// The slot.
        found: u32,
        /// How many there are.
        slots: u32,
        /// The face.
        side: RailFace,
    },
    /// A band whose lower end is above its upper end.
    #[error(
        "runs from {0} to {1}. The lower end comes first: write ({1}, {0}).",
        plain(ends[0]),
        plain(ends[1])
    )]
    BandEndsSwapped {
        /// The two ends.
        ends: [f64; 2],
    },
    /// A good band that reaches beyond its limit.
    #[error(
        "runs from {} to {}, beyond the limit of {} to {}. Good lies inside the limit: widen `limit`.",
        plain(good[0]),
        plain(good[1]),
        plain(limit[0]),
        plain(limit[1])
    )]
    BandBeyondLimit {
        /// The good band.
        good: [f64; 2],
        /// The limit.
        limit: [f64; 2],
    },
}

fn version_words(found: u64, known: u32) -> String {
    if found > u64::from(known) {
        format!(
            "The file was written by a newer Heelpoint: it has version {found}, this one reads version {known}. \
             Open it with the newer program."
        )
    } else {
        format!(
            "There is no version {found} of the project file; this program reads version {known}. \
             Write `version: {known}`."
        )
    }
}

fn choice_words(near: Option<&str>, allowed: &[&str]) -> String {
    let near = near.map_or_else(String::new, |near| format!("Did you mean `{near}`? "));
    format!("{near}Allowed: {}.", allowed.join(", "))
}

fn measurement_words(field: &str) -> &'static str {
    if field == "mass_kg" {
        "yourself on a scale, in the clothes that you drive in."
    } else {
        "from the floor to the top of the head, without shoes, heels and back at a wall."
    }
}

fn hints(slips: &[Slip]) -> String {
    slips.iter().fold(String::new(), |words, slip| words + " " + &slip.to_string())
}

/// A value as it stands in the file; where inches are shown, in these first.
fn shown(value: f64, unit: Unit) -> String {
    in_system(&[value], unit)
}

fn range_words(low: f64, high: f64, unit: Unit) -> String {
    in_system(&[low, high], unit)
}

/// A length in millimetres as [`shown`].
fn long(value: f64) -> String {
    shown(value, Unit::Millimetre)
}

/// From one length to another, mm.
fn span(from: f64, to: f64) -> String {
    range_words(from, to, Unit::Millimetre)
}

fn in_system(values: &[f64], unit: Unit) -> String {
    let system = System::shown();
    let words: Vec<String> = values.iter().map(|value| plain(*value)).collect();
    let written = format!("{}{}", words.join(" to "), unit.suffix());
    if system.suffix(unit) == unit.suffix() {
        return written;
    }
    // To a hundredth: a field of lengths is typed to that.
    let bare = |value: &f64| plain((value / system.bare(unit) * 100.0).round() / 100.0);
    let words: Vec<String> = values.iter().map(bare).collect();
    format!("{}{} ({written})", words.join(" to "), system.suffix(unit))
}

fn place(found: &[f64; 3]) -> String {
    format!("({}, {}, {})", plain(found[0]), plain(found[1]), plain(found[2]))
}

/// A number as it is written in a file: all its digits, none needless, no row of zeros.
pub(super) fn plain(value: f64) -> String {
    let size = value.abs();
    if size != 0.0 && !(1e-4..1e7).contains(&size) { format!("{value:e}") } else { format!("{value}") }
}

/// The beginning of a piece of text, without line breaks or other characters that cannot be seen.
pub(super) fn on_one_line(text: &str, length: usize) -> String {
    let mut characters = text.chars();
    let mut shown = String::new();
    for c in characters.by_ref().take(length) {
        // Quotation marks and backslashes can be seen.
        if matches!(c, '"' | '\'' | '\\') { shown.push(c) } else { shown.extend(c.escape_debug()) }
    }
    if characters.next().is_some() {
        shown.push('…');
    }
    shown
}

/// To one digit behind the point: for numbers that were computed.
pub(super) fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// The values of which this one is written with two neighbouring digits in each other's place.
pub(crate) fn digits_changed_back(value: f64) -> Vec<f64> {
    let text = value.to_string();
    let digits: Vec<char> = text.chars().collect();
    (1..digits.len())
        .filter(|&at| digits[at - 1] != digits[at] && [at - 1, at].into_iter().all(|at| digits[at].is_ascii_digit()))
        .filter_map(|at| {
            let mut changed = digits.clone();
            changed.swap(at - 1, at);
            changed.into_iter().collect::<String>().parse().ok()
        })
        .collect()
}

/// Letters of a word that are looked at: none that is asked for has more.
const LETTERS: usize = 80;

/// The word of `allowed` that is spelled most like `found`, if any is spelled like it at all.
pub(super) fn near<'a>(found: &str, allowed: &[&'a str]) -> Option<&'a str> {
    let found = found.to_lowercase();
    // A unit or a direction was left out.
    let holds = |word: &&&str| found.len() >= 3 && word.to_lowercase().contains(&found);
    if let Some(word) = allowed.iter().find(holds) {
        return Some(word);
    }
    let most = (found.chars().take(LETTERS).count() / 3).max(1);
    let word = nearest(&found, allowed.iter().copied()).next()?;
    (distance(&found, &word.to_lowercase()) <= most).then_some(word)
}

/// `words` by how much they are spelled like `found`, the most alike first.
pub(super) fn nearest<'a>(found: &str, words: impl Iterator<Item = &'a str>) -> impl Iterator<Item = &'a str> {
    let found: String = found.chars().take(LETTERS).collect();
    let mut words: Vec<_> = words.map(|word| (distance(&found, &word.to_lowercase()), word)).collect();
    words.sort_by_key(|&(distance, _)| distance);
    words.into_iter().map(|(_, word)| word)
}

/// Least number of letters to insert, take out, replace or swap with their neighbour that turns `a` into `b`:
/// the optimal string alignment distance (Boytsov, Indexing methods for approximate dictionary searching, 2011).
fn distance(a: &str, b: &str) -> usize {
    let [a, b] = [a, b].map(|word| word.chars().take(LETTERS).collect::<Vec<_>>());
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let replaced = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            row[j] = replaced.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before_last[j - 2] + 1);
            }
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_of_spelling_counted_by_hand() {
        for (a, b, count) in [
            ("length_mm", "length_mm", 0),
            ("lenght_mm", "length_mm", 1), // two neighbours swapped
            ("length_cm", "length_mm", 1), // one replaced
            ("lngth_mm", "length_mm", 1),  // one left out
            ("", "abc", 3),
            ("kitten", "sitting", 3), // the textbook's example: k→s, e→i, +g
        ] {
            assert_eq!(distance(a, b), count, "{a} {b}");
            assert_eq!(distance(b, a), count, "{b} {a}");
        }
    }

    #[test]
    fn near_words_are_found_and_far_ones_are_not() {
        let allowed = ["length_mm", "width_mm", "foam_mm"];
        assert_eq!(near("lenght_mm", &allowed), Some("length_mm"));
        assert_eq!(near("width", &allowed), Some("width_mm"));
        assert_eq!(near("Foam_mm", &allowed), Some("foam_mm"));
        assert_eq!(near("colour", &allowed), None);
        assert_eq!(near("", &allowed), None);
    }

    #[test]
    fn numbers_stand_as_they_were_typed() {
        for (value, text) in
            [(0.48, "0.48"), (480.0, "480"), (-12.5, "-12.5"), (0.0, "0"), (1e300, "1e300"), (1.5e-9, "1.5e-9")]
        {
            assert_eq!(plain(value), text);
        }
    }
}
