//! Arms and legs: exact where they can be, nearest where they cannot, mirrored, and without jumps.

use heelpoint::{
    body::{Body, JointLimits, Range},
    geometry::{Pose, Rot, Side, Vec3, mirrored},
    posture::{
        ArmAngles, ArmTask, FootTask, LegAngles, Posture, Sitting, at_rest, forward_arm, forward_leg, heel_and_toe,
        sit, solve_arm, solve_leg,
    },
    project::PedalKind,
    rig::Rig,
    units::{deg, mm, to_deg},
};
use proptest::prelude::*;

struct Scene {
    body: Body,
    rig: Rig,
    sitting: Sitting,
}

fn scene(name: &str) -> Scene {
    let project = super::demo(name);
    let body = Body::of(&project.driver);
    let rig = Rig::place(&project);
    let sitting = sit(&body, &rig);
    Scene { body, rig, sitting }
}

/// How far angles lie outside their ranges, rad.
fn excess(ranges: [Range; 7], angles: [f64; 7]) -> f64 {
    ranges.iter().zip(angles).map(|(range, angle)| range.excess(angle)).fold(0.0, f64::max)
}

fn arm_excess(limits: &JointLimits, angles: &ArmAngles) -> f64 {
    excess(ArmAngles::ranges(limits), angles.array())
}

fn leg_excess(limits: &JointLimits, angles: &LegAngles) -> f64 {
    excess(LegAngles::ranges(limits), angles.array())
}

/// A rod near where a wheel can be, in the order: forward, left, up of the shoulder, and three turns.
fn rod(scene: &Scene, side: Side, place: [f64; 3], turns: [f64; 3]) -> ArmTask {
    let shoulder = scene.sitting.shoulders[side.index()];
    let turn = Rot::from_euler_angles(turns[0] * side.sign(), turns[1], turns[2] * side.sign());
    ArmTask {
        grip: shoulder + Vec3::new(place[0], place[1] * side.sign(), place[2]),
        tangent: turn * Vec3::z(),
        away: turn * Vec3::x(),
        tube: mm(16.0),
        kept_grip: None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Wherever the hand is said to hold the rod, forward kinematics of the angles puts it there within 0.1 mm; joint
    /// limits are kept in any case, and what is missing is said.
    #[test]
    fn a_hand_is_where_its_angles_put_it(
        place in [0.15..0.75_f64, -0.3..0.4, -0.45..0.35],
        turns in [-0.9..0.9_f64, -0.6..0.6, -0.6..0.6],
        right in any::<bool>(),
    ) {
        let scene = scene("closed_car");
        let side = if right { Side::Right } else { Side::Left };
        let task = rod(&scene, side, place, turns);
        let arm = solve_arm(&scene.body, &scene.sitting, side, &task, None);
        prop_assert!(arm_excess(&scene.body.limits, &arm.angles) < 1e-9);
        let axes = scene.sitting.thorax.rotation.to_rotation_matrix().into_inner();
        let [_, (elbow, _), (wrist, hand)] =
            forward_arm(&scene.body.skeleton, side, &axes, arm.shoulder(), &arm.angles.array());
        prop_assert!((elbow - arm.elbow()).norm() < 1e-9 && (wrist - arm.wrist()).norm() < 1e-9);
        let bones = &scene.body.skeleton;
        let in_hand = Vec3::new(0.0, -side.sign() * (bones.palm + task.tube), -bones.wrist_to_grip);
        let miss = (wrist + hand * in_hand - task.grip).norm();
        prop_assert!((arm.grip - (wrist + hand * in_hand)).norm() < 1e-9);
        if arm.holds() {
            prop_assert!(miss < mm(0.1), "said to hold, {} mm off", miss * 1e3);
        } else {
            prop_assert!(arm.shortfall >= miss - 1e-9);
        }
        // No bone is stretched.
        prop_assert!(((arm.elbow() - arm.shoulder()).norm() - bones.upper_arm).abs() < 1e-9);
        prop_assert!(((arm.wrist() - arm.elbow()).norm() - bones.forearm).abs() < 1e-9);
    }

    #[test]
    fn a_mirrored_rod_gives_the_mirrored_arm(
        place in [0.2..0.65_f64, -0.2..0.3, -0.35..0.3],
        turns in [-0.6..0.6_f64, -0.4..0.4, -0.4..0.4],
    ) {
        let scene = scene("closed_car");
        let left = solve_arm(&scene.body, &scene.sitting, Side::Left, &rod(&scene, Side::Left, place, turns), None);
        let right = solve_arm(&scene.body, &scene.sitting, Side::Right, &rod(&scene, Side::Right, place, turns), None);
        prop_assert!((mirrored(left.elbow()) - right.elbow()).norm() < 1e-6);
        prop_assert!((left.shortfall - right.shortfall).abs() < 1e-6);
        for (a, b) in left.angles.array().into_iter().zip(right.angles.array()) {
            prop_assert!((a - b).abs() < 1e-5);
        }
    }

    /// A pedal set put anywhere about the feet: limits kept, links unstretched, the ball where it is said to be.
    #[test]
    fn a_foot_is_where_its_angles_put_it(
        forward in 0.7..1.5_f64, up in -0.1..0.5_f64, aside in -0.3..0.3_f64, travel in 0.0..0.05_f64, right in any::<bool>(),
    ) {
        let mut scene = scene("closed_car");
        scene.rig.pedals.X_WP = Pose::translation(forward, aside, up);
        let side = if right { Side::Right } else { Side::Left };
        let kind = if right { PedalKind::Throttle } else { PedalKind::Brake };
        let task = FootTask::on_pedal(&scene.rig, kind, travel).unwrap();
        let leg = solve_leg(&scene.body, &scene.sitting, side, &task, None);
        prop_assert!(leg_excess(&scene.body.limits, &leg.angles) < 1e-9);
        let axes = scene.sitting.pelvis.rotation.to_rotation_matrix().into_inner();
        let [_, (knee, _), (ankle, foot)] =
            forward_leg(&scene.body.skeleton, side, &axes, leg.hip(), &leg.angles.array());
        let bones = &scene.body.skeleton;
        prop_assert!((knee - leg.knee()).norm() < 1e-9 && (ankle - leg.ankle()).norm() < 1e-9);
        prop_assert!(((leg.knee() - leg.hip()).norm() - bones.thigh).abs() < 1e-9);
        let ball = ankle + foot * Vec3::new(bones.heel_to_ball - bones.heel_to_ankle, 0.0, -bones.ankle_height);
        prop_assert!((ball - leg.ball).norm() < 1e-9);
        // Where the foot is said to be on the pedal its ball lies in the plane of the face, within the face.
        if leg.shortfall < mm(0.1) {
            let pedal = scene.rig.pedals.get(kind).unwrap();
            let seen = pedal.face_pose(&scene.rig.pedals, travel).inverse_transform_point(&leg.ball.into());
            prop_assert!(seen.x.abs() < mm(0.1), "{} mm off the face", seen.x * 1e3);
            prop_assert!(seen.z.abs() <= pedal.size[1] / 2.0 + 1e-9);
        }
    }

    #[test]
    fn a_mirrored_pedal_gives_the_mirrored_leg(
        forward in 0.9..1.3_f64, up in 0.0..0.35_f64, aside in -0.05..0.25_f64,
    ) {
        let mut scene = scene("closed_car");
        scene.rig.pedals.X_WP = Pose::translation(forward, 0.0, up);
        let task = |sign: f64| FootTask { sideways: sign * aside, ..FootTask::on_pedal(&scene.rig, PedalKind::Brake, 0.0).unwrap() };
        let left = solve_leg(&scene.body, &scene.sitting, Side::Left, &task(1.0), None);
        let right = solve_leg(&scene.body, &scene.sitting, Side::Right, &task(-1.0), None);
        prop_assert!((mirrored(left.knee()) - right.knee()).norm() < 1e-6);
        for (a, b) in left.angles.array().into_iter().zip(right.angles.array()) {
            prop_assert!((a - b).abs() < 1e-5);
        }
    }
}

/// Trigonometry by hand: thigh 432, shank 417, hip to ankle 750 gives cos K = (432² + 417² − 750²)/(2·432·417), K 124.10°.
#[test]
fn a_hip_to_ankle_of_750_gives_a_knee_of_124_10_degrees() {
    let leg = straight_leg(0.750);
    assert!(
        (180.0 - to_deg(leg.angles.knee_flexion) - 124.10).abs() < 0.05,
        "{}",
        180.0 - to_deg(leg.angles.knee_flexion)
    );
    assert!(leg.shortfall < 1e-9);
}

/// 432 + 417 = 849: an ankle asked for at 850 cannot be had. With the knee at its stop, 2° short of straight, the leg
/// spans √(432² + 417² + 2·432·417·cos 2°) = 848.87, and no heel lift helps a foot asked for by its ankle: the pose is
/// the nearest one, said to be short, and finite.
#[test]
fn an_ankle_out_of_reach_is_answered_by_the_nearest_pose_and_the_shortfall() {
    for beyond in [0.850, 0.9, 1.2] {
        let leg = straight_leg(beyond);
        assert!(leg.angles.array().iter().all(|angle| angle.is_finite()));
        let reached = (leg.ankle() - leg.hip()).norm();
        assert!(reached < 0.849, "{reached}");
        if beyond > 1.0 {
            // Foot stretched down along the leg reaches further than the ankle; even so it is short by the rest.
            assert!(leg.shortfall > 0.05 && leg.shortfall < beyond - reached, "{}", leg.shortfall);
        }
    }
}

/// A leg whose ankle is asked for straight ahead of the hip at a distance, the sole square to the line.
fn straight_leg(distance: f64) -> heelpoint::posture::Leg {
    let mut scene = scene("closed_car");
    let bones = &mut scene.body.skeleton;
    (bones.thigh, bones.shank) = (0.432, 0.417);
    let bones = scene.body.skeleton;
    // The plate stands so that the planted foot's ankle comes out at the asked-for place: level sole, heel on it.
    let hip = scene.sitting.hips[0];
    let ankle = hip + Vec3::new(distance, 0.0, 0.0);
    let heel = ankle - Vec3::new(bones.heel_to_ankle, 0.0, bones.ankle_height);
    let mut task = FootTask::on_pedal(&scene.rig, PedalKind::Brake, 0.0).unwrap();
    task.X_WP = Pose::translation(heel.x, heel.y, heel.z);
    (task.sideways, task.heel_rest) = (0.0, 0.0);
    task.released = heelpoint::rig::Face { centre: [bones.heel_to_ball, 0.0], tilt: 0.0 };
    task.face = task.released;
    scene.body.limits.ankle_dorsiflexion = Range::degrees(-90.0, 60.0);
    solve_leg(&scene.body, &scene.sitting, Side::Left, &task, None)
}

/// The largest change of any joint angle between two neighbouring steps, degrees.
fn largest_jump(steps: &[[f64; 7]]) -> f64 {
    steps
        .windows(2)
        .flat_map(|pair| pair[0].into_iter().zip(pair[1]).map(|(a, b)| to_deg((a - b).abs())))
        .fold(0.0, f64::max)
}

#[test]
fn turning_the_wheel_in_small_steps_never_makes_a_joint_jump() {
    for (name, _) in super::DEMOS {
        let project = super::demo(name);
        let scene = scene(name);
        let rest = at_rest(&scene.body, &scene.rig, project.driver.brakes_with);
        for side in Side::BOTH {
            for turn in [1.0, -1.0] {
                let mut arm = rest.arms[side.index()];
                let mut steps = vec![arm.angles.array()];
                for step in 1..=400 {
                    let task = ArmTask::on_rim(&scene.rig, side, turn * deg(0.25) * f64::from(step));
                    let next = solve_arm(&scene.body, &scene.sitting, side, &task, Some(&arm));
                    if !next.holds() {
                        break;
                    }
                    arm = next;
                    steps.push(arm.angles.array());
                }
                let jump = largest_jump(&steps);
                assert!(jump < 1.5, "{name}: a joint of the {} arm moves {jump}° in 0.25° of wheel", side.word());
            }
        }
    }
}

#[test]
fn pressing_a_pedal_in_small_steps_never_makes_a_joint_jump() {
    for (name, _) in super::DEMOS {
        let project = super::demo(name);
        let scene = scene(name);
        let Posture { legs, .. } = at_rest(&scene.body, &scene.rig, project.driver.brakes_with);
        for pedal in &scene.rig.pedals.list {
            let side = heelpoint::posture::foot_of(pedal.kind, project.driver.brakes_with);
            let mut from = (legs[side.index()].pedal == Some(pedal.kind)).then_some(legs[side.index()]);
            let mut steps = Vec::new();
            for step in 0..=400 {
                let task = FootTask::on_pedal(&scene.rig, pedal.kind, pedal.travel * f64::from(step) / 400.0).unwrap();
                let leg = solve_leg(&scene.body, &scene.sitting, side, &task, from.as_ref());
                steps.push(leg.angles.array());
                from = Some(leg);
            }
            let jump = largest_jump(&steps);
            assert!(
                jump < 0.6,
                "{name}, {}: {jump}° in one step of {} mm",
                pedal.kind.word(),
                pedal.travel * 1e3 / 400.0
            );
        }
    }
}

/// Identity of the side plane: trunk–thigh = 90° + recline − thigh over horizontal (SAE angle definitions).
#[test]
fn hip_angle_recline_and_thigh_angle_agree_on_every_demo() {
    for (name, _) in super::DEMOS {
        let project = super::demo(name);
        let scene = scene(name);
        let rest = at_rest(&scene.body, &scene.rig, project.driver.brakes_with);
        for leg in &rest.legs {
            let thigh = leg.knee() - leg.hip();
            let over_horizontal = thigh.z.atan2(thigh.x);
            let expected = deg(90.0) + scene.sitting.recline - over_horizontal;
            let hip_angle = std::f64::consts::PI - leg.angles.hip_flexion;
            assert!((hip_angle - expected).abs() < 1e-6, "{name}: {} {}", to_deg(hip_angle), to_deg(expected));
        }
    }
}

/// Two pedals side by side that slide rather than swing (pivots 100 m below), faces upright, the throttle's 6 mm deeper
/// than the brake's is when it brakes. By hand: the sole's outer edge, `reach` beyond the brake's, goes down into the
/// floor of the sole by reach · sin(roll), of which the share along the pedals is the sine of the sole's pitch.
#[test]
fn heel_and_toe_presses_the_throttle_as_far_as_the_rolled_sole_reaches() {
    let mut scene = scene("three_pedals");
    let braked = mm(10.0);
    let (brake, throttle) = (PedalKind::Brake, PedalKind::Throttle);
    for pedal in &mut scene.rig.pedals.list {
        pedal.tilt = 0.0;
        pedal.size = [mm(60.0), mm(90.0)];
        pedal.face = [mm(200.0), mm(150.0)];
        pedal.travel = mm(60.0);
        match pedal.kind {
            kind if kind == throttle => (pedal.face[0], pedal.sideways) = (mm(216.0), mm(-100.0)),
            kind if kind == brake => pedal.sideways = mm(-20.0),
            _ => {}
        }
        pedal.pivot = [pedal.face[0], -100.0];
    }
    let found = heel_and_toe(&scene.body, &scene.sitting, &scene.rig, braked).unwrap();
    assert!(found.too_far == 0.0 && found.unwanted == 0.0 && found.roll > deg(5.0), "{found:?}");
    // Brake's edge at −50, throttle's at −70; the shoe's middle stands so that 12 mm of it come on the throttle.
    let half = 0.5 * scene.body.skeleton.shoe_width;
    let middle = (mm(-70.0 - 12.0) + half).min(mm(-20.0));
    let reach = mm(-50.0) - (middle - half);
    let sole = scene.rig.pedals.X_WP.rotation.inverse() * (found.leg.foot.rotation * Vec3::x());
    let expected = reach * found.roll.sin() * sole.z - mm(6.0);
    assert!((found.blip - expected).abs() < mm(0.2), "{} against {expected}", found.blip);

    // Farther apart than the shoe is wide: by hand, the gap of 85 mm and 37 mm to stand on, less the shoe.
    for pedal in &mut scene.rig.pedals.list {
        if pedal.kind == throttle {
            pedal.sideways = mm(-165.0);
        }
    }
    let apart = heel_and_toe(&scene.body, &scene.sitting, &scene.rig, braked).unwrap();
    let short = mm(85.0 + 37.0) - scene.body.skeleton.shoe_width;
    assert!(apart.blip == 0.0 && short > 0.0 && (apart.too_far - short).abs() < 1e-9, "{apart:?} {short}");
}
