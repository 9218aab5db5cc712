//! Studies, mends and skins, worked out on threads of their own; the newest question wins.

use std::{
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
        mpsc::{Receiver, Sender, channel},
    },
    time::Duration,
};

use bevy::{prelude::*, window::RequestRedraw};

use super::{
    panels::Desk,
    scene::{Ghost, Quality, Shown},
};
use crate::{
    body::{Body, Skin, SkinDetail},
    curves,
    findings::{self, Advice, Finding},
    measuring::Figures,
    project::{Checked, Driver, Project},
    study::{self, EffortReport, Study},
    uncertainty::sample,
    units::mm,
    watch::Watch,
};

/// How long a frame waits for a study that may be ready in time.
const PATIENCE: Duration = Duration::from_millis(20);

/// How many bodies and rigs are drawn to say how sure the findings are, and with which seed.
const DRAWS: usize = 120;
const SEED: u64 = 1;

/// Set where work is no longer wanted.
type Stop = Arc<AtomicBool>;

/// Wakes the window when an answer has come.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// A thread that answers questions; while it works, newer ones replace those that wait.
pub struct Worker<Q, A> {
    questions: Sender<(u64, Q)>,
    answers: std::sync::Mutex<Receiver<(u64, Option<A>)>>,
}

impl<Q: Send + 'static, A: Send + 'static> Worker<Q, A> {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives none.
    pub fn new(name: &str, wake: Wake, work: impl Fn(Q) -> A + Send + 'static) -> std::io::Result<Self> {
        let (questions, inbox) = channel::<(u64, Q)>();
        let (outbox, answers) = channel();
        std::thread::Builder::new().name(name.to_owned()).spawn(move || {
            while let Ok(mut question) = inbox.recv() {
                while let Ok(newer) = inbox.try_recv() {
                    question = newer;
                }
                let (number, question) = question;
                // A slip of ours in one project must not take the window, and the user's work, with it.
                let answer = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(question))).ok();
                if outbox.send((number, answer)).is_err() {
                    return;
                }
                wake();
            }
        })?;
        Ok(Self { questions, answers: answers.into() })
    }

    /// Asks. A thread that has died answers nothing; [`Worker::new`] says why it cannot.
    pub fn ask(&self, number: u64, question: Q) {
        self.questions.send((number, question)).ok();
    }

    /// The next answer with the number of its question, if one comes in time; `None` inside where the work failed.
    pub fn answer(&self, patience: Duration) -> Option<(u64, Option<A>)> {
        let answers = self.answers.lock().ok()?;
        if patience.is_zero() { answers.try_recv().ok() } else { answers.recv_timeout(patience).ok() }
    }
}

/// What is being worked out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Progress {
    /// Everything shown is up to date.
    #[default]
    Done,
    /// The study is being worked out.
    Checking,
    /// The study is there; what to move is being looked for.
    Mending,
    /// That is there too; how sure it all is is being sampled.
    Doubting,
    /// The program could not work this project out.
    Failed,
}

/// What the panels and the overlay list: the findings of the latest study.
#[derive(Debug, Default, Resource)]
pub struct Found {
    /// In reading order.
    pub list: Vec<Finding>,
    /// What to measure to be surer, once it is known.
    pub advice: Vec<Advice>,
    /// What the pedals ask of the legs, once it is known.
    pub effort: Vec<EffortReport>,
    /// Joint angles and gaps over the motion, once they have been asked for.
    pub curves: Vec<curves::Motion>,
    /// Everybody who drives the rig, in the order of their names, once they have been asked for.
    pub drivers: Vec<Study>,
    /// How far it is.
    pub progress: Progress,
}

/// Drawings of the driver that show where the tape goes, once they have been asked for.
#[derive(Debug, Default, Resource)]
pub struct Drawings(pub Option<Arc<Figures>>);

/// Asks the workers and takes their answers.
#[derive(Resource)]
pub struct Solver {
    studies: Worker<Checked, Study>,
    mends: Worker<(Arc<Study>, Stop), Option<(Study, Vec<EffortReport>)>>,
    doubts: Worker<(Study, Stop), Option<Study>>,
    ghosts: Worker<(Checked, SkinDetail), Ghost>,
    skins: Worker<(Driver, f64, SkinDetail), Skin>,
    figures: Worker<Driver, Figures>,
    curves: Worker<Arc<Study>, Vec<curves::Motion>>,
    drivers: Worker<Checked, Vec<Study>>,
    /// Counts what was asked for.
    number: u64,
    wanted: Option<Checked>,
    skin_of: Option<(Driver, f64)>,
    figures_of: Option<Driver>,
    /// The question whose curves have been asked for.
    curves_of: Option<u64>,
    /// The question whose drivers have been asked for.
    drivers_of: Option<u64>,
    /// Whose ghost has been asked for, in which project.
    ghost_of: Option<(String, Project)>,
    /// A study whose mends wait until the pointer lets go.
    unmended: Option<(u64, Arc<Study>)>,
    /// Set once what follows the latest study is no longer wanted.
    stop: Stop,
    busy: bool,
}

impl Solver {
    /// Starts the workers.
    ///
    /// # Errors
    /// If the system gives no threads.
    pub fn start(wake: &Wake) -> std::io::Result<Self> {
        // Sampling takes long; one core stays with the window.
        let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let doubters = rayon::ThreadPoolBuilder::new().num_threads((cores - 1).max(1)).build();
        Ok(Self {
            studies: Worker::new("study", wake.clone(), |project| study::check(&project))?,
            mends: Worker::new("mend", wake.clone(), |(study, stop): (Arc<Study>, Stop)| {
                let mut study = (*study).clone();
                findings::mend(&mut study, &Watch::new(&stop, &|_| ())).ok()?;
                let effort = EffortReport::all(&study.solved);
                Some((study, effort))
            })?,
            doubts: Worker::new("doubt", wake.clone(), move |(mut study, stop): (Study, Stop)| {
                let mut draw = || sample(&mut study, DRAWS, SEED, &Watch::new(&stop, &|_| ()));
                let drawn = match &doubters {
                    Ok(threads) => threads.install(draw),
                    Err(_) => draw(),
                };
                drawn.ok().map(|()| study)
            })?,
            ghosts: Worker::new("ghost", wake.clone(), |(project, detail): (Checked, SkinDetail)| {
                Ghost::of(&project, detail)
            })?,
            skins: Worker::new("skin", wake.clone(), |(driver, tube, detail): (Driver, f64, SkinDetail)| {
                Skin::of(&Body::of(&driver), tube, detail)
            })?,
            curves: Worker::new("curves", wake.clone(), |study: Arc<Study>| curves::curves(&study.solved))?,
            drivers: Worker::new("drivers", wake.clone(), |project: Checked| {
                let names: Vec<String> = project.drivers().map(|(_, driver)| driver.name.clone()).collect();
                names.iter().filter_map(|name| Some(study::check(&project.driven_by(name)?))).collect()
            })?,
            figures: Worker::new("figures", wake.clone(), |driver: Driver| Figures::of(&driver))?,
            number: 0,
            wanted: None,
            skin_of: None,
            figures_of: None,
            curves_of: None,
            drivers_of: None,
            ghost_of: None,
            unmended: None,
            stop: Stop::default(),
            busy: false,
        })
    }

    /// Wants a study of this project; whatever was wanted before is dropped.
    pub fn want(&mut self, project: Checked) {
        self.wanted = Some(project);
    }
}

/// Asks for what is wanted and takes what has come. The interface has been laid out before: what comes is shown in the
/// next frame.
pub fn solve(
    mut solver: ResMut<Solver>,
    mut shown: ResMut<Shown>,
    mut found: ResMut<Found>,
    mut drawings: ResMut<Drawings>,
    mut redraw: MessageWriter<RequestRedraw>,
    desk: Res<Desk>,
    quality: Res<Quality>,
    pointer: Res<PointerDown>,
) {
    let solver = &mut *solver;
    if let Some(project) = solver.wanted.take() {
        let skin_of = (project.driver.clone(), mm(project.wheel.tube_mm / 2.0));
        if solver.skin_of.as_ref() != Some(&skin_of) {
            solver.skins.ask(solver.number, (skin_of.0.clone(), skin_of.1, quality.skin()));
            solver.skin_of = Some(skin_of);
        }
        solver.number += 1;
        // What was looked for after the last study would only take time from this one.
        std::mem::take(&mut solver.stop).store(true, Ordering::Relaxed);
        solver.unmended = None;
        solver.busy = true;
        solver.studies.ask(solver.number, project);
    }

    // While one is being worked out, each frame gives it a moment: most are ready within it.
    // With a graphics card the next frame comes sooner than that.
    let waits = solver.busy && *quality == Quality::Spare;
    let mut patience = if waits { PATIENCE } else { Duration::ZERO };
    while let Some((number, study)) = solver.studies.answer(patience) {
        patience = Duration::ZERO;
        solver.busy = number != solver.number;
        match study {
            Some(study) => {
                let study = Arc::new(study);
                found.list.clone_from(&study.findings);
                found.advice.clear();
                found.effort.clear();
                found.progress = if solver.busy { Progress::Checking } else { Progress::Mending };
                shown.set_study(study.clone());
                solver.unmended = (!solver.busy).then_some((number, study));
            }
            None => found.progress = Progress::Failed,
        }
    }
    if solver.busy && found.progress != Progress::Checking {
        found.progress = Progress::Checking;
    }

    // What to move takes longer: it is looked for once the pointer has let go.
    if !pointer.0
        && let Some((number, study)) = solver.unmended.take()
    {
        solver.mends.ask(number, (study, solver.stop.clone()));
    }
    while let Some((number, mended)) = solver.mends.answer(Duration::ZERO) {
        redraw.write(RequestRedraw);
        if number != solver.number || solver.busy {
            continue;
        }
        found.progress = Progress::Done;
        if let Some((mended, effort)) = mended.flatten() {
            found.effort = effort;
            found.list.clone_from(&mended.findings);
            found.progress = Progress::Doubting;
            solver.doubts.ask(number, (mended, solver.stop.clone()));
        }
    }
    while let Some((number, sampled)) = solver.doubts.answer(Duration::ZERO) {
        redraw.write(RequestRedraw);
        if number != solver.number || solver.busy {
            continue;
        }
        found.progress = Progress::Done;
        if let Some(sampled) = sampled.flatten() {
            found.list = sampled.findings;
            found.advice = sampled.sampled.map_or_else(Vec::new, |sampled| sampled.advice);
        }
    }

    // Somebody else in the same rig.
    let project = shown.study.as_ref().map(|study| &study.solved.project);
    let ghost_of = desk.ghost.clone().zip(project.map(|project| (**project).clone()));
    if ghost_of != solver.ghost_of {
        let other = desk.ghost.as_deref().zip(project).and_then(|(name, project)| project.driven_by(name));
        match other {
            Some(other) => solver.ghosts.ask(solver.number, (other, quality.skin())),
            None => shown.set_ghost(None),
        }
        solver.ghost_of = ghost_of;
    }
    while let Some((_, ghost)) = solver.ghosts.answer(Duration::ZERO) {
        shown.set_ghost(ghost.filter(|_| desk.ghost.is_some()).map(Arc::new));
    }

    if desk.measuring.is_some()
        && let Some(driver) = shown.study.as_ref().map(|study| &study.solved.project.driver)
        && solver.figures_of.as_ref() != Some(driver)
    {
        solver.figures.ask(solver.number, driver.clone());
        solver.figures_of = Some(driver.clone());
    }
    while let Some((_, figures)) = solver.figures.answer(Duration::ZERO) {
        redraw.write(RequestRedraw);
        drawings.0 = figures.map(Arc::new);
    }

    if desk.curves
        && !solver.busy
        && solver.curves_of != Some(solver.number)
        && let Some(study) = &shown.study
    {
        solver.curves.ask(solver.number, study.clone());
        solver.curves_of = Some(solver.number);
    }
    if desk.drivers
        && !solver.busy
        && !pointer.0
        && solver.drivers_of != Some(solver.number)
        && let Some(study) = &shown.study
    {
        solver.drivers.ask(solver.number, study.solved.project.clone());
        solver.drivers_of = Some(solver.number);
    }
    while let Some((_, drivers)) = solver.drivers.answer(Duration::ZERO) {
        redraw.write(RequestRedraw);
        let mut drivers = drivers.unwrap_or_default();
        // Who sits changes places with another: the tiles keep theirs.
        drivers.sort_by(|a, b| a.solved.project.driver.name.cmp(&b.solved.project.driver.name));
        found.drivers = drivers;
    }
    while let Some((_, curves)) = solver.curves.answer(Duration::ZERO) {
        redraw.write(RequestRedraw);
        found.curves = curves.unwrap_or_default();
    }

    while let Some((_, skin)) = solver.skins.answer(Duration::ZERO) {
        shown.skin = skin.map(Arc::new).or(shown.skin.take());
    }
}

/// True while a button of the pointer is held on a panel.
#[derive(Debug, Default, Resource)]
pub struct PointerDown(pub bool);

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::*;

    #[test]
    fn the_newest_question_wins_and_a_failure_is_an_answer() {
        let (started, has_started) = channel();
        let (open, gate) = channel();
        let gate = Mutex::new(gate);
        let worker = Worker::new("test", Arc::new(|| ()), move |question: u64| {
            started.send(()).unwrap();
            gate.lock().unwrap().recv().unwrap();
            assert!(question != 4, "this one fails");
            question * 10
        })
        .unwrap();
        let patience = Duration::from_secs(10);

        // The first is taken up and held; of those that wait only the last is worked out.
        worker.ask(1, 1);
        has_started.recv().unwrap();
        worker.ask(2, 2);
        worker.ask(3, 3);
        open.send(()).unwrap();
        open.send(()).unwrap();
        assert_eq!(worker.answer(patience), Some((1, Some(10))));
        assert_eq!(worker.answer(patience), Some((3, Some(30))));

        worker.ask(4, 4);
        open.send(()).unwrap();
        assert_eq!(worker.answer(patience), Some((4, None)));
        worker.ask(5, 5);
        open.send(()).unwrap();
        assert_eq!(worker.answer(patience), Some((5, Some(50))));
    }
}
