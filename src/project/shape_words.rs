//! What should be known of a shape that was read: an odd size and the likelier unit, holes, turned triangles.

use super::LengthUnit;
use crate::{
    geometry::TriangleMesh,
    units::{Unit, show_cuts, to_mm},
};

/// Largest sides that a part of a rig has, mm: from a button's housing to a triple screen. Own choice.
const PART: std::ops::RangeInclusive<f64> = 60.0..=3000.0;

/// The largest side of a shape, mm.
fn largest(mesh: &TriangleMesh) -> f64 {
    let [low, high] = mesh.extent();
    to_mm((high - low).max())
}

/// The unit in which a shape that was read in `unit` would have the size of a part, where it doesn't have it as it is.
pub fn likelier_unit(mesh: &TriangleMesh, unit: LengthUnit) -> Option<LengthUnit> {
    let largest = largest(mesh);
    if PART.contains(&largest) {
        return None;
    }
    LengthUnit::ALL.into_iter().find(|other| PART.contains(&(largest / unit.metres() * other.metres())))
}

/// What should be known of a shape that was read in `unit`, a sentence each.
pub fn shape_notes(mesh: &TriangleMesh, unit: LengthUnit) -> Vec<String> {
    let (mut out, state) = (Vec::new(), mesh.state());
    let largest = largest(mesh);
    if !PART.contains(&largest) {
        let hint = likelier_unit(mesh, unit).map_or_else(String::new, |other| {
            let would = largest / unit.metres() * other.metres();
            format!(" Read in {} it would be {}.", other.word(), Unit::Millimetre.show(would))
        });
        let size = show_cuts(&[largest], "");
        out.push(format!("Its largest side is {size}: unlikely for a part of a rig.{hint}"));
    }
    let are = |count: usize, one: &str, many: &str| format!("{count} {}", if count == 1 { one } else { many });
    if state.is_closed() {
        let pieces = are(state.pieces, "piece, closed", "pieces, all closed");
        out.push(format!("{pieces}: inside and outside can be told, and overlap is measured through the surface."));
    } else {
        out.push(format!(
            "{}, {} closed; {} round {}. Of an open piece only the surface counts: what reaches into it is measured from \
             there, and nothing is inside.",
            are(state.pieces, "piece", "pieces"),
            state.closed_pieces,
            are(state.open_edges, "open edge", "open edges"),
            are(state.holes, "hole", "holes"),
        ));
    }
    if state.crowded_edges > 0 {
        out.push(format!("{} shared by more than two triangles.", are(state.crowded_edges, "edge is", "edges are")));
    }
    if state.flipped > 0 {
        let them = are(state.flipped, "triangle faces", "triangles face");
        out.push(format!("{them} another way than the rest and count turned round; the file is left as it is."));
    }
    if state.without_area > 0 {
        out.push(format!("{} without area, left out.", are(state.without_area, "triangle is", "triangles are")));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of a given side, m.
    fn square(side: f32) -> TriangleMesh {
        let points = [[0.0, 0.0, 0.0], [side, 0.0, 0.0], [side, side, 0.0], [0.0, side, 0.0]];
        TriangleMesh::new(&points, &[[0, 1, 2], [0, 2, 3]])
    }

    #[test]
    fn an_odd_size_names_the_unit_that_makes_it_a_part() {
        // 0.5 mm read in mm was half a metre; 12.7 m read in m was 500 inches or 12.7 mm or 127 mm.
        assert_eq!(likelier_unit(&square(0.0005), LengthUnit::Mm), Some(LengthUnit::M));
        assert_eq!(likelier_unit(&square(12.7), LengthUnit::M), Some(LengthUnit::Cm));
        assert_eq!(likelier_unit(&square(0.5), LengthUnit::Mm), None);
        let notes = shape_notes(&square(0.0005), LengthUnit::Mm);
        assert!(notes[0].ends_with("Read in m it would be 500 mm."), "{notes:?}");
        assert!(notes[1].contains("4 open edges round 1 hole"), "{notes:?}");
    }
}
