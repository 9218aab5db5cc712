//! A project's frame, checked: what was found, in sentences.

use super::{
    Answers, Built, Duty, Give, Giver, Loose, Mass, Stiffening, Tie,
    answer::{LIFTS, SPIKE, answers},
    loose::looseness,
    stiffen::stiffening,
    tipping::Stability,
};
use crate::{
    findings::{Figure, Finding, Level, Place, found},
    geometry::Vec3,
    posture::Moment,
    project::{Bands, Checked, JointKind, PedalKind, joint_row},
    units::{Unit, to_deg, to_mm},
    words::first_upper,
};

/// The frame of a project and what was found.
#[derive(Clone, Debug)]
pub struct FrameStudy {
    /// What it has to do.
    pub duty: Duty,
    /// How it was built up.
    pub built: Built,
    /// Masses.
    pub mass: Mass,
    /// What doesn't hold together; the figures leave it out.
    pub loose: Vec<Loose>,
    /// How it answers.
    pub answers: Answers,
    /// Whether it tips or slides; `None` without three feet.
    pub stability: Option<Stability>,
    /// Findings in reading order.
    pub findings: Vec<Finding>,
    /// The cheapest change for each finding that isn't good, by its number.
    pub stiffenings: Vec<(usize, Stiffening)>,
    /// What else should be known: feet that lift, sections that were estimated.
    pub notes: Vec<String>,
}

impl FrameStudy {
    /// The worst level; outside where something doesn't hold together.
    pub fn worst(&self) -> Level {
        if self.loose.is_empty() {
            self.findings.iter().map(|finding| finding.level).max().unwrap_or(Level::Good)
        } else {
            Level::Outside
        }
    }

    /// The findings alone, each with the cheapest stiffening at the end of its sentence.
    pub fn into_findings(self) -> Vec<Finding> {
        let mut findings = self.findings;
        for (number, stiffening) in self.stiffenings {
            if let Some(finding) = findings.iter_mut().find(|finding| finding.number == number) {
                finding.sentence = format!("{} {}", finding.sentence, stiffening.sentence);
            }
        }
        findings
    }
}

/// Checks the frame of a project, without looking for what would stiffen it.
pub fn check(project: &Checked) -> FrameStudy {
    let duty = Duty::of(project);
    let built = Built::of(&duty);
    let loose = looseness(&built, &duty);
    let mass = Mass::of(&duty);
    let answers = answers(&duty, &built);
    let stability = Stability::of(&duty, &built, &mass);
    let bands = Bands::of(project);
    let mut all = adrift(&duty, &built, &loose);
    all.extend(figures(&duty, &built, &answers, stability.as_ref()));
    let findings = found(all, &bands);
    let notes = notes(&duty, &built, &answers);
    FrameStudy { duty, built, mass, loose, answers, stability, findings, stiffenings: Vec::new(), notes }
}

/// The same, and the cheapest stiffening of what isn't good, unless rails lie inside one another.
pub fn check_and_stiffen(project: &Checked) -> FrameStudy {
    let mut study = check(project);
    // Rails inside one another are no frame yet.
    if !study.built.doubles.is_empty() {
        return study;
    }
    let finding = |finding: &Finding| {
        if finding.level == Level::Good {
            return None;
        }
        let (givers, figure) = givers_of(&study.answers, &study.built, finding)?;
        let change = stiffening(&study.duty, &study.built, &givers, &finding.band, &figure, finding.value)?;
        Some((finding.number, change))
    };
    study.stiffenings = study.findings.iter().filter_map(finding).collect();
    study
}

/// A figure of the answers in its band's unit.
type Figurer = dyn Fn(&Answers) -> Option<f64>;

/// What gives most, with shares, and how to read the figure.
type Givers = (Vec<(Giver, f64)>, Box<Figurer>);

/// What gives most behind a finding, and how to read its figure off other answers.
fn givers_of(answers: &Answers, built: &Built, finding: &Finding) -> Option<Givers> {
    let kind = finding.item.clone();
    let of_give = |give: &Give| give.givers.clone();
    match finding.id.as_str() {
        "pedal_flex" => {
            let of = move |answers: &Answers| {
                answers.pedals.iter().position(|(own, _)| Some(title(*own)) == kind.as_deref())
            };
            let give = &answers.pedals[of(answers)?].1;
            Some((of_give(give), Box::new(move |other| Some(to_mm(other.pedals[of(other)?].1.value)))))
        }
        "seat_flex" => {
            Some((of_give(answers.seat.as_ref()?), Box::new(|other| Some(to_mm(other.seat.as_ref()?.value)))))
        }
        "wheel_flex" => {
            Some((of_give(answers.wheel.as_ref()?), Box::new(|other| Some(to_mm(other.wheel.as_ref()?.value)))))
        }
        "wheel_turn" => Some((
            of_give(answers.wheel_turn.as_ref()?),
            Box::new(|other| Some(to_deg(other.wheel_turn.as_ref()?.value))),
        )),
        "frame_stress" => {
            let rail = answers.stress?.index;
            Some((vec![(Giver::Bending(rail), 1.0)], Box::new(|other| Some(100.0 * other.stress?.share))))
        }
        "joint_slip" => {
            let joint = answers.joint?.index;
            Some((vec![(Giver::Joint(joint), 1.0)], Box::new(|other| Some(100.0 * other.joint?.share))))
        }
        "frame_swing" => {
            // The rail that swings most, and what holds it.
            let rail = answers.swing?.1?;
            let holds = |joint: usize| matches!(built.joints[joint].tie, Tie::Rails { guest, .. } if guest == rail);
            let joints = (0..built.joints.len()).filter(|&joint| holds(joint)).map(|joint| (Giver::Joint(joint), 0.5));
            let givers = std::iter::once((Giver::Bending(rail), 0.5)).chain(joints).collect();
            Some((givers, Box::new(|other| Some(other.swing?.0))))
        }
        _ => None,
    }
}

const fn title(kind: PedalKind) -> &'static str {
    match kind {
        PedalKind::Clutch => "Clutch",
        PedalKind::Brake => "Brake",
        PedalKind::Throttle => "Throttle",
    }
}

/// What takes up most of a give: "Most of it (62 %) is the twist of rail 'x'; joints take 20 %."
fn dominated(give: &Give, duty: &Duty, built: &Built) -> String {
    let Some((giver, share)) = give.givers.first() else { return String::new() };
    let percent = |share: f64| Unit::Percent.show(100.0 * share);
    let begin = if *share > 0.5 { "Most of it" } else { "The largest part" };
    let joints = give.joints_share();
    let rest = if matches!(giver, Giver::Joint(_)) || joints < 0.05 {
        String::new()
    } else {
        format!("; the joints take {}", percent(joints))
    };
    format!(" {begin} ({}) is {}{rest}.", percent(*share), giver_words(*giver, duty, built))
}

/// "the twist of rail 'x'", "the bracket joint of 'x' on 'y'".
pub fn giver_words(giver: Giver, duty: &Duty, built: &Built) -> String {
    let rail = |rail: usize| format!("rail '{}'", duty.rails[rail].name);
    match giver {
        Giver::Bending(own) => format!("the bending of {}", rail(own)),
        Giver::Twist(own) => format!("the twist of {}", rail(own)),
        Giver::Stretch(own) => format!("the stretch of {}", rail(own)),
        Giver::Joint(joint) => tie_words(&built.joints[joint].tie, duty),
        Giver::Feet => "the feet on the floor".to_owned(),
    }
}

fn tie_words(tie: &Tie, duty: &Duty) -> String {
    let name = |rail: usize| &duty.rails[rail].name;
    match *tie {
        Tie::Rails { guest, host, kind, .. } => {
            format!("the {} of rail '{}' on rail '{}'", kind.word(), name(guest), name(host))
        }
        Tie::Part { part, rail } => format!("what bolts {} to rail '{}'", duty.carried[part].name, name(rail)),
    }
}

/// What doesn't hold together.
fn adrift(duty: &Duty, built: &Built, loose: &[Loose]) -> Vec<Figure> {
    let middle = |name: &str| {
        let bar = duty.rails.iter().position(|rail| rail.name == name).map(|rail| &built.bars[rail]);
        bar.map_or_else(Vec3::zeros, |bar| (bar.from + bar.to) / 2.0)
    };
    let figure = |loose: &Loose| {
        let (id, name, value) = match loose {
            Loose::NoRails => return None,
            Loose::NoLength { rail } => ("frame_length", rail, 0.0),
            Loose::Double { rail, .. } => ("frame_double", rail, 1.0),
            Loose::Apart { rail, others, .. } => ("frame_loose", rail, *others as f64 + 1.0),
            Loose::Moves { rail, .. } => ("frame_moves", rail, 1.0),
            Loose::Uncarried { part, gap, within, .. } => ("frame_carried", part, to_mm(gap - within)),
        };
        let at = match loose {
            Loose::Uncarried { part, .. } => duty.carried.iter().find(|own| own.name == *part).map(|own| own.at),
            _ => None,
        };
        let item = name.strip_prefix("the ").map_or_else(|| name.clone(), first_upper);
        Some(Figure {
            id,
            side: None,
            item: Some(item),
            value,
            sentence: loose.to_string(),
            place: Place::Point { at: at.unwrap_or_else(|| middle(name)) },
            moment: Moment::REST,
            parts: vec![name.clone()],
        })
    };
    loose.iter().filter_map(figure).collect()
}

fn figures(duty: &Duty, built: &Built, answers: &Answers, stability: Option<&Stability>) -> Vec<Figure> {
    let mut out = Vec::new();
    let mut figure =
        |id: &'static str, item: Option<&str>, value: f64, at: Vec3, sentence: String, parts: Vec<String>| {
            out.push(Figure {
                id,
                side: None,
                item: item.map(str::to_owned),
                value,
                sentence,
                place: Place::Point { at },
                moment: Moment::REST,
                parts,
            });
        };
    let fine = |metres: f64| Unit::FineMillimetre.show(to_mm(metres));
    for (kind, give) in &answers.pedals {
        let force = duty.pushes.iter().find(|push| push.kind == *kind).map_or(0.0, |push| push.force.norm());
        let alone = answers
            .brake_alone
            .filter(|_| *kind == PedalKind::Brake)
            .map_or_else(String::new, |alone| format!("; the brake's face alone moves {}", fine(alone)));
        let sentence = format!(
            "Under {} your {} and the seat back move {} apart{alone}.{}",
            Unit::Newton.show(force),
            kind.word(),
            fine(give.value),
            dominated(give, duty, built)
        );
        figure("pedal_flex", Some(title(*kind)), to_mm(give.value), give.at, sentence, vec![kind.word().to_owned()]);
    }
    if let Some(give) = &answers.seat {
        let sentence = format!(
            "Under the brake's force the seat gives {} backwards.{}",
            fine(give.value),
            dominated(give, duty, built)
        );
        figure("seat_flex", None, to_mm(give.value), give.at, sentence, vec!["seat".to_owned()]);
    }
    if let Some(give) = &answers.wheel_turn {
        let sentence = format!(
            "Under the full torque of {} the wheel turns by {} with its unit.{}",
            Unit::NewtonMetre.show(duty.torque),
            Unit::FineDegree.show(to_deg(give.value)),
            dominated(give, duty, built)
        );
        figure("wheel_turn", None, to_deg(give.value), give.at, sentence, vec!["wheel".to_owned()]);
    }
    if let Some(give) = &answers.wheel {
        let sentence = format!(
            "A pull of {} on the rim moves the wheel by {}.{}",
            Unit::Newton.show(duty.pull),
            fine(give.value),
            dominated(give, duty, built)
        );
        figure("wheel_flex", None, to_mm(give.value), give.at, sentence, vec!["wheel".to_owned()]);
    }
    if let Some(worst) = answers.stress {
        let rail = &duty.rails[worst.index].name;
        let sentence = format!(
            "With {} the working force and torque and your weight, rail '{rail}' is stressed most: {:.0} MPa, {} of what \
             it can bear without staying bent.",
            Unit::Times.show(SPIKE),
            worst.value / 1e6,
            Unit::Percent.show(100.0 * worst.share)
        );
        figure("frame_stress", None, 100.0 * worst.share, worst.at, sentence, vec![rail.clone()]);
    }
    if let Some(worst) = answers.joint {
        let tie = &built.joints[worst.index].tie;
        let sentence = format!(
            "With {} the working force and torque and your weight, {} is asked for {}, {} of what its bolts hold before \
             they slip.{} Mark it with a pen line and tighten it again after the first hours.",
            Unit::Times.show(SPIKE),
            tie_words(tie, duty),
            Unit::Newton.show(worst.value),
            Unit::Percent.show(100.0 * worst.share),
            more_bolts(tie, worst.share)
        );
        figure("joint_slip", None, 100.0 * worst.share, worst.at, sentence, vec![tie_words(tie, duty)]);
    }
    if let Some((frequency, rail)) = answers.swing {
        let most = rail.map_or_else(String::new, |rail| format!(", '{}' the most", duty.rails[rail].name));
        let sentence =
            format!("With you in the seat the rig swings of its own at {}{most}.", Unit::Hertz.show(frequency));
        let at = rail.map_or_else(Vec3::zeros, |rail| {
            (crate::units::mm_point(duty.rails[rail].from_mm) + crate::units::mm_point(duty.rails[rail].to_mm)) / 2.0
        });
        figure("frame_swing", None, frequency, at, sentence, vec!["frame".to_owned()]);
    }
    out.extend(stability.into_iter().flat_map(|stability| tipping(duty, stability)));
    out
}

/// How many brackets or bolts would hold with half as much again to spare; empty where those that are there do.
fn more_bolts(tie: &Tie, share: f64) -> String {
    const SPARE: f64 = 1.5;
    if share * SPARE <= 1.0 {
        return String::new();
    }
    let (had, what) = match *tie {
        Tie::Rails { kind: JointKind::Bracket | JointKind::Pivot, pieces, .. } => (pieces, "brackets"),
        Tie::Rails { pieces, .. } => (pieces, "connectors"),
        Tie::Part { .. } => (1, "bolts there"),
    };
    let needed = (f64::from(had) * share * SPARE).ceil();
    format!(" {needed:.0} {what} in place of {had} would hold it surely; so does a stop that it stands against.")
}

/// More than this many times over is only "far from tipping".
const FAR: f64 = 20.0;

fn tipping(duty: &Duty, stability: &Stability) -> [Figure; 3] {
    let figure = |id: &'static str, value: f64, at: Vec3, sentence: String| Figure {
        id,
        side: None,
        item: None,
        value: value.min(FAR),
        sentence,
        place: Place::Point { at },
        moment: Moment::REST,
        parts: vec!["feet".to_owned()],
    };
    let (entering, braking) = (&stability.entering, &stability.braking);
    let caution = if entering.factor < 2.0 { " Set the feet wider, or fix the rig to the wall or floor." } else { "" };
    let getting_in = format!(
        "Getting in and out, {}, the rig {} over its {} feet.{caution}",
        entering.how,
        tips_words(entering.factor),
        entering.edge.word()
    );
    let hard = format!(
        "Of your hardest brake the seat returns all but {} at once; with that the rig {} over its {} feet.",
        Unit::Newton.show(stability.unreturned),
        tips_words(braking.factor),
        braking.edge.word()
    );
    let sliding = format!(
        "Against sliding under the same push the feet hold {}, with a friction of {:.1}.",
        times_words(stability.sliding),
        duty.friction
    );
    [
        figure("tip_entering", entering.factor, entering.at, getting_in),
        figure("tip_braking", braking.factor, braking.at, hard),
        figure("slide_braking", stability.sliding, braking.at, sliding),
    ]
}

fn tips_words(factor: f64) -> String {
    if factor < 1.0 { "tips".to_owned() } else { format!("stands {} against tipping", times_words(factor)) }
}

fn times_words(factor: f64) -> String {
    if factor > FAR { format!("more than {}", Unit::Times.show(FAR)) } else { Unit::Times.show(factor) }
}

fn notes(duty: &Duty, built: &Built, answers: &Answers) -> Vec<String> {
    let mut out = Vec::new();
    for [weight, part] in &duty.stand_for {
        out.push(format!("The weight “{weight}” is taken for {part}: nothing else is counted for it."));
    }
    for &foot in &answers.lifted {
        let foot = &built.feet[foot];
        out.push(format!(
            "The foot under rail '{}' at ({:.0}, {:.0}) mm lifts off when you brake hard: a foot can't pull.",
            duty.rails[foot.rail].name,
            to_mm(foot.at.x),
            to_mm(foot.at.y)
        ));
    }
    for (foot, _) in built.feet.iter().zip(&answers.feet).filter(|(_, force)| **force < -LIFTS) {
        out.push(format!(
            "The rig would tip when you brake hard: the foot under rail '{}' would have to pull.",
            duty.rails[foot.rail].name
        ));
    }
    let silent = [
        (super::PEDALS, answers.pedals.is_empty(), "how far the pedals give"),
        (super::WHEEL, answers.wheel.is_none(), "how far the wheel gives"),
    ];
    for (part, _, what) in silent.into_iter().filter(|&(part, silent, _)| silent && built.parts[part].is_some()) {
        out.push(format!(
            "{} stands on rails that nothing holds: {what} can't be said until they are joined.",
            first_upper(&duty.carried[part].name)
        ));
    }
    for found in &built.joints {
        let Tie::Rails { guest, host, kind: JointKind::Pivot, pieces } = found.tie else { continue };
        let asked = duty.rails[guest].joined().kind;
        if matches!(asked, JointKind::Butt | JointKind::EndToFace) {
            out.push(format!(
                "Rail '{}' meets rail '{}' at a slant, which no {} holds: it is counted with {pieces} pivot bracket{}.",
                duty.rails[guest].name,
                duty.rails[host].name,
                joint_row(asked).part,
                if pieces == 1 { "" } else { "s" }
            ));
        }
    }
    if built.feet.len() < 3 && !duty.rails.is_empty() {
        out.push("The frame stands on fewer than three feet.".to_owned());
    }
    let mut told: Vec<&str> = Vec::new();
    for bar in built.bars.iter().filter(|bar| bar.section.sure == "estimated") {
        if !told.contains(&bar.section.name.as_str()) {
            told.push(&bar.section.name);
            out.push(format!("Section {}: {}.", bar.section.name, bar.section.source));
        }
    }
    out
}
