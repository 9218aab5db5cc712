//! The boundaries of reach on the stage: films in the order in which they lie in one another, and the limb that goes to
//! the point under the pointer.

use bevy::{
    asset::{RenderAssetUsages, embedded_asset},
    camera::visibility::NoFrustumCulling,
    color::LinearRgba,
    light::NotShadowCaster,
    mesh::{Indices, MeshVertexBufferLayoutRef, PrimitiveTopology},
    pbr::{MaterialPipeline, MaterialPipelineKey},
    prelude::*,
    render::render_resource::{AsBindGroup, Face, RenderPipelineDescriptor, SpecializedMeshPipelineError},
    shader::ShaderRef,
};

use super::{Cut, ReachPage, Tint};
use crate::{
    geometry::Vec3 as Point,
    viewer::{
        camera::{Bounds, View},
        matter::{Form, Matte},
        mould::ByCare,
        person,
        scene::{Shown, Stage, bevy_from_world},
        theme::{Ground, Theme, linear},
    },
};

/// From one level line to the next, m.
const LEVELS: f32 = 0.1;

/// What a boundary looks like.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug, PartialEq)]
#[bind_group_data(FilmKey)]
pub struct Film {
    #[uniform(0)]
    colour: LinearRgba,
    #[uniform(0)]
    cut: Vec4,
    #[uniform(0)]
    lines: Vec4,
    #[uniform(0)]
    axis: Vec4,
    /// Its place among the films; later ones are drawn over earlier ones.
    order: i8,
    /// The far side, seen from within.
    far: bool,
}

/// What of a film makes another pipeline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(C)]
pub struct FilmKey {
    far: bool,
}

impl From<&Film> for FilmKey {
    fn from(film: &Film) -> Self {
        Self { far: film.far }
    }
}

impl Film {
    /// The far sides come first, the outermost before the innermost; then the near sides the other way round. Each film
    /// is drawn whole and none hides another, so that films which lie on one another do not fight.
    fn of(tint: Tint, far: bool, middle: Point, cut: Option<Before>, theme: &Theme) -> Self {
        let index = tint.index() as i8;
        // An inner film shows through those outside it: it is the denser one.
        let (square, edge) = match tint {
            Tint::Place => (0.42, 0.75),
            _ if theme.ground == Ground::Graphite => ([0.17, 0.06, 0.04, 0.03][tint.index() % 4], 0.42),
            _ => ([0.30, 0.13, 0.10, 0.09][tint.index() % 4], 0.66),
        };
        let weaker = if far { 0.55 } else { 1.0 };
        let (length, share) = match tint.index() {
            0 | 4 => (1.0, 1.0),
            1 => (0.060, 0.72),
            2 => (0.034, 0.60),
            _ => (0.016, 0.42),
        };
        let lines = if far { 0.0 } else { 0.42 };
        let middle = bevy_from_world(middle);
        Self {
            colour: linear(theme.reach(tint)).with_alpha(square * weaker),
            cut: cut.map_or(Vec4::ZERO, |cut| cut.half),
            lines: Vec4::new(LEVELS, length, share, lines),
            axis: Vec4::new(middle.x, middle.z, cut.map_or(1.0, |cut| cut.left), edge * weaker),
            order: if far { -10 - index } else { 10 + index },
            far,
        }
    }
}

impl Material for Film {
    fn fragment_shader() -> ShaderRef {
        "embedded://heelpoint/viewer/reach/film.wgsl".into()
    }

    fn alpha_mode(&self) -> AlphaMode {
        AlphaMode::Blend
    }

    fn depth_bias(&self) -> f32 {
        // More than the stage is deep.
        f32::from(self.order) * 1000.0
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _: &MeshVertexBufferLayoutRef,
        key: MaterialPipelineKey<Self>,
    ) -> std::result::Result<(), SpecializedMeshPipelineError> {
        descriptor.primitive.cull_mode = Some(if key.bind_group_data.far { Face::Front } else { Face::Back });
        Ok(())
    }
}

/// A film on the stage.
#[derive(Component)]
pub struct FilmMesh;

/// The limb that goes to the point under the pointer.
#[derive(Component)]
pub struct GoingMesh;

/// Brings the films.
pub struct FilmPlugin;

impl Plugin for FilmPlugin {
    fn build(&self, app: &mut App) {
        embedded_asset!(app, "film.wgsl");
        app.add_plugins(MaterialPlugin::<Film>::default()).init_resource::<ReachPage>();
    }
}

fn mesh(mesh: &crate::geometry::Mesh) -> Mesh {
    let place = |points: &[Point]| points.iter().map(|p| bevy_from_world(*p).to_array()).collect::<Vec<_>>();
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, place(&mesh.positions))
        .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, place(&mesh.normals))
        .with_inserted_indices(Indices::U32(mesh.triangles.as_flattened().to_vec()))
}

/// The half of the room before a section.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Before {
    /// Its direction and where it begins, as the renderer takes it.
    half: Vec4,
    /// What of a film is left there: nothing in a view true to scale, a hint of the whole in perspective.
    left: f32,
}

fn before(cut: Cut, page: &ReachPage, shown: &Shown, view: &View) -> Option<Before> {
    let plane = page.plane(cut, shown.study.as_deref()?);
    let normal = cut.normal();
    let [.., back] = view.eye.axes();
    let eye = if view.eye.is_parallel() { back } else { view.eye.focus + back * view.eye.distance() - plane.origin };
    let normal = if eye.dot(&normal) < 0.0 { -normal } else { normal };
    let n = bevy_from_world(normal);
    let half = Vec4::new(n.x, n.y, n.z, plane.origin.dot(&normal) as f32);
    Some(Before { half, left: if view.eye.is_parallel() { 0.0 } else { 0.4 } })
}

/// What hangs on the stage, told apart cheaply.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hung {
    sheaths: Vec<u64>,
    cut: Option<Before>,
    ground: Option<Ground>,
}

/// Hangs the films that are seen.
pub fn hang(
    mut commands: Commands,
    page: Res<ReachPage>,
    shown: Res<Shown>,
    theme: Res<Theme>,
    mut view: ResMut<View>,
    mut stage: ResMut<Stage>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut films: ResMut<Assets<Film>>,
    on_stage: Query<Entity, With<FilmMesh>>,
    mut hung: Local<Hung>,
) {
    let cut = page.cut_in(&view).filter(|_| page.open).and_then(|cut| before(cut, &page, &shown, &view));
    let wanted = Hung { sheaths: page.seen().map(|sheath| sheath.id).collect(), cut, ground: Some(theme.ground) };
    if *hung == wanted {
        return;
    }
    *hung = wanted;
    for entity in &on_stage {
        commands.entity(entity).despawn();
    }
    for sheath in page.seen() {
        let whole = meshes.add(mesh(&sheath.surface.mesh));
        let draft = match &sheath.draft {
            Some(draft) => meshes.add(mesh(draft)),
            None => whole.clone(),
        };
        let middle = sheath.bounds.centre();
        for far in [true, false] {
            let film = films.add(Film::of(sheath.tint, far, middle, cut, &theme));
            let shape = ByCare { whole: whole.clone(), draft: draft.clone() };
            let seen = (Mesh3d(whole.clone()), MeshMaterial3d(film), NoFrustumCulling, NotShadowCaster);
            commands.spawn((FilmMesh, shape, seen));
        }
    }
    let bounds = page.seen().map(|sheath| sheath.bounds.clone()).reduce(|a, b: Bounds| a.with(&b));
    // While the page is open and its boundaries are only on their way, the view stays.
    if bounds.is_some() || !page.open {
        view.hold_beside(bounds);
    }
    stage.redraw();
}

/// Shows the limb going to the point under the pointer.
pub fn go(
    mut commands: Commands,
    page: Res<ReachPage>,
    shown: Res<Shown>,
    theme: Res<Theme>,
    mut stage: ResMut<Stage>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut matters: ResMut<Assets<Matte>>,
    limb: Option<Single<&Mesh3d, With<GoingMesh>>>,
    mut gone: Local<Option<Point>>,
) -> Result {
    let at = page.touched.as_ref().filter(|_| page.open).map(|touched| touched.at);
    if *gone == at {
        return Ok(());
    }
    *gone = at;
    let form = match (page.going(&shown), &shown.skin) {
        (Some((posture, bones)), Some(skin)) => person::limb(skin, &posture, &bones, &theme),
        _ => Form::default(),
    };
    if let Some(limb) = limb {
        meshes.insert(&limb.0, form.mesh())?;
    } else {
        let veil = matters.add(Matte::going(&theme));
        let mesh = meshes.add(form.mesh());
        commands.spawn((GoingMesh, Mesh3d(mesh), MeshMaterial3d(veil), NoFrustumCulling, NotShadowCaster));
    }
    stage.redraw();
    Ok(())
}
