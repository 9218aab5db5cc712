//! A picture of a project without a window: the same stage and the same drawing over it, read back and written.
//!
//! `heelpoint picture` asks for one of a project, the window for one of what it shows: both are drawn by [`render`].

use std::{
    path::PathBuf,
    sync::{Arc, Mutex},
    time::{Duration, Instant},
};

use bevy::{
    camera::{ImageRenderTarget, RenderTarget},
    log::LogPlugin,
    prelude::*,
    render::{
        RenderPlugin,
        gpu_readback::{Readback, ReadbackComplete},
        pipelined_rendering::PipelinedRenderingPlugin,
    },
    window::ExitCondition,
    winit::WinitPlugin,
};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPreUpdateSet, EguiPrimaryContextPass, PrimaryEguiContext,
    egui::{Align2, FontId, LayerId, Rect, vec2},
};

use super::{
    adapter::{self, Drawer, NoAdapter},
    camera::{Eye, StandardView, View},
    hand::{Choice as Seen, Mark},
    over::{self, Over, Writing},
    overlay::{self, Pane},
    panels, png,
    reach::{Choice, Cut, ReachPage, draw, work},
    scene::{Ghost, Quality, ScenePlugin, Shown, Stage, Waiting},
    solve::Found,
    theme::{BODY, Ground, RHYTHM, SMALL, Theme, strong},
    window::order,
};
use crate::{
    body::Skin,
    findings::Finding,
    geometry::Side,
    posture::Moment,
    project::Checked,
    reach::{Limb, Zone, controls, pedals},
    study::{Study, check},
    units::mm,
};

/// From where a picture is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureView {
    /// From the driver's left, true to scale.
    Side,
    /// From above, true to scale.
    Top,
    /// From ahead, true to scale.
    Front,
    /// From ahead and to the left, in perspective; from behind where screens would hide the driver.
    ThreeQuarter,
    /// All four on one sheet.
    All,
}

impl PictureView {
    /// A standard view alone.
    pub const fn of(view: StandardView) -> Self {
        match view {
            StandardView::Side => Self::Side,
            StandardView::Top => Self::Top,
            StandardView::Front => Self::Front,
            StandardView::ThreeQuarter => Self::ThreeQuarter,
        }
    }

    /// The panes of the picture: each view and its place on a sheet of two by two; `None` fills the picture.
    const fn panes(self) -> &'static [(StandardView, Option<[u32; 2]>)] {
        match self {
            Self::Side => &[(StandardView::Side, None)],
            Self::Top => &[(StandardView::Top, None)],
            Self::Front => &[(StandardView::Front, None)],
            Self::ThreeQuarter => &[(StandardView::ThreeQuarter, None)],
            // The top view stands under the side view, as on a drawing sheet.
            Self::All => &[
                (StandardView::Side, Some([0, 0])),
                (StandardView::Front, Some([1, 0])),
                (StandardView::Top, Some([0, 1])),
                (StandardView::ThreeQuarter, Some([1, 1])),
            ],
        }
    }
}

/// What is asked for.
#[derive(Clone, Debug)]
pub struct PictureRequest {
    /// Where the PNG goes.
    pub out: PathBuf,
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// From where.
    pub view: PictureView,
    /// True for the graphite ground.
    pub dark: bool,
    /// Where wheel and pedals stand.
    pub moment: Moment,
    /// The project with somebody else in the seat, to be shown as a ghost.
    pub ghost: Option<Checked>,
    /// Whose reach is shown, in place of the findings.
    pub reach: Option<PictureReach>,
    /// What is written over it.
    pub writing: Writing,
    /// Dots a metre, where it is meant for paper.
    pub per_metre: Option<u32>,
}

/// What stands in a picture and is written over it.
pub struct Content {
    /// The title in the corner.
    pub title: String,
    /// On what ground.
    pub ground: Ground,
    /// The study.
    pub study: Arc<Study>,
    /// Where wheel and pedals stand.
    pub moment: Moment,
    /// Somebody else as a ghost, and a kept state as a veil.
    pub others: [Option<Arc<Ghost>>; 2],
    /// The findings.
    pub findings: Vec<Finding>,
    /// The chosen one, by its key.
    pub selected: Option<String>,
    /// Whether good ones have their balloons too.
    pub show_all: bool,
    /// What is drawn and what is hidden.
    pub seen: Seen,
    /// The page of reach.
    pub page: ReachPage,
    /// Points measured between, two and two.
    pub marks: Vec<Mark>,
    /// What is written.
    pub writing: Writing,
}

/// From where a picture is taken.
#[derive(Clone, Copy, Debug)]
pub enum Standpoint {
    /// A standard view, or all of them, of everything.
    Standard(PictureView),
    /// Where an eye is, which sees a picture of this width over height: all of that is in the picture.
    Eye(Eye, f64),
}

/// Where a picture goes, and how large.
#[derive(Clone, Debug)]
pub struct Print {
    /// The file.
    pub out: PathBuf,
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// Dots a metre, where it is meant for paper.
    pub per_metre: Option<u32>,
}

/// The reach that a picture shows: its boundaries to 20 mm, and in views true to scale the section through the shoulder
/// or the hip.
#[derive(Clone, Debug, PartialEq)]
pub struct PictureReach {
    /// The limbs, of one kind and grip.
    pub limbs: Vec<Limb>,
    /// The zones.
    pub zones: Vec<Zone>,
    /// How far the trunk may lean forward, rad.
    pub lean: f64,
}

/// Step of a picture's boundaries, m.
const STEP: f64 = mm(20.0);

impl PictureReach {
    /// The page of reach, worked out.
    fn page(&self, study: &Study) -> ReachPage {
        let mut choice = Choice { lean: self.lean, sides: [false; 2], ..Choice::default() };
        choice.zones = Zone::ALL.map(|zone| self.zones.contains(&zone));
        for limb in &self.limbs {
            choice.sides[limb.side().index()] = true;
            match *limb {
                Limb::Hand(_, grip) => (choice.hands, choice.grip) = (true, grip),
                Limb::Foot(_, footing) => (choice.hands, choice.footing) = (false, footing),
            }
        }
        let mut reaches: Vec<_> =
            self.limbs.iter().map(|limb| Arc::new(work::at_once(study, *limb, self.lean, STEP))).collect();
        let mut sheaths: Vec<_> = reaches.iter().flat_map(|reach| work::sheaths(reach)).collect();
        sheaths.sort_by_key(|sheath| sheath.tint);
        let rig = &study.solved.rig;
        // The limb that is not shown works controls or pedals as well.
        for side in Side::BOTH.into_iter().filter(|side| work::works(&study.solved, choice.hands, *side)) {
            let limb = choice.limb(side);
            if !reaches.iter().any(|reach| reach.limb == limb) {
                reaches.push(Arc::new(work::at_once(study, limb, self.lean, STEP)));
            }
        }
        let of = |side| reaches.iter().find(|reach| reach.limb.side() == side).or(reaches.first());
        let (mut rows, mut treads) = (Vec::new(), Vec::new());
        if let [Some(left), Some(right)] = Side::BOTH.map(of) {
            if choice.hands {
                rows = controls(rig, [left, right]);
            } else {
                treads = pedals(rig, study.solved.project.driver.brakes_with, [left, right]);
            }
        }
        ReachPage { open: true, choice, sheaths, reaches, rows, treads, ..ReachPage::default() }
    }
}

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// Nothing here can draw.
    #[error(transparent)]
    NoAdapter(#[from] NoAdapter),
    /// The engine could not be started.
    #[error("the renderer could not be started")]
    Engine,
    /// The renderer gave no picture in time.
    #[error("the renderer gave no picture within {} s", PATIENCE.as_secs())]
    Stalled,
    /// The picture could not be put into a PNG.
    #[error("the picture could not be encoded: {0}")]
    Encode(String),
    /// The file could not be written.
    #[error("{path}: cannot be written: {source}")]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
}

/// How long one pane may take: minutes where a processor draws a large one.
const PATIENCE: Duration = Duration::from_secs(240);
/// Frames that a pane is drawn before it is read: its size, its eye and its balloons have then all arrived.
const SETTLE: usize = 4;

/// What is written on a pane, beside what the stage shows.
#[derive(Debug, Default, Resource)]
struct Caption {
    title: String,
    view: Option<StandardView>,
    selected: Option<String>,
    show_all: bool,
    marks: Vec<Mark>,
    writing: Writing,
}

/// A picture as it was read back.
#[derive(Clone, Default, Resource)]
pub(super) struct Taken(Arc<Mutex<Option<Vec<u8>>>>);

/// Renders a picture of a project and writes it.
///
/// # Errors
/// If nothing here can draw, the renderer fails, or the file cannot be written.
pub fn picture(project: &Checked, request: &PictureRequest) -> Result<(), PictureError> {
    adapter::probe()?;
    let study = Arc::new(check(project));
    let page = request.reach.as_ref().map(|reach| reach.page(&study)).unwrap_or_default();
    let ghost = request.ghost.as_ref().map(|project| Arc::new(Ghost::of(project, Quality::Full.skin())));
    let content = Content {
        title: project.title.clone(),
        ground: if request.dark { Ground::Graphite } else { Ground::Paper },
        findings: study.findings.clone(),
        study,
        moment: request.moment,
        others: [ghost, None],
        selected: None,
        show_all: false,
        seen: Seen::default(),
        page,
        marks: Vec::new(),
        writing: request.writing,
    };
    let print = Print { out: request.out.clone(), size: request.size, per_metre: request.per_metre };
    render(content, Standpoint::Standard(request.view), &print)
}

/// Renders a picture and writes it; it takes the caller's thread and an engine of its own, which no window waits for.
///
/// # Errors
/// If the renderer fails or the file cannot be written.
pub fn render(content: Content, from: Standpoint, print: &Print) -> Result<(), PictureError> {
    // Drawing takes long: a folder that is not there is told before.
    let folder = print.out.parent().filter(|folder| !folder.as_os_str().is_empty());
    if let Some(Err(source)) = folder.map(std::fs::read_dir) {
        return Err(PictureError::Write { path: print.out.clone(), source });
    }
    let mut app = std::panic::catch_unwind(|| engine(None)).or(Err(PictureError::Engine))?;
    let theme = Theme::of(content.ground);
    let rule = theme.hairline;
    let solved = &content.study.solved;
    let skin = Skin::of(&solved.body, mm(solved.project.wheel.tube_mm / 2.0), Quality::Full.skin());
    let posture = solved.posture_at(&content.moment);
    let Content { title, study, moment, others, findings, selected, show_all, seen, page, marks, writing, .. } =
        content;
    let [ghost, kept] = others;
    app.insert_resource(theme)
        .insert_resource(Quality::Full)
        .insert_resource(Found { list: findings, ..Found::default() })
        .insert_resource(Caption { title, selected, show_all, marks, writing, ..Caption::default() })
        .init_resource::<Taken>()
        .add_plugins((ScenePlugin, order))
        .insert_resource(seen)
        .insert_resource(Shown {
            study: Some(study),
            skin: Some(Arc::new(skin)),
            moment,
            posture: Some(posture),
            ghost,
            kept,
        })
        .insert_resource(page)
        .add_systems(Startup, egui_camera)
        .add_systems(PreUpdate, panels::dress.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass))
        .add_systems(EguiPrimaryContextPass, draw_over);
    app.finish();
    app.cleanup();

    let (width, height) = print.size;
    let mut sheet = png::Sheet::new(width, height, rule);
    warm_up(&mut app)?;
    match from {
        Standpoint::Standard(view) => {
            let panes = view.panes();
            let mut scale = None;
            for (view, place) in panes {
                let size = if place.is_some() { [(width - 1) / 2, (height - 1) / 2] } else { [width, height] };
                let mut eye = fitted(&mut app, *view, size);
                // The parallel views of a sheet share one scale: the smallest that any of them needs.
                if place.is_some() && eye.is_parallel() {
                    let most = *scale.get_or_insert_with(|| sheet_height(&mut app, panes, size));
                    eye.height = most;
                }
                let pane = take(&mut app, Some(*view), eye, size)?;
                // One title is enough for a sheet.
                app.world_mut().resource_mut::<Caption>().title.clear();
                let [column, row] = place.unwrap_or_default();
                sheet.put(&pane, size, [column * (size[0] + 1), row * (size[1] + 1)]);
            }
        }
        Standpoint::Eye(mut eye, aspect) => {
            // On narrower paper the width decides.
            eye.height *= (aspect * f64::from(height) / f64::from(width)).max(1.0);
            let pane = take(&mut app, None, eye, [width, height])?;
            sheet.put(&pane, [width, height], [0, 0]);
        }
    }
    sheet.write(&print.out, print.per_metre)
}

/// The eye of a standard view that holds everything in a picture of this size, its dimensions too.
fn fitted(app: &mut App, view: StandardView, size: [u32; 2]) -> Eye {
    let world = app.world();
    let (shown, bounds) = (world.resource::<Shown>(), &world.resource::<View>().bounds);
    let beside = shown.study.as_deref().zip(shown.posture.as_ref());
    let beside = beside.filter(|_| world.resource::<Caption>().writing.dimensions);
    let beside = beside.map(|(study, posture)| over::beside(study, posture, bounds, Some(view)));
    let mut held = app.world_mut().resource_mut::<View>();
    held.hold_dimensions(beside);
    held.reshape(f64::from(size[0]) / f64::from(size[1]));
    held.fitted_to(view)
}

/// The picture height, m, at which every parallel view of a sheet fits its pane.
fn sheet_height(app: &mut App, panes: &[(StandardView, Option<[u32; 2]>)], size: [u32; 2]) -> f64 {
    panes
        .iter()
        .map(|(view, _)| fitted(app, *view, size))
        .filter(Eye::is_parallel)
        .map(|eye| eye.height)
        .fold(0.1, f64::max)
}

/// The engine without a window; with a drawer as a window has it: the next picture is prepared while the last is
/// drawn.
pub(super) fn engine(drawer: Option<&Drawer>) -> App {
    let mut app = App::new();
    let windows = WindowPlugin { primary_window: None, exit_condition: ExitCondition::DontExit, ..default() };
    let plugins = DefaultPlugins.set(windows).disable::<LogPlugin>().disable::<WinitPlugin>();
    let plugins = match drawer {
        Some(drawer) => plugins.set(drawer.renderer()),
        None => plugins
            .set(RenderPlugin { synchronous_pipeline_compilation: true, ..default() })
            .disable::<PipelinedRenderingPlugin>(),
    };
    app.add_plugins(plugins).add_plugins(EguiPlugin::default());
    app
}

/// Draws small frames until the renderer has everything that it needs.
fn warm_up(app: &mut App) -> Result<(), PictureError> {
    let begun = Instant::now();
    let mut calm = 0;
    while calm < SETTLE {
        if begun.elapsed() > PATIENCE {
            return Err(PictureError::Stalled);
        }
        if let Some(mut stage) = app.world_mut().get_resource_mut::<Stage>() {
            stage.resize(UVec2::splat(64));
            stage.redraw();
        }
        app.update();
        calm = if app.world().resource::<Waiting>().count() == 0 { calm + 1 } else { 0 };
    }
    Ok(())
}

/// Draws one pane and reads it back: rows of RGBA.
fn take(app: &mut App, view: Option<StandardView>, eye: Eye, size: [u32; 2]) -> Result<Vec<u8>, PictureError> {
    app.world_mut().resource_mut::<Caption>().view = view;
    // A view true to scale shows its section.
    if let Some(view) = view {
        app.world_mut().resource_mut::<ReachPage>().choice.cut = Cut::of(view);
    }
    {
        let mut held = app.world_mut().resource_mut::<View>();
        *held.take() = eye;
    }
    // Balloons and words keep their share of a large picture.
    let [long, short] = [size[0].max(size[1]), size[0].min(size[1])].map(f64::from);
    let points = (long / 1200.0).min(short / 750.0).clamp(1.0, 4.0);
    for mut target in app.world_mut().query::<&mut RenderTarget>().iter_mut(app.world_mut()) {
        if let RenderTarget::Image(target) = &mut *target {
            target.scale_factor = points as f32;
        }
    }
    let mut frame = |app: &mut App| {
        let mut stage = app.world_mut().resource_mut::<Stage>();
        stage.resize(UVec2::from(size));
        stage.redraw();
        app.update();
    };
    for _ in 0..SETTLE {
        frame(app);
    }
    let image = app.world().resource::<Stage>().image.clone();
    read_back(app, image, size, &mut frame)
}

/// Reads a picture of `size` back while frames are drawn: rows of RGBA.
pub(super) fn read_back(
    app: &mut App,
    image: Handle<Image>,
    size: [u32; 2],
    frame: &mut dyn FnMut(&mut App),
) -> Result<Vec<u8>, PictureError> {
    let taken = app.world().resource::<Taken>().clone();
    let keep = move |complete: On<ReadbackComplete>| {
        if let Ok(mut taken) = taken.0.lock() {
            taken.get_or_insert_with(|| complete.data.clone());
        }
    };
    let reader = app.world_mut().spawn(Readback::texture(image)).observe(keep).id();
    let begun = Instant::now();
    let padded = loop {
        frame(app);
        let taken = app.world().resource::<Taken>();
        if let Some(data) = taken.0.lock().ok().and_then(|mut taken| taken.take()) {
            break data;
        }
        if begun.elapsed() > PATIENCE {
            return Err(PictureError::Stalled);
        }
    };
    app.world_mut().despawn(reader);
    // What is still on its way belongs to this picture, not to the next.
    app.insert_resource(Taken::default());
    // Rows come padded to the renderer's alignment.
    let stride = padded.len() / size[1].max(1) as usize;
    let row = size[0] as usize * 4;
    Ok(padded.chunks(stride.max(1)).flat_map(|line| line.iter().take(row).copied()).collect())
}

/// The interface drawn over the stage's picture itself.
fn egui_camera(mut commands: Commands, stage: Res<Stage>, mut settings: ResMut<EguiGlobalSettings>) {
    settings.auto_create_primary_context = false;
    commands.spawn((
        PrimaryEguiContext,
        Camera2d,
        Msaa::Off,
        Camera { order: 1, clear_color: ClearColorConfig::Custom(Color::NONE), ..default() },
        RenderTarget::Image(ImageRenderTarget { handle: stage.image.clone(), scale_factor: 1.0 }),
    ));
}

/// Draws balloons, scale and caption over a pane.
fn draw_over(
    mut contexts: EguiContexts,
    theme: Res<Theme>,
    view: Res<View>,
    found: Res<Found>,
    caption: Res<Caption>,
    shown: Res<Shown>,
    mut page: ResMut<ReachPage>,
) -> Result {
    let ctx = contexts.ctx_mut()?;
    let rect: Rect = ctx.content_rect();
    let painter = ctx.layer_painter(LayerId::background());
    let pane = Pane::open(rect, view.eye);
    overlay::floor_line(&painter, &pane, &theme);
    overlay::scale_bar(&painter, &pane, &theme);
    let written = Over {
        study: shown.study.as_deref(),
        posture: shown.posture.as_ref(),
        moment: shown.moment,
        findings: &found.list,
        selected: caption.selected.as_deref(),
        show_all: caption.show_all,
        writing: caption.writing.beside(page.open),
        bounds: &view.bounds,
        standard: caption.view,
    };
    over::measured(&painter, &pane, &caption.marks, &theme);
    over::over(&painter, &pane, &written, None, &theme);
    if let (true, Some(study)) = (page.open, &shown.study) {
        let cut = page.choice.cut;
        draw::over(&painter, &pane, &mut page, cut, study, None, &theme);
    }
    let at = rect.min + vec2(2.0 * RHYTHM, 1.5 * RHYTHM);
    let title = painter.text(at, Align2::LEFT_TOP, &caption.title, strong(BODY), theme.ink);
    let below = if caption.title.is_empty() { at } else { title.left_bottom() };
    let view = caption.view.map_or("", StandardView::word);
    painter.text(below, Align2::LEFT_TOP, view, FontId::proportional(SMALL), theme.quiet);
    Ok(())
}
