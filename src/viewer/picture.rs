//! A picture of a project without a window: the same stage and the same drawing over it, read back and written.

use std::{
    io::Cursor,
    path::PathBuf,
    sync::{Arc, Mutex},
    time::{Duration, Instant},
};

use bevy::{
    asset::RenderAssetUsages,
    camera::{ImageRenderTarget, RenderTarget},
    image::{Image, ImageFormat},
    log::LogPlugin,
    prelude::*,
    render::{
        RenderPlugin,
        gpu_readback::{Readback, ReadbackComplete},
        pipelined_rendering::PipelinedRenderingPlugin,
        render_resource::{Extent3d, TextureDimension, TextureFormat},
    },
    window::ExitCondition,
    winit::WinitPlugin,
};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPreUpdateSet, EguiPrimaryContextPass, PrimaryEguiContext,
    egui::{self, Align2, FontId, LayerId, Rect, vec2},
};

use super::{
    adapter::{self, NoAdapter},
    camera::{Eye, StandardView, View},
    overlay::{self, Pane},
    panels,
    reach::{Choice, Cut, ReachPage, draw, work},
    scene::{Ghost, Quality, ScenePlugin, Shown, Stage, Waiting},
    solve::Found,
    theme::{BODY, Ground, RHYTHM, SMALL, Theme, strong},
    window::order,
};
use crate::{
    body::Skin,
    findings::Level,
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
    /// From ahead and to the left, in perspective.
    ThreeQuarter,
    /// All four on one sheet.
    All,
}

impl PictureView {
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

/// What is written on a pane.
#[derive(Debug, Default, Resource)]
struct Caption {
    title: String,
    view: &'static str,
}

/// The pane as it was read back.
#[derive(Clone, Default, Resource)]
struct Taken(Arc<Mutex<Option<Vec<u8>>>>);

/// Renders a picture and writes it.
///
/// # Errors
/// If nothing here can draw, the renderer fails, or the file cannot be written.
pub fn picture(project: &Checked, request: &PictureRequest) -> Result<(), PictureError> {
    adapter::probe()?;
    let mut app = std::panic::catch_unwind(|| engine(false)).or(Err(PictureError::Engine))?;
    let theme = Theme::of(if request.dark { Ground::Graphite } else { Ground::Paper });
    let rule = theme.hairline;

    let study = Arc::new(check(project));
    let skin = Skin::of(&study.solved.body, mm(project.wheel.tube_mm / 2.0), Quality::Full.skin());
    let found = Found { list: study.findings.clone(), ..Found::default() };
    let posture = study.solved.posture_at(&request.moment);
    let page = request.reach.as_ref().map(|reach| reach.page(&study)).unwrap_or_default();
    app.insert_resource(theme)
        .insert_resource(Quality::Full)
        .insert_resource(found)
        .insert_resource(Caption { title: project.title.clone(), view: "" })
        .init_resource::<Taken>()
        .add_plugins((ScenePlugin, order))
        .insert_resource(Shown {
            study: Some(study),
            skin: Some(Arc::new(skin)),
            moment: request.moment,
            posture: Some(posture),
            ghost: request.ghost.as_ref().map(|project| Arc::new(Ghost::of(project, Quality::Full.skin()))),
            kept: None,
        })
        .insert_resource(page)
        .add_systems(Startup, egui_camera)
        .add_systems(PreUpdate, panels::dress.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass))
        .add_systems(EguiPrimaryContextPass, draw_over);
    app.finish();
    app.cleanup();

    let (width, height) = request.size;
    let mut sheet = Sheet::new(width, height, rule);
    warm_up(&mut app)?;
    let panes = request.view.panes();
    let mut scale = None;
    for (view, place) in panes {
        let size = if place.is_some() { [(width - 1) / 2, (height - 1) / 2] } else { [width, height] };
        let mut eye = {
            let aspect = f64::from(size[0]) / f64::from(size[1]);
            let mut held = app.world_mut().resource_mut::<View>();
            held.reshape(aspect);
            held.fitted_to(*view)
        };
        // The parallel views of a sheet share one scale: the smallest that any of them needs.
        if place.is_some() && eye.is_parallel() {
            let most = *scale.get_or_insert_with(|| sheet_height(&app, panes, size));
            eye.height = most;
        }
        let pane = take(&mut app, *view, eye, size)?;
        // One title is enough for a sheet.
        app.world_mut().resource_mut::<Caption>().title.clear();
        let [column, row] = place.unwrap_or_default();
        sheet.put(&pane, size, [column * (size[0] + 1), row * (size[1] + 1)]);
    }
    sheet.write(&request.out)
}

/// The picture height, m, at which every parallel view of a sheet fits its pane.
fn sheet_height(app: &App, panes: &[(StandardView, Option<[u32; 2]>)], size: [u32; 2]) -> f64 {
    let bounds = app.world().resource::<View>().all();
    let aspect = f64::from(size[0]) / f64::from(size[1]);
    panes
        .iter()
        .map(|(view, _)| Eye::standard(*view, &bounds, aspect))
        .filter(Eye::is_parallel)
        .map(|eye| eye.height)
        .fold(0.1, f64::max)
}

/// The engine without a window; `ahead`: the next picture is prepared while the last is drawn.
pub(super) fn engine(ahead: bool) -> App {
    let mut app = App::new();
    let windows = WindowPlugin { primary_window: None, exit_condition: ExitCondition::DontExit, ..default() };
    let plugins = DefaultPlugins
        .set(windows)
        .set(RenderPlugin { synchronous_pipeline_compilation: true, ..default() })
        .disable::<LogPlugin>()
        .disable::<WinitPlugin>();
    let plugins = if ahead { plugins } else { plugins.disable::<PipelinedRenderingPlugin>() };
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
fn take(app: &mut App, view: StandardView, eye: Eye, size: [u32; 2]) -> Result<Vec<u8>, PictureError> {
    app.world_mut().resource_mut::<Caption>().view = view.word();
    // A view true to scale shows its section.
    app.world_mut().resource_mut::<ReachPage>().choice.cut = Cut::of(view);
    {
        let mut held = app.world_mut().resource_mut::<View>();
        *held.take() = eye;
    }
    // Balloons and words keep their share of a large picture.
    let points = (f64::from(size[0]) / 1200.0).min(f64::from(size[1]) / 750.0).clamp(1.0, 4.0);
    for mut target in app.world_mut().query::<&mut RenderTarget>().iter_mut(app.world_mut()) {
        if let RenderTarget::Image(target) = &mut *target {
            target.scale_factor = points as f32;
        }
    }
    let frame = |app: &mut App| {
        let mut stage = app.world_mut().resource_mut::<Stage>();
        stage.resize(UVec2::from(size));
        stage.redraw();
        app.update();
    };
    for _ in 0..SETTLE {
        frame(app);
    }
    let image = app.world().resource::<Stage>().image.clone();
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
    // What is still on its way belongs to this pane, not to the next.
    app.insert_resource(Taken::default());
    // Rows come padded to the renderer's alignment.
    let stride = padded.len() / size[1].max(1) as usize;
    let row = size[0] as usize * 4;
    Ok(padded.chunks(stride.max(1)).flat_map(|line| line.iter().take(row).copied()).collect())
}

/// The picture in the making.
struct Sheet {
    size: [u32; 2],
    pixels: Vec<u8>,
}

impl Sheet {
    fn new(width: u32, height: u32, ground: egui::Color32) -> Self {
        Self { size: [width, height], pixels: ground.to_array().repeat(width as usize * height as usize) }
    }

    fn put(&mut self, pane: &[u8], size: [u32; 2], at: [u32; 2]) {
        let row = size[0] as usize * 4;
        for (y, line) in pane.chunks_exact(row.max(1)).enumerate() {
            let start = ((at[1] as usize + y) * self.size[0] as usize + at[0] as usize) * 4;
            if let Some(place) = self.pixels.get_mut(start..start + row) {
                place.copy_from_slice(line);
            }
        }
    }

    fn write(self, path: &std::path::Path) -> Result<(), PictureError> {
        let [width, height] = self.size;
        let encode = |error: &dyn std::fmt::Display| PictureError::Encode(error.to_string());
        let image = Image::new(
            Extent3d { width, height, depth_or_array_layers: 1 },
            TextureDimension::D2,
            self.pixels,
            TextureFormat::Rgba8UnormSrgb,
            RenderAssetUsages::MAIN_WORLD,
        );
        let format = ImageFormat::Png.as_image_crate_format().ok_or_else(|| encode(&"no PNG encoder"))?;
        let mut png = Cursor::new(Vec::new());
        let image = image.try_into_dynamic().map_err(|error| encode(&error))?;
        image.into_rgb8().write_to(&mut png, format).map_err(|error| encode(&error))?;
        std::fs::write(path, png.into_inner()).map_err(|source| PictureError::Write { path: path.to_owned(), source })
    }
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
    let pane = Pane { rect, eye: view.eye };
    overlay::floor_line(&painter, &pane, &theme);
    overlay::scale_bar(&painter, &pane, &theme);
    if let (true, Some(study)) = (page.open, &shown.study) {
        let cut = page.choice.cut;
        draw::over(&painter, &pane, &mut page, cut, study, None, &theme);
    } else {
        let shown = found.list.iter().filter(|finding| finding.level != Level::Good);
        overlay::balloons(&painter, &pane, shown, None, None, &view.bounds, &theme);
    }
    let at = rect.min + vec2(2.0 * RHYTHM, 1.5 * RHYTHM);
    let title = painter.text(at, Align2::LEFT_TOP, &caption.title, strong(BODY), theme.ink);
    let below = if caption.title.is_empty() { at } else { title.left_bottom() };
    painter.text(below, Align2::LEFT_TOP, caption.view, FontId::proportional(SMALL), theme.quiet);
    Ok(())
}
