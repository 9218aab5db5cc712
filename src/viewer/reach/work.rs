//! Reach worked out behind the scenes: first a coarse picture, then finer ones as long as nothing changes.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering},
        mpsc::{Receiver, Sender, channel},
    },
    time::{Duration, Instant},
};

use bevy::{prelude::*, window::RequestRedraw};

use super::{
    Common, Placing, ReachPage, Sheath, Stage, Tint, Touched, Wish,
    choice::Who,
    touch::{Probe, touch},
};
use crate::{
    geometry::{Side, Vec3},
    posture::foot_of,
    project::Project,
    reach::{
        Answer, ControlReach, Grip, Limb, PedalReach, Reach, Region, Sharing, Spot, Surface, Zone, common_surface,
        controls, pedals, shared_reach, where_to_put,
    },
    study::{Solved, Study},
    units::mm,
    viewer::{
        scene::{Quality, Shown},
        solve::{PointerDown, Wake, Worker},
    },
    watch::{Stopped, Watch},
};

/// The steps of the lattice, m: the first picture, and what it is refined to.
const STEPS: [f64; 4] = [mm(80.0), mm(40.0), mm(20.0), mm(5.0)];
/// Lattices finer than this are not kept: a zone's last boundary is followed on one of its own, that goes with it, m.
const KEPT: f64 = mm(20.0);
/// How fine a limb is worked out that is not looked at, for the controls that it works, m.
const BESIDE: f64 = mm(20.0);
/// A step that took this long is the last one: the next takes about four times as long.
const LONG: Duration = Duration::from_secs(15);
/// How fine what several people reach is worked out, m.
const SHARED: f64 = mm(20.0);
/// How many people are drawn, a few for a first picture, and with which seed.
const PEOPLE: [usize; 2] = [40, 200];
const SEED: u64 = 1;
/// The window hears of progress no more often than this.
const TICK: Duration = Duration::from_millis(200);
/// What has to be worked out.
struct Job {
    number: u64,
    study: Arc<Study>,
    /// Those looked at come first.
    limbs: Vec<Limb>,
    /// How many of them are looked at.
    seen: usize,
    lean: f64,
    who: Who,
    zones: [bool; 4],
    /// Whether the processor draws: it gets drafts.
    spare: bool,
    /// What was worked out before for the same body, rig and lean, and the finest boundaries of it that are on the stage.
    known: Vec<Arc<Reach>>,
    finest: Vec<Sheath>,
    meter: Arc<Meter>,
}

/// How far a job is, told across threads, and its end.
#[derive(Default)]
struct Meter {
    stop: AtomicBool,
    done: AtomicUsize,
    /// How much there is to be done; about, where nobody knows.
    all: AtomicUsize,
    what: AtomicUsize,
    /// When it was last told, ms since the start.
    told: AtomicU64,
}

/// What is being done.
const DOING: [&str; 6] = [
    "Working it out",
    "Refining to 40 mm",
    "Refining to 20 mm",
    "Refining to 5 mm",
    "Seating all drivers",
    "Seating people",
];
const DRIVERS: usize = STEPS.len();
const CROWD: usize = DRIVERS + 1;

impl Meter {
    fn begin(&self, what: usize, all: usize) {
        self.what.store(what, Ordering::Relaxed);
        self.done.store(0, Ordering::Relaxed);
        self.all.store(all, Ordering::Relaxed);
    }

    /// So many points are done; the window is woken now and then.
    fn tell(&self, points: usize, start: Instant, wake: &Wake) {
        self.done.fetch_add(points, Ordering::Relaxed);
        let now = start.elapsed().as_millis() as u64;
        let before = self.told.load(Ordering::Relaxed);
        if now >= before + TICK.as_millis() as u64
            && self.told.compare_exchange(before, now, Ordering::Relaxed, Ordering::Relaxed).is_ok()
        {
            wake();
        }
    }

    fn share(&self) -> f32 {
        let all = self.all.load(Ordering::Relaxed).max(1) as f32;
        let share = self.done.load(Ordering::Relaxed) as f32 / all;
        // What takes longer than thought slows down towards the end and does not stand still there.
        if share < 0.8 { share } else { 1.0 - 0.2 * (-(share - 0.8) / 0.2).exp() }
    }

    fn stage(&self) -> Stage {
        Stage::Working(DOING[self.what.load(Ordering::Relaxed) % DOING.len()], self.share())
    }
}

/// What a job has brought.
enum News {
    /// A limb, finer than before, with its boundaries.
    Limb(Arc<Reach>, Vec<Sheath>),
    /// One boundary, finer than before.
    Finer(Sheath),
    /// What several people reach, and how each control lies to what all drivers do.
    Shared(Vec<Sheath>, Option<Arc<Sharing>>, Vec<Option<Common>>),
    /// Nothing more comes.
    End,
    /// It could not be worked out.
    Failed,
}

impl News {
    /// With drafts of its boundaries.
    fn drafted(self) -> Self {
        let all = |sheaths: Vec<Sheath>| sheaths.into_iter().map(Sheath::drafted).collect();
        match self {
            Self::Limb(reach, sheaths) => Self::Limb(reach, all(sheaths)),
            Self::Finer(sheath) => Self::Finer(sheath.drafted()),
            Self::Shared(sheaths, sharing, common) => Self::Shared(all(sheaths), sharing, common),
            Self::End | Self::Failed => self,
        }
    }
}

/// What a job was asked for.
#[derive(Clone, Debug, PartialEq)]
struct Asked {
    /// What matters of the project.
    project: Box<Project>,
    lean: f64,
    limbs: Vec<Limb>,
    who: Who,
    zones: [bool; 4],
}

/// What limbs work, each with its answer.
enum Rows {
    Controls(Vec<(ControlReach, Answer)>),
    Pedals(Vec<(PedalReach, [Answer; 2])>),
}

/// A search for a place: in what, for whom, and how far it is.
type PlaceJob = (Arc<Study>, Arc<Reach>, usize, Arc<Meter>);

/// About how many points and places a search for the best place looks at, as measured in the demo projects.
const PLACES: usize = 12_000;

/// Asks for what the page shows and takes what has come.
#[derive(Resource)]
pub struct ReachWork {
    jobs: Sender<Job>,
    news: Mutex<Receiver<(u64, News)>>,
    probes: Worker<Probe, Option<Touched>>,
    rows: Worker<(Arc<Study>, [Arc<Reach>; 2]), Rows>,
    places: Worker<PlaceJob, Result<Option<Spot>, Stopped>>,
    /// How far the search for a place is.
    search: Arc<Meter>,
    meter: Arc<Meter>,
    number: u64,
    asked: Option<Asked>,
    /// The work was ended before it was done.
    interrupted: bool,
    /// Whether the processor draws: it does one thing at a time.
    spare: bool,
    /// What is wanted while something is dragged, and since when.
    resting: Option<(Asked, Instant)>,
    /// Whose rows were asked for.
    rows_of: Option<(Arc<Study>, Vec<Arc<Reach>>)>,
    ray: Option<(Vec3, Vec3)>,
    probe: u64,
    placing: Option<usize>,
    place: u64,
}

impl ReachWork {
    /// Starts the threads.
    ///
    /// # Errors
    /// If the system gives none.
    pub fn start(wake: &Wake) -> std::io::Result<Self> {
        let (jobs, inbox) = channel::<Job>();
        let (outbox, news) = channel();
        // One core stays with the window.
        let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let threads = rayon::ThreadPoolBuilder::new().num_threads((cores - 1).max(1)).build();
        let woken = wake.clone();
        std::thread::Builder::new().name("reach".to_owned()).spawn(move || {
            while let Ok(mut job) = inbox.recv() {
                while let Ok(newer) = inbox.try_recv() {
                    job = newer;
                }
                let number = job.number;
                let send = |news: News| {
                    let news = if job.spare { news.drafted() } else { news };
                    let sent = outbox.send((number, news)).is_ok();
                    woken();
                    sent
                };
                let work = || work(&job, &send, &woken);
                // A slip of ours in one project must not take the window with it.
                let ended = catch_unwind(AssertUnwindSafe(|| match &threads {
                    Ok(threads) => threads.install(work),
                    Err(_) => work(),
                }));
                // What was stopped is not heard of again.
                let gone = match ended {
                    Ok(Ok(())) => !send(News::End),
                    Ok(Err(Stopped)) => false,
                    Err(_) => !send(News::Failed),
                };
                if gone {
                    return;
                }
            }
        })?;
        Ok(Self {
            jobs,
            news: news.into(),
            probes: Worker::new("touch", wake.clone(), |probe: Probe| touch(&probe))?,
            rows: Worker::new("controls", wake.clone(), |(study, limbs): (Arc<Study>, [Arc<Reach>; 2])| {
                let (solved, both) = (&study.solved, [&*limbs[0], &*limbs[1]]);
                match limbs[0].limb {
                    Limb::Hand(..) => Rows::Controls(controls(&solved.rig, both)),
                    Limb::Foot(..) => Rows::Pedals(pedals(&solved.rig, solved.project.driver.brakes_with, both)),
                }
            })?,
            places: {
                let woken = wake.clone();
                Worker::new("place", wake.clone(), move |(study, reach, control, meter): PlaceJob| {
                    let start = Instant::now();
                    let tell = |points: usize| meter.tell(points, start, &woken);
                    where_to_put(&study.solved, &reach, control, &Watch::new(&meter.stop, &tell))
                })?
            },
            search: Arc::default(),
            meter: Arc::default(),
            number: 0,
            asked: None,
            interrupted: false,
            spare: false,
            resting: None,
            rows_of: None,
            ray: None,
            probe: 0,
            placing: None,
            place: 0,
        })
    }
}

/// Whether a hand works a control, or a foot a pedal.
pub fn works(solved: &Solved, hands: bool, side: Side) -> bool {
    let brakes_with = solved.project.driver.brakes_with;
    if hands {
        solved.rig.controls.iter().any(|control| control.hand == side)
    } else {
        solved.rig.pedals.list.iter().any(|pedal| foot_of(pedal.kind, brakes_with) == side)
    }
}

/// What of a project changes what a limb reaches.
fn matters(project: &Project, who: Who) -> Box<Project> {
    let mut project = Project { loads: None, tolerances: None, ..project.clone() };
    project.title.clear();
    project.bands.clear();
    if who != Who::People {
        // They are in nobody's way.
        project.controls.clear();
    }
    if who != Who::Drivers {
        project.others.clear();
    }
    Box::new(project)
}

/// Where the processor draws, what is dragged stands still for so long before reach is worked out for it.
const REST: Duration = Duration::from_millis(150);

impl ReachWork {
    /// Whether the same has been wanted for a while.
    fn rests(&mut self, wanted: &Asked) -> bool {
        match &self.resting {
            Some((resting, since)) if resting == wanted => since.elapsed() >= REST,
            _ => {
                self.resting = Some((wanted.clone(), Instant::now()));
                false
            }
        }
    }
}

/// Asks for what the page needs and takes what has come.
pub fn work_out(
    mut work: ResMut<ReachWork>,
    mut page: ResMut<ReachPage>,
    shown: Res<Shown>,
    pointer: Res<PointerDown>,
    quality: Res<Quality>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let work = &mut *work;
    work.spare = *quality == Quality::Spare;
    if !page.open {
        // What is not looked at is not worked on.
        if matches!(page.stage, Stage::Working(..)) {
            work.meter.stop.store(true, Ordering::Relaxed);
            work.number += 1;
            work.interrupted = true;
            page.stage = Stage::Idle;
        }
        if matches!(page.placing, Placing::Looking(_)) {
            work.search.stop.store(true, Ordering::Relaxed);
            (work.placing, page.placing) = (None, Placing::No);
        }
        return;
    }
    let Some(study) = &shown.study else { return };
    ask(work, &mut page, study, &pointer);
    let heard = [
        take(work, &mut page),
        ask_rows(work, &mut page, study),
        ask_place(work, &mut page, study),
        ask_touched(work, &mut page, study),
    ];
    // The column was laid out before: what came shows in the next frame.
    if heard.contains(&true) {
        redraw.write(RequestRedraw);
    }
}

/// Begins a job where something has changed, and ends the former one.
fn ask(work: &mut ReachWork, page: &mut ReachPage, study: &Arc<Study>, pointer: &PointerDown) {
    let who = page.who();
    let choice = &page.choice;
    let mut limbs = choice.limbs();
    let wanted = Asked {
        project: matters(&study.solved.project, who),
        lean: choice.lean,
        limbs: limbs.clone(),
        who,
        zones: if who == Who::Drivers { choice.zones } else { [true; 4] },
    };
    let wish = page.wish.take();
    if wish == Some(Wish::Stop) {
        work.meter.stop.store(true, Ordering::Relaxed);
        work.number += 1;
        page.stage = Stage::Stopped;
    }
    let same = work.asked.as_ref() == Some(&wanted) && !work.interrupted;
    // Many people take long: they wait until the pointer lets go.
    if (same && wish != Some(Wish::GoOn)) || (who == Who::People && pointer.0) {
        return;
    }
    if pointer.0 && work.spare && !work.rests(&wanted) {
        work.meter.stop.store(true, Ordering::Relaxed);
        work.number += 1;
        work.interrupted = true;
        page.stage = Stage::Working(DOING[0], 0.0);
        return;
    }
    let same_body = work.asked.as_ref().is_some_and(|before| {
        before.lean.to_bits() == wanted.lean.to_bits()
            && matters(&before.project, Who::You) == matters(&wanted.project, Who::You)
    });
    if !same_body {
        page.reaches.clear();
        page.placing = Placing::No;
        work.rows_of = None;
    }
    if !same {
        // What was worked out for others than these limbs stays to be seen until the new comes, but not longer.
        page.placing = Placing::No;
        page.sheaths
            .retain(|sheath| limbs.contains(&sheath.limb) && matches!(sheath.tint, Tint::Zone(_)) && who == Who::You);
        page.touched = None;
        if page.sharing.is_some() && who != Who::People {
            page.sharing = None;
        }
        page.common.clear();
    }
    work.meter.stop.store(true, Ordering::Relaxed);
    work.meter = Arc::default();
    work.number += 1;
    let seen = limbs.len();
    for side in Side::BOTH {
        // Those that work controls or pedals are asked about them, looked at or not.
        let limb = choice.limb(side);
        if works(&study.solved, choice.hands, side) && !limbs.contains(&limb) {
            limbs.push(limb);
        }
    }
    page.stage = Stage::Working(DOING[0], 0.0);
    let finest = page.sheaths.iter().filter(|sheath| sheath.is_of(STEPS[STEPS.len() - 1])).cloned().collect();
    let job = Job {
        number: work.number,
        study: study.clone(),
        limbs,
        seen,
        lean: choice.lean,
        who,
        zones: choice.zones,
        spare: work.spare,
        known: page.reaches.clone(),
        finest: if same_body { finest } else { Vec::new() },
        meter: work.meter.clone(),
    };
    work.asked = Some(wanted);
    work.interrupted = false;
    // A thread that has died answers nothing.
    work.jobs.send(job).ok();
}

/// Takes what the job has brought; true where there is something new.
fn take(work: &mut ReachWork, page: &mut ReachPage) -> bool {
    let mut heard = false;
    while let Some((number, news)) = work.news.lock().ok().and_then(|news| news.try_recv().ok()) {
        if number != work.number {
            continue;
        }
        heard = true;
        match news {
            News::Limb(reach, sheaths) => {
                let limb = reach.limb;
                page.reaches.retain(|other| other.limb != limb);
                page.reaches.push(reach);
                if page.choice.who == Who::You || !page.choice.hands {
                    page.sheaths.retain(|sheath| sheath.limb != limb || sheath.tint == Tint::Place);
                    page.sheaths.extend(sheaths);
                }
            }
            News::Finer(sheath) => {
                if page.choice.who == Who::You || !page.choice.hands {
                    page.sheaths.retain(|other| other.limb != sheath.limb || other.tint != sheath.tint);
                    page.sheaths.push(sheath);
                }
            }
            News::Shared(sheaths, sharing, common) => {
                page.sheaths.retain(|sheath| sheath.tint == Tint::Place);
                page.sheaths.extend(sheaths);
                page.sharing = sharing;
                page.common = common;
            }
            News::End => page.stage = Stage::Done,
            News::Failed => page.stage = Stage::Failed,
        }
        page.sheaths.sort_by_key(|sheath| sheath.tint);
    }
    if matches!(page.stage, Stage::Working(..)) {
        let now = work.meter.stage();
        if page.stage != now {
            page.stage = now;
            heard = true;
        }
    }
    heard
}

/// The controls or pedals in their zones, once the limbs that work them are there; true where they came.
fn ask_rows(work: &mut ReachWork, page: &mut ReachPage, study: &Arc<Study>) -> bool {
    let mut heard = false;
    let solved = &study.solved;
    let hands = page.choice.hands;
    let limbs = Side::BOTH.map(|side| (page.reach(page.choice.limb(side)).cloned(), works(solved, hands, side)));
    if limbs.iter().any(|(_, needed)| *needed) && limbs.iter().all(|(reach, needed)| reach.is_some() || !needed) {
        let of: Vec<Arc<Reach>> = limbs.iter().filter_map(|(reach, _)| reach.clone()).collect();
        let same = work.rows_of.as_ref().is_some_and(|(before, limbs)| {
            Arc::ptr_eq(before, study)
                && limbs.len() == of.len()
                && limbs.iter().zip(&of).all(|(before, now)| Arc::ptr_eq(before, now))
        });
        // A limb that works nothing is never asked.
        if let (false, Some(either)) = (same, of.first().cloned()) {
            let both = limbs.map(|(reach, _)| reach.unwrap_or_else(|| either.clone()));
            work.rows.ask(work.number, (study.clone(), both));
            work.rows_of = Some((study.clone(), of));
        }
    }
    while let Some((_, rows)) = work.rows.answer(Duration::ZERO) {
        heard = true;
        match rows {
            Some(Rows::Controls(rows)) => page.rows = rows,
            Some(Rows::Pedals(rows)) => page.treads = rows,
            None => {}
        }
    }
    if page.rows.len() != solved.rig.controls.len() && !page.rows.is_empty() {
        page.rows.clear();
    }
    if page.treads.len() != solved.rig.pedals.list.len() && !page.treads.is_empty() {
        page.treads.clear();
    }
    heard
}

/// Where the control stands best that the user asks about; true where something is new.
fn ask_place(work: &mut ReachWork, page: &mut ReachPage, study: &Arc<Study>) -> bool {
    let mut heard = false;
    // It waits for the hand to be there.
    let there = |control: usize| page.choice.hand_at(&study.solved.rig, control).and_then(|hand| page.reach(hand));
    let waits = matches!(page.placing, Placing::Looking(control) if there(control).is_none());
    if page.placing.control() != work.placing && !waits {
        // What was looked for before is not wanted any more.
        work.search.stop.store(true, Ordering::Relaxed);
        work.placing = page.placing.control();
        work.place += 1;
        page.sheaths.retain(|sheath| sheath.tint != Tint::Place);
        if let Placing::Looking(control) = page.placing
            && let Some(reach) = page.choice.hand_at(&study.solved.rig, control).and_then(|hand| page.reach(hand))
        {
            work.search = Arc::default();
            work.search.begin(0, PLACES);
            work.places.ask(work.place, (study.clone(), reach.clone(), control, work.search.clone()));
        }
    }
    if matches!(page.placing, Placing::Looking(_)) {
        let share = if waits { 0.0 } else { work.search.share() };
        if page.searched.to_bits() != share.to_bits() {
            page.searched = share;
            heard = true;
        }
    }
    while let Some((number, spot)) = work.places.answer(Duration::ZERO) {
        let Placing::Looking(control) = page.placing else { continue };
        if number != work.place {
            continue;
        }
        heard = true;
        let Some(Ok(Some(spot))) = spot else {
            page.placing = Placing::Nowhere(control);
            continue;
        };
        if let Some(hand) = page.choice.hand_at(&study.solved.rig, control) {
            page.sheaths.extend(of_region(hand, Tint::Place, &spot.region));
        }
        page.placing = Placing::At(control, Arc::new(spot));
    }
    heard
}

/// What lies under the pointer; true where it came.
fn ask_touched(work: &mut ReachWork, page: &mut ReachPage, study: &Arc<Study>) -> bool {
    let mut heard = false;
    if page.ray != work.ray {
        work.ray = page.ray;
        match page.ray {
            Some(ray) => {
                work.probe += 1;
                let probe = Probe {
                    ray,
                    plane: page.pointed_plane,
                    seen: page
                        .seen()
                        .map(|sheath| (sheath.limb, sheath.tint, sheath.surface.clone(), sheath.bounds.clone()))
                        .collect(),
                    reaches: page.limbs().into_iter().filter_map(|limb| page.reach(limb).cloned()).collect(),
                    who: page.who(),
                    sharing: page.sharing.clone(),
                    study: study.clone(),
                };
                work.probes.ask(work.probe, probe);
            }
            None => page.touched = None,
        }
    }
    while let Some((number, touched)) = work.probes.answer(Duration::ZERO) {
        if page.ray.is_some() && number + 1 >= work.probe {
            page.touched = touched.flatten();
            heard = true;
        }
    }
    heard
}

/// One job, from the coarse picture to the finest.
fn work(job: &Job, send: &dyn Fn(News) -> bool, wake: &Wake) -> Result<(), Stopped> {
    let start = Instant::now();
    let meter = &job.meter;
    let tell = |points: usize| meter.tell(points, start, wake);
    let watch = Watch::new(&meter.stop, &tell);
    let solved = &job.study.solved;
    let mut reaches: Vec<Arc<Reach>> = job
        .limbs
        .iter()
        .map(|limb| {
            let known = job.known.iter().find(|known| known.limb == *limb).cloned();
            known.unwrap_or_else(|| Arc::new(Reach::of(&solved.body, &solved.rig, &solved.rest, *limb, job.lean, &[])))
        })
        .collect();
    for (at, step) in STEPS.into_iter().enumerate() {
        let begun = Instant::now();
        if step < KEPT - mm(0.01) {
            finest(job, &reaches[..job.seen], step, send, &watch)?;
            break;
        }
        for (index, reach) in reaches.iter_mut().enumerate() {
            let looked_at = index < job.seen && (job.who == Who::You || step >= BESIDE);
            let there = reach.step().is_some_and(|now| now <= step + mm(0.01));
            // What is known is sent as well: its boundaries may not be on the stage any more.
            if there && at == 0 {
                let finest = job.finest.iter().filter(|sheath| sheath.limb == reach.limb).cloned().collect::<Vec<_>>();
                let missing = sheaths(reach).into_iter().filter(|sheath| finest.iter().all(|f| f.tint != sheath.tint));
                send(News::Limb(reach.clone(), missing.chain(finest.clone()).collect()));
            }
            if there || !(looked_at || step >= BESIDE) {
                continue;
            }
            meter.begin(at, expected(reach.limb, step));
            wake();
            // The page keeps the coarser one until this one is there.
            let mut finer = (**reach).clone();
            finer.to_step(step, &watch)?;
            *reach = Arc::new(finer);
            send(News::Limb(reach.clone(), sheaths(reach)));
        }
        if begun.elapsed() > LONG {
            break;
        }
        // Before it goes finer than the first good picture, what was asked for besides.
        if step <= BESIDE && job.who != Who::You {
            return shared(job, send, &tell);
        }
    }
    Ok(())
}

/// Follows the boundaries of each limb to the last step, one at a time.
fn finest(
    job: &Job,
    reaches: &[Arc<Reach>],
    step: f64,
    send: &dyn Fn(News) -> bool,
    watch: &Watch<'_>,
) -> Result<(), Stopped> {
    let at = STEPS.len() - 1;
    for reach in reaches {
        let limb = reach.limb;
        let there = |zone: Zone| job.finest.iter().any(|sheath| sheath.limb == limb && sheath.tint == Tint::Zone(zone));
        let mut zones: Vec<Zone> = limb.zones().iter().copied().filter(|zone| !there(*zone)).collect();
        // Those that are to be seen come first.
        zones.sort_by_key(|zone| (!job.zones[*zone as usize], *zone));
        if zones.is_empty() {
            continue;
        }
        job.meter.begin(at, expected(limb, step) * zones.len() / limb.zones().len());
        for zone in zones {
            let surface = reach.followed(zone, step, watch)?;
            if let Some(sheath) = surface.and_then(|surface| Sheath::of(limb, Tint::Zone(zone), surface)) {
                send(News::Finer(sheath));
            }
        }
    }
    Ok(())
}

/// About how many points are looked at on the way from the step before: as measured in the demo projects.
fn expected(limb: Limb, step: f64) -> usize {
    let all = match limb {
        Limb::Hand(..) => [10_500, 55_000, 142_000, 3_000_000],
        Limb::Foot(..) => [2_500, 11_500, 24_000, 500_000],
    };
    STEPS.iter().position(|other| (other - step).abs() < mm(0.1)).map_or(1, |at| all[at])
}

/// A region as a boundary of which nobody knows what ends it.
fn of_region(limb: Limb, tint: Tint, region: &Region) -> Option<Sheath> {
    let surface =
        Surface { ends: vec![None; region.mesh.positions.len()], mesh: region.mesh.clone(), ..Surface::default() };
    Sheath::of(limb, tint, surface)
}

/// What several people reach.
fn shared(job: &Job, send: &dyn Fn(News) -> bool, tell: &(dyn Fn(usize) + Sync)) -> Result<(), Stopped> {
    let project = &job.study.solved.project;
    let meter = &job.meter;
    let watch = &Watch::new(&meter.stop, tell);
    let hands: Vec<(Limb, Side, Grip)> = job.limbs[..job.seen]
        .iter()
        .filter_map(|limb| match *limb {
            Limb::Hand(side, grip) => Some((*limb, side, grip)),
            Limb::Foot(..) => None,
        })
        .collect();
    match job.who {
        Who::You => {}
        Who::Drivers => {
            let mut out = Vec::new();
            let controls = &job.study.solved.rig.controls;
            // A control is spoken of when all zones of its hand are there.
            let mut told: Vec<Option<Common>> = vec![None; controls.len()];
            for (limb, side, grip) in hands {
                let mut common = told.clone();
                for zone in Zone::ALL.into_iter().filter(|zone| job.zones[*zone as usize]) {
                    meter.begin(DRIVERS, 150_000);
                    let surface = common_surface(project, side, grip, zone, job.lean, SHARED, watch)?;
                    for (control, common) in controls.iter().zip(&mut common).filter(|(c, _)| c.hand == side) {
                        common.get_or_insert_default().take(zone, &surface, control.at);
                    }
                    out.extend(Sheath::of(limb, Tint::Zone(zone), surface));
                    send(News::Shared(out.clone(), None, told.clone()));
                }
                told = common;
                send(News::Shared(out.clone(), None, told.clone()));
            }
        }
        Who::People => {
            // Here people are counted, not points.
            let watch = Watch::new(&meter.stop, &|_| ());
            let Some(&(_, _, grip)) = hands.first() else { return Ok(()) };
            let counted = || tell(1);
            for people in PEOPLE {
                meter.begin(CROWD, people);
                let sharing = shared_reach(project, grip, people, SEED, &watch, &counted)?;
                let mut out = Vec::new();
                // Each hand's regions, the widest first: 50, 90, 95 %.
                for (side, regions) in Side::BOTH.into_iter().zip(sharing.regions.chunks(3)) {
                    for (share, region) in [50, 90, 95].into_iter().zip(regions) {
                        out.extend(of_region(Limb::Hand(side, grip), Tint::Share(share), region));
                    }
                }
                send(News::Shared(out, Some(Arc::new(sharing)), Vec::new()));
            }
        }
    }
    Ok(())
}

/// The boundaries of a limb's zones, each where it is not empty.
pub fn sheaths(reach: &Reach) -> Vec<Sheath> {
    reach
        .limb
        .zones()
        .iter()
        .filter_map(|zone| Sheath::of(reach.limb, Tint::Zone(*zone), reach.surface(*zone)?.clone()))
        .collect()
}

/// What `--reach` of a picture asks for: a limb, worked out at once.
pub fn at_once(study: &Study, limb: Limb, lean: f64, step: f64) -> Reach {
    let solved = &study.solved;
    let mut reach = Reach::of(&solved.body, &solved.rig, &solved.rest, limb, lean, &[]);
    // Nobody stops it.
    let _ = reach.to_step(step, &Watch::NOBODY);
    reach
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coarse_picture_comes_first_and_a_change_begins_anew() {
        let mut work = ReachWork::start(&(Arc::new(|| ()) as Wake)).unwrap();
        let study = Arc::new(crate::study::check(&crate::project::parse(crate::command::DEMO).unwrap()));
        let mut page = ReachPage { open: true, ..ReachPage::default() };
        let limb = page.limbs()[0];
        let pointer = PointerDown(false);
        ask(&mut work, &mut page, &study, &pointer);
        let mut steps = Vec::new();
        let begun = Instant::now();
        while steps.len() < 2 && begun.elapsed() < Duration::from_secs(240) {
            take(&mut work, &mut page);
            if let Some(step) = page.reach(limb).and_then(|reach| reach.step())
                && steps.last() != Some(&step)
            {
                steps.push(step);
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        assert_eq!(steps, STEPS[..2]);
        assert!(page.litres(Tint::Zone(Zone::Comfortable)) < page.litres(Tint::Zone(Zone::Attainable)));

        // The same question is not asked twice.
        let (number, meter) = (work.number, work.meter.clone());
        ask(&mut work, &mut page, &study, &pointer);
        assert_eq!(work.number, number);
        // Another grip goes on with the same body; another lean is worked out from the start.
        page.choice.grip = Grip::Pinch;
        ask(&mut work, &mut page, &study, &pointer);
        assert!(meter.stop.load(Ordering::Relaxed) && work.number > number);
        assert!(page.reach(limb).is_some() && page.seen().next().is_none());
        page.choice.lean *= 0.5;
        ask(&mut work, &mut page, &study, &pointer);
        assert!(page.reaches.is_empty());
        page.wish = Some(Wish::Stop);
        ask(&mut work, &mut page, &study, &pointer);
        assert!(work.meter.stop.load(Ordering::Relaxed) && page.stage == Stage::Stopped);
    }

    #[test]
    fn where_a_processor_draws_reach_waits_until_what_is_dragged_stands_still() {
        let mut work = ReachWork::start(&(Arc::new(|| ()) as Wake)).unwrap();
        work.spare = true;
        let study = Arc::new(crate::study::check(&crate::project::parse(crate::command::DEMO).unwrap()));
        let mut page = ReachPage { open: true, ..ReachPage::default() };
        let begun = |work: &ReachWork| work.asked.is_some() && !work.interrupted;
        for lean in [0.0, 0.1, 0.2] {
            page.choice.lean = lean;
            ask(&mut work, &mut page, &study, &PointerDown(true));
            assert!(!begun(&work) && work.meter.stop.load(Ordering::Relaxed));
        }
        // It has stood still for a while, though the button is held.
        std::thread::sleep(REST);
        ask(&mut work, &mut page, &study, &PointerDown(true));
        assert!(begun(&work) && !work.meter.stop.load(Ordering::Relaxed));
        // Moved on, it ends what has begun; let go, it begins at once.
        page.choice.lean = 0.3;
        let before = work.meter.clone();
        ask(&mut work, &mut page, &study, &PointerDown(true));
        assert!(!begun(&work) && before.stop.load(Ordering::Relaxed));
        ask(&mut work, &mut page, &study, &PointerDown(false));
        assert!(begun(&work));
    }

    #[test]
    fn controls_stand_in_nobodys_way_and_a_rail_does() {
        let project = crate::project::parse(crate::command::DEMO).unwrap().into_inner();
        let mut moved = project.clone();
        moved.controls[0].at_mm[0] += 10.0;
        moved.title.push('!');
        assert_eq!(matters(&project, Who::You), matters(&moved, Who::You));
        moved.frame[0].from_mm[1] += 10.0;
        assert_ne!(matters(&project, Who::You), matters(&moved, Who::You));
    }
}
