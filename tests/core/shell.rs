//! An invented bucket seat as triangles, and files made of triangles: for tests and benches alike.

use heelpoint::units::deg;

/// The angle from cushion to back of the closed-car demo: 90 + 38 − 34.
const BACK: f64 = 94.0;
/// Thickness of the wall, m.
const WALL: f64 = 0.006;

/// Along the profile from the cushion's front edge to the top of the back, m: (way, half the inner width, height of the
/// sides over the surface).
const SIDES: [[f64; 3]; 11] = [
    [0.0, 0.195, 0.05],
    [0.1, 0.195, 0.09],
    [0.34, 0.195, 0.09],
    // Low in the bend, where the sides of cushion and back would meet.
    [0.39, 0.195, 0.035],
    [0.57, 0.208, 0.035],
    [0.62, 0.208, 0.082],
    [0.80, 0.208, 0.082],
    [0.88, 0.208, 0.04],
    [0.93, 0.27, 0.13],
    [1.06, 0.27, 0.13],
    [1.14, 0.2, 0.02],
];

/// Points and triangles of a closed shell in the seat's frame, m: x forward along the cushion, z normal to it.
pub fn bucket(rows: usize, columns: usize) -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
    let mut points = Vec::new();
    for wall in [0.0, WALL] {
        for row in 0..rows {
            let way = 1.14 * row as f64 / (rows - 1) as f64;
            for column in 0..columns {
                let v = 2.0 * column as f64 / (columns - 1) as f64 - 1.0;
                points.push(surface(way, v, wall).map(|value| value as f32));
            }
        }
    }
    let at = |sheet: usize, row: usize, column: usize| ((sheet * rows + row) * columns + column) as u32;
    let mut triangles = Vec::new();
    let mut quad = |a: u32, b: u32, c: u32, d: u32| triangles.extend([[a, b, c], [a, c, d]]);
    for row in 1..rows {
        for column in 1..columns {
            let corners = |sheet| {
                [
                    at(sheet, row - 1, column - 1),
                    at(sheet, row - 1, column),
                    at(sheet, row, column),
                    at(sheet, row, column - 1),
                ]
            };
            let [a, b, c, d] = corners(0);
            quad(a, b, c, d);
            let [a, b, c, d] = corners(1);
            quad(d, c, b, a);
        }
        for column in [0, columns - 1] {
            quad(at(0, row - 1, column), at(0, row, column), at(1, row, column), at(1, row - 1, column));
        }
    }
    for column in 1..columns {
        for row in [0, rows - 1] {
            quad(at(0, row, column - 1), at(0, row, column), at(1, row, column), at(1, row, column - 1));
        }
    }
    (points, triangles)
}

/// The inner surface, or the outer one by the wall's thickness further out.
fn surface(way: f64, v: f64, wall: f64) -> [f64; 3] {
    let (sin, cos) = deg(BACK).sin_cos();
    // Cushion 20 mm below the foam, back 12 mm behind it, and a bend of a parabola between them.
    let corner = [-0.012 - 0.02 * cos / sin, -0.02];
    let bend = 0.09;
    let cushion = 0.465 - corner[0];
    let (along, from_corner) = if way < cushion { (true, cushion - way) } else { (false, way - cushion) };
    let (place, normal) = if from_corner >= bend {
        if along {
            ([corner[0] + from_corner, corner[1]], [0.0, 1.0])
        } else {
            ([corner[0] + from_corner * cos, corner[1] + from_corner * sin], [sin, -cos])
        }
    } else {
        let t = (if along { bend - from_corner } else { bend + from_corner }) / (2.0 * bend);
        let (a, b) = ((1.0 - t) * (1.0 - t) * bend, t * t * bend);
        let (da, db) = (-2.0 * (1.0 - t), 2.0 * t);
        let tangent = [da + db * cos, db * sin];
        let length = tangent[0].hypot(tangent[1]);
        ([corner[0] + a + b * cos, corner[1] + b * sin], [tangent[1] / length, -tangent[0] / length])
    };
    let next = SIDES.iter().position(|side| side[0] >= way).unwrap_or(SIDES.len() - 1).max(1);
    let (before, after) = (SIDES[next - 1], SIDES[next]);
    let share = ((way - before[0]) / (after[0] - before[0])).clamp(0.0, 1.0);
    let mix = |i: usize| before[i] + (after[i] - before[i]) * share;
    let (width, height) = (mix(1), mix(2));
    const FLAT: f64 = 0.6;
    let (aside, up) = if v.abs() <= FLAT {
        (width * v.abs() / FLAT, -wall)
    } else {
        let t = (v.abs() - FLAT) / (1.0 - FLAT);
        (width + 0.012 * t + wall, height * t - wall * (1.0 - t))
    };
    [place[0] + normal[0] * up, aside.copysign(v), place[1] + normal[1] * up]
}

/// A binary STL file, its numbers `scale` times those of the points.
pub fn binary_stl(points: &[[f32; 3]], triangles: &[[u32; 3]], scale: f32) -> Vec<u8> {
    let mut out = vec![0; 80];
    // A head that begins like a text, as many programs write it.
    out[..5].copy_from_slice(b"solid");
    out.extend((triangles.len() as u32).to_le_bytes());
    for triangle in triangles {
        out.extend([0; 12]);
        for value in triangle.iter().flat_map(|&corner| points[corner as usize]) {
            out.extend((value * scale).to_le_bytes());
        }
        out.extend([0; 2]);
    }
    out
}
