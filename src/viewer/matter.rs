//! The one material of body and rig, and the meshes that carry it.

use std::ops::Range;

use bevy::{
    asset::{RenderAssetUsages, embedded_asset},
    color::LinearRgba,
    mesh::{Indices, MeshVertexBufferLayoutRef, PrimitiveTopology},
    pbr::{MaterialPipeline, MaterialPipelineKey},
    prelude::*,
    render::render_resource::{AsBindGroup, RenderPipelineDescriptor, SpecializedMeshPipelineError},
    shader::ShaderRef,
};

use bevy_egui::egui::Color32;

use super::{
    scene::bevy_from_world,
    theme::{Matter, Theme, linear},
};
use crate::{geometry::Vec3 as Point, rig::RigPart};

/// How much of what lies behind a veil it hides.
const VEIL: f32 = 0.38;
/// The same of a limb that goes somewhere.
const GOING: f32 = 0.68;

/// Matte matter in studio light; colour, gloss and softness come with each vertex. The sky's alpha is how much it hides
/// of what lies behind.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
#[bind_group_data(MatteKey)]
pub struct Matte {
    #[uniform(0)]
    sky: LinearRgba,
    #[uniform(0)]
    bounce: LinearRgba,
    /// A plane, normal and place along it in the engine's coordinates: what lies beyond it is not drawn. Without a
    /// normal everything is.
    #[uniform(0)]
    cut: Vec4,
    /// Without gloss: for a processor that draws what moves.
    plain: bool,
}

/// What a pipeline of the material depends on.
#[derive(Clone, Copy, Debug, Hash, PartialEq, Eq)]
pub struct MatteKey {
    cut: bool,
    plain: bool,
}

impl From<&Matte> for MatteKey {
    fn from(matte: &Matte) -> Self {
        Self { cut: matte.cut.truncate() != Vec3::ZERO, plain: matte.plain }
    }
}

impl Matte {
    /// In the light of a theme.
    pub fn of(theme: &Theme) -> Self {
        Self { sky: linear(theme.sky), bounce: linear(theme.bounce), cut: Vec4::ZERO, plain: false }
    }

    /// The same without gloss.
    pub fn plain(theme: &Theme) -> Self {
        Self { plain: true, ..Self::of(theme) }
    }

    /// The same, but one sees through it.
    pub fn veil(theme: &Theme) -> Self {
        Self { sky: linear(theme.sky).with_alpha(VEIL), ..Self::of(theme) }
    }

    /// The same, denser: a limb that goes somewhere among what one sees through.
    pub fn going(theme: &Theme) -> Self {
        Self { sky: linear(theme.sky).with_alpha(GOING), ..Self::of(theme) }
    }

    /// Puts it into the light of another theme.
    pub fn relight(&mut self, theme: &Theme) {
        *self = Self {
            sky: linear(theme.sky).with_alpha(self.sky.alpha),
            cut: self.cut,
            plain: self.plain,
            ..Self::of(theme)
        };
    }

    /// Leaves out what lies beyond a plane (normal and place along it, W, m), or nothing.
    pub fn cut(&mut self, plane: Option<(Point, f64)>) {
        self.cut = plane.map_or(Vec4::ZERO, |(normal, at)| bevy_from_world(normal).extend(at as f32));
    }
}

impl Material for Matte {
    fn fragment_shader() -> ShaderRef {
        "embedded://heelpoint/viewer/shaders/matte.wgsl".into()
    }

    fn alpha_mode(&self) -> AlphaMode {
        if self.sky.alpha < 1.0 { AlphaMode::Blend } else { AlphaMode::Opaque }
    }

    fn depth_bias(&self) -> f32 {
        // Bodies that one sees through are drawn after the boundaries of reach.
        if self.sky.alpha < 1.0 { 50_000.0 } else { 0.0 }
    }

    fn enable_prepass() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _: &MeshVertexBufferLayoutRef,
        key: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        if key.bind_group_data.cut {
            // What is cut open shows its inside.
            descriptor.primitive.cull_mode = None;
        }
        if key.bind_group_data.plain
            && let Some(fragment) = &mut descriptor.fragment
        {
            fragment.shader_defs.push("PLAIN".into());
        }
        Ok(())
    }
}

/// Brings the material and its shader.
pub struct MatterPlugin;

impl Plugin for MatterPlugin {
    fn build(&self, app: &mut App) {
        embedded_asset!(app, "shaders/matte.wgsl");
        app.add_plugins(MaterialPlugin::<Matte>::default());
    }
}

/// Vertices and triangles on their way to the renderer.
#[derive(Clone, Debug, Default)]
pub struct Form {
    /// Positions, W, m.
    pub positions: Vec<Point>,
    /// Unit normals, W.
    pub normals: Vec<Point>,
    /// What each vertex is made of.
    pub matter: Vec<Matter>,
    /// How open each vertex lies, 0 in a fold to 1; empty where not known.
    pub open: Vec<f32>,
    /// Triangles, anticlockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Which triangles belong to which part of the rig.
    pub pieces: Vec<(RigPart, Range<usize>)>,
}

impl Form {
    /// Adds a part that is made of one matter.
    pub fn add(&mut self, positions: &[Point], normals: &[Point], triangles: &[[u32; 3]], matter: Matter) {
        let base = self.positions.len() as u32;
        self.positions.extend_from_slice(positions);
        self.normals.extend_from_slice(normals);
        self.matter.resize(self.positions.len(), matter);
        self.triangles.extend(triangles.iter().map(|triangle| triangle.map(|index| index + base)));
    }

    /// Whether some place of it lies where the other has none: more than `within` m away.
    pub fn is_elsewhere(&self, other: &Self, within: f64) -> bool {
        self.positions.len() != other.positions.len()
            || self.positions.iter().zip(&other.positions).any(|(a, b)| (a - b).norm_squared() > within * within)
    }

    /// As a mesh for the renderer, which takes none without vertices: nothing is a triangle without a size.
    pub fn mesh(&self) -> Mesh {
        if self.triangles.is_empty() {
            let nothing = Matter { colour: Color32::TRANSPARENT, gloss: 0.0, soft: 0.0 };
            let mut form = Self::default();
            form.add(&[Point::zeros(); 3], &[Point::z(); 3], &[[0, 1, 2]], nothing);
            return form.mesh();
        }
        // Neighbours are mostly of one matter.
        let mut last = (Color32::TRANSPARENT, linear(Color32::TRANSPARENT));
        let mut colours = Vec::with_capacity(self.matter.len());
        for (index, matter) in self.matter.iter().enumerate() {
            if matter.colour != last.0 {
                last = (matter.colour, linear(matter.colour));
            }
            let open = self.open.get(index).copied().unwrap_or(1.0);
            colours.push([last.1.red, last.1.green, last.1.blue, open]);
        }
        let finish: Vec<[f32; 2]> = self.matter.iter().map(|matter| [matter.gloss, matter.soft]).collect();
        let place = |points: &[Point]| points.iter().map(|p| bevy_from_world(*p).to_array()).collect::<Vec<_>>();
        Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
            .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, place(&self.positions))
            .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, place(&self.normals))
            .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, finish)
            .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, colours)
            .with_inserted_indices(Indices::U32(self.triangles.as_flattened().to_vec()))
    }
}
