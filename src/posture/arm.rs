//! One arm: shoulder, elbow and wrist to a hand that holds the rim.
//!
//! With the hand's place given, shoulder, elbow and wrist follow in closed form for every swivel of the elbow about
//! the line from shoulder to wrist. Free are only that swivel, the roll of the hand about the rod and the tilt of the
//! rod across the palm; they are found by a few damped Gauss–Newton steps on discomfort with soft edges inside the
//! joint limits.

use std::sync::LazyLock;

use nalgebra::Matrix3;

use super::{
    Around, Sitting, Touch, Vicinity,
    comfort::{Comfort, discomfort, slope, table},
    descend::{Slope, descend},
    joint::{about_x, about_y, about_z, back, pose, turn_rates, turns, untwisted, untwisted_rate},
    nearest::nearest,
};
use crate::{
    body::{Body, BodyPart, JointLimits, Range, Skeleton},
    geometry::{Pose, Rot, Side, Vec3, quick_atan2, unit_or},
    rig::Rig,
    units::{deg, mm},
};

/// Joint angles of an arm, rad, zero hanging with the thumb forward.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct ArmAngles {
    /// Upper arm forward (+) of the trunk line.
    pub shoulder_flexion: f64,
    /// Upper arm outward (+).
    pub shoulder_abduction: f64,
    /// Upper arm turned inward (+).
    pub shoulder_rotation: f64,
    /// Elbow bend; the included angle is π less this.
    pub elbow_flexion: f64,
    /// Palm turned down or back (+).
    pub pronation: f64,
    /// Towards the palm (+), towards the back of the hand (−).
    pub wrist_flexion: f64,
    /// Towards the thumb (+), towards the little finger (−).
    pub wrist_deviation: f64,
}

impl ArmAngles {
    /// Names in the order of [`ArmAngles::array`].
    pub const NAMES: [&'static str; 7] = [
        "shoulder_flexion",
        "shoulder_abduction",
        "shoulder_rotation",
        "elbow_flexion",
        "pronation",
        "wrist_flexion",
        "wrist_deviation",
    ];

    /// The seven angles from shoulder to wrist.
    pub const fn array(&self) -> [f64; 7] {
        [
            self.shoulder_flexion,
            self.shoulder_abduction,
            self.shoulder_rotation,
            self.elbow_flexion,
            self.pronation,
            self.wrist_flexion,
            self.wrist_deviation,
        ]
    }

    /// From the seven angles in order.
    pub const fn from_array(a: [f64; 7]) -> Self {
        Self {
            shoulder_flexion: a[0],
            shoulder_abduction: a[1],
            shoulder_rotation: a[2],
            elbow_flexion: a[3],
            pronation: a[4],
            wrist_flexion: a[5],
            wrist_deviation: a[6],
        }
    }

    /// The ranges of the seven angles.
    pub const fn ranges(limits: &JointLimits) -> [Range; 7] {
        [
            limits.shoulder_flexion,
            limits.shoulder_abduction,
            limits.shoulder_rotation,
            limits.elbow_flexion,
            limits.pronation,
            limits.wrist_flexion,
            limits.wrist_deviation,
        ]
    }
}

/// What a hand has to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArmTask {
    /// Where the middle of the grip has to be, W.
    pub grip: Vec3,
    /// The rod's direction towards the thumb, W, unit.
    pub tangent: Vec3,
    /// Away from the driver along the shaft, W, unit, normal to `tangent`: where the hand points before it is rolled.
    pub away: Vec3,
    /// Radius of the rod, m.
    pub tube: f64,
    /// Roll about the rod and tilt of the rod in the hand that are kept, rad; `None` lets the hand find them.
    pub kept_grip: Option<[f64; 2]>,
}

/// One arm in place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arm {
    /// Upper arm, without its turn about its own axis.
    pub upper_arm: Pose,
    /// Forearm at the elbow.
    pub forearm: Pose,
    /// Hand, origin in the wrist.
    pub hand: Pose,
    /// Joint angles.
    pub angles: ArmAngles,
    /// Middle of the closed hand, W.
    pub grip: Vec3,
    /// How far either end of the grip stays from the rod, m; 0 where the hand holds it.
    pub shortfall: f64,
    /// How far the shoulder has left the seat to get there, m.
    pub protraction: f64,
    /// Spare freedom: swivel of the elbow about the line from shoulder to wrist, outward positive, rad.
    pub swivel: f64,
    /// Spare freedom: roll of the hand about the rod, rad.
    pub roll: f64,
    /// Spare freedom: tilt of the rod across the palm, thumb end towards the fingertips, rad.
    pub tilt: f64,
    /// What the pose costs in discomfort.
    pub discomfort: f64,
    /// What the arm is closest to, if that is close enough to turn it aside or to be in its way.
    pub touch: Option<Touch>,
}

impl Arm {
    /// Shoulder joint centre.
    pub fn shoulder(&self) -> Vec3 {
        self.upper_arm.translation.vector
    }

    /// Elbow centre.
    pub fn elbow(&self) -> Vec3 {
        self.forearm.translation.vector
    }

    /// Wrist centre.
    pub fn wrist(&self) -> Vec3 {
        self.hand.translation.vector
    }

    /// Collar bone and shoulder blade: the thorax's axes, swung so that the outer end follows the shoulder. Origin at
    /// the neck end.
    pub fn clavicle(&self, sitting: &Sitting, side: Side) -> Pose {
        let thorax = sitting.thorax.rotation;
        let seated = sitting.shoulders[side.index()];
        let middle = (sitting.shoulders[0] + sitting.shoulders[1]) * 0.5;
        let root = middle + (seated - middle) * COLLAR_ROOT;
        let swing = Rot::rotation_between(&(seated - root), &(self.shoulder() - root)).unwrap_or_default();
        Pose::from_parts(root.into(), swing * thorax)
    }

    /// The forearm with half the hand's turn: origin half-way from elbow to wrist.
    pub fn forearm_twist(&self, side: Side) -> Pose {
        let half = Rot::from_axis_angle(&Vec3::z_axis(), -side.sign() * self.angles.pronation * 0.5);
        Pose::from_parts(((self.elbow() + self.wrist()) * 0.5).into(), self.forearm.rotation * half)
    }

    /// Whether the hand comes to its target with every joint inside its range.
    pub fn reaches(&self) -> bool {
        self.shortfall < HELD
    }

    /// Whether it comes there with nothing in the arm's way.
    pub fn holds(&self) -> bool {
        self.reaches() && !self.touch.is_some_and(|touch| touch.blocks())
    }
}

/// How many more steps a search among things has.
const AMONG: usize = 24;
/// A grip nearer than this to its target holds it, m.
const HELD: f64 = mm(0.1);
/// A rod lies across the palm with its thumb end towards the fingertips: the neutral tilt, at which discomfort is 1
/// from there, and the range that a hand allows which stays closed but may loosen; from memory (pistol grips stand 12
/// to 20° off square), the range our own choice.
const TILT: (Comfort, Range) = (Comfort::new(deg(18.0), deg(10.0)), Range { low: deg(-20.0), high: deg(45.0) });
/// Where the collar bones begin, as a share of the way from the middle to the shoulder joint.
const COLLAR_ROOT: f64 = 0.12;
/// Sine and cosine of 22° and 3°: so far from its stop the elbow stands where the shoulder begins to leave the seat, and
/// where it goes all the rest of the way; own choice.
const EASED: [(f64, f64); 2] = [(0.374_606_593, 0.927_183_855), (0.052_335_956, 0.998_629_535)];
/// Half the length of rod that a hand closes on: half a hand's breadth, m.
const HALF_GRIP: f64 = mm(42.0);
/// The hand's roll about the rod at which discomfort is 1; own choice.
const ROLL: Comfort = Comfort::new(0.0, deg(30.0));
/// Leaving the seat with a shoulder by this much counts 1; own choice: contact is kept while an arm can reach.
const PROTRACTION: Comfort = Comfort::new(0.0, mm(12.0));
/// A wrist this much out of reach counts 1 while the spare freedoms are searched.
const REACH: Comfort = Comfort::new(0.0, mm(4.0));
/// Where the search begins when there is no neighbour to follow: swivels, their sines and cosines, tilts and rolls, rad; and
/// from how many of the swivels it is followed to the end where nothing is in the way.
const SWIVELS: [f64; 6] = [deg(-20.0), deg(0.0), deg(20.0), deg(40.0), deg(60.0), deg(85.0)];
static TURNS: LazyLock<[(f64, f64); 6]> = LazyLock::new(|| SWIVELS.map(f64::sin_cos));
const STARTS: usize = 3;
const TILTS: [f64; 3] = [deg(-8.0), deg(18.0), deg(38.0)];
const ROLLS: [f64; 5] = [deg(-50.0), deg(-25.0), deg(0.0), deg(25.0), deg(50.0)];
/// A pose of more discomfort than this is looked for on a finer net, and followed to the end from so many places: it goes
/// to its limits or bends round something, and other ways may be easier.
const POOR: f64 = 20.0;
const MANY: usize = 40;
const FINE_SWIVELS: [f64; 3] = [deg(-10.0), deg(35.0), deg(80.0)];
/// In degrees.
const FINE_TILTS: [i8; 7] = [-20, -10, 0, 10, 20, 30, 40];
const FINE_ROLLS: [i8; 17] = [-80, -70, -60, -50, -40, -30, -20, -10, 0, 10, 20, 30, 40, 50, 60, 70, 80];

impl ArmTask {
    /// To hold the rim where this hand holds it, with the wheel turned by `steer` (rad, left positive).
    pub fn on_rim(rig: &Rig, side: Side, steer: f64) -> Self {
        let (grip, anticlockwise, _) = rig.wheel.grip_point(rig.wheel.hands[side.index()], steer);
        // Thumbs point to 12 o'clock at 9 and 3: clockwise for the left hand, anticlockwise for the right.
        let tangent = anticlockwise * -side.sign();
        let away = rig.wheel.X_WR.rotation * Vec3::x();
        Self { grip, tangent, away, tube: rig.wheel.tube, kept_grip: None }
    }

    /// The middle of the hand's place seen from the wrist, hand frame.
    fn p_HG(&self, bones: &Skeleton, side: Side) -> Vec3 {
        Vec3::new(0.0, -side.sign() * (bones.palm + self.tube), -bones.wrist_to_grip)
    }
}

/// What stays the same while the spare freedoms are searched. All of it is seen from the thorax, origin in the shoulder
/// on the seat.
struct Problem<'a> {
    body: &'a Body,
    bones: &'a Skeleton,
    /// Of the joints, then of the tilt.
    ranges: [Range; 8],
    comfort: [Comfort; MEASURES],
    side: Side,
    /// The thorax's axes at the shoulder on the seat, W.
    X_WT: Pose,
    R_WT: Matrix3<f64>,
    grip: Vec3,
    tangent: Vec3,
    away: Vec3,
    /// Palm direction before the roll.
    palm: Vec3,
    kept_grip: Option<[f64; 2]>,
    /// Greatest distance from shoulder to wrist.
    reach: f64,
    /// The distances between which the shoulder begins to leave the seat and to go all the rest of the way.
    eased: [f64; 2],
    p_HG: Vec3,
}

/// The hand in place, and the circle that is left to the elbow.
struct Hold {
    R_TH: Matrix3<f64>,
    wrist: Vec3,
    /// Shoulder off the seat by, m.
    protraction: f64,
    /// How fast that grows as the wrist moves.
    protraction_rate: Vec3,
    /// From shoulder to wrist, m.
    distance: f64,
    /// Whether that is between a folded and a straight arm.
    bends: bool,
    /// Wrist out of reach by, m.
    beyond: f64,
    /// From shoulder to wrist, unit.
    axis: Vec3,
    /// How much of the unit vector down lies along the axis, per part across it.
    steep: f64,
    /// Cosine and sine of the angles that the axis makes with the upper arm and with the forearm.
    upper: [f64; 2],
    fore: [f64; 2],
    /// Directions from the middle of the circle: down, and outward.
    radials: [Vec3; 2],
    /// Axis and radials seen from the hand.
    axis_H: Vec3,
    radials_H: [Vec3; 2],
}

/// The arm for one swivel.
struct Trial {
    angles: [f64; 7],
    /// Upper arm.
    R_TA: Matrix3<f64>,
    /// Forearm, seen from the hand.
    R_HF: Matrix3<f64>,
}

/// How hand and circle move with one freedom, per rad.
#[derive(Default)]
struct Drift {
    /// Turning of the hand.
    hand: Vec3,
    /// Turning of the circle.
    circle: Vec3,
    /// Way of the wrist.
    wrist: Vec3,
    /// From shoulder to wrist.
    distance: f64,
    protraction: f64,
    roll: f64,
    tilt: f64,
}

/// Swivel, roll and tilt.
type Free = [f64; 3];
/// The seven angles, tilt, roll, protraction and what is out of reach.
const MEASURES: usize = 11;
type Measures = [f64; MEASURES];

/// Where a slack elbow hangs, T.
const DOWN: Vec3 = Vec3::new(-0.3, 0.0, -1.0);

/// Axes of a bone in the plane of the arm, given cosine and sine of the angle from the axis towards the radial.
fn bone(axis: &Vec3, radial: &Vec3, hinge: &Vec3, [cos, sin]: [f64; 2]) -> Matrix3<f64> {
    Matrix3::from_columns(&[axis * sin - radial * cos, *hinge, -(axis * cos + radial * sin)])
}

impl<'a> Problem<'a> {
    fn new(body: &'a Body, sitting: &Sitting, side: Side, task: &ArmTask) -> Self {
        let bones = &body.skeleton;
        let [a, b, c, elbow, e, f, g] = ArmAngles::ranges(&body.limits);
        let [ca, cb, cc, cd, ce, cf, cg] = table().arm;
        let X_WT = Pose::from_parts(sitting.shoulders[side.index()].into(), sitting.thorax.rotation);
        let R_WT = X_WT.rotation.to_rotation_matrix().into_inner();
        let (tangent, away) = (R_WT.tr_mul(&task.tangent), R_WT.tr_mul(&task.away));
        let between = |cosine: f64| {
            let (u, f) = (bones.upper_arm, bones.forearm);
            (u * u + f * f + 2.0 * u * f * cosine).sqrt()
        };
        // Cosines of sums from those of the stop and of two fixed angles.
        let (sin, cos) = elbow.low.sin_cos();
        let past = |(sine, cosine): (f64, f64)| between(cos * cosine - sin * sine);
        Self {
            body,
            bones,
            ranges: [a, b, c, elbow, e, f, g, TILT.1],
            comfort: [ca, cb, cc, cd, ce, cf, cg, TILT.0, ROLL, PROTRACTION, REACH],
            side,
            grip: R_WT.tr_mul(&(task.grip - X_WT.translation.vector)),
            tangent,
            away,
            // Palm towards the middle of the wheel, fingers pointing away: a right-handed triple with the thumb.
            palm: away.cross(&tangent) * side.sign(),
            kept_grip: task.kept_grip,
            reach: between(cos),
            eased: [past(EASED[0]), past(EASED[1])],
            p_HG: task.p_HG(bones, side),
            X_WT,
            R_WT,
        }
    }

    /// Rotation of the hand for a roll about the rod and a tilt of the rod in it.
    fn hand(&self, roll: f64, tilt: f64) -> Matrix3<f64> {
        let s = self.side.sign();
        let (sin, cos) = roll.sin_cos();
        let fingers = self.away * cos + self.palm * sin;
        let palm = self.palm * cos - self.away * sin;
        // Before the tilt of the rod in the hand: thumb along the rod.
        let (x, y, z) = (self.tangent, palm * -s, -fingers);
        let (sin, cos) = tilt.sin_cos();
        Matrix3::from_columns(&[x * cos + z * sin, y, z * cos - x * sin])
    }

    /// All that the hand's place settles before the elbow's swivel is chosen.
    fn hold(&self, roll: f64, tilt: f64) -> Hold {
        let R_TH = self.hand(roll, tilt);
        let wrist = self.grip - R_TH * self.p_HG;

        // Shoulder: on the seat, or forward just as far as the wrist asks for.
        let mut protraction = 0.0;
        let mut protraction_rate = Vec3::zeros();
        let seated_span = wrist.norm();
        if seated_span > self.eased[0] {
            // The nearer the elbow is to straight, the more of the way the shoulder takes over: without a kink, so
            // that no joint jumps as an arm straightens.
            let room = self.eased[1] - self.eased[0];
            let share = (-(seated_span - self.eased[0]) / room).exp();
            let span = self.eased[1] - room * share;
            let aside = Vec3::new(0.0, wrist.y, wrist.z);
            let along = (span * span - aside.norm_squared()).max(0.0).sqrt();
            let wanted = wrist.x - along;
            protraction = wanted.clamp(0.0, self.bones.protraction);
            if along > 1e-9 && wanted > 0.0 && wanted < self.bones.protraction {
                protraction_rate = Vec3::x() - (wrist * (share * span / seated_span) - aside) / along;
            }
        }
        let span = wrist - Vec3::x() * protraction;
        let distance = span.norm();
        let axis = unit_or(span, Vec3::x());

        // The elbow's circle about the line from shoulder to wrist.
        let (u, f) = (self.bones.upper_arm, self.bones.forearm);
        let folded = (u - f).abs() + 1e-6;
        let d = distance.clamp(folded, self.reach);
        let along = (d * d + u * u - f * f) / (2.0 * d);
        let radius = (u * u - along * along).max(0.0).sqrt();
        let depth = axis.dot(&DOWN);
        let across = DOWN - axis * depth;
        let r0 = unit_or(across, -Vec3::z());
        let radials = [r0, axis.cross(&r0) * self.side.sign()];
        Hold {
            wrist,
            protraction,
            protraction_rate,
            distance,
            bends: distance > folded && distance < self.reach,
            beyond: (distance - self.reach).max(0.0),
            axis,
            steep: depth / across.norm().max(1e-12),
            upper: [along / u, radius / u],
            fore: [(d - along) / f, -radius / f],
            radials,
            axis_H: R_TH.tr_mul(&axis),
            radials_H: radials.map(|radial| R_TH.tr_mul(&radial)),
            R_TH,
        }
    }

    /// The arm for one swivel of the elbow, given by its sine and cosine, its angles by an exact or a quick arc tangent.
    #[inline]
    fn swing(&self, hold: &Hold, (sin, cos): (f64, f64), atan2: impl Fn(f64, f64) -> f64) -> Trial {
        let s = self.side.sign();
        // Frames: the elbow's axis is common to upper arm and forearm.
        let frame = |axis: &Vec3, [r0, r1]: &[Vec3; 2], at: [f64; 2]| {
            bone(axis, &(r0 * cos + r1 * sin), &((r1 * cos - r0 * sin) * s), at)
        };
        let R_TA = frame(&hold.axis, &hold.radials, hold.upper);
        let R_HF = frame(&hold.axis_H, &hold.radials_H, hold.fore);
        let [flexion, abduction, rotation] = turns(&R_TA, s);
        // From the hand back to the forearm the wrist's turns come in the shoulder's order.
        let [deviation, wrist, pronation] = turns(&R_HF, s);
        let ([ca, sa], [cf, sf]) = (hold.upper, hold.fore);
        let elbow = (sa * cf - ca * sf, ca * cf + sa * sf);
        let turns = [flexion, abduction, rotation, elbow, back(pronation), wrist, back(deviation)];
        Trial { angles: turns.map(|(sin, cos)| atan2(sin, cos)), R_TA, R_HF }
    }

    fn measures(&self, hold: &Hold, trial: &Trial, [_, roll, tilt]: &Free) -> Measures {
        let [a, b, c, d, e, f, g] = trial.angles;
        [a, b, c, d, e, f, g, *tilt, *roll, hold.protraction, hold.beyond]
    }

    /// How the circle follows a hand that turns about the grip.
    fn follow(&self, hold: &Hold, hand: Vec3) -> Drift {
        let wrist = hand.cross(&(hold.wrist - self.grip));
        let protraction = hold.protraction_rate.dot(&wrist);
        let span = wrist - Vec3::x() * protraction;
        let distance = hold.axis.dot(&span);
        let across = hold.axis.cross(&span) / hold.distance.max(1e-9);
        // The circle's lowest point stays lowest.
        let turn = -hold.steep * self.side.sign() * hold.radials[1].dot(&span) / hold.distance.max(1e-9);
        Drift { hand, circle: across + hold.axis * turn, wrist, distance, protraction, ..Drift::default() }
    }

    fn drifts(&self, hold: &Hold) -> [Drift; 3] {
        let s = self.side.sign();
        [
            Drift { circle: hold.axis * s, ..Drift::default() },
            Drift { roll: 1.0, ..self.follow(hold, self.tangent * -s) },
            Drift { tilt: 1.0, ..self.follow(hold, -hold.R_TH.column(1)) },
        ]
    }

    /// Cost and slope, over as many of the freedoms as are asked for, with what nearness to things costs.
    fn slope<const F: usize>(
        &self,
        hold: &Hold,
        free: &Free,
        drifts: &[Drift; F],
        near: Option<&mut Vicinity>,
    ) -> Slope<F> {
        let s = self.side.sign();
        let trial = self.swing(hold, free[0].sin_cos(), quick_atan2);
        let (shoulder, wrist) = (turn_rates(&trial.R_TA, s), turn_rates(&trial.R_HF, s));
        let hinge: Vec3 = trial.R_TA.column(1).into();
        let ([ca, sa], [cf, _]) = (hold.upper, hold.fore);
        let (u, f) = (self.bones.upper_arm, self.bones.forearm);
        // Of the elbow as the wrist comes nearer, and what upper arm and forearm have of it.
        let per = if hold.bends { 1.0 / (u * sa).max(1e-9) } else { 0.0 };
        let per_d = per / hold.distance.max(1e-9);
        let outside = if hold.beyond > 0.0 { 1.0 } else { 0.0 };
        // How upper arm and forearm turn.
        let turning = drifts.each_ref().map(|drift| {
            let closing = -drift.distance * per_d;
            [drift.circle + hinge * (closing * f * cf), drift.circle - hinge * (closing * u * ca)]
        });
        let rates = std::array::from_fn(|i| {
            let (drift, [upper, fore]) = (&drifts[i], turning[i]);
            let a = shoulder * upper;
            let w = wrist * hold.R_TH.tr_mul(&(fore - drift.hand));
            let elbow = -drift.distance * per;
            let beyond = drift.distance * outside;
            [a.x, a.y, a.z, elbow, -w.z, w.y, -w.x, drift.tilt, drift.roll, drift.protraction, beyond]
        });
        let mut slope = slope(&self.measures(hold, &trial, free), &rates, &self.comfort, &self.ranges);
        if let Some(near) = near {
            let solids = self.body.arm(&self.placed(hold, &trial), self.side);
            near.slope(&mut slope, &solids, &self.R_WT, |part, point| {
                let point = self.R_WT.tr_mul(&(point - self.X_WT.translation.vector));
                std::array::from_fn(|i| {
                    let (drift, [upper, fore]) = (&drifts[i], turning[i]);
                    match part {
                        BodyPart::Hand(_) => drift.hand.cross(&(point - self.grip)),
                        BodyPart::Forearm(_) => drift.wrist + fore.cross(&(point - hold.wrist)),
                        _ => {
                            let shoulder = Vec3::x() * hold.protraction;
                            let turning = untwisted_rate(&trial.R_TA, upper);
                            Vec3::x() * drift.protraction + turning.cross(&(point - shoulder))
                        }
                    }
                })
            });
        }
        slope
    }

    fn cost(&self, hold: &Hold, trial: &Trial, free: &Free) -> f64 {
        discomfort(&self.measures(hold, trial, free), &self.comfort, &self.ranges)
    }

    /// Spare freedoms of least discomfort, followed downhill from `free`.
    fn settle(&self, free: Free, steps: usize, mut near: Option<&mut Vicinity>) -> (Hold, Free) {
        if let Some([roll, tilt]) = self.kept_grip {
            let hold = self.hold(roll, tilt);
            let free = self.swivel(&hold, [free[0], roll, tilt], steps, near);
            return (hold, free);
        }
        let free = descend(free, steps, |free| {
            let hold = self.hold(free[1], free[2]);
            self.slope(&hold, free, &self.drifts(&hold), near.as_deref_mut())
        });
        (self.hold(free[1], free[2]), free)
    }

    /// The same with roll and tilt kept.
    fn swivel(&self, hold: &Hold, [swivel, roll, tilt]: Free, steps: usize, mut near: Option<&mut Vicinity>) -> Free {
        let [drift, ..] = self.drifts(hold);
        let drifts = [drift];
        let [swivel] =
            descend([swivel], steps, |free| self.slope(hold, &[free[0], roll, tilt], &drifts, near.as_deref_mut()));
        [swivel, roll, tilt]
    }

    /// The arm that this gives where nothing is in the way.
    fn alone(&self, free: Free, steps: usize, near: &mut Vicinity) -> Arm {
        let (hold, free) = self.settle(free, steps, None);
        self.finish(&hold, free, near)
    }

    /// The same among things, with its cost.
    fn among(&self, free: Free, steps: usize, near: &mut Vicinity) -> (f64, Arm) {
        let (hold, free) = self.settle(free, steps + AMONG, Some(near));
        let arm = self.finish(&hold, free, near);
        let trial = self.swing(&hold, free[0].sin_cos(), quick_atan2);
        let solids = self.body.arm(&self.placed(&hold, &trial), self.side);
        (self.cost(&hold, &trial, &free) + near.cost(&solids), arm)
    }

    /// The best among things without a neighbour to follow.
    fn anywhere(&self, near: &mut Vicinity) -> Arm {
        let starts = self.seeds(&TILTS, |hold, trial, free| self.cost_anywhere(hold, trial, free, near));
        self.best(starts, near)
    }

    /// The same from a fine net of grips, each turned first to the swivels that are best without things: an arm near its
    /// limits has only narrow ways.
    fn everywhere(&self, near: &mut Vicinity) -> Arm {
        let grips = match self.kept_grip {
            Some(kept) => vec![kept],
            None => FINE_ROLLS
                .into_iter()
                .flat_map(|roll| FINE_TILTS.map(move |tilt| [roll, tilt].map(|at| deg(f64::from(at)))))
                .collect(),
        };
        let mut starts: Vec<(f64, Free)> = Vec::with_capacity(FINE_SWIVELS.len() * grips.len());
        for [roll, tilt] in grips {
            let hold = self.hold(roll, tilt);
            for swivel in FINE_SWIVELS {
                let free = self.swivel(&hold, [swivel, roll, tilt], AMONG, None);
                starts.push((self.cost(&hold, &self.swing(&hold, free[0].sin_cos(), quick_atan2), &free), free));
            }
        }
        starts.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Things only add to the cost: the rest cannot be among the best.
        let mut best: Vec<(f64, Free)> = Vec::with_capacity(MANY + 1);
        for (alone, free) in starts {
            if best.len() == MANY && best[MANY - 1].0 < alone {
                break;
            }
            let hold = self.hold(free[1], free[2]);
            let trial = self.swing(&hold, free[0].sin_cos(), quick_atan2);
            let cost = self.cost_anywhere(&hold, &trial, &free, near);
            best.insert(best.partition_point(|other| other.0 < cost), (cost, free));
            best.truncate(MANY);
        }
        self.best(best.into_iter().map(|(_, free)| free), near)
    }

    fn best(&self, starts: impl IntoIterator<Item = Free>, near: &mut Vicinity) -> Arm {
        let arms = starts.into_iter().map(|start| self.among(start, 30, near));
        let best = arms.min_by(|a, b| a.0.total_cmp(&b.0));
        best.map_or_else(|| self.alone([0.0; 3], 30, near), |(_, arm)| arm)
    }

    /// Cost among things of an arm far from where it was before.
    fn cost_anywhere(&self, hold: &Hold, trial: &Trial, free: &Free, near: &Vicinity) -> f64 {
        let solids = self.body.arm(&self.placed(hold, trial), self.side);
        self.cost(hold, trial, free) + near.cost_anywhere(&solids)
    }

    /// Where to begin without a neighbour: of a coarse net of swivels, rolls and `tilts` the best for each swivel, the
    /// least costly first.
    fn seeds(&self, tilts: &[f64], cost: impl Fn(&Hold, &Trial, &Free) -> f64) -> [Free; SWIVELS.len()] {
        let mut best = SWIVELS.map(|swivel| (f64::INFINITY, [swivel, 0.0, 0.0]));
        let mut look = |roll: f64, tilt: f64| {
            let hold = self.hold(roll, tilt);
            for (best, turn) in best.iter_mut().zip(&*TURNS) {
                let free = [best.1[0], roll, tilt];
                let cost = cost(&hold, &self.swing(&hold, *turn, quick_atan2), &free);
                if cost < best.0 {
                    *best = (cost, free);
                }
            }
        };
        if let Some([roll, tilt]) = self.kept_grip {
            look(roll, tilt);
        } else {
            for roll in ROLLS {
                for tilt in tilts {
                    look(roll, *tilt);
                }
            }
        }
        best.sort_by(|a, b| a.0.total_cmp(&b.0));
        best.map(|(_, free)| free)
    }

    /// Hand and grip by forward kinematics.
    fn forward(&self, angles: &[f64; 7], shoulder: Vec3) -> [(Vec3, Matrix3<f64>); 3] {
        forward(self.bones, self.side, &Matrix3::identity(), shoulder, angles)
    }

    /// The two ends of the closed hand's grip.
    fn grip_ends(&self, wrist: Vec3, R_TH: Matrix3<f64>, tilt: f64) -> [Vec3; 2] {
        let (sin, cos) = tilt.sin_cos();
        let rod = Vec3::new(cos, 0.0, -sin) * HALF_GRIP;
        [wrist + R_TH * (self.p_HG - rod), wrist + R_TH * (self.p_HG + rod)]
    }

    /// Where those ends have to be.
    fn task_ends(&self) -> [Vec3; 2] {
        let rod = self.tangent * HALF_GRIP;
        [self.grip - rod, self.grip + rod]
    }

    fn finish(&self, hold: &Hold, free: Free, near: &mut Vicinity) -> Arm {
        let trial = self.swing(hold, free[0].sin_cos(), f64::atan2);
        let shoulder = Vec3::x() * hold.protraction;
        let kept =
            hold.beyond < 1e-9 && self.ranges.iter().zip(trial.angles).all(|(range, angle)| range.excess(angle) < 1e-9);
        let (angles, joints, shortfall) = if kept {
            (trial.angles, self.joints(hold, &trial), 0.0)
        } else {
            let ends = |angles: &[f64; 7]| {
                let [_, _, (wrist, R_TH)] = self.forward(angles, shoulder);
                self.grip_ends(wrist, R_TH, free[2])
            };
            let wanted = self.task_ends();
            let ranges: &[Range; 7] = self.ranges.first_chunk().expect("eight ranges begin with seven");
            let angles = nearest(trial.angles, ranges, wanted, ends);
            let reached = ends(&angles);
            let shortfall = (reached[0] - wanted[0]).norm().max((reached[1] - wanted[1]).norm());
            (angles, self.forward(&angles, shoulder), shortfall)
        };
        let mut arm = Arm {
            shortfall,
            protraction: hold.protraction,
            swivel: free[0],
            roll: free[1],
            tilt: free[2],
            discomfort: self.cost(hold, &trial, &free),
            ..self.arm(angles, &joints)
        };
        if !near.is_empty() {
            arm.touch = near.touch(&self.body.arm(&arm, self.side));
        }
        debug_assert!(arm.grip.iter().chain(&angles).all(|x| x.is_finite()), "an arm is finite");
        arm
    }

    /// Origins and axes of upper arm, forearm and hand.
    fn joints(&self, hold: &Hold, trial: &Trial) -> [(Vec3, Matrix3<f64>); 3] {
        let shoulder = Vec3::x() * hold.protraction;
        let elbow = shoulder - trial.R_TA.column(2) * self.bones.upper_arm;
        [(shoulder, trial.R_TA), (elbow, hold.R_TH * trial.R_HF), (hold.wrist, hold.R_TH)]
    }

    /// The arm of one swivel in W.
    fn placed(&self, hold: &Hold, trial: &Trial) -> Arm {
        self.arm(trial.angles, &self.joints(hold, trial))
    }

    /// An arm in W from its angles and joints.
    fn arm(&self, angles: [f64; 7], joints: &[(Vec3, Matrix3<f64>); 3]) -> Arm {
        let [(shoulder, R_TA), (elbow, R_TF), (wrist, R_TH)] = joints;
        Arm {
            upper_arm: self.X_WT * Pose::from_parts((*shoulder).into(), untwisted(R_TA)),
            forearm: self.X_WT * pose(*elbow, R_TF),
            hand: self.X_WT * pose(*wrist, R_TH),
            angles: ArmAngles::from_array(angles),
            grip: (self.X_WT * nalgebra::Point3::from(wrist + R_TH * self.p_HG)).coords,
            shortfall: 0.0,
            protraction: 0.0,
            swivel: 0.0,
            roll: 0.0,
            tilt: TILT.0.neutral,
            discomfort: 0.0,
            touch: None,
        }
    }
}

/// Forward kinematics of an arm: origin and axes of upper arm, forearm and hand in W, from the axes of the thorax, the
/// shoulder joint centre and the seven angles of [`ArmAngles`].
pub fn forward(
    bones: &Skeleton,
    side: Side,
    R_WT: &Matrix3<f64>,
    shoulder: Vec3,
    angles: &[f64; 7],
) -> [(Vec3, Matrix3<f64>); 3] {
    let s = side.sign();
    let R_WA = R_WT * about_y(-angles[0]) * about_x(s * angles[1]) * about_z(-s * angles[2]);
    let elbow = shoulder - R_WA * Vec3::z() * bones.upper_arm;
    let R_WF = R_WA * about_y(-angles[3]);
    let wrist = elbow - R_WF * Vec3::z() * bones.forearm;
    let R_WH = R_WF * about_z(-s * angles[4]) * about_x(-s * angles[5]) * about_y(-angles[6]);
    [(shoulder, R_WA), (elbow, R_WF), (wrist, R_WH)]
}

/// Solves an arm in empty space. `from` is a neighbouring solution to follow without a jump; without one the whole range
/// of the spare freedoms is looked at. Out of reach, the answer is the nearest pose inside the joint limits and its
/// shortfall.
pub fn solve_arm(body: &Body, sitting: &Sitting, side: Side, task: &ArmTask, from: Option<&Arm>) -> Arm {
    solve_arm_among(body, sitting, side, task, from, &mut Vicinity::of(Around::nothing()))
}

/// [`solve_arm`] among things to keep clear of. Where no neighbour is followed and the most comfortable pose would be in
/// something's way, the whole range is looked at again with what nearness costs.
pub fn solve_arm_among(
    body: &Body,
    sitting: &Sitting,
    side: Side,
    task: &ArmTask,
    from: Option<&Arm>,
    near: &mut Vicinity,
) -> Arm {
    let problem = Problem::new(body, sitting, side, task);
    if let Some(arm) = from {
        let start = [arm.swivel, arm.roll, arm.tilt];
        // An arm that leans on something stays on its side of it.
        if arm.touch.is_none() {
            let alone = problem.alone(start, 8, near);
            if alone.touch.is_none() {
                return alone;
            }
        }
        return problem.among(start, 8, near).1;
    }
    let alone = problem.seeds(&[TILT.0.neutral], |hold, trial, free| problem.cost(hold, trial, free));
    let alone = alone.into_iter().take(STARTS).map(|start| problem.alone(start, 30, near));
    let alone = alone.min_by(|a, b| a.discomfort.total_cmp(&b.discomfort));
    if let Some(arm) = alone.filter(|arm| arm.touch.is_none() && (arm.discomfort < POOR || near.is_empty())) {
        return arm;
    }
    let blocked = |arm: &Arm| arm.touch.is_some_and(|touch| touch.blocks());
    let mut arm = problem.anywhere(near);
    if blocked(&arm) || arm.discomfort >= POOR {
        arm = problem.everywhere(near);
    }
    if blocked(&arm) {
        arm = problem.everywhere(&mut near.clone().hard());
    }
    arm
}

/// An arm at these angles, the hand closed round a rod of radius `tube`.
pub(crate) fn of_angles(body: &Body, sitting: &Sitting, side: Side, tube: f64, angles: &ArmAngles) -> Arm {
    let task = ArmTask { grip: Vec3::zeros(), tangent: Vec3::z(), away: Vec3::x(), tube, kept_grip: None };
    let problem = Problem::new(body, sitting, side, &task);
    problem.arm(angles.array(), &problem.forward(&angles.array(), Vec3::zeros()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{posture::sit, project::parse};

    /// Central differences of the cost among things, where hand, forearm and upper arm press into the driver's own
    /// trunk and thighs, bolsters and rails.
    #[test]
    fn the_slope_among_things_is_that_of_the_cost() {
        const H: f64 = 1e-6;
        let mut project = parse(include_str!("../../assets/closed_car.ron")).unwrap().into_inner();
        (project.seat.back.bolster_depth_mm, project.seat.back.bolster_top_mm) = (180.0, 400.0);
        let project = crate::project::Checked::new(project).unwrap();
        let body = Body::of(&project.driver);
        let rig = Rig::place(&project);
        let rest = crate::posture::at_rest(&body, &rig, Side::Left);
        let around = Around::arms(&body, &rig, &rest.sitting, &rest.legs);
        let mut parts = std::collections::BTreeSet::new();
        for side in Side::BOTH {
            for (steer, free) in [
                (0.0, [0.9, -0.2, 0.3]),
                (1.3 * side.sign(), [-0.5, 0.5, 0.1]),
                (1.6 * side.sign(), [-0.3, 0.6, 0.2]),
                (1.6 * side.sign(), [0.2, -0.6, 0.2]),
                (1.6 * side.sign(), [0.2, -1.4, 0.2]),
                (2.2 * side.sign(), [-0.3, 0.3, 0.1]),
            ] {
                let task = ArmTask::on_rim(&rig, side, steer);
                let problem = Problem::new(&body, &rest.sitting, side, &task);
                let near = &mut Vicinity::of(&around);
                let solids = |free: &Free| {
                    let hold = problem.hold(free[1], free[2]);
                    let trial = problem.swing(&hold, free[0].sin_cos(), f64::atan2);
                    body.arm(&problem.placed(&hold, &trial), side)
                };
                parts.extend(near.pressing(&solids(&free)));
                let cost = |free: &Free| Vicinity::of(&around).cost_anywhere(&solids(free));
                let hold = problem.hold(free[1], free[2]);
                let at = |near| problem.slope(&hold, &free, &problem.drifts(&hold), near);
                let (with, without) = (at(Some(near)), at(None));
                assert!((with.cost - without.cost - cost(&free)).abs() < 1e-9 * (1.0 + cost(&free)));
                for i in 0..3 {
                    let (mut more, mut less) = (free, free);
                    more[i] += H;
                    less[i] -= H;
                    let rate = (cost(&more) - cost(&less)) / (2.0 * H);
                    let found = 2.0 * (with.gradient[i] - without.gradient[i]);
                    assert!((found - rate).abs() < 1e-3 * (1.0 + rate.abs()), "{side:?} {steer} {i}: {found} {rate}");
                }
            }
        }
        assert!(parts.len() >= 4, "several parts of both arms press: {parts:?}");
    }

    /// Central differences of the cost, with exact arc tangents: bent, drawn off the seat and out of reach.
    #[test]
    fn the_slope_is_that_of_the_cost() {
        const H: f64 = 1e-5;
        let project = parse(include_str!("../../assets/closed_car.ron")).unwrap();
        let body = Body::of(&project.driver);
        let sitting = sit(&body, &Rig::place(&project));
        let (mut forward, mut beyond) = (false, false);
        for side in Side::BOTH {
            for ahead in [0.3, 0.45, 0.53, 0.56, 0.58, 0.60, 0.62, 0.68, 0.8] {
                let grip = sitting.shoulders[side.index()] + Vec3::new(ahead, -0.04 * side.sign(), -0.12);
                let turn = Rot::from_euler_angles(0.2, 0.3, -0.1);
                let (tangent, away) = (turn * Vec3::z(), turn * Vec3::x());
                let task = ArmTask { grip, tangent, away, tube: 0.016, kept_grip: None };
                let problem = Problem::new(&body, &sitting, side, &task);
                let cost = |free: &Free| {
                    let hold = problem.hold(free[1], free[2]);
                    problem.cost(&hold, &problem.swing(&hold, free[0].sin_cos(), f64::atan2), free)
                };
                let free = [0.5, -0.2, 0.35];
                let hold = problem.hold(free[1], free[2]);
                forward |= hold.protraction > 0.0 && hold.protraction_rate.norm() > 0.1;
                beyond |= hold.beyond > 0.0;
                let slope = problem.slope(&hold, &free, &problem.drifts(&hold), None);
                assert!((slope.cost - cost(&free)).abs() < 1e-4 * (1.0 + slope.cost));
                for i in 0..3 {
                    let (mut more, mut less) = (free, free);
                    more[i] += H;
                    less[i] -= H;
                    let rate = (cost(&more) - cost(&less)) / (2.0 * H);
                    let off = (2.0 * slope.gradient[i] - rate).abs();
                    assert!(
                        off < 1e-4 * (1.0 + rate.abs()),
                        "{side:?} {ahead} {i}: {} {rate}",
                        2.0 * slope.gradient[i]
                    );
                }
            }
        }
        assert!(forward && beyond, "every case was met");
    }
}
