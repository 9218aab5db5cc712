//! Parts and settings of a project, placed in the world: frames, solids for distances, surfaces for the eye.

#![allow(non_snake_case, reason = "frame notation: X_WS is the pose of S in W, p_WQ the point Q seen from W")]

mod carry;
mod hardware;
mod imported;
mod pedals;
mod screens;
mod seat;
mod shapes;
mod wheel;

pub use carry::{Carried, Handle, Way, carry, ways};
pub use hardware::{Hardware, Piece};
pub use imported::ImportedPart;
pub use pedals::{Face, PedalPart, Pedals};
pub use screens::{Pane, ScreensPart};
pub use seat::SeatPart;
pub use shapes::{Surface, SurfaceKind};
pub use wheel::WheelPart;

use std::sync::OnceLock;

use nalgebra::Translation3;

use crate::{
    geometry::{Pose, RoundedBox, Side, Vec3, from_axes},
    posture::Moment,
    project::{Checked, StandsFor},
    units::{mm, mm_point},
};

/// A fixed part of the frame.
#[derive(Clone, Debug)]
pub struct RailPart {
    /// Its name in the project.
    pub name: String,
    /// Its outer box; z along the rail.
    pub solid: RoundedBox,
    /// Section across and upright, m.
    pub section: [f64; 2],
}

/// A control, placed.
#[derive(Clone, Debug)]
pub struct ControlPoint {
    /// Its name.
    pub name: String,
    /// Where it is gripped, W.
    pub at: Vec3,
    /// By which hand.
    pub hand: Side,
}

/// Everything but the person, in SI units and world coordinates.
#[derive(Clone, Debug)]
pub struct Rig {
    /// Seat.
    pub seat: SeatPart,
    /// Wheel and wheel unit.
    pub wheel: WheelPart,
    /// Pedals.
    pub pedals: Pedals,
    /// Rails.
    pub rails: Vec<RailPart>,
    /// Controls.
    pub controls: Vec<ControlPoint>,
    /// Screens.
    pub screens: Option<ScreensPart>,
    /// Parts whose shape came from a file and was read.
    pub imported: Vec<ImportedPart>,
    /// What joins the rails, as it is drawn; set before surfaces are asked for, by who knows the frame.
    pub hardware: Vec<Hardware>,
    /// Made when first asked for.
    surfaces: OnceLock<Vec<Surface>>,
    small: OnceLock<Vec<Surface>>,
}

/// What a solid of the rig belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RigPart {
    /// Cushion, back, bolsters or wings.
    Seat(&'static str),
    /// The rim.
    Rim,
    /// Spokes and hub.
    Hub,
    /// The box behind the wheel.
    WheelUnit,
    /// A pedal's face and arm.
    Pedal(crate::project::PedalKind),
    /// The pedals' base plate and heel plate.
    PedalBase,
    /// A control, by its place in the project.
    Control(usize),
    /// A rail, by its place in the project.
    Rail(usize),
    /// A screen, or a piece of its stand.
    Screen(&'static str),
    /// A part whose shape came from a file, by its place in [`Rig::imported`].
    Imported(usize),
}

impl Rig {
    /// Places every part of a project.
    pub fn place(project: &Checked) -> Self {
        let (seat, wheel, pedals) =
            (SeatPart::place(&project.seat), WheelPart::place(project), Pedals::place(&project.pedals));
        let shapes = project.shapes.iter().enumerate();
        let imported =
            shapes.filter_map(|(index, shape)| ImportedPart::place(index, shape, &seat, &wheel, &pedals)).collect();
        let rails: Vec<RailPart> = project.frame.iter().map(RailPart::place).collect();
        let screens = project.screens.as_ref().and_then(|screens| ScreensPart::place(screens, &rails));
        Self {
            seat,
            wheel,
            pedals,
            screens,
            imported,
            rails,
            controls: project
                .controls
                .iter()
                .map(|control| ControlPoint {
                    name: control.name.clone(),
                    at: mm_point(control.at_mm),
                    hand: control.hand,
                })
                .collect(),
            hardware: Vec::new(),
            surfaces: OnceLock::new(),
            small: OnceLock::new(),
        }
    }

    /// Whether a part's dimensions are replaced by a shape from a file.
    pub fn is_imported(&self, stands_for: StandsFor) -> bool {
        self.imported.iter().any(|part| part.stands_for == stands_for)
    }

    /// Surfaces to draw but for [`Rig::small_surfaces`], with the wheel straight and the pedals released; [`Rig::part_pose`] moves them. The first
    /// call makes them (some hundredths of a second), later ones hand out the same.
    pub fn surfaces(&self) -> &[Surface] {
        self.surfaces.get_or_init(|| shapes::surfaces(self))
    }

    /// Surfaces of what joins the rails and closes them (brackets, bolts, caps, feet), beside [`Rig::surfaces`].
    pub fn small_surfaces(&self) -> &[Surface] {
        self.small.get_or_init(|| shapes::hardware::surfaces(&self.hardware))
    }

    /// The rigid motion of a part from rest to a moment, in W: a point p of its surface goes to this times p. The
    /// identity for all but the rim with its hub and the pedals.
    pub fn part_pose(&self, part: &RigPart, moment: &Moment) -> Pose {
        match part {
            RigPart::Rim | RigPart::Hub => self.wheel.turned(moment.steer),
            RigPart::Imported(index) if self.imported.get(*index).is_some_and(ImportedPart::turns) => {
                self.wheel.turned(moment.steer)
            }
            RigPart::Pedal(kind) => self.pedals.get(*kind).map_or_else(Pose::identity, |pedal| {
                let at = |travel: f64| pedal.face_pose(&self.pedals, travel);
                at(moment.travel_of(*kind)) * at(0.0).inverse()
            }),
            RigPart::Seat(_)
            | RigPart::WheelUnit
            | RigPart::PedalBase
            | RigPart::Control(_)
            | RigPart::Rail(_)
            | RigPart::Screen(_)
            | RigPart::Imported(_) => Pose::identity(),
        }
    }
}

impl RailPart {
    /// Places a rail; how it lies stands at [`crate::project::Rail::axes`].
    pub fn place(rail: &crate::project::Rail) -> Self {
        let (from, to) = (mm_point(rail.from_mm), mm_point(rail.to_mm));
        let axes = rail.axes();
        let [across, upright, along] = [0, 1, 2].map(|i| axes.column(i).into_owned());
        let section = rail.section_mm.map(mm);
        let half = Vec3::new(section[0] / 2.0, section[1] / 2.0, (to - from).norm() / 2.0);
        let solid = RoundedBox {
            pose: Pose::from_parts(Translation3::from((from + to) / 2.0), from_axes(across, upright, along)),
            half,
            round: mm(1.5).min(half.min()),
        };
        Self { name: rail.name.clone(), solid, section }
    }
}
