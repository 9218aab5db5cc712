//! Whether parts go together, each figure worked by hand on the closed-car demo.

use std::sync::Arc;

use heelpoint::{
    check,
    findings::{Finding, Group, Level},
    geometry::TriangleMesh,
    project::{Axis, Checked, LengthUnit, Loaded, Project, Rail, Shape, StandsFor},
};

use super::demo;

fn fit(change: impl FnOnce(&mut Project)) -> Vec<Finding> {
    let mut project = demo("closed_car").into_inner();
    change(&mut project);
    let checked = Checked::new(project).unwrap_or_else(|faults| panic!("{faults:?}"));
    check(&checked).findings.into_iter().filter(|finding| finding.group == Group::Fit).collect()
}

fn finding<'f>(findings: &'f [Finding], id: &str) -> &'f Finding {
    findings.iter().find(|finding| finding.id == id).unwrap_or_else(|| panic!("no {id}"))
}

/// A slab of 100 × 400 × 300 with its near lower right corner in the origin.
fn slab() -> TriangleMesh {
    let corner = |i: u8| [f32::from(i & 1) * 0.1, f32::from(i >> 1 & 1) * 0.4, f32::from(i >> 2 & 1) * 0.3];
    let points: Vec<[f32; 3]> = (0..8).map(corner).collect();
    let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles: Vec<[u32; 3]> = faces.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
    TriangleMesh::new(&points, &triangles)
}

fn slab_as(stands_for: StandsFor, at_mm: [f64; 3]) -> Shape {
    Shape {
        name: "Slab".to_owned(),
        file: "slab.stl".to_owned(),
        unit: LengthUnit::M,
        forward: Axis::PlusX,
        up: Axis::PlusZ,
        stands_for,
        at_mm,
        turn_deg: [0.0; 3],
        mesh: Loaded(Some(Arc::new(slab()))),
    }
}

#[test]
fn the_demos_parts_fit() {
    let found = fit(|_| {});
    assert!(found.len() >= 5 && found.iter().all(|finding| finding.level == Level::Good), "{found:#?}");
    // The plate is carried 60 mm beyond the furthest pivot: 1070 + 210 + 60 = 1340 of 1400.
    assert!(finding(&found, "plate_over").sentence.contains("ends 60 mm short"));
}

/// The cushion is 390 wide with bolsters of 55 on both sides: 500. Uprights of 40 in ±260 leave 480.
#[test]
fn a_seat_wider_than_the_uprights_leave_is_told_with_both_widths() {
    let found = fit(|project| {
        for (name, y) in [("post left", 260.0), ("post right", -260.0)] {
            project.frame.push(Rail::between(name, [40.0, 40.0], [500.0, y, 0.0], [500.0, y, 600.0]));
        }
    });
    let seat = finding(&found, "seat_rails");
    assert_eq!(seat.level, Level::Outside);
    assert!((seat.value + 10.0).abs() < 0.1, "{}", seat.value);
    assert_eq!(
        seat.sentence,
        "Your seat is 500 mm wide; the rail “post left” and the rail “post right” leave 480 mm between them, 20 mm too little."
    );
}

/// The cushion's lower front edge, rounded by 8: 300 + 457 cos 34° + 18 sin 34° + 8 = 696.9 forward, 390.6 up. A rail whose
/// rear face stands at 735 lets the slider go 38.1 of its 140.
#[test]
fn a_slider_ends_where_a_cross_member_begins() {
    let found = fit(|project| {
        project.frame.push(Rail::between("bar", [40.0, 40.0], [755.0, -200.0, 390.6], [755.0, 200.0, 390.6]));
    });
    let slider = finding(&found, "slider_rails");
    assert!((slider.value - 101.9).abs() < 0.3, "{}", slider.value);
    assert_eq!(slider.level, Level::Outside);
    assert_eq!(
        slider.sentence,
        "Forward your seat's slider goes to 140 mm, but at 38 mm the seat meets the rail “bar”: 102 mm can't be used."
    );
    // What stands behind leaves the way forward free.
    let found = fit(|project| {
        project.frame.push(Rail::between("bar", [40.0, 40.0], [-300.0, -200.0, 390.6], [-300.0, 200.0, 390.6]));
    });
    assert_eq!(finding(&found, "slider_rails").value, 0.0);
}

/// 200 forward the plate ends at 1540, 140 before the frame. A cross member of 40 through the middle of the plate, which is
/// 10 thick: 20 + 5 to be out of it.
#[test]
fn a_pedal_plate_beyond_the_base_or_through_a_cross_member_is_told() {
    let found = fit(|project| project.pedals.position_mm[0] += 200.0);
    let over = finding(&found, "plate_over");
    assert!((over.value - 140.0).abs() < 0.5 && over.level == Level::Outside, "{}", over.value);
    let found = fit(|project| {
        project.frame.push(Rail::between("cross", [40.0, 40.0], [1200.0, -230.0, 157.0], [1200.0, 230.0, 157.0]));
    });
    let through = finding(&found, "plate_rails");
    assert!((through.value - 25.0).abs() < 0.1 && through.level == Level::Outside, "{}", through.value);
    assert!(through.sentence.contains("25 mm inside the rail “cross”"), "{}", through.sentence);
}

/// The far end of the unit: 95 + 230 along a shaft that falls by 14°, from (558, 690): at 873 forward, 611 up, its upper edge
/// 63 higher. A screen whose face stands at 850 is met, one at 1000 is not.
#[test]
fn a_wheel_unit_in_the_screen_is_told() {
    let at = |x: f64| fit(|project| project.shapes.push(slab_as(StandsFor::Screen, [x, -200.0, 500.0])));
    let met = at(850.0);
    let met = finding(&met, "unit_screen");
    assert!(met.level == Level::Outside && met.sentence.contains("inside “Slab”"), "{}", met.sentence);
    let free = at(1000.0);
    let free = finding(&free, "unit_screen");
    // Its foremost corner: 873.3 + 65 sin 14° = 889.1, less what its edges are rounded.
    assert!((free.value - 110.9).abs() < 2.0 && free.level == Level::Good, "{}", free.value);
}
