//! Zones against brute force: the whole joint space sampled by the kinematics of the general-purpose crate `k`.

use std::collections::HashMap;

use heelpoint::{
    body::{Body, Draw},
    geometry::{Side, Vec3},
    posture::{ArmAngles, Posture, at_rest},
    reach::{Grip, Limb, Reach, Surface, USUAL_LEAN, Watch, Zone},
    rig::Rig,
};

/// Step of the lattice, m.
const STEP: f64 = 0.020;

/// The left arm from its shoulder to the middle of a gripped rod of 30 mm, axes of the thorax.
fn chain(body: &Body) -> k::SerialChain<f64> {
    let bones = &body.skeleton;
    let node = |axis: Option<[f64; 3]>, offset: [f64; 3]| {
        let kind = axis.map_or(k::JointType::Fixed, |axis| k::JointType::Rotational {
            axis: k::nalgebra::Unit::new_normalize(k::Vector3::from(axis)),
        });
        k::NodeBuilder::<f64>::new()
            .translation(k::Translation3::new(offset[0], offset[1], offset[2]))
            .joint_type(kind)
            .into_node()
    };
    let o = [0.0; 3];
    let nodes = [
        node(Some([0.0, -1.0, 0.0]), o),
        node(Some([1.0, 0.0, 0.0]), o),
        node(Some([0.0, 0.0, -1.0]), o),
        node(Some([0.0, -1.0, 0.0]), [0.0, 0.0, -bones.upper_arm]),
        node(Some([0.0, 0.0, -1.0]), [0.0, 0.0, -bones.forearm]),
        node(Some([-1.0, 0.0, 0.0]), o),
        node(Some([0.0, -1.0, 0.0]), o),
        node(None, [0.0, -(bones.palm + 0.015), -bones.wrist_to_grip]),
    ];
    for pair in nodes.windows(2) {
        pair[1].set_parent(&pair[0]);
    }
    k::SerialChain::from_end(&nodes[7])
}

/// A mesh's triangles by columns along z.
struct Columns<'a> {
    surface: &'a Surface,
    cells: HashMap<(i32, i32), Vec<usize>>,
}

impl<'a> Columns<'a> {
    fn of(surface: &'a Surface) -> Self {
        let mut cells: HashMap<(i32, i32), Vec<usize>> = HashMap::new();
        for (at, triangle) in surface.mesh.triangles.iter().enumerate() {
            let corners = triangle.map(|index| surface.mesh.positions[index as usize]);
            let span = |axis: usize| {
                let low = corners.iter().map(|p| p[axis]).fold(f64::INFINITY, f64::min);
                let high = corners.iter().map(|p| p[axis]).fold(f64::NEG_INFINITY, f64::max);
                (low / STEP).floor() as i32..=(high / STEP).floor() as i32
            };
            for i in span(0) {
                for j in span(1) {
                    cells.entry((i, j)).or_default().push(at);
                }
            }
        }
        Self { surface, cells }
    }

    /// Whether a point lies inside: how many triangles lie over it.
    fn holds(&self, p: Vec3) -> bool {
        let cell = ((p.x / STEP).floor() as i32, (p.y / STEP).floor() as i32);
        let over = self.cells.get(&cell).into_iter().flatten().filter(|&&at| {
            let [a, b, c] = self.surface.mesh.triangles[at].map(|index| self.surface.mesh.positions[index as usize]);
            let side = |u: Vec3, v: Vec3| (v.x - u.x) * (p.y - u.y) - (v.y - u.y) * (p.x - u.x);
            let (s, t, r) = (side(b, c), side(c, a), side(a, b));
            let whole = s + t + r;
            let same = (s > 0.0) == (t > 0.0) && (t > 0.0) == (r > 0.0);
            same && whole != 0.0 && (s * a.z + t * b.z + r * c.z) / whole > p.z
        });
        over.count() % 2 == 1
    }
}

struct Case {
    body: Body,
    rest: Posture,
    reach: Reach,
}

fn case() -> Case {
    let project = crate::demo("closed_car");
    let (body, rig) = (Body::of(&project.driver), Rig::place(&project));
    let rest = at_rest(&body, &rig, project.driver.brakes_with);
    let limb = Limb::Hand(Side::Left, Grip::Full);
    let mut reach = Reach::of(&body, &rig, &rest, limb, USUAL_LEAN, &[]).alone();
    reach.to_step(STEP, &Watch::NOBODY).unwrap();
    Case { body, rest, reach }
}

/// Joints anywhere in their ranges, each at an end of it in a quarter of the draws, and the shoulder joint anywhere on its
/// slide; the point in W.
fn samples(case: &Case, slide: f64, count: u64) -> Vec<(Vec<f64>, f64, Vec3)> {
    let chain = chain(&case.body);
    let ranges = ArmAngles::ranges(&case.body.limits);
    let (turn, shoulder) = (case.rest.sitting.thorax.rotation, case.rest.sitting.shoulders[0]);
    (0..count)
        .map(|index| {
            let mut draw = Draw::new(11, index);
            let mut share = || {
                let (kind, share) = (draw.uniform(), draw.uniform());
                if kind < 0.25 { share.round() } else { share }
            };
            let angles: Vec<f64> = ranges.iter().map(|range| range.low + (range.high - range.low) * share()).collect();
            let slid = slide * share();
            (angles.clone(), slid, at(&chain, &angles, slid, turn, shoulder))
        })
        .collect()
}

fn at(chain: &k::SerialChain<f64>, angles: &[f64], slid: f64, turn: heelpoint::geometry::Rot, shoulder: Vec3) -> Vec3 {
    chain.set_joint_positions_unchecked(angles);
    let tip = chain.end_transform().translation.vector;
    shoulder + turn * Vec3::new(tip.x + slid, tip.y, tip.z)
}

/// How far the shoulder joint may slide in the attainable zone: what the survey's reach is more than the links.
fn slide(body: &Body) -> f64 {
    let (bones, d) = (&body.skeleton, &body.dimensions);
    let links =
        bones.back_to_shoulder + bones.upper_arm + bones.forearm + bones.wrist_to_grip + 0.2 * d.m("handlength");
    (d.m("thumbtipreach") - links).clamp(0.0, 0.07)
}

#[test]
fn no_pose_reaches_beyond_the_surface() {
    let case = case();
    for (zone, slid) in [
        (Zone::Attainable, slide(&case.body)),
        (Zone::ShoulderLift, slide(&case.body) + case.body.skeleton.protraction),
    ] {
        let surface = case.reach.surface(zone).unwrap();
        let columns = Columns::of(surface);
        let (mut outside, mut beyond) = (0, 0);
        for (angles, _, point) in samples(&case, slid, 60_000) {
            if !columns.holds(point) {
                outside += 1;
                let (on, _) = surface.nearest(point).unwrap();
                let off = (on - point).norm();
                // One fin of the zone, where an arm raised and spread past the square turns over, is thinner than a step.
                beyond += usize::from(off >= STEP / 2.0);
                assert!(off < 0.6 * STEP, "{zone:?}: {:.1} mm beyond by {angles:?}", 1e3 * off);
            }
        }
        assert!(beyond <= 2, "{beyond} poses of 60 000 end further out than half a step");
        assert!(outside < 3000, "{outside} poses of 60 000 end just outside");
    }
}

/// Points inside the surface by more than half a step are come to by climbing from the nearest of many samples with the
/// other library's kinematics alone.
#[test]
fn every_point_inside_the_surface_is_reached() {
    let case = case();
    let slid = slide(&case.body);
    let surface = case.reach.surface(Zone::Attainable).unwrap();
    let columns = Columns::of(surface);
    let chain = chain(&case.body);
    let ranges = ArmAngles::ranges(&case.body.limits);
    let (turn, shoulder) = (case.rest.sitting.thorax.rotation, case.rest.sitting.shoulders[0]);
    let samples = samples(&case, slid, 60_000);
    let mut draw = Draw::new(5, 0);
    let mut looked = 0;
    while looked < 150 {
        let target = shoulder + Vec3::from_fn(|_, _| 1.6 * (draw.uniform() - 0.5));
        if !columns.holds(target) || (surface.nearest(target).unwrap().0 - target).norm() < STEP / 2.0 {
            continue;
        }
        looked += 1;
        // From the dozen nearest samples, steps at random that come nearer are kept.
        let mut near: Vec<_> = samples.iter().collect();
        near.select_nth_unstable_by(12, |a, b| (a.2 - target).norm().total_cmp(&(b.2 - target).norm()));
        let mut best = f64::INFINITY;
        for (angles, slid_there, point) in &near[..12] {
            let (mut angles, mut slid_here) = (angles.clone(), *slid_there);
            let mut off = (point - target).norm();
            let mut size = 0.2;
            for _ in 0..1500 {
                let tried: Vec<f64> = angles
                    .iter()
                    .zip(&ranges)
                    .map(|(angle, range)| range.clamp(angle + size * draw.normal()))
                    .collect();
                let slid_tried = (slid_here + 0.2 * size * draw.normal()).clamp(0.0, slid);
                let there = (at(&chain, &tried, slid_tried, turn, shoulder) - target).norm();
                if there < off {
                    (angles, slid_here, off) = (tried, slid_tried, there);
                } else {
                    size = (size * 0.97_f64).max(1e-3);
                }
                if off < 1e-3 {
                    break;
                }
            }
            best = best.min(off);
            if best < 1e-3 {
                break;
            }
        }
        assert!(best < 2e-3, "{target}: {:.1} mm short", 1e3 * best);
    }
}
