//! The principal dimensions of a fit against hand arithmetic from the project's own numbers.

use heelpoint::{
    geometry::Vec3,
    principal::{Dimension, Elevation, Span, dimensions},
    study::Solved,
    units::to_deg,
};

use crate::demo;

const BOX: [Vec3; 2] = [Vec3::new(-0.5, -0.4, 0.0), Vec3::new(1.9, 0.4, 1.3)];

fn of(name: &str) -> (Solved, Vec<Dimension>) {
    let solved = Solved::of(&demo(name));
    let list = dimensions(&solved, &solved.rest, BOX);
    (solved, list)
}

fn value(list: &[Dimension], key: &str) -> f64 {
    list.iter().find(|dimension| dimension.key == key).unwrap_or_else(|| panic!("{key}")).value()
}

#[test]
fn lengths_are_the_differences_of_the_points_along_their_axis() {
    let (solved, list) = of("closed_car");
    let h = solved.rest.sitting.h_point;
    let wheel = solved.project.wheel.centre_mm.map(|mm| mm / 1000.0);
    let heel = solved.rest.legs[1].heel;
    for (key, by_hand) in [
        ("h_point_to_wheel", wheel[0] - h.x),
        ("wheel_above_h_point", wheel[2] - h.z),
        ("h_point_to_heel", heel.x - h.x),
        ("h_point_above_heel", h.z - heel.z),
        ("h_point_height", h.z),
        ("eye_height", solved.rest.sitting.eyes.z),
        ("wheel_height", wheel[2]),
        // The box, 2.4 m long, 0.8 m wide and 1.3 m tall.
        ("length", 2.4),
        ("width", 0.8),
        ("height", 1.3),
    ] {
        assert!((value(&list, key) - by_hand).abs() < 1e-12, "{key}: {} and {by_hand}", value(&list, key));
    }
}

#[test]
fn angles_are_those_of_the_project_and_of_the_findings() {
    let (solved, list) = of("closed_car");
    let project = &solved.project;
    assert!((to_deg(value(&list, "wheel_angle")) - project.wheel.column_angle_deg).abs() < 1e-9);
    let back = 90.0 - project.seat.back_from_vertical_deg();
    assert!((to_deg(value(&list, "back_angle")) - back).abs() < 1e-9);
    let found = heelpoint::check(project).findings;
    let elbow = found.iter().find(|finding| finding.key() == "elbow.left").unwrap();
    assert!((to_deg(value(&list, "elbow")) - elbow.value).abs() < 1e-9, "a rig alike on both sides: one elbow");
    // The rays of the project's own angles make them, by their directions.
    for key in ["wheel_angle", "back_angle"] {
        let Span::Angle { at, rays: [a, b], value } = list.iter().find(|one| one.key == key).unwrap().span else {
            panic!("{key} is an angle");
        };
        assert!(((a - at).angle(&(b - at)) - value).abs() < 1e-9, "{key}");
    }
}

#[test]
fn every_line_stands_outside_of_body_and_rig_along_its_axis() {
    for name in ["closed_car", "formula", "three_pedals"] {
        let (_, list) = of(name);
        assert!(list.len() >= 16, "{name}: {}", list.len());
        for dimension in &list {
            let Span::Along { ends, line } = dimension.span else { continue };
            let way = line[1] - line[0];
            // Square to two axes, and as long as the points lie apart along the third.
            let axis = way.iamax();
            assert!((way.norm() - way[axis].abs()).abs() < 1e-12, "{name} {}", dimension.key);
            assert!((way[axis] - (ends[1] - ends[0])[axis]).abs() < 1e-12, "{name} {}", dimension.key);
            let outside = |at: &Vec3| (0..3).any(|i| at[i] < BOX[0][i] || at[i] > BOX[1][i]);
            assert!(line.iter().all(outside), "{name} {}", dimension.key);
            // It is seen at its full length in its view.
            let along_sight = match dimension.view {
                Elevation::Side => 1,
                Elevation::Top => 2,
                Elevation::Front => 0,
            };
            assert_ne!(axis, along_sight, "{name} {}", dimension.key);
        }
    }
}

#[test]
fn two_lines_of_a_view_never_lie_on_one_another() {
    let (_, list) = of("three_pedals");
    for (index, one) in list.iter().enumerate() {
        for other in list[index + 1..].iter().filter(|other| other.view == one.view) {
            let (Span::Along { line: a, .. }, Span::Along { line: b, .. }) = (one.span, other.span) else { continue };
            let middle = |line: [Vec3; 2]| (line[0] + line[1]) / 2.0;
            let same_way = (a[1] - a[0]).cross(&(b[1] - b[0])).norm() < 1e-9;
            let across = (middle(a) - middle(b)).cross(&(a[1] - a[0]).normalize()).norm();
            assert!(!same_way || across > 0.05, "{} and {}", one.key, other.key);
        }
    }
}
