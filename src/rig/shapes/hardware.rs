//! Brackets, bolt heads, caps and feet; one surface a rail and kind of matter.

use std::f64::consts::FRAC_PI_2;

use nalgebra::{Translation3, UnitQuaternion};

use super::{
    Surface, SurfaceKind,
    draft::{Draft, rounded_rectangle},
};
use crate::{
    geometry::{Mesh, Pose, Vec3},
    rig::{Hardware, Piece, RigPart},
    units::mm,
};

/// Wall of a bracket, thickness of a cap and of a foot's plate, mm; a foot's plate across. Sizes of the trade: common
/// practice, no published source.
const WALL: f64 = 4.5;
const CAP: f64 = 3.0;
/// Radius of a hinge's knuckle in walls of its bracket.
const KNUCKLE: f64 = 1.3;
const PLATE: [f64; 2] = [6.0, 40.0];
/// A cylinder head of ISO 4762 in threads: its diameter and height.
const HEAD: [f64; 2] = [1.6, 0.6];

pub(in crate::rig) fn surfaces(pieces: &[Hardware]) -> Vec<Surface> {
    let mut out: Vec<Surface> = Vec::new();
    for Hardware { rail, piece } in pieces {
        let (kind, mesh) = mesh(piece);
        let part = RigPart::Rail(*rail);
        let at = out.iter().position(|surface| surface.part == part && surface.kind == kind).unwrap_or_else(|| {
            out.push(Surface::new(part, kind, Mesh::default()));
            out.len() - 1
        });
        let surface = &mut out[at];
        append(&mut surface.positions, &mut surface.normals, &mut surface.triangles, mesh);
    }
    out
}

/// Puts a mesh behind another one.
fn append(positions: &mut Vec<Vec3>, normals: &mut Vec<Vec3>, triangles: &mut Vec<[u32; 3]>, more: Mesh) {
    let first = positions.len() as u32;
    positions.extend(more.positions);
    normals.extend(more.normals);
    triangles.extend(more.triangles.iter().map(|triangle| triangle.map(|at| at + first)));
}

fn mesh(piece: &Piece) -> (SurfaceKind, Mesh) {
    match piece {
        Piece::Bracket { pose, leg, width } => {
            // Two legs with a web between them that leaves the bolts free.
            let (leg, wall) = (*leg, mm(WALL));
            let web = 0.45 * leg;
            let outline = [[0.0, 0.0], [leg, 0.0], [leg, wall], [web, wall], [wall, web], [wall, leg], [0.0, leg]];
            (SurfaceKind::Metal, Draft::extruded(&outline, -width / 2.0, width / 2.0, 0.0).at(pose).mesh())
        }
        Piece::Pivot { pose, legs: [leg, other], width, angle } => {
            // Two plates that meet on the bisector, and the knuckle of the pin there.
            let (leg, wall) = (*leg, mm(WALL));
            let (along, inward) = ([angle.cos(), angle.sin()], [angle.sin(), -angle.cos()]);
            let inner = wall / (angle / 2.0).tan();
            let end = along.map(|part| part * other);
            let outline = [
                [0.0, 0.0],
                [leg, 0.0],
                [leg, wall],
                [inner, wall],
                [end[0] + inward[0] * wall, end[1] + inward[1] * wall],
                end,
            ];
            let mut mesh = Draft::extruded(&outline, -width / 2.0, width / 2.0, 0.0).at(pose).mesh();
            let out = pose.rotation * Vec3::z();
            let from = (pose * nalgebra::Point3::new(inner, wall, 0.0)).coords - out * (width / 2.0 + mm(1.0));
            let (round, long) = (KNUCKLE * wall, width + mm(2.0));
            let pin = turned(&[[0.0, 0.0], [0.0, round], [long, round], [long, 0.0]], 12, from, out);
            append(&mut mesh.positions, &mut mesh.normals, &mut mesh.triangles, pin);
            (SurfaceKind::Metal, mesh)
        }
        Piece::Bolt { at, axis, thread } => {
            let [wide, high] = HEAD.map(|share| share * thread);
            // A socket in the middle of the head.
            let profile = [
                [0.0, 0.0],
                [0.0, wide / 2.0],
                [high, wide / 2.0],
                [high, 0.25 * wide],
                [0.4 * high, 0.2 * wide],
                [0.4 * high, 0.0],
            ];
            (SurfaceKind::Housing, turned(&profile, 10, *at, *axis))
        }
        Piece::Cap { pose, half } => {
            let outline = rounded_rectangle(*half, mm(1.5), 2);
            (SurfaceKind::Housing, Draft::extruded(&outline, 0.0, mm(CAP), mm(0.8)).at(pose).mesh())
        }
        Piece::Foot { at, height } => {
            let [thick, across] = PLATE.map(mm);
            let thick = thick.min(*height);
            let profile = [
                [0.0, 0.0],
                [0.0, across / 2.0],
                [thick, across / 2.0],
                [thick, mm(5.0)],
                [height.max(thick), mm(5.0)],
                [height.max(thick), 0.0],
            ];
            (SurfaceKind::Housing, turned(&profile, 16, *at, Vec3::z()))
        }
    }
}

/// A form turned about `axis` from `at`.
fn turned(profile: &[[f64; 2]], steps: usize, at: Vec3, axis: Vec3) -> Mesh {
    // Opposite to x any axis across will do.
    let turn = UnitQuaternion::rotation_between(&Vec3::x(), &axis)
        .unwrap_or_else(|| UnitQuaternion::from_axis_angle(&Vec3::z_axis(), 2.0 * FRAC_PI_2));
    Draft::turned(profile, steps).at(&Pose::from_parts(Translation3::from(at), turn)).mesh()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::deg;

    /// The signed volume of a closed surface, positive where it faces outward.
    fn volume(mesh: &Mesh) -> f64 {
        let place = |at: u32| mesh.positions[at as usize];
        mesh.triangles.iter().map(|&[a, b, c]| place(a).dot(&place(b).cross(&place(c))) / 6.0).sum()
    }

    /// By hand: an L of 38 mm legs and 4.5 mm wall with a triangle of (17.1 − 4.5) mm sides, 34 mm wide; a cap of
    /// 40 × 40 × 3 mm less its rounded edges.
    #[test]
    fn pieces_face_outward_and_have_the_volume_of_their_drawing() {
        let bracket = Piece::Bracket { pose: Pose::identity(), leg: mm(38.0), width: mm(34.0) };
        let area = 38.0 * 4.5 + 33.5 * 4.5 + 0.5 * 12.6 * 12.6;
        let found = volume(&mesh(&bracket).1) * 1e9;
        assert!((found / (area * 34.0) - 1.0).abs() < 1e-9, "{found}");
        // Two plates of 38 × 4.5 and 50 × 4.5, each without the strip beyond the bisector, 4.5² / tan(θ/2) / 2; a knuckle of twelve
        // sides has 3 r². What lies in both counts twice.
        let knuckle = 3.0 * (1.3_f64 * 4.5).powi(2) * 36.0;
        for degrees in [60.0_f64, 90.0, 125.0] {
            let half = deg(degrees) / 2.0;
            let area = (38.0 + 50.0) * 4.5 - 4.5 * 4.5 / half.tan();
            let pivot =
                Piece::Pivot { pose: Pose::identity(), legs: [mm(38.0), mm(50.0)], width: mm(34.0), angle: 2.0 * half };
            let found = volume(&mesh(&pivot).1) * 1e9;
            assert!((found / (area * 34.0 + knuckle) - 1.0).abs() < 1e-9, "{degrees}: {found}");
        }
        let cap = Piece::Cap { pose: Pose::identity(), half: [mm(20.0); 2] };
        let found = volume(&mesh(&cap).1) * 1e9;
        assert!((0.93..1.0).contains(&(found / 4800.0)), "{found}");
        for axis in [Vec3::x(), -Vec3::x(), Vec3::z()] {
            let bolt = Piece::Bolt { at: Vec3::zeros(), axis, thread: mm(8.0) };
            assert!(volume(&mesh(&bolt).1) > 0.0);
        }
        let foot = Piece::Foot { at: Vec3::zeros(), height: mm(30.0) };
        assert!(volume(&mesh(&foot).1) > 0.0);
    }
}
