//! Whether anything here can draw, asked before the engine is started: it would not survive the answer no.

/// Nothing here can draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "no graphics driver found: install the driver of your graphics card, or for drawing by the processor \
     the package mesa-vulkan-drivers (its name in Debian and Ubuntu)"
)]
pub struct NoAdapter;

/// Looks for something that can draw.
///
/// # Errors
/// If there is nothing.
pub fn probe() -> Result<(), NoAdapter> {
    let mut descriptor = wgpu::InstanceDescriptor::new_without_display_handle_from_env();
    descriptor.backends &= wgpu::Backends::PRIMARY;
    let instance = wgpu::Instance::new(descriptor);
    let options = wgpu::RequestAdapterOptions::default();
    match bevy::tasks::block_on(instance.request_adapter(&options)) {
        Ok(_) => Ok(()),
        Err(_) => Err(NoAdapter),
    }
}
