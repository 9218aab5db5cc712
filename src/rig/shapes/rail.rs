//! Profile rail: its section with a T-slot in every module and side, drawn out.

use super::{
    Surface, SurfaceKind,
    draft::{Draft, rounded_rectangle, triangulated},
};
use crate::{
    rig::{RailPart, RigPart},
    units::mm,
};

/// Module pitches of the usual series, greatest first, mm: common practice, no published source.
const PITCHES: [f64; 4] = [45.0, 40.0, 30.0, 20.0];
/// An idealised slot of a 40 mm module (half width, depth), from its mouth to its floor, mm; other pitches scale it.
/// Mouth 8.2, lip 4.5, cavity 20 wide to 7.5 deep, floor 9 wide at 12.25: common practice, no published source.
const SLOT: [[f64; 2]; 5] = [[4.1, 0.0], [4.1, 4.5], [10.0, 4.5], [10.0, 7.5], [4.5, 12.25]];
/// Radius of the section's outer corners, mm: common practice, no published source.
const CORNER: f64 = 1.5;

/// A section's outline and the triangles of its caps, by the section in tenths of a millimetre.
struct Section {
    tenths: [i64; 2],
    outline: Vec<[f64; 2]>,
    caps: Vec<[u32; 3]>,
}

pub(super) fn surfaces(rails: &[RailPart]) -> Vec<Surface> {
    // Rigs repeat few sections: outline and caps of each are made once.
    let mut sections: Vec<Section> = Vec::new();
    let mut out = Vec::with_capacity(rails.len());
    for (index, rail) in rails.iter().enumerate() {
        let tenths = rail.section.map(|size| (size * 1e4).round() as i64);
        let known = sections.iter().position(|section| section.tenths == tenths).unwrap_or_else(|| {
            let outline = section_outline(rail.section);
            let caps = triangulated(&outline);
            sections.push(Section { tenths, outline, caps });
            sections.len() - 1
        });
        let Section { outline, caps, .. } = &sections[known];
        let half = rail.solid.half.z;
        let mesh = Draft::extruded_with(outline, outline, caps, -half, half, 0.0).at(&rail.solid.pose).mesh();
        out.push(Surface::new(RigPart::Rail(index), SurfaceKind::Rail, mesh));
    }
    out
}

/// The outline of a section, anticlockwise, m; a plain rectangle where its sizes fit no series.
fn section_outline(section: [f64; 2]) -> Vec<[f64; 2]> {
    let half = section.map(|size| size / 2.0);
    let plain = rounded_rectangle(half, mm(CORNER).min(half[0]).min(half[1]), 2);
    let fits = |pitch: f64| {
        let modules = section.map(|size| (size / mm(pitch)).round());
        let close = (0..2).all(|i| (section[i] - modules[i] * mm(pitch)).abs() < mm(0.6) && modules[i] >= 1.0);
        close.then_some((mm(pitch), modules.map(|count| count as usize)))
    };
    let Some((pitch, modules)) = PITCHES.into_iter().find_map(fits) else {
        return plain;
    };
    // Side by side: the rounded corner, then the slots of the side that follows it.
    let scale = pitch / 40.0;
    let per_corner = plain.len() / 4;
    let mut out = Vec::new();
    for (side, corner) in plain.chunks(per_corner).enumerate() {
        out.extend_from_slice(corner);
        // After the corner at (+, +) comes the top side, walked from right to left; then left, bottom, right.
        let along = side % 2;
        let (outward, walk) = match side {
            0 => ([0.0, 1.0], [-1.0, 0.0]),
            1 => ([-1.0, 0.0], [0.0, -1.0]),
            2 => ([0.0, -1.0], [1.0, 0.0]),
            _ => ([1.0, 0.0], [0.0, 1.0]),
        };
        let depth_from = half[1 - along];
        for module in 0..modules[along] {
            let middle = pitch * (module as f64 - (modules[along] as f64 - 1.0) / 2.0);
            let place = |across: f64, depth: f64| {
                let (u, d) = (middle + across, depth_from - depth);
                [walk[0] * u + outward[0] * d, walk[1] * u + outward[1] * d]
            };
            out.extend(SLOT.iter().map(|&[across, depth]| place(-across * scale, depth * scale)));
            out.extend(SLOT.iter().rev().map(|&[across, depth]| place(across * scale, depth * scale)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(outline: &[[f64; 2]]) -> f64 {
        let count = outline.len();
        (0..count)
            .map(|i| {
                let (a, b) = (outline[i], outline[(i + 1) % count]);
                0.5 * (a[0] * b[1] - b[0] * a[1])
            })
            .sum()
    }

    /// By hand: a slot is 8.2·4.5 + 20·3 + (20 + 9)/2·4.75 = 165.775 mm²; a rounded corner lacks (1 − π/4)·1.5² =
    /// 0.483 mm², with two flats (8-gon) 0.659 mm². 40×40 has 4 slots: 1600 − 663.1 − 4·0.659 = 934.26 mm²;
    /// 40×80 has 6: 3200 − 994.65 − 2.64 = 2202.71 mm².
    #[test]
    fn sections_have_the_area_of_their_slots_less() {
        for (section, wanted) in [([40.0, 40.0], 934.26), ([40.0, 80.0], 2202.71), ([80.0, 40.0], 2202.71)] {
            let area = area(&section_outline(section.map(mm))) * 1e6;
            assert!((area - wanted).abs() < 0.05, "{section:?}: {area}");
        }
    }

    #[test]
    fn caps_cover_the_whole_section() {
        for section in [[40.0, 40.0], [40.0, 160.0], [45.0, 90.0], [30.0, 60.0], [37.0, 53.0]] {
            let outline = section_outline(section.map(mm));
            let caps = triangulated(&outline);
            assert_eq!(caps.len(), outline.len() - 2);
            let sum: f64 = caps.iter().map(|t| area(&t.map(|i| outline[i as usize]))).sum();
            assert!((sum - area(&outline)).abs() < 1e-12, "{section:?}");
            assert!(caps.iter().all(|t| area(&t.map(|i| outline[i as usize])) > 0.0), "{section:?}");
        }
    }
}
