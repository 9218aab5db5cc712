//! Reach against published tables.

use heelpoint::{
    reach::{Grip, j287, published},
    units::mm,
};

/// SAE J287:2022, summary page: seat height 250 mm, wheel height 640 mm: G = 0.8175 + 1.824 − 3.21 = −0.5685 and
/// HR = 786 + 56.28 = 842.3 mm.
#[test]
fn the_package_factor_of_j287_is_as_worked_out_by_hand() {
    let (factor, plane) = j287(mm(250.0), mm(640.0));
    assert!((factor + 0.5685).abs() < 5e-4);
    assert!((plane - mm(842.3)).abs() < mm(0.1));
}

/// SAE J287: a fingertip goes 100 mm further than a full grasp.
#[test]
fn a_fingertip_goes_100_mm_further_than_a_full_grasp_in_j287() {
    let more = Grip::Fingertip.j287_correction() - Grip::Full.j287_correction();
    assert!((more - mm(100.0)).abs() < mm(0.1));
}

/// Chan (after Pheasant): with a grip reach of 700 mm and a hand of 190 mm the fingertip reaches 814 mm and the tip of the
/// thumb 738 mm.
#[test]
fn pinch_and_fingertip_lie_beyond_the_grip_as_published() {
    let beyond = |grip: Grip| 700.0 + grip.beyond_grip() * 190.0;
    assert!((beyond(Grip::Fingertip) - 814.0).abs() < 0.5);
    assert!((beyond(Grip::Pinch) - 738.0).abs() < 0.5);
}

/// Every row of `shared/reach.csv`, people drawn from the survey beside it: NUREG-0700 (from MIL-STD-1472G) and British
/// shoulder–grip lengths after Pheasant, within 25 mm.
#[test]
fn the_programs_people_reach_as_far_as_published_tables_say() {
    let rows = published();
    assert_eq!(rows.len(), 9);
    for row in rows {
        assert!(row.difference_mm.abs() < 25.0, "{}", row.words());
    }
}
