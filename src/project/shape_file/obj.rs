//! Wavefront OBJ: its faces, without materials.

use std::io::Cursor;

use super::{Reading, Soup};

pub(super) fn read(bytes: &[u8]) -> Reading {
    let options =
        tobj::LoadOptions { triangulate: true, ignore_points: true, ignore_lines: true, ..Default::default() };
    // Materials are of no use here: whatever the file names is answered with nothing.
    let (models, _) = tobj::load_obj_buf(&mut Cursor::new(bytes), &options, |_| Err(tobj::LoadError::OpenFileFailed))
        .map_err(|error| error.to_string())?;
    let mut soup = Soup::default();
    for model in &models {
        let first = soup.points.len() as u32;
        soup.points.extend(model.mesh.positions.as_chunks::<3>().0);
        let triangles = model.mesh.indices.as_chunks::<3>().0.iter();
        soup.triangles.extend(triangles.map(|triangle| triangle.map(|corner| first.saturating_add(corner))));
    }
    Ok(soup)
}
