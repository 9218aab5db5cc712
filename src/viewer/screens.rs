//! Pictures of the whole window off the screen, one page after the other: for tests that keep them, and for a reader.

use std::{
    sync::Arc,
    time::{Duration, Instant},
};

use bevy::{
    image::Image,
    prelude::*,
    render::{RenderApp, render_resource::PollType, renderer::RenderDevice},
};

use super::{
    camera::{StandardView, View},
    compare::{Comparison, Wish},
    edit::Edit,
    mould::Moulder,
    offscreen,
    panels::{Desk, Sheet},
    picture::{PictureError, Taken, read_back},
    reach::{ReachPage, Stage as ReachStage, Wish as ReachWish},
    scene::{Quality, Shown, Stage, Waiting, target},
    solve::{Found, Progress},
};
use crate::{
    project::{Checked, Page, Project},
    units::mm,
};

/// A page of the window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Screen {
    /// Where to begin.
    Start,
    /// Inputs and findings.
    Findings,
    /// What the hands reach.
    Reach,
    /// The curves over the strip.
    Curves,
    /// The rails of the frame.
    Frame,
    /// Everybody side by side.
    Drivers,
    /// The path through the inputs.
    Guide,
    /// Two states beside one another.
    Compare,
}

impl Screen {
    /// All of them; the last has a state of the project of its own.
    pub const ALL: [Self; 8] = [
        Self::Start,
        Self::Findings,
        Self::Reach,
        Self::Curves,
        Self::Frame,
        Self::Drivers,
        Self::Guide,
        Self::Compare,
    ];

    /// Its name, as a file's.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Findings => "findings",
            Self::Reach => "reach",
            Self::Curves => "curves",
            Self::Frame => "frame",
            Self::Drivers => "drivers",
            Self::Guide => "guide",
            Self::Compare => "compare",
        }
    }
}

/// How long one page may take: minutes where a processor draws.
const PATIENCE: Duration = Duration::from_secs(240);
/// Frames until what is there stands in the picture.
const SETTLE: usize = 4;
/// The boundaries of reach are taken once their lattices are this fine, m.
const FINE: f64 = mm(40.0);

/// Shows every page of the window on a project, in windows of these sizes, pixels; `seen` takes each picture as rows of
/// RGBA. `changed` is the project as it stands beside its former state where two are compared.
///
/// # Errors
/// If nothing here can draw or the engine fails.
pub fn screens(
    project: &Checked,
    changed: &Project,
    sizes: &[(u32, u32)],
    seen: &mut dyn FnMut(Screen, (u32, u32), Vec<u8>),
) -> Result<(), PictureError> {
    let mut app = offscreen::window(project, (1280, 800), false)?;
    // The same picture whatever draws it.
    app.insert_resource(Quality::Full).init_resource::<Taken>();
    app.finish();
    app.cleanup();
    frame(&mut app);
    wait(&mut app, |world| world.resource::<Found>().progress == Progress::Done)?;
    for screen in Screen::ALL {
        turn_to(&mut app, screen, changed)?;
        for &size in sizes {
            let sheet = app.world().resource::<offscreen::Sheet>().0.clone();
            if let Some(mut image) = app.world_mut().resource_mut::<Assets<Image>>().get_mut(&sheet) {
                *image = target(UVec2::from(size));
            }
            wait(&mut app, |_| true)?;
            seen(screen, size, read_back(&mut app, sheet, [size.0, size.1], &mut frame)?);
        }
    }
    Ok(())
}

/// Opens a page, and waits until everything that it shows has been worked out.
fn turn_to(app: &mut App, screen: Screen, changed: &Project) -> Result<(), PictureError> {
    {
        let world = app.world_mut();
        let mut desk = world.resource_mut::<Desk>();
        desk.sheet = (screen == Screen::Start).then_some(Sheet::Start);
        desk.page = if screen == Screen::Frame { Page::Frame } else { Page::You };
        desk.curves = screen == Screen::Curves;
        desk.drivers = screen == Screen::Drivers;
        desk.guide = None;
        if screen == Screen::Guide {
            desk.guide.get_or_insert_default();
        }
        world.resource_mut::<ReachPage>().open = screen == Screen::Reach;
    }
    // The eye stands as at the start.
    app.world_mut().resource_mut::<View>().show(StandardView::ThreeQuarter);
    match screen {
        Screen::Reach => {
            wait(app, |world| {
                let page = world.resource::<ReachPage>();
                page.stage == ReachStage::Done || (page.step() > 0.0 && page.step() <= FINE)
            })?;
            app.world_mut().resource_mut::<ReachPage>().wish = Some(ReachWish::Stop);
            wait(app, |world| matches!(world.resource::<ReachPage>().stage, ReachStage::Stopped | ReachStage::Done))
        }
        Screen::Curves => wait(app, |world| !world.resource::<Found>().curves.is_empty()),
        Screen::Drivers => wait(app, |world| !world.resource::<Found>().drivers.is_empty()),
        Screen::Compare => {
            let mut comparison = app.world_mut().resource_mut::<Comparison>();
            comparison.open = true;
            comparison.wish(Wish::Keep);
            let kept =
                |world: &World| world.resource::<Comparison>().kept.as_ref().is_some_and(|kept| kept.state.is_some());
            wait(app, kept)?;
            app.world_mut().write_message(Edit::Draft { project: Box::new(changed.clone()), stroke: None });
            let of =
                |world: &World| world.resource::<Shown>().study.as_ref().map_or(0, |study| Arc::as_ptr(study) as usize);
            let former = of(app.world());
            wait(app, move |world| {
                of(world) != former && world.resource::<Comparison>().rows.as_ref().is_some_and(|rows| !rows.is_empty())
            })
        }
        Screen::Start | Screen::Findings | Screen::Frame | Screen::Guide => wait(app, |_| true),
    }
}

/// Draws frames until something holds, and until all that was set going by it stands still.
fn wait(app: &mut App, holds: impl Fn(&World) -> bool) -> Result<(), PictureError> {
    let begun = Instant::now();
    let mut calm = 0;
    while calm < SETTLE {
        frame(app);
        let world = app.world();
        let still = holds(world)
            && world.resource::<Shown>().skin.is_some()
            && !world.resource::<Moulder>().is_busy()
            && world.resource::<Waiting>().count() == 0
            && !world.resource::<View>().flies()
            && world.get_resource::<Stage>().is_some_and(Stage::is_complete);
        calm = if still { calm + 1 } else { 0 };
        if begun.elapsed() > PATIENCE {
            return Err(PictureError::Stalled);
        }
        if !still {
            // What is waited for needs the processor more than one more picture does.
            std::thread::sleep(Duration::from_millis(5));
        }
    }
    Ok(())
}

/// One frame, drawn to its end.
fn frame(app: &mut App) {
    app.update();
    if let Some(device) = app.get_sub_app(RenderApp).and_then(|render| render.world().get_resource::<RenderDevice>()) {
        drop(device.poll(PollType::wait_indefinitely()));
    }
}
