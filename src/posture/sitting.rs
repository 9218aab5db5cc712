//! Sitting by contact: pelvis on cushion and back, torso along the back, head over it.

use crate::{
    body::{Body, Range, Skeleton},
    geometry::{Pose, Rot, Vec3, from_axes, unit_or},
    rig::{Rig, SeatPart},
    units::{deg, mm},
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
    /// The back of the body in the seat's side plane from the buttock to the neck: (height along the back surface,
    /// gap to it), m.
    pub back_line: Vec<[f64; 2]>,
    /// Largest gap behind the lower back and its height along the back surface, m.
    pub lumbar_gap: [f64; 2],
    /// Height of the shoulder joints along the back surface, m.
    pub shoulder_height: f64,
    /// How much higher the pelvis sits because the hips are carried by the cushion's bolsters, m.
    pub on_bolsters: f64,
}

/// Mass for which the give of a seat's foam is stated, kg: the loading mass of the H-point machine, from memory.
const GIVE_MASS: f64 = 77.0;
/// How far the flesh of one hip gives sideways before it is carried by a bolster's edge; own estimate.
const HIP_SQUEEZE: f64 = mm(12.0);
/// Curvature of the lower back of a relaxed driver between sacrum and ribs: about 20° at a hip angle of 95°, opening
/// by about a third of the hip angle (after Keegan 1953; both from memory).
const LORDOSIS: f64 = deg(20.0);
/// How much less flesh lies behind the lumbar spine than behind sacrum and ribs: this much in everyone and half of
/// what the buttocks stand out beyond the waist; own estimate.
const LUMBAR_FLESH: (f64, f64) = (mm(8.0), 0.5);
/// The height of the rearmost point of the ribs as a share of the way from hip to neck; own estimate (about T7).
const RIB_APEX: f64 = 0.70;

/// Seats a body: the pelvis settles on cushion and back with the flesh that it has and the give of the foam, the
/// ribs lean on the back surface, and the head turns up towards level as far as the neck lets it.
///
/// Hips wider than the shell are carried by the edges of its bolsters and sit higher; the findings say so.
pub fn sit(body: &Body, rig: &Rig) -> Sitting {
    let (bones, seat) = (&body.skeleton, &rig.seat);
    let load = body.mass() / GIVE_MASS;
    let (cushion, back) = (&seat.seat.cushion, &seat.seat.back);
    let cushion_give = mm((cushion.give_mm * load).min(cushion.foam_mm));
    let back_give = mm((back.give_mm * load).min(back.foam_mm));

    // Pelvis: the one point that lies at the depth of flesh and clothes from both surfaces.
    let on_bolsters = hips_on_bolsters(body, seat);
    let off_surface = |depth: f64, give: f64| depth + body.worn.clothes - give;
    let over_cushion = off_surface(bones.seat_to_hip, cushion_give) + on_bolsters;
    let before_back = off_surface(bones.buttock_to_hip, back_give);
    let up_cushion = seat.X_WS.rotation * Vec3::z();
    let (off_back, up_back) = (seat.X_WK.rotation * Vec3::x(), seat.X_WK.rotation * Vec3::z());
    let origin = seat.X_WS.translation.vector;
    let height = (over_cushion - before_back * off_back.dot(&up_cushion)) / up_back.dot(&up_cushion).max(0.2);
    let h_point = origin + off_back * before_back + up_back * height;

    // Torso: the shoulder line lies at the depth of the chest from the back surface.
    let at_depth = |length: f64, depth: f64| {
        let lean = ((before_back - depth) / length).clamp(-0.5, 0.5);
        (length * (1.0 - lean * lean).sqrt(), depth)
    };
    let (shoulder_up, shoulder_off) = at_depth(bones.hip_to_shoulder, off_surface(bones.back_to_shoulder, back_give));
    let (neck_up, neck_off) = at_depth(bones.hip_to_neck, off_surface(bones.back_to_neck, back_give));
    let shoulder_mid = origin + off_back * shoulder_off + up_back * (height + shoulder_up);
    let neck_base = origin + off_back * neck_off + up_back * (height + neck_up);

    let mut sitting = assemble(bones, body.limits.neck_flexion, h_point, shoulder_mid, neck_base);
    sitting.shoulder_height = height + shoulder_up;
    sitting.on_bolsters = on_bolsters;
    // The thighs lie along the cushion.
    let hip_angle = deg(90.0) + sitting.recline - deg(seat.seat.cushion_angle_deg);
    (sitting.back_line, sitting.lumbar_gap) = back_line(body, seat, height, hip_angle);
    debug_assert!(sitting.eyes.iter().all(|x| x.is_finite()), "sitting is finite");
    sitting
}

/// How much higher the pelvis sits because its flesh rests on the edges of the cushion's bolsters, m.
fn hips_on_bolsters(body: &Body, seat: &SeatPart) -> f64 {
    let cushion = &seat.seat.cushion;
    let half = body.dimensions.m("hipbreadthsitting") / 2.0 + body.worn.clothes;
    let excess = half - HIP_SQUEEZE - mm(cushion.width_mm) / 2.0;
    if excess <= 0.0 || cushion.bolster_height_mm <= 0.0 {
        return 0.0;
    }
    // The side of the hip as a circle; its centre stands over the bolster's edge by what Pythagoras leaves.
    let radius = body.dimensions.m("thighclearance") / 2.0;
    let aside = (radius - excess).max(0.0);
    let perched = mm(cushion.bolster_height_mm) + (radius * radius - aside * aside).max(0.0).sqrt() - radius;
    // The flesh yields over a centimetre before the hips are carried whole.
    perched.max(0.0) * (excess / mm(10.0)).min(1.0)
}

/// Frames of pelvis, spine and head from three points.
fn assemble(bones: &Skeleton, neck_range: Range, h_point: Vec3, shoulder_mid: Vec3, neck_base: Vec3) -> Sitting {
    let up = unit_or(shoulder_mid - h_point, Vec3::z());
    let left = Vec3::y();
    let torso = from_axes(left.cross(&up), left, up);
    let recline = (-up.x).atan2(up.z);

    // The head stays near level: it leans back by a quarter of the torso's recline up to 10°, the eyes look down.
    let wanted = recline - (0.25 * recline).clamp(0.0, deg(10.0));
    let neck_flexion = neck_range.clamp(wanted);
    let head_lean = recline - neck_flexion;
    let neck_lean = recline - 0.55 * neck_flexion;
    let about_y = |lean: f64| Rot::from_axis_angle(&Vec3::y_axis(), -lean);
    let (neck_rot, head_rot) = (about_y(neck_lean), about_y(head_lean));
    let head_joint = neck_base + neck_rot * Vec3::new(0.0, 0.0, bones.neck);
    let eyes = head_joint + head_rot * Vec3::new(bones.eye_forward, 0.0, bones.eye_up);

    let frame = |at: Vec3, rotation: Rot| Pose::from_parts(at.into(), rotation);
    let beside = |middle: Vec3, half: f64| [middle + left * half, middle - left * half];
    Sitting {
        h_point,
        pelvis: frame(h_point, torso),
        abdomen: frame(h_point + up * bones.hip_to_lumbar, torso),
        thorax: frame(h_point + up * (bones.hip_to_lumbar + bones.lumbar), torso),
        neck: frame(neck_base, neck_rot),
        head: frame(head_joint, head_rot),
        hips: beside(h_point, bones.hip_half_breadth),
        shoulders: beside(shoulder_mid, bones.shoulder_half_breadth),
        eyes,
        recline,
        neck_flexion,
        back_line: Vec::new(),
        lumbar_gap: [0.0; 2],
        shoulder_height: 0.0,
        on_bolsters: 0.0,
    }
}

/// The back of the body over the back surface: touching at buttock and ribs, hollow between them, leaving towards
/// the neck. Returns the line and the largest gap of the hollow with its height.
fn back_line(body: &Body, seat: &SeatPart, hip_height: f64, hip_angle: f64) -> (Vec<[f64; 2]>, [f64; 2]) {
    let bones = &body.skeleton;
    let stand_out = body.dimensions.m("buttockdepth") - body.dimensions.m("waistdepth");
    let flesh = LUMBAR_FLESH.0 + LUMBAR_FLESH.1 * stand_out.max(0.0);
    let lordosis = LORDOSIS + 0.33 * (hip_angle - deg(95.0));
    let hollow = 0.5 * bones.lumbar * (lordosis / 4.0).tan().max(0.0) + flesh;
    let deepest = hip_height + bones.hip_to_lumbar + 0.5 * bones.lumbar;
    let ribs = hip_height + RIB_APEX * bones.hip_to_neck;
    let neck = hip_height + bones.hip_to_neck;
    let smooth = |t: f64| {
        let t = t.clamp(0.0, 1.0);
        t * t * (3.0 - 2.0 * t)
    };
    let skin = |height: f64| {
        if height < deepest {
            hollow * smooth((height - hip_height) / (deepest - hip_height))
        } else if height < ribs {
            hollow * smooth((ribs - height) / (ribs - deepest))
        } else {
            // Above the ribs the back rounds away towards the neck.
            mm(35.0) * ((height - ribs) / (neck - ribs)).powi(2)
        }
    };
    let mut largest = [0.0, deepest];
    let line = (0..=60_u32)
        .map(|step| {
            let height = hip_height + (neck - hip_height) * f64::from(step) / 60.0;
            let gap = skin(height) - seat.back_surface(height);
            if height < ribs && height <= seat.top() && gap > largest[0] {
                largest = [gap, height];
            }
            [height, gap]
        })
        .collect();
    (line, largest)
}

/// An upright trunk at the origin, for making the skin.
pub(super) fn upright(body: &Body) -> Sitting {
    let bones = &body.skeleton;
    let to_depth = |length: f64, depth: f64| Vec3::new(depth - bones.buttock_to_hip, 0.0, length);
    let shoulder_mid = to_depth(bones.hip_to_shoulder, bones.back_to_shoulder);
    let neck_base = to_depth(bones.hip_to_neck, bones.back_to_neck);
    assemble(bones, body.limits.neck_flexion, Vec3::zeros(), shoulder_mid, neck_base)
}
