//! Zones against brute force: the whole joint space sampled by the kinematics of the general-purpose crate `k`.

use std::collections::HashMap;

use heelpoint::{
    body::{Body, Draw, Range},
    geometry::{Rot, Side, Vec3},
    posture::{ArmAngles, LegAngles, at_rest},
    reach::{Footing, Grip, Limb, Reach, Surface, USUAL_LEAN, Zone},
    rig::Rig,
    watch::Watch,
};

/// Step of the lattice, m.
const STEP: f64 = 0.020;

fn node(axis: Option<[f64; 3]>, offset: [f64; 3]) -> k::Node<f64> {
    let kind = axis.map_or(k::JointType::Fixed, |axis| k::JointType::Rotational {
        axis: k::nalgebra::Unit::new_normalize(k::Vector3::from(axis)),
    });
    k::NodeBuilder::<f64>::new()
        .translation(k::Translation3::new(offset[0], offset[1], offset[2]))
        .joint_type(kind)
        .into_node()
}

fn chained(nodes: &[k::Node<f64>; 8]) -> k::SerialChain<f64> {
    for pair in nodes.windows(2) {
        pair[1].set_parent(&pair[0]);
    }
    k::SerialChain::from_end(&nodes[7])
}

/// The left arm from its shoulder to the middle of a gripped rod of 30 mm, axes of the thorax.
fn arm(body: &Body) -> k::SerialChain<f64> {
    let bones = &body.skeleton;
    let o = [0.0; 3];
    chained(&[
        node(Some([0.0, -1.0, 0.0]), o),
        node(Some([1.0, 0.0, 0.0]), o),
        node(Some([0.0, 0.0, -1.0]), o),
        node(Some([0.0, -1.0, 0.0]), [0.0, 0.0, -bones.upper_arm]),
        node(Some([0.0, 0.0, -1.0]), [0.0, 0.0, -bones.forearm]),
        node(Some([-1.0, 0.0, 0.0]), o),
        node(Some([0.0, -1.0, 0.0]), o),
        node(None, [0.0, -(bones.palm + 0.015), -bones.wrist_to_grip]),
    ])
}

/// The left leg from its hip to the ball of the foot at the bottom of the sole, axes of the pelvis.
fn leg(body: &Body) -> k::SerialChain<f64> {
    let bones = &body.skeleton;
    let o = [0.0; 3];
    chained(&[
        node(Some([0.0, -1.0, 0.0]), o),
        node(Some([1.0, 0.0, 0.0]), o),
        node(Some([0.0, 0.0, -1.0]), o),
        node(Some([0.0, 1.0, 0.0]), [0.0, 0.0, -bones.thigh]),
        node(Some([0.0, -1.0, 0.0]), [0.0, 0.0, -bones.shank]),
        node(Some([-1.0, 0.0, 0.0]), o),
        node(Some([0.0, 0.0, 1.0]), o),
        node(None, [bones.heel_to_ball - bones.heel_to_ankle, 0.0, -bones.ankle_height]),
    ])
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

/// A limb in one zone, sampled by the other library.
struct Sampled<'a> {
    chain: k::SerialChain<f64>,
    ranges: [Range; 7],
    /// Axes and place of the trunk or pelvis from which the limb starts, and where it does, seen from there.
    turn: Rot,
    from: Vec3,
    start: Vec3,
    /// How far the shoulder slides forward, m, and the trunk leans, rad.
    most: [f64; 2],
    surface: &'a Surface,
    /// A heel that stays on a plane: where it is, seen from the limb's point in the axes of the foot, the plane's normal and
    /// its height along that, W.
    heel: Option<(Vec3, Vec3, f64)>,
    /// How many poses are drawn.
    count: u64,
}

/// Angles of the limb, then slide and lean.
type Joints = ([f64; 7], [f64; 2]);

impl Sampled<'_> {
    fn at(&self, (angles, [slid, lean]): &Joints) -> Vec3 {
        self.chain.set_joint_positions_unchecked(angles);
        let tip = self.chain.end_transform().translation.vector;
        let seen = self.start + Vec3::new(tip.x + slid, tip.y, tip.z);
        self.from + self.turn * (Rot::from_axis_angle(&Vec3::y_axis(), *lean) * seen)
    }

    /// How far the heel is off its plane, m, upward positive; 0 of a limb without one.
    fn heel_off(&self, joints: &Joints) -> f64 {
        let Some((local, normal, height)) = self.heel else { return 0.0 };
        let tip = self.at(joints);
        let turned = self.chain.end_transform().rotation * k::Vector3::new(local.x, local.y, local.z);
        normal.dot(&(tip + self.turn * Vec3::new(turned.x, turned.y, turned.z))) - height
    }

    /// How far the limb's point is off a target and its heel off its plane, m.
    fn off(&self, joints: &Joints, target: Vec3) -> f64 {
        (self.at(joints) - target).norm().hypot(self.heel_off(joints))
    }

    /// The same joints with the knee bent so that the heel is on its plane; `None` where no bend brings it there.
    fn planted(&self, mut joints: Joints, start: f64) -> Option<Joints> {
        const KNEE: usize = 3;
        const PARTS: usize = 10;
        if self.heel.is_none() {
            return Some(joints);
        }
        let range = self.ranges[KNEE];
        let bend = |part: usize| range.low + (range.high - range.low) * part as f64 / PARTS as f64;
        let off = |joints: &mut Joints, at: f64| {
            joints.0[KNEE] = at;
            self.heel_off(joints)
        };
        // From anywhere in the range on, so that each of several bends has its turn.
        let first = (start * PARTS as f64) as usize;
        let part = (first..PARTS)
            .chain(0..first)
            .find(|&part| (off(&mut joints, bend(part)) > 0.0) != (off(&mut joints, bend(part + 1)) > 0.0))?;
        let (mut low, mut high) = (bend(part), bend(part + 1));
        let above = off(&mut joints, low) > 0.0;
        while high - low > 1e-9 {
            let middle = f64::midpoint(low, high);
            if (off(&mut joints, middle) > 0.0) == above { low = middle } else { high = middle }
        }
        Some(joints)
    }

    /// Joints anywhere in their ranges, each at an end of it in a quarter of the draws; the limb's point in W.
    fn samples(&self) -> Vec<(Joints, Vec3)> {
        (0..self.count)
            .filter_map(|index| {
                let mut draw = Draw::new(11, index);
                let joints = {
                    let mut share = || {
                        let (kind, share) = (draw.uniform(), draw.uniform());
                        if kind < 0.25 { share.round() } else { share }
                    };
                    let angles = self.ranges.map(|range| range.low + (range.high - range.low) * share());
                    (angles, self.most.map(|most| most * share()))
                };
                let joints = self.planted(joints, draw.uniform())?;
                Some((joints, self.at(&joints)))
            })
            .collect()
    }

    /// How near steps at random that come nearer bring the point to a target, m.
    fn climbed(&self, (joints, _): &(Joints, Vec3), target: Vec3, draw: &mut Draw) -> f64 {
        let mut joints = *joints;
        let mut off = self.off(&joints, target);
        let mut size = 0.2;
        for _ in 0..1500 {
            let mut tried = joints;
            for (angle, range) in tried.0.iter_mut().zip(&self.ranges) {
                *angle = range.clamp(*angle + size * draw.normal());
            }
            for (value, most) in tried.1.iter_mut().zip(self.most) {
                *value = (*value + 0.2 * size * draw.normal()).clamp(0.0, most);
            }
            let there = self.off(&tried, target);
            if there < off {
                (joints, off) = (tried, there);
            } else {
                size = (size * 0.97_f64).max(1e-3);
            }
            if off < 1e-3 {
                break;
            }
        }
        off
    }
}

/// How far the shoulder joint may slide in the attainable zone: what the survey's reach is more than the links.
fn slide(body: &Body) -> f64 {
    let (bones, d) = (&body.skeleton, &body.dimensions);
    let links =
        bones.back_to_shoulder + bones.upper_arm + bones.forearm + bones.wrist_to_grip + 0.2 * d.m("handlength");
    (d.m("thumbtipreach") - links).clamp(0.0, 0.07)
}

/// Looks at the left hand in its three wider zones and at the left foot, in the air and heel down, nothing in their way.
fn each(look: impl Fn(&str, &Sampled<'_>)) {
    let project = crate::demo("closed_car");
    let (body, rig) = (Body::of(&project.driver), Rig::place(&project));
    let rest = at_rest(&body, &rig, project.driver.brakes_with);
    let sitting = &rest.sitting;
    let of = |limb: Limb| {
        let mut reach = Reach::of(&body, &rig, &rest, limb, USUAL_LEAN, &[]).alone();
        reach.to_step(STEP, &Watch::NOBODY).unwrap();
        reach
    };
    let hand = of(Limb::Hand(Side::Left, Grip::Full));
    let (turn, from) = (sitting.thorax.rotation, sitting.h_point);
    let slide = slide(&body);
    for (zone, most) in [
        (Zone::Attainable, [slide, 0.0]),
        (Zone::ShoulderLift, [slide + body.skeleton.protraction, 0.0]),
        (Zone::Leaning, [slide + body.skeleton.protraction, USUAL_LEAN]),
    ] {
        let start = turn.inverse() * (sitting.shoulders[0] - from);
        let (chain, ranges) = (arm(&body), ArmAngles::ranges(&body.limits));
        let surface = hand.surface(zone).unwrap();
        look(zone.word(), &Sampled { chain, ranges, turn, from, start, most, surface, heel: None, count: 60_000 });
    }
    let (turn, from) = (sitting.pelvis.rotation, sitting.hips[0]);
    let (ranges, start, most) = (LegAngles::ranges(&body.limits), Vec3::zeros(), [0.0; 2]);
    let normal = rig.pedals.X_WP.rotation * Vec3::z();
    let height = normal.dot(&rig.pedals.X_WP.translation.vector) + rig.pedals.heel_rest;
    let heel = Some((Vec3::new(-body.skeleton.heel_to_ball, 0.0, 0.0), normal, height));
    for (name, footing, heel) in [("foot", Footing::Free, None), ("foot, heel down", Footing::HeelDown, heel)] {
        let foot = of(Limb::Foot(Side::Left, footing));
        let surface = foot.surface(Zone::Attainable).unwrap();
        look(name, &Sampled { chain: leg(&body), ranges, turn, from, start, most, surface, heel, count: 60_000 });
    }
}

#[test]
fn no_pose_reaches_beyond_the_surface() {
    each(|name, sampled| {
        let columns = Columns::of(sampled.surface);
        let (mut outside, mut beyond) = (0, 0);
        for (joints, point) in sampled.samples() {
            if !columns.holds(point) {
                outside += 1;
                let (on, _) = sampled.surface.nearest(point).unwrap();
                let off = (on - point).norm();
                // One fin of the zone, where an arm raised and spread past the square turns over, is thinner than a step.
                beyond += usize::from(off >= STEP / 2.0);
                assert!(off < 0.6 * STEP, "{name}: {:.1} mm beyond by {joints:?}", 1e3 * off);
            }
        }
        assert!(beyond <= 2, "{name}: {beyond} poses of 60 000 end further out than half a step");
        assert!(outside < 3000, "{name}: {outside} poses of 60 000 end just outside");
    });
}

/// Points inside the surface by more than half a step are come to by climbing from the nearest of many samples with the
/// other library's kinematics alone.
#[test]
fn every_point_inside_the_surface_is_reached() {
    each(|name, sampled| {
        let columns = Columns::of(sampled.surface);
        let samples = sampled.samples();
        let middle = sampled.from + sampled.turn * sampled.start;
        let mut draw = Draw::new(5, 0);
        let mut looked = 0;
        while looked < 150 {
            let target = middle + Vec3::from_fn(|_, _| 1.8 * (draw.uniform() - 0.5));
            if !columns.holds(target) || (sampled.surface.nearest(target).unwrap().0 - target).norm() < STEP / 2.0 {
                continue;
            }
            looked += 1;
            let mut near: Vec<_> = samples.iter().collect();
            near.select_nth_unstable_by(12, |a, b| (a.1 - target).norm().total_cmp(&(b.1 - target).norm()));
            let mut best = f64::INFINITY;
            for sample in &near[..12] {
                best = best.min(sampled.climbed(sample, target, &mut draw));
                if best < 1e-3 {
                    break;
                }
            }
            assert!(best < 2e-3, "{name} {target}: {:.1} mm short", 1e3 * best);
        }
    });
}
