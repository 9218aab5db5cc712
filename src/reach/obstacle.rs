//! What a limb cannot pass: parts of the rig, the other limbs, the trunk, the floor, and what the user adds.
//!
//! The limb is a row of balls, its surroundings a net of distances: a ball keeps clear where the distance at its middle
//! is at least its radius. Between the corners of the net, 20 mm apart, distances are linear: a ball's middle lies its
//! radius away from what it touches, where that is right to about 2 mm.

use rayon::prelude::*;
use wide::f32x4;

use super::{
    lanes::{Few, Frames, Lanes, inner, less},
    limb::{Chain, Frame},
    zone::{Grip, Limb, ROD},
};
use crate::{
    body::{Body, BodyPart},
    geometry::{RimSolid, RoundedBox, Side, Solid, TaperedCapsule, Vec3, distance, distance_within},
    posture::{ArmAngles, LegAngles, Posture},
    project::StandsFor,
    rig::{Rig, RigPart},
    units::mm,
};

/// What stands in the way.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Barrier {
    /// A part of the rig.
    Rig(RigPart),
    /// A part of the body.
    Body(BodyPart),
    /// The floor.
    Floor,
    /// Something else, by its name: a screen, a tray, a wall.
    Added(String),
}

impl Barrier {
    /// In words, with the names that the project gives.
    pub fn words(&self, rig: &Rig) -> String {
        match self {
            Self::Rig(part) => match part {
                RigPart::Seat(name) => format!("the seat’s {name}"),
                RigPart::Rim => "the rim".into(),
                RigPart::Hub => "the hub".into(),
                RigPart::WheelUnit => "the wheel unit".into(),
                RigPart::Pedal(kind) => format!("the {}", kind.word()),
                RigPart::PedalBase => "the heel plate".into(),
                RigPart::Screen(name) => format!("the {name}"),
                RigPart::Control(at) => rig.controls.get(*at).map_or_else(|| "a control".into(), |c| c.name.clone()),
                RigPart::Imported(at) => {
                    rig.imported.get(*at).map_or_else(|| "a part".into(), |p| format!("“{}”", p.name))
                }
                RigPart::Rail(at) => rig.rails.get(*at).map_or_else(|| "a rail".into(), |r| format!("the {}", r.name)),
            },
            Self::Body(part) => {
                let of = |side: &Side, what: &str| format!("your {} {what}", side.word());
                match part {
                    BodyPart::Head => "your head".into(),
                    BodyPart::Neck => "your neck".into(),
                    BodyPart::Chest => "your chest".into(),
                    BodyPart::Abdomen => "your belly".into(),
                    BodyPart::Pelvis => "your hips".into(),
                    BodyPart::UpperArm(side) => of(side, "upper arm"),
                    BodyPart::Elbow(side) => of(side, "elbow"),
                    BodyPart::Forearm(side) => of(side, "forearm"),
                    BodyPart::Hand(side) => of(side, "hand"),
                    BodyPart::Thigh(side) => of(side, "thigh"),
                    BodyPart::Knee(side) => of(side, "knee"),
                    BodyPart::Shank(side) => of(side, "shank"),
                    BodyPart::Foot(side) => of(side, "foot"),
                }
            }
            Self::Floor => "the floor".into(),
            Self::Added(name) => name.clone(),
        }
    }
}

/// A solid that a limb cannot pass.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// What it is.
    pub what: Barrier,
    /// Its shape, W.
    pub solid: Solid,
    /// How far a limb may press into it, m.
    pub give: f64,
}

/// How far a limb presses into hard parts and foam, m: own choices; the first is what shapes are off.
const HARD: f64 = mm(2.0);
const FOAM: f64 = mm(10.0);

impl Obstacle {
    /// A hard part.
    pub const fn hard(what: Barrier, solid: Solid) -> Self {
        Self { what, solid, give: HARD }
    }

    /// The least box along the axes that holds it: lowest and highest corner.
    fn extent(&self) -> (Vec3, Vec3) {
        let span = |points: &[Vec3], by: f64| {
            let low = points.iter().fold(Vec3::repeat(f64::INFINITY), |a, b| a.inf(b)).add_scalar(-by);
            (low, points.iter().fold(Vec3::repeat(f64::NEG_INFINITY), |a, b| a.sup(b)).add_scalar(by))
        };
        match &self.solid {
            Solid::Capsule(c) => span(&[c.a, c.b], c.radius_a.max(c.radius_b)),
            Solid::Box(b) => span(&b.corners(), 0.0),
            Solid::Mesh(m) => span(&m.corners(), 0.0),
            Solid::Rim(RimSolid { pose, path, tube }) => {
                let axis = pose.rotation * Vec3::x();
                let half = axis.map(|x| path.reach() * (1.0 - x * x).max(0.0).sqrt()).add_scalar(*tube);
                (pose.translation.vector - half, pose.translation.vector + half)
            }
        }
    }
}

/// What the seated body and its rig put in a limb's way, by the frames they stand in.
#[derive(Clone, Debug)]
pub(super) struct Around {
    /// Standing in the world; then, of an arm, moving with the trunk and, of a leg, in no way of the thigh.
    pub nets: [Net; 2],
    /// Where the added obstacles begin in the first net, and how many there are.
    added: (usize, usize),
}

/// The least distance to some obstacles on a net of points.
#[derive(Clone, Debug)]
pub(super) struct Net {
    pub list: Vec<Obstacle>,
    low: Vec3,
    count: [usize; 3],
    least: Vec<f32>,
    whose: Vec<u16>,
}

/// From point to point of the net, m.
const STEP: f64 = mm(20.0);
/// Distances beyond this are not told apart, m: more than any ball's radius.
const FAR: f64 = mm(100.0);

impl Net {
    /// The net over a box.
    pub fn new(list: Vec<Obstacle>, low: Vec3, high: Vec3) -> Self {
        let count: [usize; 3] = std::array::from_fn(|i| ((high[i] - low[i]) / STEP).ceil().max(1.0) as usize + 1);
        let all = count.iter().product();
        let mut net = Self { list, low, count, least: vec![FAR as f32; all], whose: vec![u16::MAX; all] };
        net.fill([0; 3], count);
        net
    }

    /// Works the net out anew between two corners of it.
    fn fill(&mut self, from: [usize; 3], to: [usize; 3]) {
        let reach: Vec<([usize; 3], [usize; 3])> =
            self.list.iter().map(|obstacle| self.near(obstacle, from, to)).collect();
        let (list, low, [_, ny, nz]) = (&self.list, self.low, self.count);
        let slab = ny * nz;
        let slabs = self.least.par_chunks_mut(slab).zip(self.whose.par_chunks_mut(slab)).enumerate();
        slabs.for_each(|(i, (least, whose))| {
            if i < from[0] || i >= to[0] {
                return;
            }
            for j in from[1]..to[1] {
                least[j * nz + from[2]..j * nz + to[2]].fill(FAR as f32);
            }
            for (index, (obstacle, (first, last))) in list.iter().zip(&reach).enumerate() {
                if i < first[0] || i >= last[0] {
                    continue;
                }
                let ready = Ready::of(&obstacle.solid);
                let give = obstacle.give as f32;
                for j in first[1]..last[1] {
                    for k in (first[2]..last[2]).step_by(WIDE) {
                        // Four along z at a time.
                        let at = low + Vec3::new(i as f64, j as f64, k as f64) * STEP;
                        let gaps = ready.points(at);
                        let place = j * nz + k;
                        for (at, gap) in (place..place + (last[2] - k).min(WIDE)).zip(gaps) {
                            if gap + give < least[at] {
                                least[at] = gap + give;
                                whose[at] = index as u16;
                            }
                        }
                    }
                }
            }
        });
    }

    /// The part of the net, between two corners of it, that an obstacle is near to.
    fn near(&self, obstacle: &Obstacle, from: [usize; 3], to: [usize; 3]) -> ([usize; 3], [usize; 3]) {
        let (low, high) = obstacle.extent();
        let grown = FAR + obstacle.give;
        let place = |x: f64, axis: usize| ((x - self.low[axis]) / STEP).clamp(0.0, self.count[axis] as f64);
        (
            std::array::from_fn(|axis| (place(low[axis] - grown, axis).floor() as usize).clamp(from[axis], to[axis])),
            std::array::from_fn(|axis| {
                (place(high[axis] + grown, axis).ceil() as usize + 1).min(self.count[axis]).clamp(from[axis], to[axis])
            }),
        )
    }

    /// Puts another obstacle in the place of one and works out what either touches. Returns the box of it, W of the net.
    pub fn moved(&mut self, index: usize, to: Obstacle) -> (Vec3, Vec3) {
        let all = (self.near(&self.list[index], [0; 3], self.count), self.near(&to, [0; 3], self.count));
        let ((a, b), (c, d)) = all;
        let (old, new) = (self.list[index].extent(), to.extent());
        self.list[index] = to;
        self.fill(a, b);
        self.fill(c, d);
        (old.0.inf(&new.0), old.1.sup(&new.1))
    }

    /// The eight values round a point, and where it lies between them; `None` outside.
    #[inline]
    fn round(&self, point: Vec3) -> Option<([f64; 8], Vec3)> {
        let place = (point - self.low) / STEP;
        let [nx, ny, nz] = self.count;
        if !(place.min() >= 0.0 && place.x < (nx - 1) as f64 && place.y < (ny - 1) as f64 && place.z < (nz - 1) as f64)
        {
            return None;
        }
        let [i, j, k] = [place.x as usize, place.y as usize, place.z as usize];
        let at = (i * ny + j) * nz + k;
        let slab = ny * nz;
        let pair = |at: usize| [f64::from(self.least[at]), f64::from(self.least[at + 1])];
        let ([a, b], [c, d], [e, f], [g, h]) = (pair(at), pair(at + nz), pair(at + slab), pair(at + slab + nz));
        Some(([a, b, c, d, e, f, g, h], Vec3::new(place.x - i as f64, place.y - j as f64, place.z - k as f64)))
    }

    /// The least distance at a point.
    #[inline]
    pub fn at(&self, point: Vec3) -> f64 {
        let Some(([a, b, c, d, e, f, g, h], t)) = self.round(point) else { return FAR };
        let line = |a: f64, b: f64| a + (b - a) * t.z;
        let face = |a: f64, b: f64| a + (b - a) * t.y;
        let (near, far) = (face(line(a, b), line(c, d)), face(line(e, f), line(g, h)));
        near + (far - near) * t.x
    }

    /// How to come from places seen from `from` to the net's own.
    fn scale(&self, from: Vec3) -> Scale {
        let per = (1.0 / STEP) as f32;
        let shift = (from - self.low) / STEP;
        Scale {
            per: f32x4::splat(per),
            shift: [0, 1, 2].map(|i| f32x4::splat(shift[i] as f32)),
            most: self.count.map(|n| f32x4::splat((n - 1) as f32 - 1e-3)),
        }
    }

    /// Whether balls with their middles in `seen` are nearer or deeper than the worst known of each: raises that and calls
    /// `take`.
    #[inline]
    fn deepest(
        &self,
        seen: &V,
        scale: &Scale,
        radius: f32,
        worst: &mut [Pressed; WIDE],
        mut take: impl FnMut(&mut Pressed, usize),
    ) {
        // Between the corners the distance is less than at the nearest by no more than √(3/2) steps.
        const BETWEEN: f32 = 1.225 * STEP as f32;
        const LARGE: f32 = 12_582_912.0;
        let ([_, ny, nz], n) = (self.count, f32x4::splat);
        // What lies outside is looked at on the rim of the net.
        let [x, y, z]: V = std::array::from_fn(|i| {
            (seen[i] * scale.per + scale.shift[i]).fast_max(f32x4::ZERO).fast_min(scale.most[i])
        });
        // Rounded by what the last bits of a large number cannot hold.
        let round = |x: f32x4| (x + n(LARGE)) - n(LARGE);
        let nearest = (round(x) * n(ny as f32) + round(y)) * n(nz as f32) + round(z);
        let nearest = nearest.fast_trunc_int().to_array();
        let about = f32x4::new(nearest.map(|at| self.least[at as usize]));
        // Those that are too far off are told by one comparison of all four.
        let known = f32x4::new([worst[0].by, worst[1].by, worst[2].by, worst[3].by]);
        let near = about.simd_lt(n(FAR as f32)) & (n(radius + BETWEEN) - about).simd_gt(known);
        let near = near.to_bitmask();
        if near == 0 {
            return;
        }
        for (lane, worst) in worst.iter_mut().enumerate() {
            if near >> lane & 1 == 0 {
                continue;
            }
            let (x, y, z) = (x.as_array()[lane], y.as_array()[lane], z.as_array()[lane]);
            let (i, j, k) = (x as usize, y as usize, z as usize);
            let (x, y, z) = (x - i as f32, y - j as f32, z - k as f32);
            let at = (i * ny + j) * nz + k;
            let slab = ny * nz;
            let line = |at: usize| self.least[at] + (self.least[at + 1] - self.least[at]) * z;
            let face = |at: usize| {
                let (a, b) = (line(at), line(at + nz));
                a + (b - a) * y
            };
            let (near, far) = (face(at), face(at + slab));
            let by = radius - (near + (far - near) * x);
            if by > worst.by {
                worst.by = by;
                take(worst, lane);
            }
        }
    }

    /// Whether the least distance at a point may be less than `gap`: no of most points that are further off, from one
    /// corner of the net.
    #[inline]
    fn may_be_nearer(&self, point: Vec3, gap: f64) -> bool {
        // From corner to corner of a cell.
        const ACROSS: f64 = 1.733 * STEP;
        let [nx, ny, nz] = self.count;
        let place = (point - self.low) * (1.0 / STEP);
        let [i, j, k] = [place.x as usize, place.y as usize, place.z as usize];
        let at = (i.min(nx - 1) * ny + j.min(ny - 1)) * nz + k.min(nz - 1);
        f64::from(self.least[at]) < gap + ACROSS
    }

    /// The way in which it grows fastest.
    fn slope(&self, point: Vec3) -> Vec3 {
        let Some(([a, b, c, d, e, f, g, h], t)) = self.round(point) else { return Vec3::zeros() };
        let mix = |a: f64, b: f64, t: f64| a + (b - a) * t;
        let x = mix(mix(e - a, f - b, t.z), mix(g - c, h - d, t.z), t.y);
        let y = mix(mix(c - a, d - b, t.z), mix(g - e, h - f, t.z), t.x);
        let z = mix(mix(b - a, d - c, t.y), mix(f - e, h - g, t.y), t.x);
        Vec3::new(x, y, z) / STEP
    }

    /// The obstacle that is nearest to a point: of the net's corners round it, the one with the least distance.
    fn nearest(&self, point: Vec3) -> usize {
        let place = (point - self.low) / STEP;
        let mut best = (f32::INFINITY, 0);
        for corner in 0..8 {
            let at: [usize; 3] = std::array::from_fn(|axis| {
                ((place[axis].max(0.0) as usize) + (corner >> axis & 1)).min(self.count[axis] - 1)
            });
            let index = (at[0] * self.count[1] + at[1]) * self.count[2] + at[2];
            if self.least[index] < best.0 && self.whose[index] != u16::MAX {
                best = (self.least[index], usize::from(self.whose[index]));
            }
        }
        best.1
    }
}

/// From places in metres to those of a net, in its steps.
struct Scale {
    per: f32x4,
    shift: V,
    most: V,
}

/// A solid made ready for the distances of many points.
enum Ready<'a> {
    Cone(Cone),
    /// A box: its axes, its middle, half its extents without the rounding, and the rounding.
    Brick(Frame, Vec3, f64),
    /// Triangles: what is near is looked for no further than it has to be.
    Surface(&'a Solid),
    Other(&'a Solid),
}

impl<'a> Ready<'a> {
    fn of(solid: &'a Solid) -> Self {
        match solid {
            Solid::Capsule(capsule) => Self::Cone(Cone::of(capsule)),
            Solid::Box(RoundedBox { pose, half, round }) => {
                let axes = [Vec3::x(), Vec3::y(), Vec3::z()].map(|axis| pose.rotation * axis);
                let frame = Frame { axes, at: pose.translation.vector };
                Self::Brick(frame, half.add_scalar(-round), *round)
            }
            Solid::Mesh(_) => Self::Surface(solid),
            Solid::Rim(_) => Self::Other(solid),
        }
    }

    /// From a point and those one, two and three steps over it to its surface, negative inside.
    #[inline]
    fn points(&self, at: Vec3) -> [f32; WIDE] {
        match self {
            Self::Cone(cone) => cone.points(at),
            Self::Brick(frame, core, round) => {
                let along: V = up(at, frame.at, frame.axes);
                let n = f32x4::splat;
                let beyond: V = std::array::from_fn(|i| along[i].abs() - n(core[i] as f32));
                let out = beyond.map(|x| x.fast_max(f32x4::ZERO));
                let inside = beyond[0].fast_max(beyond[1]).fast_max(beyond[2]).fast_min(f32x4::ZERO);
                (inner(&out, &out).sqrt() + inside - n(*round as f32)).to_array()
            }
            Self::Surface(solid) => {
                // From point to point no distance changes by more than the step.
                let mut limit = FAR;
                std::array::from_fn(|step| {
                    let at = at + Vec3::z() * (step as f64 * STEP);
                    let ball = TaperedCapsule { a: at, b: at, radius_a: 0.0, radius_b: 0.0 };
                    let gap = distance_within(&ball, solid, limit).gap;
                    limit = if gap < limit { (gap.abs() + 1.001 * STEP).min(FAR) } else { FAR };
                    gap as f32
                })
            }
            Self::Other(solid) => {
                std::array::from_fn(|step| point_to(at + Vec3::z() * (step as f64 * STEP), solid) as f32)
            }
        }
    }
}

/// A number of each of the points side by side, and three.
type V = [f32x4; 3];

/// A point and those one, two and three steps over it, along some directions from an origin.
#[inline]
fn up<const N: usize>(at: Vec3, origin: Vec3, ways: [Vec3; N]) -> [f32x4; N] {
    let steps = f32x4::new([0.0, 1.0, 2.0, 3.0]);
    ways.map(|way| f32x4::splat(way.dot(&(at - origin)) as f32) + steps * f32x4::splat((way.z * STEP) as f32))
}

/// A tapered capsule made ready for the distances of many points.
struct Cone {
    start: Vec3,
    along: Vec3,
    length: f64,
    radius: f64,
    /// How the radius grows along the axis, and that over √(1 − itself²).
    slope: f64,
    shift: f64,
}

impl Cone {
    fn of(capsule: &TaperedCapsule) -> Self {
        let axis = capsule.b - capsule.a;
        let (length, grows) = (axis.norm(), capsule.radius_b - capsule.radius_a);
        if length <= grows.abs() || length < 1e-12 {
            // One of its balls holds the other.
            let (start, radius) =
                if grows > 0.0 { (capsule.b, capsule.radius_b) } else { (capsule.a, capsule.radius_a) };
            return Self { start, along: Vec3::zeros(), length: 0.0, radius, slope: 0.0, shift: 0.0 };
        }
        let slope = grows / length;
        let shift = slope / (1.0 - slope * slope).sqrt();
        Self { start: capsule.a, along: axis / length, length, radius: capsule.radius_a, slope, shift }
    }

    /// From a point and those one, two and three steps over it to its surface, negative inside: the least, over the balls
    /// along the axis, of the distance to their middle less their radius.
    #[inline]
    fn points(&self, at: Vec3) -> [f32; WIDE] {
        let n = f32x4::splat;
        let [foot, x, y, z] = up(at, self.start, [self.along, Vec3::x(), Vec3::y(), Vec3::z()]);
        let height_squared = (inner(&[x, y, z], &[x, y, z]) - foot * foot).fast_max(f32x4::ZERO);
        let place =
            (foot + height_squared.sqrt() * n(self.shift as f32)).fast_max(f32x4::ZERO).fast_min(n(self.length as f32));
        let off = foot - place;
        let gap = (height_squared + off * off).sqrt() - n(self.radius as f32) - n(self.slope as f32) * place;
        gap.to_array()
    }
}

/// From a point to a solid, negative inside.
fn point_to(point: Vec3, solid: &Solid) -> f64 {
    distance(&TaperedCapsule { a: point, b: point, radius_a: 0.0, radius_b: 0.0 }, solid).gap
}

/// A ball of a limb in the frame behind one of its joints.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ball {
    /// Upper bone, lower bone or end, and the joint whose frame that has.
    part: usize,
    bone: usize,
    at: Vec3,
    at_single: [f32; 3],
    pub radius: f64,
    /// In which nets it counts.
    counts: [bool; 2],
    /// Part of the hand or the foot.
    end: bool,
}

impl Ball {
    fn at(chain: &Chain, part: usize, at: Vec3, radius: f64, counts: [bool; 2], end: bool) -> Self {
        let at_single = [at.x as f32, at.y as f32, at.z as f32];
        Self { part, bone: chain.bones[part], at, at_single, radius, counts, end }
    }
}

/// The balls of a limb.
#[derive(Clone, Debug)]
pub(super) struct Balls {
    list: Vec<Ball>,
    /// Whether the second net moves with the trunk.
    of_trunk: bool,
    /// However the limb comes to its point, so much about the point is filled by it, m.
    core: f64,
}

/// Where a limb presses deepest.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pressed {
    /// By how much; negative where it keeps clear by so much, at most [`APART`].
    pub by: f32,
    ball: usize,
    net: usize,
    /// The ball's middle in the frame of its net: seen from the chain's origin in axes of W, or from the trunk.
    at: [f32; 3],
    /// Lean of the trunk, rad.
    lean: f32,
}

impl Pressed {
    /// Nothing is near.
    pub const NOTHING: Self = Self { by: -APART, ball: 0, net: 0, at: [0.0; 3], lean: 0.0 };
}

/// A limb that keeps clear by more than this is clear, m.
pub(super) const APART: f32 = 0.020;
/// Poses side by side.
const WIDE: usize = 4;

impl Balls {
    /// A limb without flesh.
    pub const fn none() -> Self {
        Self { list: Vec::new(), of_trunk: false, core: 0.0 }
    }

    /// Of a limb with its joints at zero.
    pub fn of(body: &Body, chain: &Chain, limb: Limb) -> Self {
        let side = limb.side();
        let hanging = Posture::of_angles(body, ROD, &ArmAngles::default(), &LegAngles::default());
        let (arm, leg) = (&hanging.arms[side.index()], &hanging.legs[side.index()]);
        let mut list: Vec<Ball> = Vec::new();
        match limb {
            Limb::Hand(side, grip) => {
                for solid in body.arm(arm, side) {
                    let (bone, frame, end) = match solid.part {
                        BodyPart::UpperArm(_) | BodyPart::Elbow(_) => (0, arm.upper_arm, false),
                        BodyPart::Forearm(_) => (1, arm.forearm, false),
                        _ => (2, arm.hand, true),
                    };
                    if end && grip != Grip::Full {
                        continue;
                    }
                    balls(&solid.shape, &frame, &mut |at, radius| {
                        let along = if bone == 0 { -at.z / body.skeleton.upper_arm } else { 1.0 };
                        // The shoulder lies in the seat and on the trunk.
                        let counts = [along > 0.25, along > 0.5];
                        Ball::at(chain, bone, at, radius, counts, end)
                    })
                    .for_each(|ball| list.push(ball));
                }
                if grip != Grip::Full {
                    list.extend(flat_hand(body, chain, side, grip));
                }
            }
            Limb::Foot(..) => {
                for solid in body.leg(leg, side) {
                    let (bone, frame, end) = match solid.part {
                        BodyPart::Thigh(_) | BodyPart::Knee(_) => (0, leg.thigh, false),
                        BodyPart::Shank(_) => (1, leg.shank, false),
                        _ => (2, leg.foot, true),
                    };
                    balls(&solid.shape, &frame, &mut |at, radius| {
                        let along = if bone == 0 { -at.z / body.skeleton.thigh } else { 1.0 };
                        // The thigh lies on the cushion and beside its fellow.
                        Ball::at(chain, bone, at, radius, [along > 0.5, bone != 0], end)
                    })
                    .for_each(|ball| list.push(ball));
                }
            }
        }
        // The outermost first: they meet something soonest.
        list.retain(|ball| ball.counts.contains(&true));
        list.reverse();
        let mut kept: Vec<Ball> = Vec::new();
        for ball in list {
            let held = |other: &Ball| {
                other.bone == ball.bone && (other.at - ball.at).norm() + ball.radius < other.radius + mm(1.0)
            };
            if !kept.iter().any(held) {
                kept.push(ball);
            }
        }
        let core = kept.iter().filter(|ball| ball.end).map(|ball| ball.radius - (ball.at - chain.tip()).norm());
        Self { core: core.fold(0.0, f64::max), of_trunk: matches!(limb, Limb::Hand(..)), list: kept }
    }

    /// For each pose whether anything is pressed, and where most.
    pub fn pressed(&self, around: &Around, lanes: &Lanes, poses: &[Few]) -> Vec<Pressed> {
        let mut out = Vec::with_capacity(poses.len());
        // The trunk's net is seen from the trunk, others from the chain's origin.
        let scales: [Scale; 2] = std::array::from_fn(|net| {
            let of_trunk = net == 1 && self.of_trunk;
            around.nets[net].scale(if of_trunk { Vec3::zeros() } else { lanes.from() })
        });
        for some in poses.chunks(WIDE) {
            let mut bones = [Frames::NONE; 3];
            let mut trunk = lanes.trunk();
            lanes.walk(&Lanes::gathered(some), |i, _, frame| {
                if i == 0 {
                    trunk = *frame;
                }
                for (bone, at) in bones.iter_mut().zip(lanes.bones) {
                    if i == at {
                        *bone = *frame;
                    }
                }
            });
            let mut worst = [Pressed::NOTHING; WIDE];
            for (lane, angles) in some.iter().enumerate() {
                worst[lane].lean = angles[0];
            }
            for (index, ball) in self.list.iter().enumerate() {
                let middle = bones[ball.part].out(ball.at_single);
                for (net, scale) in scales.iter().enumerate() {
                    if !ball.counts[net] {
                        continue;
                    }
                    let seen = if net == 1 && self.of_trunk {
                        let off = less(&middle, &trunk.at);
                        [0, 1, 2].map(|i| inner(&trunk.axes[i], &off))
                    } else {
                        middle
                    };
                    around.nets[net].deepest(&seen, scale, ball.radius as f32, &mut worst, |worst, lane| {
                        *worst = Pressed { ball: index, net, at: seen.map(|x| x.as_array()[lane]), ..*worst };
                    });
                }
            }
            out.extend_from_slice(&worst[..some.len()]);
        }
        out
    }

    /// The place of the limb that presses, and the way out: the frame's joint, the place, W, and a direction.
    pub fn way_out(&self, around: &Around, chain: &Chain, pressed: &Pressed) -> (usize, Vec3, Vec3) {
        let ball = &self.list[pressed.ball];
        let seen = self.seen(chain, pressed);
        let slope = around.nets[pressed.net].slope(seen);
        if pressed.net == 1 && self.of_trunk {
            let trunk = chain.trunk(f64::from(pressed.lean));
            return (ball.bone, trunk.out(seen), trunk.turn(slope));
        }
        (ball.bone, seen, slope)
    }

    /// Where the ball that presses most has its middle, seen from its net's frame.
    fn seen(&self, chain: &Chain, pressed: &Pressed) -> Vec3 {
        let seen = Vec3::from(pressed.at.map(f64::from));
        if pressed.net == 1 && self.of_trunk { seen } else { seen + chain.base().at }
    }

    /// What is pressed: net and index of the obstacle.
    pub fn whose(&self, around: &Around, chain: &Chain, pressed: &Pressed) -> (usize, usize) {
        (pressed.net, around.nets[pressed.net].nearest(self.seen(chain, pressed)))
    }

    /// How deep the limb would press something at its very point, however it came there, and what: net and index.
    pub fn pressed_at(&self, around: &Around, point: Vec3) -> Option<(f64, (usize, usize))> {
        if !around.nets[0].may_be_nearer(point, self.core) {
            return None;
        }
        let by = self.core - around.nets[0].at(point);
        (by > 0.0).then(|| (by, (0, around.nets[0].nearest(point))))
    }
}

/// Balls along a capsule, near enough to one another to leave less than a tenth of their radius out.
fn balls<'a>(
    shape: &TaperedCapsule,
    frame: &crate::geometry::Pose,
    make: &'a mut dyn FnMut(Vec3, f64) -> Ball,
) -> impl Iterator<Item = Ball> + 'a {
    let (a, b) =
        (frame.inverse_transform_point(&shape.a.into()).coords, frame.inverse_transform_point(&shape.b.into()).coords);
    let (radius_a, radius_b) = (shape.radius_a, shape.radius_b);
    let steps = ((b - a).norm() / (0.85 * f64::midpoint(radius_a, radius_b))).ceil().max(1.0) as usize;
    (0..=steps).map(move |i| {
        let share = i as f64 / steps as f64;
        make(a + (b - a) * share, radius_a + (radius_b - radius_a) * share)
    })
}

/// A hand stretched out towards its point, up to 25 mm before it, where it may touch: as thick as the palm, thinner
/// towards the fingers.
fn flat_hand(body: &Body, chain: &Chain, side: Side, grip: Grip) -> Vec<Ball> {
    let tip = super::zone::p_HG(body, side, grip);
    let length = tip.norm() - mm(25.0);
    let (thick, thin) = (body.skeleton.palm + mm(4.0), mm(9.0));
    let count = (length / mm(16.0)).ceil() as usize;
    (0..=count)
        .map(|i| {
            let share = i as f64 / count as f64;
            let radius = thick + (thin - thick) * share;
            let at = tip * (length / tip.norm() * share);
            Ball::at(chain, 2, at, radius, [true; 2], true)
        })
        .collect()
}

impl Around {
    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.nets.iter().map(|net| net.least.len() * 6).sum()
    }

    /// The place of an added obstacle in the first net.
    pub fn added(&self, index: usize) -> Option<usize> {
        (index < self.added.1).then_some(self.added.0 + index)
    }

    /// Nothing at all.
    pub fn nothing() -> Self {
        let net = || Net::new(Vec::new(), Vec3::zeros(), Vec3::zeros());
        Self { nets: [net(), net()], added: (0, 0) }
    }

    /// All that is in the way of a limb of this body in this posture; `added` stands there beside the rig.
    pub fn of(body: &Body, rig: &Rig, rest: &Posture, limb: Limb, added: &[Obstacle]) -> Self {
        let mut still: Vec<Obstacle> = Vec::new();
        let mut second: Vec<Obstacle> = Vec::new();
        let part = |part: RigPart, solid: Solid| Obstacle::hard(Barrier::Rig(part), solid);
        let flesh = |solid: crate::body::BodySolid| Obstacle {
            what: Barrier::Body(solid.part),
            solid: Solid::Capsule(solid.shape),
            give: solid.part.gives(),
        };
        let from_file = |wanted: &'static [StandsFor]| {
            let some = rig.imported.iter().enumerate().filter(|(_, part)| wanted.contains(&part.stands_for));
            some.map(|(at, shape)| part(RigPart::Imported(at), Solid::Mesh(shape.solid.clone())))
        };
        // A shell from a file is what holds the foam: its sides stand in the place of the described ones.
        let has_shell = rig.is_imported(StandsFor::Seat);
        let described = rig.seat.solids.iter().filter(|(name, _)| !has_shell || matches!(*name, "cushion" | "back"));
        let foam = described.map(|(name, solid)| Obstacle {
            what: Barrier::Rig(RigPart::Seat(name)),
            solid: Solid::Box(*solid),
            give: FOAM,
        });
        let seat = foam.chain(from_file(&[StandsFor::Seat]));
        if !rig.is_imported(StandsFor::Rim) {
            still.push(part(RigPart::Rim, Solid::Rim(rig.wheel.rim(0.0))));
            still.push(part(RigPart::Hub, Solid::Capsule(rig.wheel.hub)));
        }
        if !rig.is_imported(StandsFor::WheelUnit) {
            still.push(part(RigPart::WheelUnit, Solid::Box(rig.wheel.unit)));
        }
        // What stands on a plate from a file gives way to feet, as described pedals do: they meet the heel plate.
        let of_feet = matches!(limb, Limb::Foot(..));
        if of_feet || !rig.is_imported(StandsFor::PedalPlate) {
            still.push(part(RigPart::PedalBase, Solid::Box(rig.pedals.base)));
        }
        still.extend(from_file(&[StandsFor::Rim, StandsFor::WheelUnit, StandsFor::Screen, StandsFor::Other]));
        if !of_feet {
            still.extend(from_file(&[StandsFor::PedalPlate]));
        }
        still.extend(rig.rails.iter().enumerate().map(|(at, rail)| part(RigPart::Rail(at), Solid::Box(rail.solid))));
        let screens = rig.screens.iter().flat_map(|screens| &screens.solids);
        still.extend(screens.map(|(name, solid)| part(RigPart::Screen(name), Solid::Box(*solid))));
        still.push(floor());
        let first = (still.len(), added.len());
        still.extend(added.iter().cloned());
        let side = limb.side();
        let other = side.other();
        match limb {
            Limb::Hand(..) => {
                still.extend(seat);
                still.extend(Side::BOTH.iter().flat_map(|leg| body.leg(&rest.legs[leg.index()], *leg)).map(flesh));
                still.extend(body.arm(&rest.arms[other.index()], other).into_iter().map(flesh));
                // Seen from the trunk, with which it leans.
                let frame = Frame {
                    axes: [Vec3::x(), Vec3::y(), Vec3::z()].map(|axis| rest.sitting.thorax.rotation * axis),
                    at: rest.sitting.h_point,
                };
                for solid in body.trunk(&rest.sitting) {
                    let shape =
                        TaperedCapsule { a: frame.seen(solid.shape.a), b: frame.seen(solid.shape.b), ..solid.shape };
                    second.push(flesh(crate::body::BodySolid { shape, ..solid }));
                }
            }
            Limb::Foot(..) => {
                still.extend(body.leg(&rest.legs[other.index()], other).into_iter().map(flesh));
                still.extend(
                    body.trunk(&rest.sitting).into_iter().filter(|solid| solid.part != BodyPart::Pelvis).map(flesh),
                );
                second.extend(seat);
            }
        }
        let from = match limb {
            Limb::Hand(..) => rest.sitting.h_point + rest.sitting.thorax.rotation * Vec3::z() * 0.45,
            Limb::Foot(side, _) => rest.sitting.hips[side.index()],
        };
        let (low, high) = (from - Vec3::new(0.85, 1.0, 0.95), from + Vec3::new(1.15, 1.0, 0.95));
        let trunk = (Vec3::new(-0.35, -0.45, -0.25), Vec3::new(0.5, 0.45, 0.95));
        let (low_1, high_1) = if matches!(limb, Limb::Hand(..)) { trunk } else { (low, high) };
        Self { nets: [Net::new(still, low, high), Net::new(second, low_1, high_1)], added: first }
    }
}

/// The floor as a thick slab.
fn floor() -> Obstacle {
    let half = Vec3::new(5.0, 5.0, 0.25);
    let pose = crate::geometry::Pose::translation(0.0, 0.0, -half.z);
    Obstacle::hard(Barrier::Floor, Solid::Box(RoundedBox { pose, half, round: 0.0 }))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The quick distance of points is that of the clearance checks.
    #[test]
    fn a_cone_is_as_far_from_points_as_its_capsule() {
        let (a, b) = (Vec3::new(0.1, 0.0, 0.2), Vec3::new(-0.1, 0.2, 0.3));
        for (radius_a, radius_b) in [(0.05, 0.05), (0.09, 0.03), (0.02, 0.10), (0.4, 0.01)] {
            let capsule = TaperedCapsule { a, b, radius_a, radius_b };
            let cone = Cone::of(&capsule);
            for index in 0..200 {
                let mut draw = crate::body::Draw::new(1, index);
                let point = Vec3::from_fn(|_, _| draw.uniform() - 0.5);
                for (step, gap) in cone.points(point).into_iter().enumerate() {
                    let over = point + Vec3::z() * (STEP * step as f64);
                    let expected = point_to(over, &Solid::Capsule(capsule));
                    assert!((f64::from(gap) - expected).abs() < 1e-6, "{over}");
                }
            }
        }
    }

    /// Distances to a box and a ball in closed form; linear in between.
    #[test]
    fn the_net_tells_the_distance_where_a_ball_would_touch() {
        let wall = RoundedBox { pose: crate::geometry::Pose::identity(), half: Vec3::new(0.1, 0.2, 0.2), round: 0.0 };
        let ball = TaperedCapsule { a: Vec3::y() * 0.5, b: Vec3::y() * 0.5, radius_a: 0.05, radius_b: 0.05 };
        let what = Barrier::Floor;
        let list = [Solid::Box(wall), Solid::Capsule(ball)]
            .map(|solid| Obstacle { what: what.clone(), solid, give: 0.0 })
            .to_vec();
        let net = Net::new(list, Vec3::repeat(-0.8), Vec3::repeat(0.8));
        // Off a face by 40 mm, off an edge by 30 and 40 mm, off the ball by 35 mm.
        for (point, expected, whose, within) in [
            (Vec3::new(0.14, 0.05, 0.03), 0.04, 0, 1e-6),
            (Vec3::new(0.13, 0.0, 0.24), 0.05, 0, 2e-3),
            (Vec3::new(0.0, 0.585, 0.0), 0.035, 1, 2e-3),
        ] {
            assert!((net.at(point) - expected).abs() < within, "{} for {expected}", net.at(point));
            assert_eq!(net.nearest(point), whose);
        }
        assert!((net.slope(Vec3::new(0.14, 0.05, 0.03)) - Vec3::x()).norm() < 1e-5);
    }
}
