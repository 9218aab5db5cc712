//! Sitting against published proportions and eye positions.

use heelpoint::{
    body::Body,
    posture::sit,
    project::{BackAngle, Checked, Measured, Population, Project},
    rig::Rig,
    units::to_mm,
};

/// A plain hard seat: cushion 10° up, flat back, no foam.
fn hard_seat(population: Population, stature: f64, mass: f64, back_from_vertical: f64) -> Project {
    let mut project = super::demo("three_pedals").into_inner();
    let measured = &mut project.driver.measured;
    *measured = heelpoint::project::Measurements::default();
    measured.stature_mm = Some(Measured::new(stature, 0.1));
    measured.mass_kg = Some(Measured::new(mass, 0.1));
    project.driver.population = population;
    project.seat.back_angle_deg = BackAngle::FromVertical(back_from_vertical);
    project.seat.cushion_angle_deg = 10.0;
    for give in [&mut project.seat.cushion.give_mm, &mut project.seat.back.give_mm] {
        *give = 0.0;
    }
    project.seat.cushion.bolster_height_mm = 0.0;
    project
}

/// The means of ANSUR II: men 1756 mm and 85.5 kg, women 1628 mm and 67.8 kg (NATICK/TR-15/007).
const PEOPLE: [(Population, f64, f64); 2] = [(Population::Men, 1756.0, 85.5), (Population::Women, 1628.0, 67.8)];

/// Preferred lumbar prominence of drivers: men 25.6 (SD 8.8), women 32.5 (SD 7.1) mm (De Carvalho and Callaghan 2015):
/// the gap that a flat back leaves is of that size.
#[test]
fn a_flat_back_leaves_a_lumbar_gap_of_the_size_that_people_ask_a_pad_for() {
    for ((population, stature, mass), (mean, sd)) in PEOPLE.into_iter().zip([(25.6, 8.8), (32.5, 7.1)]) {
        let mut project = hard_seat(population, stature, mass, 25.0);
        project.seat.back.lumbar_mm = 0.0;
        let checked = Checked::new(project).unwrap();
        let sitting = sit(&Body::of(&checked.driver), &Rig::place(&checked));
        let gap = to_mm(sitting.lumbar_gap[0]);
        assert!((gap - mean).abs() < 2.0 * sd, "{population:?}: {gap}");
    }
}

#[test]
fn a_lumbar_pad_takes_its_thickness_from_the_gap() {
    let gap = |pad: f64| {
        let mut project = hard_seat(Population::Men, 1756.0, 85.5, 25.0);
        project.seat.back.lumbar_mm = pad;
        let checked = Checked::new(project).unwrap();
        let body = Body::of(&checked.driver);
        let rig = Rig::place(&checked);
        let sitting = sit(&body, &rig);
        (to_mm(sitting.lumbar_gap[0]), to_mm(sitting.lumbar_gap[1]))
    };
    let (flat, height) = gap(0.0);
    let mut project = hard_seat(Population::Men, 1756.0, 85.5, 25.0);
    project.seat.back.lumbar_mm = 10.0;
    project.seat.back.lumbar_height_mm = height;
    let checked = Checked::new(project).unwrap();
    let padded = to_mm(sit(&Body::of(&checked.driver), &Rig::place(&checked)).lumbar_gap[0]);
    assert!(padded < flat - 4.0 && padded > flat - 12.0, "{flat} → {padded}");
}
