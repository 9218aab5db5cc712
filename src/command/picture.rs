//! `heelpoint picture FILE -o out.png`: a picture without a window.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{
    Ending, Units,
    reach::{Holding, lean},
    read_driven,
};
use crate::{
    reach::USUAL_LEAN,
    units::{a4_dots, printed_per_metre, to_deg},
};

/// The side that a picture is seen from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum View {
    /// From the driver's left, true to scale.
    Side,
    /// From above, true to scale.
    Top,
    /// From ahead, true to scale.
    Front,
    /// From ahead and to the left, in perspective; from behind where screens would hide the driver.
    ThreeQuarter,
    /// All four on one sheet.
    All,
}

/// Whose reach a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Limbs {
    /// The left hand.
    LeftHand,
    /// The right hand.
    RightHand,
    /// Both hands.
    Hands,
    /// The left foot, its heel down.
    LeftFoot,
    /// The right foot, its heel down.
    RightFoot,
    /// Both feet, their heels down.
    Feet,
}

/// A zone of reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ZoneWord {
    /// Every joint near its neutral.
    Comfortable,
    /// Shoulders on the seat.
    Attainable,
    /// The shoulder leaves the seat.
    Lift,
    /// The trunk leans forward as well.
    Lean,
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
    /// Width and height in pixels; or a4, a4-portrait for paper at 300 dots an inch.
    #[arg(long, value_parser = size, default_value = "1600x1000")]
    size: Size,
    /// Write the principal dimensions: H-point, heel, wheel, eyes, floor, angles.
    #[arg(long)]
    dimensions: bool,
    /// Write distances that are near their limits.
    #[arg(long)]
    distances: bool,
    /// Write the angle of every joint.
    #[arg(long)]
    angles: bool,
    /// Leave the numbers of findings out.
    #[arg(long)]
    no_numbers: bool,
    #[command(flatten)]
    units: Units,
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
    /// Show what these limbs reach, in place of the findings.
    #[arg(long, value_enum, value_name = "LIMB")]
    reach: Option<Limbs>,
    /// What the hand does at its point.
    #[arg(long, value_enum, default_value_t = Holding::Full, requires = "reach")]
    grip: Holding,
    /// The zones that are shown.
    #[arg(long, value_enum, value_delimiter = ',', default_values = ["comfortable", "attainable"], requires = "reach")]
    zones: Vec<ZoneWord>,
    /// How far the trunk may lean forward, degrees.
    #[arg(long, default_value_t = to_deg(USUAL_LEAN), value_parser = lean, requires = "reach")]
    lean: f64,
}

/// How large a picture is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Size {
    pixels: (u32, u32),
    /// Dots a metre, where it is meant for paper.
    per_metre: Option<u32>,
}

/// "1600x1000" → 1600 by 1000, "a4" → the dots of the paper.
fn size(text: &str) -> Result<Size, String> {
    let [short, long] = a4_dots();
    let paper = |pixels| Ok(Size { pixels, per_metre: Some(printed_per_metre()) });
    match text.trim().to_ascii_lowercase().as_str() {
        "a4" => return paper((long, short)),
        "a4-portrait" => return paper((short, long)),
        _ => {}
    }
    let parse = |part: &str| part.trim().parse::<u32>().ok().filter(|n| (64..=8192).contains(n));
    text.split_once(['x', '×'])
        .and_then(|(width, height)| Some(Size { pixels: (parse(width)?, parse(height)?), per_metre: None }))
        .ok_or_else(|| {
            format!(
                "“{text}” is no size; write width x height in pixels, 64 to 8192, as in 1600x1000, or a4, a4-portrait"
            )
        })
}

impl Picture {
    #[cfg(feature = "viewer")]
    pub(super) fn run(self) -> Ending {
        use crate::{
            geometry::Side,
            posture::Moment,
            project::PedalKind,
            reach::{Footing, Limb, Zone},
            units::{deg, mm},
            viewer::{PictureReach, PictureRequest, PictureView, Writing, picture},
        };
        self.units.show();
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
        let grip = self.grip.grip();
        let of = |sides: &[Side], hand: bool| -> Vec<Limb> {
            let limb = |side: &Side| if hand { Limb::Hand(*side, grip) } else { Limb::Foot(*side, Footing::HeelDown) };
            sides.iter().map(limb).collect()
        };
        let reach = self.reach.map(|limbs| PictureReach {
            limbs: match limbs {
                Limbs::LeftHand => of(&[Side::Left], true),
                Limbs::RightHand => of(&[Side::Right], true),
                Limbs::Hands => of(&Side::BOTH, true),
                Limbs::LeftFoot => of(&[Side::Left], false),
                Limbs::RightFoot => of(&[Side::Right], false),
                Limbs::Feet => of(&Side::BOTH, false),
            },
            zones: self
                .zones
                .iter()
                .map(|zone| match zone {
                    ZoneWord::Comfortable => Zone::Comfortable,
                    ZoneWord::Attainable => Zone::Attainable,
                    ZoneWord::Lift => Zone::ShoulderLift,
                    ZoneWord::Lean => Zone::Leaning,
                })
                .collect(),
            lean: deg(self.lean),
        });
        let writing = Writing {
            balloons: !self.no_numbers,
            angles: self.angles,
            distances: self.distances,
            dimensions: self.dimensions,
        };
        let Size { pixels: size, per_metre } = self.size;
        let out = self.out.clone();
        let request = PictureRequest { out, size, view, dark: self.dark, moment, ghost, reach, writing, per_metre };
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
        let _ = (self.dimensions, self.distances, self.angles, self.no_numbers, self.units);
        let _ = (
            self.out,
            self.size.pixels,
            self.size.per_metre,
            self.view,
            self.dark,
            self.steer,
            self.brake,
            self.throttle,
        );
        let _ = (self.reach, self.grip, self.zones, self.lean);
        eprintln!("This heelpoint was built without pictures and window; build it with its default features.");
        Ending::Unable
    }
}

#[cfg(test)]
mod tests {
    use super::{Size, size};

    #[test]
    fn a_size_is_two_numbers_of_pixels() {
        assert_eq!(size("1600x1000"), Ok(Size { pixels: (1600, 1000), per_metre: None }));
        // 297 mm and 210 mm at 300 dots an inch.
        assert_eq!(size("A4"), Ok(Size { pixels: (3508, 2480), per_metre: Some(11_811) }));
        assert_eq!(size("a4-portrait").map(|size| size.pixels), Ok((2480, 3508)));
        assert!(size("1600").is_err());
        assert!(size("0x99999").is_err());
    }
}
