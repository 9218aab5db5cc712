//! Whole posture with all distances, whole motion, and one arm beside the general-purpose solver crate `k`.

use std::hint::black_box;

use criterion::{Bencher, Criterion, criterion_group, criterion_main};
use heelpoint::{
    body::Body,
    check, clearance,
    effort::{AgeGroup, Presser},
    geometry::{Side, Vec3},
    posture::{Arm, ArmAngles, ArmTask, Moment, at_rest, solve_arm, sweep},
    project::{Checked, parse},
    rig::Rig,
    study::{Solved, check_and_mend},
};
use k::prelude::*;

const DEMOS: [(&str, &str); 3] = [
    ("closed car", include_str!("../assets/closed_car.ron")),
    ("formula", include_str!("../assets/formula.ron")),
    ("three pedals", include_str!("../assets/three_pedals.ron")),
];

fn demo() -> Checked {
    parse(include_str!("../assets/closed_car.ron")).expect("the demo is sound")
}

fn whole(c: &mut Criterion) {
    let project = demo();
    let body = Body::of(&project.driver);
    let rig = Rig::place(&project);
    let brakes = project.driver.brakes_with;
    let rest = at_rest(&body, &rig, brakes);
    let motion = sweep(&body, &rig, &rest, &project);
    let mut group = c.benchmark_group("posture");
    group.bench_function("body from measurements", |b| b.iter(|| Body::of(black_box(&project.driver))));
    group.bench_function("at rest", |b| b.iter(|| at_rest(&body, black_box(&rig), brakes)));
    group.bench_function("at rest with all distances", |b| {
        b.iter(|| {
            let rest = at_rest(&body, black_box(&rig), brakes);
            clearance::at(&body, &rig, &rest, &Moment::REST)
        });
    });
    group.bench_function("effort of both legs", |b| {
        b.iter(|| {
            let presser = Presser::new(&body, black_box(&rig), &rest.sitting, AgeGroup::Young);
            Side::BOTH.map(|side| {
                let leg = &rest.legs[side.index()];
                leg.pedal.and_then(|kind| presser.press(side, kind, leg, 0.01))
            })
        });
    });
    group.bench_function("motion: 121 wheel and 21 pedal steps", |b| {
        b.iter(|| sweep(&body, black_box(&rig), &rest, &project));
    });
    group.bench_function("clearances over the motion", |b| {
        b.iter(|| clearance::over(&body, black_box(&rig), &rest, &motion));
    });
    group.bench_function("motion with all distances", |b| {
        b.iter(|| {
            let motion = sweep(&body, black_box(&rig), &rest, &project);
            clearance::over(&body, &rig, &rest, &motion)
        });
    });
    group.bench_function("whole study", |b| b.iter(|| check(black_box(&project))));
    group.sample_size(10);
    for (name, text) in DEMOS {
        let project = parse(text).expect("the demo is sound");
        group.bench_function(format!("study with what to move: {name}"), |b| {
            b.iter(|| check_and_mend(black_box(&project)));
        });
    }
    group.finish();
}

/// The left arm as a chain of seven joints for `k`, its base the shoulder in the axes of the thorax.
fn chain(study: &Solved) -> k::SerialChain<f64> {
    let bones = &study.body.skeleton;
    let joint = |name: &str, axis: [f64; 3], offset: [f64; 3]| {
        k::NodeBuilder::<f64>::new()
            .name(name)
            .translation(k::Translation3::new(offset[0], offset[1], offset[2]))
            .joint_type(k::JointType::Rotational { axis: k::nalgebra::Unit::new_normalize(k::Vector3::from(axis)) })
            .into_node()
    };
    let o = [0.0; 3];
    let nodes = [
        joint("shoulder flexion", [0.0, -1.0, 0.0], o),
        joint("shoulder abduction", [1.0, 0.0, 0.0], o),
        joint("shoulder rotation", [0.0, 0.0, -1.0], o),
        joint("elbow", [0.0, -1.0, 0.0], [0.0, 0.0, -bones.upper_arm]),
        joint("pronation", [0.0, 0.0, -1.0], [0.0, 0.0, -bones.forearm]),
        joint("wrist flexion", [-1.0, 0.0, 0.0], o),
        joint("wrist deviation", [0.0, -1.0, 0.0], o),
    ];
    for pair in nodes.windows(2) {
        pair[1].set_parent(&pair[0]);
    }
    k::SerialChain::from_end(&nodes[6])
}

/// Hands on a wheel turned by 3 to 60° in steps of 3°, each solved from the pose straight ahead, to 0.1 mm and 1 mrad.
/// `k` and the first of ours are given the hand's whole pose, seven angles for six conditions; the second of ours is given the
/// rod and finds the roll and the tilt of the hand on it as well.
fn one_arm(c: &mut Criterion) {
    let project = demo();
    let study = Solved::of(&project);
    let sitting = &study.rest.sitting;
    let tasks: Vec<ArmTask> = (0..=20).map(|i| ArmTask::on_rim(&study.rig, Side::Left, 0.052 * f64::from(i))).collect();
    let mut arms = vec![study.rest.arms[0]];
    for task in &tasks[1..] {
        let from = *arms.last().expect("begun with one");
        arms.push(solve_arm(&study.body, sitting, Side::Left, task, Some(&from)));
    }
    assert!(arms.iter().all(Arm::holds), "every target can be reached");

    let arm = chain(&study);
    let thorax = sitting.thorax.rotation;
    let shoulder = sitting.shoulders[0];
    let angles = |arm: &Arm| -> Vec<f64> { ArmAngles::array(&arm.angles).to_vec() };
    let targets: Vec<k::Isometry3<f64>> = arms
        .iter()
        .map(|solved| {
            let place: Vec3 = thorax.inverse() * (solved.wrist() - solved.shoulder());
            let turn = thorax.inverse() * solved.hand.rotation;
            let q = turn.coords;
            k::Isometry3::from_parts(
                k::Translation3::new(place.x, place.y, place.z),
                k::nalgebra::Unit::new_normalize(k::nalgebra::Quaternion::new(q.w, q.x, q.y, q.z)),
            )
        })
        .collect();
    assert!(arms.iter().all(|solved| (solved.shoulder() - shoulder).norm() < 1e-9), "shoulders on the seat");
    // The chain is the same: forward kinematics of our angles is the target.
    for (solved, target) in arms.iter().zip(&targets) {
        arm.set_joint_positions_unchecked(&angles(solved));
        let end = arm.end_transform();
        assert!((end.translation.vector - target.translation.vector).norm() < 1e-9);
    }

    let start = angles(&arms[0]);
    let solver = k::JacobianIkSolver::new(1e-4, 1e-3, 0.8, 200);
    let mut group = c.benchmark_group("arm, 20 targets");
    let peer = |b: &mut Bencher, start: &[f64]| {
        b.iter(|| {
            for target in &targets[1..] {
                arm.set_joint_positions_unchecked(start);
                solver.solve(&arm, black_box(target)).expect("reachable");
            }
        });
    };
    group.bench_function("k, hand pose given", |b| peer(b, &start));
    let kept: Vec<ArmTask> =
        tasks.iter().zip(&arms).map(|(task, arm)| ArmTask { kept_grip: Some([arm.roll, arm.tilt]), ..*task }).collect();
    // The same targets: the hand's pose is reached to far less than 0.1 mm and 1 mrad.
    for step in 1..kept.len() {
        let from = &arms[0];
        let solved = solve_arm(&study.body, sitting, Side::Left, &kept[step], Some(from));
        assert!((solved.wrist() - arms[step].wrist()).norm() < 1e-6);
        assert!(solved.hand.rotation.angle_to(&arms[step].hand.rotation) < 1e-6);
    }
    let solve = |b: &mut Bencher, tasks: &[ArmTask], from: Option<&Arm>| {
        b.iter(|| {
            for task in tasks {
                black_box(solve_arm(&study.body, sitting, Side::Left, black_box(task), from));
            }
        });
    };
    group.bench_function("heelpoint, hand pose given", |b| solve(b, &kept[1..], Some(&arms[0])));
    // Nothing known beforehand: `k` begins from a slack arm (32°, 14°, 15°, 70°, 0°, −5°, 0°), ours looks for itself.
    let slack = [0.56, 0.24, 0.26, 1.22, 0.0, -0.09, 0.0];
    group.bench_function("k, hand pose given, from a slack arm", |b| peer(b, &slack));
    group.bench_function("heelpoint, hand pose given, from nothing", |b| solve(b, &kept[1..], None));
    group.bench_function("heelpoint, hand found on the rim", |b| solve(b, &tasks[1..], Some(&arms[0])));
    group.finish();
}

criterion_group!(benches, whole, one_arm);
criterion_main!(benches);
