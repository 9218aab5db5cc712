//! Parts whose shape comes from a file: where it is, how it is to be read, and what it stands for.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::Project;
use crate::geometry::{TriangleMesh, Vec3};

/// A part whose shape comes from a file of triangles.
///
/// The shape takes the place of what the dimensions say about that part wherever distances to the person are measured;
/// how one sits, and what the hands hold, still follows the dimensions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shape {
    /// What it is called in findings.
    pub name: String,
    /// The file (STL, OBJ or glTF), from the folder of the project's file.
    pub file: String,
    /// The unit of the numbers in the file.
    pub unit: LengthUnit,
    /// Which of the file's axes points forward, as the driver looks.
    #[serde(default = "Axis::forward")]
    pub forward: Axis,
    /// Which of them points up.
    #[serde(default = "Axis::up")]
    pub up: Axis,
    /// The part that it stands for.
    pub stands_for: StandsFor,
    /// Where the file's origin lies, seen from that part: (forward, left, up).
    #[serde(default)]
    pub at_mm: [f64; 3],
    /// Turned about the part's axes at that place: forward, left, up, in this order.
    #[serde(default)]
    pub turn_deg: [f64; 3],
    /// The shape, once it was read.
    #[serde(skip)]
    pub mesh: Loaded,
}

impl Project {
    /// Takes the shape at `index` away, with what adjusts it; what adjusts those behind it follows them.
    pub fn remove_shape(&mut self, index: usize) {
        self.shapes.remove(index);
        self.adjusters.retain_mut(|adjuster| {
            let Some((at, rest)) = adjuster.field.strip_prefix("shapes[").and_then(|rest| rest.split_once(']')) else {
                return true;
            };
            match at.parse::<usize>() {
                Ok(at) if at == index => false,
                Ok(at) if at > index => {
                    adjuster.field = format!("shapes[{}]{rest}", at - 1);
                    true
                }
                _ => true,
            }
        });
    }
}

/// A shape that may have been read; no part of what was written.
#[derive(Clone, Debug, Default)]
pub struct Loaded(pub Option<Arc<TriangleMesh>>);

impl PartialEq for Loaded {
    /// Always: two projects are the same where the same is written.
    fn eq(&self, _other: &Self) -> bool {
        true
    }
}

/// The unit of a file's lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum LengthUnit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres, as glTF has them.
    M,
    /// Inches.
    Inch,
}

impl LengthUnit {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Mm, Self::Cm, Self::M, Self::Inch];

    /// How many metres one is.
    pub const fn metres(self) -> f64 {
        match self {
            Self::Mm => 1e-3,
            Self::Cm => 1e-2,
            Self::M => 1.0,
            Self::Inch => 0.0254,
        }
    }

    /// "mm", "cm", "m" or "inch".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::Inch => "inch",
        }
    }
}

/// An axis of a file, and which way along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Axis {
    /// Along x.
    PlusX,
    /// Against x.
    MinusX,
    /// Along y.
    PlusY,
    /// Against y.
    MinusY,
    /// Along z.
    PlusZ,
    /// Against z.
    MinusZ,
}

impl Axis {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::PlusX, Self::MinusX, Self::PlusY, Self::MinusY, Self::PlusZ, Self::MinusZ];

    const fn forward() -> Self {
        Self::PlusX
    }

    const fn up() -> Self {
        Self::PlusZ
    }

    /// "+x", "−y", …
    pub const fn word(self) -> &'static str {
        match self {
            Self::PlusX => "+x",
            Self::MinusX => "−x",
            Self::PlusY => "+y",
            Self::MinusY => "−y",
            Self::PlusZ => "+z",
            Self::MinusZ => "−z",
        }
    }

    /// The direction in the file's own axes.
    pub fn direction(self) -> Vec3 {
        let (axis, sign) = match self {
            Self::PlusX => (0, 1.0),
            Self::MinusX => (0, -1.0),
            Self::PlusY => (1, 1.0),
            Self::MinusY => (1, -1.0),
            Self::PlusZ => (2, 1.0),
            Self::MinusZ => (2, -1.0),
        };
        let mut out = Vec3::zeros();
        out[axis] = sign;
        out
    }

    /// Whether two lie on one line.
    pub fn is_along(self, other: Self) -> bool {
        self.direction().dot(&other.direction()).abs() > 0.5
    }
}

/// What a shape stands for, and whose frame it is placed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum StandsFor {
    /// The seat's shell with its bolsters: seen from where cushion and back meet, forward along the cushion.
    Seat,
    /// The steering wheel: seen from its centre, forward along the shaft; it turns with the wheel.
    Rim,
    /// The wheel unit: seen from the wheel's centre, forward along the shaft.
    WheelUnit,
    /// The pedals' plate and whatever is fixed to it: seen from the set's reference point, forward along its plate.
    PedalPlate,
    /// A screen: seen from the floor under the rear face of the frame.
    Screen,
    /// Anything else that stands there, seen from the same place.
    Other,
}

impl StandsFor {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::Seat, Self::Rim, Self::WheelUnit, Self::PedalPlate, Self::Screen, Self::Other];

    /// Where the file's origin comes to stand: "in the wheel's centre, forward along its shaft".
    pub const fn origin(self) -> &'static str {
        match self {
            Self::Seat => "where cushion and back meet, forward along the cushion",
            Self::Rim | Self::WheelUnit => "in the wheel's centre, forward along its shaft",
            Self::PedalPlate => "in the pedals' reference point, forward along their plate",
            Self::Screen | Self::Other => "on the floor under the rear face of the frame",
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::project::{AdjusterRange, Checked, parse};

    #[test]
    fn adjusters_follow_the_shapes_behind_one_that_is_taken_away() {
        let mut project = parse(include_str!("../../assets/bucket_shell.ron")).unwrap().into_inner();
        let shape = project.shapes[0].clone();
        project.shapes.push(super::Shape { name: "second".to_owned(), ..shape });
        for at in [0, 1] {
            let field = format!("shapes[{at}].at_mm[2]");
            project.adjusters.push(AdjusterRange { field, range: [-50.0, 50.0 + f64::from(at)], step: 0.0 });
        }
        project.remove_shape(0);
        let left: Vec<_> = project.adjusters.iter().filter(|one| one.field.starts_with("shapes")).collect();
        assert_eq!((left.len(), left[0].field.as_str(), left[0].range[1]), (1, "shapes[0].at_mm[2]", 51.0));
        assert_eq!(project.shapes[0].name, "second");
        assert!(Checked::new(project).is_ok());
    }
}
