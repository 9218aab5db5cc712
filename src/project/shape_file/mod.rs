//! Shapes from files: STL, OBJ and glTF into one surface in the part's axes, m.

mod gltf;
mod obj;
mod stl;

use std::{fs::File, io::Read, path::Path, sync::Arc};

use super::{Axis, Checked, Fault, FaultKind, LengthUnit};
use crate::geometry::TriangleMesh;

/// Bytes that a file of triangles may have: a binary STL file of five million, or a text of two.
const LIMIT: u64 = 640 << 20;
/// Triangles that are taken.
const TRIANGLES: usize = 5_000_000;

/// Why a shape could not be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ShapeError {
    /// There is no such file.
    #[error("{file}: there is no such file. Write its path from the folder of the project's file.")]
    Missing {
        /// The file.
        file: String,
    },
    /// A folder, a pipe or a device.
    #[error("{file}: is not a file. Name a file that ends in .stl, .obj, .gltf or .glb.")]
    NotAFile {
        /// The path.
        file: String,
    },
    /// The file could not be read.
    #[error("{file}: cannot be read: {why}. Look at who may read it.")]
    Unreadable {
        /// The file.
        file: String,
        /// Why.
        why: String,
    },
    /// A file too large to be a part.
    #[error("{file}: has {} MB; allowed are {}. Reduce the shape to fewer triangles and save it again.", bytes >> 20, LIMIT >> 20)]
    TooLarge {
        /// The file.
        file: String,
        /// What it has.
        bytes: u64,
    },
    /// The name's ending tells no form that is read.
    #[error("{file}: ends in no form that is read. Save the shape as STL, OBJ or glTF (.stl, .obj, .gltf, .glb).")]
    UnknownForm {
        /// The file.
        file: String,
    },
    /// The file doesn't hold what its form asks for.
    #[error("{file}: is no sound {form} file: {why}. Save the shape anew, or in another form.")]
    Malformed {
        /// The file.
        file: String,
        /// "STL", "OBJ" or "glTF".
        form: &'static str,
        /// What is wrong.
        why: String,
    },
    /// A file without a surface.
    #[error("{file}: holds no triangles. Save the part's surface, not its edges or a drawing of it.")]
    Empty {
        /// The file.
        file: String,
    },
    /// More triangles than are taken.
    #[error("{file}: holds more than {TRIANGLES} triangles. Reduce the shape to fewer and save it again.")]
    TooMany {
        /// The file.
        file: String,
    },
    /// A corner that is no place.
    #[error(
        "{file}: triangle {triangle} has a corner that is not a number, or is kilometres away. Repair the shape where it was made."
    )]
    NoPlace {
        /// The file.
        file: String,
        /// Which triangle, from 1.
        triangle: usize,
    },
}

/// Corners and triangles as a file has them.
#[derive(Default)]
struct Soup {
    points: Vec<[f32; 3]>,
    triangles: Vec<[u32; 3]>,
}

/// A sound reading, or what is wrong with the form in words.
type Reading = Result<Soup, String>;

/// Reads a shape and puts it in the part's axes (x forward, y left, z up), m.
///
/// # Errors
/// If the file is not there, cannot be read, is too large, or holds no surface.
pub fn read_shape(path: &Path, unit: LengthUnit, forward: Axis, up: Axis) -> Result<TriangleMesh, ShapeError> {
    let file = || path.display().to_string();
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    let (form, reader): (_, fn(&[u8], &Path) -> Reading) = match ending.as_str() {
        "stl" => ("STL", |bytes, _| stl::read(bytes)),
        "obj" => ("OBJ", |bytes, _| obj::read(bytes)),
        "gltf" | "glb" => ("glTF", gltf::read),
        _ => return Err(ShapeError::UnknownForm { file: file() }),
    };
    let bytes = bytes(path)?;
    let mut soup = reader(&bytes, path).map_err(|why| ShapeError::Malformed { file: file(), form, why })?;
    drop(bytes);
    if soup.triangles.is_empty() {
        return Err(ShapeError::Empty { file: file() });
    }
    if soup.triangles.len() > TRIANGLES {
        return Err(ShapeError::TooMany { file: file() });
    }
    // Rows of the turn from the file's axes to the part's, in m.
    let (x, z) = (forward.direction(), up.direction());
    let rows = [x, z.cross(&x), z].map(|row| row * unit.metres());
    for point in &mut soup.points {
        let own = nalgebra::Vector3::from(point.map(f64::from));
        *point = rows.map(|row| row.dot(&own) as f32);
    }
    let is_place = |corner: &u32| {
        soup.points.get(*corner as usize).is_none_or(|point| point.iter().all(|value| value.abs() < 1000.0))
    };
    if let Some(at) = soup.triangles.iter().position(|triangle| !triangle.iter().all(is_place)) {
        return Err(ShapeError::NoPlace { file: file(), triangle: at + 1 });
    }
    let mesh = TriangleMesh::new(&soup.points, &soup.triangles);
    if mesh.state().triangles == 0 {
        return Err(ShapeError::Empty { file: file() });
    }
    Ok(mesh)
}

/// All of a file, if it is one and not too large.
fn bytes(path: &Path) -> Result<Vec<u8>, ShapeError> {
    let file = path.display().to_string();
    let failed = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => ShapeError::Missing { file: file.clone() },
        _ => ShapeError::Unreadable { file: file.clone(), why: error.to_string() },
    };
    // Looked at before it is opened: opening a pipe waits for whoever writes into it.
    let metadata = path.metadata().map_err(failed)?;
    if !metadata.is_file() {
        return Err(ShapeError::NotAFile { file });
    }
    if metadata.len() > LIMIT {
        return Err(ShapeError::TooLarge { file, bytes: metadata.len() });
    }
    let mut bytes = Vec::with_capacity(metadata.len() as usize);
    File::open(path).map_err(failed)?.take(LIMIT).read_to_end(&mut bytes).map_err(failed)?;
    Ok(bytes)
}

/// Reads the shapes of a project whose file lies in `folder`; what could not be read.
pub(super) fn read_shapes(project: &mut Checked, folder: &Path) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (index, shape) in project.shapes_mut().iter_mut().enumerate() {
        match read_shape(&folder.join(&shape.file), shape.unit, shape.forward, shape.up) {
            Ok(mesh) => shape.mesh.0 = Some(Arc::new(mesh)),
            Err(error) => faults.push(Fault::new(format!("shapes[{index}].file"), FaultKind::Shape(error))),
        }
    }
    faults
}
