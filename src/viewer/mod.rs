//! The window and pictures without one: small plugins over the core.
//!
//! The stage (`scene`) draws body and rig into a picture; panels and overlay are drawn round and over it. Panels
//! own no state of the model: they read the document and the latest findings and send edits.

#![allow(
    clippy::needless_pass_by_value,
    clippy::too_many_arguments,
    clippy::type_complexity,
    reason = "the engine hands a system its parameters by value, as many as it asks for"
)]

mod adapter;
mod bring;
mod camera;
mod compare;
mod crowd;
mod edit;
mod files;
mod ground;
mod hand;
mod home;
mod keys;
mod labels;
mod matter;
mod memory;
mod mould;
mod offscreen;
mod over;
mod overlay;
mod pace;
mod panels;
mod person;
mod picture;
mod pictures;
mod png;
mod pointing;
mod reach;
mod rig;
mod scene;
mod screens;
mod shade;
mod solve;
mod theme;
mod thin;
mod typing;
mod window;

pub use adapter::NoAdapter;
pub use memory::give_back_memory;
pub use over::Writing;
pub use pace::{Pace, PaceRequest, pace};
pub use picture::{PictureError, PictureReach, PictureRequest, PictureView, picture};
pub use screens::{Screen, screens};
pub use window::{Start, ViewerError, run};

use bevy::prelude::SystemSet;

/// The steps of a frame, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, SystemSet)]
pub enum ViewerSystems {
    /// Edits and file commands that the panels have sent.
    Edit,
    /// Studies, mends and skins that have come.
    Solve,
    /// Meshes, eye and light.
    Present,
}
