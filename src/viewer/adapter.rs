//! What here can draw, asked before the engine is started: it would not survive the answer nothing.

use bevy::{prelude::*, render::RenderPlugin};

/// Nothing here can draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "no graphics driver found: install the driver of your graphics card, or for drawing by the processor \
     the package mesa-vulkan-drivers (its name in Debian and Ubuntu)"
)]
pub struct NoAdapter;

/// What draws. As long as it is held its driver stays loaded, so that the engine does not load it once more.
#[derive(Resource)]
pub struct Drawer {
    adapter: wgpu::Adapter,
    _instance: wgpu::Instance,
}

impl Drawer {
    /// How a window's renderer begins. A graphics card's shaders are made all at once beside the first pictures: one
    /// after another they would hold these up for seconds where its driver has never seen them. A processor that draws
    /// has no hands free for that, and its pictures are whole from the first on.
    pub fn renderer(&self) -> RenderPlugin {
        RenderPlugin { synchronous_pipeline_compilation: self.is_processor(), ..default() }
    }

    fn is_processor(&self) -> bool {
        is_processor(&self.adapter.get_info())
    }
}

/// Whether it is the processor that draws.
pub fn is_processor(info: &wgpu::AdapterInfo) -> bool {
    info.device_type == wgpu::DeviceType::Cpu
}

/// Looks for something that can draw.
///
/// # Errors
/// If there is nothing.
pub fn probe() -> Result<Drawer, NoAdapter> {
    let mut descriptor = wgpu::InstanceDescriptor::new_without_display_handle_from_env();
    descriptor.backends &= wgpu::Backends::PRIMARY;
    let instance = wgpu::Instance::new(descriptor);
    // As the engine asks.
    let options = wgpu::RequestAdapterOptions { power_preference: wgpu::PowerPreference::HighPerformance, ..default() };
    let adapter = bevy::tasks::block_on(instance.request_adapter(&options)).or(Err(NoAdapter))?;
    Ok(Drawer { adapter, _instance: instance })
}
