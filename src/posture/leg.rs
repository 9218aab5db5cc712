//! One leg: hip, knee and ankle to a foot whose heel rests and whose ball is on a pedal.
//!
//! The foot is placed first: with the pedal released its ball stands near the middle of the face and its heel below, as
//! high or low as is most comfortable; then the heel stays there, and the ball follows the face. With
//! the ankle known, hip and knee follow in closed form for every splay of the knee about the line from hip to ankle;
//! only that splay is searched. Where no pose keeps the joint limits, the heel comes up just as far as it must.

use nalgebra::Matrix3;

use super::{
    Around, Sitting, Touch, Vicinity,
    comfort::{Comfort, discomfort, slope, table},
    descend::{Slope, descend},
    joint::{about_x, about_y, about_z, back, pose, turn_rates, turns, untwisted, untwisted_rate},
    nearest::nearest,
};
use crate::{
    body::{Body, BodyPart, BodySolid, JointLimits, Range, Skeleton},
    geometry::{Pose, Side, Vec3, quick_atan2, unit_or},
    project::PedalKind,
    rig::{Face, Rig},
    units::{deg, mm},
};

/// Joint angles of a leg, rad, zero standing.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct LegAngles {
    /// Thigh towards the trunk (+); the hip angle (trunk to thigh) is π less this, seen from the side.
    pub hip_flexion: f64,
    /// Thigh outward (+).
    pub hip_abduction: f64,
    /// Thigh turned inward (+).
    pub hip_rotation: f64,
    /// Knee bend; the included angle is π less this.
    pub knee_flexion: f64,
    /// Foot towards the shin (+); the ankle angle (shank to sole) is 90° less this.
    pub ankle_dorsiflexion: f64,
    /// Sole turned inward (+).
    pub ankle_inversion: f64,
    /// Toes turned outward (+).
    pub ankle_abduction: f64,
}

impl LegAngles {
    /// Names in the order of [`LegAngles::array`].
    pub const NAMES: [&'static str; 7] = [
        "hip_flexion",
        "hip_abduction",
        "hip_rotation",
        "knee_flexion",
        "ankle_dorsiflexion",
        "ankle_inversion",
        "ankle_abduction",
    ];

    /// The seven angles from hip to ankle.
    pub const fn array(&self) -> [f64; 7] {
        [
            self.hip_flexion,
            self.hip_abduction,
            self.hip_rotation,
            self.knee_flexion,
            self.ankle_dorsiflexion,
            self.ankle_inversion,
            self.ankle_abduction,
        ]
    }

    /// From the seven angles in order.
    pub const fn from_array(a: [f64; 7]) -> Self {
        Self {
            hip_flexion: a[0],
            hip_abduction: a[1],
            hip_rotation: a[2],
            knee_flexion: a[3],
            ankle_dorsiflexion: a[4],
            ankle_inversion: a[5],
            ankle_abduction: a[6],
        }
    }

    /// The ranges of the seven angles.
    pub const fn ranges(limits: &JointLimits) -> [Range; 7] {
        [
            limits.hip_flexion,
            limits.hip_abduction,
            limits.hip_rotation,
            limits.knee_flexion,
            limits.ankle_dorsiflexion,
            limits.ankle_inversion,
            limits.ankle_abduction,
        ]
    }
}

/// What a foot has to do; places in the pedal set's frame P.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FootTask {
    /// The pedal it is on; `None` for a foot that rests.
    pub pedal: Option<PedalKind>,
    /// Pedal set frame P in W.
    pub X_WP: Pose,
    /// Sideways place of the ball of the foot, m.
    pub sideways: f64,
    /// Height of the heel plate, m.
    pub heel_rest: f64,
    /// Half the height of the face, m.
    pub half_height: f64,
    /// The face with the pedal released: the heel is placed for it.
    pub released: Face,
    /// The face now.
    pub face: Face,
    /// How far over the middle of the released face the ball stands, m; `None` lets the foot find its place.
    pub ball_up: Option<f64>,
}

/// One leg in place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Thigh, origin in the hip.
    pub thigh: Pose,
    /// Shank, origin in the knee.
    pub shank: Pose,
    /// Foot, origin in the ankle; x along the sole to the toes, z normal to the sole.
    pub foot: Pose,
    /// Joint angles.
    pub angles: LegAngles,
    /// Rear of the heel at the bottom of the sole, W.
    pub heel: Vec3,
    /// Ball of the foot at the bottom of the sole, W.
    pub ball: Vec3,
    /// The pedal it is on.
    pub pedal: Option<PedalKind>,
    /// How far the ball stays from its place on the face, m; 0 where it is on it.
    pub shortfall: f64,
    /// How far the heel is above its rest, m.
    pub heel_lift: f64,
    /// How far the heel has slid along its rest from where it stands with the pedal released, m, forward positive.
    pub heel_slide: f64,
    /// Spare freedom: the knee out of the upright plane of hip and ankle, outward positive, rad.
    pub splay: f64,
    /// Spare freedom: how far over the middle of the released face the ball stands, and with it where the heel is, m.
    pub ball_up: f64,
    /// What the pose costs in discomfort.
    pub discomfort: f64,
    /// What the leg is closest to, if that is close enough to turn it aside or to be in its way.
    pub touch: Option<Touch>,
}

impl Leg {
    /// A leg on no pedal, its bones at the origin.
    fn nowhere() -> Self {
        let origin = Pose::identity();
        Self {
            thigh: origin,
            shank: origin,
            foot: origin,
            angles: LegAngles::default(),
            heel: Vec3::zeros(),
            ball: Vec3::zeros(),
            pedal: None,
            shortfall: 0.0,
            heel_lift: 0.0,
            heel_slide: 0.0,
            splay: 0.0,
            ball_up: 0.0,
            discomfort: 0.0,
            touch: None,
        }
    }

    /// Hip joint centre.
    pub fn hip(&self) -> Vec3 {
        self.thigh.translation.vector
    }

    /// Knee centre.
    pub fn knee(&self) -> Vec3 {
        self.shank.translation.vector
    }

    /// Ankle centre.
    pub fn ankle(&self) -> Vec3 {
        self.foot.translation.vector
    }
}

/// A heel plate steeper under the sole than this is stood on by the ball alone: the heel lifts.
const STEEPEST_SOLE: f64 = deg(75.0);
/// The ball of the foot keeps this far from the upper and lower edge of a face.
const FACE_EDGE: f64 = mm(8.0);
/// How many more steps a search among things has, which turns at each of them.
const AMONG: usize = 24;
/// The ball this far from the middle of a face counts 1; own choice: a foot goes to the middle, and higher or lower as
/// far as its ankle gains by it.
const OFF_MIDDLE: Comfort = Comfort::new(0.0, mm(8.0));
/// A foot is turned in or out to point from hip to pedal, up to this.
const MOST_TOE_OUT: f64 = deg(12.0);
/// Where the search for the knee's splay begins without a neighbour, rad.
const SPLAYS: [f64; 8] = [deg(-30.0), deg(-18.0), deg(-8.0), deg(0.0), deg(8.0), deg(18.0), deg(30.0), deg(45.0)];
/// An ankle this much out of the leg's reach counts 1 while the splay is searched.
const REACH: Comfort = Comfort::new(0.0, mm(4.0));

impl FootTask {
    /// On a pedal at some travel (m).
    pub fn on_pedal(rig: &Rig, kind: PedalKind, travel: f64) -> Option<Self> {
        let pedal = rig.pedals.get(kind)?;
        Some(Self {
            pedal: Some(kind),
            X_WP: rig.pedals.X_WP,
            sideways: pedal.sideways,
            heel_rest: rig.pedals.heel_rest,
            half_height: pedal.size[1] / 2.0,
            released: pedal.face_at(0.0),
            face: pedal.face_at(travel),
            ball_up: None,
        })
    }

    /// What this foot does while nothing is pressed: the right foot is on the throttle; the left on the brake if it
    /// brakes, on the clutch if there is one, and otherwise beside the pedals, mirroring the right.
    ///
    /// A checked project has a throttle and a brake; without them the foot rests before the set.
    pub fn at_rest(rig: &Rig, brakes_with: Side, side: Side) -> Self {
        let home = match (side, brakes_with) {
            (Side::Right, _) => Some(PedalKind::Throttle),
            (Side::Left, Side::Left) => Some(PedalKind::Brake),
            (Side::Left, Side::Right) => Some(PedalKind::Clutch),
        };
        if let Some(task) = home.and_then(|kind| Self::on_pedal(rig, kind, 0.0)) {
            return task;
        }
        let throttle = Self::on_pedal(rig, PedalKind::Throttle, 0.0);
        let seat_y = rig.seat.X_WS.translation.vector.y - rig.pedals.X_WP.translation.vector.y;
        let level = Face { centre: [mm(200.0), mm(120.0)], tilt: deg(30.0) };
        Self {
            pedal: None,
            X_WP: rig.pedals.X_WP,
            sideways: throttle.map_or(side.sign() * mm(120.0), |task| 2.0 * seat_y - task.sideways),
            heel_rest: rig.pedals.heel_rest,
            half_height: throttle.map_or(mm(50.0), |task| task.half_height),
            released: throttle.map_or(level, |task| task.released),
            face: throttle.map_or(level, |task| task.released),
            ball_up: None,
        }
    }
}

impl FootTask {
    /// How far over or under the middle of the face the ball can stand, m.
    fn highest(&self) -> f64 {
        (self.half_height - FACE_EDGE).max(0.0)
    }
}

/// The foot on its pedal, in P: heel and ball at the bottom of the sole, and its pitch and turn.
#[derive(Clone, Copy, Debug)]
struct Footing {
    ball: Vec3,
    /// Sole above the plate, toes up, rad.
    pitch: f64,
    /// Toes turned to the left, rad.
    turn: f64,
    /// Sole rolled about its length, its right edge down, rad.
    roll: f64,
    /// Where the heel stands with the pedal released.
    home: Vec3,
}

impl Footing {
    /// Heel and ball for a task, the heel planted wherever geometry lets it, for the ball `up` (m) over the middle of the
    /// released face.
    fn plant(bones: &Skeleton, task: &FootTask, turn: f64, up: f64) -> Self {
        let length = bones.heel_to_ball;
        let pitch_for = |ball: Vec3| {
            let rise = ((ball.z - task.heel_rest) / length).clamp(-1.0, 1.0).asin();
            rise.min(STEEPEST_SOLE)
        };
        let at = |centre: [f64; 2]| Vec3::new(centre[0], task.sideways, centre[1]);
        let (sin, cos) = task.released.tilt.sin_cos();
        let released = at(task.released.centre) + Vec3::new(sin, 0.0, cos) * up;
        let home = released - sole(pitch_for(released), turn) * length;

        // The circle of the ball about the heel meets the plane of the face: A cos β + B sin β = C.
        let (sin_t, cos_t) = task.face.tilt.sin_cos();
        let (inward, upward) = (Vec3::new(cos_t, 0.0, -sin_t), Vec3::new(sin_t, 0.0, cos_t));
        let centre = at(task.face.centre);
        let (a, b) = (length * turn.cos() * cos_t, -length * sin_t);
        let c = (centre - home).dot(&inward);
        let most = task.highest();
        let planted = {
            let cos = (c / a.hypot(b)).clamp(-1.0, 1.0);
            let (middle, spread) = (b.atan2(a), cos.acos());
            let height = |pitch: f64| (home + sole(pitch, turn) * length - centre).dot(&upward);
            let (high, low) = (middle + spread, middle - spread);
            let pitch = if height(high).abs() < height(low).abs() { high } else { low };
            (pitch, height(pitch))
        };
        // Past the edge of the face the ball stays at the edge and the heel slides along its rest.
        let reached = (c / a.hypot(b)).abs() <= 1.0;
        if reached && planted.1.abs() <= most {
            return Self { ball: home + sole(planted.0, turn) * length, pitch: planted.0, turn, roll: 0.0, home };
        }
        let mut ball = centre + upward * planted.1.clamp(-most, most);
        let pitch = pitch_for(ball);
        ball.y = home.y + length * pitch.cos() * turn.sin();
        Self { ball, pitch, turn, roll: 0.0, home }
    }
}

/// Direction of the sole from heel to ball in P.
fn sole(pitch: f64, turn: f64) -> Vec3 {
    Vec3::new(pitch.cos() * turn.cos(), pitch.cos() * turn.sin(), pitch.sin())
}

/// What stays the same while the splay is searched.
struct Problem<'a> {
    body: &'a Body,
    bones: &'a Skeleton,
    ranges: [Range; 7],
    comfort: [Comfort; MEASURES],
    side: Side,
    /// Axes of the pelvis, W.
    R_WB: Matrix3<f64>,
    hip: Vec3,
    task: FootTask,
    /// Least and greatest distance from hip to ankle.
    reach: [f64; 2],
    /// Heel, ball and ankle seen from the ankle, foot frame.
    p_FH: Vec3,
    p_FB: Vec3,
}

/// The foot's frame in W for one footing.
struct Foot {
    ankle: Vec3,
    R_WF: Matrix3<f64>,
}

struct Trial {
    angles: [f64; 7],
    beyond: f64,
    knee: Vec3,
    R_WT: Matrix3<f64>,
    R_WS: Matrix3<f64>,
    /// Thigh seen from the pelvis, foot seen from the shank.
    R_BT: Matrix3<f64>,
    R_SF: Matrix3<f64>,
    /// From hip to ankle, unit.
    axis: Vec3,
}

/// The seven angles and what is out of reach.
const MEASURES: usize = 8;

impl<'a> Problem<'a> {
    fn new(body: &'a Body, sitting: &Sitting, side: Side, task: &FootTask) -> Self {
        let bones = &body.skeleton;
        let ranges = LegAngles::ranges(&body.limits);
        let between = |flexion: f64| {
            let (t, s) = (bones.thigh, bones.shank);
            (t * t + s * s + 2.0 * t * s * flexion.cos()).sqrt()
        };
        let p_FH = Vec3::new(-bones.heel_to_ankle, 0.0, -bones.ankle_height);
        let [a, b, c, d, e, f, g] = table().leg;
        Self {
            body,
            bones,
            comfort: [a, b, c, d, e, f, g, REACH],
            side,
            R_WB: sitting.pelvis.rotation.to_rotation_matrix().into_inner(),
            hip: sitting.hips[side.index()],
            task: *task,
            reach: [between(ranges[3].high), between(ranges[3].low)],
            p_FH,
            p_FB: p_FH + Vec3::new(bones.heel_to_ball, 0.0, 0.0),
            ranges,
        }
    }

    /// The foot points from hip to pedal, as far as a foot comfortably turns.
    fn turn(&self) -> f64 {
        let hip = self.task.X_WP.inverse_transform_point(&self.hip.into()).coords;
        let aside = self.task.sideways - hip.y;
        let ahead = (self.task.released.centre[0] - hip.x).max(mm(100.0));
        aside.atan2(ahead).clamp(-MOST_TOE_OUT, MOST_TOE_OUT)
    }

    fn foot(&self, footing: &Footing) -> Foot {
        let R_WP = self.task.X_WP.rotation.to_rotation_matrix().into_inner();
        let R_WF = R_WP * about_z(footing.turn) * about_y(-footing.pitch) * about_x(footing.roll);
        let ball = (self.task.X_WP * nalgebra::Point3::from(footing.ball)).coords;
        Foot { ankle: ball - R_WF * self.p_FB, R_WF }
    }

    /// The leg for one splay, its angles by an exact or a quick arc tangent.
    fn trial(&self, foot: &Foot, splay: f64, atan2: impl Fn(f64, f64) -> f64) -> Trial {
        let s = self.side.sign();
        let span = foot.ankle - self.hip;
        let distance = span.norm();
        let beyond = (distance - self.reach[1]).max(0.0) + (self.reach[0] - distance).max(0.0);
        let axis = unit_or(span, Vec3::x());
        let (t, k) = (self.bones.thigh, self.bones.shank);
        let d = distance.clamp(self.reach[0].max((t - k).abs() + 1e-6), self.reach[1]);
        let along = (d * d + t * t - k * k) / (2.0 * d);
        let radius = (t * t - along * along).max(0.0).sqrt();
        let up = Vec3::new(0.3, 0.0, 1.0);
        let r0 = unit_or(up - axis * axis.dot(&up), self.R_WB * Vec3::x());
        let r1 = r0.cross(&axis) * s;
        let (sin, cos) = splay.sin_cos();
        let radial = r0 * cos + r1 * sin;
        let knee = self.hip + axis * along + radial * radius;

        let hinge = radial.cross(&axis);
        let thigh_z = -(axis * along + radial * radius) / t;
        let shank = axis * (d - along) - radial * radius;
        let shank_z = -shank / shank.norm().max(1e-9);
        let R_WT = Matrix3::from_columns(&[hinge.cross(&thigh_z), hinge, thigh_z]);
        let R_WS = Matrix3::from_columns(&[hinge.cross(&shank_z), hinge, shank_z]);

        let R_BT = self.R_WB.tr_mul(&R_WT);
        let R_SF = R_WS.tr_mul(&foot.R_WF);
        let [flexion, abduction, rotation] = turns(&R_BT, s);
        let [dorsiflexion, inversion, toe_out] = turns(&R_SF, s);
        let cos = ((d * d - t * t - k * k) / (2.0 * t * k)).clamp(-1.0, 1.0);
        let knee_turn = (((1.0 - cos) * (1.0 + cos)).sqrt(), cos);
        let turns = [flexion, abduction, rotation, knee_turn, dorsiflexion, back(inversion), back(toe_out)];
        let angles = turns.map(|(sin, cos)| atan2(sin, cos));
        Trial { angles, beyond, knee, R_WT, R_WS, R_BT, R_SF, axis }
    }

    fn measures(trial: &Trial) -> [f64; MEASURES] {
        let [a, b, c, d, e, f, g] = trial.angles;
        [a, b, c, d, e, f, g, trial.beyond]
    }

    fn cost(&self, trial: &Trial) -> f64 {
        discomfort(&Self::measures(trial), &self.comfort, &self.ranges)
    }

    /// Cost and slope, with what nearness to things costs.
    fn slope(&self, foot: &Foot, splay: f64, near: Option<&mut Vicinity>) -> Slope<1> {
        let s = self.side.sign();
        let trial = self.trial(foot, splay, quick_atan2);
        // Thigh and shank turn together about the line from hip to ankle; the foot stays.
        let turning = trial.axis * -s;
        let hip = turn_rates(&trial.R_BT, s) * self.R_WB.tr_mul(&turning);
        let ankle = turn_rates(&trial.R_SF, s) * -trial.R_WS.tr_mul(&turning);
        let rates = [hip.x, hip.y, hip.z, 0.0, ankle.x, -ankle.y, -ankle.z, 0.0];
        let mut slope = slope(&Self::measures(&trial), &[rates], &self.comfort, &self.ranges);
        if let Some(near) = near {
            let solids = self.solids(foot, &trial);
            let level = self.level();
            let thigh = level * untwisted_rate(&level.tr_mul(&trial.R_WT), level.tr_mul(&turning));
            near.slope(&mut slope, &solids, &Matrix3::identity(), |part, point| {
                let turning = if matches!(part, BodyPart::Shank(_)) { turning } else { thigh };
                [turning.cross(&(point - self.hip))]
            });
        }
        slope
    }

    /// The outside of the leg for one splay, W.
    fn solids(&self, foot: &Foot, trial: &Trial) -> Vec<BodySolid> {
        let leg = Leg {
            thigh: self.thigh(self.hip, &trial.R_WT),
            shank: pose(trial.knee, &trial.R_WS),
            foot: pose(foot.ankle, &foot.R_WF),
            ..Leg::nowhere()
        };
        self.body.leg(&leg, self.side)
    }

    /// Cost with what nearness to every thing costs.
    fn cost_among(&self, foot: &Foot, trial: &Trial, near: &Vicinity) -> f64 {
        self.cost(trial) + near.cost_anywhere(&self.solids(foot, trial))
    }

    /// Splay of least discomfort, followed downhill from `splay`.
    fn settle(&self, foot: &Foot, splay: f64, steps: usize, mut near: Option<&mut Vicinity>) -> f64 {
        let [splay] = descend([splay], steps, |free| self.slope(foot, free[0], near.as_deref_mut()));
        splay
    }

    /// Splay of least discomfort from a neighbour's, which may have touched something, or from the best of a coarse
    /// net: among things as without them where that touches nothing.
    fn seeded(&self, foot: &Foot, from: Option<(f64, bool)>, near: &mut Vicinity) -> f64 {
        let at = |splay: f64| self.trial(foot, splay, quick_atan2);
        let best =
            |cost: &dyn Fn(f64) -> f64| SPLAYS.into_iter().min_by(|a, b| cost(*a).total_cmp(&cost(*b))).unwrap_or(0.0);
        let steps = if from.is_some() { 8 } else { 20 };
        if !from.is_some_and(|(_, touched)| touched) {
            let start = from.map_or_else(|| best(&|splay| self.cost(&at(splay))), |(splay, _)| splay);
            let alone = self.settle(foot, start, steps, None);
            if near.is_empty() || near.touch(&self.solids(foot, &at(alone))).is_none() {
                return alone;
            }
        }
        let start = from.map_or_else(|| best(&|splay| self.cost_among(foot, &at(splay), near)), |(splay, _)| splay);
        self.settle(foot, start, steps + AMONG, Some(near))
    }

    /// How far over the middle of the released face the ball is best: the vertex of a parabola through three places,
    /// then through three nearer to it.
    fn ball_up(&self, turn: f64) -> f64 {
        let most = self.task.highest();
        let released = FootTask { face: self.task.released, ..self.task };
        let mut splay = None;
        let mut cost = |up: f64| {
            let foot = self.foot(&Footing::plant(self.bones, &released, turn, up));
            let found = self.settle(&foot, splay.unwrap_or(SPLAYS[4]), 8, None);
            splay = Some(found);
            self.cost(&self.trial(&foot, found, quick_atan2)) + OFF_MIDDLE.residual(up).powi(2)
        };
        let mut middle = 0.0;
        for apart in [mm(16.0), mm(4.0)] {
            let [below, here, above] = [-apart, 0.0, apart].map(|off| cost(middle + off));
            let bend = below - 2.0 * here + above;
            let vertex = 0.5 * apart * (below - above) / bend.max(1e-9);
            middle += vertex.clamp(-2.0 * apart, 2.0 * apart);
        }
        middle.clamp(-most, most)
    }

    /// How far a pose lies outside what the joints allow: rad and m added up; 0 where it is kept.
    fn violation(&self, foot: &Foot, splay: f64) -> f64 {
        let trial = self.trial(foot, splay, f64::atan2);
        let joints: f64 = self.ranges.iter().zip(trial.angles).map(|(range, angle)| range.excess(angle)).sum();
        joints + trial.beyond
    }

    fn forward(&self, angles: &[f64; 7]) -> [(Vec3, Matrix3<f64>); 3] {
        forward(self.bones, self.side, &self.R_WB, self.hip, angles)
    }

    /// Axes of a thigh held straight forward.
    fn level(&self) -> Matrix3<f64> {
        self.R_WB * about_y(-deg(90.0))
    }

    /// The thigh without its turn about its own axis, counted from sitting.
    fn thigh(&self, hip: Vec3, R_WT: &Matrix3<f64>) -> Pose {
        let level = self.level();
        let level_pose = pose(hip, &level);
        level_pose * Pose::from_parts(Vec3::zeros().into(), untwisted(&level.tr_mul(R_WT)))
    }

    fn finish(&self, footing: &Footing, ball_up: f64, splay: f64, near: &mut Vicinity) -> Leg {
        let foot = self.foot(footing);
        let trial = self.trial(&foot, splay, f64::atan2);
        let kept = self.violation(&foot, splay) < 1e-9;
        let wanted = (self.task.X_WP * nalgebra::Point3::from(footing.ball)).coords;
        let (angles, joints) = if kept {
            (trial.angles, [(self.hip, trial.R_WT), (trial.knee, trial.R_WS), (foot.ankle, foot.R_WF)])
        } else {
            let ball = |angles: &[f64; 7]| {
                let [_, _, (ankle, R_WF)] = self.forward(angles);
                [ankle + R_WF * self.p_FB]
            };
            let angles = nearest(trial.angles, &self.ranges, [wanted], ball);
            (angles, self.forward(&angles))
        };
        let [(hip, R_WT), (knee, R_WS), (ankle, R_WF)] = joints;
        let (heel, ball) = (ankle + R_WF * self.p_FH, ankle + R_WF * self.p_FB);
        let heel_P = self.task.X_WP.inverse_transform_point(&heel.into()).coords;
        let mut leg = Leg {
            thigh: self.thigh(hip, &R_WT),
            shank: pose(knee, &R_WS),
            foot: pose(ankle, &R_WF),
            angles: LegAngles::from_array(angles),
            heel,
            ball,
            pedal: self.task.pedal,
            shortfall: if kept { 0.0 } else { (ball - wanted).norm() },
            heel_lift: (heel_P.z - self.task.heel_rest).max(0.0),
            heel_slide: heel_P.x - footing.home.x,
            splay,
            ball_up,
            discomfort: self.cost(&trial),
            touch: None,
        };
        if !near.is_empty() {
            leg.touch = near.touch(&self.body.leg(&leg, self.side));
        }
        debug_assert!(leg.ball.iter().chain(&angles).all(|x| x.is_finite()), "a leg is finite");
        leg
    }
}

/// Forward kinematics of a leg: origin and axes of thigh, shank and foot in W, from the axes of the pelvis, the hip
/// joint centre and the seven angles of [`LegAngles`].
pub fn forward(
    bones: &Skeleton,
    side: Side,
    R_WB: &Matrix3<f64>,
    hip: Vec3,
    angles: &[f64; 7],
) -> [(Vec3, Matrix3<f64>); 3] {
    let s = side.sign();
    let R_WT = R_WB * about_y(-angles[0]) * about_x(s * angles[1]) * about_z(-s * angles[2]);
    let knee = hip - R_WT * Vec3::z() * bones.thigh;
    let R_WS = R_WT * about_y(angles[3]);
    let ankle = knee - R_WS * Vec3::z() * bones.shank;
    let R_WF = R_WS * about_y(-angles[4]) * about_x(-s * angles[5]) * about_z(s * angles[6]);
    [(hip, R_WT), (knee, R_WS), (ankle, R_WF)]
}

/// Solves a leg in empty space. `from` is a neighbouring solution to follow without a jump. The heel stays planted while
/// the joints allow it and otherwise lifts just as far as it must; out of reach, the answer is the nearest pose inside
/// the joint limits and its shortfall.
pub fn solve_leg(body: &Body, sitting: &Sitting, side: Side, task: &FootTask, from: Option<&Leg>) -> Leg {
    solve_leg_among(body, sitting, side, task, from, &mut Vicinity::of(Around::nothing()))
}

/// [`solve_leg`] among things that thigh, knee and shank keep clear of.
pub fn solve_leg_among(
    body: &Body,
    sitting: &Sitting,
    side: Side,
    task: &FootTask,
    from: Option<&Leg>,
    near: &mut Vicinity,
) -> Leg {
    let problem = Problem::new(body, sitting, side, task);
    let turn = problem.turn();
    let up = match (task.ball_up, from) {
        (Some(up), _) => up,
        (None, Some(leg)) if leg.pedal == task.pedal => leg.ball_up,
        _ => problem.ball_up(turn),
    };
    let planted = Footing::plant(problem.bones, task, turn, up);
    let foot = problem.foot(&planted);
    let splay = problem.seeded(&foot, from.map(|leg| (leg.splay, leg.touch.is_some())), near);
    if problem.violation(&foot, splay) < 1e-9 {
        return problem.finish(&planted, up, splay, near);
    }

    // The foot turns up about the ball: a smaller pitch lifts the heel. Look for the least lift that the joints allow.
    const TRIES: u32 = 24;
    let lowest = (planted.pitch - deg(70.0)).max(deg(-40.0)).min(planted.pitch);
    let at = |share: f64| Footing { pitch: planted.pitch + (lowest - planted.pitch) * share, ..planted };
    let mut measure = |share: f64| {
        let footing = at(share);
        let foot = problem.foot(&footing);
        let splay = problem.seeded(&foot, Some((splay, from.is_some_and(|leg| leg.touch.is_some()))), near);
        (problem.violation(&foot, splay), splay)
    };
    let mut best = (0.0, f64::INFINITY);
    let mut free = None;
    for step in 1..=TRIES {
        let share = f64::from(step) / f64::from(TRIES);
        let (violation, _) = measure(share);
        if violation < 1e-9 {
            free = Some(share);
            break;
        }
        if violation < best.1 {
            best = (share, violation);
        }
    }
    let share = free.map_or(best.0, |mut open| {
        let mut shut = open - 1.0 / f64::from(TRIES);
        for _ in 0..24 {
            let middle = 0.5 * (open + shut);
            if measure(middle).0 < 1e-9 {
                open = middle;
            } else {
                shut = middle;
            }
        }
        open
    });
    let (_, splay) = measure(share);
    problem.finish(&at(share), up, splay, near)
}

/// A foot on the brake whose outer edge goes for the throttle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeelAndToe {
    /// The leg with the foot rolled as far as it goes.
    pub leg: Leg,
    /// How far that presses the throttle, m; 0 where it does not come to it.
    pub blip: f64,
    /// How far the unrolled foot already presses it, m.
    pub unwanted: f64,
    /// How much more of the shoe's width it would take to stand on both, m; 0 where it is wide enough.
    pub too_far: f64,
    /// How far the sole is rolled, rad.
    pub roll: f64,
}

/// How much of the sole stays on the brake and comes on the throttle, m: common practice, no published source.
const ON_BRAKE: f64 = mm(25.0);
const ON_THROTTLE: f64 = mm(12.0);
/// A sole is rolled no further than this; own choice, the ankle usually ends it before.
const MOST_ROLL: f64 = deg(30.0);

/// The right foot brakes with the inner part of its ball, the brake `braked` (m) down, and blips the throttle with the
/// outer: the heel stays where braking has it, the sole rolls over the brake's edge as far as the joints allow. `None`
/// without a throttle to the right of a brake.
pub fn heel_and_toe(body: &Body, sitting: &Sitting, rig: &Rig, braked: f64) -> Option<HeelAndToe> {
    let (brake, throttle) = (rig.pedals.get(PedalKind::Brake)?, rig.pedals.get(PedalKind::Throttle)?);
    let half_shoe = 0.5 * body.skeleton.shoe_width;
    // Edges that face each other, in P.
    let edge = brake.sideways - 0.5 * brake.size[0];
    let far = throttle.sideways + 0.5 * throttle.size[0];
    if throttle.sideways >= brake.sideways {
        return None;
    }
    // The foot's middle: on the brake's if the throttle is that near, else as far out as it has to be.
    let middle = (far - ON_THROTTLE + half_shoe).min(brake.sideways);
    let too_far = (edge + ON_BRAKE - half_shoe - middle).max(0.0);
    let task = FootTask { sideways: middle + too_far, ..FootTask::on_pedal(rig, PedalKind::Brake, braked)? };
    let problem = Problem::new(body, sitting, Side::Right, &task);
    let nothing = &mut Vicinity::of(Around::nothing());
    let turn = problem.turn();
    let up = problem.ball_up(turn);
    let planted = Footing::plant(problem.bones, &task, turn, up);
    let (sin_p, cos_p) = planted.pitch.sin_cos();
    // Out of the sole, away from the driver.
    let down = Vec3::new(sin_p, 0.0, -cos_p);
    let at = |roll: f64| Footing { ball: planted.ball + down * ((edge - task.sideways) * roll.sin()), roll, ..planted };

    let splay = problem.seeded(&problem.foot(&planted), None, nothing);
    let mut kept = |roll: f64| {
        let foot = problem.foot(&at(roll));
        problem.violation(&foot, problem.seeded(&foot, Some((splay, false)), nothing)) < 1e-9
    };
    let (mut roll, mut beyond) = (0.0, MOST_ROLL);
    if kept(MOST_ROLL) {
        roll = MOST_ROLL;
    }
    while beyond - roll > deg(0.1) && roll < MOST_ROLL {
        let half = 0.5 * (roll + beyond);
        if kept(half) {
            roll = half;
        } else {
            beyond = half;
        }
    }
    let foot = problem.foot(&at(roll));
    let splay = problem.seeded(&foot, Some((splay, false)), nothing);
    let leg = problem.finish(&at(roll), up, splay, nothing);

    // How far the throttle is down where its face meets the sole's outer edge.
    let pressed = |roll: f64| {
        let reach = (edge - (task.sideways - half_shoe)).max(0.0);
        let outer = planted.ball + down * (reach * roll.sin());
        let behind = |travel: f64| {
            let face = throttle.face_at(travel);
            let (sin, cos) = face.tilt.sin_cos();
            (outer - Vec3::new(face.centre[0], 0.0, face.centre[1])).dot(&Vec3::new(cos, 0.0, -sin))
        };
        let (mut low, mut high) = (0.0, throttle.travel);
        if behind(low) <= 0.0 {
            return 0.0;
        }
        for _ in 0..30 {
            let half = 0.5 * (low + high);
            if behind(half) > 0.0 { low = half } else { high = half }
        }
        low
    };
    let (blip, unwanted) = if too_far > 0.0 { (0.0, 0.0) } else { (pressed(roll), pressed(0.0)) };
    Some(HeelAndToe { leg, blip, unwanted, too_far, roll })
}

/// A leg at these angles.
pub(crate) fn of_angles(body: &Body, sitting: &Sitting, side: Side, angles: &LegAngles) -> Leg {
    let nowhere = Face { centre: [0.0; 2], tilt: 0.0 };
    let task = FootTask {
        pedal: None,
        X_WP: Pose::identity(),
        sideways: 0.0,
        heel_rest: 0.0,
        half_height: 0.0,
        released: nowhere,
        face: nowhere,
        ball_up: Some(0.0),
    };
    let problem = Problem::new(body, sitting, side, &task);
    let [(hip, R_WT), (knee, R_WS), (ankle, R_WF)] = problem.forward(&angles.array());
    Leg {
        thigh: problem.thigh(hip, &R_WT),
        shank: pose(knee, &R_WS),
        foot: pose(ankle, &R_WF),
        angles: *angles,
        heel: ankle + R_WF * problem.p_FH,
        ball: ankle + R_WF * problem.p_FB,
        ..Leg::nowhere()
    }
}
