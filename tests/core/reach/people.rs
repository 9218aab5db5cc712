//! Several people, and places for controls.

use heelpoint::{
    geometry::Side,
    reach::{Grip, Limb, Reach, Region, USUAL_LEAN, Zone, common_reach, shared_reach, where_to_put},
    rig::Rig,
    study::Solved,
    units::mm_point,
    watch::Watch,
};

fn volume(region: &Region) -> f64 {
    region.litres
}

#[test]
fn what_more_people_reach_is_smaller_and_the_seed_decides() {
    let project = crate::demo("three_pedals");
    let sharing = |seed: u64| shared_reach(&project, Grip::Full, 24, seed, &Watch::NOBODY, &|| ()).unwrap();
    let (a, b) = (sharing(7), sharing(7));
    assert_eq!(a.regions.len(), 6);
    for (a, b) in a.regions.iter().zip(&b.regions) {
        assert!((volume(a) - volume(b)).abs() < 1e-9, "the same seed gives the same people");
    }
    for hand in a.regions.chunks(3) {
        assert!(volume(&hand[0]) > volume(&hand[1]) && volume(&hand[1]) > volume(&hand[2]) && volume(&hand[2]) > 20.0);
    }
    assert!(a.controls.iter().all(|(_, share)| (0.0..=100.0).contains(share)));
    // Who reaches a control reaches its neighbours on the lattice too, but for few.
    for (control, (_, share)) in Rig::place(&project).controls.iter().zip(&a.controls) {
        assert!((a.share(control.hand, control.at) - share).abs() < 20.0, "{} {share}", control.name);
    }
}

#[test]
fn what_all_drivers_reach_is_no_more_than_what_one_does() {
    let project = crate::demo("closed_car");
    assert!(project.drivers().count() > 1);
    let all = common_reach(&project, Side::Left, Grip::Full, Zone::Attainable, 0.0, 0.04, &Watch::NOBODY).unwrap();
    for (_, driver) in project.drivers() {
        let solved = Solved::of(&project.driven_by(&driver.name).unwrap());
        let limb = Limb::Hand(Side::Left, Grip::Full);
        let mut reach = Reach::of(&solved.body, &solved.rig, &solved.rest, limb, 0.0, &[]);
        reach.coarse(&Watch::NOBODY).unwrap();
        let one = 1e3 * reach.surface(Zone::Attainable).unwrap().volume();
        assert!(volume(&all) < one && volume(&all) > 0.3 * one, "{} of {one}", volume(&all));
    }
}

/// The place proposed is in the zone that it names, clear of the rim and hands as they turn, and its slot lies on a rail.
#[test]
fn a_place_for_a_control_is_reached_and_clear() {
    let solved = Solved::of(&crate::demo("three_pedals"));
    let limb = Limb::Hand(Side::Right, Grip::Full);
    let mut reach = Reach::of(&solved.body, &solved.rig, &solved.rest, limb, USUAL_LEAN, &[]);
    reach.to_step(0.020, &Watch::NOBODY).unwrap();
    let spot = where_to_put(&solved, &reach, 1, &Watch::NOBODY).unwrap().expect("there is room");
    let at = mm_point(spot.at_mm);
    assert!(reach.ask(at).zone.is_some_and(|zone| zone <= spot.zone));
    for (_, arms) in &solved.motion.arms.steps {
        for arm in arms {
            assert!((arm.grip - at).norm() > 0.06);
        }
    }
    let slot = mm_point(spot.slot_mm.unwrap());
    let on = solved.rig.rails.iter().find(|rail| Some(&rail.name) == spot.rail.as_ref()).unwrap();
    let local = on.solid.pose.inverse_transform_point(&slot.into()).coords;
    // On one of its faces.
    assert!((0..2).any(|axis| (local[axis].abs() - on.solid.half[axis]).abs() < 1e-3));
    assert!(local.z.abs() < on.solid.half.z + 1e-3);
}
