//! The screens before the driver: what they are, where they stand, and what holds them.

use serde::{Deserialize, Serialize};

/// One screen, three side by side, or a curved one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Screens {
    /// How many, and whether they are bent.
    pub kind: ScreenKind,
    /// The picture of one of them.
    pub size: ScreenSize,
    /// Where the middle of the picture is, seen from above.
    pub place: ScreenPlace,
    /// The middle of the picture above the floor.
    pub height_mm: f64,
    /// Leant back from upright, upper edge away from you.
    #[serde(default)]
    pub tilt_deg: f64,
    /// Casing beside the picture, on every side.
    #[serde(default = "default_bezel")]
    pub bezel_mm: f64,
    /// From the picture to the back of the casing.
    #[serde(default = "default_thickness")]
    pub thickness_mm: f64,
    /// Mass of one screen without its stand; without it, estimated from its picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// What holds them.
    #[serde(default, skip_serializing_if = "ScreenStand::is_elsewhere")]
    pub stand: ScreenStand,
    /// Mass of what holds them; without it, estimated from its size.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stand_kg: Option<f64>,
}

/// Common practice, no published source.
const fn default_bezel() -> f64 {
    8.0
}

/// Common practice, no published source: the casing without the bulge that holds the electronics.
const fn default_thickness() -> f64 {
    45.0
}

/// Screens without their stands, by the area of the picture: flat ones of 24 to 32 inch weigh 3 to 6 kg, bent ones of 34 to
/// 49 inch 6 to 12. Common practice, no published source.
const FLAT_KG_PER_M2: f64 = 20.0;
const BENT_KG_PER_M2: f64 = 27.0;

/// How screens stand beside one another.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ScreenKind {
    /// One flat screen.
    Single,
    /// Three flat ones, casing against casing.
    Triple {
        /// How far the outer two are turned towards you out of the plane of the middle one.
        side_angle_deg: f64,
    },
    /// One that is bent about an upright axis before it.
    Ultrawide {
        /// Radius of the picture: 1000 for "1000R".
        radius_mm: f64,
    },
}

impl ScreenKind {
    /// The same kind with usual numbers: side screens turned in by 45°, a bend of 1000 mm. Common practice, no published
    /// source.
    #[must_use]
    pub const fn usual(self) -> Self {
        match self {
            Self::Single => Self::Single,
            Self::Triple { .. } => Self::Triple { side_angle_deg: 45.0 },
            Self::Ultrawide { .. } => Self::Ultrawide { radius_mm: 1000.0 },
        }
    }

    /// "screen", "triple screen" or "ultrawide screen".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Single => "screen",
            Self::Triple { .. } => "triple screen",
            Self::Ultrawide { .. } => "ultrawide screen",
        }
    }
}

/// The size of a picture; a bent one's width goes along the bend.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ScreenSize {
    /// From corner to corner.
    Diagonal {
        /// How long.
        diagonal_mm: f64,
        /// Width to height: (16, 9), (21, 9), (32, 9).
        aspect: [f64; 2],
    },
    /// Its two sides.
    Sides {
        /// Width.
        width_mm: f64,
        /// Height.
        height_mm: f64,
    },
}

impl ScreenSize {
    /// Width and height, mm.
    pub fn sides_mm(self) -> [f64; 2] {
        match self {
            Self::Diagonal { diagonal_mm, aspect: [wide, high] } => {
                let diagonal = wide.hypot(high);
                [diagonal_mm * wide / diagonal, diagonal_mm * high / diagonal]
            }
            Self::Sides { width_mm, height_mm } => [width_mm, height_mm],
        }
    }
}

/// Where the middle of the picture is, seen from above.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ScreenPlace {
    /// At a place of the rig.
    InRig {
        /// From the rear face of the frame.
        forward_mm: f64,
        /// From the centre plane.
        #[serde(default)]
        left_mm: f64,
    },
    /// Straight before a point that stands for the driver's eyes. The point is written down and stays where it is when
    /// somebody else sits in the seat or the seat is moved: a screen doesn't follow.
    FromEye {
        /// Straight from there to the middle of the picture.
        distance_mm: f64,
        /// The point: (x, y, z).
        eye_mm: [f64; 3],
    },
}

/// What holds screens.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ScreenStand {
    /// A wall, a table, or a part from a file.
    #[default]
    Elsewhere,
    /// A post behind the middle screen on two feet that lie on the floor.
    Feet {
        /// The post: across and along.
        post_mm: [f64; 2],
        /// One foot: length, width, height.
        foot_mm: [f64; 3],
        /// Between the middles of the two feet.
        apart_mm: f64,
    },
    /// An arm to a rail.
    Rail {
        /// The rail, by name.
        rail: String,
        /// The arm: across and upright.
        arm_mm: [f64; 2],
    },
}

impl ScreenStand {
    /// The same with usual sizes: a post of 40 × 80 on feet of 600, an arm of 40 × 40. Common practice, no published source.
    #[must_use]
    pub fn usual(&self) -> Self {
        match self {
            Self::Elsewhere => Self::Elsewhere,
            Self::Feet { .. } => Self::Feet { post_mm: [40.0, 80.0], foot_mm: [600.0, 80.0, 40.0], apart_mm: 600.0 },
            Self::Rail { rail, .. } => Self::Rail { rail: rail.clone(), arm_mm: [40.0, 40.0] },
        }
    }

    fn is_elsewhere(&self) -> bool {
        *self == Self::Elsewhere
    }
}

impl Screens {
    /// A single screen of 32 inch behind the wheel unit, to begin with: common practice, no published source.
    pub fn usual() -> Self {
        Self {
            kind: ScreenKind::Single,
            size: ScreenSize::Diagonal { diagonal_mm: 813.0, aspect: [16.0, 9.0] },
            place: ScreenPlace::InRig { forward_mm: 1000.0, left_mm: 0.0 },
            height_mm: 1000.0,
            tilt_deg: 0.0,
            bezel_mm: default_bezel(),
            thickness_mm: default_thickness(),
            mass_kg: None,
            stand: ScreenStand::Elsewhere,
            stand_kg: None,
        }
    }

    /// Usual ones of the same form: as many, held alike, their size and place said alike. What still reads like these was
    /// not measured.
    #[must_use]
    pub fn usual_like(&self) -> Self {
        let usual = Self::usual();
        let [width_mm, height_mm] = usual.size.sides_mm().map(f64::round);
        let size = match self.size {
            ScreenSize::Diagonal { .. } => usual.size,
            ScreenSize::Sides { .. } => ScreenSize::Sides { width_mm, height_mm },
        };
        Self { kind: self.kind.usual(), size, stand: self.stand.usual(), ..usual }
    }

    /// How many there are.
    pub const fn count(&self) -> u32 {
        match self.kind {
            ScreenKind::Single | ScreenKind::Ultrawide { .. } => 1,
            ScreenKind::Triple { .. } => 3,
        }
    }

    /// Mass of one screen without its stand, kg: what is written, or by the area of its picture.
    pub fn each_kg(&self) -> f64 {
        let [width, height] = self.size.sides_mm();
        let per_m2 = match self.kind {
            ScreenKind::Single | ScreenKind::Triple { .. } => FLAT_KG_PER_M2,
            ScreenKind::Ultrawide { .. } => BENT_KG_PER_M2,
        };
        self.mass_kg.unwrap_or(width * height * 1e-6 * per_m2)
    }

    /// Where the middle of the picture is, mm; `None` where no such place is that far from the eye.
    pub fn middle_mm(&self) -> Option<[f64; 3]> {
        match self.place {
            ScreenPlace::InRig { forward_mm, left_mm } => Some([forward_mm, left_mm, self.height_mm]),
            ScreenPlace::FromEye { distance_mm, eye_mm: [x, y, z] } => {
                let up = self.height_mm - z;
                let forward = distance_mm * distance_mm - up * up;
                (forward > 0.0).then(|| [x + forward.sqrt(), y, self.height_mm])
            }
        }
    }

    /// Puts the middle of the picture straight before the eyes at a distance, both mm; its height stays where that can
    /// be, else it comes to the eyes'.
    pub fn put_before(&mut self, eye_mm: [f64; 3], distance_mm: f64) {
        if (self.height_mm - eye_mm[2]).abs() >= distance_mm {
            self.height_mm = eye_mm[2];
        }
        self.place = ScreenPlace::FromEye { distance_mm, eye_mm };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 16:9 has a diagonal of √337; 32 inch are 812.8 mm: 708.4 × 398.5 mm. 3-4-5: 500 straight from an eye
    /// 300 higher is 400 forward.
    #[test]
    fn sizes_and_places_follow_by_pythagoras() {
        let [width, height] = ScreenSize::Diagonal { diagonal_mm: 812.8, aspect: [16.0, 9.0] }.sides_mm();
        assert!((width - 708.4).abs() < 0.05 && (height - 398.5).abs() < 0.05, "{width} {height}");
        let mut screens = Screens {
            kind: ScreenKind::Single,
            size: ScreenSize::Sides { width_mm: 700.0, height_mm: 400.0 },
            place: ScreenPlace::FromEye { distance_mm: 500.0, eye_mm: [200.0, 10.0, 1200.0] },
            height_mm: 900.0,
            ..Screens::usual()
        };
        assert_eq!(screens.middle_mm(), Some([600.0, 10.0, 900.0]));
        screens.height_mm = 600.0;
        assert_eq!(screens.middle_mm(), None);
        screens.put_before([200.0, 0.0, 1200.0], 600.0);
        assert_eq!(screens.middle_mm(), Some([800.0, 0.0, 1200.0]));
    }
}
