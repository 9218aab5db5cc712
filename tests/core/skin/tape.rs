//! Cutting a mesh with a plane and laying a tape round the cut.

use heelpoint::geometry::{Pose, Vec3};

/// Where a plane meets a skin, mm: what a calliper and a tape would read.
#[derive(Clone, Copy, Debug)]
pub struct Cut {
    /// Extent along the plane's x.
    pub depth: f64,
    /// Extent along the plane's y.
    pub breadth: f64,
    /// Round the convex hull.
    pub girth: f64,
    /// Area of the cut itself, mm².
    pub area: f64,
}

/// Cuts the triangles that `which` accepts with the xy plane of `plane`; `None` where they miss it.
pub fn cut(positions: &[Vec3], triangles: &[[u32; 3]], plane: &Pose, which: impl Fn([u32; 3]) -> bool) -> Option<Cut> {
    let local = |index: u32| plane.inverse_transform_point(&positions[index as usize].into()).coords;
    let mut points = Vec::new();
    let mut area = 0.0;
    for &triangle in triangles.iter().filter(|&&triangle| which(triangle)) {
        let corners = triangle.map(local);
        let mut ends: Vec<(bool, [f64; 2])> = Vec::new();
        for (from, to) in [(0, 1), (1, 2), (2, 0)] {
            let (p, q) = (corners[from], corners[to]);
            if (p.z < 0.0) != (q.z < 0.0) {
                let at = p + (q - p) * (p.z / (p.z - q.z));
                ends.push((p.z < 0.0, [at.x, at.y]));
            }
        }
        if let [(rising, a), (_, b)] = ends[..] {
            // Half the cross product of each piece, taken the same way round.
            let piece = 0.5 * (a[0] * b[1] - a[1] * b[0]);
            area += if rising { piece } else { -piece };
            points.extend([a, b]);
        }
    }
    if points.len() < 6 {
        return None;
    }
    let extent = |axis: usize| {
        let (low, high) = points
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p[axis]), high.max(p[axis])));
        1e3 * (high - low)
    };
    Some(Cut { depth: extent(0), breadth: extent(1), girth: 1e3 * hull(points.clone()), area: 1e6 * area.abs() })
}

/// Perimeter of the convex hull: Andrew's monotone chain.
fn hull(mut points: Vec<[f64; 2]>) -> f64 {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let mut perimeter = 0.0;
    for pass in 0..2 {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for &p in &points {
            while let [.., a, b] = chain[..]
                && (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        perimeter += chain.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum::<f64>();
        if pass == 0 {
            points.reverse();
        }
    }
    perimeter
}

#[test]
fn tape_round_a_prism_reads_its_outline() {
    // A prism over a right triangle of 3, 4 and 5 m: girth 12 m, area 6 m².
    let floor = [[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]];
    let positions: Vec<Vec3> = [-1.0, 1.0].iter().flat_map(|&z| floor.map(|[x, y]| Vec3::new(x, y, z))).collect();
    let mut triangles = Vec::new();
    for side in 0..3_u32 {
        let next = (side + 1) % 3;
        triangles.extend([[side, next, next + 3], [side, next + 3, side + 3]]);
    }
    let cut = cut(&positions, &triangles, &Pose::identity(), |_| true).unwrap();
    assert!((cut.girth - 12e3).abs() < 1e-6 && (cut.area - 6e6).abs() < 1e-3, "{cut:?}");
    assert!((cut.depth - 3e3).abs() < 1e-9 && (cut.breadth - 4e3).abs() < 1e-9, "{cut:?}");
}
