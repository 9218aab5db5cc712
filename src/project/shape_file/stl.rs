//! STL, binary and text.

use std::io::Cursor;

use super::{Reading, Soup, TRIANGLES};

/// Bytes before the first triangle of a binary file, and of each triangle.
const HEAD: usize = 84;
const EACH: usize = 50;

pub(super) fn read(bytes: &[u8]) -> Reading {
    let mut soup = Soup::default();
    let mut put = |corners: [[f32; 3]; 3]| {
        let first = soup.points.len() as u32;
        soup.points.extend(corners);
        soup.triangles.push([first, first + 1, first + 2]);
    };
    // A binary file's length follows from its count; its head may begin with "solid" like a text.
    let count = bytes.get(80..HEAD).map(|count| u32::from_le_bytes([count[0], count[1], count[2], count[3]]) as usize);
    if let Some(count) = count
        && count.checked_mul(EACH).and_then(|size| size.checked_add(HEAD)) == Some(bytes.len())
    {
        for triangle in bytes[HEAD..].chunks_exact(EACH).take(TRIANGLES + 1) {
            // The normal stands first; it follows from the corners.
            let number =
                |at: usize| f32::from_le_bytes([triangle[at], triangle[at + 1], triangle[at + 2], triangle[at + 3]]);
            put([0, 1, 2].map(|corner| [0, 1, 2].map(|axis| number(12 + 12 * corner + 4 * axis))));
        }
        return Ok(soup);
    }
    let is_text = bytes.iter().take(512).all(|byte| byte.is_ascii_graphic() || byte.is_ascii_whitespace());
    if !is_text {
        return Err(count.map_or_else(
            || "it ends before its first triangle".to_owned(),
            |count| format!("its head tells {count} triangles, but it has {} bytes", bytes.len()),
        ));
    }
    let mut reader = Cursor::new(bytes);
    let triangles = stl_io::create_stl_reader(&mut reader).map_err(|error| error.to_string())?;
    for triangle in triangles.take(TRIANGLES + 1) {
        let triangle = triangle.map_err(|error| error.to_string())?;
        put(triangle.vertices.map(|vertex| vertex.0));
    }
    Ok(soup)
}
