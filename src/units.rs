//! The one border between SI units inside and the millimetres, degrees and kilograms that people read and write.

mod system;
pub mod typed;

use std::f64::consts::PI;

pub use system::System;

/// Metres from millimetres.
pub const fn mm(millimetres: f64) -> f64 {
    millimetres * 1e-3
}

/// Millimetres from metres.
pub const fn to_mm(metres: f64) -> f64 {
    metres * 1e3
}

/// Radians from degrees.
pub const fn deg(degrees: f64) -> f64 {
    degrees * (PI / 180.0)
}

/// Degrees from radians.
pub const fn to_deg(radians: f64) -> f64 {
    radians * (180.0 / PI)
}

/// A4 paper, short and long side, mm (ISO 216).
pub const A4_MM: [f64; 2] = [210.0, 297.0];

/// Dots an inch of what is printed.
pub const PRINTED: f64 = 300.0;

/// Dots along a length in millimetres at so many an inch.
pub fn dots(millimetres: f64, per_inch: f64) -> u32 {
    (millimetres / typed::MM_PER_INCH * per_inch).round() as u32
}

/// A4 in print: its short and long side, dots at [`PRINTED`].
pub fn a4_dots() -> [u32; 2] {
    A4_MM.map(|side| dots(side, PRINTED))
}

/// Dots a metre of what is printed, as a picture's file says it.
pub fn printed_per_metre() -> u32 {
    dots(1000.0, PRINTED)
}

/// Standard acceleration of free fall, m/s².
pub const GRAVITY: f64 = 9.806_65;

/// The unit in which a person reads a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum Unit {
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
    /// Degrees.
    #[serde(rename = "deg")]
    Degree,
    /// Kilograms.
    #[serde(rename = "kg")]
    Kilogram,
    /// Millimetres, for what is read to a hundredth.
    #[serde(rename(serialize = "mm", deserialize = "mm/100"))]
    FineMillimetre,
    /// Degrees, for what is read to a hundredth.
    #[serde(rename(serialize = "deg", deserialize = "deg/100"))]
    FineDegree,
    /// Newtons.
    #[serde(rename = "N")]
    Newton,
    /// Newton metres.
    #[serde(rename = "N·m")]
    NewtonMetre,
    /// Swings a second.
    #[serde(rename = "Hz")]
    Hertz,
    /// Hours on the clock face of the wheel, 12 at the top.
    #[serde(rename = "h")]
    ClockHour,
    /// Hundredths of a whole.
    #[serde(rename = "%")]
    Percent,
    /// How many times another value.
    #[serde(rename = "times")]
    Times,
    /// How many there are.
    #[serde(rename = "count")]
    Count,
}

impl Unit {
    /// What is printed behind a value, with its leading space where typography asks for one.
    pub const fn suffix(self) -> &'static str {
        match self {
            Self::Millimetre | Self::FineMillimetre => " mm",
            Self::Degree | Self::FineDegree => "°",
            Self::Kilogram => " kg",
            Self::Newton => " N",
            Self::NewtonMetre => " N·m",
            Self::Hertz => " Hz",
            Self::ClockHour => " h",
            Self::Percent => " %",
            Self::Times => "×",
            Self::Count => "",
        }
    }

    /// Digits behind the point that a reader needs.
    pub const fn decimals(self) -> usize {
        match self {
            Self::Millimetre | Self::Degree | Self::Newton | Self::Percent | Self::Count => 0,
            Self::Kilogram | Self::ClockHour | Self::Times | Self::NewtonMetre | Self::Hertz => 1,
            Self::FineMillimetre | Self::FineDegree => 2,
        }
    }

    /// `value` (in this unit) as a reader wants it: rounded, never `-0`, unit attached, in the system that is shown.
    ///
    /// ```
    /// use heelpoint::units::Unit;
    /// assert_eq!(Unit::Millimetre.show(-0.2), "0 mm");
    /// assert_eq!(Unit::Degree.show(129.6), "130°");
    /// ```
    pub fn show(self, value: f64) -> String {
        self.show_in(value, System::shown())
    }

    /// The same in a named system.
    ///
    /// ```
    /// use heelpoint::units::{System, Unit};
    /// assert_eq!(Unit::Millimetre.show_in(650.875, System::Inch), "25.6 in");
    /// ```
    pub fn show_in(self, value: f64, system: System) -> String {
        let text = format!("{:.*}", system.decimals(self, value), value / system.bare(self));
        let zero = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
        let text = if zero { text.trim_start_matches('-').to_owned() } else { text.replace('-', "−") };
        format!("{text}{}", system.suffix(self))
    }
}

/// A length of rail to cut or to buy (in millimetres) as a reader wants it, to a tenth: rail is cut in either, so where
/// inches are shown millimetres stand beside them.
///
/// ```
/// assert_eq!(heelpoint::units::show_cut(920.0), "920.0 mm");
/// ```
pub fn show_cut(millimetres: f64) -> String {
    match System::shown() {
        System::Metric => format!("{millimetres:.1} mm"),
        System::Inch => format!("{:.2} in ({millimetres:.1} mm)", millimetres / typed::MM_PER_INCH),
    }
}

/// Several such lengths and what joins them, in the system that is shown alone: "920.0 + 540.0 mm".
pub fn show_cuts(millimetres: &[f64], between: &str) -> String {
    let (bare, digits) = match System::shown() {
        System::Metric => (1.0, 1),
        System::Inch => (typed::MM_PER_INCH, 2),
    };
    let each: Vec<String> = millimetres.iter().map(|length| format!("{:.digits$}", length / bare)).collect();
    format!("{}{}", each.join(between), System::shown().suffix(Unit::Millimetre))
}

/// Several lengths (in millimetres) and what joins them: "620 × 540 × 900 mm".
pub fn show_lengths(millimetres: &[f64], between: &str) -> String {
    let system = System::shown();
    let digits = usize::from(system == System::Inch);
    let bare = system.bare(Unit::Millimetre);
    let each: Vec<String> = millimetres.iter().map(|length| format!("{:.digits$}", length / bare)).collect();
    format!("{}{}", each.join(between), system.suffix(Unit::Millimetre))
}

/// A place (in metres) as a reader wants it: "(590, −330, 570) mm".
pub fn show_place(at: crate::geometry::Vec3) -> String {
    let system = System::shown();
    let unit = Unit::Millimetre;
    let digits = usize::from(system == System::Inch);
    let part = |axis: usize| {
        let text = format!("{:.digits$}", to_mm(at[axis]) / system.bare(unit));
        let zero = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
        if zero { text.trim_start_matches('-').to_owned() } else { text.replace('-', "−") }
    };
    format!("({}, {}, {}){}", part(0), part(1), part(2), system.suffix(unit))
}

/// A point in metres from one in millimetres.
pub fn mm_point(millimetres: [f64; 3]) -> crate::geometry::Vec3 {
    crate::geometry::Vec3::new(mm(millimetres[0]), mm(millimetres[1]), mm(millimetres[2]))
}

/// Metres from millimetres, element by element.
pub fn mm_pair(millimetres: [f64; 2]) -> [f64; 2] {
    millimetres.map(mm)
}
