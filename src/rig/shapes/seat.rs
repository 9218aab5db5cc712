//! The seat: a hard shell with foam pads lying in it, each one smooth surface over rounded blocks run together.

use std::sync::{Arc, Mutex, PoisonError};

use nalgebra::{Point3, Translation3};
use rayon::prelude::*;

use super::{Surface, SurfaceKind};
use crate::{
    geometry::{Field, Mesh, Pose, Rot, Side, Vec3, from_axes, isosurface},
    project::{BackAngle, Seat, Slider},
    rig::{RigPart, SeatPart},
    units::mm,
};

/// Size of a triangle's edge, m.
const CELL: f64 = mm(9.0);
/// How softly parts run into one another, m: plates of the shell, whose faces lie in one plane and would swell; its
/// bolsters and wings; pads of foam.
const PLATE_BLEND: f64 = mm(5.0);
const SHELL_BLEND: f64 = mm(30.0);
const FOAM_BLEND: f64 = mm(16.0);
/// How deep in the other form a surface must lie to be left out, m.
const HIDDEN: f64 = mm(1.0);
/// How softly openings are cut, m.
const CUT_BLEND: f64 = mm(8.0);
/// Seams make the field steeper than distance, by at most this; the surface is where it was.
const STEEPEST: f64 = 1.0 + 1.6 * SEAM_DEPTH / SEAM_WIDTH;
/// How deep and how wide a seam between two pads is, m.
const SEAM_DEPTH: f64 = mm(5.0);
const SEAM_WIDTH: f64 = mm(9.0);

pub(super) fn surfaces(part: &SeatPart) -> Vec<Surface> {
    let meshes = meshes(&part.seat);
    [SurfaceKind::Shell, SurfaceKind::Foam]
        .into_iter()
        .zip(&*meshes)
        .map(|(kind, mesh)| {
            let mesh = Mesh {
                positions: mesh.positions.iter().map(|p| (part.X_WS * Point3::from(*p)).coords).collect(),
                normals: mesh.normals.iter().map(|n| part.X_WS.rotation * n).collect(),
                triangles: mesh.triangles.clone(),
            };
            Surface::new(RigPart::Seat("seat"), kind, mesh)
        })
        .collect()
}

/// Shell and foam in S. They take some hundredths of a second, so those of the last shape are kept: while anything else
/// is edited, and while the seat is only moved or tilted, nothing is made anew.
fn meshes(seat: &Seat) -> Arc<[Mesh; 2]> {
    static LAST: Mutex<Option<(Seat, Arc<[Mesh; 2]>)>> = Mutex::new(None);
    let shape = unmoved(seat);
    let last = LAST.lock().unwrap_or_else(PoisonError::into_inner).clone();
    if let Some((of, meshes)) = last
        && of == shape
    {
        return meshes;
    }
    let part = SeatPart::place(&shape);
    let (shell, foam) = (shell(&part), foam(&part));
    let (on_shell, on_foam) = rayon::join(|| mesh(&shell, &foam), || mesh(&foam, &shell));
    let meshes = Arc::new([on_shell, on_foam]);
    *LAST.lock().unwrap_or_else(PoisonError::into_inner) = Some((shape, meshes.clone()));
    meshes
}

/// The seat with S in the world's place, cushion level.
fn unmoved(seat: &Seat) -> Seat {
    // A shell that is tilted keeps its angle, but for what rounding leaves.
    let between = (seat.cushion_to_back_deg() * 1e6).round() / 1e6;
    Seat {
        position_mm: [0.0; 3],
        slider: Slider { at_mm: 0.0, ..seat.slider },
        cushion_angle_deg: 0.0,
        tilt_deg: 0.0,
        back_angle_deg: BackAngle::FromVertical(between - 90.0),
        ..seat.clone()
    }
}

/// The surface of a form as far as it shows: what lies in the other form is left out.
fn mesh(form: &Form, other: &Form) -> Mesh {
    if form.blocks.is_empty() {
        return Mesh::default();
    }
    let (low, high) = form.extent();
    let whole = isosurface(form, low, high, CELL);
    let hidden: Vec<bool> = whole.positions.par_iter().map(|&p| other.value(p) < -HIDDEN).collect();
    let mut place = vec![u32::MAX; whole.positions.len()];
    let mut seen = Mesh::default();
    for triangle in &whole.triangles {
        if triangle.iter().all(|&corner| hidden[corner as usize]) {
            continue;
        }
        seen.triangles.push(triangle.map(|corner| {
            let corner = corner as usize;
            if place[corner] == u32::MAX {
                place[corner] = seen.positions.len() as u32;
                seen.positions.push(whole.positions[corner]);
                seen.normals.push(whole.normals[corner]);
            }
            place[corner]
        }));
    }
    seen
}

/// A slab with rounded outline and edges: flat across its own z.
#[derive(Clone, Copy)]
struct Block {
    /// Its frame in S.
    pose: Pose,
    half: Vec3,
    /// Radius of the outline's corners, in x and y.
    corner: f64,
    /// Radius of all edges.
    round: f64,
    /// Seams across it: place along its own x.
    seams: [f64; 2],
    /// How softly it runs into those before it.
    blend: f64,
}

impl Block {
    /// Distance from the block and the way in which it grows.
    fn slope(&self, at: Vec3) -> (f64, Vec3) {
        let local = self.pose.inverse_transform_point(&at.into()).coords;
        let corner = self.corner.max(self.round);
        let x = local.x.abs() - self.half.x + corner;
        let y = local.y.abs() - self.half.y + corner;
        let z = local.z.abs() - self.half.z + self.round;
        // In the plane of the outline, then between outline and faces: beyond both, the nearest point is round a
        // corner; else straight out through the nearer side.
        let (outline, x_share, y_share) = if x > 0.0 && y > 0.0 {
            let far = x.hypot(y);
            (far, x / far, y / far)
        } else if x > y {
            (x, 1.0, 0.0)
        } else {
            (y, 0.0, 1.0)
        };
        let outline = outline - corner + self.round;
        let (mut out, in_plane, across) = if outline > 0.0 && z > 0.0 {
            let far = outline.hypot(z);
            (far, outline / far, z / far)
        } else if outline > z {
            (outline, 1.0, 0.0)
        } else {
            (z, 0.0, 1.0)
        };
        out -= self.round;
        let mut way = Vec3::new(
            local.x.signum() * in_plane * x_share,
            local.y.signum() * in_plane * y_share,
            local.z.signum() * across,
        );
        for seam in self.seams {
            let off = (local.x - seam) / SEAM_WIDTH;
            if off.abs() < 1.0 {
                let open = 1.0 - off * off;
                out += SEAM_DEPTH * open * open;
                way.x -= 4.0 * SEAM_DEPTH * open * off / SEAM_WIDTH;
            }
        }
        (out, self.pose.rotation * way)
    }

    fn distance(&self, at: Vec3) -> f64 {
        let local = self.pose.inverse_transform_point(&at.into()).coords;
        let corner = self.corner.max(self.round);
        let x = local.x.abs() - self.half.x + corner;
        let y = local.y.abs() - self.half.y + corner;
        let outline = x.max(0.0).hypot(y.max(0.0)) + x.max(y).min(0.0) - corner + self.round;
        let across = local.z.abs() - self.half.z + self.round;
        let mut out = outline.max(0.0).hypot(across.max(0.0)) + outline.max(across).min(0.0) - self.round;
        for seam in self.seams {
            let off = (local.x - seam) / SEAM_WIDTH;
            if off.abs() < 1.0 {
                out += SEAM_DEPTH * (1.0 - off * off).powi(2);
            }
        }
        out
    }
}

/// Blocks run together, with others cut out, and a pad standing out of the back.
#[derive(Clone)]
struct Form {
    blocks: Vec<Block>,
    cuts: Vec<Block>,
}

impl Form {
    fn extent(&self) -> (Vec3, Vec3) {
        let mut low = Vec3::repeat(f64::INFINITY);
        let mut high = -low;
        for block in &self.blocks {
            // Half extents of a turned box along the axes of S.
            let turned = block.pose.rotation.to_rotation_matrix().into_inner().abs() * block.half;
            let middle = block.pose.translation.vector;
            low = low.inf(&(middle - turned));
            high = high.sup(&(middle + turned));
        }
        let margin = SHELL_BLEND / 4.0 + mm(2.0);
        (low.add_scalar(-margin), high.add_scalar(margin))
    }
}

impl Field for Form {
    fn value(&self, at: Vec3) -> f64 {
        let join = |all: f64, block: &Block| run_together(all, block.distance(at), block.blend).0;
        let all = self.blocks.iter().fold(f64::INFINITY, join);
        let left = self.cuts.iter().fold(all, |left, cut| -run_together(-left, cut.distance(at), CUT_BLEND).0);
        left / STEEPEST
    }

    fn gradient(&self, at: Vec3) -> (f64, Vec3) {
        let join = |(a, way_a): (f64, Vec3), (b, way_b): (f64, Vec3), blend: f64| {
            let (out, share) = run_together(a, b, blend);
            (out, if share == 0.0 { way_a } else { way_a * (1.0 - share) + way_b * share })
        };
        let nothing = (f64::INFINITY, Vec3::zeros());
        let all = self.blocks.iter().fold(nothing, |all, block| join(all, block.slope(at), block.blend));
        let (out, way) = self.cuts.iter().fold(all, |(left, way), cut| {
            let (out, way) = join((-left, -way), cut.slope(at), CUT_BLEND);
            (-out, -way)
        });
        (out / STEEPEST, way / STEEPEST)
    }

    fn near(&self, centre: Vec3, radius: f64, band: f64) -> Option<Self> {
        // What counts within the band is a block nearer than it, or one that such a block runs into.
        let reach = STEEPEST * (radius + band) + SHELL_BLEND;
        let within = |blocks: &[Block]| blocks.iter().filter(|block| block.distance(centre) < reach).copied().collect();
        Some(Self { blocks: within(&self.blocks), cuts: within(&self.cuts) })
    }
}

/// The lesser of two distances with a fillet where they are nearly equal (Quilez's polynomial smooth minimum), and how
/// much of it is the second's.
fn run_together(a: f64, b: f64, blend: f64) -> (f64, f64) {
    let near = (1.0 - (a - b).abs() / blend).max(0.0);
    let share = near / 2.0;
    (a.min(b) - near * share * blend / 2.0, if a < b { share } else { 1.0 - share })
}

/// Which way a block is flat.
#[derive(Clone, Copy)]
enum Flat {
    /// Along the frame's x, like the back: its own x runs up.
    Forward,
    /// Along the frame's y, like a bolster: its own x runs forward.
    Sideways,
    /// Along the frame's z, like the cushion: its own x runs forward.
    Upward,
}

impl Flat {
    fn axes(self) -> Rot {
        match self {
            Self::Forward => from_axes(Vec3::z(), -Vec3::y(), Vec3::x()),
            Self::Sideways => from_axes(Vec3::x(), Vec3::z(), -Vec3::y()),
            Self::Upward => Rot::identity(),
        }
    }
}

/// A block between two corners of a frame of S.
fn block(frame: &Pose, flat: Flat, [low, high]: [Vec3; 2], corner: f64, round: f64, blend: f64) -> Block {
    let axes = flat.axes();
    let half = (axes.inverse() * ((high - low) / 2.0)).abs();
    let round = round.min(half.min() * 0.98).max(mm(0.5));
    Block {
        pose: frame * Pose::from_parts(Translation3::from((low + high) / 2.0), axes),
        half,
        corner: corner.min(half.x).min(half.y),
        round,
        seams: [f64::INFINITY; 2],
        blend,
    }
}

/// The seat's measures in metres and its two frames seen from S.
struct Measures {
    /// Frames: cushion, back.
    frames: [Pose; 2],
    cushion: Section,
    back: Section,
    lumbar: [f64; 3],
    wings: Option<[f64; 4]>,
    /// Where the outsides of cushion and back meet: forward in S, up in K.
    heel: (f64, f64),
}

/// Cushion or back: along its surface, inner half width, foam, outside; bolsters from, to, standing out, wide.
struct Section {
    length: f64,
    half: f64,
    foam: f64,
    /// The outside of the shell, below the surface.
    under: f64,
    from: f64,
    to: f64,
    out: f64,
    wide: f64,
}

impl Section {
    /// Outer half width, bolsters included.
    fn outer(&self) -> f64 {
        if self.out > 0.0 { self.half + self.wide } else { self.half }
    }

    /// Half width of the plate under foam and bolsters.
    fn plate(&self) -> f64 {
        if self.out > 0.0 { self.outer() - WITHIN } else { self.half }
    }
}

impl Measures {
    fn of(part: &SeatPart) -> Self {
        let (cushion, back) = (&part.seat.cushion, &part.seat.back);
        let X_SK = part.X_WS.inv_mul(&part.X_WK);
        let back_to = mm(back.bolster_top_mm);
        // A shell thinner than a triangle would be full of holes.
        let under = |foam_mm: f64| -mm(foam_mm + part.seat.shell_mm).max(CELL * 2.0);
        let (pan, plate) = (under(cushion.foam_mm), under(back.foam_mm));
        let (forward, up) = (X_SK * Vec3::x(), X_SK * Vec3::z());
        let heel = (plate - pan * forward.z) / forward.x.max(0.2);
        let heel = heel.clamp(-mm(250.0), mm(100.0));
        Self {
            frames: [Pose::identity(), X_SK],
            heel: (heel, (Vec3::new(heel, 0.0, pan)).dot(&up)),
            cushion: Section {
                length: mm(cushion.length_mm),
                half: mm(cushion.width_mm) / 2.0,
                foam: mm(cushion.foam_mm),
                under: pan,
                from: 0.0,
                to: mm(cushion.length_mm),
                out: mm(cushion.bolster_height_mm),
                wide: mm(cushion.bolster_width_mm),
            },
            back: Section {
                length: mm(back.length_mm),
                half: mm(back.width_mm) / 2.0,
                foam: mm(back.foam_mm),
                under: plate,
                from: mm(70.0).min(back_to - mm(20.0)),
                to: back_to,
                out: mm(back.bolster_depth_mm),
                wide: mm(back.bolster_width_mm),
            },
            lumbar: [back.lumbar_mm, back.lumbar_height_mm, back.lumbar_length_mm].map(mm),
            wings: part
                .seat
                .wings
                .map(|wings| [wings.from_mm, wings.to_mm, wings.depth_mm, wings.width_mm / 2.0].map(mm)),
        }
    }
}

/// How much of a bolster's width is foam; the rest is shell.
const PADDED: f64 = 0.62;
/// How far the shell stays below the foam beside it, m.
const BELOW: f64 = mm(4.0);

/// How far the outsides of bolsters, wings and their plate stand back from one another: in one plane they would swell
/// where they meet, m.
const WITHIN: f64 = mm(8.0);

fn shell(part: &SeatPart) -> Form {
    let m = Measures::of(part);
    let [s, k] = &m.frames;
    let (c, b) = (&m.cushion, &m.back);
    let mut blocks = Vec::new();
    // The pan and the back plate, up to just under their foam.
    blocks.push(block(
        s,
        Flat::Upward,
        [Vec3::new(m.heel.0, -c.plate(), c.under), Vec3::new(c.length, c.plate(), -BELOW)],
        mm(30.0),
        mm(8.0),
        PLATE_BLEND,
    ));
    // Rounded at its top only: below it meets the pan.
    for (from, to, corner) in [(m.heel.1, b.length * 0.6, mm(24.0)), (b.length * 0.2, b.length, mm(90.0))] {
        blocks.push(block(
            k,
            Flat::Forward,
            [Vec3::new(b.under, -b.plate(), from), Vec3::new(-BELOW, b.plate(), to)],
            corner,
            mm(8.0),
            PLATE_BLEND,
        ));
    }
    if let Some([from, to, _, half]) = m.wings {
        // The plate that carries the wings, wider than the back.
        blocks.push(block(
            k,
            Flat::Forward,
            [
                Vec3::new(b.under, -half - mm(22.0) + WITHIN, from - mm(40.0)),
                Vec3::new(-BELOW, half + mm(22.0) - WITHIN, to),
            ],
            mm(60.0),
            mm(8.0),
            PLATE_BLEND,
        ));
    }
    for side in Side::BOTH {
        let beside = |inner: f64, outer: f64| {
            let (p, q) = (side.sign() * inner, side.sign() * outer);
            (p.min(q), p.max(q))
        };
        if c.out > 0.0 {
            let (low, high) = beside(c.half + c.wide * 0.35, c.outer());
            blocks.push(block(
                s,
                Flat::Sideways,
                [Vec3::new(c.from, low, c.under + WITHIN), Vec3::new(c.to, high, c.out - BELOW)],
                mm(28.0),
                mm(12.0),
                SHELL_BLEND,
            ));
        }
        if b.out > 0.0 {
            let (low, high) = beside(b.half + b.wide * 0.35, b.outer());
            blocks.push(block(
                k,
                Flat::Sideways,
                [Vec3::new(b.under + WITHIN, low, b.from), Vec3::new(b.out - BELOW, high, b.to)],
                mm(28.0),
                mm(12.0),
                SHELL_BLEND,
            ));
        }
        if let Some([from, to, depth, half]) = m.wings {
            let (low, high) = beside(half + mm(7.0), half + mm(22.0));
            blocks.push(block(
                k,
                Flat::Sideways,
                [Vec3::new(b.under + WITHIN, low, from), Vec3::new(depth - BELOW, high, to)],
                mm(32.0),
                mm(7.0),
                SHELL_BLEND,
            ));
        }
    }
    Form { blocks, cuts: cuts(&m) }
}

fn foam(part: &SeatPart) -> Form {
    let m = Measures::of(part);
    let [s, k] = &m.frames;
    let (c, b) = (&m.cushion, &m.back);
    let mut blocks = Vec::new();
    let edge = mm(9.0);
    if c.foam > 0.0 {
        let mut pad = block(
            s,
            Flat::Upward,
            [
                Vec3::new(mm(-4.0), -c.half + mm(1.0), c.under + mm(1.5)),
                Vec3::new(c.length - mm(5.0), c.half - mm(1.0), 0.0),
            ],
            mm(24.0),
            edge.min(c.foam * 0.6),
            FOAM_BLEND,
        );
        pad.seams = [c.length * 0.62 - pad.pose.translation.x, f64::INFINITY];
        blocks.push(pad);
    }
    if b.foam > 0.0 {
        let top = b.length - mm(8.0);
        let mut pad = block(
            k,
            Flat::Forward,
            [Vec3::new(b.under + mm(1.5), -b.half + mm(1.0), mm(-4.0)), Vec3::new(0.0, b.half - mm(1.0), top)],
            mm(84.0),
            edge.min(b.foam * 0.6),
            FOAM_BLEND,
        );
        let middle = (top - mm(4.0)) / 2.0;
        pad.seams = [mm(300.0).min(top * 0.5) - middle, top * 0.74 - middle];
        blocks.push(pad);
        let [lumbar, height, length] = m.lumbar;
        // Its ends run out into the back: the block is two thirds as long.
        let half = 0.345 * length;
        if lumbar > 0.0 {
            blocks.push(block(
                k,
                Flat::Forward,
                [
                    Vec3::new(b.under + mm(1.5), -b.half * 0.8, height - half),
                    Vec3::new(lumbar, b.half * 0.8, height + half),
                ],
                mm(50.0),
                lumbar.min(mm(30.0)),
                FOAM_BLEND,
            ));
        }
    }
    for side in Side::BOTH {
        let beside = |inner: f64, outer: f64| {
            let (p, q) = (side.sign() * inner, side.sign() * outer);
            (p.min(q), p.max(q))
        };
        if c.out > 0.0 && c.foam > 0.0 {
            let (low, high) = beside(c.half, c.half + c.wide * PADDED);
            blocks.push(block(
                s,
                Flat::Sideways,
                [Vec3::new(c.from, low, c.under + mm(1.5)), Vec3::new(c.to - mm(6.0), high, c.out)],
                mm(26.0),
                mm(13.0),
                FOAM_BLEND,
            ));
        }
        if b.out > 0.0 && b.foam > 0.0 {
            let (low, high) = beside(b.half, b.half + b.wide * PADDED);
            blocks.push(block(
                k,
                Flat::Sideways,
                [Vec3::new(b.under + mm(1.5), low, b.from), Vec3::new(b.out, high, b.to - mm(6.0))],
                mm(26.0),
                mm(13.0),
                FOAM_BLEND,
            ));
        }
        if let Some([from, to, depth, half]) = m.wings {
            let (low, high) = beside(half, half + mm(12.0));
            blocks.push(block(
                k,
                Flat::Sideways,
                [Vec3::new(b.under * 0.5, low, from + mm(6.0)), Vec3::new(depth - mm(2.0), high, to - mm(6.0))],
                mm(28.0),
                mm(5.5),
                FOAM_BLEND,
            ));
        }
    }
    Form { blocks, cuts: cuts(&m) }
}

/// Openings for shoulder belts through the back of a shell with wings.
fn cuts(m: &Measures) -> Vec<Block> {
    let Some([_, to, ..]) = m.wings else { return Vec::new() };
    let up = to.min(m.back.length - mm(70.0)) - mm(35.0);
    Side::BOTH
        .into_iter()
        .map(|side| {
            let middle = side.sign() * mm(78.0);
            block(
                &m.frames[1],
                Flat::Forward,
                [
                    Vec3::new(-mm(150.0), middle - mm(36.0), up - mm(13.0)),
                    Vec3::new(mm(100.0), middle + mm(36.0), up + mm(13.0)),
                ],
                mm(12.0),
                mm(2.0),
                FOAM_BLEND,
            )
        })
        .collect()
}
