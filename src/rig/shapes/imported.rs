//! Shapes from files, each triangle flat: how a file means its edges to be rounded is not known.

use super::{Surface, SurfaceKind};
use crate::{
    geometry::{Mesh, Vec3, unit_or},
    project::StandsFor,
    rig::{ImportedPart, RigPart},
};

pub(super) fn surfaces(parts: &[ImportedPart]) -> Vec<Surface> {
    parts.iter().enumerate().map(|(index, part)| surface(index, part)).collect()
}

fn surface(index: usize, part: &ImportedPart) -> Surface {
    let kind = match part.stands_for {
        StandsFor::Seat => SurfaceKind::Shell,
        StandsFor::Rim => SurfaceKind::Grip,
        StandsFor::PedalPlate => SurfaceKind::Metal,
        StandsFor::WheelUnit | StandsFor::Screen | StandsFor::Other => SurfaceKind::Housing,
    };
    let shape = &part.solid.mesh;
    let (points, triangles) =
        shape.light().map_or((shape.points(), shape.triangles()), |light| (&light.points, &light.triangles));
    let place = |corner: u32| {
        let point = points[corner as usize].map(f64::from);
        (part.solid.pose * nalgebra::Point3::from(point)).coords
    };
    let mut mesh = Mesh::default();
    for triangle in triangles {
        let first = mesh.positions.len() as u32;
        let [a, b, c] = triangle.map(place);
        mesh.positions.extend([a, b, c]);
        mesh.normals.extend([unit_or((b - a).cross(&(c - a)), Vec3::z()); 3]);
        mesh.triangles.push([first, first + 1, first + 2]);
    }
    Surface::new(RigPart::Imported(index), kind, mesh)
}
