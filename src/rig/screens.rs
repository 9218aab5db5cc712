//! The screens, placed: their pictures, and the solids of casings and stand.

use nalgebra::{Point3, Translation3, UnitQuaternion};

use super::RailPart;
use crate::{
    geometry::{Pose, RoundedBox, Vec3},
    project::{ScreenKind, ScreenStand, Screens},
    units::{deg, mm, mm_pair, mm_point},
};

/// Radius of a casing's edges, m: common practice, no published source.
const ROUND: f64 = mm(4.0);
/// A bend is followed by flat pieces that leave it by no more than this, m.
const SAGITTA: f64 = mm(2.0);
/// An arm's two bolts are no nearer to its middle, m.
const LEAST: f64 = mm(20.0);
/// What the arm is called.
const ARM: &str = "screen arm";
/// Pieces of a bend at most.
const PIECES: usize = 24;

/// A flat piece of a picture: upright lines at its left and right, each from its lower to its upper end, W.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pane {
    /// What it is part of: "screen", "left screen", "right screen".
    pub name: &'static str,
    /// The left edge.
    pub left: [Vec3; 2],
    /// The right edge.
    pub right: [Vec3; 2],
}

/// The placed screens.
#[derive(Clone, Debug)]
pub struct ScreensPart {
    /// Frame M of the middle picture in W: x away from the driver, y to the left, z up along the picture.
    pub X_WM: Pose,
    /// The pictures, from left to right.
    pub panes: Vec<Pane>,
    /// Solids with their names: "screen", "left screen", "screen post", …
    pub solids: Vec<(&'static str, RoundedBox)>,
    /// The rail that carries them, by its place in the project.
    pub on_rail: Option<usize>,
    /// Where their arm is bolted to that rail, at either edge of the arm, W.
    pub bolted_at: Vec<Vec3>,
}

impl ScreensPart {
    /// Places screens; `None` where they have no place.
    pub(super) fn place(screens: &Screens, rails: &[RailPart]) -> Option<Self> {
        let middle = mm_point(screens.middle_mm()?);
        let tilt = UnitQuaternion::from_axis_angle(&Vec3::y_axis(), deg(screens.tilt_deg));
        let X_WM = Pose::from_parts(Translation3::from(middle), tilt);
        let mut part = Self { X_WM, panes: Vec::new(), solids: Vec::new(), on_rail: None, bolted_at: Vec::new() };
        let [half_width, half_height] = mm_pair(screens.size.sides_mm()).map(|side| side / 2.0);
        let casing = Casing { half_height, bezel: mm(screens.bezel_mm), thickness: mm(screens.thickness_mm) };
        match screens.kind {
            ScreenKind::Single => part.flat("screen", X_WM, half_width, casing),
            ScreenKind::Triple { side_angle_deg } => {
                // Casings meet at their front edges.
                let half = half_width + casing.bezel;
                let wing = |side: f64| {
                    let turn = UnitQuaternion::from_axis_angle(&Vec3::z_axis(), side * deg(side_angle_deg));
                    let hinge = Pose::from_parts(Translation3::new(0.0, side * half, 0.0), turn);
                    X_WM * hinge * Translation3::new(0.0, side * half, 0.0)
                };
                part.flat("left screen", wing(1.0), half_width, casing);
                part.flat("screen", X_WM, half_width, casing);
                part.flat("right screen", wing(-1.0), half_width, casing);
            }
            ScreenKind::Ultrawide { radius_mm } => part.bent(mm(radius_mm), half_width, casing),
        }
        part.stand(&screens.stand, casing, rails);
        Some(part)
    }

    /// The middle of all casings together, W: they are equally thick, so each counts by its size.
    pub fn centre(&self) -> Vec3 {
        let casings = self.solids.iter().filter(|(name, _)| self.panes.iter().any(|pane| pane.name == *name));
        let (sum, size) = casings.fold((Vec3::zeros(), 0.0), |(sum, size), (_, solid)| {
            let own = solid.half.product();
            (sum + solid.pose.translation.vector * own, size + own)
        });
        if size > 0.0 { sum / size } else { self.X_WM.translation.vector }
    }

    /// The arm to a rail.
    pub fn arm(&self) -> Option<&RoundedBox> {
        self.solids.iter().find(|(name, _)| *name == ARM).map(|(_, solid)| solid)
    }

    /// A flat screen whose picture's frame is given.
    fn flat(&mut self, name: &'static str, X_WF: Pose, half_width: f64, casing: Casing) {
        let point = |y: f64, z: f64| (X_WF * Point3::new(0.0, y, z)).coords;
        let edge = |y: f64| [point(y, -casing.half_height), point(y, casing.half_height)];
        self.panes.push(Pane { name, left: edge(half_width), right: edge(-half_width) });
        self.solids.push((name, casing.solid(X_WF, half_width + casing.bezel)));
    }

    /// A bent screen, its ends towards the driver.
    fn bent(&mut self, radius: f64, half_width: f64, casing: Casing) {
        let half = half_width + casing.bezel;
        let step = 2.0 * (1.0 - SAGITTA / radius).clamp(-1.0, 1.0).acos();
        let count = ((2.0 * half / radius / step).ceil() as usize).clamp(2, PIECES);
        let angle = half / radius / count as f64;
        for piece in 0..count {
            // From the left: turned about the axis of the bend, `radius` before the picture.
            let turn = angle * (count as f64 - 1.0 - 2.0 * piece as f64);
            let about = UnitQuaternion::from_axis_angle(&Vec3::z_axis(), turn);
            let X_WF = self.X_WM
                * Translation3::new(-radius, 0.0, 0.0)
                * Pose::from_parts(Translation3::identity(), about)
                * Translation3::new(radius * angle.cos(), 0.0, 0.0);
            self.solids.push(("screen", casing.solid(X_WF, radius * angle.sin())));
        }
        // The picture itself ends where it ends.
        let on = |share: f64, z: f64| {
            let angle = share * half_width / radius;
            (self.X_WM * Point3::new(radius * (angle.cos() - 1.0), radius * angle.sin(), z)).coords
        };
        let edge = |share: f64| [on(share, -casing.half_height), on(share, casing.half_height)];
        let share = |piece: usize| 1.0 - 2.0 * piece as f64 / count as f64;
        let panes: Vec<Pane> = (0..count)
            .map(|piece| Pane { name: "screen", left: edge(share(piece)), right: edge(share(piece + 1)) })
            .collect();
        self.panes.extend(panes);
    }

    /// What holds them, from the middle of the back.
    fn stand(&mut self, stand: &ScreenStand, casing: Casing, rails: &[RailPart]) {
        let back = (self.X_WM * Point3::new(casing.thickness, 0.0, 0.0)).coords;
        let mut put = |name, centre: Vec3, turn: UnitQuaternion<f64>, half: Vec3| {
            let pose = Pose::from_parts(Translation3::from(centre), turn);
            self.solids.push((name, RoundedBox { pose, half, round: ROUND.min(half.min()) }));
        };
        match stand {
            ScreenStand::Elsewhere => {}
            ScreenStand::Feet { post_mm, foot_mm, apart_mm } => {
                let ([across, along], [length, width, height]) = (mm_pair(*post_mm), foot_mm.map(mm));
                // Behind whatever of a tilted casing reaches furthest back below its middle.
                let low = (self.X_WM * Point3::new(casing.thickness, 0.0, -casing.half_height - casing.bezel)).coords;
                let x = back.x.max(low.x) + along / 2.0;
                let up = UnitQuaternion::identity();
                let top = back.z.max(height);
                let post = Vec3::new(along / 2.0, across / 2.0, top / 2.0);
                put("screen post", Vec3::new(x, back.y, top / 2.0), up, post);
                let apart = mm(*apart_mm) / 2.0;
                let bar = Vec3::new(along / 2.0, apart, height / 2.0);
                put("screen stand", Vec3::new(x, back.y, height / 2.0), up, bar);
                for (name, side) in [("left screen foot", 1.0), ("right screen foot", -1.0)] {
                    let half = Vec3::new(length / 2.0, width / 2.0, height / 2.0);
                    put(name, Vec3::new(x, back.y + side * apart, height / 2.0), up, half);
                }
            }
            ScreenStand::Rail { rail, arm_mm } => {
                self.on_rail = rails.iter().position(|part| part.name == *rail);
                let Some(rail) = self.on_rail.map(|at| &rails[at].solid) else { return };
                let along = rail.pose.rotation * Vec3::z();
                let centre = rail.pose.translation.vector;
                let end = centre + along * (back - centre).dot(&along).clamp(-rail.half.z, rail.half.z);
                let [across, upright] = mm_pair(*arm_mm);
                let edge = along * (across / 2.0).max(LEAST);
                self.bolted_at = vec![end - edge, end + edge];
                let way = end - back;
                let length = way.norm();
                if length < mm(1.0) {
                    return;
                }
                let turn = UnitQuaternion::rotation_between(&Vec3::x(), &way).unwrap_or_default();
                put(ARM, (back + end) / 2.0, turn, Vec3::new(length / 2.0, across / 2.0, upright / 2.0));
            }
        }
    }
}

/// What stands round and behind a picture, m.
#[derive(Clone, Copy)]
struct Casing {
    half_height: f64,
    bezel: f64,
    thickness: f64,
}

impl Casing {
    /// The solid behind a picture in frame F, so wide.
    fn solid(self, X_WF: Pose, half_width: f64) -> RoundedBox {
        let half = Vec3::new(self.thickness / 2.0, half_width, self.half_height + self.bezel);
        let pose = X_WF * Translation3::new(self.thickness / 2.0, 0.0, 0.0);
        RoundedBox { pose, half, round: ROUND.min(half.min()) }
    }
}
