//! The window and its pictures, on whatever draws here: a graphics card or software Vulkan.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod person;
mod pictures;
mod screen;
mod screens;
mod start;

/// The demo projects by name.
pub const DEMOS: [(&str, &str); 3] = [
    ("closed_car", include_str!("../../assets/closed_car.ron")),
    ("formula", include_str!("../../assets/formula.ron")),
    ("three_pedals", include_str!("../../assets/three_pedals.ron")),
];
