//! The stage: a camera that draws body and rig into a picture of its own, light, and what stands there.
//!
//! The stage draws only when something has changed; the window shows its last picture in the meantime.

use std::{
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::{Duration, Instant},
};

use bevy::{
    camera::{RenderTarget, visibility::NoFrustumCulling},
    core_pipeline::tonemapping::Tonemapping,
    image::Image,
    light::{DirectionalLightShadowMap, NotShadowCaster, ShadowFilteringMethod, cluster::GlobalClusterSettings},
    prelude::*,
    render::{
        Render, RenderApp, RenderSystems,
        render_resource::{PipelineCache, TextureFormat, TextureUsages},
        renderer::RenderAdapterInfo,
    },
    window::RequestRedraw,
};
use bevy_egui::egui;

use super::{
    ViewerSystems,
    adapter::is_processor,
    camera::{self, View},
    ground::{self, FloorPicture, GroundPlugin, Paper},
    hand::{Choice, Cut, Was, pick::Standing},
    matter::{Form, Matte, MatterPlugin},
    mould::{ByCare, Care, Model, Moulder},
    reach::film::{self, FilmPlugin},
    rig,
    theme::{Theme, linear},
};
use crate::{
    body::{Skin, SkinDetail},
    geometry::Vec3 as Point,
    posture::{Moment, Posture},
    project::Checked,
    study::{self, Study},
    units::mm,
};

/// The engine's coordinates (y up, −z forward) of a point or direction in W (z up): the one place where they meet.
pub fn bevy_from_world(p: Point) -> Vec3 {
    Vec3::new(p.x as f32, p.z as f32, -p.y as f32)
}

/// What the machine can afford.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Resource)]
pub enum Quality {
    /// A graphics card draws, or there is time: shadow maps, fine skin.
    Full,
    /// The processor draws: no shadow maps, coarse skin; all triangles and smooth edges only once things stand still.
    Spare,
}

impl Quality {
    /// What suits an adapter.
    pub fn of(adapter: &RenderAdapterInfo) -> Self {
        if is_processor(adapter) { Self::Spare } else { Self::Full }
    }

    /// How shadow maps are looked up. Where there are none the shaders know it by this, and leave it out: a processor
    /// that draws would go through all of it for nothing.
    const fn shadow_filter(self) -> ShadowFilteringMethod {
        match self {
            Self::Full => ShadowFilteringMethod::Gaussian,
            Self::Spare => ShadowFilteringMethod::Hardware2x2,
        }
    }

    /// How fine the skin is.
    pub const fn skin(self) -> SkinDetail {
        match self {
            Self::Full => SkinDetail::Fine,
            Self::Spare => SkinDetail::Coarse,
        }
    }
}

/// The picture that the stage draws into.
#[derive(Debug, Resource)]
pub struct Stage {
    /// The picture.
    pub image: Handle<Image>,
    /// Size of the area that shows it, pixels.
    pub area: UVec2,
    /// Size of the picture, pixels: smaller than the area while a processor draws and things move.
    size: UVec2,
    /// Frames still to be drawn before the picture shows what there is.
    frames: u8,
    /// Whether the last picture, or the one being drawn, is the best that can be had.
    finish: Finish,
}

/// How good the picture is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Finish {
    /// Good enough for what moves; the best follows once nothing has changed since then.
    Draft(Instant),
    /// Full size and smooth edges.
    Best,
}

impl Stage {
    /// Frames from a change to its picture: meshes reach the renderer a frame late, a new size two.
    const FRAMES: u8 = 2;
    /// Frames of the start, in which the renderer gets ready.
    const FIRST_FRAMES: u8 = 8;
    /// How long things stand still before the best picture is drawn, where that takes long.
    pub const PAUSE: Duration = Duration::from_millis(250);
    /// Size of the picture in the area's while a processor draws and things move.
    const DRAFT: f32 = 0.55;

    /// True once nothing has changed for a while since a draft was drawn.
    fn is_calm(&self) -> bool {
        matches!(self.finish, Finish::Draft(since) if self.frames == 0 && since.elapsed() >= Self::PAUSE)
    }

    /// Draws anew.
    pub fn redraw(&mut self) {
        self.frames = self.frames.max(Self::FRAMES);
        self.finish = Finish::Draft(Instant::now());
    }

    /// Draws the best picture now.
    fn finish(&mut self) {
        self.finish = Finish::Best;
        self.frames = self.frames.max(Self::FRAMES);
    }

    /// True when the picture shows the present state as well as can be.
    pub fn is_complete(&self) -> bool {
        self.frames == 0 && self.finish == Finish::Best
    }

    /// Takes the size of the area that shows the picture, pixels.
    pub fn resize(&mut self, area: UVec2) {
        let area = area.clamp(UVec2::splat(16), UVec2::splat(8192));
        if area != self.area {
            self.area = area;
            self.redraw();
        }
    }
}

/// An empty picture that can be drawn into and read back.
pub(super) fn target(size: UVec2) -> Image {
    let mut image = Image::new_target_texture(size.x, size.y, TextureFormat::Rgba8UnormSrgb, None);
    image.texture_descriptor.usage |= TextureUsages::COPY_SRC;
    image
}

/// The camera of the stage.
#[derive(Component)]
pub struct StageCamera;

/// The mesh of the body.
#[derive(Component)]
struct PersonMesh;

/// The mesh of somebody else in the same rig.
#[derive(Component)]
struct GhostMesh;

/// The mesh of the state that is compared with.
#[derive(Component)]
struct KeptMesh;

/// The mesh of the rig.
#[derive(Component)]
struct RigMesh;

/// The mesh of a part as it stood before it was taken in hand.
#[derive(Component)]
struct WasMesh;

/// Somebody else in the same rig.
#[derive(Debug)]
pub struct Ghost {
    /// What was found of them.
    pub study: Study,
    /// Their skin.
    pub skin: Skin,
}

impl Ghost {
    /// The driver of `project`.
    pub fn of(project: &Checked, detail: SkinDetail) -> Self {
        let study = study::check(project);
        let skin = Skin::of(&study.solved.body, mm(project.wheel.tube_mm / 2.0), detail);
        Self { study, skin }
    }
}

/// What stands on the stage.
#[derive(Debug, Default, Resource)]
pub struct Shown {
    /// The latest good study.
    pub study: Option<Arc<Study>>,
    /// The skin of its driver, once it is made.
    pub skin: Option<Arc<Skin>>,
    /// Where wheel and pedals stand.
    pub moment: Moment,
    /// The body then.
    pub posture: Option<Posture>,
    /// Somebody else, shown as a ghost.
    pub ghost: Option<Arc<Ghost>>,
    /// A kept state, shown as a veil beside the present one.
    pub kept: Option<Arc<Ghost>>,
}

impl Shown {
    /// Moves wheel and pedals, and the body with them.
    pub fn go_to(&mut self, moment: Moment) {
        self.moment = moment;
        self.posture = self.study.as_ref().map(|study| study.solved.posture_at(&moment));
    }

    /// Shows somebody else as a ghost, or nobody.
    pub fn set_ghost(&mut self, ghost: Option<Arc<Ghost>>) {
        self.ghost = ghost;
    }

    /// Shows another study at the same moment.
    pub fn set_study(&mut self, study: Arc<Study>) {
        self.study = Some(study);
        self.go_to(self.moment);
    }
}

/// Pipelines that the renderer still waits for.
#[derive(Clone, Default, Resource)]
pub struct Waiting(Arc<AtomicUsize>);

impl Waiting {
    /// How many.
    pub fn count(&self) -> usize {
        self.0.load(Ordering::Relaxed)
    }
}

/// The stage with everything on it.
pub struct ScenePlugin;

impl Plugin for ScenePlugin {
    fn build(&self, app: &mut App) {
        let waiting = Waiting::default();
        app.add_plugins((MatterPlugin, GroundPlugin, FilmPlugin))
            .init_resource::<Shown>()
            .init_resource::<View>()
            .init_resource::<Choice>()
            .init_resource::<Was>()
            .init_resource::<Standing>()
            .init_resource::<Moulder>()
            .insert_resource(DirectionalLightShadowMap { size: 1024 })
            .insert_resource(waiting.clone())
            .add_systems(PreStartup, set_stage)
            .add_systems(
                PostUpdate,
                (
                    build,
                    hang_was.run_if(resource_changed::<Was>),
                    cut.run_if(resource_changed::<Choice>),
                    film::hang,
                    film::go,
                    ground::recolour,
                    relight,
                    camera::fly,
                    camera::place_camera,
                    ground::turn_sheets,
                    draw,
                )
                    .chain()
                    .in_set(ViewerSystems::Present),
            );
        if let Some(render) = app.get_sub_app_mut(RenderApp) {
            render.insert_resource(waiting).add_systems(Render, count_waiting.in_set(RenderSystems::Cleanup));
        }
    }

    fn finish(&self, app: &mut App) {
        if !app.world().contains_resource::<Quality>() {
            let quality = app.world().get_resource::<RenderAdapterInfo>().map_or(Quality::Spare, Quality::of);
            app.insert_resource(quality);
        }
        // There are no lamps to be sorted into clusters: without them that is less work for the processor.
        if let Some(mut clusters) = app.world_mut().get_resource_mut::<GlobalClusterSettings>() {
            clusters.gpu_clustering = None;
        }
    }
}

fn count_waiting(cache: Res<PipelineCache>, waiting: Res<Waiting>) {
    waiting.0.store(cache.waiting_pipelines().count(), Ordering::Relaxed);
}

fn set_stage(
    mut commands: Commands,
    theme: Res<Theme>,
    quality: Res<Quality>,
    mut images: ResMut<Assets<Image>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut matters: ResMut<Assets<Matte>>,
) {
    let size = UVec2::new(800, 600);
    let image = images.add(target(size));
    commands.spawn((
        StageCamera,
        Camera3d::default(),
        Camera {
            order: -1,
            clear_color: ClearColorConfig::Custom(Color::LinearRgba(linear(theme.paper))),
            ..default()
        },
        RenderTarget::Image(image.clone().into()),
        // The materials bend their own highlights.
        Tonemapping::None,
        Msaa::Sample4,
        quality.shadow_filter(),
    ));
    let finish = Finish::Draft(Instant::now());
    commands.insert_resource(Stage { image, area: size, size, frames: Stage::FIRST_FRAMES, finish });

    commands.spawn((
        DirectionalLight { shadow_maps_enabled: *quality == Quality::Full, ..default() },
        Transform::from_xyz(1.0, 2.0, 1.0).looking_at(Vec3::ZERO, Vec3::Y),
    ));

    let (matte, plain) = (matters.add(Matte::of(&theme)), matters.add(Matte::plain(&theme)));
    let mut stand = || {
        let [whole, draft] = [(), ()].map(|()| meshes.add(Form::default().mesh()));
        let looks = ByCare { whole: matte.clone(), draft: plain.clone() };
        (Mesh3d(whole.clone()), ByCare { whole, draft }, MeshMaterial3d(matte.clone()), looks, NoFrustumCulling)
    };
    commands.spawn((PersonMesh, stand()));
    commands.spawn((RigMesh, stand()));
    let veil = matters.add(Matte::veil(&theme));
    let mesh = meshes.add(Form::default().mesh());
    commands.spawn((GhostMesh, Mesh3d(mesh.clone()), MeshMaterial3d(veil.clone()), NoFrustumCulling, NotShadowCaster));
    let mesh = meshes.add(Form::default().mesh());
    commands.spawn((KeptMesh, Mesh3d(mesh), MeshMaterial3d(veil.clone()), NoFrustumCulling, NotShadowCaster));
    let mesh = meshes.add(Form::default().mesh());
    commands.spawn((WasMesh, Mesh3d(mesh), MeshMaterial3d(veil), NoFrustumCulling, NotShadowCaster));
}

/// How long a frame waits for what is to stand there, where the processor draws: sooner than drawing it twice.
const PATIENCE: Duration = Duration::from_millis(60);

/// Asks for the meshes of what is shown, and hangs those that are ready.
fn build(
    shown: Res<Shown>,
    choice: Res<Choice>,
    theme: Res<Theme>,
    quality: Res<Quality>,
    mut moulder: ResMut<Moulder>,
    mut standing: ResMut<Standing>,
    mut view: ResMut<View>,
    mut stage: ResMut<Stage>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut papers: ResMut<Assets<Paper>>,
    mut images: ResMut<Assets<Image>>,
    picture: Option<Res<FloorPicture>>,
    (person, machine): (
        Single<&ByCare<Handle<Mesh>>, (With<PersonMesh>, Without<RigMesh>)>,
        Single<&ByCare<Handle<Mesh>>, (With<RigMesh>, Without<PersonMesh>)>,
    ),
    (ghost, kept): (Single<&Mesh3d, With<GhostMesh>>, Single<&Mesh3d, With<KeptMesh>>),
    mut held: Local<Option<(usize, usize)>>,
) -> Result {
    let is_spare = *quality == Quality::Spare;
    let care = if shown.is_changed() || choice.is_changed() || theme.is_changed() {
        Some(if is_spare { Care::Draft } else { Care::Whole })
    } else {
        // What stands still is made with care.
        (stage.is_calm() && moulder.care() == Some(Care::Draft)).then_some(Care::Whole)
    };
    if let Some(model) = care.and_then(|care| Model::of(&shown, &choice, &theme, care)) {
        moulder.ask(model);
    }
    let patience = if is_spare { PATIENCE } else { Duration::ZERO };
    let Some(cast) = moulder.take(patience) else { return Ok(()) };
    if let Some(picture) = picture {
        ground::cast(cast.shadow, &picture, &mut images, &mut papers)?;
    }
    if cast.what.is_some() && *held != cast.what {
        *held = cast.what;
        view.hold(cast.bounds);
    }
    meshes.insert(machine.with(cast.care), cast.machine)?;
    meshes.insert(person.with(cast.care), cast.person)?;
    meshes.insert(&ghost.0, cast.ghost)?;
    meshes.insert(&kept.0, cast.kept)?;
    *standing = cast.standing;
    if is_spare && cast.care == Care::Whole {
        stage.finish();
    } else {
        stage.redraw();
    }
    Ok(())
}

/// Hangs the part that is being moved where it stood before.
fn hang_was(
    was: Res<Was>,
    shown: Res<Shown>,
    theme: Res<Theme>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut stage: ResMut<Stage>,
    mesh: Single<&Mesh3d, With<WasMesh>>,
) -> Result {
    let form = was
        .0
        .as_ref()
        .map_or_else(Form::default, |(handle, study)| rig::part(&study.solved.rig, &shown.moment, *handle, &theme));
    meshes.insert(&mesh.0, form.mesh())?;
    stage.redraw();
    Ok(())
}

/// Cuts the stage open, or closes it.
fn cut(choice: Res<Choice>, mut matters: ResMut<Assets<Matte>>, mut last: Local<Option<Cut>>) {
    if *last == choice.cut {
        return;
    }
    *last = choice.cut;
    let plane = choice.cut.map(|cut| (Point::ith(cut.axis, 1.0), cut.at));
    let ids: Vec<_> = matters.ids().collect();
    for id in ids {
        if let Some(mut matte) = matters.get_mut(id) {
            matte.cut(plane);
        }
    }
}

/// Gives light and air the theme's colours.
fn relight(theme: Res<Theme>, mut matters: ResMut<Assets<Matte>>, mut camera: Single<&mut Camera, With<StageCamera>>) {
    if !theme.is_changed() {
        return;
    }
    camera.clear_color = ClearColorConfig::Custom(Color::LinearRgba(linear(theme.paper)));
    let ids: Vec<_> = matters.ids().collect();
    for id in ids {
        if let Some(mut matte) = matters.get_mut(id) {
            matte.relight(&theme);
        }
    }
}

/// Draws while something is new, and asks for the frames that this takes.
fn draw(
    mut stage: ResMut<Stage>,
    view: Res<View>,
    waiting: Res<Waiting>,
    quality: Res<Quality>,
    moulder: Res<Moulder>,
    camera: Single<(&mut Camera, &mut Msaa), With<StageCamera>>,
    mut shapes: Query<(&mut Mesh3d, &ByCare<Handle<Mesh>>)>,
    mut looks: Query<(&mut MeshMaterial3d<Matte>, &ByCare<Handle<Matte>>)>,
    mut images: ResMut<Assets<Image>>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if view.flies() {
        stage.redraw();
    }
    if waiting.count() > 0 {
        stage.frames = stage.frames.max(Stage::FRAMES);
    }
    let is_due = *quality == Quality::Full || (stage.is_calm() && moulder.care() == Some(Care::Whole));
    if stage.finish != Finish::Best && is_due {
        stage.finish();
    }

    let best = stage.finish == Finish::Best;
    let care = if best { Care::Whole } else { Care::Draft };
    for (mut mesh, shape) in &mut shapes {
        if mesh.0 != *shape.with(care) {
            mesh.0 = shape.with(care).clone();
        }
    }
    for (mut matte, look) in &mut looks {
        if matte.0 != *look.with(care) {
            matte.0 = look.with(care).clone();
        }
    }
    let size = if best { stage.area } else { (stage.area.as_vec2() * Stage::DRAFT).as_uvec2().max(UVec2::splat(16)) };
    if stage.frames > 0
        && stage.size != size
        && let Some(mut image) = images.get_mut(&stage.image)
    {
        *image = target(size);
        stage.size = size;
    }
    let (mut camera, mut msaa) = camera.into_inner();
    let wanted = if best { Msaa::Sample4 } else { Msaa::Off };
    if *msaa != wanted {
        *msaa = wanted;
    }
    let active = stage.frames > 0;
    if camera.is_active != active {
        camera.is_active = active;
    }
    if active {
        stage.frames -= 1;
        redraw.write(RequestRedraw);
    }
}

/// A picture area in points, as the eye takes it.
pub fn area(rect: egui::Rect) -> [f64; 2] {
    [f64::from(rect.width()), f64::from(rect.height())]
}
