//! Steering wheel and wheel unit, placed.

use nalgebra::{Point3, Translation3, UnitQuaternion};

use crate::{
    geometry::{Pose, RimPath, RimPiece, RimSolid, RoundedBox, TaperedCapsule, Vec3, from_axes},
    project::{Project, Rim},
    units::{deg, mm, mm_point},
};

/// The placed wheel.
#[derive(Clone, Debug)]
pub struct WheelPart {
    /// Rim frame R in W with the wheel straight: x along the shaft away from the driver, y left, z to 12 o'clock.
    pub X_WR: Pose,
    /// Centre line of the rim.
    pub path: RimPath,
    /// Radius of the rim's tube, m.
    pub tube: f64,
    /// Wheel angle at the stop, rad, each way.
    pub lock: f64,
    /// Clock angle of the hands, rad from 12 o'clock, clockwise as the driver sees it: left, right.
    pub hands: [f64; 2],
    /// The wheel unit.
    pub unit: RoundedBox,
    /// The shaft and hub between rim plane and unit.
    pub hub: TaperedCapsule,
}

impl WheelPart {
    /// Places the wheel of a project.
    pub fn place(project: &Project) -> Self {
        let (wheel, unit) = (&project.wheel, &project.wheel_unit);
        let (sin, cos) = deg(wheel.column_angle_deg).sin_cos();
        let (away, left, up) = (Vec3::new(cos, 0.0, -sin), Vec3::y(), Vec3::new(sin, 0.0, cos));
        let centre = mm_point(wheel.centre_mm);
        let rotation = from_axes(away, left, up);
        let X_WR = Pose::from_parts(Translation3::from(centre), rotation);
        let size = mm_point(unit.size_mm);
        let near = mm(unit.behind_mm);
        let middle = X_WR * Point3::new(near + size.x / 2.0, 0.0, -mm(unit.drop_mm));
        let half = size / 2.0;
        let hour = |h: f64| h / 12.0 * std::f64::consts::TAU;
        Self {
            X_WR,
            path: rim_path(&wheel.rim, mm(wheel.tube_mm) / 2.0),
            tube: mm(wheel.tube_mm) / 2.0,
            lock: deg(wheel.lock_deg),
            hands: wheel.hands_h.map(hour),
            unit: RoundedBox {
                pose: Pose::from_parts(Translation3::from(middle.coords), rotation),
                half,
                round: mm(8.0).min(half.min()),
            },
            // Its round end touches the rim plane from behind.
            hub: TaperedCapsule {
                a: centre + away * HUB_RADIUS.min(near),
                b: centre + away * near,
                radius_a: HUB_RADIUS,
                radius_b: HUB_RADIUS,
            },
        }
    }

    /// Pose of the rim frame with the wheel turned by `steer` (rad, left positive: the top goes to the left).
    pub fn rim_pose(&self, steer: f64) -> Pose {
        // Left is y, 12 o'clock z: bringing z towards y is a negative turn about x.
        let turn = UnitQuaternion::from_axis_angle(&Vec3::x_axis(), -steer);
        self.X_WR * Pose::from_parts(Translation3::identity(), turn)
    }

    /// The motion, in W, of what turns with the wheel.
    pub fn turned(&self, steer: f64) -> Pose {
        self.rim_pose(steer) * self.X_WR.inverse()
    }

    /// The rim at a wheel angle.
    pub fn rim(&self, steer: f64) -> RimSolid {
        RimSolid { pose: self.rim_pose(steer), path: self.path.clone(), tube: self.tube }
    }

    /// Where a hand holds: the middle of the tube at a clock angle of the unturned rim (rad, clockwise as the driver
    /// sees it), with the wheel turned by `steer`; then the direction of the tube, anticlockwise, and the direction
    /// in the rim plane normal to it, inward. W. Where the rim is open, its nearest end.
    pub fn grip_point(&self, clock: f64, steer: f64) -> (Vec3, Vec3, Vec3) {
        let (point, along) = on_path(&self.path, clock);
        let pose = self.rim_pose(steer);
        let inward = [along[1], -along[0]];
        let world = |v: [f64; 2]| pose.rotation * Vec3::new(0.0, v[0], v[1]);
        ((pose * Point3::new(0.0, point[0], point[1])).coords, world(along), world(inward))
    }

    /// The middle of the tube at 12 o'clock with the wheel straight; for an open top, where the circle would be.
    pub fn top_point(&self) -> Vec3 {
        let radius = self.path.pieces.iter().find_map(|piece| match piece {
            RimPiece::Arc { centre, radius, .. } if centre[0].hypot(centre[1]) < 1e-9 => Some(*radius),
            _ => None,
        });
        let up = radius.unwrap_or_else(|| on_path(&self.path, 0.0).0[1]);
        (self.X_WR * Point3::new(0.0, 0.0, up)).coords
    }
}

/// Radius of hub and shaft between rim and unit, m: common practice, no published source.
const HUB_RADIUS: f64 = mm(35.0);

/// The centre line of a rim whose sizes are given over the outside.
fn rim_path(rim: &Rim, tube: f64) -> RimPath {
    use std::f64::consts::{FRAC_PI_2, PI, TAU};
    let arc = |centre: [f64; 2], radius: f64, start: f64, sweep: f64| RimPiece::Arc { centre, radius, start, sweep };
    let pieces = match *rim {
        Rim::Round { diameter_mm } => vec![arc([0.0; 2], mm(diameter_mm) / 2.0 - tube, 0.0, TAU)],
        Rim::FlatBottomed { diameter_mm, flat_mm } => {
            let radius = mm(diameter_mm) / 2.0 - tube;
            let flat = (mm(flat_mm) - tube).clamp(0.0, radius);
            let half = (flat / radius).acos();
            let x = radius * half.sin();
            // From the right end of the flat anticlockwise over the top to its left end.
            vec![
                arc([0.0; 2], radius, half - PI, TAU - 2.0 * half),
                RimPiece::Line { from: [x, -flat], to: [-x, -flat] },
            ]
        }
        Rim::OpenTopped { diameter_mm, opening_deg } => {
            let half = deg(opening_deg) / 2.0;
            vec![arc([0.0; 2], mm(diameter_mm) / 2.0 - tube, half, TAU - 2.0 * half)]
        }
        Rim::Formula { width_mm, height_mm, corner_mm } => {
            let (w, h) = (mm(width_mm) / 2.0 - tube, mm(height_mm) / 2.0 - tube);
            let r = (mm(corner_mm) - tube).clamp(mm(1.0), w.min(h));
            let (x, y) = (w - r, h - r);
            // From the top, anticlockwise: up-left corner, left side, …
            vec![
                RimPiece::Line { from: [-x, h], to: [x, h] },
                arc([x, y], r, 0.0, FRAC_PI_2),
                RimPiece::Line { from: [w, y], to: [w, -y] },
                arc([x, -y], r, FRAC_PI_2, FRAC_PI_2),
                RimPiece::Line { from: [x, -h], to: [-x, -h] },
                arc([-x, -y], r, PI, FRAC_PI_2),
                RimPiece::Line { from: [-w, -y], to: [-w, y] },
                arc([-x, y], r, -FRAC_PI_2, FRAC_PI_2),
            ]
        }
    };
    RimPath { pieces }
}

/// The point of a path on the ray at a clock angle, and the path's direction there, anticlockwise: (left, up).
fn on_path(path: &RimPath, clock: f64) -> ([f64; 2], [f64; 2]) {
    // Clockwise from 12 for the driver is from up towards the right, which is −left.
    let ray = [-clock.sin(), clock.cos()];
    let mut best = (f64::INFINITY, [0.0; 2], [1.0, 0.0]);
    for piece in &path.pieces {
        let (point, along) = match piece {
            RimPiece::Arc { centre, radius, start, sweep } => {
                let b = ray[0] * centre[0] + ray[1] * centre[1];
                let c = centre[0].powi(2) + centre[1].powi(2) - radius * radius;
                let far = b + (b * b - c).max(0.0).sqrt();
                let angle = (ray[0] * far - centre[0]).atan2(ray[1] * far - centre[1]);
                let past = (angle - start).rem_euclid(std::f64::consts::TAU);
                let past = if past <= *sweep || *sweep >= std::f64::consts::TAU - 1e-9 {
                    past
                } else if past - sweep < std::f64::consts::TAU - past {
                    *sweep
                } else {
                    0.0
                };
                let angle = start + past;
                ([centre[0] + radius * angle.sin(), centre[1] + radius * angle.cos()], [angle.cos(), -angle.sin()])
            }
            RimPiece::Line { from, to } => {
                let d = [to[0] - from[0], to[1] - from[1]];
                let length = d[0].hypot(d[1]).max(1e-12);
                let cross = ray[0] * d[1] - ray[1] * d[0];
                let t = if cross.abs() > 1e-12 { (ray[1] * from[0] - ray[0] * from[1]) / cross } else { 0.5 };
                let t = t.clamp(0.0, 1.0);
                ([from[0] + d[0] * t, from[1] + d[1] * t], [d[0] / length, d[1] / length])
            }
        };
        // Off the ray by the angle between; opposite the ray counts as far.
        let off = (point[0] * ray[1] - point[1] * ray[0]).atan2(point[0] * ray[0] + point[1] * ray[1]).abs();
        if off < best.0 - 1e-9 {
            best = (off, point, along);
        }
    }
    (best.1, best.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wheel(rim: Rim) -> WheelPart {
        let mut project = crate::project::parse(crate::project::starter()).unwrap().into_inner();
        project.wheel.rim = rim;
        project.wheel.tube_mm = 30.0;
        project.wheel.centre_mm = [600.0, 0.0, 700.0];
        project.wheel.column_angle_deg = 20.0;
        WheelPart::place(&project)
    }

    /// By hand: centre line radius 150 − 15 = 135; the top stands 135 sin 20° = 46.17 forward, 135 cos 20° = 126.86 up.
    #[test]
    fn the_top_leans_forward_by_the_column_angle() {
        let top = wheel(Rim::Round { diameter_mm: 300.0 }).top_point();
        assert!((top - Vec3::new(0.646_17, 0.0, 0.826_86)).norm() < 1e-5, "{top}");
    }

    #[test]
    fn nine_o_clock_is_on_the_drivers_left_and_turning_left_brings_twelve_there() {
        let part = wheel(Rim::Round { diameter_mm: 300.0 });
        let quarter = std::f64::consts::FRAC_PI_2;
        let (nine, along, inward) = part.grip_point(3.0 * quarter, 0.0);
        assert!((nine - Vec3::new(0.6, 0.135, 0.7)).norm() < 1e-9, "{nine}");
        assert!(along.z < 0.0, "anticlockwise goes down at 9 o'clock");
        assert!((inward - Vec3::new(0.0, -1.0, 0.0)).norm() < 1e-9);
        let (turned, ..) = part.grip_point(0.0, quarter);
        assert!((turned - nine).norm() < 1e-9);
    }

    #[test]
    fn every_outline_is_closed_or_open_as_it_says_and_keeps_to_its_size() {
        for (rim, closed) in [
            (Rim::Round { diameter_mm: 300.0 }, true),
            (Rim::FlatBottomed { diameter_mm: 300.0, flat_mm: 120.0 }, true),
            (Rim::OpenTopped { diameter_mm: 285.0, opening_deg: 80.0 }, false),
            (Rim::Formula { width_mm: 270.0, height_mm: 180.0, corner_mm: 55.0 }, true),
        ] {
            let path = rim_path(&rim, 0.015);
            let points = path.points(100);
            for pair in path.pieces.windows(2) {
                let (end, start) = (pair[0].point(1.0), pair[1].point(0.0));
                assert!((end[0] - start[0]).hypot(end[1] - start[1]) < 1e-9, "{rim:?}: pieces meet");
            }
            let (first, last) = (points[0], points[points.len() - 1]);
            assert_eq!((first[0] - last[0]).hypot(first[1] - last[1]) < 1e-6, closed, "{rim:?}");
            let width = points.iter().map(|p| p[0]).fold(0.0, f64::max);
            let wanted = match rim {
                Rim::Formula { width_mm, .. } => width_mm / 2.0,
                Rim::Round { diameter_mm }
                | Rim::FlatBottomed { diameter_mm, .. }
                | Rim::OpenTopped { diameter_mm, .. } => diameter_mm / 2.0,
            };
            assert!((width + 0.015 - mm(wanted)).abs() < 1e-4, "{rim:?}: {width}");
        }
    }
}
