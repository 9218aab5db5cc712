//! Fewer triangles for what moves, where the processor draws: most of its time goes into them.

use std::sync::Arc;

use meshopt::{SimplifyOptions, simplify_decoder};

use crate::{
    body::Skin,
    geometry::{Mesh, Vec3 as Point},
    rig::{RigPart, Surface},
};

/// How far a thinned surface may be from the whole one, m: some three pixels of such a picture.
const OFF: f32 = 0.01;
/// Surfaces of fewer triangles than this stay as they are.
const FEW: usize = 400;
/// A boundary of reach with more triangles than this gets a draft with half of them.
const MANY: usize = 6000;

/// Triangles of a thinned part, of those it had.
const fn left(triangles: usize) -> usize {
    triangles * 2 / 25
}

/// What is left of a surface: some of its vertices, and triangles between them.
#[derive(Clone, Debug)]
struct Thin {
    kept: Vec<usize>,
    triangles: Vec<[u32; 3]>,
}

impl Thin {
    /// With so many triangles, or as few as [`OFF`] allows.
    fn of(positions: &[Point], triangles: &[[u32; 3]], count: usize) -> Self {
        let places: Vec<[f32; 3]> = positions.iter().map(|p| [p.x as f32, p.y as f32, p.z as f32]).collect();
        let whole = triangles.as_flattened();
        let left = simplify_decoder(whole, &places, 3 * count, OFF, SimplifyOptions::ErrorAbsolute, None);
        let mut numbers = vec![u32::MAX; positions.len()];
        let mut kept = Vec::new();
        let mut number = |old: u32| {
            let number = &mut numbers[old as usize];
            if *number == u32::MAX {
                *number = kept.len() as u32;
                kept.push(old as usize);
            }
            *number
        };
        let triangles = left.chunks_exact(3).map(|t| [number(t[0]), number(t[1]), number(t[2])]).collect();
        Self { kept, triangles }
    }

    fn of_kept<T: Clone>(&self, all: &[T]) -> Vec<T> {
        self.kept.iter().map(|&index| all[index].clone()).collect()
    }
}

/// A surface of many triangles with few; `None` where it has few.
pub fn mesh(whole: &Mesh) -> Option<Mesh> {
    (whole.triangles.len() > MANY).then(|| {
        let thin = Thin::of(&whole.positions, &whole.triangles, MANY / 2);
        Mesh {
            positions: thin.of_kept(&whole.positions),
            normals: thin.of_kept(&whole.normals),
            triangles: thin.triangles,
        }
    })
}

/// Thins surfaces, and remembers how: one whose triangles are between the same vertices as before keeps the same ones.
#[derive(Debug, Default)]
pub struct Thinner {
    surfaces: Vec<Option<Known>>,
    skin: Option<(Arc<Skin>, Arc<Skin>)>,
}

#[derive(Debug)]
struct Known {
    vertices: usize,
    whole: Vec<[u32; 3]>,
    thin: Thin,
}

impl Thinner {
    /// A surface of the rig, by its place in the list of all; `None` where it stays as it is.
    pub fn surface(&mut self, place: usize, whole: &Surface) -> Option<Surface> {
        // Rails are few triangles already and would lose their slots.
        if matches!(whole.part, RigPart::Rail(_)) || whole.triangles.len() < FEW {
            return None;
        }
        if self.surfaces.len() <= place {
            self.surfaces.resize_with(place + 1, || None);
        }
        let known = &mut self.surfaces[place];
        let fits = |known: &Known| known.vertices == whole.positions.len() && known.whole == whole.triangles;
        if !known.as_ref().is_some_and(fits) {
            let thin = Thin::of(&whole.positions, &whole.triangles, left(whole.triangles.len()));
            *known = Some(Known { vertices: whole.positions.len(), whole: whole.triangles.clone(), thin });
        }
        let thin = &known.as_ref()?.thin;
        Some(Surface {
            part: whole.part,
            kind: whole.kind,
            positions: thin.of_kept(&whole.positions),
            normals: thin.of_kept(&whole.normals),
            triangles: thin.triangles.clone(),
        })
    }

    /// A skin.
    pub fn skin(&mut self, whole: &Arc<Skin>) -> Arc<Skin> {
        if let Some((known, thin)) = &self.skin
            && Arc::ptr_eq(known, whole)
        {
            return thin.clone();
        }
        let thin = Thin::of(&whole.positions, &whole.triangles, left(whole.triangles.len()));
        let thin = Arc::new(Skin {
            positions: thin.of_kept(&whole.positions),
            normals: thin.of_kept(&whole.normals),
            weights: thin.of_kept(&whole.weights),
            parts: thin.of_kept(&whole.parts),
            triangles: thin.triangles,
            bind: whole.bind,
        });
        self.skin = Some((whole.clone(), thin.clone()));
        thin
    }
}

#[cfg(test)]
mod tests {
    use parry3d::{query::PointQuery, shape::Triangle};

    use super::*;
    use crate::{
        body::{Body, SkinDetail},
        project::load,
        units::mm,
    };

    #[test]
    fn a_thinned_skin_stays_near_the_whole_one_and_keeps_what_moves_it() {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/starter.ron");
        let (project, _) = load(&path).unwrap();
        let whole = Arc::new(Skin::of(&Body::of(&project.driver), mm(13.0), SkinDetail::Coarse));
        let mut thinner = Thinner::default();
        let thin = thinner.skin(&whole);
        assert!(thin.triangles.len() * 4 < whole.triangles.len(), "{}", thin.triangles.len());
        for (index, position) in thin.positions.iter().enumerate().step_by(7) {
            let old = whole.positions.iter().position(|p| p == position).expect("it is one of the whole skin");
            assert_eq!(thin.weights[index], whole.weights[old]);
        }
        // No vertex of the whole skin lies further from a triangle of the thin one than it may.
        let seen = |p: &Point| parry3d::math::Vector::new(p.x, p.y, p.z);
        let far = |p: &Point| {
            let to = |t: &[u32; 3]| {
                let [a, b, c] = t.map(|index| seen(&thin.positions[index as usize]));
                Triangle::new(a, b, c).distance_to_local_point(seen(p), false)
            };
            thin.triangles.iter().map(to).fold(f64::MAX, f64::min)
        };
        let worst = whole.positions.iter().step_by(53).map(far).fold(0.0, f64::max);
        assert!(worst < 2.0 * f64::from(OFF), "{worst}");
        assert!(Arc::ptr_eq(&thin, &thinner.skin(&whole)), "it is thinned once");
    }
}
