//! The core's promises, one module each; links no window.

#![allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "a test may fail, and compares what must be equal to the bit"
)]

mod adjusters;
mod demos;
mod distances;
mod drivers;
mod effort;
mod estimating;
mod fitting;
mod folder;
mod frame_checks;
mod frame_rails;
mod frame_screens;
mod frame_solver;
mod imported;
mod inches;
mod kinematics;
mod layers;
mod mends;
mod motion;
mod open_day;
mod packages;
mod principal;
mod project_faults;
mod project_save;
mod project_text;
mod published_body;
mod published_posture;
mod random_projects;
mod reach;
mod readme;
mod rig;
mod robust;
mod room;
mod screens;
mod shell;
mod sitting;
mod skin;
mod slips;
mod solving;
mod templates;
mod trade_rules;
mod uncertainty;
mod whole_path;
mod worn;

/// The demo projects by name.
pub const DEMOS: [(&str, &str); 3] = [
    ("closed_car", include_str!("../../assets/closed_car.ron")),
    ("formula", include_str!("../../assets/formula.ron")),
    ("three_pedals", include_str!("../../assets/three_pedals.ron")),
];

/// A demo, checked.
pub(crate) fn demo(name: &str) -> heelpoint::project::Checked {
    let (_, text) = DEMOS.iter().find(|(known, _)| *known == name).expect("a demo of that name");
    heelpoint::project::parse(text).unwrap_or_else(|faults| panic!("{name}: {faults:?}"))
}

/// Stature (mm) and mass (kg), measured with these errors; nothing else.
fn of_size(stature: f64, mass: f64, errors: [f64; 2]) -> heelpoint::project::Measurements {
    use heelpoint::project::Measured;
    heelpoint::project::Measurements {
        stature_mm: Some(Measured::new(stature, errors[0])),
        mass_kg: Some(Measured::new(mass, errors[1])),
        ..Default::default()
    }
}
