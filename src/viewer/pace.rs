//! How many pictures a second the whole interface gives while something is dragged, off the screen: for the benches.

use std::{
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::{Duration, Instant},
};

use bevy::{
    diagnostic::{Diagnostic, DiagnosticsStore},
    prelude::*,
    render::{
        diagnostic::RenderDiagnosticsPlugin,
        render_resource::PollType,
        renderer::{RenderAdapterInfo, RenderDevice, RenderQueue},
    },
};
use bevy_egui::{PrimaryEguiContext, egui, input::EguiInputEvent};

use super::{
    edit::{Edit, Stroke},
    mould::Moulder,
    offscreen,
    picture::PictureError,
    reach::ReachPage,
    scene::{Shown, Stage, Waiting},
    solve::Found,
};
use crate::project::Checked;

/// What is timed.
#[derive(Clone, Debug)]
pub struct PaceRequest {
    /// Width and height of the window, pixels.
    pub size: (u32, u32),
    /// For how long.
    pub length: Duration,
    /// Whether the page of reach is open, as it opens.
    pub reach: bool,
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Pace {
    /// What draws.
    pub adapter: String,
    /// From the call to the first whole picture.
    pub first: Duration,
    /// Pictures while the wheel is dragged up and down.
    pub frames: usize,
    /// New postures among them.
    pub studies: usize,
    /// How long they took.
    pub took: Duration,
    /// The slowest hundredth took at least this long.
    pub slow: Duration,
    /// Of a picture's time meanwhile, what the processor takes before the renderer has it all.
    pub dragging: Duration,
    /// Pictures a second while the eye goes round, with nothing to work out.
    pub turning: f64,
    /// Of a picture's time while the eye goes round, what the processor takes before the renderer has it all.
    pub preparing: Duration,
    /// What each pass takes the graphics card meanwhile.
    pub passes: Vec<(String, Duration)>,
}

impl Pace {
    /// Pictures a second while the wheel is dragged.
    pub fn per_second(&self) -> f64 {
        self.frames as f64 / self.took.as_secs_f64().max(1e-9)
    }
}

/// Draws the whole interface off the screen while the wheel's height is dragged, and counts.
///
/// # Errors
/// If nothing here can draw or the engine fails.
pub fn pace(project: &Checked, request: &PaceRequest) -> Result<Pace, PictureError> {
    let begun = Instant::now();
    let mut app = offscreen::window(project, request.size, true)?;
    app.add_plugins(RenderDiagnosticsPlugin);
    app.finish();
    app.cleanup();
    let mut flight = Flight::default();
    if request.reach {
        app.world_mut().resource_mut::<ReachPage>().open = true;
    }

    // The first whole picture: the body is there and no pipeline is missing.
    while app.world().resource::<Shown>().skin.is_none()
        || app.world().resource::<Moulder>().is_busy()
        || app.world().resource::<Waiting>().count() > 0
        || !app.world().get_resource::<Stage>().is_some_and(Stage::is_complete)
    {
        flight.frame(&mut app);
        if begun.elapsed() > Duration::from_secs(120) {
            return Err(PictureError::Stalled);
        }
    }
    let first = begun.elapsed();
    let settling = Instant::now();
    while request.reach && settling.elapsed() < Duration::from_secs(20) {
        flight.frame(&mut app);
    }

    let base = project.wheel.centre_mm[2];
    let mut times = Vec::new();
    let mut studies = 0;
    let mut last = 0;
    let mut dragging = Duration::ZERO;
    press(&mut app, true);
    let dragged = Instant::now();
    while dragged.elapsed() < request.length {
        let began = Instant::now();
        let mut moved: crate::project::Project = (**project).clone();
        moved.wheel.centre_mm[2] = base + 20.0 * (dragged.elapsed().as_secs_f64() * 2.0).sin();
        app.world_mut().write_message(Edit::Draft { project: Box::new(moved), stroke: Some(Stroke(1)) });
        dragging += flight.frame(&mut app);
        let study = app.world().resource::<Shown>().study.as_ref().map_or(0, |study| Arc::as_ptr(study) as usize);
        studies += usize::from(study != last);
        last = study;
        times.push(began.elapsed());
    }
    flight.wait(&app, 0);
    let took = dragged.elapsed();
    let frames = times.len();
    times.sort();
    let dragging = dragging / frames.max(1) as u32;
    let slow = times.get(frames * 99 / 100).copied().unwrap_or_default();

    press(&mut app, false);

    // Nothing is left to work out, then the eye goes round.
    let calm = Instant::now();
    while app.world().resource::<Found>().progress != super::solve::Progress::Done
        && calm.elapsed() < Duration::from_secs(30)
    {
        flight.frame(&mut app);
    }
    let turned = Instant::now();
    let mut count = 0;
    let mut preparing = Duration::ZERO;
    while turned.elapsed() < request.length.min(Duration::from_secs(3)) {
        app.world_mut().resource_mut::<super::camera::View>().take().orbit([2.0, 0.0]);
        app.world_mut().resource_mut::<Stage>().redraw();
        preparing += flight.frame(&mut app);
        count += 1;
    }
    flight.wait(&app, 0);
    let turning = f64::from(count) / turned.elapsed().as_secs_f64().max(1e-9);
    let adapter = app
        .world()
        .get_resource::<RenderAdapterInfo>()
        .map_or_else(String::new, |info| format!("{} ({:?})", info.name, info.device_type));
    let preparing = preparing / count.max(1);
    let passes = app.world().get_resource::<DiagnosticsStore>().map_or_else(Vec::new, passes);
    Ok(Pace { adapter, first, frames, studies, took, slow, dragging, turning, preparing, passes })
}

/// Presses the pointer's button, or lets it go, where there is nothing under it: so it is while something is dragged.
fn press(app: &mut App, pressed: bool) {
    let mut contexts = app.world_mut().query_filtered::<Entity, With<PrimaryEguiContext>>();
    let Ok(context) = contexts.single(app.world()) else { return };
    let event = egui::Event::PointerButton {
        pos: egui::Pos2::ZERO,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: egui::Modifiers::NONE,
    };
    app.world_mut().write_message(EguiInputEvent { context, event });
}

/// What the card takes for each pass, the longest first.
fn passes(store: &DiagnosticsStore) -> Vec<(String, Duration)> {
    let of = |diagnostic: &Diagnostic| {
        let name = diagnostic.path().as_str().strip_suffix("/elapsed_gpu")?.to_owned();
        Some((name, Duration::from_secs_f64(diagnostic.average()?.max(0.0) / 1e3)))
    };
    let mut passes: Vec<_> = store.iter().filter_map(of).collect();
    passes.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    passes
}

/// Pictures on their way: as a window has it, the next is prepared while the last is drawn.
#[derive(Default)]
struct Flight {
    sent: usize,
    drawn: Arc<AtomicUsize>,
}

impl Flight {
    /// How many may be on their way.
    const MOST: usize = 2;

    /// Prepares one picture once there is room for it; how long the processor took for it.
    fn frame(&mut self, app: &mut App) -> Duration {
        let begun = Instant::now();
        app.update();
        let prepared = begun.elapsed();
        if let Some(queue) = app.world().get_resource::<RenderQueue>() {
            let drawn = self.drawn.clone();
            queue.on_submitted_work_done(move || {
                drawn.fetch_add(1, Ordering::Relaxed);
            });
            self.sent += 1;
        }
        self.wait(app, Self::MOST);
        prepared
    }

    /// Waits until no more than `most` are on their way.
    fn wait(&self, app: &App, most: usize) {
        let Some(device) = app.world().get_resource::<RenderDevice>() else { return };
        while self.sent > self.drawn.load(Ordering::Relaxed) + most {
            if device.poll(PollType::Poll).is_err() {
                return;
            }
            std::thread::yield_now();
        }
    }
}
