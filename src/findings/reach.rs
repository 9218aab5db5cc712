//! What the limbs can get to.

use super::{
    Figure, Place,
    sentence::{body_part, partner, when},
};
use crate::{
    geometry::{Side, Vec3},
    posture::{Lean, Moment, Stop, heel_and_toe},
    project::PedalKind,
    reach::{Grip, USUAL_LEAN, Zone, by_joints},
    study::{LeanReport, Solved},
    units::{Unit, deg, mm, to_deg, to_mm},
};

/// The figures.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let mut out = Vec::new();
    arms_straight(study, &mut out);
    hands(study, &mut out);
    feet(study, &mut out);
    out.extend(blip(study));
    controls(study, &mut out);
    out
}

/// The wrist rests on top of the rim with straight arms and the shoulders on the seat: common practice, no published
/// source. The value is how far the wrist's underside lies past the top of the rim.
fn arms_straight(study: &Solved, out: &mut Vec<Figure>) {
    let top = study.rig.wheel.top_point();
    let over = Vec3::z() * (study.rig.wheel.tube + study.body.skeleton.palm);
    for side in Side::BOTH {
        let shoulder = study.rest.sitting.shoulders[side.index()];
        // Each arm is straight ahead of its own shoulder: the rim's top is taken beside the middle.
        let target = Vec3::new(top.x, shoulder.y, top.z) + over;
        let arm = study.body.skeleton.upper_arm + study.body.skeleton.forearm;
        let distance = (target - shoulder).norm();
        let value = to_mm(arm - distance);
        let sentence = if value >= 0.0 {
            format!(
                "With your {} arm straight and the shoulder on the seat the wrist lies {} past the top of the rim.",
                side.word(),
                Unit::Millimetre.show(value)
            )
        } else {
            format!(
                "With your {} arm straight and the shoulder on the seat the wrist stays {} short of the top of the rim.",
                side.word(),
                Unit::Millimetre.show(-value)
            )
        };
        out.push(Figure {
            id: "arms_straight",
            side: Some(side),
            item: None,
            value,
            sentence,
            place: Place::Gap { from: shoulder + (target - shoulder) * (arm / distance.max(1e-9)), to: target },
            moment: Moment::REST,
            parts: vec![format!("{} wrist", side.word()), "rim".into()],
        });
    }
}

fn hands(study: &Solved, out: &mut Vec<Figure>) {
    for side in Side::BOTH {
        let arm = &study.rest.arms[side.index()];
        let value = to_mm(arm.shortfall);
        let sentence = if arm.reaches() {
            format!("Your {} hand holds the rim.", side.word())
        } else {
            format!("Your {} hand stays {} short of holding the rim.", side.word(), Unit::Millimetre.show(value))
        };
        let (wanted, ..) = study.rig.wheel.grip_point(study.rig.wheel.hands[side.index()], 0.0);
        out.push(Figure {
            id: "rim_reach",
            side: Some(side),
            item: None,
            value,
            sentence,
            place: Place::Gap { from: arm.grip, to: wanted },
            moment: Moment::REST,
            parts: vec![format!("{} hand", side.word()), "rim".into()],
        });
    }
    for side in Side::BOTH {
        let angle = study.motion.arms.hands_on[side.index()];
        let value = to_deg(angle);
        let stopped = study.motion.arms.stopped_by[side.index()]
            .map_or_else(|| ", as far as you asked".to_owned(), |stop| format!("; there {}", stops(&stop, study)));
        let leaning = leaning(study, side).map_or_else(String::new, |what| format!(" {what}"));
        out.push(Figure {
            id: "hands_on_angle",
            side: Some(side),
            item: None,
            value,
            sentence: format!(
                "You can steer {} to the {} without letting go{stopped}.{leaning}",
                Unit::Degree.show(value),
                side.word()
            ),
            place: Place::Point { at: study.rig.wheel.X_WR.translation.vector },
            moment: Moment::REST.with_steer(side.sign() * angle),
            parts: vec!["hands".into(), "rim".into()],
        });
    }
}

/// What ends steering to the left and to the right, in words.
pub fn hands_stopped_by(study: &Solved) -> [Option<String>; 2] {
    study.motion.arms.stopped_by.map(|stop| stop.map(|stop| stops(&stop, study)))
}

/// Where an arm leans on something, in words.
pub fn leans(study: &Solved) -> Vec<LeanReport> {
    let row = |lean: Lean| LeanReport {
        part: body_part(lean.touch.part),
        on: partner(&lean.touch.partner, &study.project),
        from_deg: to_deg(lean.steer[0]),
        to_deg: to_deg(lean.steer[1]),
    };
    study.motion.arms.leans().into_iter().map(row).collect()
}

/// What ends steering: "your left wrist, bent back, comes to its end".
fn stops(stop: &Stop, study: &Solved) -> String {
    const ENDS: [[&str; 2]; 7] = [
        ["shoulder, arm back", "shoulder, arm raised"],
        ["shoulder, arm across", "shoulder, arm out"],
        ["shoulder, turned out", "shoulder, turned in"],
        ["reach, arm straight", "elbow, fully bent"],
        ["forearm, palm up", "forearm, palm down"],
        ["wrist, bent back", "wrist, bent to the palm"],
        ["wrist, bent to the little finger", "wrist, bent to the thumb"],
    ];
    const JOINTS: [&str; 7] = ["shoulder", "shoulder", "shoulder", "elbow", "forearm", "wrist", "wrist"];
    match stop {
        Stop::Joint { side, joint, high } => {
            format!("your {} {}, comes to its end", side.word(), ENDS[*joint][usize::from(*high)])
        }
        Stop::Fast { side, joint, touch } => {
            let aside = touch.map_or_else(String::new, |touch| {
                format!(", turned aside by {},", partner(&touch.partner, &study.project))
            });
            format!("your {} {}{aside} can no longer follow", side.word(), JOINTS[*joint])
        }
        Stop::Touch(touch) => {
            format!("your {} meets {}", body_part(touch.part), partner(&touch.partner, &study.project))
        }
    }
}

/// What an arm leans on while the wheel is turned to one side: "From 63° on your left forearm leans on your left thigh."
fn leaning(study: &Solved, turn: Side) -> Option<String> {
    let s = turn.sign();
    let leans = study.motion.arms.leans().into_iter().filter_map(|lean| {
        let [a, b] = lean.steer.map(|steer| s * steer);
        (a.max(b) > 0.0).then_some((a.min(b).max(0.0), lean.touch))
    });
    let mut leans: Vec<_> = leans.collect();
    leans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (from, touch) = *leans.first()?;
    // At the very end it is what stops the hands, which is said already.
    if study.motion.arms.hands_on[turn.index()] - from < deg(2.0) {
        return None;
    }
    let what = format!("leans on {}", partner(&touch.partner, &study.project));
    let part = body_part(touch.part);
    Some(if from < deg(1.0) {
        format!("Your {part} {what} from the start.")
    } else {
        format!("From {} on your {part} {what}.", Unit::Degree.show(to_deg(from)))
    })
}

fn feet(study: &Solved, out: &mut Vec<Figure>) {
    for sweep in &study.motion.pedals {
        let (side, word) = (sweep.side, sweep.kind.word());
        let item = Some(word.to_owned());
        let Some((travel, last)) = sweep.steps.last() else { continue };
        let at_full = Moment::REST.with_travel(sweep.kind, *travel);
        let knee = to_deg(deg(180.0) - last.angles.knee_flexion);
        out.push(Figure {
            id: "knee_full_travel",
            side: Some(side),
            item: item.clone(),
            value: knee,
            sentence: format!(
                "At full travel of the {word} your {} knee opens to {}.",
                side.word(),
                Unit::Degree.show(knee)
            ),
            place: Place::Angle { at: last.knee(), from: last.hip(), to: last.ankle() },
            moment: at_full,
            parts: vec![format!("{} knee", side.word()), word.to_owned()],
        });
        let worst = |measure: fn(&crate::posture::Leg) -> f64| {
            sweep.steps.iter().max_by(|a, b| measure(&a.1).total_cmp(&measure(&b.1)))
        };
        if let Some((travel, leg)) = worst(|leg| leg.shortfall) {
            let value = to_mm(leg.shortfall);
            let moment = Moment::REST.with_travel(sweep.kind, *travel);
            let sentence = if value < 0.1 {
                format!("Your {} foot stays on the {word} all the way.", side.word())
            } else {
                format!(
                    "Your {} foot stays {} short of the {word}{}.",
                    side.word(),
                    Unit::Millimetre.show(value),
                    when(&moment)
                )
            };
            out.push(Figure {
                id: "pedal_reach",
                side: Some(side),
                item: item.clone(),
                value,
                sentence,
                place: Place::Point { at: leg.ball },
                moment,
                parts: vec![format!("{} foot", side.word()), word.to_owned()],
            });
        }
        if let Some((travel, leg)) = worst(|leg| leg.heel_lift) {
            let value = to_mm(leg.heel_lift);
            let moment = Moment::REST.with_travel(sweep.kind, *travel);
            let slide = sweep
                .steps
                .iter()
                .map(|(_, leg)| to_mm(leg.heel_slide))
                .fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
            let slides = if slide.abs() >= 1.0 && value < 1.0 {
                format!(" and slides {} along it", Unit::Millimetre.show(slide.abs()))
            } else {
                String::new()
            };
            let sentence = if value < 0.5 {
                format!("Your {} heel stays down on the {word}{slides}.", side.word())
            } else {
                format!(
                    "Your {} heel comes {} off its rest on the {word}{}.",
                    side.word(),
                    Unit::Millimetre.show(value),
                    when(&moment)
                )
            };
            out.push(Figure {
                id: "heel_lift",
                side: Some(side),
                item,
                value,
                sentence,
                place: Place::Point { at: leg.heel },
                moment,
                parts: vec![format!("{} heel", side.word()), word.to_owned()],
            });
        }
    }
}

/// Braking and blipping the throttle with one foot, where three pedals ask for it.
fn blip(study: &Solved) -> Option<Figure> {
    let pedals = &study.rig.pedals;
    let braked = pedals.get(PedalKind::Brake)?.working_travel;
    if study.motion.brakes_with != Side::Right || pedals.get(PedalKind::Clutch).is_none() {
        return None;
    }
    let found = heel_and_toe(&study.body, &study.rest.sitting, &study.rig, braked)?;
    let show = |length: f64| Unit::Millimetre.show(to_mm(length));
    let sentence = if found.too_far > 0.0 {
        format!("Your right shoe is {} too narrow to brake and blip the throttle at once.", show(found.too_far))
    } else if found.unwanted > mm(0.5) {
        format!(
            "With the brake at its working force your right foot already presses the throttle by {}; rolled over by {} \
             it presses it by {}.",
            show(found.unwanted),
            Unit::Degree.show(to_deg(found.roll)),
            show(found.blip)
        )
    } else {
        format!(
            "With the brake at its working force your right foot, rolled over by {}, blips the throttle by {}.",
            Unit::Degree.show(to_deg(found.roll)),
            show(found.blip)
        )
    };
    Some(Figure {
        id: "heel_and_toe",
        side: Some(Side::Right),
        item: None,
        value: to_mm(found.blip - found.unwanted),
        sentence,
        place: Place::Point { at: found.leg.ball },
        moment: Moment::REST.with_travel(PedalKind::Brake, braked),
        parts: vec!["right foot".into(), "throttle".into()],
    })
}

/// How far inside the hand's reach each control lies, by the joints alone: full grip, shoulders on the seat.
fn controls(study: &Solved, out: &mut Vec<Figure>) {
    let show = |length: f64| Unit::Millimetre.show(to_mm(length));
    let mut lies = Side::BOTH.map(|hand| {
        let points: Vec<Vec3> =
            study.rig.controls.iter().filter(|control| control.hand == hand).map(|control| control.at).collect();
        if points.is_empty() {
            return Vec::new().into_iter();
        }
        by_joints(&study.body, &study.rest.sitting, hand, Grip::Full, USUAL_LEAN, &points).into_iter()
    });
    for control in &study.rig.controls {
        let Some(lies) = lies[control.hand.index()].next() else { continue };
        let name = &control.name;
        let word = control.hand.word();
        let sentence = match lies.zone {
            Some(Zone::Comfortable) => {
                format!("{name} lies {} inside the reach of your {word} hand, in comfort.", show(lies.margin))
            }
            Some(Zone::Attainable) => format!(
                "{name} lies {} inside the reach of your {word} hand with the shoulders on the seat.",
                show(lies.margin)
            ),
            Some(Zone::ShoulderLift) => format!(
                "{name} lies {} beyond the reach of your {word} hand: your shoulder leaves the seat for it.",
                show(-lies.margin)
            ),
            Some(Zone::Leaning) => format!(
                "{name} lies {} beyond the reach of your {word} hand: you lean forward for it.",
                show(-lies.margin)
            ),
            None => format!(
                "{name} lies {} beyond the reach of your {word} hand, and further than leaning forward by {} helps.",
                show(-lies.margin),
                Unit::Degree.show(to_deg(USUAL_LEAN))
            ),
        };
        out.push(Figure {
            id: "control_reach",
            side: None,
            item: Some(name.clone()),
            value: to_mm(lies.margin),
            sentence,
            place: Place::Gap { from: lies.end, to: control.at },
            moment: Moment::REST,
            parts: vec![format!("{word} hand"), name.clone()],
        });
    }
}
