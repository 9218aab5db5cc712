//! The drawing paper: a floor with a metric grid and a contact shadow, and upright sheets behind side and front view.

use bevy::{
    asset::{RenderAssetUsages, embedded_asset},
    color::LinearRgba,
    image::{ImageAddressMode, ImageSampler, ImageSamplerDescriptor},
    mesh::{Indices, PrimitiveTopology},
    prelude::*,
    render::render_resource::{AsBindGroup, Extent3d, TextureDimension, TextureFormat},
    shader::ShaderRef,
};

use super::{
    camera::View,
    scene::{Stage, bevy_from_world},
    shade::FloorShadow,
    theme::{Theme, linear},
};
use crate::geometry::Vec3 as Point;

/// Half the side of a sheet, m; its grid has faded long before.
const REACH: f64 = 30.0;
/// Where the grid has faded, m from the middle.
const FADE: f32 = 3.6;

/// Paper with a metric grid.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct Paper {
    #[uniform(0)]
    ground: LinearRgba,
    #[uniform(0)]
    fine: LinearRgba,
    #[uniform(0)]
    strong: LinearRgba,
    #[uniform(0)]
    shadow_at: Vec4,
    #[uniform(0)]
    fade: Vec4,
    #[texture(1)]
    #[sampler(2)]
    shadow: Handle<Image>,
}

impl Material for Paper {
    fn fragment_shader() -> ShaderRef {
        "embedded://heelpoint/viewer/shaders/ground.wgsl".into()
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }
}

/// Which sheet a ground is.
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sheet {
    /// The floor.
    Floor,
    /// Behind the side view: the plane of x and z.
    BehindSide,
    /// Behind the front view: the plane of y and z.
    BehindFront,
}

impl Sheet {
    const ALL: [Self; 3] = [Self::Floor, Self::BehindSide, Self::BehindFront];

    /// Origin and the two axes of the sheet's own coordinates, W.
    fn frame(self) -> [Point; 3] {
        match self {
            // A hair below the floor, so that parts that stand on it are whole.
            Self::Floor => [Point::new(0.0, 0.0, -0.002), Point::x(), Point::y()],
            Self::BehindSide => [Point::new(0.0, -3.0, 0.0), -Point::x(), Point::z()],
            Self::BehindFront => [Point::new(-6.0, 0.0, 0.0), Point::y(), Point::z()],
        }
    }

    fn mesh(self) -> Mesh {
        let [origin, u, v] = self.frame();
        let corners = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
        let at = |[a, b]: [f64; 2]| bevy_from_world(origin + (u * a + v * b) * REACH).to_array();
        let normal = bevy_from_world(u.cross(&v)).to_array();
        // Sheet coordinates in the direction of the world's axes, m.
        let sign = if self == Self::BehindSide { -1.0 } else { 1.0 };
        let uv = |[a, b]: [f64; 2]| [(sign * a * REACH) as f32, (b * REACH) as f32];
        Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
            .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, corners.map(at).to_vec())
            .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, vec![normal; 4])
            .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, corners.map(uv).to_vec())
            .with_inserted_indices(Indices::U32(vec![0, 1, 2, 0, 2, 3]))
    }
}

/// The shadow to be shown on the floor.
#[derive(Resource)]
pub struct FloorPicture(Handle<Image>);

/// Brings the paper.
pub struct GroundPlugin;

impl Plugin for GroundPlugin {
    fn build(&self, app: &mut App) {
        embedded_asset!(app, "shaders/ground.wgsl");
        app.add_plugins(MaterialPlugin::<Paper>::default()).add_systems(Startup, lay);
    }
}

fn shadow_image(picture: Vec<u8>) -> Image {
    let [width, height] = FloorShadow::PIXELS.map(|pixels| pixels as u32);
    let size = Extent3d { width, height, depth_or_array_layers: 1 };
    let mut image =
        Image::new(size, TextureDimension::D2, picture, TextureFormat::R8Unorm, RenderAssetUsages::RENDER_WORLD);
    image.sampler = ImageSampler::Descriptor(ImageSamplerDescriptor {
        address_mode_u: ImageAddressMode::ClampToEdge,
        address_mode_v: ImageAddressMode::ClampToEdge,
        ..ImageSamplerDescriptor::linear()
    });
    image
}

fn lay(
    mut commands: Commands,
    theme: Res<Theme>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut papers: ResMut<Assets<Paper>>,
    mut images: ResMut<Assets<Image>>,
) {
    let picture = images.add(shadow_image(vec![0; FloorShadow::PIXELS.iter().product()]));
    for sheet in Sheet::ALL {
        let mut paper = Paper {
            ground: LinearRgba::BLACK,
            fine: LinearRgba::BLACK,
            strong: LinearRgba::BLACK,
            shadow_at: Vec4::new(0.0, 0.0, 1.0, 1.0),
            fade: Vec4::new(0.7, if sheet == Sheet::Floor { 0.0 } else { 0.6 }, FADE, 0.0),
            shadow: picture.clone(),
        };
        paper.colour(sheet, &theme);
        commands.spawn((sheet, Mesh3d(meshes.add(sheet.mesh())), MeshMaterial3d(papers.add(paper))));
    }
    commands.insert_resource(FloorPicture(picture));
}

impl Paper {
    fn colour(&mut self, sheet: Sheet, theme: &Theme) {
        let alpha = |colour: LinearRgba, alpha: f32| LinearRgba { alpha, ..colour };
        self.ground = linear(theme.paper);
        self.fine = alpha(linear(theme.grid_fine), if sheet == Sheet::Floor { 1.0 } else { 0.0 });
        self.strong = alpha(linear(theme.grid_strong), theme.shadow);
    }
}

/// Gives the paper the theme's colours.
pub fn recolour(
    theme: Res<Theme>,
    sheets: Query<(&Sheet, &MeshMaterial3d<Paper>)>,
    mut papers: ResMut<Assets<Paper>>,
    mut stage: ResMut<Stage>,
) {
    if !theme.is_changed() {
        return;
    }
    for (sheet, material) in &sheets {
        if let Some(mut paper) = papers.get_mut(&material.0) {
            paper.colour(*sheet, &theme);
        }
    }
    stage.redraw();
}

/// Lets a shadow fall on the floor.
pub fn cast(
    shadow: FloorShadow,
    picture: &FloorPicture,
    images: &mut Assets<Image>,
    papers: &mut Assets<Paper>,
) -> Result<(), bevy::asset::InvalidGenerationError> {
    let at = Vec4::new(shadow.corner[0] as f32, shadow.corner[1] as f32, shadow.size[0] as f32, shadow.size[1] as f32);
    images.insert(&picture.0, shadow_image(shadow.picture))?;
    let ids: Vec<_> = papers.ids().collect();
    for id in ids {
        if let Some(mut paper) = papers.get_mut(id) {
            paper.shadow_at = at;
        }
    }
    Ok(())
}

/// Shows the sheet that a view is drawn on: the floor from above, an upright one behind a level parallel view.
pub fn turn_sheets(view: Res<View>, mut sheets: Query<(&Sheet, &mut Visibility)>) {
    let eye = &view.eye;
    let level = eye.is_parallel() && eye.elevation.abs() < 0.02;
    let [_, _, back] = eye.axes();
    for (sheet, mut visibility) in &mut sheets {
        let shown = match sheet {
            Sheet::Floor => !level,
            Sheet::BehindSide => level && back.y > 0.999,
            Sheet::BehindFront => level && back.x > 0.999,
        };
        let wanted = if shown { Visibility::Inherited } else { Visibility::Hidden };
        if *visibility != wanted {
            *visibility = wanted;
        }
    }
}
