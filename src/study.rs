//! The whole path in one call: a checked project in, posture, motion, clearances and findings out.

use crate::{
    body::Body,
    clearance::{self, Clearance},
    effort::{Effort, Joint, KneePoint, Presser},
    findings::{self, Finding, Level, Sampled},
    frame,
    posture::{self, Between, Moment, Motion, PedalSweep, Posture},
    project::{Bands, Checked},
    rig::Rig,
    units::{to_deg, to_mm},
    watch::Watch,
};

/// Body, rig, posture, motion and clearances of one project.
#[derive(Clone, Debug)]
pub struct Solved {
    /// What was asked.
    pub project: Checked,
    /// The driver.
    pub body: Body,
    /// The parts, placed.
    pub rig: Rig,
    /// Wheel straight, pedals released.
    pub rest: Posture,
    /// Every position looked at.
    pub motion: Motion,
    /// Least clearances over the motion.
    pub clearances: Vec<Clearance>,
}

impl Solved {
    /// Body, rig, posture, motion and clearances of a project.
    pub fn of(project: &Checked) -> Self {
        Self::with(project, Body::of(&project.driver))
    }

    /// The same with a body that was sized otherwise.
    pub fn with(project: &Checked, body: Body) -> Self {
        let rig = Rig::place(project);
        let rest = posture::at_rest(&body, &rig, project.driver.brakes_with);
        let motion = posture::sweep(&body, &rig, &rest, project);
        let clearances = clearance::over(&body, &rig, &rest, &motion);
        Self { project: project.clone(), body, rig, rest, motion, clearances }
    }

    /// The limbs at any moments of the motion.
    pub fn between(&self) -> Between<'_> {
        self.motion.between(&self.body, &self.rig, &self.rest)
    }

    /// The posture at any moment of the motion: the nearest position looked at, followed to the moment itself.
    /// Past the largest angle that the arms allow the hands stay there.
    pub fn posture_at(&self, moment: &Moment) -> Posture {
        self.between().posture(moment)
    }
}

/// A solved project and what was found.
#[derive(Clone, Debug)]
pub struct Study {
    /// The solution.
    pub solved: Solved,
    /// Findings in reading order.
    pub findings: Vec<Finding>,
    /// How it was sampled, once it was.
    pub sampled: Option<Sampled>,
}

impl Study {
    /// The worst level found.
    pub fn worst(&self) -> Level {
        findings::worst(&self.findings)
    }
}

/// Checks a project: everything that can be said without searching for what to move.
pub fn check(project: &Checked) -> Study {
    let mut study = check_body(project, Body::of(&project.driver));
    if project.describes_frame() {
        let before = study.findings.len();
        let frame = frame::check_and_stiffen(project);
        study.solved.rig.hardware = frame::hardware(&frame.built);
        let frame = frame.into_findings();
        study.findings.extend(frame.into_iter().map(|finding| Finding { number: before + finding.number, ..finding }));
    }
    study
}

/// The person in the rig, with a body that may have been sized otherwise. How the frame holds is left out: it does not
/// depend on where the person is adjusted to by more than a reader sees.
pub fn check_body(project: &Checked, body: Body) -> Study {
    let solved = Solved::with(project, body);
    let findings = findings::findings(&solved, &Bands::of(project));
    Study { solved, findings, sampled: None }
}

/// [`check`], and for each finding that is not good the adjuster that would mend it, looked for and tried.
pub fn check_and_mend(project: &Checked) -> Study {
    let mut study = check(project);
    // Nobody stops it.
    findings::mend(&mut study, &Watch::NOBODY).ok();
    study
}

/// What `heelpoint check --json` prints; the README documents it.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Report<'a> {
    /// Version of this form.
    pub version: u32,
    /// The project's title.
    pub title: &'a str,
    /// The driver's name.
    pub driver: &'a str,
    /// Who else drives the rig.
    pub others: Vec<&'a str>,
    /// The worst level found.
    pub worst: Level,
    /// Where the person is, mm and degrees, world frame.
    pub posture: PostureReport,
    /// What should be looked at again among the measurements.
    pub warnings: &'a [crate::body::Warning],
    /// How uncertainty was sampled and what to measure, or null.
    pub sampled: Option<&'a Sampled>,
    /// What each pedal asks of its leg.
    pub effort: Vec<EffortReport>,
    /// What the driver sees of the screens, or null.
    pub screens: Option<findings::Sight>,
    /// The findings.
    pub findings: &'a [Finding],
}

/// What one pedal asks of its leg: over its travel, and how hard it could be pushed over the angle of the knee.
#[derive(Clone, Debug, serde::Serialize)]
pub struct EffortReport {
    /// The pedal.
    pub pedal: &'static str,
    /// The leg.
    pub side: &'static str,
    /// From rest to full travel.
    pub travel: Vec<TravelRow>,
    /// The pedals nearer and further along the line from hip to ball, at the working travel.
    pub knee: Vec<KneeRow>,
}

/// One position of the pedal; three values are hip, knee and ankle.
#[derive(Clone, Copy, Debug, serde::Serialize)]
pub struct TravelRow {
    /// Travel.
    pub travel_mm: f64,
    /// Force along the arc.
    pub force_n: f64,
    /// Torques, opening the leg positive.
    pub torque_nm: [f64; 3],
    /// Their shares of strength, percent.
    pub share_percent: [f64; 3],
    /// Greatest push in this pose.
    pub greatest_n: f64,
}

/// One angle of the knee.
#[derive(Clone, Copy, Debug, serde::Serialize)]
pub struct KneeRow {
    /// Included angle.
    pub knee_deg: f64,
    /// The pedals further away than they are.
    pub shift_mm: f64,
    /// Greatest push with the ball of the foot.
    pub greatest_n: f64,
    /// Greatest push that hip and knee alone allow.
    pub thigh_n: f64,
    /// What hip, knee and ankle each allow in the direction of the greatest push.
    pub limits_n: [f64; 3],
}

impl EffortReport {
    /// Of every pedal that is moved.
    pub fn all(solved: &Solved) -> Vec<Self> {
        let presser = Presser::new(&solved.body, &solved.rig, &solved.rest.sitting, solved.project.driver.age);
        let of = |sweep: &PedalSweep| {
            let working = solved.rig.pedals.get(sweep.kind)?.working_travel;
            let (_, leg) = sweep.steps.iter().min_by(|a, b| (a.0 - working).abs().total_cmp(&(b.0 - working).abs()))?;
            Some(Self {
                pedal: sweep.kind.word(),
                side: sweep.side.word(),
                travel: presser.over_travel(sweep).iter().map(TravelRow::of).collect(),
                knee: presser.over_knee(sweep.side, sweep.kind, leg, working).iter().map(KneeRow::of).collect(),
            })
        };
        solved.motion.pedals.iter().filter_map(of).collect()
    }
}

/// Rounded to a tenth.
fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

impl TravelRow {
    fn of(effort: &Effort) -> Self {
        Self {
            travel_mm: tenth(to_mm(effort.travel)),
            force_n: tenth(effort.force),
            torque_nm: Joint::ALL.map(|joint| tenth(effort.joint(joint).torque)),
            share_percent: Joint::ALL.map(|joint| tenth(100.0 * effort.joint(joint).share)),
            greatest_n: tenth(effort.greatest),
        }
    }
}

impl KneeRow {
    fn of(point: &KneePoint) -> Self {
        Self {
            knee_deg: tenth(to_deg(point.knee)),
            shift_mm: tenth(to_mm(point.shift)),
            greatest_n: tenth(point.greatest),
            thigh_n: tenth(point.thigh),
            limits_n: point.limits.map(tenth),
        }
    }
}

/// Reference points of the posture at rest, mm, and how it sits, degrees.
#[derive(Clone, Debug, serde::Serialize)]
pub struct PostureReport {
    /// H-point.
    pub h_point_mm: [f64; 3],
    /// Midpoint of the eyes.
    pub eyes_mm: [f64; 3],
    /// Heel points, left and right.
    pub heel_points_mm: [[f64; 3]; 2],
    /// Torso line from vertical.
    pub torso_recline_deg: f64,
    /// Largest hands-on wheel angle, left and right.
    pub hands_on_deg: [f64; 2],
    /// What stops the hands there, left and right, or null.
    pub hands_stopped_by: [Option<String>; 2],
    /// Where an arm leans on something while the wheel turns.
    pub leans: Vec<LeanReport>,
}

/// An arm that leans on something between two wheel angles, left positive.
#[derive(Clone, Debug, serde::Serialize)]
pub struct LeanReport {
    /// The arm's part.
    pub part: String,
    /// What it leans on.
    pub on: String,
    /// From this wheel angle.
    pub from_deg: f64,
    /// To this wheel angle.
    pub to_deg: f64,
}

impl<'a> Report<'a> {
    /// The report of a study.
    pub fn of(study: &'a Study) -> Self {
        let (project, rest) = (&study.solved.project, &study.solved.rest);
        let point = |p: crate::geometry::Vec3| [0, 1, 2].map(|i| tenth(to_mm(p[i])));
        Self {
            version: 1,
            title: &project.title,
            driver: &project.driver.name,
            others: project.others.iter().map(|other| other.name.as_str()).collect(),
            worst: study.worst(),
            posture: PostureReport {
                h_point_mm: point(rest.sitting.h_point),
                eyes_mm: point(rest.sitting.eyes),
                heel_points_mm: [point(rest.legs[0].heel), point(rest.legs[1].heel)],
                torso_recline_deg: to_deg(rest.sitting.recline),
                hands_on_deg: study.solved.motion.hands_on_deg(),
                hands_stopped_by: findings::hands_stopped_by(&study.solved),
                leans: findings::leans(&study.solved),
            },
            warnings: study.solved.body.dimensions.warnings(),
            sampled: study.sampled.as_ref(),
            effort: EffortReport::all(&study.solved),
            screens: findings::Sight::of(&study.solved),
            findings: &study.findings,
        }
    }
}
