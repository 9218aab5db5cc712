//! glTF 2.0: the triangles of a file's scene, with their nodes' places; buffers inside it or beside it.

use std::{borrow::Cow, path::Path};

use base64::{Engine, engine::general_purpose::STANDARD};
use gltf_json::{
    Index, Node, Root,
    accessor::{ComponentType, Type},
    mesh::{Mode, Primitive, Semantic},
    validation::Checked,
};
use nalgebra::{Matrix4, Point3, Quaternion, UnitQuaternion, Vector3};

use super::{Reading, Soup, TRIANGLES};

/// Nodes inside nodes, at most; and nodes visited, for one that stands inside itself is visited without end.
const DEPTH: usize = 64;
const VISITED: usize = 100_000;

/// A file being read.
struct File<'a> {
    root: Root,
    buffers: Vec<Cow<'a, [u8]>>,
    soup: Soup,
    visited: usize,
}

pub(super) fn read(bytes: &[u8], path: &Path) -> Reading {
    let (json, binary) = if bytes.starts_with(b"glTF") { chunks(bytes)? } else { (bytes, None) };
    let root = Root::from_slice(json).map_err(|error| error.to_string())?;
    if !root.asset.version.starts_with("2.") {
        return Err(format!("it is of version {}, not 2", root.asset.version));
    }
    if let Some(needed) = root.extensions_required.iter().find(|name| name.contains("compression")) {
        return Err(format!("it is compressed ({needed}): save it without compression"));
    }
    let mut buffers = Vec::new();
    for (at, buffer) in root.buffers.iter().enumerate() {
        let data = match (&buffer.uri, binary) {
            (Some(uri), _) => Cow::Owned(buffer_from(uri, path)?),
            (None, Some(binary)) => Cow::Borrowed(binary),
            (None, None) => return Err("its binary part is missing".to_owned()),
        };
        if (data.len() as u64) < buffer.byte_length.0 {
            return Err(format!("buffer {at} has {} bytes in place of {}", data.len(), buffer.byte_length.0));
        }
        buffers.push(data);
    }
    let scene = root.scene.map_or(0, |scene| scene.value());
    let nodes = root.scenes.get(scene).ok_or("it has no scene")?.nodes.clone();
    let mut file = File { root, buffers, soup: Soup::default(), visited: 0 };
    for node in nodes {
        file.put_node(node, &Matrix4::identity(), 0)?;
    }
    Ok(file.soup)
}

/// The JSON and the binary part of a binary file (glTF 2.0, chapter 4).
fn chunks(bytes: &[u8]) -> Result<(&[u8], Option<&[u8]>), String> {
    let mut rest = bytes.get(12..).ok_or("it ends in its head")?;
    let mut json = None;
    let mut binary = None;
    while let Some((head, behind)) = rest.split_at_checked(8) {
        let length = u32::from_le_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let data = behind.get(..length).ok_or("it ends in the middle of a part")?;
        match &head[4..] {
            b"JSON" if json.is_none() => json = Some(data),
            b"BIN\0" if binary.is_none() => binary = Some(data),
            _ => {}
        }
        rest = &behind[length..];
    }
    Ok((json.ok_or("its part of text is missing")?, binary))
}

fn buffer_from(uri: &str, path: &Path) -> Result<Vec<u8>, String> {
    if let Some(data) = uri.strip_prefix("data:") {
        let (_, text) = data.split_once(";base64,").ok_or("a buffer inside it is not in base 64")?;
        return STANDARD.decode(text).map_err(|error| format!("a buffer inside it is damaged: {error}"));
    }
    if uri.contains("://") {
        return Err(format!("its buffer {uri} lies elsewhere: save it beside the file"));
    }
    let beside = path.parent().unwrap_or_else(|| Path::new("")).join(uri.replace("%20", " "));
    super::bytes(&beside).map_err(|error| format!("its buffer is missing: {error}"))
}

impl File<'_> {
    fn put_node(&mut self, node: Index<Node>, above: &Matrix4<f64>, depth: usize) -> Result<(), String> {
        self.visited += 1;
        if depth > DEPTH || self.visited > VISITED {
            return Err("its nodes stand inside one another without end".to_owned());
        }
        let lacks = || format!("node {} is not there", node.value());
        let node = self.root.nodes.get(node.value()).ok_or_else(lacks)?;
        let place = above * place_of(node);
        let children = node.children.clone().unwrap_or_default();
        if let Some(mesh) = node.mesh {
            let lacks = || format!("mesh {} is not there", mesh.value());
            let primitives = self.root.meshes.get(mesh.value()).ok_or_else(lacks)?.primitives.clone();
            for primitive in &primitives {
                self.put(primitive, &place)?;
            }
        }
        for child in children {
            // More are not taken: whoever called says so.
            if self.soup.triangles.len() <= TRIANGLES {
                self.put_node(child, &place, depth + 1)?;
            }
        }
        Ok(())
    }

    fn put(&mut self, primitive: &Primitive, place: &Matrix4<f64>) -> Result<(), String> {
        let Some(positions) = primitive.attributes.get(&Checked::Valid(Semantic::Positions)) else { return Ok(()) };
        let first = self.soup.points.len() as u32;
        let items = self.items(positions.value(), &[ComponentType::F32], Type::Vec3)?;
        let points: Vec<[f32; 3]> = items
            .map(|item| {
                let number = |at: usize| f32::from_le_bytes([item[at], item[at + 1], item[at + 2], item[at + 3]]);
                let [x, y, z] = [0, 4, 8].map(|at| f64::from(number(at)));
                let point = place.transform_point(&Point3::new(x, y, z));
                [point.x as f32, point.y as f32, point.z as f32]
            })
            .collect();
        let corners: Vec<u32> = match primitive.indices {
            None => (0..points.len() as u32).collect(),
            Some(indices) => {
                let number = |item: &[u8]| item.iter().rev().fold(0, |value, &byte| value << 8 | u32::from(byte));
                const WHOLE: &[ComponentType] = &[ComponentType::U8, ComponentType::U16, ComponentType::U32];
                self.items(indices.value(), WHOLE, Type::Scalar)?.map(number).collect()
            }
        };
        self.soup.points.extend(points);
        let corners: Vec<u32> = corners.into_iter().map(|corner| first.saturating_add(corner)).collect();
        let Checked::Valid(mode) = primitive.mode else { return Err("a shape of it is of no known kind".to_owned()) };
        let triangles = &mut self.soup.triangles;
        match mode {
            Mode::Triangles => triangles.extend(corners.as_chunks::<3>().0),
            Mode::TriangleStrip => triangles.extend(corners.windows(3).enumerate().map(|(at, three)| {
                // Every other triangle of a strip runs the other way.
                if at % 2 == 0 { [three[0], three[1], three[2]] } else { [three[1], three[0], three[2]] }
            })),
            Mode::TriangleFan => {
                triangles.extend(corners.windows(2).skip(1).map(|two| [corners[0], two[0], two[1]]));
            }
            Mode::Points | Mode::Lines | Mode::LineLoop | Mode::LineStrip => {}
        }
        Ok(())
    }

    /// The items of an accessor, once it is sure that they are of these kinds and all there.
    fn items(
        &self,
        at: usize,
        kinds: &[ComponentType],
        type_: Type,
    ) -> Result<impl Iterator<Item = &[u8]> + use<'_>, String> {
        let lacks = || format!("accessor {at} reaches beyond its buffer");
        let accessor = self.root.accessors.get(at).ok_or_else(lacks)?;
        let kind = match accessor.component_type {
            Checked::Valid(kind) if kinds.contains(&kind.0) && accessor.type_ == Checked::Valid(type_) => kind.0,
            _ => return Err(format!("accessor {at} is of no kind that is read: save it without compression")),
        };
        if accessor.sparse.is_some() {
            return Err(format!("accessor {at} is written sparsely: save it without morph targets"));
        }
        let size = kind.size() * type_.multiplicity();
        let whole = |number: u64| usize::try_from(number).ok();
        let data = || {
            let view = self.root.buffer_views.get(accessor.buffer_view?.value())?;
            let begin = whole(view.byte_offset.map_or(0, |offset| offset.0))?;
            let end = begin.checked_add(whole(view.byte_length.0)?)?;
            let data = self.buffers.get(view.buffer.value())?.get(begin..end)?;
            let data = data.get(whole(accessor.byte_offset.map_or(0, |offset| offset.0))?..)?;
            let (stride, count) = (view.byte_stride.map_or(size, |stride| stride.0).max(1), whole(accessor.count.0)?);
            let needed = count.checked_sub(1).map_or(Some(0), |last| last.checked_mul(stride)?.checked_add(size))?;
            (needed <= data.len()).then_some((data, stride, count))
        };
        let (data, stride, count) = data().ok_or_else(lacks)?;
        Ok((0..count).map(move |at| &data[at * stride..at * stride + size]))
    }
}

/// A node's place in the one above it.
fn place_of(node: &Node) -> Matrix4<f64> {
    if let Some(matrix) = node.matrix {
        return Matrix4::from_column_slice(&matrix.map(f64::from));
    }
    let vector =
        |values: Option<[f32; 3]>, otherwise: f32| Vector3::from(values.unwrap_or([otherwise; 3]).map(f64::from));
    let [x, y, z, w] = node.rotation.map_or([0.0, 0.0, 0.0, 1.0], |rotation| rotation.0.map(f64::from));
    let turn = UnitQuaternion::from_quaternion(Quaternion::new(w, x, y, z));
    Matrix4::new_translation(&vector(node.translation, 0.0))
        * turn.to_homogeneous()
        * Matrix4::new_nonuniform_scaling(&vector(node.scale, 1.0))
}
