//! A lighter surface for the eye, where a file has more triangles than a picture shows.

use std::collections::HashMap;

use super::TriangleMesh;

/// Triangles that are drawn as they are, and about how many are left of more.
const MOST: usize = 120_000;

/// Corners and triangles of a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Light {
    /// Corners, m.
    pub points: Vec<[f32; 3]>,
    /// Corners of each triangle, anticlockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

impl Light {
    /// What is drawn of a mesh; `None` where it is light as it is. Corners of one cell of a grid become one in their
    /// middle (Rossignac and Borrel 1993): nothing moves by more than a cell's diagonal.
    pub(super) fn of(mesh: &TriangleMesh) -> Option<Self> {
        Self::with(mesh, MOST)
    }

    fn with(mesh: &TriangleMesh, most: usize) -> Option<Self> {
        if mesh.triangles.len() <= most {
            return None;
        }
        // Where triangles are spread evenly, a square cell of a plane holds two of those that are left.
        let area: f64 = mesh.triangles.iter().map(|triangle| area(mesh, *triangle)).sum();
        let mut cell = (2.0 * area / most as f64).sqrt().max(1e-6);
        loop {
            let light = clustered(mesh, cell);
            if light.triangles.len() <= 2 * most {
                return Some(light);
            }
            cell *= 1.5;
        }
    }
}

fn area(mesh: &TriangleMesh, triangle: [u32; 3]) -> f64 {
    let [a, b, c] = triangle.map(|at| nalgebra::Vector3::from(mesh.points[at as usize].map(f64::from)));
    (b - a).cross(&(c - a)).norm() / 2.0
}

fn clustered(mesh: &TriangleMesh, cell: f64) -> Light {
    let mut places: HashMap<[i32; 3], u32> = HashMap::new();
    let mut sums: Vec<([f64; 3], f64)> = Vec::new();
    let corner: Vec<u32> = mesh
        .points
        .iter()
        .map(|point| {
            let key = point.map(|value| (f64::from(value) / cell).floor() as i32);
            let at = *places.entry(key).or_insert_with(|| {
                sums.push(([0.0; 3], 0.0));
                sums.len() as u32 - 1
            });
            let (sum, count) = &mut sums[at as usize];
            for axis in 0..3 {
                sum[axis] += f64::from(point[axis]);
            }
            *count += 1.0;
            at
        })
        .collect();
    let points = sums.iter().map(|(sum, count)| sum.map(|value| (value / count) as f32)).collect();
    let mut triangles: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .map(|triangle| triangle.map(|at| corner[at as usize]))
        .filter(|[a, b, c]| a != b && b != c && c != a)
        // The least corner first, so that doubles are found.
        .map(|[a, b, c]| {
            if a < b && a < c {
                [a, b, c]
            } else if b < c {
                [b, c, a]
            } else {
                [c, a, b]
            }
        })
        .collect();
    triangles.sort_unstable();
    triangles.dedup();
    Light { points, triangles }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ball of radius 1 m: 4π/3 m³ by hand. Its light form has few triangles, the same extent and volume.
    #[test]
    fn a_light_ball_is_still_a_ball() {
        let (rows, columns) = (120_u32, 240_u32);
        let mut points = Vec::new();
        for row in 0..=rows {
            let latitude = std::f64::consts::PI * f64::from(row) / f64::from(rows);
            for column in 0..columns {
                let longitude = std::f64::consts::TAU * f64::from(column) / f64::from(columns);
                let ring = latitude.sin();
                points.push([ring * longitude.cos(), ring * longitude.sin(), latitude.cos()].map(|v| v as f32));
            }
        }
        let mut triangles = Vec::new();
        for row in 0..rows {
            for column in 0..columns {
                let next = (column + 1) % columns;
                let [a, b] = [row * columns + column, row * columns + next];
                let [c, d] = [a + columns, b + columns];
                triangles.push([a, c, b]);
                triangles.push([b, c, d]);
            }
        }
        let mesh = TriangleMesh::new(&points, &triangles);
        assert!(Light::with(&mesh, 100_000).is_none());
        let light = Light::with(&mesh, 3000).unwrap();
        assert!(light.triangles.len() <= 6000 && light.triangles.len() > 800, "{}", light.triangles.len());
        let place = |at: u32| nalgebra::Vector3::from(light.points[at as usize].map(f64::from));
        let volume: f64 = light.triangles.iter().map(|t| place(t[0]).dot(&place(t[1]).cross(&place(t[2]))) / 6.0).sum();
        assert!((volume / (4.0 / 3.0 * std::f64::consts::PI) - 1.0).abs() < 0.02, "{volume}");
        assert!(light.points.iter().all(|p| (nalgebra::Vector3::from(*p).norm() - 1.0).abs() < 0.01));
    }
}
