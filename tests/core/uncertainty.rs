//! Sampling: repeatable, right where the answer is known in closed form, and advice that does what it says.

use heelpoint::{
    check,
    findings::Spread,
    project::{Checked, Measured},
    study::Study,
    uncertainty::sample,
    watch::Watch,
};

/// A demo with a coarse motion: what is tested here does not hang on its steps.
fn demo(name: &str) -> Checked {
    let mut project = crate::demo(name).into_inner();
    project.motion.steer_steps = 21;
    project.motion.pedal_steps = 5;
    Checked::new(project).unwrap()
}

fn sampled(project: &Checked, draws: usize, seed: u64) -> Study {
    let mut study = check(project);
    sample(&mut study, draws, seed, &Watch::NOBODY).unwrap();
    study
}

fn spread(study: &Study, key: &str) -> Spread {
    let finding = study.findings.iter().find(|finding| finding.key() == key);
    finding.unwrap_or_else(|| panic!("no finding {key}")).spread.unwrap()
}

#[test]
fn the_same_seed_gives_the_same_figures_on_however_many_threads() {
    let project = demo("closed_car");
    let on = |threads: usize, seed: u64| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| sampled(&project, 24, seed))
    };
    let (one, four, other) = (on(1, 5), on(4, 5), on(4, 6));
    let spreads = |study: &Study| study.findings.iter().map(|finding| finding.spread).collect::<Vec<_>>();
    assert_eq!(spreads(&one), spreads(&four));
    assert_eq!(one.sampled, four.sampled);
    assert_ne!(spreads(&one), spreads(&other));
}

#[test]
fn the_room_beside_the_hips_scatters_as_hips_and_shell_do() {
    // Room = width of the cushion − breadth of the hips. The hips' deviation in closed form: 14.23 kg, 68.87 mm and
    // 23.71 mm are sd of mass, stature and seated hip breadth of the men, correlated as the table has them.
    let mut project = demo("closed_car").into_inner();
    let only = [("stature_mm", 8.0), ("mass_kg", 1.0)];
    let kept = project.driver.measured.clone();
    project.driver.measured = heelpoint::project::Measurements {
        stature_mm: kept.stature_mm,
        mass_kg: kept.mass_kg,
        ..heelpoint::project::Measurements::default()
    };
    let row = |table: &str, name: &str, at: usize| -> f64 {
        table
            .lines()
            .find(|line| line.starts_with(&format!("{name},")))
            .unwrap()
            .split(',')
            .nth(at)
            .unwrap()
            .parse()
            .unwrap()
    };
    let stats = include_str!("../../shared/ansur2/men_stats.csv");
    let correlations = include_str!("../../shared/ansur2/men_correlation.csv");
    let sd = |name: &str| row(stats, name, 4);
    // Columns 1 and 2 are stature and mass.
    let (r_s, r_m) = (row(correlations, "hipbreadthsitting", 1), row(correlations, "hipbreadthsitting", 2));
    let between = row(correlations, "weightkg", 1);
    let (hip, stature, mass) = (sd("hipbreadthsitting"), sd("stature"), sd("weightkg"));
    // Two by two: S = H Σ Hᵀ + R, variance = s² − cᵀ S⁻¹ c.
    let (a, d) = (stature * stature + only[0].1 * only[0].1, mass * mass + only[1].1 * only[1].1);
    let b = between * stature * mass;
    let (c_s, c_m) = (r_s * hip * stature, r_m * hip * mass);
    let explained = (c_s * c_s * d - 2.0 * c_s * c_m * b + c_m * c_m * a) / (a * d - b * b);
    // And 2 mm of the cushion's width, from the table of tolerances.
    let expected = (hip * hip - explained + 4.0).sqrt();

    const DRAWS: usize = 1500;
    project.motion.steer_steps = 3;
    project.motion.pedal_steps = 2;
    let study = sampled(&Checked::new(project).unwrap(), DRAWS, 1);
    let found = spread(&study, "hip_width");
    // A sample's deviation is itself uncertain by sd / √(2 n); four times that.
    assert!((found.sd - expected).abs() < 4.0 * expected / (2.0 * DRAWS as f64).sqrt(), "{} for {expected}", found.sd);
    let finding = study.findings.iter().find(|finding| finding.id == "hip_width").unwrap();
    assert!((found.mean - finding.value).abs() < 4.0 * expected / (DRAWS as f64).sqrt());
    // The middle 90 % of a normal distribution reach 1.645 deviations to each side.
    let [low, high] = found.middle;
    assert!((high - low - 2.0 * 1.645 * expected).abs() < 0.12 * (high - low), "{low} to {high}");
    // A share of levels is one of a normal distribution: hips in a band from 0 to 50 mm.
    assert!((found.levels.iter().sum::<f64>() - 1.0).abs() < 1e-9);
}

#[test]
fn what_is_known_exactly_does_not_scatter_and_levels_are_counted() {
    let study = sampled(&demo("closed_car"), 60, 3);
    // Set by a gauge to half a degree; nothing of the body is in it.
    let angle = spread(&study, "seat_cushion_angle");
    assert!((angle.sd - 0.5).abs() < 0.2, "{}", angle.sd);
    // A maker's figure.
    assert_eq!(study.sampled.as_ref().unwrap().draws, 60);
    for finding in &study.findings {
        let spread = finding.spread.unwrap();
        assert!(spread.middle[0] <= spread.middle[1] && spread.sd >= 0.0);
        assert!((spread.levels.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    }
}

#[test]
fn the_advised_measurement_narrows_what_it_says_by_as_much_as_it_says() {
    for name in ["closed_car", "three_pedals"] {
        let project = demo(name);
        let before = sampled(&project, 400, 1);
        let advice = before.sampled.as_ref().unwrap().advice.first().expect("something is doubtful");
        assert!(advice.sentence.starts_with("Measure your ") && advice.sentence.ends_with('.'), "{}", advice.sentence);
        let most = &advice.narrows[0];

        // It is measured, and found to be what was estimated.
        let entry = heelpoint::project::Measurements::LIST.iter().find(|entry| entry.0 == advice.field).unwrap();
        let mut measured = project.clone().into_inner();
        let value = before.solved.body.dimensions.get(entry.1).mean;
        let own = measured.driver.measured.entry(advice.field).unwrap();
        // A second measurement beside a first: both together have the error of their mean.
        let error = own.map_or(advice.error, |first| (first.error.powi(-2) + advice.error.powi(-2)).sqrt().recip());
        *own = Some(Measured::new(value, error));
        let after = sampled(&Checked::new(measured).unwrap(), 400, 2);
        let left = spread(&after, &most.key).sd / spread(&before, &most.key).sd;
        assert!((left - most.left).abs() < 0.12, "{name}, {}: {left} for {}", most.key, most.left);
        assert!(left < 0.97, "{name}, {}: {left}", most.key);
    }
}
