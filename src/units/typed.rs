//! Numbers as people type them: `650`, `65 cm`, `25 5/8 in`, `2' 1"`, `5 ft 11`, `180 lb`, `12°`, with a decimal comma
//! or a point.
//!
//! Factors are exact: an inch is 25.4 mm and a pound 0.453 592 37 kg (NIST SP 811:2008, appendix B.8 and footnote 22),
//! a foot 12 inches, an ounce a sixteenth of a pound, a stone 14 pounds; a kilogram-force is the weight of a kilogram
//! at 9.806 65 m/s² (the same, B.8).

use super::{GRAVITY, System, Unit};

/// Millimetres in an inch.
pub const MM_PER_INCH: f64 = 25.4;
/// Kilograms in a pound.
pub const KG_PER_POUND: f64 = 0.453_592_37;

/// What is measured, with the unit in which the program keeps it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// Millimetres.
    Length,
    /// Degrees.
    Angle,
    /// Kilograms.
    Mass,
    /// Newtons.
    Force,
    /// Newton metres.
    Torque,
    /// Hertz, hours on the rim, per cent, times or pieces: each has one way of writing.
    Other(Unit),
}

impl Kind {
    const fn of(unit: Unit) -> Self {
        match unit {
            Unit::Millimetre | Unit::FineMillimetre => Self::Length,
            Unit::Degree | Unit::FineDegree => Self::Angle,
            Unit::Kilogram => Self::Mass,
            Unit::Newton => Self::Force,
            Unit::NewtonMetre => Self::Torque,
            Unit::Hertz | Unit::ClockHour | Unit::Percent | Unit::Times | Unit::Count => Self::Other(unit),
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Mass => "a mass",
            Self::Force => "a force",
            Self::Torque => "a torque",
            Self::Other(Unit::Hertz) => "a frequency",
            Self::Other(Unit::ClockHour) => "an hour on the rim",
            Self::Other(Unit::Percent) => "a share",
            Self::Other(_) => "a number",
        }
    }

    /// Units that it is read in, for a reader.
    const fn ways(self) -> &'static str {
        match self {
            Self::Length => "mm, cm, m, in or ft",
            Self::Angle => "° or deg",
            Self::Mass => "kg, g, lb, oz or st",
            Self::Force => "N, kgf or lbf",
            Self::Torque => "N·m",
            Self::Other(Unit::Hertz) => "Hz",
            Self::Other(Unit::ClockHour) => "h",
            Self::Other(Unit::Percent) => "%",
            Self::Other(_) => "no unit",
        }
    }
}

/// A unit that can be typed.
#[derive(Clone, Copy, Debug)]
struct Written {
    kind: Kind,
    /// How much of the program's unit one of it is.
    factor: f64,
    /// What a bare number behind it counts: the inches of `5 ft 11`.
    then: Option<&'static str>,
}

/// The unit of a word, in small letters.
fn written(word: &str) -> Option<Written> {
    let unit = |kind, factor| Some(Written { kind, factor, then: None });
    let then = |kind, factor, then| Some(Written { kind, factor, then: Some(then) });
    match word {
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => unit(Kind::Length, 1.0),
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => unit(Kind::Length, 10.0),
        "m" | "metre" | "metres" | "meter" | "meters" => then(Kind::Length, 1000.0, "cm"),
        "in" | "inch" | "inches" | "\"" | "″" | "”" | "“" | "''" | "′′" | "’’" => {
            unit(Kind::Length, MM_PER_INCH)
        }
        "ft" | "foot" | "feet" | "'" | "′" | "’" | "‘" => then(Kind::Length, 12.0 * MM_PER_INCH, "in"),
        "°" | "º" | "deg" | "degree" | "degrees" => unit(Kind::Angle, 1.0),
        "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" => unit(Kind::Mass, 1.0),
        "g" | "gram" | "grams" => unit(Kind::Mass, 1e-3),
        "lb" | "lbs" | "pound" | "pounds" => then(Kind::Mass, KG_PER_POUND, "oz"),
        "oz" | "ounce" | "ounces" => unit(Kind::Mass, KG_PER_POUND / 16.0),
        "st" | "stone" | "stones" => then(Kind::Mass, 14.0 * KG_PER_POUND, "lb"),
        "n" | "newton" | "newtons" => unit(Kind::Force, 1.0),
        "kn" => unit(Kind::Force, 1000.0),
        "kgf" | "kp" => unit(Kind::Force, GRAVITY),
        "lbf" => unit(Kind::Force, KG_PER_POUND * GRAVITY),
        "n·m" | "nm" | "n m" | "n*m" => unit(Kind::Torque, 1.0),
        "hz" => unit(Kind::Other(Unit::Hertz), 1.0),
        "h" | "o'clock" => unit(Kind::Other(Unit::ClockHour), 1.0),
        "%" | "percent" => unit(Kind::Other(Unit::Percent), 1.0),
        "×" | "x" | "times" => unit(Kind::Other(Unit::Times), 1.0),
        _ => None,
    }
}

/// Why a typed text is no value.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unread {
    /// Nothing stands there.
    #[error("Type a number, such as {example}")]
    Empty {
        /// What could stand there.
        example: &'static str,
    },
    /// A number was to stand where this does.
    #[error("“{found}” is not a number; type one such as {example}")]
    NoNumber {
        /// What stands there.
        found: String,
        /// What could.
        example: &'static str,
    },
    /// Point and comma in one number, or two of one: a thousand is written without.
    #[error("“{found}” can be read in two ways: write it without a mark for the thousands")]
    TwoMarks {
        /// The number.
        found: String,
    },
    /// Nobody has heard of this unit.
    #[error("“{unit}” is not a unit known here: {wanted} is typed in {ways}")]
    UnknownUnit {
        /// What stands behind the number.
        unit: String,
        /// What is asked for.
        wanted: &'static str,
        /// In which units.
        ways: &'static str,
    },
    /// A unit of something else.
    #[error("“{unit}” is the unit of {found}, and this is {wanted}: type it in {ways}")]
    OtherKind {
        /// What stands behind the number.
        unit: String,
        /// What that measures.
        found: &'static str,
        /// What is asked for.
        wanted: &'static str,
        /// In which units.
        ways: &'static str,
    },
    /// A fraction by nothing.
    #[error("A fraction cannot have 0 below its line")]
    ByZero,
    /// The second number counts no smaller unit, or has a sign of its own.
    #[error("Numbers in a row go from the larger unit to the smaller, as in 5 ft 11 in")]
    Order,
    /// Larger than any number.
    #[error("This number is too large")]
    TooLarge,
}

/// Reads what was typed for a value of `unit`, and returns it in that unit. A bare number counts `unit` itself, or
/// inches where lengths are shown in them (`system`).
///
/// # Errors
/// If it cannot be read; what is said names the way out.
///
/// ```
/// use heelpoint::units::{System, Unit, typed::read};
/// assert_eq!(read("65 cm", Unit::Millimetre, System::Metric), Ok(650.0));
/// assert!(read("65 kg", Unit::Millimetre, System::Metric).is_err());
/// ```
pub fn read(text: &str, unit: Unit, system: System) -> Result<f64, Unread> {
    let kind = Kind::of(unit);
    let example = match kind {
        Kind::Length => "650 mm, 65 cm or 25 5/8 in",
        Kind::Mass => "82 kg or 180 lb",
        Kind::Force => "400 N or 90 lbf",
        _ => "12 or 12.5",
    };
    let text: String = text.trim().to_lowercase().chars().map(plain_sign).collect();
    let (sign, mut rest) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(&text).trim_start()),
    };
    if rest.is_empty() {
        return Err(Unread::Empty { example });
    }
    let mut sum = 0.0;
    let mut last: Option<Written> = None;
    while !rest.is_empty() {
        let (amount, after) = amount(rest, example)?;
        let (word, after) = word(after);
        let bare = word.is_empty();
        let of = match (word, last) {
            ("", None) => Written { kind, factor: system.bare(unit), then: None },
            ("", Some(last)) => last.then.and_then(written).ok_or(Unread::Order)?,
            (word, _) => written(word).ok_or_else(|| Unread::UnknownUnit {
                unit: word.to_owned(),
                wanted: kind.word(),
                ways: kind.ways(),
            })?,
        };
        // Who types a brake's force on a scale types kilograms: its weight is meant.
        let of = match (kind, of.kind) {
            (Kind::Force, Kind::Mass) => Written { kind, factor: of.factor * GRAVITY, ..of },
            _ => of,
        };
        if of.kind != kind {
            return Err(Unread::OtherKind {
                unit: word.to_owned(),
                found: of.kind.word(),
                wanted: kind.word(),
                ways: kind.ways(),
            });
        }
        if last.is_some_and(|last| of.factor >= last.factor) || (bare && last.is_none() && !after.is_empty()) {
            return Err(Unread::Order);
        }
        sum += amount * of.factor;
        last = Some(of);
        rest = after;
    }
    let value = sign * whole_digits(sum);
    if value.is_finite() { Ok(value) } else { Err(Unread::TooLarge) }
}

/// Without the last digits that a conversion leaves: 71 in is 1803.4 mm, not 1803.399 999 999 999 9.
fn whole_digits(value: f64) -> f64 {
    const PLACES: f64 = 1e9;
    if value.abs() < 1e6 { (value * PLACES).round() / PLACES } else { value }
}

/// Typographic signs as the plain ones.
const fn plain_sign(c: char) -> char {
    match c {
        '−' | '–' => '-',
        '⁄' | '∕' => '/',
        '\u{a0}' | '\u{202f}' | '\u{2009}' => ' ',
        c => c,
    }
}

/// A number at the start of a text: `12`, `12.5`, `12,5`, `5/8`, `25 5/8`, `25½`; and what follows.
fn amount<'t>(text: &'t str, example: &'static str) -> Result<(f64, &'t str), Unread> {
    let (whole, after) = decimal(text)?;
    if let Some((below, rest)) = whole.and_then(|_| after.trim_start().strip_prefix('/')).map(digits) {
        return Ok((quotient(whole.unwrap_or(0.0), below, example)?, rest.trim_start()));
    }
    let next = after.trim_start();
    if let Some((share, rest)) = vulgar(next) {
        return Ok((whole.unwrap_or(0.0) + share, rest.trim_start()));
    }
    let Some(whole) = whole else {
        let found = text.split_whitespace().next().unwrap_or(text).to_owned();
        return Err(Unread::NoNumber { found, example });
    };
    // A fraction behind a whole number, set off by a space or a hyphen: 25 5/8, 25-5/8.
    let (above, behind) = digits(next.strip_prefix('-').unwrap_or(next));
    if let (false, Some(behind)) = (above.is_empty(), behind.strip_prefix('/')) {
        let (below, rest) = digits(behind);
        let above = above.parse::<f64>().or(Err(Unread::TooLarge))?;
        return Ok((whole + quotient(above, below, example)?, rest.trim_start()));
    }
    Ok((whole, next))
}

fn quotient(above: f64, below: &str, example: &'static str) -> Result<f64, Unread> {
    if below.is_empty() {
        return Err(Unread::NoNumber { found: "/".to_owned(), example });
    }
    match below.parse::<f64>() {
        Ok(below) if below > 0.0 => Ok(above / below),
        _ => Err(Unread::ByZero),
    }
}

fn digits(text: &str) -> (&str, &str) {
    text.split_at(text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len()))
}

/// A number with a point or a comma, if one stands at the start.
fn decimal(text: &str) -> Result<(Option<f64>, &str), Unread> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    if !number.contains(|c: char| c.is_ascii_digit()) {
        return Ok((None, text));
    }
    if number.matches(['.', ',']).count() > 1 {
        return Err(Unread::TwoMarks { found: number.to_owned() });
    }
    match number.replace(',', ".").parse::<f64>() {
        Ok(value) if value.is_finite() => Ok((Some(value), rest)),
        _ => Err(Unread::TooLarge),
    }
}

/// A fraction that is one sign.
fn vulgar(text: &str) -> Option<(f64, &str)> {
    let mut chars = text.chars();
    let eighths = match chars.next()? {
        '⅛' => 1.0,
        '¼' => 2.0,
        '⅜' => 3.0,
        '½' => 4.0,
        '⅝' => 5.0,
        '¾' => 6.0,
        '⅞' => 7.0,
        _ => return None,
    };
    Some((eighths / 8.0, chars.as_str()))
}

/// The unit at the start of a text: letters, or signs of one kind; and what follows.
fn word(text: &str) -> (&str, &str) {
    // Two words that are one unit.
    if let Some(rest) = text.strip_prefix("n m").filter(|rest| !rest.starts_with(char::is_alphanumeric)) {
        return ("n m", rest.trim_start());
    }
    let letter = |c: char| c.is_alphabetic() || matches!(c, '·' | '*');
    let end = match text.chars().next() {
        Some(first) if letter(first) => text.find(|c| !letter(c)).unwrap_or(text.len()),
        Some(first) if !first.is_ascii_digit() && !matches!(first, '.' | ',' | '-') => {
            text.find(|c| c != first).unwrap_or(text.len())
        }
        _ => 0,
    };
    let (word, rest) = text.split_at(end);
    (word, rest.trim_start_matches('.').trim_start())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &str) -> Result<f64, Unread> {
        read(text, Unit::Millimetre, System::Metric)
    }

    #[track_caller]
    fn reads(unit: Unit, text: &str, value: f64) {
        let read = read(text, unit, System::Metric);
        assert!(read.as_ref().is_ok_and(|read| (read - value).abs() < 1e-9 * value.abs().max(1.0)), "{text}: {read:?}");
    }

    /// 1 in = 25.4 mm and 1 ft = 304.8 mm exactly (NIST SP 811:2008, B.8).
    #[test]
    fn one_length_is_typed_in_many_ways() {
        for text in
            ["650", "650 mm", "650mm", "65 cm", "65,0 cm", "0.65 m", "0,65 m", ".65 m", " +650 ", "650.", "650,0"]
        {
            reads(Unit::Millimetre, text, 650.0);
        }
        for text in
            ["25 5/8 in", "25 5/8\"", "25-5/8 in", "25⅝ in", "25.625\"", "25,625 inches", "2' 1 5/8\"", "205/8 in"]
        {
            reads(Unit::Millimetre, text, 650.875);
        }
        for text in ["5 ft 11 in", "5 ft 11", "5'11\"", "5' 11", "5′ 11″", "5’11”", "5 feet 11 inches", "71 in"]
        {
            reads(Unit::Millimetre, text, 1803.4);
        }
        reads(Unit::Millimetre, "2' 1\"", 635.0);
        reads(Unit::Millimetre, "6 ft", 1828.8);
        reads(Unit::Millimetre, "1 m 78", 1780.0);
        reads(Unit::Millimetre, "−12,5", -12.5);
        reads(Unit::Millimetre, "-1' 2\"", -355.6);
        reads(Unit::Millimetre, "½ in", 12.7);
        reads(Unit::Millimetre, "5/8\"", 15.875);
    }

    /// 1 lb = 0.453 592 37 kg exactly; 1 kgf = 9.806 65 N and 1 lbf = 4.448 221 615 260 5 N exactly (NIST SP 811:2008).
    #[test]
    fn masses_forces_angles_and_torques_too() {
        reads(Unit::Kilogram, "180 lb", 81.646_626_6);
        reads(Unit::Kilogram, "180lbs", 81.646_626_6);
        reads(Unit::Kilogram, "12 st 7", 175.0 * 0.453_592_37);
        reads(Unit::Kilogram, "80,5kg", 80.5);
        reads(Unit::Newton, "40 kgf", 392.266);
        reads(Unit::Newton, "40 kg", 392.266);
        reads(Unit::Newton, "1 lbf", 4.448_221_615_260_5);
        reads(Unit::Newton, "400 N", 400.0);
        reads(Unit::Degree, "12°", 12.0);
        reads(Unit::Degree, "-3,5 deg", -3.5);
        reads(Unit::NewtonMetre, "12 N·m", 12.0);
        reads(Unit::NewtonMetre, "12 Nm", 12.0);
        reads(Unit::NewtonMetre, "12 N m", 12.0);
        reads(Unit::ClockHour, "9 h", 9.0);
        reads(Unit::Percent, "45 %", 45.0);
        reads(Unit::Count, "3", 3.0);
    }

    #[test]
    fn a_bare_number_counts_inches_where_lengths_are_shown_in_them() {
        assert_eq!(read("10", Unit::Millimetre, System::Inch), Ok(254.0));
        assert_eq!(length("71 in"), Ok(1803.4));
        assert_eq!(read("10 mm", Unit::Millimetre, System::Inch), Ok(10.0));
        assert_eq!(read("10", Unit::Degree, System::Inch), Ok(10.0));
    }

    #[test]
    fn what_cannot_be_read_says_what_can() {
        let says = |text: &str, words: &str| {
            let unread = length(text).expect_err(text).to_string();
            assert!(unread.contains(words), "{text}: {unread}");
        };
        says("", "Type a number");
        says("-", "Type a number");
        says("twelve", "“twelve” is not a number");
        says("65 cmm", "“cmm” is not a unit");
        says("12 furlongs", "mm, cm, m, in or ft");
        says("80 kg", "the unit of a mass, and this is a length");
        says("1.234,5", "two ways");
        says("1/0 in", "0 below its line");
        says("3/ in", "“/” is not a number");
        says("11 in 5 ft", "from the larger unit");
        says("12 650", "from the larger unit");
        says("5 ft -3 in", "not a number");
        says("650 mm 3", "from the larger unit");
        says(&"9".repeat(400), "too large");
    }

    #[test]
    fn no_text_makes_it_stumble() {
        // Whatever is typed is read or answered: every string of up to three of these signs.
        let signs =
            ["1", "25", ".", ",", "-", "/", " ", "'", "\"", "″", "ft", "in", "m", "½", "é", "°", "·", "\u{1F600}"];
        for a in signs {
            for b in signs {
                for c in signs {
                    for text in [a.to_owned(), format!("{a}{b}"), format!("{a}{b}{c}")] {
                        if let Ok(value) = length(&text) {
                            assert!(value.is_finite(), "{text}");
                        }
                    }
                }
            }
        }
    }
}
