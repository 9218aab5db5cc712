//! The principal dimensions of a fit, as a drawing shows them: what each is measured between, along which way, where its
//! line stands beside body and rig, and its value.
//!
//! Vehicle packages are described by the same ones (SAE J1100, its codes from memory): H30 H-point above heel, L53 H-point
//! to heel, L11 and H17 wheel to heel, H18 angle of the wheel, L40 angle of the back. Here the wheel is measured from the
//! H-point, for seat and wheel are what is moved.

use crate::{
    findings::{arm_angles, knee_and_ankle},
    geometry::{Side, Vec3},
    posture::Posture,
    project::Rim,
    study::Solved,
    units::{Unit, deg, mm, to_deg, to_mm},
    words::first_upper,
};

/// The view in which a dimension is true to scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Elevation {
    /// From the driver's left.
    Side,
    /// From above.
    Top,
    /// From ahead.
    Front,
}

/// One dimension.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// What tells it from the others.
    pub key: &'static str,
    /// What it is called, in a few words.
    pub name: String,
    /// The view that it belongs to.
    pub view: Elevation,
    /// What is measured, W, metres.
    pub span: Span,
}

/// What a dimension measures, W, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Span {
    /// A distance along an axis.
    Along {
        /// The two points.
        ends: [Vec3; 2],
        /// The ends of its line, each beside its point; its length is the value.
        line: [Vec3; 2],
    },
    /// An angle.
    Angle {
        /// Its apex.
        at: Vec3,
        /// A point on each ray.
        rays: [Vec3; 2],
        /// The value as people read it, rad; at a joint it is the angle of the joint, which the drawn rays need not make
        /// to the degree.
        value: f64,
    },
}

impl Dimension {
    /// The value: metres, or radians.
    pub fn value(&self) -> f64 {
        match self.span {
            Span::Along { line: [a, b], .. } => (b - a).norm(),
            Span::Angle { value, .. } => value,
        }
    }

    /// The value as a reader wants it.
    pub fn words(&self) -> String {
        match self.span {
            Span::Along { .. } => Unit::Millimetre.show(to_mm(self.value())),
            Span::Angle { .. } => Unit::Degree.show(to_deg(self.value())),
        }
    }

    /// Every point that a picture has to hold to show it.
    pub fn points(&self) -> Vec<Vec3> {
        match self.span {
            Span::Along { ends, line } => ends.into_iter().chain(line).collect(),
            Span::Angle { at, rays, .. } => rays.into_iter().chain([at]).collect(),
        }
    }
}

/// From body and rig to the first line, and from line to line, m: words stand beside upright lines and on level ones.
const FIRST: f64 = 0.09;
const NEXT: f64 = 0.10;
const NEXT_UPRIGHT: f64 = 0.17;
/// Length of the rays of an angle that has no limb, m.
const RAY: f64 = 0.3;

/// The principal dimensions of a solved project in a posture, beside what lies within `low` and `high` (W, m): the box
/// round body and rig.
pub fn dimensions(study: &Solved, posture: &Posture, [low, high]: [Vec3; 2]) -> Vec<Dimension> {
    let mut sheet = Sheet { low, high, list: Vec::new() };
    let (h, eyes) = (posture.sitting.h_point, posture.sitting.eyes);
    let heel = posture.legs[Side::Right.index()].heel;
    let wheel = study.rig.wheel.X_WR.translation.vector;
    let floor = |below: Vec3| Vec3::new(below.x, below.y, 0.0);
    use Elevation::{Front, Side as FromSide, Top};

    // Heights behind the seat, the lowest nearest to it; lengths below the floor and above the head.
    sheet.along("h_point_above_heel", "H-point above heel", FromSide, [heel, h], 2, Beside::Behind(0));
    sheet.along("h_point_height", "H-point above floor", FromSide, [floor(h), h], 2, Beside::Behind(1));
    sheet.along("eye_height", "Eyes above floor", FromSide, [floor(eyes), eyes], 2, Beside::Behind(2));
    sheet.along("wheel_above_h_point", "Wheel above H-point", FromSide, [h, wheel], 2, Beside::Ahead(0));
    sheet.along("h_point_to_heel", "H-point to heel", FromSide, [h, heel], 0, Beside::Below(0));
    sheet.along("h_point_to_wheel", "H-point to wheel", FromSide, [h, wheel], 0, Beside::Above(0));

    let seat = &study.project.seat;
    let at = study.rig.seat.X_WS.translation.vector;
    let up_back = study.rig.seat.X_WK.rotation * Vec3::z() * mm(seat.back.length_mm);
    let back = [at + up_back, at - Vec3::x() * RAY];
    sheet.angle("back_angle", "Back, from level".to_owned(), at, back, deg(90.0 - seat.back_from_vertical_deg()));
    let leans = study.rig.wheel.X_WR.rotation * Vec3::z() * RAY;
    let column = deg(study.project.wheel.column_angle_deg);
    sheet.angle(
        "wheel_angle",
        "Wheel, from upright".to_owned(),
        wheel,
        [wheel + leans, wheel + Vec3::z() * RAY],
        column,
    );
    sheet.joints(posture);

    // From above: how far pedals and wheel stand beside the middle of the seat, and what it takes of the room.
    for (place, pedal) in study.rig.pedals.list.iter().enumerate() {
        let face = pedal.face_pose(&study.rig.pedals, 0.0).translation.vector;
        let name = format!("{} beside H-point", pedal.kind.word());
        sheet.put(pedal.kind.word(), first_upper(&name), Top, [h, face], 1, Beside::Ahead(place));
    }
    let pedals = study.rig.pedals.list.len();
    let corner = |x: f64, y: f64, z: f64| Vec3::new(x, y, z);
    let wide = [corner(high.x, low.y, low.z), corner(high.x, high.y, low.z)];
    let long = [low, corner(high.x, low.y, low.z)];
    sheet.along("width", "Width over all", Top, wide, 1, Beside::Ahead(pedals));
    sheet.along("length", "Length over all", Top, long, 0, Beside::Right(0));

    let half = Vec3::y() * (mm(across_mm(&study.project.wheel.rim)) / 2.0);
    sheet.along("wheel_width", "Wheel, outside", Front, [wheel - half, wheel + half], 1, Beside::Above(0));
    sheet.along("wheel_height", "Wheel centre above floor", Front, [floor(wheel), wheel], 2, Beside::Left(0));
    let tall = [corner(low.x, high.y, low.z), corner(low.x, high.y, high.z)];
    sheet.along("height", "Height over all", Front, tall, 2, Beside::Left(1));
    sheet.along("width", "Width over all", Front, wide, 1, Beside::Below(0));
    sheet.list
}

/// Where a dimension's line stands beside the box, and which one from there it is.
#[derive(Clone, Copy)]
enum Beside {
    Behind(usize),
    Ahead(usize),
    Below(usize),
    Above(usize),
    Left(usize),
    Right(usize),
}

struct Sheet {
    low: Vec3,
    high: Vec3,
    list: Vec<Dimension>,
}

impl Sheet {
    /// A distance along an axis of W; none where it is nothing.
    fn along(&mut self, key: &'static str, name: &str, view: Elevation, ends: [Vec3; 2], axis: usize, beside: Beside) {
        self.put(key, name.to_owned(), view, ends, axis, beside);
    }

    fn put(&mut self, key: &'static str, name: String, view: Elevation, ends: [Vec3; 2], axis: usize, beside: Beside) {
        let off = |line: usize| FIRST + NEXT * line as f64;
        let upright = |line: usize| FIRST + NEXT_UPRIGHT * line as f64;
        let (low, high) = (self.low, self.high);
        let (across, at) = match beside {
            Beside::Behind(line) => (0, low.x - upright(line)),
            Beside::Ahead(line) => (0, high.x + upright(line)),
            Beside::Right(line) => (1, low.y - off(line)),
            Beside::Left(line) => (1, high.y + upright(line)),
            Beside::Below(line) => (2, low.z - off(line)),
            Beside::Above(line) => (2, high.z + off(line)),
        };
        // Both ends of the line lie in the plane of the first point, square to the axis.
        let line = ends.map(|end| {
            let mut on = ends[0];
            on[axis] = end[axis];
            on[across] = at;
            on
        });
        if (line[1] - line[0]).norm() > mm(0.5) {
            self.list.push(Dimension { key, name, view, span: Span::Along { ends, line } });
        }
    }

    fn angle(&mut self, key: &'static str, name: String, at: Vec3, rays: [Vec3; 2], value: f64) {
        self.list.push(Dimension { key, name, view: Elevation::Side, span: Span::Angle { at, rays, value } });
    }

    /// Elbow, knee and ankle: once where both sides read the same.
    fn joints(&mut self, posture: &Posture) {
        let of = |side: Side| {
            let (arm, leg) = (&posture.arms[side.index()], &posture.legs[side.index()]);
            let [(_, elbow), ..] = arm_angles(arm);
            let [knee, ankle] = knee_and_ankle(leg);
            [
                ("elbow", arm.elbow(), [arm.shoulder(), arm.wrist()], elbow),
                ("knee", leg.knee(), [leg.hip(), leg.ankle()], knee),
                ("ankle", leg.ankle(), [leg.knee(), leg.ball], ankle),
            ]
        };
        let [left, right] = Side::BOTH.map(of);
        for (left, right) in left.into_iter().zip(right) {
            let (key, at, rays, value) = left;
            if Unit::Degree.show(value) == Unit::Degree.show(right.3) {
                self.angle(key, first_upper(key), at, rays, deg(value));
            } else {
                for (side, (key, at, rays, value)) in Side::BOTH.into_iter().zip([left, right]) {
                    self.angle(key, first_upper(&format!("{} {key}", side.word())), at, rays, deg(value));
                }
            }
        }
    }
}

/// A rim from side to side over the outside, mm.
const fn across_mm(rim: &Rim) -> f64 {
    match *rim {
        Rim::Round { diameter_mm } | Rim::FlatBottomed { diameter_mm, .. } | Rim::OpenTopped { diameter_mm, .. } => {
            diameter_mm
        }
        Rim::Formula { width_mm, .. } => width_mm,
    }
}
