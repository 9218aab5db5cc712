//! Pictures of meshes without a graphics card: parallel rays, a depth for each pixel, light from one side.

use heelpoint::geometry::Vec3;

/// A grey picture in tiles, each looked at along a direction.
pub struct Sheet {
    pub width: usize,
    pub height: usize,
    pub shades: Vec<u8>,
    depths: Vec<f64>,
}

/// Where from a tile is seen.
#[derive(Clone, Copy)]
pub struct View {
    /// Towards the viewer, unit.
    pub towards: Vec3,
    /// The point in the middle of the tile.
    pub middle: Vec3,
    /// Metres from edge to edge of the tile.
    pub across: f64,
}

const PAPER: u8 = 244;

impl Sheet {
    pub fn new(width: usize, height: usize) -> Self {
        Self { width, height, shades: vec![PAPER; width * height], depths: vec![f64::NEG_INFINITY; width * height] }
    }

    /// Draws a mesh into the square tile of `size` pixels at (left, top); `tint` is its brightness, 0 to 1.
    pub fn draw(
        &mut self,
        [left, top]: [usize; 2],
        size: usize,
        view: View,
        (positions, normals, triangles): (&[Vec3], &[Vec3], &[[u32; 3]]),
        tint: impl Fn(u32) -> f64,
    ) {
        let z = view.towards;
        let x = Vec3::z().cross(&z).try_normalize(1e-6).unwrap_or_else(Vec3::y);
        let y = z.cross(&x);
        let light = (x * -0.45 + y * 0.65 + z * 0.75).normalize();
        let scale = size as f64 / view.across;
        let place = |index: u32| {
            let p = positions[index as usize] - view.middle;
            [0.5 * size as f64 + p.dot(&x) * scale, 0.5 * size as f64 - p.dot(&y) * scale, p.dot(&z)]
        };
        let shade = |index: u32| {
            let normal = normals[index as usize];
            tint(index) * (0.30 + 0.70 * normal.dot(&light).max(0.0)) * 235.0
        };
        for &triangle in triangles {
            let [a, b, c] = triangle.map(place);
            let shades = triangle.map(shade);
            let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
            // Seen from behind, or edge on: up on the paper is down in its rows.
            if area >= 0.0 {
                // What lies inside out is drawn black, so that holes and folds are seen.
                continue;
            }
            let span = |axis: usize| {
                let low = a[axis].min(b[axis]).min(c[axis]).floor().max(0.0) as usize;
                let high = (a[axis].max(b[axis]).max(c[axis]).ceil().max(0.0) as usize).min(size);
                low..high
            };
            for row in span(1) {
                for column in span(0) {
                    let (px, py) = (column as f64 + 0.5, row as f64 + 0.5);
                    let weight =
                        |p: [f64; 3], q: [f64; 3]| ((q[0] - p[0]) * (py - p[1]) - (q[1] - p[1]) * (px - p[0])) / area;
                    let weights = [weight(b, c), weight(c, a), weight(a, b)];
                    if weights.iter().any(|&w| w < 0.0) {
                        continue;
                    }
                    let depth = weights[0] * a[2] + weights[1] * b[2] + weights[2] * c[2];
                    let at = (top + row) * self.width + left + column;
                    if depth > self.depths[at] {
                        self.depths[at] = depth;
                        let value: f64 = weights.iter().zip(shades).map(|(w, s)| w * s).sum();
                        self.shades[at] = value.clamp(0.0, 255.0) as u8;
                    }
                }
            }
        }
    }

    pub fn save(&self, path: &std::path::Path) {
        image::save_buffer(path, &self.shades, self.width as u32, self.height as u32, image::ColorType::L8).unwrap();
    }
}
