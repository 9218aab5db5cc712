//! The window: the engine, the plugins and the order in which they work.

use std::{panic::AssertUnwindSafe, path::PathBuf, sync::Arc, time::Duration};

use bevy::{
    app::AppExit,
    asset::AssetEventSystems,
    camera::{CameraUpdateSystems, visibility::VisibilitySystems},
    ecs::schedule::{Schedules, SingleThreadedExecutor},
    log::LogPlugin,
    prelude::*,
    render::RenderApp,
    window::{ExitCondition, RequestRedraw, WindowResized, WindowResolution, WindowScaleFactorChanged},
    winit::{EventLoopProxyWrapper, UpdateMode, WinitSettings, WinitUserEvent},
};
use bevy_egui::{
    EguiGlobalSettings, EguiPlugin, EguiPostUpdateSet, EguiPreUpdateSet, EguiPrimaryContextPass, PrimaryEguiContext,
};

use super::{
    ViewerSystems,
    adapter::{self, Drawer, NoAdapter},
    bring::{Shapes, bring, write_lists},
    compare::{CompareWork, Comparison, compare},
    edit::{self, Document, Edit},
    files::{self, Chosen, FileCommand, Files, Question},
    hand::Hand,
    home::{self, Kept},
    keys,
    mould::Moulder,
    panels::{self, Desk, Sheet},
    pictures::{Pictures, take_pictures},
    pointing,
    reach::work::{ReachWork, work_out},
    scene::{ScenePlugin, Stage},
    solve::{self, Drawings, Found, PointerDown, Solver, Wake},
    typing,
};
use crate::project::Checked;

/// What the window opens with.
#[derive(Clone, Debug)]
pub struct Start {
    /// The project.
    pub project: Checked,
    /// The file that it came from, if one.
    pub path: Option<PathBuf>,
    /// Its text as it was read.
    pub text: String,
}

/// Why there is no window.
#[derive(Debug, thiserror::Error)]
pub enum ViewerError {
    /// There is no screen to open it on.
    #[error("there is no display to open a window on (neither WAYLAND_DISPLAY nor DISPLAY leads to one)")]
    NoDisplay,
    /// Nothing here can draw.
    #[error(transparent)]
    NoAdapter(#[from] NoAdapter),
    /// The system gives no threads.
    #[error("the window cannot start its threads: {0}")]
    Threads(#[from] std::io::Error),
    /// The engine ended with an error.
    #[error("the window ended with an error; what it said stands above")]
    Ended,
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// If there is no display, nothing that can draw, or the engine fails.
pub fn run(start: Start) -> Result<(), ViewerError> {
    if cfg!(all(unix, not(target_os = "macos"))) {
        let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        if !(set("WAYLAND_DISPLAY") || set("WAYLAND_SOCKET") || set("DISPLAY")) {
            return Err(ViewerError::NoDisplay);
        }
    }
    let drawer = adapter::probe()?;
    let mut app = start_engine(&drawer)?;
    app.insert_resource(drawer);

    let proxy = (**app.world().resource::<EventLoopProxyWrapper>()).clone();
    // A window that has gone needs no waking.
    let wake: Wake = Arc::new(move || {
        proxy.send_event(WinitUserEvent::WakeUp).ok();
    });
    let sheet = start.path.is_none().then_some(Sheet::Start);
    furnish(&mut app, start, Kept::find(), &wake)?;
    app.world_mut().resource_mut::<Desk>().sheet = sheet;
    app.add_systems(Startup, egui_camera);
    match app.run() {
        AppExit::Success => Ok(()),
        AppExit::Error(_) => Err(ViewerError::Ended),
    }
}

/// Brings everything that the window shows and does; the engine and what it draws on are the caller's.
pub(super) fn furnish(app: &mut App, start: Start, kept: Kept, wake: &Wake) -> Result<(), ViewerError> {
    let mut solver = Solver::start(wake)?;
    solver.want(start.project.clone());
    let Kept { mut home, left, told } = kept;
    home.settings.units.show();
    let theme = home::theme(&home.settings);
    if let Some(path) = &start.path {
        home.remember(path);
    }
    let mut files = Files::new(wake.clone(), left);
    if !told.is_empty() {
        files.question = Some(Question::Note { title: "Settings".to_owned(), lines: told });
    }
    app.insert_resource(Document::open(start.project, start.path, Some(start.text)))
        .insert_resource(solver)
        .insert_resource(ReachWork::start(wake)?)
        .insert_resource(CompareWork::start(wake)?)
        .insert_resource(Shapes::start(wake)?)
        .insert_resource(Pictures::start(wake)?)
        .init_resource::<Comparison>()
        .insert_resource(Moulder::start(wake)?)
        .insert_resource(files)
        .insert_resource(home)
        .insert_resource(theme)
        .init_resource::<Desk>()
        .init_resource::<Found>()
        .init_resource::<Drawings>()
        .init_resource::<PointerDown>()
        .init_resource::<panels::Handle>()
        .init_resource::<Hand>()
        .add_message::<Edit>()
        .add_message::<FileCommand>()
        .add_message::<Chosen>()
        .add_plugins((ScenePlugin, typing::typing, order, OneByOne))
        .add_systems(
            PreUpdate,
            (panels::dress, typing::quiet_modifiers, pointing::place_by_place)
                .after(EguiPreUpdateSet::ProcessInput)
                .before(EguiPreUpdateSet::BeginPass),
        )
        .add_systems(EguiPrimaryContextPass, panels::interface)
        .add_systems(
            PostUpdate,
            (
                (
                    keys::take_keys,
                    edit::apply_edits,
                    files::command,
                    files::answer,
                    bring,
                    write_lists,
                    take_pictures,
                    files::title,
                    home::settle,
                    home::keep,
                )
                    .chain()
                    .in_set(ViewerSystems::Edit),
                (solve::solve, work_out, compare).chain().in_set(ViewerSystems::Solve),
            ),
        );
    Ok(())
}

/// The engine with a window. It gives up loudly where the display does not answer; that is caught and told calmly.
fn start_engine(drawer: &Drawer) -> Result<App, ViewerError> {
    let build = || {
        let mut app = App::new();
        let window = Window {
            title: "Heelpoint".to_owned(),
            name: Some("heelpoint".to_owned()),
            resolution: WindowResolution::new(1280, 800),
            resize_constraints: WindowResizeConstraints { min_width: 900.0, min_height: 560.0, ..default() },
            ..default()
        };
        let windows = WindowPlugin {
            primary_window: Some(window),
            exit_condition: ExitCondition::OnPrimaryClosed,
            close_when_requested: false,
            ..default()
        };
        app.add_plugins(
            DefaultPlugins.set(windows).set(drawer.renderer()).set(LogPlugin { filter: QUIET.to_owned(), ..default() }),
        )
        .add_plugins(EguiPlugin::default());
        app
    };
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let built = std::panic::catch_unwind(AssertUnwindSafe(build));
    std::panic::set_hook(hook);
    // The only thing in it that depends on the machine and has not been asked for before is the display.
    let mut app = built.or(Err(ViewerError::NoDisplay))?;
    app.add_systems(Last, (doze, draw_new_images, draw_new_sizes));
    Ok(app)
}

/// Drawn when something changes, for nothing moves by itself; and once more when it has stood still for a moment,
/// where the best picture takes long.
fn doze(stage: Res<Stage>, mut settings: ResMut<WinitSettings>) {
    let wait = if stage.is_complete() { Duration::from_secs(3600) } else { Stage::PAUSE };
    let mode = UpdateMode::reactive_low_power(wait);
    if settings.focused_mode != mode || settings.unfocused_mode != mode {
        *settings = WinitSettings { focused_mode: mode, unfocused_mode: mode };
    }
}

/// A picture or a letter that is new to the renderer shows a frame late: that frame is asked for.
fn draw_new_images(mut images: MessageReader<AssetEvent<Image>>, mut redraw: MessageWriter<RequestRedraw>) {
    if images.read().count() > 0 {
        redraw.write(RequestRedraw);
    }
}

/// The interface learns of the window's size a frame late, through its camera, and of how fine its dots are two frames
/// late: these frames are asked for.
fn draw_new_sizes(
    mut sizes: MessageReader<WindowResized>,
    mut scales: MessageReader<WindowScaleFactorChanged>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut more: Local<u8>,
) {
    if sizes.read().count() + scales.read().count() > 0 {
        *more = 2;
    }
    if *more > 0 {
        *more -= 1;
        redraw.write(RequestRedraw);
    }
}

/// Runs the systems of a frame one after another: most take less time than it takes to wake a thread for them.
struct OneByOne;

impl Plugin for OneByOne {
    fn build(&self, _: &mut App) {}

    fn finish(&self, app: &mut App) {
        let one_by_one = |world: &mut World| {
            if let Some(mut schedules) = world.get_resource_mut::<Schedules>() {
                for (_, schedule) in schedules.iter_mut() {
                    schedule.set_executor(SingleThreadedExecutor::new());
                }
            }
        };
        one_by_one(app.world_mut());
        // There the renderer has systems that must run on the main thread.
        if !cfg!(any(target_os = "macos", target_os = "ios"))
            && let Some(render) = app.get_sub_app_mut(RenderApp)
        {
            one_by_one(render.world_mut());
        }
    }
}

/// Log lines that a user can do something about.
pub const QUIET: &str = "error,wgpu_hal=off,rfd=off";

/// The order of a frame: interface, edits, studies, then what is drawn, before the engine looks at it.
pub fn order(app: &mut App) {
    app.configure_sets(
        PostUpdate,
        (ViewerSystems::Edit, ViewerSystems::Solve, ViewerSystems::Present)
            .chain()
            .after(EguiPostUpdateSet::EndPass)
            .before(CameraUpdateSystems)
            .before(VisibilitySystems::CalculateBounds)
            .before(VisibilitySystems::VisibilityPropagate)
            .before(TransformSystems::Propagate)
            .before(AssetEventSystems),
    );
}

fn egui_camera(mut commands: Commands, mut settings: ResMut<EguiGlobalSettings>) {
    settings.auto_create_primary_context = false;
    commands.spawn((PrimaryEguiContext, Camera2d, Msaa::Off, Camera { order: 1, ..default() }));
}
