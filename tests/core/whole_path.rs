//! The whole path on random projects: no panic, nothing that is not a number, and findings that are worth reading.

use heelpoint::{
    body::{JointLimits, Range},
    check,
    posture::{ArmAngles, LegAngles, Moment},
    project::{Checked, Project, fields},
    study::Study,
};
use proptest::prelude::*;

/// A project with some of its numbers replaced: a share of its own value, or anywhere in the field's range.
fn shaken(name: &str, draws: &[(usize, f64, bool)]) -> Project {
    let mut project = super::demo(name).into_inner();
    let mut count = 0;
    fields(&mut project, &mut |_| count += 1);
    for &(index, draw, anywhere) in draws {
        let mut at = 0;
        fields(&mut project, &mut |field| {
            if at == index % count {
                let (low, high) = field.range;
                *field.value = if anywhere {
                    low + (high - low) * draw
                } else {
                    (*field.value * (0.8 + 0.4 * draw)).clamp(low, high)
                };
            }
            at += 1;
        });
    }
    project.motion.steer_steps = 21;
    project.motion.pedal_steps = 5;
    project
}

fn finite(study: &Study) -> Result<(), String> {
    for finding in &study.findings {
        if !finding.value.is_finite() || finding.sentence.contains("NaN") || finding.sentence.contains("inf") {
            return Err(format!("{}: {}", finding.key(), finding.sentence));
        }
        if !finding.place.centre().iter().all(|x| x.is_finite()) {
            return Err(format!("{} is nowhere", finding.key()));
        }
    }
    let within = |ranges: [Range; 7], angles: [f64; 7]| {
        ranges.iter().zip(angles).all(|(range, angle)| angle.is_finite() && range.excess(angle) < 1e-9)
    };
    let limits: &JointLimits = &study.solved.body.limits;
    let arms = study.solved.motion.arms.steps.iter().flat_map(|(_, arms)| arms);
    if !arms.clone().all(|arm| within(ArmAngles::ranges(limits), arm.angles.array())) {
        return Err("an arm leaves its limits".to_owned());
    }
    let legs = study.solved.motion.pedals.iter().flat_map(|sweep| sweep.steps.iter().map(|(_, leg)| leg));
    if !legs.chain(&study.solved.rest.legs).all(|leg| within(LegAngles::ranges(limits), leg.angles.array())) {
        return Err("a leg leaves its limits".to_owned());
    }
    for bone in study.solved.posture_at(&Moment { steer: 0.7, travel: [0.01, 0.02, 0.03] }).bones() {
        if !bone.translation.vector.iter().chain(bone.rotation.coords.iter()).all(|x| x.is_finite()) {
            return Err("a bone is nowhere".to_owned());
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn random_sound_projects_give_numbers(mut project in super::random_projects::project()) {
        project.motion.steer_steps = project.motion.steer_steps.min(21);
        project.motion.pedal_steps = project.motion.pedal_steps.min(5);
        let checked = Checked::new(project).map_err(|faults| TestCaseError::fail(format!("{faults:?}")))?;
        prop_assert_eq!(finite(&check(&checked)), Ok(()));
    }

    #[test]
    fn demos_with_numbers_changed_give_numbers_or_faults(
        demo in 0..3_usize,
        draws in prop::collection::vec((any::<usize>(), 0.0..1.0_f64, any::<bool>()), 0..40),
    ) {
        let project = shaken(super::DEMOS[demo].0, &draws);
        if let Ok(checked) = Checked::new(project) {
            let study = check(&checked);
            prop_assert_eq!(finite(&study), Ok(()));
        }
    }
}

#[test]
fn findings_are_numbered_named_once_and_carry_band_and_source() {
    for demo in &heelpoint::home::DEMOS {
        let name = demo.name;
        let study = check(&demo.open().unwrap());
        let mut keys: Vec<String> = study.findings.iter().map(heelpoint::findings::Finding::key).collect();
        assert!(keys.len() > 30, "{name}");
        for (index, finding) in study.findings.iter().enumerate() {
            assert_eq!(finding.number, index + 1);
            assert!(finding.band.source.len() > 20 && finding.sentence.ends_with('.'), "{}", finding.key());
        }
        keys.sort();
        let all = keys.len();
        keys.dedup();
        assert_eq!(keys.len(), all, "{name}: every finding has a key of its own");
    }
}

#[test]
fn an_own_band_replaces_the_default_and_is_named() {
    let mut project = super::demo("closed_car").into_inner();
    let own = heelpoint::project::BandOverride { good: [150.0, 170.0], limit: [140.0, 175.0] };
    project.bands.insert("elbow".to_owned(), own);
    let study = check(&Checked::new(project).unwrap());
    let elbow = study.findings.iter().find(|finding| finding.id == "elbow").unwrap();
    assert!(elbow.band.overridden && elbow.band.source.contains("own"));
    assert_eq!(elbow.level, heelpoint::findings::Level::Outside);
}
