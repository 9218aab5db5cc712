//! Sitting by contact: pelvis on cushion and back, torso along the back, head over it.

mod contact;
mod spine;

use super::comfort::{Comfort, table};
use contact::{Edges, Give, Outline, Weight, held};
use spine::{Back, C7, Held, LANDMARKS, T8, pushed};

pub use spine::Pad;

use crate::{
    body::{Body, Range, Skeleton},
    geometry::{Pose, Rot, Vec3, from_axes, unit_or},
    rig::Rig,
    units::deg,
};

/// Pelvis, spine and head of a seated person, W.
#[derive(Clone, Debug)]
pub struct Sitting {
    /// H-point: midpoint of the hip joint centres.
    pub h_point: Vec3,
    /// Pelvis frame B; z along the torso line.
    pub pelvis: Pose,
    /// Belly, origin at L5/S1.
    pub abdomen: Pose,
    /// Rib cage, origin at T12/L1; axes of the torso line.
    pub thorax: Pose,
    /// Neck, origin at C7/T1.
    pub neck: Pose,
    /// Head, origin at the joint between head and neck.
    pub head: Pose,
    /// Left and right hip joint centre.
    pub hips: [Vec3; 2],
    /// Left and right shoulder joint centre with the shoulders on the seat.
    pub shoulders: [Vec3; 2],
    /// Midpoint of the eyes.
    pub eyes: Vec3,
    /// Torso line from vertical, rad, leaning back positive.
    pub recline: f64,
    /// Neck and head forward of the torso line, rad.
    pub neck_flexion: f64,
    /// Middles of the discs L5/S1, L4/L5, L3/L4, L2/L3, L1/L2 and T12/L1, of the vertebra T8 and of the disc C7/T1.
    pub spine: [Vec3; LANDMARKS],
    /// Turn of the lumbar spine from L5/S1 to T12/L1, rad, hollow positive.
    pub lordosis: f64,
    /// The back of the body in the seat's side plane from the buttock to the neck: (height along the back surface,
    /// gap to it), m.
    pub back_line: Vec<[f64; 2]>,
    /// Largest gap behind the lower back and its height along the back surface, m.
    pub lumbar_gap: [f64; 2],
    /// Height of the shoulder joints along the back surface, m.
    pub shoulder_height: f64,
    /// The pad that would fill the hollow behind the lower back, were the back flat.
    pub wanted_pad: Pad,
    /// How far the seat's lumbar pad stands into the back of the body, m; 0 where it does not touch.
    pub on_pad: f64,
    /// How much higher the pelvis sits because the hips are carried by the cushion's bolsters, m.
    pub on_bolsters: f64,
    /// How far the hips are ahead of where the back would carry them, m: slouched, pushed by a pad, or on bolsters.
    pub hips_off: f64,
    /// How far ribs and shoulders are ahead of where the back would carry them, m: pushed by a pad or by wings.
    pub ribs_off: f64,
    /// What of it is the wings' doing, m.
    pub by_wings: f64,
    /// How far the foam of cushion and back gives, m.
    pub give: [f64; 2],
}

/// Steps to the balance at most; two or three are enough but for bodies and seats that contradict themselves.
const STEPS: usize = 24;

/// How far the upper spine curls forward over T8 as the head is held up: not until so much (rad), then by this share of
/// it, at most so far (rad). Set by the fall of the eyes from a torso line at 15° to one at 40°, 72 mm, where a stiff
/// spine gives 115 (SAE J941 before 2002, as transcribed); half of the thoracic range, about 40° (from memory).
const CURL: (f64, f64, f64) = (deg(5.0), 0.8, deg(20.0));

/// A line of the trunk from the middle of the hips.
#[derive(Clone, Copy)]
struct Line {
    /// How it leans back when the trunk is erect against a wall, rad.
    erect: f64,
    long: f64,
}

impl Line {
    /// To a point at this depth over the skin of the back and this height over the hips, erect against a wall.
    fn to(bones: &Skeleton, depth: f64, up: f64) -> Self {
        // Contradicting measurements leave a trunk that leans no further than by 20°.
        let toward = (bones.buttock_to_hip - depth).clamp(-0.36 * up, 0.36 * up);
        Self { erect: toward.atan2(up), long: toward.hypot(up) }
    }

    /// From hips at one distance off a surface to its end at another: how it leans to that surface, and how far along.
    fn from(self, hips_off: f64, off: f64) -> (f64, f64) {
        let lean = ((hips_off - off) / self.long).clamp(-0.5, 0.5).asin();
        (lean, self.long * lean.cos())
    }
}

/// The trunk in balance on the seat: lengths along the back surface and square to it.
#[derive(Clone, Copy, Default)]
struct Balance {
    /// H-point off the back's plane and up it.
    ahead: f64,
    height: f64,
    /// Shoulder joints over the hips.
    shoulders_up: f64,
    recline: f64,
    /// How far the skin lies off the unloaded surface where it is carried.
    sunk: f64,
    /// How far hips and ribs are off the place where they would be carried.
    hips_off: f64,
    ribs_off: f64,
    by_wings: f64,
    give: Give,
    back: Held,
    /// How far the pad stands into the back.
    pressed: f64,
}

/// Seats a body: the pelvis settles on cushion and back with the flesh that it has and the give of the foam, the
/// ribs lean on the back surface, and the head turns up towards level as far as the neck lets it.
///
/// Weight is split between cushion and back by the torso's recline, foam gives in proportion and lets the body
/// recline anew: the balance is found step by step. The pelvis is round: the further it leans back over
/// the cushion, the deeper its flesh under the hips. Hips wider than the shell are carried by the edges of its bolsters,
/// shoulders wider than the wings are pushed off the back, a pad thicker than the hollow behind the lower back moves
/// hips and ribs forward; the findings say so.
pub fn sit(body: &Body, rig: &Rig) -> Sitting {
    let (bones, seat) = (&body.skeleton, &rig.seat);
    let clothes = body.worn.clothes;
    let weight = Weight::of(body);
    let shape = Back::of(body);
    let outline = Outline::of(bones, shape.over_sacrum());
    let (alpha, beta) = (deg(seat.seat.cushion_deg()), deg(seat.seat.back_from_vertical_deg()));
    let (sin, cos) = (beta - alpha).sin_cos();
    let (tilt, slide) = held(body.pelvis, alpha);
    // The trunk as measured: erect against a wall its line leans back where the buttocks are deeper than the chest.
    let shoulders = Line::to(bones, bones.back_to_shoulder, bones.hip_to_shoulder);
    let neck = Line::to(bones, bones.back_to_neck, bones.hip_to_neck);

    let edges = Edges::of(body, seat);
    let on_bolsters = edges.under_hips();
    // The trunk on the seat as it gives under a torso of some recline.
    let settled = |recline: f64| {
        let give = weight.give(&seat.seat, recline);
        // Lean of the pelvis beyond that of one who sits erect, and its flesh towards both surfaces.
        let lean = recline - shoulders.erect + tilt;
        let over_cushion = outline.under(lean - alpha) + clothes - give.cushion + on_bolsters;
        let sunk = clothes - give.back;
        let flesh = outline.behind(lean - beta);
        let height_at = |off: f64| (over_cushion - (flesh + sunk + off) * sin) / cos.max(0.2);
        let settle = |height: f64, hips_off: f64, ribs_off: f64| {
            let ahead = flesh + sunk + hips_off;
            let (torso, shoulders_up) = shoulders.from(ahead, bones.back_to_shoulder + sunk + ribs_off);
            let leaning = beta + torso;
            let back = Held {
                hips: height,
                buttock: ahead - outline.round_behind(lean - beta) - clothes,
                sacrum: ahead - outline.at_sacrum(lean - beta) - clothes,
                ribs: ribs_off - give.back,
                lean: torso - shoulders.erect,
                tilt,
                // The thighs lie along the cushion.
                hip_angle: deg(90.0) + leaning - alpha,
            };
            Balance {
                ahead,
                height,
                shoulders_up,
                recline: leaning,
                sunk,
                hips_off,
                ribs_off,
                give,
                back,
                ..Balance::default()
            }
        };
        // Slid forward and carried by edges; then moved by the pad.
        let high = height_at(slide);
        let hips_off = slide + edges.behind_hips(high);
        let by_wings = edges.behind_shoulders(high + bones.hip_to_shoulder);
        let before = settle(height_at(hips_off), hips_off, by_wings);
        let ([hips, ribs], pressed) = pushed(&shape.shape(&before.back, 0.0), seat, give.back);
        let hips_off = hips_off + hips;
        Balance { by_wings, pressed, ..settle(height_at(hips_off), hips_off, by_wings + ribs) }
    };
    // In balance it reclines as it was taken to: by the secant.
    let off_balance = |recline: f64| {
        let balance = settled(recline);
        (balance, balance.recline - recline)
    };
    let mut before = beta + shoulders.erect;
    let (mut balance, mut was_off) = off_balance(before);
    let mut recline = balance.recline;
    for _ in 0..STEPS {
        let off;
        (balance, off) = off_balance(recline);
        if off.abs() < 1e-10 {
            break;
        }
        let slope = (off - was_off) / (recline - before);
        let step = if slope < -0.1 { -off / slope } else { off };
        (before, was_off) = (recline, off);
        recline += step.clamp(-0.3, 0.3);
    }

    let (off_back, up_back) = (seat.X_WK.rotation * Vec3::x(), seat.X_WK.rotation * Vec3::z());
    let origin = seat.X_WS.translation.vector;
    let at = |off: f64, up: f64| origin + off_back * off + up_back * up;
    let Balance { ahead, height, shoulders_up, sunk, ribs_off, pressed, .. } = balance;
    let neck_off = bones.back_to_neck + sunk + ribs_off;
    let neck_base = at(neck_off, height + neck.from(ahead, neck_off).1);
    let shoulder_mid = at(bones.back_to_shoulder + sunk + ribs_off, height + shoulders_up);
    let shape = shape.shape(&balance.back, pressed);
    let mut spine = shape.spine.map(|[up, off]| at(off, up));
    let upper = [spine[T8], neck_base];
    let mut sitting = assemble(bones, body.limits.neck_flexion, at(ahead, height), shoulder_mid, upper, tilt);
    spine[C7] = sitting.neck.translation.vector;
    sitting.spine = spine;
    sitting.shoulder_height = height + shoulders_up;
    sitting.on_bolsters = on_bolsters;
    sitting.hips_off = balance.hips_off;
    sitting.ribs_off = ribs_off;
    sitting.by_wings = balance.by_wings;
    sitting.give = [balance.give.cushion, balance.give.back];
    sitting.lordosis = shape.lordosis;
    sitting.back_line = shape.line(seat);
    sitting.lumbar_gap = shape.largest_gap(seat);
    sitting.wanted_pad = shape.wanted_pad(seat);
    sitting.on_pad = pressed;
    debug_assert!(sitting.eyes.iter().all(|x| x.is_finite()), "sitting is finite");
    sitting
}

/// Frames of pelvis, spine and head from three points.
///
/// `tilt` is how far the pelvis is rolled back against the torso line; T8 and the neck's root lie on a spine that is not
/// yet curled forward.
fn assemble(
    bones: &Skeleton,
    neck_range: Range,
    h_point: Vec3,
    shoulder_mid: Vec3,
    [t8, neck_base]: [Vec3; 2],
    tilt: f64,
) -> Sitting {
    let up = unit_or(shoulder_mid - h_point, Vec3::z());
    let left = Vec3::y();
    let torso = from_axes(left.cross(&up), left, up);
    let recline = (-up.x).atan2(up.z);

    let neck_flexion = neck_range.clamp(neck_to_look_ahead(recline));
    let head_lean = recline - neck_flexion;
    let about_y = |lean: f64| Rot::from_axis_angle(&Vec3::y_axis(), -lean);
    // The upper spine curls forward over T8, then the neck.
    let curl = (CURL.1 * (neck_flexion - CURL.0)).clamp(0.0, CURL.2);
    let neck_base = t8 + about_y(-curl) * (neck_base - t8);
    let neck_lean = recline - curl - 0.55 * (neck_flexion - curl);
    let (neck_rot, head_rot) = (about_y(neck_lean), about_y(head_lean));
    let head_joint = neck_base + neck_rot * Vec3::new(0.0, 0.0, bones.neck);
    let eyes = head_joint + head_rot * Vec3::new(bones.eye_forward, 0.0, bones.eye_up);

    let frame = |at: Vec3, rotation: Rot| Pose::from_parts(at.into(), rotation);
    let (pelvis, belly) = (about_y(tilt) * torso, about_y(0.5 * tilt) * torso);
    let beside = |middle: Vec3, half: f64| [middle + left * half, middle - left * half];
    Sitting {
        h_point,
        pelvis: frame(h_point, pelvis),
        abdomen: frame(h_point + pelvis * Vec3::new(0.0, 0.0, bones.hip_to_lumbar), belly),
        thorax: frame(h_point + up * (bones.hip_to_lumbar + bones.lumbar), torso),
        neck: frame(neck_base, neck_rot),
        head: frame(head_joint, head_rot),
        hips: beside(h_point, bones.hip_half_breadth),
        shoulders: beside(shoulder_mid, bones.shoulder_half_breadth),
        eyes,
        recline,
        neck_flexion,
        back_line: Vec::new(),
        spine: [h_point; LANDMARKS],
        lordosis: 0.0,
        lumbar_gap: [0.0; 2],
        shoulder_height: 0.0,
        wanted_pad: Pad::default(),
        on_pad: 0.0,
        on_bolsters: 0.0,
        hips_off: 0.0,
        ribs_off: 0.0,
        by_wings: 0.0,
        give: [0.0; 2],
    }
}

/// The flexion of the neck at which a driver whose torso leans back by `recline` looks ahead, level, with the least
/// discomfort, rad: neck and eyes share what the torso leans back.
fn neck_to_look_ahead(recline: f64) -> f64 {
    let [neck, eyes] = table().head;
    let weight = |comfort: Comfort| 1.0 / (comfort.spread * comfort.spread);
    // The head leans back by the rest, and as far the eyes turn down.
    let (n, e) = (weight(neck), weight(eyes));
    (n * neck.neutral + e * (recline - eyes.neutral)) / (n + e)
}

/// An upright trunk at the origin, for making the skin.
pub(super) fn upright(body: &Body) -> Sitting {
    let bones = &body.skeleton;
    let to_depth = |length: f64, depth: f64| Vec3::new(depth - bones.buttock_to_hip, 0.0, length);
    let shoulder_mid = to_depth(bones.hip_to_shoulder, bones.back_to_shoulder);
    let neck_base = to_depth(bones.hip_to_neck, bones.back_to_neck);
    assemble(bones, body.limits.neck_flexion, Vec3::zeros(), shoulder_mid, [shoulder_mid, neck_base], 0.0)
}
