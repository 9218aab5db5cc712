//! What the user says: the project file's types, in millimetres and degrees as people write them.
//!
//! A [`Project`] may hold anything that its types allow; [`Checked`] is a project whose every field is within
//! its range and whose parts do not contradict one another. Everything below this module takes `Checked`.

mod bands;
mod change;
mod check;
mod fault;
mod fields;
mod load;
mod locate;
mod merge;
mod pending;
mod rail;
mod rail_edit;
mod save;
mod screen;
mod sections;
mod shape;
mod shape_file;
mod shape_words;
mod snap;
mod snap_rail;
mod starter;
mod template;
mod tolerances;

pub use bands::{Band, Bands, Direction, Group, band_ids};
pub use change::change_words;
pub use check::Checked;
pub(crate) use fault::digits_changed_back;
pub use fault::{Contradiction, Fault, FaultKind, NonFinite, Slip};
pub use fields::{Adjust, Field, Page, can_be_adjusted, fields, fields_of_page};
pub use load::{LoadError, load, parse, parse_beside};
pub use merge::merge;
pub use pending::{Pending, pending, pending_words, put_back};
pub use rail::{Attachment, Fit, JointKind, Rail, RailFace, RailJoint};
pub use save::{SaveError, Saved, save, to_text};
pub use screen::{ScreenKind, ScreenPlace, ScreenSize, ScreenStand, Screens};
pub use sections::{JointRow, RailSection, joint_row, sections};
pub use shape::{Axis, LengthUnit, Loaded, Shape, StandsFor};
pub use shape_file::{ShapeError, read_shape};
pub use shape_words::{likelier_unit, shape_notes};
pub use snap::{RailEnd, Snap, SnapError, attach, detach, nearest_slot, nearest_slot_for_end};
pub use snap_rail::{Hung, snap_all, snap_rail};
pub use starter::starter;
pub use template::{TEMPLATES, Template, TemplateError, TemplatePart};
pub use tolerances::tolerance;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::geometry::Side;

/// The version of the project file that this program writes.
pub const VERSION: u32 = 1;

/// A whole project: one driver in one rig.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Project {
    /// Version of the file, [`VERSION`].
    pub version: u32,
    /// What the project is called on screen and in reports.
    pub title: String,
    /// The kind of car that the rig stands for; chooses bands for torso, hip and seat angles.
    #[serde(default)]
    pub style: Style,
    /// Who sits in it.
    pub driver: Driver,
    /// Who else drives it, each in turn.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<Driver>,
    /// The seat.
    pub seat: Seat,
    /// The steering wheel.
    pub wheel: Wheel,
    /// The box behind the wheel that turns it.
    pub wheel_unit: WheelUnit,
    /// The pedal set.
    pub pedals: PedalSet,
    /// Rails of the frame.
    #[serde(default)]
    pub frame: Vec<Rail>,
    /// What the frame carries, in place of usual figures.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub loads: Option<FrameLoads>,
    /// Points that a hand must reach.
    #[serde(default)]
    pub controls: Vec<Control>,
    /// The screens.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub screens: Option<Screens>,
    /// Parts whose shape comes from a file.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shapes: Vec<Shape>,
    /// How far what moves can be moved, and in which steps, where the user says so.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub adjusters: Vec<AdjusterRange>,
    /// How far the parts move in the checks.
    #[serde(default)]
    pub motion: Motion,
    /// How surely the rig's numbers are known, in place of the table's figures.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerances: Option<Tolerances>,
    /// Views of the rig that were kept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub views: Vec<SavedView>,
    /// Bands of the user's own by finding id; each replaces the default and is named in the finding.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub bands: BTreeMap<String, BandOverride>,
}

impl Project {
    /// Everybody who drives the rig, with the path of each; the first one sits in it.
    pub fn drivers(&self) -> impl Iterator<Item = (String, &Driver)> {
        let others = self.others.iter().enumerate().map(|(index, driver)| (format!("others[{index}]"), driver));
        std::iter::once(("driver".to_owned(), &self.driver)).chain(others)
    }

    /// Whether the rails are drawn as a frame that is built, with joints, places on one another or loads, rather than only
    /// as things that stand in the way.
    pub fn describes_frame(&self) -> bool {
        let hangs = |rail: &Rail| rail.joint.is_some() || rail.from_on.is_some() || rail.to_on.is_some();
        !self.frame.is_empty() && (self.loads.is_some() || self.frame.iter().any(hangs))
    }

    /// Seats the driver of this name, in exchange for the one who sat there; false where nobody has the name.
    pub fn seat_driver(&mut self, name: &str) -> bool {
        if self.driver.name == name {
            return true;
        }
        let Some(other) = self.others.iter_mut().find(|other| other.name == name) else { return false };
        std::mem::swap(&mut self.driver, other);
        true
    }
}

/// An adjuster as it is built: between which values it moves one number of the project, and in which steps.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AdjusterRange {
    /// The number that it moves: `wheel.centre_mm[2]`.
    pub field: String,
    /// Its two ends, in the number's unit.
    pub range: [f64; 2],
    /// Pitch of its holes or distance of its detents, counted from where it stands; 0 for a slot.
    #[serde(default)]
    pub step: f64,
}

/// A place of the eye that was kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SavedView {
    /// What it is called.
    pub name: String,
    /// What the eye looks at: (x, y, z).
    pub focus_mm: [f64; 3],
    /// From the focus to the eye, from forward to the left.
    pub azimuth_deg: f64,
    /// The same, above the floor.
    pub elevation_deg: f64,
    /// Height of the picture at the focus.
    pub height_mm: f64,
    /// True without perspective.
    #[serde(default, skip_serializing_if = "is_false")]
    pub parallel: bool,
}

/// The kind of car that a rig stands for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Style {
    /// Closed racing car: reclined shell, feet a little below the hips.
    #[default]
    ClosedCar,
    /// Single-seater: strongly reclined, feet near hip height.
    Formula,
    /// Upright road seat.
    Road,
}

/// Which survey the missing measurements are estimated from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Population {
    /// ANSUR II men.
    Men,
    /// ANSUR II women.
    Women,
}

/// The person who drives.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Driver {
    /// A name for reports; invented names only in the demos.
    pub name: String,
    /// The survey that estimates what was not measured.
    pub population: Population,
    /// What was measured.
    pub measured: Measurements,
    /// Shoes.
    #[serde(default)]
    pub footwear: Footwear,
    /// Clothes: thickness of one layer, as sitting presses it; 0 for the thin ones that people are measured in.
    #[serde(default)]
    pub clothing_mm: f64,
    /// Helmet or headset, if one is worn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub headgear: Option<Headgear>,
    /// The foot that brakes.
    pub brakes_with: Side,
    /// How the pelvis is held.
    #[serde(default, skip_serializing_if = "Pelvis::is_natural")]
    pub pelvis: Pelvis,
    /// How old the driver is, for the strength of the legs.
    #[serde(default, skip_serializing_if = "AgeGroup::is_young")]
    pub age: AgeGroup,
    /// Joint limits of this person where they differ from the table.
    #[serde(default)]
    pub limits: PersonalLimits,
}

impl Driver {
    /// A driver of whom only measurements are known: barefoot sizes in everyday shoes, thin clothes, left-foot braking.
    pub fn measured(population: Population, measured: Measurements) -> Self {
        Self {
            name: String::new(),
            population,
            measured,
            footwear: Footwear::default(),
            clothing_mm: 0.0,
            headgear: None,
            brakes_with: Side::Left,
            pelvis: Pelvis::default(),
            age: AgeGroup::default(),
            limits: PersonalLimits::default(),
        }
    }
}

/// A measured value with the error of measuring it (one standard deviation).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// The value, in the unit that the field's name carries.
    pub value: f64,
    /// One standard deviation of the measuring error, same unit.
    pub error: f64,
    /// True where the user was asked about an odd value and stands by it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub confirmed: bool,
}

impl Measured {
    /// A measured value with its error.
    pub const fn new(value: f64, error: f64) -> Self {
        Self { value, error, confirmed: false }
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the form that serde asks for")]
const fn is_false(flag: &bool) -> bool {
    !*flag
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the form that serde asks for")]
const fn is_nothing(value: &f64) -> bool {
    *value == 0.0
}

macro_rules! measurements {
    ($($(#[$doc:meta])* $field:ident => $variable:literal, $label:literal, $unit:ident, $error:literal;)*) => {
        /// Measured dimensions; any subset, by standard definitions (ISO 7250-1; the ANSUR II names stand in
        /// [`Measurements::LIST`]).
        #[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct Measurements {
            $(
                $(#[$doc])*
                #[serde(default, skip_serializing_if = "Option::is_none")]
                pub $field: Option<Measured>,
            )*
        }

        impl Measurements {
            /// (field, ANSUR II variable, label, unit, usual measuring error at home) of every dimension that can be
            /// entered.
            pub const LIST: &'static [(&'static str, &'static str, &'static str, crate::units::Unit, f64)] = &[
                $((stringify!($field), $variable, $label, crate::units::Unit::$unit, $error),)*
            ];

            /// The entry of `field`, a name in [`Measurements::LIST`].
            pub fn entry(&mut self, field: &str) -> Option<&mut Option<Measured>> {
                match field {
                    $(stringify!($field) => Some(&mut self.$field),)*
                    _ => None,
                }
            }

            /// What was measured: (ANSUR II variable, value).
            pub fn taken(&self) -> impl Iterator<Item = (&'static str, Measured)> {
                [$(($variable, self.$field),)*].into_iter().filter_map(|(name, value)| Some((name, value?)))
            }
        }
    };
}

measurements! {
    /// Floor to top of head, standing.
    stature_mm => "stature", "Stature", Millimetre, 8.0;
    /// Body mass.
    mass_kg => "weightkg", "Mass", Kilogram, 1.0;
    /// Seat surface to top of head, sitting erect.
    sitting_height_mm => "sittingheight", "Sitting height", Millimetre, 8.0;
    /// Seat surface to the outer corner of the eye.
    eye_height_sitting_mm => "eyeheightsitting", "Eye height, sitting", Millimetre, 8.0;
    /// Seat surface to the outer tip of the shoulder blade, sitting erect. The survey has no such height: it is taken as
    /// the height standing less what the legs add, the trunk being as long sitting as standing.
    shoulder_height_sitting_mm => "acromialheightsitting_derived", "Shoulder height, sitting", Millimetre, 10.0;
    /// Floor to the outer tip of the shoulder blade, standing.
    shoulder_height_mm => "acromialheight", "Shoulder height", Millimetre, 10.0;
    /// Floor to crotch, standing.
    inseam_mm => "crotchheight", "Inseam", Millimetre, 10.0;
    /// Rearmost buttock to front of the kneecap, sitting.
    buttock_knee_mm => "buttockkneelength", "Buttock to knee", Millimetre, 8.0;
    /// Foot support to top of the knee, sitting.
    knee_height_mm => "kneeheightsitting", "Knee height", Millimetre, 6.0;
    /// Greatest breadth across the upper arms.
    shoulder_breadth_mm => "bideltoidbreadth", "Shoulder breadth", Millimetre, 10.0;
    /// Greatest breadth of hips or thighs, sitting.
    hip_breadth_sitting_mm => "hipbreadthsitting", "Hip breadth, sitting", Millimetre, 10.0;
    /// Wall behind the back to the thumb tip, arm straight forward, shoulders on the wall.
    arm_reach_mm => "thumbtipreach", "Arm reach", Millimetre, 12.0;
    /// Outer tip of the shoulder blade to the underside of the elbow bent at 90°.
    shoulder_elbow_mm => "shoulderelbowlength", "Shoulder to elbow", Millimetre, 8.0;
    /// Back of the elbow to the centre of a gripped rod.
    elbow_grip_mm => "forearmcenterofgriplength", "Elbow to grip", Millimetre, 8.0;
    /// Wrist crease to the tip of the middle finger.
    hand_length_mm => "handlength", "Hand length", Millimetre, 5.0;
    /// Back of the heel to the tip of the longest toe.
    foot_length_mm => "footlength", "Foot length", Millimetre, 4.0;
    /// Greatest breadth across the ball of the foot.
    foot_breadth_mm => "footbreadthhorizontal", "Foot breadth", Millimetre, 4.0;
    /// Seat surface to the highest point of the thigh.
    thigh_clearance_mm => "thighclearance", "Thigh clearance", Millimetre, 8.0;
    /// Front to back at navel level, standing.
    waist_depth_mm => "waistdepth", "Waist depth", Millimetre, 10.0;
}

/// Shoes: what they add to the bare foot.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Footwear {
    /// Sole under the heel.
    pub heel_sole_mm: f64,
    /// Sole under the ball of the foot.
    pub ball_sole_mm: f64,
    /// Outer length beyond the bare foot.
    pub extra_length_mm: f64,
    /// Greatest outer width.
    pub width_mm: f64,
}

impl Default for Footwear {
    /// A thin-soled driving shoe: common practice, no published source.
    fn default() -> Self {
        Self { heel_sole_mm: 10.0, ball_sole_mm: 7.0, extra_length_mm: 18.0, width_mm: 104.0 }
    }
}

/// A helmet, goggles or headphones: how far they stand out from the head.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Headgear {
    /// Over, beside and behind the head: about 45 for a helmet, 20 for a headband.
    pub over_mm: f64,
    /// Ahead of the eyes: about 90 for goggles, 0 for headphones.
    pub ahead_mm: f64,
}

/// Joint limits that replace the table's for this person, each positive in the named direction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PersonalLimits {
    /// Foot towards the shin.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ankle_dorsiflexion_deg: Option<f64>,
    /// Foot away from the shin.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ankle_plantarflexion_deg: Option<f64>,
    /// Knee bend from straight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub knee_flexion_deg: Option<f64>,
    /// Thigh towards the trunk.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hip_flexion_deg: Option<f64>,
    /// Elbow bend from straight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elbow_flexion_deg: Option<f64>,
    /// Hand towards the palm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrist_flexion_deg: Option<f64>,
    /// Hand towards its back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrist_extension_deg: Option<f64>,
}

/// The age groups whose strength was measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum AgeGroup {
    /// 18 to 25 years; up to 55 there are no figures, and these are taken.
    #[default]
    Young,
    /// 55 to 65 years.
    Older,
    /// Over 65 years.
    Senior,
}

impl AgeGroup {
    /// "18 to 25 years", "55 to 65 years", "over 65 years".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Young => "18 to 25 years",
            Self::Older => "55 to 65 years",
            Self::Senior => "over 65 years",
        }
    }

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "the form that serde asks for")]
    fn is_young(&self) -> bool {
        *self == Self::Young
    }
}

/// How a driver holds the pelvis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Pelvis {
    /// Hips at the back, pelvis in line with the torso.
    #[default]
    Natural,
    /// Hips slid forward, pelvis rolled back, lower back round.
    Slouched,
    /// Hips at the back, pelvis rolled forward, lower back hollow.
    Upright,
}

impl Pelvis {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "the form that serde asks for")]
    fn is_natural(&self) -> bool {
        *self == Self::Natural
    }
}

/// A gauge reading of the back surface, from the line that the user's gauge reads from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum BackAngle {
    /// From the horizontal: 90 is upright.
    FromHorizontal(f64),
    /// From the vertical: 0 is upright.
    FromVertical(f64),
}

impl BackAngle {
    /// Degrees from vertical, positive leaning back.
    pub const fn from_vertical_deg(self) -> f64 {
        match self {
            Self::FromHorizontal(value) => 90.0 - value,
            Self::FromVertical(value) => value,
        }
    }
}

/// A rigid or sprung seat, described by dimensions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seat {
    /// Where the cushion and back surfaces meet on the centre line, slider at 0: (x, y, z).
    pub position_mm: [f64; 3],
    /// The fore–aft slider.
    pub slider: Slider,
    /// Cushion surface from horizontal, front edge up.
    pub cushion_angle_deg: f64,
    /// Back surface as the gauge reads it.
    pub back_angle_deg: BackAngle,
    /// The whole seat tilted by its brackets about the line where cushion and back meet, front edge up: comes on top of
    /// both angles, which are read without it.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub tilt_deg: f64,
    /// The part that is sat on.
    pub cushion: Cushion,
    /// The part that is leant on.
    pub back: Back,
    /// Shoulder wings, if the shell has them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wings: Option<Wings>,
    /// Thickness of the shell's wall.
    pub shell_mm: f64,
}

impl Seat {
    /// The angle between cushion and back surface, degrees; a rigid shell keeps it however it is tilted.
    pub const fn cushion_to_back_deg(&self) -> f64 {
        90.0 + self.back_angle_deg.from_vertical_deg() - self.cushion_angle_deg
    }

    /// The cushion from horizontal as the seat stands, front edge up, degrees.
    pub const fn cushion_deg(&self) -> f64 {
        self.cushion_angle_deg + self.tilt_deg
    }

    /// The back from vertical as the seat stands, leaning back positive, degrees.
    pub const fn back_from_vertical_deg(&self) -> f64 {
        self.back_angle_deg.from_vertical_deg() + self.tilt_deg
    }
}

/// A fore–aft slider.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slider {
    /// Where it stands now, forward positive.
    pub at_mm: f64,
    /// Its two ends.
    pub range_mm: [f64; 2],
    /// Distance between two detents; 0 for a free slider.
    pub step_mm: f64,
}

/// The cushion of a seat.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cushion {
    /// From the back surface to the front edge, along the surface.
    pub length_mm: f64,
    /// Inner width between the bolsters, where the hips sit.
    pub width_mm: f64,
    /// Foam above the shell, unloaded.
    pub foam_mm: f64,
    /// How far the foam gives under a 77 kg driver.
    pub give_mm: f64,
    /// Bolsters above the cushion surface; 0 for none.
    pub bolster_height_mm: f64,
    /// Width of one bolster.
    pub bolster_width_mm: f64,
}

/// The back of a seat.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Back {
    /// From the cushion surface to the top edge, along the surface.
    pub length_mm: f64,
    /// Inner width between the bolsters.
    pub width_mm: f64,
    /// Foam in front of the shell, unloaded.
    pub foam_mm: f64,
    /// How far the foam gives under a 77 kg driver.
    pub give_mm: f64,
    /// Side bolsters: how far they stand out from the back surface; 0 for none.
    pub bolster_depth_mm: f64,
    /// Width of one bolster.
    pub bolster_width_mm: f64,
    /// Top of the side bolsters, along the back.
    pub bolster_top_mm: f64,
    /// How far a lumbar support stands out; 0 for a flat back.
    #[serde(default)]
    pub lumbar_mm: f64,
    /// Height of its apex above the cushion surface, along the back.
    #[serde(default = "default_lumbar_height")]
    pub lumbar_height_mm: f64,
    /// Its length along the back.
    #[serde(default = "default_lumbar_length")]
    pub lumbar_length_mm: f64,
}

const fn default_lumbar_height() -> f64 {
    180.0
}

/// Common practice, no published source.
const fn default_lumbar_length() -> f64 {
    180.0
}

/// Wings beside the shoulders.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wings {
    /// Lower edge, along the back.
    pub from_mm: f64,
    /// Upper edge, along the back.
    pub to_mm: f64,
    /// How far they stand out from the back surface.
    pub depth_mm: f64,
    /// Inner width between them.
    pub width_mm: f64,
}

/// The outline of a steering wheel, seen along its shaft; sizes over the outside of the rim.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Rim {
    /// A full circle.
    Round {
        /// Outer diameter.
        diameter_mm: f64,
    },
    /// A circle with its bottom cut straight.
    FlatBottomed {
        /// Outer diameter.
        diameter_mm: f64,
        /// From the centre down to the outside of the flat.
        flat_mm: f64,
    },
    /// A circle with its top left out.
    OpenTopped {
        /// Outer diameter.
        diameter_mm: f64,
        /// The angle that is left out, centred on 12 o'clock.
        opening_deg: f64,
    },
    /// A rounded rectangle, open or closed makes no difference to the hands.
    Formula {
        /// Outer width.
        width_mm: f64,
        /// Outer height.
        height_mm: f64,
        /// Radius of the corners, outside.
        corner_mm: f64,
    },
}

/// The steering wheel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wheel {
    /// The outline.
    pub rim: Rim,
    /// Thickness of the grip.
    pub tube_mm: f64,
    /// Centre of the rim plane: (x, y, z).
    pub centre_mm: [f64; 3],
    /// Steering shaft from horizontal; the wheel leans from vertical by the same angle, top forward.
    pub column_angle_deg: f64,
    /// How far the wheel turns from straight to its stop, each way.
    pub lock_deg: f64,
    /// Where the hands hold it, in hours on the clock face: (left, right).
    pub hands_h: [f64; 2],
}

/// The box that carries the wheel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WheelUnit {
    /// Length along the shaft, width, height across it.
    pub size_mm: [f64; 3],
    /// From the rim plane to its near face, along the shaft.
    pub behind_mm: f64,
    /// From the shaft down to its middle, across the shaft.
    pub drop_mm: f64,
}

/// What a pedal does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum PedalKind {
    /// Left of three.
    Clutch,
    /// The middle one of three, the left one of two.
    Brake,
    /// The right one.
    Throttle,
}

impl PedalKind {
    /// "clutch", "brake" or "throttle".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Clutch => "clutch",
            Self::Brake => "brake",
            Self::Throttle => "throttle",
        }
    }
}

/// A set of two or three pedals on one plate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PedalSet {
    /// The set's reference point: rear edge of the heel plate on the set's centre line, (x, y, z).
    pub position_mm: [f64; 3],
    /// The plate from horizontal, front edge up.
    pub plate_angle_deg: f64,
    /// The heel plate above the reference point, normal to the plate.
    pub heel_rest_mm: f64,
    /// The pedals.
    pub pedals: Vec<Pedal>,
}

/// One pedal; places are seen from the set's reference point, along its plate and normal to it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pedal {
    /// What it does.
    pub kind: PedalKind,
    /// Sideways from the set's centre line, left positive.
    pub sideways_mm: f64,
    /// Centre of the face at rest: (forward, up).
    pub face_mm: [f64; 2],
    /// Pivot of the arm: (forward, up). Below the face it is floor-hinged, above it top-hung.
    pub pivot_mm: [f64; 2],
    /// Face at rest, from the vertical of the plate, top edge forward.
    pub tilt_deg: f64,
    /// Width and height of the face.
    pub size_mm: [f64; 2],
    /// Full travel of the centre of the face along its arc.
    pub travel_mm: f64,
    /// Travel at the working force.
    pub working_travel_mm: f64,
    /// The force it is worked with.
    pub working_force_n: f64,
}

/// What a frame carries besides its driver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FrameLoads {
    /// Greatest torque of the wheel unit.
    pub wheel_torque_nm: f64,
    /// A pull on the rim, as somebody who gets in gives it.
    pub wheel_pull_n: f64,
    /// Mass of wheel and wheel unit.
    pub wheel_unit_kg: f64,
    /// Mass of the seat with its brackets.
    pub seat_kg: f64,
    /// Mass of the pedal set.
    pub pedals_kg: f64,
    /// Friction between feet and floor.
    pub floor_friction: f64,
    /// Screens, computers and whatever else stands on the frame.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub weights: Vec<Weight>,
}

impl Default for FrameLoads {
    /// Common practice, no published source: a direct-drive unit of 15 N·m and 8 kg; 250 N when pulled while getting in
    /// (200 to 300); shells of 6 to 20 kg; rubber feet on a hard floor or a thin carpet hold with 0.5.
    fn default() -> Self {
        Self {
            wheel_torque_nm: 15.0,
            wheel_pull_n: 250.0,
            wheel_unit_kg: 8.0,
            seat_kg: 12.0,
            pedals_kg: 6.0,
            floor_friction: 0.5,
            weights: Vec::new(),
        }
    }
}

/// A thing that stands on the frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weight {
    /// What it is called.
    pub name: String,
    /// Its mass.
    pub kg: f64,
    /// Its centre of mass: (x, y, z).
    pub at_mm: [f64; 3],
}

/// A point that a hand must reach.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Control {
    /// What it is called.
    pub name: String,
    /// Where it is gripped: (x, y, z).
    pub at_mm: [f64; 3],
    /// The hand that works it.
    pub hand: Side,
}

/// How far the parts move while clearances are searched.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Motion {
    /// Steering to each side, hands on the rim as far as the arms allow.
    pub steer_deg: f64,
    /// Steering positions looked at, over the whole range; odd, so that straight ahead is one.
    pub steer_steps: usize,
    /// Positions looked at for each pedal, rest and full travel included.
    pub pedal_steps: usize,
    /// Pedals that are used; the others only stand in the way.
    pub pedals: PedalsUsed,
    /// The throttle held part of the way down, mm of travel; no further than it goes.
    #[serde(default = "held_throttle")]
    pub throttle_hold_mm: f64,
}

/// Common practice, no published source: a third of a long pedal's travel.
const fn held_throttle() -> f64 {
    20.0
}

impl Default for Motion {
    fn default() -> Self {
        Self {
            steer_deg: 180.0,
            steer_steps: 121,
            pedal_steps: 21,
            pedals: PedalsUsed::All,
            throttle_hold_mm: held_throttle(),
        }
    }
}

/// The pedals that the feet work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum PedalsUsed {
    /// Every pedal of the set.
    All,
    /// Brake and throttle; a clutch is left alone.
    BrakeAndThrottle,
}

/// How surely a rig's lengths and angles are known, one standard deviation; forces and what is exact by its nature keep
/// the table's figures.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tolerances {
    /// Places and lengths.
    pub length_mm: f64,
    /// Angles.
    pub angle_deg: f64,
}

/// A band of the user's own for one finding, in the finding's unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BandOverride {
    /// Good between these two.
    pub good: [f64; 2],
    /// Borderline out to these two; outside beyond.
    pub limit: [f64; 2],
}
