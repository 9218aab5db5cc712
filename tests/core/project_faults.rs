//! Every kind of fault is told with its kind, its field, its line and column, and the way out.
//!
//! Lines and columns are counted by hand in `rig.ron`.

use heelpoint::{
    geometry::Side,
    project::{Checked, Contradiction, Fault, FaultKind, NonFinite, PedalKind, Project, Slip, parse},
    units::Unit,
};

/// A sound project without comments.
pub const RIG: &str = include_str!("rig.ron");

/// The rig's text with one piece replaced.
fn replaced(from: &str, to: &str) -> String {
    assert_eq!(RIG.matches(from).count(), 1, "{from} stands once in the rig");
    RIG.replace(from, to)
}

/// The faults of the rig with one piece of its text replaced.
fn faults(from: &str, to: &str) -> Vec<Fault> {
    parse(&replaced(from, to)).unwrap_err()
}

/// Asserts that the rig with one piece replaced has one fault: its place, field, kind and sentence. A sentence that
/// ends with `…` is a beginning: an example from the starter file follows.
macro_rules! fault {
    ($from:expr => $to:expr, $at:expr, $path:expr, $kind:pat $(if $guard:expr)?, $sentence:expr $(,)?) => {{
        let faults = faults($from, $to);
        assert_eq!(faults.len(), 1, "{faults:#?}");
        let fault = &faults[0];
        match $sentence.strip_suffix('…') {
            Some(beginning) => assert!(fault.sentence().starts_with(beginning), "{fault}"),
            None => assert_eq!(fault.sentence(), $sentence),
        }
        assert_eq!(fault.at, Some($at), "{fault}");
        assert_eq!(fault.path, $path);
        assert!(matches!(&fault.kind, $kind $(if $guard)?), "{:?}", fault.kind);
    }};
}

/// [`fault!`] for parts that contradict one another.
macro_rules! contradiction {
    ($from:expr => $to:expr, $at:expr, $path:expr, $kind:pat, $sentence:expr $(,)?) => {
        fault!($from => $to, $at, $path, FaultKind::Contradiction($kind), $sentence)
    };
}

#[test]
fn the_rig_itself_is_sound() {
    parse(RIG).unwrap();
}

// The text as a whole.

#[test]
fn empty() {
    for text in ["", " \n\t", "// only a comment\n/* and another */", "\u{FEFF}"] {
        let faults = parse(text).unwrap_err();
        assert_eq!(faults.len(), 1);
        assert_eq!(faults[0].kind, FaultKind::Empty);
        assert_eq!(faults[0].sentence(), "The file is empty. `heelpoint new` writes a project to begin with.");
    }
}

#[test]
fn zero_byte() {
    fault!(
        "Nobody" => "No\0body", (6, 18), "", FaultKind::ZeroByte { byte: 89 },
        "Byte 89 is zero, which no text has. Is it a project file?",
    );
}

#[test]
fn too_large() {
    let text = format!("{RIG}//{}", " ".repeat(1 << 20));
    let faults = parse(&text).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].kind, FaultKind::TooLarge { bytes: text.len() as u64, limit: 1_048_576 });
}

#[test]
fn too_deep() {
    // The project's bracket is the first, so that the 64th of these is the 65th.
    fault!(
        "\"Test rig\"" => &"(".repeat(70), (3, 75), "", FaultKind::TooDeep { limit: 64 },
        "Brackets are nested deeper than 64; a project needs six. Take the surplus brackets out.",
    );
}

#[test]
fn version() {
    fault!(
        "version: 1" => "version: 2", (2, 14), "version", FaultKind::Version { found: 2, known: 1 },
        "The file was written by a newer Heelpoint: it has version 2, this one reads version 1. \
         Open it with the newer program.",
    );
    fault!(
        "version: 1" => "version: 0", (2, 14), "version", FaultKind::Version { found: 0, known: 1 },
        "There is no version 0 of the project file; this program reads version 1. Write `version: 1`.",
    );
    // What a newer file holds besides is not told: the version explains it.
    fault!(
        "version: 1," => "version: 30, doors: 2,", (2, 14), "version", FaultKind::Version { found: 30, known: 1 },
        "The file was written by a newer Heelpoint: it has version 30, this one reads version 1. \
         Open it with the newer program.",
    );
}

// Signs and their order.

#[test]
fn brackets() {
    fault!(
        "    },\n)\n" => "    },\n", (1, 1), "", FaultKind::Unclosed { bracket: '(', closing: ')' },
        "The bracket `(` opened here is never closed. Is the end of the file missing, or a `)`?",
    );
    fault!(
        "    ],\n    motion" => "    ),\n    motion", (61, 5), "",
        FaultKind::Mismatched { found: ')', expected: ']', opened: (58, 15) },
        "`)` stands where `]` must close the bracket opened at 58:15. Close that one first.",
    );
}

#[test]
fn texts_and_comments_without_end() {
    // The text runs on to the next quotation mark, fifty lines below.
    fault!(
        "\"Nobody\"" => "\"Nobody", (6, 15), "", FaultKind::UnclosedText,
        "The text that begins here has no closing quotation mark. Put a `\"` at its end.",
    );
    fault!(
        "\"knee_wheel\"" => "\"knee_wheel", (64, 9), "", FaultKind::UnclosedText,
        "The text that begins here has no closing quotation mark. Put a `\"` at its end.",
    );
    fault!(
        "style: Road" => "/* style: Road", (4, 5), "", FaultKind::UnclosedComment,
        "The comment that begins here has no end. Put a `*/` behind it.",
    );
}

#[test]
fn syntax() {
    for (from, to, at, sentence) in [
        (
            "tube_mm: 30,",
            "tube_mm: 30",
            (33, 9),
            "A comma is missing before `centre_mm`. Put a `,` between two entries.",
        ),
        ("lock_deg: 540", "lock_deg = 540", (35, 18), "A colon is missing before `=`. Write a field as `name: value`."),
        (
            "lock_deg: 540",
            "lock_deg: 540 deg",
            (35, 23),
            "`deg` stands behind a number. Write the number alone: the field's name tells its unit.",
        ),
        (
            "value: 62.5",
            "value: 62,5",
            (10, 33),
            "`5` stands where a field's name must. A decimal comma? Write a point: 12.5.",
        ),
        (
            "steer_steps: 121",
            "steer_steps: 121.5",
            (62, 46),
            "`.5` stands behind a whole number. Write this number without a point.",
        ),
        (
            "    },\n)\n",
            "    },\n) more",
            (66, 3),
            "`more` stands behind the end of the project. Take it out, or take out the closing bracket before it.",
        ),
        (
            "Test rig",
            "Test \\qrig",
            (3, 18),
            "A backslash in a text is followed by a letter that makes no sign. Write a backslash twice: `\\\\`.",
        ),
        (
            "(\n    version",
            "# a note\n(\n    version",
            (1, 1),
            "The line that begins with `#` is no switch of the file's form. Take it out: a project needs none. \
             A comment begins with `//`.",
        ),
        (
            "\"knee_wheel\"",
            "knee_wheel",
            (64, 9),
            "`knee_wheel` stands where a key must. Write a finding's id in quotation marks: `\"knee_wheel\"`.",
        ),
    ] {
        let faults = faults(from, to);
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert_eq!(faults[0].sentence(), sentence);
        assert_eq!(faults[0].at, Some(at), "{sentence}");
        assert!(matches!(faults[0].kind, FaultKind::Syntax { .. }), "{:?}", faults[0].kind);
    }
}

// Fields and the form of their values.

#[test]
fn unknown_field() {
    fault!(
        "length_mm: 500" => "lenght_mm: 500", (21, 19), "seat.cushion.lenght_mm",
        FaultKind::UnknownField { near: Some(near), .. } if near == "length_mm",
        "seat.cushion.lenght_mm is no field of a project. Did you mean `length_mm`? Allowed: length_mm, width_mm, \
         foam_mm, give_mm, bolster_height_mm, bolster_width_mm.",
    );
    fault!(
        "shell_mm: 8" => "shell_mm: 8, colour: 3", (28, 22), "seat.colour",
        FaultKind::UnknownField { near: None, .. },
        "seat.colour is no field of a project. Allowed: position_mm, slider, cushion_angle_deg, back_angle_deg, \
         tilt_deg, cushion, back, wings, shell_mm.",
    );
    fault!(
        "flat_mm: 140" => "opening_deg: 90", (31, 45), "wheel.rim.opening_deg",
        FaultKind::UnknownField { .. },
        "wheel.rim.opening_deg is no field of a project. Allowed: diameter_mm, flat_mm.",
    );
}

#[test]
fn unknown_word() {
    fault!(
        "style: Road" => "style: road", (4, 12), "style",
        FaultKind::UnknownWord { near: Some(near), .. } if near == "Road",
        "style is `road`, which is none of the choices. Did you mean `Road`? Allowed: ClosedCar, Formula, Road.",
    );
    fault!(
        "brakes_with: Right" => "brakes_with: Rigth", (13, 22), "driver.brakes_with",
        FaultKind::UnknownWord { near: Some(near), .. } if near == "Right",
        "driver.brakes_with is `Rigth`, which is none of the choices. Did you mean `Right`? Allowed: Left, Right.",
    );
    fault!(
        "FromVertical(25)" => "Vertical(25)", (20, 25), "seat.back_angle_deg",
        FaultKind::UnknownWord { near: Some(near), .. } if near == "FromVertical",
        "seat.back_angle_deg is `Vertical`, which is none of the choices. Did you mean `FromVertical`? \
         Allowed: FromHorizontal, FromVertical.",
    );
}

#[test]
fn missing_field() {
    fault!(
        "        shell_mm: 8,\n" => "", (16, 11), "seat.shell_mm",
        FaultKind::MissingField { example: Some(example) } if example.starts_with("shell_mm: "),
        "seat.shell_mm is missing. Add it, such as `shell_mm: …",
    );
    fault!(
        ", working_force_n: 35" => "", (48, 13), "pedals.pedals[1].working_force_n",
        FaultKind::MissingField { example: Some(_) },
        "pedals.pedals[1].working_force_n is missing. Add it, such as `working_force_n: …",
    );
}

#[test]
fn repeated_field() {
    fault!(
        "cushion_angle_deg: 14," => "cushion_angle_deg: 14, cushion_angle_deg: 15,", (19, 32),
        "seat.cushion_angle_deg", FaultKind::RepeatedField,
        "seat.cushion_angle_deg stands there twice. Take one of the two out.",
    );
    fault!(
        "(20, 500))," => "(20, 500)), \"knee_wheel\": (good: (1, 2), limit: (0, 3)),", (64, 60),
        "bands.knee_wheel", FaultKind::RepeatedField,
        "bands.knee_wheel stands there twice. Take one of the two out.",
    );
    // The underscore, written otherwise.
    fault!(
        "(20, 500))," => r#"(20, 500)), "knee\u{5f}wheel": (good: (1, 2), limit: (0, 3)),"#, (64, 60),
        "bands.knee_wheel", FaultKind::RepeatedField,
        "bands.knee_wheel stands there twice. Take one of the two out.",
    );
}

#[test]
fn wrong_type() {
    for (from, to, at, path, beginning) in [
        ("\"Test rig\"", "5", (3, 12), "title", "is `5`; write a text in quotation marks, such as `\""),
        ("tube_mm: 30", "tube_mm: \"30\"", (32, 18), "wheel.tube_mm", "is `\"30\"`; write a number, such as `"),
        ("tube_mm: 30", "tube_mm: ", (32, 16), "wheel.tube_mm", "is nothing; write a number, such as `"),
        ("tube_mm: 30", "tube_mm: 3.0.0", (32, 18), "wheel.tube_mm", "is `3.0.0`; write a number, such as `"),
        (
            "steer_steps: 121",
            "steer_steps: -3",
            (62, 43),
            "motion.steer_steps",
            "is `-3`; write a whole number, such as `",
        ),
        (
            "style: Road",
            "style: \"Road\"",
            (4, 12),
            "style",
            "is `\"Road\"`; write a word without quotation marks, such as `",
        ),
        (
            "(value: 1650, error: 8)",
            "1650",
            (9, 25),
            "driver.measured.stature_mm",
            "is `1650`; write a value in round brackets, such as `(value: ",
        ),
        (
            "(value: 1650, error: 8)",
            "(1650, 8)",
            (9, 25),
            "driver.measured.stature_mm",
            "is `(1650, 8)`; write named fields in round brackets, such as `(value: ",
        ),
        (
            "(400, 0, 280)",
            "[400, 0, 280]",
            (17, 22),
            "seat.position_mm",
            "is `[400, 0, 280]`; write a value in round brackets, such as `(",
        ),
        (
            "FromVertical(25)",
            "25",
            (20, 25),
            "seat.back_angle_deg",
            "is `25`; write a word without quotation marks, such as `FromHorizontal(50)` or `FromVertical(40)`.",
        ),
        ("(ankle_dorsiflexion_deg: 12)", "12", (14, 17), "driver.limits", "is `12`; write a value in round brackets."),
    ] {
        let faults = faults(from, to);
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].kind.to_string().starts_with(beginning), "{}", faults[0]);
        assert_eq!((faults[0].at, faults[0].path.as_str()), (Some(at), path));
        assert!(matches!(faults[0].kind, FaultKind::WrongType { .. }), "{:?}", faults[0].kind);
    }
}

#[test]
fn wrong_length() {
    fault!(
        "(400, 0, 280)" => "(400, 0)", (17, 22), "seat.position_mm",
        FaultKind::WrongLength { found: 2, expected: 3 }, "seat.position_mm takes 3 values, not 2.",
    );
    fault!(
        "(400, 0, 280)" => "(400, 0, 280, 1)", (17, 22), "seat.position_mm",
        FaultKind::WrongLength { found: 4, expected: 3 }, "seat.position_mm takes 3 values, not 4.",
    );
}

// Numbers.

#[test]
fn out_of_range() {
    fault!(
        "length_mm: 500" => "length_mm: 900", (21, 30), "seat.cushion.length_mm",
        FaultKind::OutOfRange { value: 900.0, low: 200.0, high: 700.0, unit: Unit::Millimetre, .. },
        "seat.cushion.length_mm is 900 mm; allowed 200 to 700 mm.",
    );
    fault!(
        "working_force_n: 300" => "working_force_n: 3000", (46, 91), "pedals.pedals[0].working_force_n",
        FaultKind::OutOfRange { unit: Unit::Newton, .. },
        "pedals.pedals[0].working_force_n is 3000 N; allowed 1 to 2500 N.",
    );
    fault!(
        "hands_h: (9, 3)" => "hands_h: (9, 15)", (36, 22), "wheel.hands_h[1]",
        FaultKind::OutOfRange { unit: Unit::ClockHour, .. }, "wheel.hands_h[1] is 15 h; allowed 0 to 6 h.",
    );
}

#[test]
fn slips_of_unit_are_named() {
    for (from, to, at, path, sentence) in [
        (
            "value: 1650",
            "value: 1.65",
            (9, 33),
            "driver.measured.stature_mm.value",
            "is 1.65 mm; allowed 900 to 2500 mm. Typed in metres? Write 1650.",
        ),
        (
            "value: 1650",
            "value: 165",
            (9, 33),
            "driver.measured.stature_mm.value",
            "is 165 mm; allowed 900 to 2500 mm. Typed in centimetres? Write 1650.",
        ),
        (
            "value: 1650",
            "value: 65",
            (9, 33),
            "driver.measured.stature_mm.value",
            "is 65 mm; allowed 900 to 2500 mm. Typed in inches? Write 1651.",
        ),
        (
            "value: 62.5",
            "value: 62500",
            (10, 30),
            "driver.measured.mass_kg.value",
            "is 62500 kg; allowed 25 to 300 kg. Typed in grams? Write 62.5.",
        ),
        // 3π rad.
        (
            "lock_deg: 540",
            "lock_deg: 9.4248",
            (35, 19),
            "wheel.lock_deg",
            "is 9.4248°; allowed 10 to 1080°. Typed in radians? Write 540.",
        ),
        // Both would be a cushion.
        (
            "length_mm: 500",
            "length_mm: 20",
            (21, 30),
            "seat.cushion.length_mm",
            "is 20 mm; allowed 200 to 700 mm. Typed in centimetres? Write 200. Typed in inches? Write 508.",
        ),
        // The whole place was typed in metres, of which only the height is out of range: one slip, one fault.
        (
            "(800, 0, 720)",
            "(0.8, 0, 0.72)",
            (33, 29),
            "wheel.centre_mm[2]",
            "is 0.72 mm; allowed 100 to 1600 mm. Typed in metres? Write 720.",
        ),
    ] {
        let faults = faults(from, to);
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert_eq!(faults[0].sentence(), format!("{path} {sentence}"));
        assert_eq!((faults[0].at, faults[0].path.as_str()), (Some(at), path));
        let FaultKind::OutOfRange { slips, .. } = &faults[0].kind else { panic!("{:?}", faults[0].kind) };
        assert!(matches!(slips[0], Slip::Unit { .. }));
    }
}

#[test]
fn places_in_metres() {
    fault!(
        "(400, 0, 280)" => "(0.4, 0, 0.28)", (17, 22), "seat.position_mm", FaultKind::PlaceInMetres { .. },
        "seat.position_mm is (0.4, 0, 0.28), a few millimetres from the rear of the frame. Typed in metres? \
         Write (400, 0, 280).",
    );
    fault!(
        "(800, 300, 650)" => "(0.8, 0.3, 0.65)", (60, 30), "controls[1].at_mm", FaultKind::PlaceInMetres { .. },
        "controls[1].at_mm is (0.8, 0.3, 0.65), a few millimetres from the rear of the frame. Typed in metres? \
         Write (800, 300, 650).",
    );
    fault!(
        "(1250, 0, 60)" => "(1.25, 0, 0.06)", (40, 22), "pedals.position_mm", FaultKind::PlaceInMetres { .. },
        "pedals.position_mm is (1.25, 0, 0.06), a few millimetres from the rear of the frame. Typed in metres? \
         Write (1250, 0, 60).",
    );
}

#[test]
fn slips_of_the_gauge_line_are_named() {
    fault!(
        "FromVertical(25)" => "FromHorizontal(412)", (20, 25), "seat.back_angle_deg",
        FaultKind::OutOfRange { reference: Some("from horizontal"), .. },
        "seat.back_angle_deg is 412°; allowed 0 to 100° from horizontal.",
    );
    fault!(
        "FromVertical(25)" => "FromVertical(98)", (20, 25), "seat.back_angle_deg",
        FaultKind::OutOfRange { slips, .. } if matches!(slips[0], Slip::Line { read_from: "horizontal", .. }),
        "seat.back_angle_deg is 98°; allowed -10 to 90° from vertical. Written from horizontal? Say FromHorizontal(98).",
    );
    fault!(
        "FromVertical(25)" => "FromHorizontal(-8)", (20, 25), "seat.back_angle_deg",
        FaultKind::OutOfRange { slips, .. } if matches!(slips[0], Slip::Line { read_from: "vertical", .. }),
        "seat.back_angle_deg is -8°; allowed 0 to 100° from horizontal. Written from vertical? Say FromVertical(-8).",
    );
    // 80° from vertical behind a cushion of 14°: 90 + 80 − 14 = 156°; read from horizontal it is 90 + 10 − 14 = 86°.
    contradiction!(
        "FromVertical(25)" => "FromVertical(80)", (20, 25), "seat.back_angle_deg",
        Contradiction::CushionToBack { angle: 156.0, .. },
        "seat.back_angle_deg puts the back at 156° to the cushion; allowed 60 to 150°. Written from horizontal? \
         Say FromHorizontal(80).",
    );
}

#[test]
fn negative() {
    fault!(
        "give_mm: 30" => "give_mm: -30", (21, 72), "seat.cushion.give_mm",
        FaultKind::Negative { value: -30.0, low: 0.0, high: 100.0, unit: Unit::Millimetre },
        "seat.cushion.give_mm is -30 mm; it cannot be negative. Allowed 0 to 100 mm: leave out the minus sign.",
    );
}

#[test]
fn not_finite() {
    for (number, expected, words) in [
        ("inf", NonFinite::Infinity, "infinity"),
        ("1e999", NonFinite::Infinity, "infinity"),
        ("-inf", NonFinite::NegativeInfinity, "minus infinity"),
        ("NaN", NonFinite::NotANumber, "NaN"),
    ] {
        fault!(
            "foam_mm: 60" => &format!("foam_mm: {number}"), (21, 59), "seat.cushion.foam_mm",
            FaultKind::NotFinite { value } if *value == expected,
            format!("seat.cushion.foam_mm is {words}, not a finite number. Write a number."),
        );
    }
    fault!(
        "limit: (20, 500)" => "limit: (20, inf)", (64, 53), "bands.knee_wheel.limit[1]",
        FaultKind::NotFinite { value: NonFinite::Infinity },
        "bands.knee_wheel.limit[1] is infinity, not a finite number. Write a number.",
    );
}

#[test]
fn counts() {
    for (number, found) in [("120", 120), ("1", 1), ("2003", 2003)] {
        fault!(
            "steer_steps: 121" => &format!("steer_steps: {number}"), (62, 43), "motion.steer_steps",
            FaultKind::Count { found: f, low: 3, high: 2001, odd: true } if *f == found,
            format!(
                "motion.steer_steps is {number}; allowed are odd numbers from 3 to 2001. \
                 An odd number has the middle as one position."
            ),
        );
    }
    fault!(
        "pedal_steps: 21" => "pedal_steps: 1", (62, 61), "motion.pedal_steps",
        FaultKind::Count { found: 1, low: 2, high: 501, odd: false },
        "motion.pedal_steps is 1; allowed are whole numbers from 2 to 501.",
    );
}

// Names and lists.

#[test]
fn names() {
    fault!(
        "Test rig" => &"ü".repeat(81), (3, 12), "title", FaultKind::NameTooLong { found: 81, limit: 80 },
        "title has 81 characters; allowed are 80. Shorten it.",
    );
    parse(&replaced("Test rig", &"ü".repeat(80))).unwrap();
    fault!(
        "Nobody" => "No\tbody", (6, 15), "driver.name", FaultKind::ControlCharacter { code: 9 },
        "driver.name holds the control character U+0009. Write it on one line, without tabs.",
    );
    fault!(
        "\"shifter\"" => "\" \"", (59, 16), "controls[0].name", FaultKind::NameEmpty,
        "controls[0].name is empty. Findings and lists call the part by this name: give it one.",
    );
}

#[test]
fn repeated_names() {
    fault!(
        "right base" => "left base", (56, 16), "frame[1].name",
        FaultKind::RepeatedName { first } if first == "frame[0]",
        "frame[1].name is the name of frame[0] as well. Give each its own name, so that findings can tell them apart.",
    );
    fault!(
        "\"box\"" => "\"shifter\"", (60, 16), "controls[1].name",
        FaultKind::RepeatedName { first } if first == "controls[0]",
        "controls[1].name is the name of controls[0] as well. \
         Give each its own name, so that findings can tell them apart.",
    );
}

#[test]
fn too_many() {
    let rail =
        |index| format!("        (name: \"{index}\", section_mm: (40, 40), from_mm: (0, 0, 0), to_mm: (900, 0, 0)),\n");
    let rails = |count| (0..count).map(rail).collect::<String>();
    fault!(
        "    frame: [\n" => &format!("    frame: [\n{}", rails(199)), (54, 12), "frame",
        FaultKind::TooMany { found: 201, limit: 200 },
        "frame has 201 entries; allowed are 200. Take out those that are out of the driver's reach.",
    );
    parse(&replaced("    frame: [\n", &format!("    frame: [\n{}", rails(198)))).unwrap();
    let control = |index| format!("        (name: \"{index}\", at_mm: (700, 0, 600), hand: Left),\n");
    let controls: String = (0..199).map(control).collect();
    fault!(
        "    controls: [\n" => &format!("    controls: [\n{controls}"), (58, 15), "controls",
        FaultKind::TooMany { found: 201, limit: 200 },
        "controls has 201 entries; allowed are 200. Take out those that are out of the driver's reach.",
    );
}

#[test]
fn unmeasured() {
    fault!(
        "            mass_kg: (value: 62.5, error: 1),\n" => "", (8, 19), "driver.measured.mass_kg",
        FaultKind::Unmeasured { field: "mass_kg" },
        "driver.measured.mass_kg is missing. Stature and mass alone are enough to start: \
         measure yourself on a scale, in the clothes that you drive in.",
    );
    fault!(
        "            stature_mm: (value: 1650, error: 8),\n" => "", (8, 19), "driver.measured.stature_mm",
        FaultKind::Unmeasured { field: "stature_mm" },
        "driver.measured.stature_mm is missing. Stature and mass alone are enough to start: \
         measure from the floor to the top of the head, without shoes, heels and back at a wall.",
    );
}

#[test]
fn bands() {
    fault!(
        "\"knee_wheel\"" => "\"knee_whel\"", (64, 22), "bands.knee_whel",
        FaultKind::UnknownBand { near } if near[0] == "knee_wheel",
        "bands.knee_whel is no finding's id. Spelled most like it: knee_wheel, …",
    );
    contradiction!(
        "good: (40, 400)" => "good: (400, 40)", (64, 30), "bands.knee_wheel.good",
        Contradiction::BandEndsSwapped { ends: [400.0, 40.0] },
        "bands.knee_wheel.good runs from 400 to 40. The lower end comes first: write (40, 400).",
    );
    contradiction!(
        "good: (40, 400)" => "good: (10, 400)", (64, 30), "bands.knee_wheel.good",
        Contradiction::BandBeyondLimit { good: [10.0, 400.0], limit: [20.0, 500.0] },
        "bands.knee_wheel.good runs from 10 to 400, beyond the limit of 20 to 500. Good lies inside the limit: \
         widen `limit`.",
    );
}

// Contradictions.

#[test]
fn slider() {
    contradiction!(
        "range_mm: (-100, 150)" => "range_mm: (150, -100)", (18, 39), "seat.slider.range_mm",
        Contradiction::SliderEndsSwapped { rear: 150.0, front: -100.0 },
        "seat.slider.range_mm runs from 150 to -100 mm. The rear end comes first: write (-100, 150).",
    );
    contradiction!(
        "at_mm: 20" => "at_mm: 200", (18, 25), "seat.slider.at_mm",
        Contradiction::SliderOutside { at: 200.0, range: [-100.0, 150.0] },
        "seat.slider.at_mm is 200 mm; the slider runs from -100 to 150 mm. Move it between its ends, \
         or correct `range_mm`.",
    );
}

#[test]
fn seat_back() {
    contradiction!(
        "from_mm: 420, to_mm: 600" => "from_mm: 600, to_mm: 420", (27, 26), "seat.wings.from_mm",
        Contradiction::WingsUpsideDown { from: 600.0, to: 420.0 },
        "seat.wings.from_mm is 600 mm, not below the upper edge at 420 mm. Heights count upwards along the back: \
         swap the two.",
    );
    contradiction!(
        "to_mm: 600" => "to_mm: 700", (27, 38), "seat.wings.to_mm",
        Contradiction::AboveBack { height: 700.0, top: 650.0 },
        "seat.wings.to_mm is 700 mm up the back, whose top is at 650 mm. Lower it, or correct `seat.back.length_mm`.",
    );
    contradiction!(
        "bolster_top_mm: 450" => "bolster_top_mm: 660", (24, 73), "seat.back.bolster_top_mm",
        Contradiction::AboveBack { height: 660.0, top: 650.0 },
        "seat.back.bolster_top_mm is 660 mm up the back, whose top is at 650 mm. Lower it, \
         or correct `seat.back.length_mm`.",
    );
    let mut project = project();
    project.seat.back.length_mm = 300.0;
    project.seat.back.bolster_top_mm = 250.0;
    project.seat.back.lumbar_height_mm = 310.0;
    project.seat.wings = None;
    let faults = Checked::new(project).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].path, "seat.back.lumbar_height_mm");
    assert_eq!(faults[0].at, None, "there is no text");
}

#[test]
fn ahead_of_the_seat() {
    // The seat stands at 400 mm and its slider 20 mm forward.
    contradiction!(
        "(800, 0, 720)" => "(420, 0, 720)", (33, 21), "wheel.centre_mm[0]",
        Contradiction::WheelBehindSeat { wheel: 420.0, seat: 420.0 },
        "wheel.centre_mm[0] is 420 mm, not ahead of the seat at 420 mm. Forward counts from the rear of the frame \
         for both.",
    );
    contradiction!(
        "(1250, 0, 60)" => "(300, 0, 60)", (40, 23), "pedals.position_mm[0]",
        Contradiction::PedalsBehindSeat { pedals: 300.0, seat: 420.0 },
        "pedals.position_mm[0] is 300 mm, not ahead of the seat at 420 mm. Forward counts from the rear of the frame \
         for both.",
    );
}

#[test]
fn rims() {
    let rim = "FlatBottomed(diameter_mm: 350, flat_mm: 140)";
    contradiction!(
        "flat_mm: 140" => "flat_mm: 175", (31, 54), "wheel.rim.flat_mm",
        Contradiction::FlatBeyondRim { flat: 175.0, radius: 175.0 },
        "wheel.rim.flat_mm is 175 mm from the centre, not inside the rim's radius of 175 mm. Measure from the centre \
         down to the outside of the flat.",
    );
    contradiction!(
        rim => "Formula(width_mm: 280, height_mm: 180, corner_mm: 95)", (31, 64), "wheel.rim.corner_mm",
        Contradiction::CornerTooLarge { corner: 95.0, most: 90.0 },
        "wheel.rim.corner_mm is 95 mm; at most half of the smaller side, 90 mm, fits.",
    );
    let rim_and_tube = format!("{rim},\n        tube_mm: 30");
    contradiction!(
        &rim_and_tube => "Formula(width_mm: 280, height_mm: 180, corner_mm: 24),\n        tube_mm: 50",
        (31, 64), "wheel.rim.corner_mm", Contradiction::CornerTighterThanGrip { corner: 24.0, grip: 50.0 },
        "wheel.rim.corner_mm is 24 mm, less than half of the grip's thickness of 50 mm. Measure the radius on the \
         outside of the rim.",
    );
    contradiction!(
        &rim_and_tube => "Formula(width_mm: 280, height_mm: 100, corner_mm: 40),\n        tube_mm: 60",
        (32, 18), "wheel.tube_mm", Contradiction::GripTooThick { grip: 60.0, across: 100.0 },
        "wheel.tube_mm is 60 mm; the rim, 100 mm across, has no room for twice that. Measure the thickness of the \
         grip, not the rim.",
    );
}

#[test]
fn hands() {
    contradiction!(
        "hands_h: (9, 3)" => "hands_h: (3, 9)", (36, 18), "wheel.hands_h",
        Contradiction::HandsSwapped { found: [3.0, 9.0] },
        "wheel.hands_h is (3, 9). The left hand comes first: write (9, 3).",
    );
    // Half past ten is 45° from the top; an opening of 120° reaches to 60°.
    let mut project = project();
    project.wheel.rim = heelpoint::project::Rim::OpenTopped { diameter_mm: 320.0, opening_deg: 120.0 };
    project.wheel.hands_h = [10.5, 3.0];
    let faults = Checked::new(project).unwrap_err();
    assert_eq!(faults.len(), 1);
    let hand = Contradiction::HandInOpening { side: Side::Left, opening: 120.0 };
    assert_eq!(faults[0].kind, FaultKind::Contradiction(hand));
    assert_eq!(
        faults[0].to_string(),
        "wheel.hands_h[0] puts the left hand into the rim's opening, which is 120° wide around 12 o'clock. \
         Hold the rim lower."
    );
}

#[test]
fn pedal_sets() {
    let brake = RIG.lines().skip(43).take(4).collect::<Vec<_>>().join("\n") + "\n";
    contradiction!(
        &brake => "", (43, 17), "pedals.pedals", Contradiction::PedalCount { found: 1 },
        "pedals.pedals lists 1; a set has two or three pedals, a brake and a throttle among them.",
    );
    contradiction!(
        &brake => &brake.repeat(3), (43, 17), "pedals.pedals", Contradiction::PedalCount { found: 4 },
        "pedals.pedals lists 4; a set has two or three pedals, a brake and a throttle among them.",
    );
    contradiction!(
        "kind: Brake" => "kind: Clutch", (43, 17), "pedals.pedals", Contradiction::NoPedal { kind: PedalKind::Brake },
        "pedals.pedals has no brake. Every set has a brake and a throttle.",
    );
    fault!(
        &brake => &(brake.clone() + &brake.replace("sideways_mm: 60", "sideways_mm: 160")), (49, 23),
        "pedals.pedals[1].kind", FaultKind::RepeatedPedal { kind: PedalKind::Brake, .. },
        "pedals.pedals[1].kind is a second brake; pedals.pedals[0] is one already. \
         Each pedal of a set does something else.",
    );
    contradiction!(
        "sideways_mm: -80" => "sideways_mm: 90", (49, 46), "pedals.pedals[1].sideways_mm",
        Contradiction::PedalOrder { kind: PedalKind::Throttle, at: 90.0, brake: 60.0 },
        "pedals.pedals[1].sideways_mm puts the throttle at 90 mm, not right of the brake at 60 mm. Left is positive, \
         and clutch, brake and throttle follow from left to right.",
    );
    let clutch = brake.replace("kind: Brake, sideways_mm: 60", "kind: Clutch, sideways_mm: 0");
    contradiction!(
        &brake => &(clutch + &brake), (45, 44), "pedals.pedals[0].sideways_mm",
        Contradiction::PedalOrder { kind: PedalKind::Clutch, at: 0.0, brake: 60.0 },
        "pedals.pedals[0].sideways_mm puts the clutch at 0 mm, not left of the brake at 60 mm. Left is positive, \
         and clutch, brake and throttle follow from left to right.",
    );
}

#[test]
fn pedal_arcs() {
    contradiction!(
        "working_travel_mm: 35" => "working_travel_mm: 51", (46, 70), "pedals.pedals[0].working_travel_mm",
        Contradiction::WorkingTravelBeyondFull { working: 51.0, full: 50.0 },
        "pedals.pedals[0].working_travel_mm is 51 mm, more than the full travel of 50 mm. Shorten it, \
         or correct `travel_mm`.",
    );
    let at_rest = "sideways_mm: 60, face_mm: (150, 150), pivot_mm: (80, 20)";
    contradiction!(
        at_rest => &at_rest.replace("(80, 20)", "(150, 147)"), (45, 78), "pedals.pedals[0].pivot_mm",
        Contradiction::PivotAtFace { distance: 3.0, least: 5.0 },
        "pedals.pedals[0].pivot_mm is 3 mm from the centre of the face; at least 5 mm are needed. \
         Measure the pivot's place, forward and up, like the face's.",
    );
    contradiction!(
        at_rest => &at_rest.replace("(80, 20)", "(80, 150)"), (45, 83), "pedals.pedals[0].pivot_mm[1]",
        Contradiction::PivotLevel { height: 150.0 },
        "pedals.pedals[0].pivot_mm[1] is level with the face at 150 mm, so that pressing moves the face up or down \
         and not forward. Put the pivot below the face, or above it for a top-hung pedal.",
    );
    // The arm is √(70² + 130²) = 147.65 mm long and leans forward by atan(70 / 130) = 28.30°; the 61.70° that are
    // left are 1.0769 rad, 159.0 mm of arc.
    contradiction!(
        "travel_mm: 50, working" => "travel_mm: 180, working", (46, 47), "pedals.pedals[0].travel_mm",
        Contradiction::TravelBeyondArc { travel: 180.0, .. },
        "pedals.pedals[0].travel_mm is 180 mm; about this pivot the face can move 159 mm forward at most.",
    );
    // The mirror image, hung from above, allows the same.
    contradiction!(
        &format!("{at_rest}, tilt_deg: 30,\n                size_mm: (70, 90), travel_mm: 50")
            => &format!("{}, tilt_deg: 30,\n                size_mm: (70, 90), travel_mm: 180", at_rest.replace("(80, 20)", "(80, 280)")),
        (46, 47), "pedals.pedals[0].travel_mm", Contradiction::TravelBeyondArc { travel: 180.0, .. },
        "pedals.pedals[0].travel_mm is 180 mm; about this pivot the face can move 159 mm forward at most.",
    );
}

#[test]
fn rails() {
    contradiction!(
        "to_mm: (1500, 300, 40)" => "to_mm: (0, 300, 40)", (55, 9), "frame[0]",
        Contradiction::RailTooShort { length: 0.0, section: 40.0, from_metres: None },
        "frame[0] is 0 mm long, less than its section's 40 mm. `from_mm` and `to_mm` are the centres of its two ends.",
    );
    contradiction!(
        "from_mm: (0, 300, 40), to_mm: (1500, 300, 40)" => "from_mm: (0, 0.3, 0.04), to_mm: (1.5, 0.3, 0.04)",
        (55, 9), "frame[0]", Contradiction::RailTooShort { from_metres: Some(1500.0), .. },
        "frame[0] is 1.5 mm long, less than its section's 40 mm. `from_mm` and `to_mm` are the centres of its two \
         ends. Typed in metres? Then it is 1500 mm long.",
    );
}

// All together.

#[test]
fn a_sentence_is_short_and_on_one_line_whatever_stands_in_the_file() {
    let long = "a".repeat(100_000);
    for (from, to) in [
        ("shell_mm: 8", format!("shell_mm: 8, {long}: 3")),
        ("style: Road", format!("style: {long}")),
        ("style: Road", format!("style: \"{long}\"")),
        ("lock_deg: 540", format!("lock_deg: 540 {long}")),
        ("\"knee_wheel\"", format!("\"{long}\"")),
        ("\"knee_wheel\"", "\"knee\\n\\u{1b}wheel\"".to_owned()),
        ("Nobody", "No\\nbody".to_owned()),
    ] {
        let faults = faults(from, &to);
        assert_eq!(faults.len(), 1);
        let sentence = faults[0].to_string();
        assert!(sentence.len() < 500, "{} bytes", sentence.len());
        assert!(!sentence.chars().any(char::is_control), "{sentence}");
    }
}

#[test]
fn faults_of_values_are_told_all_at_once_in_the_order_of_the_text() {
    let text = RIG
        .replace("version: 1", "version: 0")
        .replace("steer_steps: 121", "steer_steps: 4")
        .replace("give_mm: 30", "give_mm: -30")
        .replace("at_mm: 20", "at_mm: 900")
        .replace("value: 1650", "value: 1.65");
    let places: Vec<_> = parse(&text).unwrap_err().iter().map(|fault| fault.at.unwrap()).collect();
    assert_eq!(places, [(2, 14), (9, 33), (18, 25), (21, 72), (62, 43)]);
}

#[test]
fn a_fault_names_the_file_before_line_and_column() {
    let faults = faults("give_mm: 30", "give_mm: 300");
    assert_eq!(faults[0].in_file("seat.ron"), "seat.ron:21:72  seat.cushion.give_mm is 300 mm; allowed 0 to 100 mm.");
}

fn project() -> Project {
    parse(RIG).unwrap().into_inner()
}
