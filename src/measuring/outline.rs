//! The visible outlines of a surface in parallel projection, as a draughtsman draws them.
//!
//! Outlines run where the surface turns away from the eye: across each triangle along the line on which its
//! interpolated normal is square to the view (Hertzmann, «Introduction to 3D non-photorealistic rendering», SIGGRAPH
//! course 1999). What something nearer hides is found with a depth picture and left out.

use std::collections::HashMap;

use crate::{
    geometry::{Mesh, Vec3},
    units::mm,
};

/// A parallel view: where right and up lie in space. The eye looks against `right × up`.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// To the right in the drawing, unit.
    pub right: Vec3,
    /// Upwards in the drawing, unit, square to `right`.
    pub up: Vec3,
}

impl View {
    /// Place in the drawing, m.
    pub fn flat(&self, at: Vec3) -> [f64; 2] {
        [at.dot(&self.right), at.dot(&self.up)]
    }

    fn towards_eye(&self) -> Vec3 {
        self.right.cross(&self.up)
    }
}

/// Size of a cell of the depth picture, m.
const CELL: f64 = mm(3.0);
/// How far nearer something must be to hide a line, m.
const NEARER: f64 = mm(5.0);
/// How far beside a line it is looked for what hides it, m: off the surface that the line bounds.
const BESIDE: f64 = mm(5.0);
/// Shorter lines are left out, m.
const SHORTEST: f64 = mm(32.0);

/// Visible outlines of a mesh, as polylines in the drawing, m.
pub fn outlines(mesh: &Mesh, view: &View) -> Vec<Vec<[f64; 2]>> {
    let eye = view.towards_eye();
    let depth = Depth::of(mesh, view);
    let facing: Vec<f64> = mesh.normals.iter().map(|normal| normal.dot(&eye)).collect();

    // Each triangle that the outline crosses joins two of its edges; each edge is known by its two corners.
    let mut places: HashMap<(u32, u32), usize> = HashMap::new();
    let mut points: Vec<Point> = Vec::new();
    let mut joins: Vec<[usize; 2]> = Vec::new();
    for triangle in &mesh.triangles {
        let mut ends = [0; 2];
        let mut count = 0;
        for (a, b) in [(0, 1), (1, 2), (2, 0)].map(|(a, b)| (triangle[a], triangle[b])) {
            let (low, high) = (a.min(b), a.max(b));
            let (f, g) = (facing[low as usize], facing[high as usize]);
            if (f > 0.0) == (g > 0.0) || count == 2 {
                continue;
            }
            let place = *places.entry((low, high)).or_insert_with(|| {
                let share = f / (f - g);
                let mix = |list: &[Vec3]| list[low as usize].lerp(&list[high as usize], share);
                points.push(Point::of(mix(&mesh.positions), mix(&mesh.normals), view, &depth));
                points.len() - 1
            });
            ends[count] = place;
            count += 1;
        }
        if count == 2 {
            joins.push(ends);
        }
    }
    chains(points.len(), &joins)
        .into_iter()
        .flat_map(|chain| visible_runs(&chain, &points))
        .filter(|line| length(line) >= SHORTEST)
        .collect()
}

/// A point of an outline.
struct Point {
    at: [f64; 2],
    visible: bool,
}

impl Point {
    fn of(at: Vec3, normal: Vec3, view: &View, depth: &Depth) -> Self {
        let flat = view.flat(at);
        let out = view.flat(normal);
        let size = out[0].hypot(out[1]).max(1e-9);
        let beside = [0, 1].map(|i| flat[i] + out[i] / size * BESIDE);
        Self { at: flat, visible: depth.at(beside) < at.dot(&view.towards_eye()) + NEARER }
    }
}

/// Joins pairs of points that follow one another into the longest lines; a closed one ends where it begins.
fn chains(count: usize, joins: &[[usize; 2]]) -> Vec<Vec<usize>> {
    let mut beside: Vec<[Option<usize>; 2]> = vec![[None; 2]; count];
    for (join, ends) in joins.iter().enumerate() {
        for &end in ends {
            let free = usize::from(beside[end][0].is_some());
            beside[end][free] = Some(join);
        }
    }
    let mut used = vec![false; joins.len()];
    let mut out = Vec::new();
    // Open lines from their ends first, then what is left: closed ones from anywhere.
    let open = (0..count).filter(|&point| beside[point][1].is_none());
    for start in open.chain(0..count) {
        let mut chain = vec![start];
        let mut here = start;
        while let Some(join) = beside[here].iter().flatten().copied().find(|&join| !used[join]) {
            used[join] = true;
            here = if joins[join][0] == here { joins[join][1] } else { joins[join][0] };
            chain.push(here);
        }
        if chain.len() > 1 {
            out.push(chain);
        }
    }
    out
}

/// The parts of a line that can be seen; a hidden point or two between seen ones is the depth picture's grain.
fn visible_runs(chain: &[usize], points: &[Point]) -> Vec<Vec<[f64; 2]>> {
    const GRAIN: usize = 3;
    let mut seen: Vec<bool> = chain.iter().map(|&point| points[point].visible).collect();
    for state in [true, false] {
        let mut at = 0;
        while at < seen.len() {
            let run = seen[at..].iter().take_while(|&&other| other == seen[at]).count();
            let inner = at > 0 && at + run < seen.len();
            if seen[at] != state && inner && run <= GRAIN {
                seen[at..at + run].fill(state);
            }
            at += run;
        }
    }
    let mut runs = Vec::new();
    let mut run = Vec::new();
    for (&point, &seen) in chain.iter().zip(&seen) {
        if seen {
            run.push(points[point].at);
        } else if !run.is_empty() {
            runs.push(std::mem::take(&mut run));
        }
    }
    runs.push(run);
    runs
}

fn length(line: &[[f64; 2]]) -> f64 {
    line.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum()
}

/// How near the nearest surface is, seen from the eye.
struct Depth {
    low: [f64; 2],
    size: [usize; 2],
    cells: Vec<f64>,
}

impl Depth {
    fn of(mesh: &Mesh, view: &View) -> Self {
        let flat: Vec<[f64; 2]> = mesh.positions.iter().map(|&at| view.flat(at)).collect();
        let deep: Vec<f64> = mesh.positions.iter().map(|at| at.dot(&view.towards_eye())).collect();
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for at in &flat {
            for i in 0..2 {
                low[i] = low[i].min(at[i] - 2.0 * CELL);
                high[i] = high[i].max(at[i] + 2.0 * CELL);
            }
        }
        let size = [0, 1].map(|i| if low[i] < high[i] { ((high[i] - low[i]) / CELL).ceil() as usize } else { 0 });
        let mut depth = Self { low, size, cells: vec![f64::NEG_INFINITY; size[0] * size[1]] };
        for triangle in &mesh.triangles {
            depth.draw(triangle.map(|corner| flat[corner as usize]), triangle.map(|corner| deep[corner as usize]));
        }
        depth
    }

    fn draw(&mut self, [a, b, c]: [[f64; 2]; 3], deep: [f64; 3]) {
        let cross =
            |p: [f64; 2], q: [f64; 2], r: [f64; 2]| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
        let area = cross(a, b, c);
        if area.abs() < 1e-12 {
            return;
        }
        let range = |i: usize| {
            let (low, high) = (a[i].min(b[i]).min(c[i]), a[i].max(b[i]).max(c[i]));
            let cell = |at: f64| ((at - self.low[i]) / CELL - 0.5).max(0.0);
            (cell(low).ceil() as usize)..(cell(high).floor() as usize + 1).min(self.size[i])
        };
        let (across, upward) = (range(0), range(1));
        for row in upward {
            for column in across.clone() {
                let at = [0, 1].map(|i| self.low[i] + ([column, row][i] as f64 + 0.5) * CELL);
                let shares = [cross(at, b, c) / area, cross(at, c, a) / area, cross(at, a, b) / area];
                if shares.iter().all(|&share| share >= 0.0) {
                    let here = shares.iter().zip(deep).map(|(share, deep)| share * deep).sum();
                    let cell = &mut self.cells[row * self.size[0] + column];
                    *cell = cell.max(here);
                }
            }
        }
    }

    fn at(&self, at: [f64; 2]) -> f64 {
        let place = [0, 1].map(|i| ((at[i] - self.low[i]) / CELL).floor());
        if (0..2).all(|i| place[i] >= 0.0 && place[i] < self.size[i] as f64) {
            self.cells[place[1] as usize * self.size[0] + place[0] as usize]
        } else {
            f64::NEG_INFINITY
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::isosurface;

    const FRONT: View = View { right: Vec3::new(1.0, 0.0, 0.0), up: Vec3::new(0.0, 0.0, 1.0) };

    fn balls(balls: &[(Vec3, f64)]) -> Mesh {
        let balls = balls.to_vec();
        let field = move |at: Vec3| {
            balls.iter().map(|(centre, radius)| (at - centre).norm() - radius).fold(f64::INFINITY, f64::min)
        };
        isosurface(&field, Vec3::repeat(-0.6), Vec3::repeat(0.6), 0.01)
    }

    #[test]
    fn a_ball_is_drawn_as_one_circle_of_its_radius() {
        let lines = outlines(&balls(&[(Vec3::zeros(), 0.2)]), &FRONT);
        assert_eq!(lines.len(), 1);
        for at in &lines[0] {
            assert!((at[0].hypot(at[1]) - 0.2).abs() < 1e-3, "{at:?}");
        }
        assert!((length(&lines[0]) - std::f64::consts::TAU * 0.2).abs() < 4e-3, "closed, {}", length(&lines[0]));
    }

    #[test]
    fn what_a_nearer_ball_hides_is_not_drawn() {
        // The eye looks along +y: right × up = −y points to it. The small ball stands wholly before the large one, the
        // third, behind, shows half of itself: a half circle and the ends of its hidden part.
        let near = (Vec3::new(0.0, -0.4, 0.0), 0.1);
        let large = (Vec3::zeros(), 0.2);
        let behind = (Vec3::new(0.2, 0.4, 0.0), 0.1);
        let drawn: f64 = outlines(&balls(&[near, large, behind]), &FRONT).iter().map(|line| length(line)).sum();
        // Circles of radius 0.2 and 0.1 about points 0.2 apart: of the small one the angle 2 acos(−0.05 / 0.2 · …) by
        // the law of cosines: cos φ = (0.2² + 0.1² − 0.2²) / (2 · 0.2 · 0.1) = 0.25, hidden 2 φ = 2.6362 rad.
        let expected = std::f64::consts::TAU * (0.2 + 0.1) + (std::f64::consts::TAU - 2.6362) * 0.1;
        assert!((drawn - expected).abs() < 0.03, "{drawn} against {expected}");
    }
}
