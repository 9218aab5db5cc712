//! One arm: shoulder, elbow and wrist to a hand that holds the rim.
//!
//! With the hand's place given, shoulder, elbow and wrist follow in closed form for every swivel of the elbow about
//! the line from shoulder to wrist. Free are only that swivel, the roll of the hand about the rod and the tilt of the
//! rod across the palm; they are found by a few damped Gauss–Newton steps on discomfort with soft edges inside the
//! joint limits.

use nalgebra::Matrix3;

use super::{
    Sitting,
    comfort::{Comfort, edge, table},
    descend::{descend, squared},
    nearest::nearest,
};
use crate::{
    body::{Body, JointLimits, Range, Skeleton},
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

    /// Whether the hand holds its target with every joint inside its range.
    pub fn holds(&self) -> bool {
        self.shortfall < HELD
    }
}

/// A grip nearer than this to its target holds it, m.
const HELD: f64 = mm(0.1);
/// A rod lies across the palm with its thumb end towards the fingertips: the neutral tilt, at which discomfort is 1
/// from there, and the range that a closed hand allows; from memory (pistol grips stand 12 to 20° off square).
const TILT: (Comfort, Range) =
    (Comfort { neutral: deg(18.0), spread: deg(10.0) }, Range { low: deg(-5.0), high: deg(40.0) });
/// Where the collar bones begin, as a share of the way from the middle to the shoulder joint.
const COLLAR_ROOT: f64 = 0.12;
/// Sine and cosine of 22° and 3°: so far from its stop the elbow stands where the shoulder begins to leave the seat, and
/// where it goes all the rest of the way; own choice.
const EASED: [(f64, f64); 2] = [(0.374_606_593, 0.927_183_855), (0.052_335_956, 0.998_629_535)];
/// Half the length of rod that a hand closes on: half a hand's breadth, m.
const HALF_GRIP: f64 = mm(42.0);
/// The hand's roll about the rod at which discomfort is 1; own choice.
const ROLL_SPREAD: f64 = deg(30.0);
/// Leaving the seat with a shoulder by this much counts 1; own choice: contact is kept while an arm can reach.
const PROTRACTION_SPREAD: f64 = mm(12.0);
/// A wrist this much out of reach counts 1 while the spare freedoms are searched.
const REACH_SPREAD: f64 = mm(4.0);
/// Where the search begins when there is no neighbour to follow: swivel and roll, rad.
const SEEDS: ([f64; 6], [f64; 5]) = (
    [deg(-20.0), deg(0.0), deg(20.0), deg(40.0), deg(60.0), deg(85.0)],
    [deg(-50.0), deg(-25.0), deg(0.0), deg(25.0), deg(50.0)],
);

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

/// What stays the same while the spare freedoms are searched.
struct Problem<'a> {
    bones: &'a Skeleton,
    ranges: [Range; 7],
    side: Side,
    /// Axes of the thorax, W.
    R_WT: Matrix3<f64>,
    /// Shoulder on the seat, W.
    seated: Vec3,
    task: ArmTask,
    /// Palm direction before the roll, W.
    palm: Vec3,
    /// Least and greatest distance from shoulder to wrist.
    reach: [f64; 2],
    /// The distances between which the shoulder begins to leave the seat and to go all the rest of the way.
    eased: [f64; 2],
    p_HG: Vec3,
    /// Where a slack elbow hangs, W.
    down: Vec3,
    comfort: &'static [Comfort; 7],
}

/// The hand in place, and the circle that is left to the elbow.
struct Hold {
    R_WH: Matrix3<f64>,
    wrist: Vec3,
    shoulder: Vec3,
    /// Shoulder off the seat by, m.
    protraction: f64,
    /// Wrist out of reach by, m.
    beyond: f64,
    /// From shoulder to wrist, unit.
    axis: Vec3,
    /// From the shoulder to the middle of the circle and from there to the wrist, m.
    along: [f64; 2],
    radius: f64,
    /// Directions from the middle of the circle: down, and outward.
    radials: [Vec3; 2],
    elbow_flexion: f64,
}

/// The arm for one swivel.
struct Trial {
    angles: [f64; 7],
    R_WA: Matrix3<f64>,
    R_WF: Matrix3<f64>,
    elbow: Vec3,
}

/// Swivel, roll and tilt.
type Free = [f64; 3];
const RESIDUALS: usize = 19;
type Residuals = [f64; RESIDUALS];

impl<'a> Problem<'a> {
    fn new(body: &'a Body, sitting: &Sitting, side: Side, task: &ArmTask) -> Self {
        let bones = &body.skeleton;
        let ranges = ArmAngles::ranges(&body.limits);
        let R_WT = sitting.thorax.rotation.to_rotation_matrix().into_inner();
        // Palm towards the middle of the wheel, fingers pointing away: a right-handed triple with the thumb.
        let palm = task.away.cross(&task.tangent) * side.sign();
        let between = |cosine: f64| {
            let (u, f) = (bones.upper_arm, bones.forearm);
            (u * u + f * f + 2.0 * u * f * cosine).sqrt()
        };
        // Cosines of sums from those of the stop and of two fixed angles.
        let (sin, cos) = ranges[3].low.sin_cos();
        let past = |(sine, cosine): (f64, f64)| between(cos * cosine - sin * sine);
        Self {
            bones,
            side,
            seated: sitting.shoulders[side.index()],
            task: *task,
            palm,
            reach: [between(ranges[3].high.cos()), between(cos)],
            eased: [past(EASED[0]), past(EASED[1])],
            p_HG: task.p_HG(bones, side),
            down: R_WT * Vec3::new(-0.3, 0.0, -1.0),
            comfort: &table().arm,
            R_WT,
            ranges,
        }
    }

    /// Rotation of the hand for a roll about the rod and a tilt of the rod in it.
    fn hand(&self, roll: f64, tilt: f64) -> Matrix3<f64> {
        let s = self.side.sign();
        let (sin, cos) = roll.sin_cos();
        let fingers = self.task.away * cos + self.palm * sin;
        let palm = self.palm * cos - self.task.away * sin;
        // Before the tilt of the rod in the hand: thumb along the rod.
        let (x, y, z) = (self.task.tangent, palm * -s, -fingers);
        let (sin, cos) = tilt.sin_cos();
        Matrix3::from_columns(&[x * cos + z * sin, y, z * cos - x * sin])
    }

    /// All that the hand's place settles before the elbow's swivel is chosen.
    fn hold(&self, roll: f64, tilt: f64) -> Hold {
        let R_WH = self.hand(roll, tilt);
        let wrist = self.task.grip - R_WH * self.p_HG;

        // Shoulder: on the seat, or forward just as far as the wrist asks for.
        let forward: Vec3 = self.R_WT.column(0).into();
        let to_wrist = wrist - self.seated;
        let mut protraction = 0.0;
        let seated_span = to_wrist.norm();
        if seated_span > self.eased[0] {
            // The nearer the elbow is to straight, the more of the way the shoulder takes over: without a kink, so
            // that no joint jumps as an arm straightens.
            let room = self.eased[1] - self.eased[0];
            let span = self.eased[1] - room * (-(seated_span - self.eased[0]) / room).exp();
            let along = to_wrist.dot(&forward);
            let across = seated_span * seated_span - along * along;
            let wanted = along - (span * span - across).max(0.0).sqrt();
            protraction = wanted.clamp(0.0, self.bones.protraction);
        }
        let shoulder = self.seated + forward * protraction;
        let span = wrist - shoulder;
        let distance = span.norm();
        let axis = unit_or(span, forward);

        // The elbow's circle about the line from shoulder to wrist.
        let (u, f) = (self.bones.upper_arm, self.bones.forearm);
        let d = distance.clamp((u - f).abs() + 1e-6, self.reach[1]);
        let along = (d * d + u * u - f * f) / (2.0 * d);
        let r0 = unit_or(self.down - axis * axis.dot(&self.down), -Vec3::z());
        Hold {
            R_WH,
            wrist,
            shoulder,
            protraction,
            beyond: (distance - self.reach[1]).max(0.0),
            axis,
            along: [along, d - along],
            radius: (u * u - along * along).max(0.0).sqrt(),
            radials: [r0, axis.cross(&r0) * self.side.sign()],
            elbow_flexion: ((d * d - u * u - f * f) / (2.0 * u * f)).clamp(-1.0, 1.0).acos(),
        }
    }

    /// The arm for one swivel of the elbow, its angles by an exact or a quick arc tangent.
    fn swing(&self, hold: &Hold, swivel: f64, atan2: impl Fn(f64, f64) -> f64) -> Trial {
        let s = self.side.sign();
        let (u, f) = (self.bones.upper_arm, self.bones.forearm);
        let (sin, cos) = swivel.sin_cos();
        let radial = hold.radials[0] * cos + hold.radials[1] * sin;
        // Frames: the elbow's axis is common to upper arm and forearm.
        let hinge = hold.axis.cross(&radial);
        let upper_z = (hold.axis * hold.along[0] + radial * hold.radius) / -u;
        let fore_z = (hold.axis * hold.along[1] - radial * hold.radius) / -f;
        let R_WA = Matrix3::from_columns(&[hinge.cross(&upper_z), hinge, upper_z]);
        let R_WF = Matrix3::from_columns(&[hinge.cross(&fore_z), hinge, fore_z]);
        let M = self.R_WT.transpose() * R_WA;
        let N = R_WF.transpose() * hold.R_WH;
        let asin = |sine: f64| atan2(sine, (1.0 - sine * sine).max(0.0).sqrt());
        let angles = [
            -atan2(M[(0, 2)], M[(2, 2)]),
            s * asin(-M[(1, 2)]),
            -s * atan2(M[(1, 0)], M[(1, 1)]),
            hold.elbow_flexion,
            -s * atan2(-N[(0, 1)], N[(1, 1)]),
            -s * asin(N[(2, 1)]),
            -atan2(-N[(2, 0)], N[(2, 2)]),
        ];
        Trial { angles, R_WA, R_WF, elbow: hold.shoulder - upper_z * u }
    }

    fn residuals(&self, hold: &Hold, free: &Free) -> Residuals {
        let trial = self.swing(hold, free[0], quick_atan2);
        let mut out = [0.0; RESIDUALS];
        for i in 0..7 {
            out[i] = self.comfort[i].residual(trial.angles[i]);
            out[7 + i] = edge(self.ranges[i], trial.angles[i]);
        }
        out[14] = free[1] / ROLL_SPREAD;
        out[15] = hold.protraction / PROTRACTION_SPREAD;
        out[16] = hold.beyond / REACH_SPREAD;
        out[17] = TILT.0.residual(free[2]);
        out[18] = edge(TILT.1, free[2]);
        out
    }

    /// Spare freedoms of least discomfort, followed downhill from `free`.
    fn settle(&self, free: Free, steps: usize) -> (Hold, Free, f64) {
        if let Some([roll, tilt]) = self.task.kept_grip {
            let hold = self.hold(roll, tilt);
            let residuals = |free: &[f64; 1]| self.residuals(&hold, &[free[0], roll, tilt]);
            let ([swivel], cost) = descend([free[0]], steps, residuals);
            (hold, [swivel, roll, tilt], cost)
        } else {
            let (free, cost) = descend(free, steps, |free| self.residuals(&self.hold(free[1], free[2]), free));
            (self.hold(free[1], free[2]), free, cost)
        }
    }

    /// Hand and grip by forward kinematics.
    fn forward(&self, angles: &[f64; 7], shoulder: Vec3) -> [(Vec3, Matrix3<f64>); 3] {
        forward(self.bones, self.side, &self.R_WT, shoulder, angles)
    }

    /// The two ends of the closed hand's grip, W.
    fn grip_ends(&self, wrist: Vec3, R_WH: Matrix3<f64>, tilt: f64) -> [Vec3; 2] {
        let (sin, cos) = tilt.sin_cos();
        let rod = Vec3::new(cos, 0.0, -sin) * HALF_GRIP;
        [wrist + R_WH * (self.p_HG - rod), wrist + R_WH * (self.p_HG + rod)]
    }

    /// Where those ends have to be.
    fn task_ends(&self) -> [Vec3; 2] {
        let rod = self.task.tangent * HALF_GRIP;
        [self.task.grip - rod, self.task.grip + rod]
    }

    fn finish(&self, hold: &Hold, free: Free, cost: f64) -> Arm {
        let trial = self.swing(hold, free[0], f64::atan2);
        let kept =
            hold.beyond < 1e-9 && self.ranges.iter().zip(trial.angles).all(|(range, angle)| range.excess(angle) < 1e-9);
        let (angles, joints) = if kept {
            (trial.angles, [(hold.shoulder, trial.R_WA), (trial.elbow, trial.R_WF), (hold.wrist, hold.R_WH)])
        } else {
            let ends = |angles: &[f64; 7]| {
                let [_, _, (wrist, R_WH)] = self.forward(angles, hold.shoulder);
                self.grip_ends(wrist, R_WH, free[2])
            };
            let angles = nearest(trial.angles, &self.ranges, self.task_ends(), ends);
            (angles, self.forward(&angles, hold.shoulder))
        };
        let [(shoulder, R_WA), (elbow, R_WF), (wrist, R_WH)] = joints;
        let shortfall = if kept {
            0.0
        } else {
            let (ends, wanted) = (self.grip_ends(wrist, R_WH, free[2]), self.task_ends());
            (ends[0] - wanted[0]).norm().max((ends[1] - wanted[1]).norm())
        };
        let arm = Arm {
            upper_arm: pose(shoulder, untwisted(&self.R_WT, &R_WA)),
            forearm: pose(elbow, R_WF),
            hand: pose(wrist, R_WH),
            angles: ArmAngles::from_array(angles),
            grip: wrist + R_WH * self.p_HG,
            shortfall,
            protraction: hold.protraction,
            swivel: free[0],
            roll: free[1],
            tilt: free[2],
            discomfort: cost,
        };
        debug_assert!(arm.grip.iter().chain(&angles).all(|x| x.is_finite()), "an arm is finite");
        arm
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

/// Solves an arm. `from` is a neighbouring solution to follow without a jump; without one the whole range of the
/// spare freedoms is looked at. Out of reach, the answer is the nearest pose inside the joint limits and its
/// shortfall.
pub fn solve_arm(body: &Body, sitting: &Sitting, side: Side, task: &ArmTask, from: Option<&Arm>) -> Arm {
    let problem = Problem::new(body, sitting, side, task);
    let (hold, free, cost) = if let Some(arm) = from {
        problem.settle([arm.swivel, arm.roll, arm.tilt], 8)
    } else {
        let mut best = ([0.0; 3], f64::INFINITY);
        let kept = task.kept_grip.map(|[roll, tilt]| ([roll], tilt));
        let (rolls, tilt) = kept.as_ref().map_or((&SEEDS.1[..], TILT.0.neutral), |(roll, tilt)| (&roll[..], *tilt));
        for swivel in SEEDS.0 {
            for &roll in rolls {
                let free = [swivel, roll, tilt];
                let cost = squared(&problem.residuals(&problem.hold(roll, tilt), &free));
                if cost < best.1 {
                    best = (free, cost);
                }
            }
        }
        problem.settle(best.0, 30)
    };
    problem.finish(&hold, free, cost)
}

/// Arms as on a wheel, for making the skin: upper arms a little forward and out, elbows well bent.
pub(super) fn for_skin(body: &Body, sitting: &Sitting, side: Side, tube: f64) -> Arm {
    let task = ArmTask { grip: Vec3::zeros(), tangent: Vec3::z(), away: Vec3::x(), tube, kept_grip: None };
    let problem = Problem::new(body, sitting, side, &task);
    let shoulder = problem.seated;
    let angles = [35.0, 32.0, 5.0, 65.0, 0.0, 0.0, 0.0].map(deg);
    let [_, (elbow, R_WF), (wrist, R_WH)] = problem.forward(&angles, shoulder);
    let grip = wrist + R_WH * problem.p_HG;
    let [(_, R_WA), ..] = problem.forward(&angles, shoulder);
    Arm {
        upper_arm: pose(shoulder, untwisted(&problem.R_WT, &R_WA)),
        forearm: pose(elbow, R_WF),
        hand: pose(wrist, R_WH),
        angles: ArmAngles::from_array(angles),
        grip,
        shortfall: 0.0,
        protraction: 0.0,
        swivel: 0.0,
        roll: 0.0,
        tilt: TILT.0.neutral,
        discomfort: 0.0,
    }
}

/// Rotation about x.
pub(super) fn about_x(angle: f64) -> Matrix3<f64> {
    let (s, c) = angle.sin_cos();
    Matrix3::new(1.0, 0.0, 0.0, 0.0, c, -s, 0.0, s, c)
}

/// Rotation about y.
pub(super) fn about_y(angle: f64) -> Matrix3<f64> {
    let (s, c) = angle.sin_cos();
    Matrix3::new(c, 0.0, s, 0.0, 1.0, 0.0, -s, 0.0, c)
}

/// Rotation about z.
pub(super) fn about_z(angle: f64) -> Matrix3<f64> {
    let (s, c) = angle.sin_cos();
    Matrix3::new(c, -s, 0.0, s, c, 0.0, 0.0, 0.0, 1.0)
}

/// A pose from a point and a rotation matrix.
pub(super) fn pose(at: Vec3, rotation: Matrix3<f64>) -> Pose {
    let rotation = nalgebra::Rotation3::from_matrix_unchecked(rotation);
    Pose::from_parts(at.into(), Rot::from_rotation_matrix(&rotation))
}

/// The limb's frame without its turn about its own axis: the parent's frame swung by the shortest way that brings its
/// z to the limb's; the limb's own where it points the opposite way.
pub(super) fn untwisted(parent: &Matrix3<f64>, limb: &Matrix3<f64>) -> Matrix3<f64> {
    let (from, to): (Vec3, Vec3) = (parent.column(2).into(), limb.column(2).into());
    let (axis, cos) = (from.cross(&to), from.dot(&to));
    if cos < -0.999_999 {
        return *limb;
    }
    // Rodrigues' formula without trigonometry.
    let cross = axis.cross_matrix();
    (Matrix3::identity() + cross + cross * cross / (1.0 + cos)) * parent
}
