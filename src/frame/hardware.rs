//! Where brackets, bolts, caps and feet of a frame are, for the eye: as many as the joints say and find room.

use nalgebra::Translation3;

use super::{
    Built, Tie,
    touch::{Bar, SQUARE},
};
use crate::{
    geometry::{Pose, Vec3, from_axes},
    project::{JointKind, RailSection},
    rig::{Hardware, Piece},
    units::{deg, mm},
};

/// A bracket's legs and width as shares of the slot pitch: it fits between the rail's edges. Common practice, no
/// published source.
const LEG: f64 = 0.95;
const WIDTH: f64 = 0.85;
/// Where its bolts are, as a share of the leg from the corner.
const HOLE: f64 = 0.62;
/// Wall of a bracket, m.
const WALL: f64 = mm(4.5);
/// Two legs of a hinged bracket that are nearer to one another leave no room for its bolts, rad.
const NARROW: f64 = deg(50.0);
/// How far a leg's middle may be off the face that it lies on, m.
const ON_FACE: f64 = mm(1.5);
/// A foot is drawn where the rail is further above the floor, m.
const LIFTED: f64 = mm(4.0);

/// Every piece that is drawn.
pub fn hardware(built: &Built) -> Vec<Hardware> {
    let mut out = Vec::new();
    for (found, joint) in built.joints.iter().zip(&built.model.joints) {
        let Tie::Rails { guest, host, kind, pieces } = found.tie else { continue };
        let (own, other) = (&built.bars[guest], &built.bars[host]);
        // From the host to the guest.
        let normal = joint.axes.row(0).transpose();
        let inward = (own.from + own.to) / 2.0 - found.at;
        let normal = if normal.dot(&inward) < 0.0 { -normal } else { normal };
        let added = match kind {
            JointKind::Bracket => brackets(own, other, found.at, normal, pieces as usize),
            JointKind::Pivot => pivots(own, other, normal, pieces as usize),
            JointKind::EndToFace => screws(own, other, found.at, normal),
            JointKind::Butt => Vec::new(),
        };
        out.extend(added.into_iter().map(|piece| Hardware { rail: guest, piece }));
    }
    for (rail, (bar, open)) in built.bars.iter().zip(&built.open_ends).enumerate() {
        for (end, _) in open.iter().enumerate().filter(|(_, open)| **open) {
            out.push(Hardware { rail, piece: cap(bar, end) });
        }
    }
    for foot in &built.feet {
        if foot.at.z > LIFTED {
            let at = Vec3::new(foot.at.x, foot.at.y, 0.0);
            out.push(Hardware { rail: foot.rail, piece: Piece::Foot { at, height: foot.at.z } });
        }
    }
    out
}

/// Half of a rail's section along a direction across it, m.
fn half_along(bar: &Bar, way: Vec3) -> f64 {
    (0..2).map(|axis| bar.axes.column(axis).dot(&way).abs() * bar.half[axis]).sum()
}

/// Corner brackets in the corners between the guest's sides and the host's face, first along the host.
fn brackets(own: &Bar, other: &Bar, at: Vec3, normal: Vec3, pieces: usize) -> Vec<Piece> {
    let out_of = own.along().dot(&normal).abs().clamp(0.0, 1.0);
    let stands = out_of > SQUARE.cos();
    if !stands && out_of > SQUARE.sin() {
        return Vec::new();
    }
    let pitch = mm(own.section.pitch_mm.min(other.section.pitch_mm));
    let (leg, width, thread) = (LEG * pitch, WIDTH * pitch, thread(&own.section));
    let along = other.along() - normal * other.along().dot(&normal);
    let Some(along) = along.try_normalize(1e-6) else { return Vec::new() };
    let across = normal.cross(&along);
    // On the host's face, whatever gap was drawn.
    let face = at - normal * ((at - (other.from + other.to) / 2.0).dot(&normal) - half_along(other, normal));
    let mut out = Vec::new();
    let mut fitted = 0;
    for way in [along, -along, across, -across] {
        // A rail that lies along this way has no side there.
        if fitted == pieces || own.along().dot(&way).abs() > SQUARE.sin() {
            continue;
        }
        let middle = (own.from + own.to) / 2.0;
        let side = (middle - face).dot(&way) + half_along(own, way);
        let corner = face + way * side;
        let holds = [corner + way * (0.5 * leg), corner + normal * (0.5 * leg)];
        if other.nearest(holds[0]).1 > ON_FACE || own.nearest(holds[1]).1 > ON_FACE {
            continue;
        }
        let pose = Pose::from_parts(Translation3::from(corner), from_axes(way, normal, way.cross(&normal)));
        out.push(Piece::Bracket { pose, leg, width });
        for (foot, axis) in [(way, normal), (normal, way)] {
            out.push(Piece::Bolt { at: corner + foot * (HOLE * leg) + axis * WALL, axis, thread });
        }
        fitted += 1;
    }
    out
}

/// Hinged brackets where a rail leans: first in its wider corner, where there is room for the bolts.
fn pivots(own: &Bar, other: &Bar, normal: Vec3, pieces: usize) -> Vec<Piece> {
    let along = own.along() * own.along().dot(&normal).signum();
    let rises = along.dot(&normal);
    // How it leans over the host's face; upright it may be held either way along the host.
    let level = |way: Vec3| (way - normal * way.dot(&normal)).try_normalize(1e-3);
    let Some(lean) = level(along).or_else(|| level(other.along())) else { return Vec::new() };
    if rises < 0.1 {
        return Vec::new();
    }
    let pitch = mm(own.section.pitch_mm.min(other.section.pitch_mm));
    let (leg, width, thread) = (LEG * pitch, WIDTH * pitch, thread(&own.section));
    // Where the guest's middle line comes through the host's face.
    let down = (own.from - (other.from + other.to) / 2.0).dot(&normal) - half_along(other, normal);
    let foot = own.from - along * (down / rises);
    let mut out = Vec::new();
    for way in [-lean, lean].into_iter().take(pieces) {
        let angle = along.dot(&way).clamp(-1.0, 1.0).acos();
        // Square to the guest, out of its side.
        let side = (way - along * along.dot(&way)).normalize();
        let corner = foot + way * (half_along(own, side) / angle.sin());
        // A leg goes on to where the rail is as wide as it is all round: its end is drawn square.
        let over = (-half_along(own, side) / angle.tan()).max(0.0);
        let holds = [corner + way * (0.5 * leg), corner + along * (over + 0.5 * leg)];
        if angle < NARROW || other.nearest(holds[0]).1 > ON_FACE || own.nearest(holds[1]).1 > ON_FACE {
            continue;
        }
        let pose = Pose::from_parts(Translation3::from(corner), from_axes(way, normal, way.cross(&normal)));
        out.push(Piece::Pivot { pose, legs: [leg, over + leg], width, angle });
        for (foot, from, axis) in [(way, 0.0, normal), (along, over, side)] {
            out.push(Piece::Bolt { at: corner + foot * (from + HOLE * leg) + axis * WALL, axis, thread });
        }
    }
    out
}

/// Screws through the host into every core thread of the guest's end: their heads on the host's far face.
fn screws(own: &Bar, other: &Bar, at: Vec3, normal: Vec3) -> Vec<Piece> {
    if own.along().dot(&normal).abs() < SQUARE.cos() {
        return Vec::new();
    }
    let (middle, other_middle) = ((own.from + own.to) / 2.0, (other.from + other.to) / 2.0);
    let down = (at - other_middle).dot(&normal) + half_along(other, normal);
    let axis_at = at - normal * down;
    // On the guest's middle line.
    let off = middle - axis_at;
    let axis_at = axis_at + off - normal * off.dot(&normal);
    let pitch = mm(own.section.pitch_mm);
    let places = |axis: usize| {
        let count = (2.0 * own.half[axis] / pitch).round().max(1.0) as usize;
        (0..count).map(move |at| (at as f64 - (count as f64 - 1.0) / 2.0) * pitch)
    };
    let thread = thread(&own.section);
    let mut out = Vec::new();
    for across in places(0) {
        for upright in places(1) {
            let at = axis_at + own.axes.column(0) * across + own.axes.column(1) * upright;
            out.push(Piece::Bolt { at, axis: -normal, thread });
        }
    }
    out
}

fn cap(bar: &Bar, end: usize) -> Piece {
    let [across, upright, along] = [0, 1, 2].map(|axis| bar.axes.column(axis).into_owned());
    // Turned about the upright axis for the first end, z outward both times.
    let (at, turn) = if end == 0 {
        (bar.from, from_axes(-across, upright, -along))
    } else {
        (bar.to, from_axes(across, upright, along))
    };
    Piece::Cap { pose: Pose::from_parts(Translation3::from(at), turn), half: [bar.half.x, bar.half.y] }
}

/// "M8" → 8 mm.
fn thread(section: &RailSection) -> f64 {
    mm(section.bolt.trim_start_matches('M').parse().unwrap_or(8.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        frame::{Duty, parts},
        project::{Checked, Rail, parse},
    };

    fn of(rails: Vec<Rail>) -> Vec<Hardware> {
        let mut project = parse(include_str!("../../assets/club_rig.ron")).unwrap().into_inner();
        // Its screens hang on a rail that is not in this frame.
        project.screens = None;
        project.frame = rails;
        hardware(&Built::of(&Duty::of(&Checked::new(project).unwrap())))
    }

    /// By hand: a 40 × 40 post on the middle of a level 40 × 80 rail (top at z = 80): brackets ahead of and behind it,
    /// corners at x = 500 ± 20, legs along the rail and up.
    #[test]
    fn a_post_on_a_rail_has_a_bracket_on_either_side_along_the_rail() {
        let base = Rail::between("base", [40.0, 80.0], [0.0, 0.0, 40.0], [1000.0, 0.0, 40.0]);
        let post = Rail::between("post", [40.0, 40.0], [500.0, 0.0, 80.0], [500.0, 0.0, 600.0]);
        let found = of(vec![base, post]);
        let mut corners = Vec::new();
        for each in &found {
            if let Piece::Bracket { pose, leg, .. } = each.piece {
                assert_eq!(each.rail, 1);
                corners.push(pose.translation.vector);
                let [x, y] = [Vec3::x(), Vec3::y()].map(|axis| pose.rotation * axis);
                assert!((y - Vec3::z()).norm() < 1e-9 && x.x.abs() > 0.999, "{x} {y}");
                assert!(leg < mm(40.0));
            }
        }
        corners.sort_by(|a, b| a.x.total_cmp(&b.x));
        let wanted = [Vec3::new(0.48, 0.0, 0.08), Vec3::new(0.52, 0.0, 0.08)];
        assert!(corners.len() == 2 && corners.iter().zip(wanted).all(|(a, b)| (a - b).norm() < 1e-6), "{corners:?}");
        let bolts = found.iter().filter(|each| matches!(each.piece, Piece::Bolt { .. })).count();
        assert_eq!(bolts, 4, "one in each leg");
        // Both ends of the base rail and the top of the post are open; the post's foot is not.
        let caps = found.iter().filter(|each| matches!(each.piece, Piece::Cap { .. })).count();
        assert_eq!(caps, 3);
    }

    /// By hand: a 40 × 40 brace leans by 45° forward from the middle of a level rail whose top is 80 up. Its rear side, 20
    /// from its middle line, meets that face 20·√2 = 28.28 behind it: the hinge has its corner at 471.72, one leg to the
    /// rear, one up the brace, 135° between them. At its upper end it leans on a post's rear face.
    #[test]
    fn a_brace_has_a_hinged_bracket_in_its_wider_corner() {
        let base = Rail::between("base", [40.0, 80.0], [0.0, 0.0, 40.0], [1000.0, 0.0, 40.0]);
        let post = Rail::between("post", [40.0, 40.0], [820.0, 0.0, 80.0], [820.0, 0.0, 700.0]);
        let brace = Rail::between("brace", [40.0, 40.0], [500.0, 0.0, 80.0], [800.0, 0.0, 380.0]);
        let found: Vec<Hardware> = of(vec![base, post, brace]).into_iter().filter(|each| each.rail == 2).collect();
        let hinges: Vec<_> = found
            .iter()
            .filter_map(|each| match each.piece {
                Piece::Pivot { pose, angle, .. } => Some((pose, angle)),
                _ => None,
            })
            .collect();
        assert_eq!(hinges.len(), 2, "one at each end");
        for (pose, angle) in &hinges {
            assert!((angle - deg(135.0)).abs() < 1e-9, "{angle}");
            let second = pose.rotation * Vec3::new(angle.cos(), angle.sin(), 0.0);
            assert!((second.x.abs() - second.z.abs()).abs() < 1e-9, "along the brace: {second}");
        }
        let corners: Vec<Vec3> = hinges.iter().map(|(pose, _)| pose.translation.vector).collect();
        let lower = Vec3::new(mm(500.0 - 20.0 * 2.0_f64.sqrt()), 0.0, mm(80.0));
        let upper = Vec3::new(mm(800.0), 0.0, mm(380.0 + 20.0 * 2.0_f64.sqrt()));
        for wanted in [lower, upper] {
            assert!(corners.iter().any(|at| (at - wanted).norm() < 1e-6), "{corners:?} has no {wanted}");
        }
        let bolts = found.iter().filter(|each| matches!(each.piece, Piece::Bolt { .. })).count();
        assert_eq!(bolts, 4, "one in each leg");
    }

    /// What is drawn is never more than what the parts list buys, and its caps are exactly those.
    #[test]
    fn the_demo_draws_no_more_than_it_buys() {
        let project = parse(include_str!("../../assets/club_rig.ron")).unwrap();
        let duty = Duty::of(&project);
        let built = Built::of(&duty);
        let drawn = hardware(&built);
        let bought = parts(&duty, &built);
        let count = |name: &str| bought.iter().filter(|part| part.part == name).map(|part| part.count).sum::<u32>();
        let of = |is: fn(&Piece) -> bool| drawn.iter().filter(|each| is(&each.piece)).count() as u32;
        assert_eq!(of(|piece| matches!(piece, Piece::Cap { .. })), count("end cap"));
        let brackets = of(|piece| matches!(piece, Piece::Bracket { .. }));
        assert!(brackets > 12 && brackets <= count("corner bracket"), "{brackets} of {}", count("corner bracket"));
        // Four braces, each with one at either end.
        let pivots = of(|piece| matches!(piece, Piece::Pivot { .. }));
        assert_eq!((pivots, count("pivot bracket")), (8, 8));
    }
}
