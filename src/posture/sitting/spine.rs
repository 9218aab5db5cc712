//! The spine by its landmarks (`shared/spine.csv`), the skin behind it, and what stays free behind the lower back.
//!
//! Heights run along the back surface, offs square to it.

use std::sync::OnceLock;

use serde::Deserialize;

use crate::{
    body::{Body, Skeleton},
    rig::SeatPart,
    units::{deg, mm},
};

/// Turn of the lumbar spine of a relaxed driver: about 20° at a hip angle of 95°, opening by about a third of the hip
/// angle (after Keegan 1953; both from memory).
const LORDOSIS: (f64, f64, f64) = (deg(20.0), deg(95.0), 0.33);
/// How much less flesh lies behind the lumbar spine than behind sacrum and ribs: this much in everyone and half of
/// what the buttocks stand out beyond the waist; own estimate.
const LUMBAR_FLESH: (f64, f64) = (mm(8.0), 0.5);
/// How far the skin at the neck's root lies ahead of the upper back: 20 to 30 mm; own estimate.
const NECK_AHEAD: f64 = mm(25.0);
/// How much of what a pad stands into the back arches the spine; the rest moves the body. A pad of 25 mm hardly
/// changes the lumbar posture (Reed, Schneider and Eby 1995); the share is an own reading.
const ARCHED: f64 = 0.05;

/// Landmarks of the spine from below.
pub(super) const LANDMARKS: usize = 8;
const T12: usize = 5;
pub(super) const T8: usize = 6;
pub(super) const C7: usize = 7;

#[derive(Debug, Deserialize)]
struct Row {
    part: String,
    /// Height: share of the lumbar spine, or of the way from T12/L1 to C7/T1.
    share: f64,
    /// Share of the want of flesh behind the lumbar spine.
    flesh: f64,
    /// Middle of the disc under the skin where nothing is wanting.
    depth_mm: f64,
}

fn landmarks() -> &'static [Row; LANDMARKS] {
    static TABLE: OnceLock<[Row; LANDMARKS]> = OnceLock::new();
    TABLE.get_or_init(|| {
        let rows: Result<Vec<Row>, _> =
            csv::Reader::from_reader(include_str!("../../../shared/spine.csv").as_bytes()).into_deserialize().collect();
        rows.ok().and_then(|rows| rows.try_into().ok()).expect("the compiled-in table of the spine is well-formed")
    })
}

/// Where hips and ribs stand to the back surface.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Held {
    /// Height of the hip joints.
    pub hips: f64,
    /// Rearmost buttock: off.
    pub buttock: f64,
    /// Skin behind L5/S1: off.
    pub sacrum: f64,
    /// Rearmost of the ribs: off.
    pub ribs: f64,
    /// How much the rib cage leans back against the surface, rad.
    pub lean: f64,
    /// Roll of the pelvis against the torso line, rad.
    pub tilt: f64,
    /// Torso line to thighs, rad.
    pub hip_angle: f64,
}

/// What of the body decides the shape of its back.
#[derive(Clone, Copy, Debug)]
pub(super) struct Back {
    /// Heights of the landmarks over the hip joints.
    heights: [f64; LANDMARKS],
    lumbar: f64,
    /// Want of flesh behind the lumbar spine.
    pub flesh: f64,
}

/// A pad that would fill the hollow behind the lower back.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct Pad {
    /// How far it stands out of the back surface, m.
    pub thickness: f64,
    /// Its middle along the back surface, m.
    pub height: f64,
    /// Its length along the back surface, m.
    pub length: f64,
}

impl Back {
    pub fn of(body: &Body) -> Self {
        let bones: &Skeleton = &body.skeleton;
        let stand_out = body.dimensions.m("buttockdepth") - body.dimensions.m("waistdepth");
        let rows = landmarks();
        let t12 = bones.hip_to_lumbar + bones.lumbar;
        let heights = std::array::from_fn(|at| match rows[at].part.as_str() {
            "lumbar" => bones.hip_to_lumbar + rows[at].share * bones.lumbar,
            _ => t12 + rows[at].share * (bones.hip_to_neck - t12),
        });
        Self { heights, lumbar: bones.lumbar, flesh: LUMBAR_FLESH.0 + LUMBAR_FLESH.1 * stand_out.max(0.0) }
    }

    /// How far the skin behind L5/S1 lies ahead of the rearmost buttock.
    pub fn over_sacrum(&self) -> f64 {
        landmarks()[0].flesh * self.flesh
    }

    /// The back's shape; `pressed` is how far a pad stands into it.
    pub fn shape(&self, held: &Held, pressed: f64) -> Shape {
        let rows = landmarks();
        let relaxed = LORDOSIS.0 + LORDOSIS.2 * (held.hip_angle - LORDOSIS.1) - held.tilt;
        // A chord of length L under an arc that turns by θ lies L/2 · tan(θ/4) behind its middle.
        let sagitta = 0.5 * self.lumbar * (relaxed / 4.0).tan() + ARCHED * pressed;
        let lordosis = 4.0 * (2.0 * sagitta / self.lumbar).atan();
        let roll = held.tilt.cos();
        let (slope, ribs_at) = (held.lean.clamp(deg(-60.0), deg(60.0)).tan(), self.heights[T8]);
        let on_ribs = |at: usize| held.ribs + (ribs_at - self.heights[at]) * slope;
        let t12 = on_ribs(T12) + rows[T12].flesh * self.flesh;
        let mut nodes = [[0.0; 2]; LANDMARKS + 1];
        let mut spine = [[0.0; 2]; LANDMARKS];
        nodes[0] = [held.hips, held.buttock];
        for (at, row) in rows.iter().enumerate() {
            let want = row.flesh * self.flesh;
            let off = match at {
                C7 => on_ribs(C7) + NECK_AHEAD,
                T8 => held.ribs,
                _ => {
                    let share = row.share;
                    let ends = [held.sacrum - rows[0].flesh * self.flesh, t12 - rows[T12].flesh * self.flesh];
                    ends[0] + share * (ends[1] - ends[0]) + 4.0 * share * (1.0 - share) * sagitta + want
                }
            };
            // Where the pelvis is rolled, the sacrum's top comes down a little.
            let lower = self.heights[0] * (1.0 - roll);
            let down = if at < T12 { lower * (1.0 - row.share) } else { 0.0 };
            let height = held.hips + self.heights[at] - down;
            nodes[at + 1] = [height, off];
            spine[at] = [height, off - want + mm(row.depth_mm)];
        }
        Shape { nodes, slopes: slopes(&nodes), spine, lordosis }
    }
}

/// The skin of the back as a cubic spline through buttock and landmarks: (height, off), slopes of the parabolas through
/// three neighbours.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shape {
    nodes: [[f64; 2]; LANDMARKS + 1],
    slopes: [f64; LANDMARKS + 1],
    /// Middles of the discs: (height, off); of T8, of the vertebra.
    pub spine: [[f64; 2]; LANDMARKS],
    /// Turn of the lumbar spine from L5/S1 to T12/L1, rad, hollow positive.
    pub lordosis: f64,
}

fn slopes(nodes: &[[f64; 2]; LANDMARKS + 1]) -> [f64; LANDMARKS + 1] {
    let chord = |at: usize| (nodes[at + 1][1] - nodes[at][1]) / (nodes[at + 1][0] - nodes[at][0]);
    std::array::from_fn(|at| {
        if at == 0 {
            return 0.0;
        }
        if at == LANDMARKS {
            return chord(at - 1);
        }
        let (before, after) = (nodes[at][0] - nodes[at - 1][0], nodes[at + 1][0] - nodes[at][0]);
        (chord(at - 1) * after + chord(at) * before) / (before + after)
    })
}

/// Steps over which the hollow between hips and ribs is looked at.
const STEPS: u32 = 32;

impl Shape {
    /// How far the skin stands off the back's plane at a height, m.
    pub fn off(&self, height: f64) -> f64 {
        let at = (1..LANDMARKS).take_while(|&at| self.nodes[at][0] < height).last().unwrap_or(0);
        let ([u0, v0], [u1, v1]) = (self.nodes[at], self.nodes[at + 1]);
        let long = u1 - u0;
        let t = ((height - u0) / long).clamp(0.0, 1.0);
        let (t2, t3) = (t * t, t * t * t);
        let rise = (self.slopes[at], self.slopes[at + 1]);
        (2.0 * t3 - 3.0 * t2 + 1.0) * v0
            + (t3 - 2.0 * t2 + t) * long * rise.0
            + (3.0 * t2 - 2.0 * t3) * v1
            + (t3 - t2) * long * rise.1
    }

    /// Heights of hips and ribs.
    pub fn span(&self) -> [f64; 2] {
        [self.nodes[0][0], self.nodes[T8 + 1][0]]
    }

    /// The back from the hips to the neck: (height, gap to the seat's surface).
    pub fn line(&self, seat: &SeatPart) -> Vec<[f64; 2]> {
        let (low, high) = (self.nodes[0][0], self.nodes[LANDMARKS][0]);
        (0..=60_u32)
            .map(|step| {
                let height = low + (high - low) * f64::from(step) / 60.0;
                [height, self.off(height) - seat.back_surface(height)]
            })
            .collect()
    }

    /// The largest gap between hips and ribs behind which there is a back, and its height.
    pub fn largest_gap(&self, seat: &SeatPart) -> [f64; 2] {
        let [low, high] = self.span();
        largest(low, high.min(seat.top()).max(low), |height| self.off(height) - seat.back_surface(height))
    }

    /// The pad that would fill the hollow over a flat back.
    pub fn wanted_pad(&self, seat: &SeatPart) -> Pad {
        let [low, high] = self.span();
        let top = high.min(seat.top()).max(low);
        let [thickness, height] = largest(low, top, |height| self.off(height));
        // A pad is half as thick at half of its length.
        let deep = |height: f64| self.off(height) > 0.5 * thickness;
        let step = (top - low) / f64::from(4 * STEPS);
        let wide = (0..4 * STEPS).filter(|&at| deep(low + step * (f64::from(at) + 0.5))).count();
        Pad { thickness: thickness.max(0.0), height, length: 2.0 * step * wide as f64 }
    }
}

/// The largest value of a smooth function between two places, at least 0, and its place.
fn largest(low: f64, high: f64, f: impl Fn(f64) -> f64) -> [f64; 2] {
    let step = (high - low) / f64::from(STEPS);
    let at = |index: u32| low + step * f64::from(index);
    let mut best = (0, f(low));
    for index in 1..=STEPS {
        let value = f(at(index));
        if value > best.1 {
            best = (index, value);
        }
    }
    let (index, value) = best;
    let (mut height, mut most) = (at(index), value);
    if index > 0 && index < STEPS {
        // The parabola through the best and its neighbours.
        let (before, after) = (f(at(index - 1)), f(at(index + 1)));
        let bend = before - 2.0 * value + after;
        if bend < 0.0 {
            let shift = 0.5 * (before - after) / bend;
            height += step * shift;
            most = value - 0.25 * (before - after) * shift;
        }
    }
    [most.max(0.0), height]
}

/// How far a pad that stands into the back moves hips and ribs forward, and how far it stands in, m.
///
/// Hips, ribs and pad are springs of one stiffness under a stiff back: while all three carry, a third of what the pad
/// stands in moves the body; once the pad carries all, only the foam's give under it is left.
pub(super) fn pushed(shape: &Shape, seat: &SeatPart, give: f64) -> ([f64; 2], f64) {
    let Some((middle, half)) = seat.pad() else {
        return ([0.0; 2], 0.0);
    };
    let [low, high] = shape.span();
    let share_at = |height: f64| (height - low) / (high - low);
    // How the push is shared between hips and ribs.
    let ribs = share_at(middle).clamp(0.15, 0.85);
    let hips = 1.0 - ribs;
    let (mut most, mut push) = (0.0_f64, 0.0_f64);
    for step in -6_i32..=6 {
        let height = middle + half * f64::from(step) / 7.0;
        // Fading beyond hips and ribs, where there is no lower back.
        let share = share_at(height);
        if !(0.0..=1.0).contains(&share) {
            continue;
        }
        let inside = (8.0 * share.min(1.0 - share)).min(1.0);
        let pad = seat.back_surface(height);
        let into = inside * pad.min(pad - shape.off(height)).max(0.0);
        most = most.max(into);
        push = push.max(into / (hips * (1.0 - share) + ribs * share));
    }
    if most <= 0.0 {
        return ([0.0; 2], 0.0);
    }
    let share = (1.0_f64 / 3.0).max(1.0 - 2.0 * give / most);
    ([share * push * hips, share * push * ribs], most)
}
