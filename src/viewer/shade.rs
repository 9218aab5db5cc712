//! How open each place lies and what shadow falls on the floor: soft light worked out once a change, not once a pixel,
//! so that a processor that draws can afford it.

use rayon::prelude::*;

use super::matter::Form;
use crate::geometry::Vec3 as Point;

/// Side of a cell, m.
const CELL: f64 = 0.035;
/// Cells that a look along a normal passes, as distances in m with their weights: near folds count most.
const LOOKS: [(f64, f32); 3] = [(0.05, 0.55), (0.11, 0.35), (0.22, 0.25)];

/// Where there is matter, on a grid of cells.
struct Cells {
    low: Point,
    count: [usize; 3],
    full: Vec<f32>,
}

impl Cells {
    fn of(forms: &[&Form]) -> Option<Self> {
        let points = || forms.iter().flat_map(|form| form.positions.iter());
        let low = points().copied().reduce(|a, b| a.inf(&b))?;
        let high = points().copied().reduce(|a, b| a.sup(&b))?;
        let size = high - low;
        // A rig that is larger than any room would fill the memory.
        if !size.iter().all(|s| s.is_finite() && *s < 8.0) {
            return None;
        }
        let low = low - Point::repeat(2.0 * CELL);
        let count = [0, 1, 2].map(|axis| (size[axis] / CELL) as usize + 5);
        let mut cells = Self { low, count, full: vec![0.0; count.iter().product()] };
        for form in forms {
            for [a, b, c] in &form.triangles {
                let [a, b, c] = [a, b, c].map(|index| form.positions[*index as usize]);
                // The longest edge comes first: a large triangle is spread over the cells that it crosses, in strips
                // along that edge, so that a long thin one takes few.
                let edges = [(b - a, c - a), (c - b, a - b), (a - c, b - c)];
                let starts = [a, b, c];
                let longest = (0..3)
                    .fold(0, |best, i| if edges[i].0.norm_squared() > edges[best].0.norm_squared() { i } else { best });
                let (from, (along, across)) = (starts[longest], edges[longest]);
                let area = along.cross(&across).norm() / 2.0;
                let length = along.norm();
                let pieces = |size: f64| ((size / CELL).ceil() as usize).clamp(1, 64);
                let strips = pieces(2.0 * area / length.max(1e-9));
                for strip in 0..strips {
                    let v = (strip as f64 + 0.5) / strips as f64;
                    let count = pieces(length * (1.0 - v));
                    let share = area * 2.0 * (1.0 - v) / (strips * count) as f64;
                    for piece in 0..count {
                        let u = (1.0 - v) * (piece as f64 + 0.5) / count as f64;
                        cells.put(from + along * u + across * v, share);
                    }
                }
            }
        }
        for full in &mut cells.full {
            *full = full.min(1.0);
        }
        Some(cells)
    }

    fn index(&self, cell: [usize; 3]) -> usize {
        (cell[2] * self.count[1] + cell[1]) * self.count[0] + cell[0]
    }

    fn put(&mut self, at: Point, area: f64) {
        let p = (at - self.low) / CELL;
        let cell = [0, 1, 2].map(|axis| (p[axis] as usize).min(self.count[axis] - 1));
        let index = self.index(cell);
        self.full[index] += (area / (CELL * CELL)) as f32;
    }

    /// Fullness at a point, between the eight cells around it; 0 outside.
    fn at(&self, point: Point) -> f32 {
        let p = (point - self.low) / CELL - Point::repeat(0.5);
        if (0..3).any(|axis| p[axis] < 0.0 || p[axis] >= (self.count[axis] - 1) as f64) {
            return 0.0;
        }
        let cell = [0, 1, 2].map(|axis| p[axis] as usize);
        let part = [0, 1, 2].map(|axis| (p[axis] - cell[axis] as f64) as f32);
        let mut sum = 0.0;
        for corner in 0..8_usize {
            let step = [corner & 1, corner >> 1 & 1, corner >> 2 & 1];
            let weight: f32 = (0..3).map(|axis| if step[axis] == 1 { part[axis] } else { 1.0 - part[axis] }).product();
            sum += weight * self.full[self.index([cell[0] + step[0], cell[1] + step[1], cell[2] + step[2]])];
        }
        sum
    }
}

/// How open every vertex of each form lies, 0 in a fold to 1; none where the forms fill no room.
pub fn openness(forms: &[&Form]) -> Vec<Vec<f32>> {
    let Some(cells) = Cells::of(forms) else { return vec![Vec::new(); forms.len()] };
    let openness = |(point, normal): (&Point, &Point)| {
        let hidden: f32 = LOOKS.iter().map(|&(far, weight)| weight * cells.at(point + normal * far).min(1.0)).sum();
        // Near the floor and facing it there is less light too.
        let floor = ((0.15 - point.z) / 0.15).clamp(0.0, 1.0) * (0.5 - 0.5 * normal.z);
        (1.0 - hidden - 0.35 * floor as f32).clamp(0.25, 1.0)
    };
    forms.iter().map(|form| form.positions.par_iter().zip(&form.normals).map(openness).collect()).collect()
}

/// The picture of the shadow on the floor: how much sky each place misses.
#[derive(Clone, Debug)]
pub struct FloorShadow {
    /// Corner (x, y), W, m.
    pub corner: [f64; 2],
    /// Size along x and y, m.
    pub size: [f64; 2],
    /// 0 open to 255 covered, rows along x.
    pub picture: Vec<u8>,
}

impl FloorShadow {
    /// Pixels along x and y.
    pub const PIXELS: [usize; 2] = [288, 192];
    /// Up to this height over the floor, m, with the softness, m, and the depth of the shadow from there.
    const LAYERS: [(f64, f64, f32); 3] = [(0.09, 0.018, 0.62), (0.34, 0.06, 0.42), (1.2, 0.15, 0.34)];

    /// The shadow of forms under a wide sky.
    pub fn of(forms: &[&Form]) -> Self {
        let points = || forms.iter().flat_map(|form| form.positions.iter()).filter(|p| p.iter().all(|c| c.is_finite()));
        let reduce = |pick: fn(f64, f64) -> f64| {
            points().map(|p| [p.x, p.y]).reduce(|a, b| [pick(a[0], b[0]), pick(a[1], b[1])]).unwrap_or([0.0; 2])
        };
        let margin = 0.5;
        let corner = reduce(f64::min).map(|low| (low - margin).max(-6.0));
        let far = reduce(f64::max).map(|high| (high + margin).min(9.0));
        let size = [0, 1].map(|axis| (far[axis] - corner[axis]).max(1.0));

        let [wide, high] = Self::PIXELS;
        let scale = [wide as f64 / size[0], high as f64 / size[1]];
        let mut light = vec![1.0_f32; wide * high];
        let mut from = f64::MIN;
        for (to, soft, depth) in Self::LAYERS {
            let mut layer = vec![0.0_f32; wide * high];
            for form in forms {
                for triangle in &form.triangles {
                    let corners = triangle.map(|index| form.positions[index as usize]);
                    let lowest = corners.iter().map(|p| p.z).fold(f64::MAX, f64::min);
                    if lowest >= from && lowest < to {
                        let flat = corners.map(|p| [(p.x - corner[0]) * scale[0], (p.y - corner[1]) * scale[1]]);
                        fill(&mut layer, flat);
                    }
                }
            }
            for (axis, scale) in scale.iter().enumerate() {
                blur(&mut layer, axis, soft * scale);
            }
            for (light, covered) in light.iter_mut().zip(&layer) {
                *light *= 1.0 - depth * covered;
            }
            from = to;
        }
        Self { corner, size, picture: light.iter().map(|light| ((1.0 - light) * 255.0) as u8).collect() }
    }
}

/// Covers the pixels of a triangle.
fn fill(layer: &mut [f32], corners: [[f64; 2]; 3]) {
    let [wide, high] = FloorShadow::PIXELS;
    let edge = |a: [f64; 2], b: [f64; 2], p: [f64; 2]| (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
    let area = edge(corners[0], corners[1], corners[2]);
    if !area.is_finite() {
        return;
    }
    let span = |axis: usize, most: usize| {
        let low = corners.iter().map(|c| c[axis]).fold(f64::MAX, f64::min).floor().max(0.0) as usize;
        let high = corners.iter().map(|c| c[axis]).fold(f64::MIN, f64::max).ceil().clamp(0.0, most as f64) as usize;
        low.min(most)..high
    };
    for y in span(1, high) {
        for x in span(0, wide) {
            let p = [x as f64 + 0.5, y as f64 + 0.5];
            let sides = [0, 1, 2].map(|i| edge(corners[i], corners[(i + 1) % 3], p) * area.signum());
            // A hair wider than the triangle, so that thin parts cast a shadow too.
            let hair = 0.5 * area.abs().sqrt().min(1.0) + 0.2;
            if sides.iter().all(|side| *side >= -hair) {
                layer[y * wide + x] = 1.0;
            }
        }
    }
}

/// Softens along one axis with a standard deviation of `sigma` pixels: three running means.
fn blur(layer: &mut [f32], axis: usize, sigma: f64) {
    let [wide, high] = FloorShadow::PIXELS;
    let (lines, length, step, next) = if axis == 0 { (high, wide, 1, wide) } else { (wide, high, wide, 1) };
    // Three boxes of width w have the variance of (w² − 1) / 4.
    let radius = (((4.0 * sigma * sigma + 1.0).sqrt() - 1.0) / 2.0).round() as usize;
    if radius == 0 {
        return;
    }
    let mut line = vec![0.0_f32; length];
    for start in (0..lines).map(|line| line * next) {
        for _ in 0..3 {
            for (i, value) in line.iter_mut().enumerate() {
                *value = layer[start + i * step];
            }
            let mut sum: f32 = line.iter().take(radius).sum();
            for i in 0..length {
                sum += line.get(i + radius).copied().unwrap_or(0.0);
                layer[start + i * step] = sum / (2 * radius + 1) as f32;
                sum -= if i >= radius { line[i - radius] } else { 0.0 };
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::viewer::theme::{Ground, Theme};

    fn plate(z: f64, facing: f64) -> Form {
        let mut form = Form::default();
        let corners = [[0.0, 0.0], [0.4, 0.0], [0.4, 0.4], [0.0, 0.4]].map(|[x, y]| Point::new(x, y, z));
        let normals = [Point::new(0.0, 0.0, facing); 4];
        form.add(&corners, &normals, &[[0, 1, 2], [0, 2, 3]], Theme::of(Ground::Paper).body);
        form
    }

    #[test]
    fn a_blurred_layer_keeps_its_sum_and_spreads_as_asked() {
        let [wide, high] = FloorShadow::PIXELS;
        let mut layer = vec![0.0; wide * high];
        layer[high / 2 * wide + wide / 2] = 1.0;
        blur(&mut layer, 0, 5.0);
        let sum: f32 = layer.iter().sum();
        let row = &layer[high / 2 * wide..(high / 2 + 1) * wide];
        let variance: f32 = row.iter().enumerate().map(|(i, v)| v * (i as f32 - (wide / 2) as f32).powi(2)).sum();
        assert!((sum - 1.0).abs() < 1e-4, "{sum}");
        assert!((variance.sqrt() - 5.0).abs() < 0.5, "{}", variance.sqrt());
    }

    #[test]
    fn a_vertex_that_faces_another_plate_lies_less_open() {
        let open = openness(&[&plate(0.50, 1.0), &plate(0.56, 1.0)]);
        assert!(open[0][0] < open[1][0]);
    }

    #[test]
    fn the_shadow_lies_under_the_plate_and_not_far_from_it() {
        let plate = plate(0.05, 1.0);
        let shadow = FloorShadow::of(&[&plate]);
        let at = |x: f64, y: f64| {
            let pixel = |axis: usize, value: f64| {
                ((value - shadow.corner[axis]) / shadow.size[axis] * FloorShadow::PIXELS[axis] as f64) as usize
            };
            shadow.picture[pixel(1, y) * FloorShadow::PIXELS[0] + pixel(0, x)]
        };
        assert!(at(0.2, 0.2) > 100);
        assert_eq!(at(-0.4, -0.4), 0);
    }
}
