//! `heelpoint picture FILE -o out.png`: a picture without a window.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{Ending, read_driven};

/// The side that a picture is seen from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum View {
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

/// Render a picture of a project, without a window.
#[derive(Debug, Args)]
pub(super) struct Picture {
    /// The project.
    file: PathBuf,
    /// Where to write the PNG.
    #[arg(short, long, default_value = "picture.png")]
    out: PathBuf,
    /// Seen from where.
    #[arg(long, value_enum, default_value_t = View::ThreeQuarter)]
    view: View,
    /// Width and height in pixels.
    #[arg(long, value_parser = size, default_value = "1600x1000")]
    size: (u32, u32),
    /// On the graphite ground instead of paper.
    #[arg(long)]
    dark: bool,
    /// Wheel angle, degrees, left positive.
    #[arg(long, default_value_t = 0.0, allow_negative_numbers = true)]
    steer: f64,
    /// Brake travel, mm.
    #[arg(long, default_value_t = 0.0)]
    brake: f64,
    /// Throttle travel, mm.
    #[arg(long, default_value_t = 0.0)]
    throttle: f64,
    /// Who sits in the rig, if it is not the first driver.
    #[arg(long, value_name = "NAME")]
    driver: Option<String>,
    /// Who is shown as a ghost beside the driver.
    #[arg(long, value_name = "NAME")]
    ghost: Option<String>,
}

/// "1600x1000" → (1600, 1000).
fn size(text: &str) -> Result<(u32, u32), String> {
    let parse = |part: &str| part.trim().parse::<u32>().ok().filter(|n| (64..=8192).contains(n));
    text.split_once(['x', '×'])
        .and_then(|(width, height)| Some((parse(width)?, parse(height)?)))
        .ok_or_else(|| format!("“{text}” is no size; write width x height in pixels, 64 to 8192, as in 1600x1000"))
}

impl Picture {
    #[cfg(feature = "viewer")]
    pub(super) fn run(self) -> Ending {
        use crate::{
            posture::Moment,
            project::PedalKind,
            units::{deg, mm},
            viewer::{PictureRequest, PictureView, picture},
        };
        let project = match read_driven(&self.file, self.driver.as_deref()) {
            Ok(project) => project,
            Err(ending) => return ending,
        };
        let ghost = match self.ghost.as_deref().map(|name| read_driven(&self.file, Some(name))).transpose() {
            Ok(ghost) => ghost,
            Err(ending) => return ending,
        };
        let view = match self.view {
            View::Side => PictureView::Side,
            View::Top => PictureView::Top,
            View::Front => PictureView::Front,
            View::ThreeQuarter => PictureView::ThreeQuarter,
            View::All => PictureView::All,
        };
        let moment = Moment::REST
            .with_steer(deg(self.steer))
            .with_travel(PedalKind::Brake, mm(self.brake))
            .with_travel(PedalKind::Throttle, mm(self.throttle));
        let request = PictureRequest { out: self.out.clone(), size: self.size, view, dark: self.dark, moment, ghost };
        match picture(&project, &request) {
            Ok(()) => {
                say!("Wrote {}", self.out.display());
                Ending::Good
            }
            Err(error) => {
                eprintln!("{error}");
                Ending::Unable
            }
        }
    }

    #[cfg(not(feature = "viewer"))]
    pub(super) fn run(self) -> Ending {
        for name in [self.driver, self.ghost] {
            if let Err(ending) = read_driven(&self.file, name.as_deref()) {
                return ending;
            }
        }
        let _ = (self.out, self.size, self.view, self.dark, self.steer, self.brake, self.throttle);
        eprintln!("This heelpoint was built without pictures and window; build it with its default features.");
        Ending::Unable
    }
}

#[cfg(test)]
mod tests {
    use super::size;

    #[test]
    fn a_size_is_two_numbers_of_pixels() {
        assert_eq!(size("1600x1000"), Ok((1600, 1000)));
        assert!(size("1600").is_err());
        assert!(size("0x99999").is_err());
    }
}
