//! What to move: rates beside differences of other projects, planted faults traced back, and moves carried out through the
//! file.

use heelpoint::{
    check,
    findings::{Effect, Finding, Group, Level, Move, Rates},
    project::{Band, Checked, Project, fields, parse, to_text},
    study::{Study, check_and_mend},
    watch::Watch,
};
use std::collections::BTreeMap;

/// A demo with fields moved, written to a file's text and read again.
fn with(project: &Project, moves: &[(&str, f64)]) -> Option<Checked> {
    let mut project = project.clone();
    let mut made = 0;
    fields(&mut project, &mut |field| {
        for (path, by) in moves {
            if field.path == *path {
                *field.value += by;
                made += 1;
            }
        }
    });
    assert_eq!(made, moves.len(), "{moves:?}");
    parse(&to_text(&project)).ok()
}

fn values(study: &Study) -> BTreeMap<String, f64> {
    study.findings.iter().map(|finding| (finding.key(), finding.value)).collect()
}

#[test]
fn rates_are_those_of_projects_a_little_to_both_sides() {
    const H: f64 = 0.5;
    let project = super::demo("closed_car").into_inner();
    let study = check(&super::demo("closed_car"));
    let rates = Rates::of(&study, &Watch::NOBODY).unwrap();
    let mut large = 0;
    for path in [
        "seat.slider.at_mm",
        "seat.position_mm[2]",
        "wheel.centre_mm[0]",
        "wheel.centre_mm[2]",
        "wheel.column_angle_deg",
        "pedals.position_mm[0]",
        "pedals.pedals[0].sideways_mm",
    ] {
        let [more, less] = [H, -H].map(|by| values(&check(&with(&project, &[(path, by)]).unwrap())));
        // The seat that the driver would choose comes from a search of its own, in steps.
        let smooth = |finding: &&Finding| {
            matches!(finding.group, Group::Posture | Group::Alignment) && finding.id != "seat_choice"
        };
        for finding in study.findings.iter().filter(smooth) {
            let key = finding.key();
            let central = (more[&key] - less[&key]) / (2.0 * H);
            let rate = rates.rate(path, &key).unwrap();
            assert!((rate - central).abs() < 0.05 * central.abs() + 0.02, "{path}, {key}: {rate}, {central}");
            large += usize::from(central.abs() > 0.1);
        }
    }
    assert!(large > 25, "{large} figures move");
    assert_eq!(rates.rate("seat.nowhere", "elbow.left"), None);
}

/// A sound demo with one adjuster set wrong: what suffers by it is mended by that adjuster, by as many of its steps as
/// setting it back one by one takes.
#[test]
fn a_planted_fault_is_traced_back_to_its_adjuster() {
    let sound = super::demo("closed_car").into_inner();
    let mut traced_alone = 0;
    for (path, by, key, step) in [
        ("pedals.pedals[0].sideways_mm", 110.0, "leg_angle.left.brake", 1.0),
        ("wheel.centre_mm[2]", -60.0, "thigh_wheel.left", 1.0),
        ("pedals.position_mm[0]", 80.0, "knee_brake.left", 1.0),
        ("pedals.position_mm[0]", -60.0, "knee_brake.left", 1.0),
        ("pedals.position_mm[2]", 90.0, "ankle_brake.left", 1.0),
        ("pedals.pedals[0].sideways_mm", -110.0, "leg_angle.left.brake", 1.0),
    ] {
        let planted = with(&sound, &[(path, by)]).unwrap();
        let of = |study: &Study| study.findings.iter().find(|finding| finding.key() == key).unwrap().level;
        assert_eq!(of(&check(&super::demo("closed_car"))), Level::Good, "{key}");
        let study = check_and_mend(&planted);
        assert!(of(&study) > Level::Good, "{path} {by}: {key}");
        let back = (1..).map(|count| -by.signum() * step * f64::from(count));
        let enough = back.take_while(|back| back.abs() <= f64::abs(by) + step);
        let mut enough = enough.filter(|&back| of(&check(&with(&planted, &[(path, back)]).unwrap())) == Level::Good);
        let enough = enough.next().expect("setting it back mends it");
        let finding = study.findings.iter().find(|finding| finding.key() == key).unwrap();
        let mend = finding.mend.as_ref().unwrap_or_else(|| panic!("{path} {by}: no mend of {key}"));
        // Where alone it takes a level from another figure, a second one helps and it has less to go.
        let own = mend.moves.iter().find(|own| own.path == path).unwrap_or_else(|| panic!("{path}: {}", mend.sentence));
        let alone = mend.moves.len() == 1;
        let fits = if alone { (own.by - enough).abs() <= step + 1e-9 } else { own.by.abs() <= enough.abs() + step };
        assert!(fits && own.by * enough > 0.0, "{path} {by}: {} {enough}", mend.sentence);
        traced_alone += usize::from(alone);
        assert_eq!(mend.level, Level::Good);
    }
    assert!(traced_alone >= 5, "{traced_alone}");
}

/// Two are named where no adjuster alone brings the figure back without taking a level from another one: tried out over
/// the reach of every adjuster.
#[test]
fn two_adjusters_are_moved_where_one_cannot() {
    let demo = super::demo("formula");
    let study = check_and_mend(&demo);
    let pairs = |finding: &&Finding| {
        finding.mend.as_ref().is_some_and(|mend| {
            let costless = mend.effects.iter().all(|effect| effect.level <= effect.was);
            // What hands and legs keep apart hangs on how far the hands go on, which moves with every adjuster.
            finding.id != "hand_leg" && mend.moves.len() == 2 && mend.level == Level::Good && costless
        })
    };
    let paired: Vec<&Finding> = study.findings.iter().filter(pairs).collect();
    assert!(!paired.is_empty());
    let mut adjusters = Vec::new();
    fields(&mut demo.clone().into_inner(), &mut |field| {
        adjusters.extend(field.adjust.map(|adjust| (field.path.clone(), adjust.reach)));
    });
    let mut tried = 0;
    for (path, reach) in &adjusters {
        for share in [-1.0, -0.7, -0.4, -0.2, 0.2, 0.4, 0.7, 1.0] {
            let Some(moved) = with(&demo, &[(path, (share * reach).round())]) else { continue };
            let after = check(&moved);
            tried += 1;
            for finding in &paired {
                let loses = study.findings.iter().any(|other| {
                    let now = after.findings.iter().find(|now| now.key() == other.key());
                    now.is_some_and(|now| now.level > other.level)
                });
                let good = there(&after, finding).level == Level::Good;
                assert!(!good || loses, "{path} by {:.0} mends {} alone", share * reach, finding.title);
            }
        }
    }
    assert!(tried > 80);
}

/// What a finding stands at in another study.
fn there<'a>(study: &'a Study, finding: &Finding) -> &'a Finding {
    study.findings.iter().find(|other| other.key() == finding.key()).unwrap()
}

/// A tenth of the width of a band, as the README says it: from end to end, or from its one end to its limit.
fn noticed(band: &Band) -> f64 {
    let ends = |range: [Option<f64>; 2]| range.into_iter().flatten().collect::<Vec<_>>();
    let (good, limit) = (ends(band.good), ends(band.limit));
    0.1 * if good.len() == 2 { good[1] - good[0] } else { (good[0] - limit[0]).abs() }
}

/// Every mend of every demo, made in the file and loaded again: the figure stands where it was said to stand, a level
/// better; what changes noticeably is said, with its figures, and nothing else; a lost level is in the sentence.
#[test]
fn a_mend_does_what_it_says_when_it_is_carried_out() {
    for (name, _) in super::DEMOS {
        let project = super::demo(name);
        let study = check_and_mend(&project);
        let mut tried = 0;
        for finding in &study.findings {
            let Some(mend) = &finding.mend else { continue };
            let moves: Vec<(&str, f64)> = mend.moves.iter().map(|one| (one.path.as_str(), one.by)).collect();
            // Whole steps, no further than the adjuster reaches.
            fields(&mut project.clone().into_inner(), &mut |field| {
                for (_, by) in moves.iter().filter(|(path, _)| *path == field.path) {
                    let adjust = field.adjust.unwrap();
                    let steps = by / if adjust.step > 0.0 { adjust.step } else { 1.0 };
                    assert!((steps - steps.round()).abs() < 1e-9 && by.abs() <= adjust.reach, "{}", mend.sentence);
                }
            });
            let after = check(&with(&project, &moves).unwrap());
            let words = format!("{name}: {}", mend.sentence);
            let then = there(&after, finding);
            assert!((then.value - mend.then).abs() < 1e-6 && then.level == mend.level, "{words}");
            assert!(then.level < finding.level && !moves.is_empty() && moves.len() < 3, "{words}");
            let changed = |other: &&Finding| {
                let now = there(&after, other);
                other.key() != finding.key()
                    && ((now.value - other.value).abs() > noticed(&other.band) || now.level != other.level)
            };
            let mut expected: Vec<String> = study.findings.iter().filter(changed).map(Finding::key).collect();
            let mut said: Vec<String> = mend.effects.iter().map(|effect| effect.key.clone()).collect();
            expected.sort();
            said.sort();
            assert_eq!(said, expected, "{words}");
            let lower = mend.sentence.to_lowercase();
            let (mut gained, mut lost) = (finding.level as i32 - then.level as i32, 0);
            for effect in &mend.effects {
                let now = after.findings.iter().find(|other| other.key() == effect.key).unwrap();
                let before = study.findings.iter().find(|other| other.key() == effect.key).unwrap();
                assert!((effect.to - now.value).abs() < 1e-6 && (effect.from - before.value).abs() < 1e-6, "{words}");
                assert!(effect.level == now.level && effect.was == before.level, "{words}");
                let change = effect.level as i32 - effect.was as i32;
                (gained, lost) = (gained + (-change).max(0), lost + change.max(0));
                let bare = before.band.label.to_lowercase();
                assert!(change <= 0 || lower.contains(&bare), "{words} does not say {}", effect.title);
            }
            assert!(gained > lost, "{words}: it takes more than it gives");
            // Lost levels first.
            let losing: Vec<bool> = mend.effects.iter().map(|effect: &Effect| effect.level > effect.was).collect();
            assert!(losing.windows(2).all(|pair| pair[0] >= pair[1]), "{words}");
            let mut made = project.clone().into_inner();
            Move::make(&mend.moves, &mut made);
            assert_eq!(check(&Checked::new(made).unwrap()).worst(), after.worst());
            tried += 1;
        }
        assert!(tried >= 6, "{name}: {tried} mends");
    }
}
