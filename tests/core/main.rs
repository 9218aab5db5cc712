//! The core's promises, one module each; links no window.

mod demos;
mod distances;
mod kinematics;
mod layers;
mod published_posture;
mod solving;
mod whole_path;

/// The demo projects by name.
pub const DEMOS: [(&str, &str); 3] = [
    ("closed_car", include_str!("../../assets/closed_car.ron")),
    ("formula", include_str!("../../assets/formula.ron")),
    ("three_pedals", include_str!("../../assets/three_pedals.ron")),
];

/// A demo, checked.
pub fn demo(name: &str) -> heelpoint::project::Checked {
    let (_, text) = DEMOS.iter().find(|(known, _)| *known == name).expect("a demo of that name");
    heelpoint::project::parse(text).unwrap_or_else(|faults| panic!("{name}: {faults:?}"))
}
