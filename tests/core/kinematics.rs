//! Forward kinematics against the rigid-body library Pinocchio: values stored in `shared/checks/forward_kinematics.csv`
//! with the script that made them beside it.

use heelpoint::{
    body::{Body, Skeleton},
    geometry::{Side, Vec3},
    posture::{forward_arm, forward_leg},
};

fn skeleton() -> Skeleton {
    let body = Body::of(&super::demo("closed_car").driver);
    // The links for which the library's values were made.
    Skeleton { upper_arm: 0.29, forearm: 0.26, thigh: 0.43, shank: 0.41, ..body.skeleton }
}

#[test]
fn arm_and_leg_stand_where_pinocchio_puts_them() {
    let text = include_str!("../../shared/checks/forward_kinematics.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let bones = skeleton();
    let mut rows = 0;
    for row in reader.records() {
        let row = row.unwrap();
        let numbers: Vec<f64> = row.iter().skip(2).map(|cell| cell.parse().unwrap()).collect();
        let angles: [f64; 7] = numbers[..7].try_into().unwrap();
        let point = |at: usize| Vec3::new(numbers[at], numbers[at + 1], numbers[at + 2]);
        let side = if &row[1] == "left" { Side::Left } else { Side::Right };
        let axes = nalgebra::Matrix3::identity();
        let [_, (mid, _), (end, end_axes)] = match &row[0] {
            "arm" => forward_arm(&bones, side, &axes, Vec3::zeros(), &angles),
            _ => forward_leg(&bones, side, &axes, Vec3::zeros(), &angles),
        };
        assert!((mid - point(7)).norm() < 1e-8, "{row:?}: {mid}");
        assert!((end - point(10)).norm() < 1e-8, "{row:?}: {end}");
        assert!((end_axes.column(0) - point(13)).norm() < 1e-8, "{row:?}");
        assert!((end_axes.column(2) - point(16)).norm() < 1e-8, "{row:?}");
        rows += 1;
    }
    assert_eq!(rows, 48);
}
