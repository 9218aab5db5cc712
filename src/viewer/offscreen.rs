//! The whole window drawn into a picture instead of onto a screen.

use std::{panic::AssertUnwindSafe, sync::Arc};

use bevy::{camera::RenderTarget, image::Image, prelude::*};
use bevy_egui::{EguiGlobalSettings, PrimaryEguiContext};

use super::{
    adapter,
    home::Kept,
    picture::{PictureError, engine},
    scene::target,
    solve::Wake,
    window::{Start, ViewerError, furnish},
};
use crate::project::Checked;

/// The picture that stands for the window.
#[derive(Resource)]
pub(super) struct Sheet(pub(super) Handle<Image>);

/// The window on a project in a picture of this size, pixels, not yet finished; `ahead`: the next picture is prepared while
/// the last is drawn.
///
/// # Errors
/// If nothing here can draw or the engine fails.
pub(super) fn window(project: &Checked, size: (u32, u32), ahead: bool) -> Result<App, PictureError> {
    let drawer = adapter::probe()?;
    let engine = AssertUnwindSafe(|| engine(ahead.then_some(&drawer)));
    let mut app = std::panic::catch_unwind(engine).or(Err(PictureError::Engine))?;
    app.insert_resource(drawer);
    let start = Start { project: project.clone(), path: None, text: String::new() };
    furnish(&mut app, start, Kept::nothing(), &(Arc::new(|| ()) as Wake)).map_err(|error| match error {
        ViewerError::NoAdapter(error) => PictureError::NoAdapter(error),
        _ => PictureError::Engine,
    })?;
    let lay =
        move |mut commands: Commands, mut images: ResMut<Assets<Image>>, mut settings: ResMut<EguiGlobalSettings>| {
            settings.auto_create_primary_context = false;
            let image = images.add(target(UVec2::from(size)));
            commands.insert_resource(Sheet(image.clone()));
            commands.spawn((
                PrimaryEguiContext,
                Camera2d,
                Msaa::Off,
                Camera { order: 1, ..default() },
                RenderTarget::Image(image.into()),
            ));
        };
    app.add_systems(Startup, lay);
    Ok(app)
}
