//! The body against published tables and against the same sums done elsewhere.

use std::collections::BTreeMap;

use heelpoint::{
    body::{Body, BodySolid, Dimensions, JointLimits, Range, Segments},
    geometry::{Side, mirrored},
    posture::Posture,
    project::{Driver, Measured, Measurements, PersonalLimits, Population},
    units::{mm, to_deg, to_mm},
};
use proptest::prelude::*;

fn taken(values: &[(&str, f64, f64)]) -> Measurements {
    let mut measured = Measurements::default();
    for &(field, value, error) in values {
        *measured.entry(field).expect("a dimension that can be measured") = Some(Measured::new(value, error));
    }
    measured
}

fn person(population: Population, measured: Measurements) -> Body {
    Body::of(&Driver::measured(population, measured))
}

fn mean_body(population: Population) -> Body {
    person(population, Measurements::default())
}

/// A row of a full-sample table.
struct Full {
    sd: f64,
    least: f64,
    greatest: f64,
    /// 5th, 50th and 95th percentile.
    percentiles: [f64; 3],
}

/// All 4082 men or 1986 women of the survey; the model is fitted to 85 % of them.
fn full_sample(population: Population) -> BTreeMap<String, Full> {
    let table = match population {
        Population::Men => include_str!("../../shared/ansur2/men_stats_full_sample.csv"),
        Population::Women => include_str!("../../shared/ansur2/women_stats_full_sample.csv"),
    };
    let number = |row: &csv::StringRecord, at: usize| row[at].parse::<f64>().unwrap();
    csv::Reader::from_reader(table.as_bytes())
        .records()
        .map(|row| {
            let row = row.unwrap();
            let full = Full {
                sd: number(&row, 4),
                least: number(&row, 5),
                percentiles: [6, 7, 8].map(|at| number(&row, at)),
                greatest: number(&row, 9),
            };
            (row[0].to_owned(), full)
        })
        .collect()
}

/// Correlation of every variable with stature and with mass.
fn correlations(population: Population) -> BTreeMap<String, [f64; 2]> {
    let table = match population {
        Population::Men => include_str!("../../shared/ansur2/men_correlation.csv"),
        Population::Women => include_str!("../../shared/ansur2/women_correlation.csv"),
    };
    csv::Reader::from_reader(table.as_bytes())
        .records()
        .map(|row| {
            let row = row.unwrap();
            (row[0].to_owned(), [1, 2].map(|at| row[at].parse::<f64>().unwrap()))
        })
        .collect()
}

#[test]
fn conditioning_agrees_with_numpy() {
    // numpy 2.4.6 on the tables of shared/ansur2, S = diag(sd) C diag(sd):
    //   K = S @ H.T @ inv(H @ S @ H.T + R); mean = m + K @ (z - H @ m); P = S - K @ H @ S
    // printed as mean[i], sqrt(P[i, i]) and P[sittingheight, trochanterionheight].
    let cases = [
        (
            Population::Men,
            taken(&[("stature_mm", 1830.0, 8.0), ("mass_kg", 95.0, 1.0), ("knee_height_mm", 590.0, 6.0)]),
            [
                ("stature", 1830.075, 7.782),
                ("weightkg", 94.995, 0.997),
                ("sittingheight", 939.444, 17.665),
                ("trochanterionheight", 953.988, 21.857),
                ("acromionradialelength", 352.179, 10.189),
                ("hipbreadthsitting", 395.220, 14.203),
                ("handlength", 202.152, 6.896),
                ("chestdepth", 264.762, 12.482),
            ],
            -147.721,
        ),
        (
            Population::Women,
            taken(&[("stature_mm", 1540.0, 8.0), ("hip_breadth_sitting_mm", 450.0, 10.0)]),
            [
                ("stature", 1542.122, 7.930),
                ("weightkg", 74.827, 6.061),
                ("sittingheight", 825.578, 21.559),
                ("trochanterionheight", 792.701, 23.379),
                ("acromionradialelength", 295.410, 10.501),
                ("hipbreadthsitting", 443.526, 9.509),
                ("handlength", 173.710, 7.711),
                ("chestdepth", 270.073, 22.030),
            ],
            -341.771,
        ),
    ];
    for (population, measured, expected, covariance) in cases {
        let dimensions = Dimensions::estimate(population, &measured);
        for (name, mean, sd) in expected {
            let estimate = dimensions.get(name);
            assert!((estimate.mean - mean).abs() < 0.002, "{name}: {} for {mean}", estimate.mean);
            assert!((estimate.sd - sd).abs() < 0.002, "{name}: ± {} for ± {sd}", estimate.sd);
        }
        let at = |wanted: &str| dimensions.iter().position(|(name, ..)| name == wanted).unwrap();
        let found = dimensions.covariance()[(at("sittingheight"), at("trochanterionheight"))];
        assert!((found - covariance).abs() < 0.01, "{found} for {covariance}");
    }
}

#[test]
fn small_median_and_large_people_come_out_as_the_survey_has_them() {
    // Only stature and mass, at their 5th, 50th and 95th percentile. A dimension that they predict with the multiple
    // correlation R scatters by sd √(1 − R²) about its estimate, R² = (r₁² + r₂² − 2 r₁ r₂ r₁₂) / (1 − r₁₂²), and its own
    // percentile lies within about 1.645 of that; skewed girths ask for a little more: 2.
    for population in [Population::Men, Population::Women] {
        let (full, correlations) = (full_sample(population), correlations(population));
        let between = correlations["weightkg"][0];
        for at in 0..3 {
            let dimensions = Dimensions::estimate(
                population,
                &taken(&[
                    ("stature_mm", full["stature"].percentiles[at], 1.0),
                    ("mass_kg", full["weightkg"].percentiles[at], 0.1),
                ]),
            );
            for (name, _, estimate) in dimensions.iter() {
                // A sum of variables has no correlations in the table.
                let Some(&[r1, r2]) = correlations.get(name) else { continue };
                let known = &full[name];
                let explained = (r1 * r1 + r2 * r2 - 2.0 * r1 * r2 * between) / (1.0 - between * between);
                let scatter = known.sd * (1.0 - explained.min(1.0)).sqrt();
                let apart = (estimate.mean - known.percentiles[at]).abs();
                assert!(apart <= 2.0 * scatter + 0.01 * known.sd, "{name}, column {at}: {apart} of {scatter}");
                assert!(estimate.mean > known.least && estimate.mean < known.greatest, "{name}: {}", estimate.mean);
            }
        }
    }
}

#[test]
fn a_measurement_pulls_by_its_error_but_does_not_pin() {
    let estimate = |error: f64| {
        let measured = taken(&[("stature_mm", 1760.0, 8.0), ("buttock_knee_mm", 660.0, error)]);
        Dimensions::estimate(Population::Men, &measured).get("buttockkneelength").mean
    };
    let unmeasured = Dimensions::estimate(Population::Men, &taken(&[("stature_mm", 1760.0, 8.0)]));
    let [sharp, usual, rough] = [0.5, 8.0, 40.0].map(estimate);
    assert!((sharp - 660.0).abs() < 0.1);
    assert!(usual < sharp - 1.0 && rough < usual - 10.0 && rough > unmeasured.get("buttockkneelength").mean);
}

#[test]
fn proportions_are_those_of_drillis_and_contini() {
    // Drillis R, Contini R 1966 (Winter, Biomechanics, figure 4.1), shares of stature, one figure for both sexes.
    // They agree with the survey within 0.01 H. The upper arm (0.186) and the forearm (0.146) of that figure are
    // measured outside and are not links between joint centres: see the next test.
    let fractions = [
        ("shoulder height", 0.818),
        ("eye height", 0.936),
        ("knee height", 0.285),
        ("ankle height", 0.039),
        ("hand", 0.108),
        ("foot length", 0.152),
        ("foot breadth", 0.055),
        ("thigh", 0.245),
        ("shank", 0.246),
    ];
    for population in [Population::Men, Population::Women] {
        let body = mean_body(population);
        let (d, bones) = (|name: &str| body.dimensions.m(name), &body.skeleton);
        let stature = d("stature");
        for (what, share) in fractions {
            let ours = match what {
                "shoulder height" => d("acromialheight"),
                "eye height" => d("eyeheightsitting") + stature - d("sittingheight"),
                "knee height" => d("lateralfemoralepicondyleheight"),
                "ankle height" => d("lateralmalleolusheight"),
                "hand" => d("handlength"),
                "foot length" => d("footlength"),
                "foot breadth" => d("footbreadthhorizontal"),
                "thigh" => bones.thigh,
                _ => bones.shank,
            };
            assert!((ours / stature - share).abs() < 0.01, "{population:?}, {what}: {}", ours / stature);
        }
    }
}

#[test]
fn arm_links_are_those_of_de_leva() {
    // de Leva P 1996, J Biomech 29:1223, table 4: upper arm 0.2817 and 0.2751 m, forearm 0.2689 and 0.2643 m, between
    // joint centres, of men of 1.741 m and women of 1.735 m. Populations differ by about 0.005 H.
    for (population, upper, fore) in
        [(Population::Men, 0.2817 / 1.741, 0.2689 / 1.741), (Population::Women, 0.2751 / 1.735, 0.2643 / 1.735)]
    {
        let body = mean_body(population);
        let stature = body.dimensions.m("stature");
        assert!((body.skeleton.upper_arm / stature - upper).abs() < 0.006);
        assert!((body.skeleton.forearm / stature - fore).abs() < 0.006);
    }
}

#[test]
fn arms_out_sideways_span_what_the_survey_measured() {
    // Nothing in the skeleton is made from the span. The shoulder joints move out and up as the arms are raised.
    for population in [Population::Men, Population::Women] {
        let body = mean_body(population);
        let bones = &body.skeleton;
        let arm = bones.shoulder_half_breadth + bones.upper_arm + bones.forearm + bones.hand;
        let apart = to_mm(2.0 * arm - body.dimensions.m("span"));
        assert!(apart.abs() < 45.0, "{population:?}: {apart}");
    }
}

#[test]
fn legs_and_hip_are_those_of_the_h_point_machine() {
    // SAE J826, from memory: leg segments 432 and 417 mm of the 50th percentile man; the H-point about 97 mm above
    // the machine's bottom and about 135 mm ahead of its back.
    let full = full_sample(Population::Men);
    let body = person(
        Population::Men,
        taken(&[
            ("stature_mm", full["stature"].percentiles[1], 1.0),
            ("mass_kg", full["weightkg"].percentiles[1], 0.1),
        ]),
    );
    for (length, machine, within) in [
        (body.skeleton.thigh, 432.0, 10.0),
        (body.skeleton.shank, 417.0, 10.0),
        (body.skeleton.seat_to_hip, 97.0, 15.0),
        (body.skeleton.buttock_to_hip, 135.0, 15.0),
    ] {
        assert!((to_mm(length) - machine).abs() < within, "{} for {machine}", to_mm(length));
    }
}

#[test]
fn segment_masses_add_up_to_the_body() {
    // de Leva P 1996, table 4: 100.00 % in men, 99.99 % in women as printed.
    for (population, sum) in [(Population::Men, 1.0), (Population::Women, 0.9999)] {
        let segments = Segments::of(population);
        let pairs: f64 = ["upper_arm", "forearm", "hand", "thigh", "shank", "foot"]
            .iter()
            .map(|limb| 2.0 * segments.get(&format!("{limb}_mass")))
            .sum();
        let all = segments.get("head_mass") + segments.get("trunk_mass") + pairs;
        assert!((all - sum).abs() < 1e-9, "{population:?}: {all}");
        for segment in ["head", "trunk", "upper_arm", "forearm", "hand", "thigh", "shank", "foot"] {
            assert!((0.3..0.8).contains(&segments.get(&format!("{segment}_centre"))));
        }
    }
}

/// The ends of a range in degrees.
fn degrees(range: Range) -> [f64; 2] {
    [to_deg(range.low), to_deg(range.high)]
}

#[test]
fn joint_ranges_are_the_published_low_percentiles() {
    let men = JointLimits::of(Population::Men, &PersonalLimits::default());
    let women = JointLimits::of(Population::Women, &PersonalLimits::default());
    // Copied a second time from the publications: BMC Sports Sci Med Rehabil 2012 4:33, table 4 (shoulder flexion and
    // lateral rotation); NASA-STD-3000, 3.3.2, from memory (hip and knee flexion, plantarflexion, wrist deviation);
    // Staff 1983 in Kroemer et al., from memory (the rest).
    for (range, expected) in [
        (men.shoulder_flexion, [-41.5, 153.0]),
        (women.shoulder_flexion, [-47.0, 155.0]),
        (men.shoulder_rotation, [-55.0, 68.5]),
        (women.shoulder_abduction, [-37.5, 106.0]),
        // NASA-STD-3000 (from memory): supination 83.4 to 125.8 and 90.4 to 139.5, the middle of each.
        (men.pronation, [-104.6, 78.2]),
        (women.pronation, [-115.0, 82.3]),
        (men.wrist_flexion, [-47.0, 50.5]),
        (men.wrist_deviation, [-18.6, 16.9]),
        (women.wrist_deviation, [-21.5, 16.1]),
        (men.hip_flexion, [-10.0, 116.5]),
        (women.knee_flexion, [2.0, 125.2]),
        (men.ankle_dorsiflexion, [-36.1, 18.0]),
        (women.ankle_dorsiflexion, [-44.2, 13.0]),
        (men.hip_abduction, [-15.5, 38.0]),
    ] {
        let found = degrees(range);
        assert!((found[0] - expected[0]).abs() < 1e-9 && (found[1] - expected[1]).abs() < 1e-9, "{found:?}");
    }
    // Boone and Azen 1979, 109 men, active means (verified): a low percentile lies below each of them.
    for (end, mean) in [
        (men.shoulder_flexion.high, 167.0),
        (-men.shoulder_flexion.low, 62.0),
        (men.shoulder_abduction.high, 184.0),
        (men.elbow_flexion.high, 143.0),
        (men.wrist_flexion.high, 76.0),
        (-men.wrist_flexion.low, 75.0),
        (men.wrist_deviation.high, 22.0),
        (-men.wrist_deviation.low, 36.0),
    ] {
        assert!(to_deg(end) < mean, "{} against a mean of {mean}", to_deg(end));
    }
}

#[test]
fn joint_ranges_allow_ordinary_driving() {
    // Comfortable driving, angles between segments as in Rebiffé 1969 and later work (from memory): elbow 80 to 165,
    // hip 85 to 120, knee 95 to 160, foot to shank 80 to 115.
    for population in [Population::Men, Population::Women] {
        let limits = JointLimits::of(population, &PersonalLimits::default());
        for (range, angles) in [
            (limits.elbow_flexion, [15.0, 100.0]),
            (limits.hip_flexion, [60.0, 95.0]),
            (limits.knee_flexion, [20.0, 85.0]),
            (limits.ankle_dorsiflexion, [-25.0, 10.0]),
            (limits.neck_flexion, [0.0, 40.0]),
        ] {
            let [low, high] = degrees(range);
            assert!(low <= angles[0] && high >= angles[1], "{population:?}: {low} to {high}");
        }
    }
}

fn people() -> impl Strategy<Value = Body> {
    (any::<bool>(), 1250.0..2150.0, 35.0..190.0, prop::option::of((0_usize..17, 0.8..1.2))).prop_map(
        |(women, stature, mass, other)| {
            let population = if women { Population::Women } else { Population::Men };
            let mut measured = taken(&[("stature_mm", stature, 8.0), ("mass_kg", mass, 1.0)]);
            if let Some((at, factor)) = other {
                let (field, variable, ..) = Measurements::LIST[2 + at];
                let mean = heelpoint::body::Survey::of(population).mean(variable).unwrap();
                *measured.entry(field).unwrap() = Some(Measured::new(factor * mean, 4.0));
            }
            person(population, measured)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn flesh_of_anyone_is_finite_positive_and_mirrored(body in people()) {
        let posture = Posture::for_skin(&body, mm(15.0));
        let limbs = |side: Side| -> Vec<BodySolid> {
            let at = side.index();
            let arm = body.flesh.arm(&posture.arms[at], side).into_iter();
            arm.chain(body.flesh.leg(&posture.legs[at], side)).collect()
        };
        let (left, right) = (limbs(Side::Left), limbs(Side::Right));
        for solid in left.iter().chain(&right).copied().chain(body.flesh.trunk(&posture.sitting)) {
            let shape = solid.shape;
            prop_assert!(shape.a.iter().chain(shape.b.iter()).all(|x| x.is_finite()));
            prop_assert!(shape.radius_a > mm(5.0) && shape.radius_b > mm(5.0), "{solid:?}");
            prop_assert!(shape.radius_a < 0.5 && shape.radius_b < 0.5, "{solid:?}");
        }
        for (l, r) in left.iter().zip(&right) {
            prop_assert!((l.shape.a - mirrored(r.shape.a)).norm() < 1e-9);
            prop_assert!((l.shape.b - mirrored(r.shape.b)).norm() < 1e-9);
            prop_assert_eq!((l.shape.radius_a, l.shape.radius_b), (r.shape.radius_a, r.shape.radius_b));
        }
    }
}
