//! The seat: a hard shell with foam pads lying in it, each one smooth surface over rounded blocks run together.

use nalgebra::Translation3;

use super::{Surface, SurfaceKind};
use crate::{
    geometry::{Field, Mesh, Pose, Rot, Side, Vec3, from_axes, isosurface},
    rig::{RigPart, SeatPart},
    units::mm,
};

/// Size of a triangle's edge, m.
const CELL: f64 = mm(9.0);
/// How softly parts of the shell and of the foam run into one another, m.
const SHELL_BLEND: f64 = mm(30.0);
const FOAM_BLEND: f64 = mm(10.0);
/// How deep and how wide a seam between two pads is, m.
const SEAM_DEPTH: f64 = mm(5.0);
const SEAM_WIDTH: f64 = mm(9.0);

pub(super) fn surfaces(part: &SeatPart) -> Vec<Surface> {
    let (shell, foam) = rayon::join(|| mesh(&shell(part)), || mesh(&foam(part)));
    [(SurfaceKind::Shell, shell), (SurfaceKind::Foam, foam)]
        .into_iter()
        .map(|(kind, mesh)| {
            let mesh = Mesh {
                positions: mesh.positions.iter().map(|p| (part.X_WS * nalgebra::Point3::from(*p)).coords).collect(),
                normals: mesh.normals.iter().map(|n| part.X_WS.rotation * n).collect(),
                triangles: mesh.triangles,
            };
            Surface::new(RigPart::Seat("seat"), kind, mesh)
        })
        .collect()
}

fn mesh(form: &Form) -> Mesh {
    let (low, high) = form.extent();
    isosurface(form, low, high, CELL)
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
}

impl Block {
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
    blend: f64,
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
        let margin = self.blend / 4.0 + mm(2.0);
        (low.add_scalar(-margin), high.add_scalar(margin))
    }
}

impl Field for Form {
    fn value(&self, at: Vec3) -> f64 {
        let mut out = f64::INFINITY;
        for block in &self.blocks {
            out = run_together(out, block.distance(at), self.blend);
        }
        for cut in &self.cuts {
            out = -run_together(-out, cut.distance(at), mm(8.0));
        }
        // Seams are steeper than distance; the surface is where it was.
        out / (1.0 + 1.6 * SEAM_DEPTH / SEAM_WIDTH)
    }

    fn near(&self, centre: Vec3, radius: f64, _band: f64) -> Option<Self> {
        let distances: Vec<f64> = self.blocks.iter().map(|block| block.distance(centre)).collect();
        let least = distances.iter().copied().fold(f64::INFINITY, f64::min);
        let reach = least + self.blend + 4.0 * radius + 2.0 * SEAM_DEPTH;
        let keep = |(block, distance): (&Block, &f64)| (*distance < reach).then_some(*block);
        Some(Self {
            blocks: self.blocks.iter().zip(&distances).filter_map(keep).collect(),
            cuts: self.cuts.iter().filter(|cut| cut.distance(centre) < 2.0 * radius + mm(10.0)).copied().collect(),
            blend: self.blend,
        })
    }
}

/// The lesser of two distances with a fillet where they are nearly equal (Quilez's polynomial smooth minimum).
fn run_together(a: f64, b: f64, blend: f64) -> f64 {
    let near = (1.0 - (a - b).abs() / blend).max(0.0);
    if near > 0.0 { a.min(b) - near * near * blend / 4.0 } else { a.min(b) }
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
fn block(frame: &Pose, flat: Flat, low: Vec3, high: Vec3, corner: f64, round: f64) -> Block {
    let axes = flat.axes();
    let half = (axes.inverse() * ((high - low) / 2.0)).abs();
    let round = round.min(half.min() * 0.98).max(mm(0.5));
    Block {
        pose: frame * Pose::from_parts(Translation3::from((low + high) / 2.0), axes),
        half,
        corner: corner.min(half.x).min(half.y),
        round,
        seams: [f64::INFINITY; 2],
    }
}

/// The seat's measures in metres and its two frames seen from S.
struct Measures {
    /// Frames: cushion, back.
    frames: [Pose; 2],
    wall: f64,
    cushion: Section,
    back: Section,
    lumbar: (f64, f64),
    wings: Option<[f64; 4]>,
}

/// Cushion or back: along its surface, inner half width, foam; bolsters from, to, standing out, wide.
struct Section {
    length: f64,
    half: f64,
    foam: f64,
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
}

impl Measures {
    fn of(part: &SeatPart) -> Self {
        let (cushion, back) = (&part.seat.cushion, &part.seat.back);
        let X_SK = part.X_WS.inv_mul(&part.X_WK);
        let back_to = mm(back.bolster_top_mm);
        Self {
            frames: [Pose::identity(), X_SK],
            wall: mm(part.seat.shell_mm),
            cushion: Section {
                length: mm(cushion.length_mm),
                half: mm(cushion.width_mm) / 2.0,
                foam: mm(cushion.foam_mm),
                from: mm(40.0),
                to: mm(cushion.length_mm),
                out: mm(cushion.bolster_height_mm),
                wide: mm(cushion.bolster_width_mm),
            },
            back: Section {
                length: mm(back.length_mm),
                half: mm(back.width_mm) / 2.0,
                foam: mm(back.foam_mm),
                from: mm(70.0).min(back_to - mm(20.0)),
                to: back_to,
                out: mm(back.bolster_depth_mm),
                wide: mm(back.bolster_width_mm),
            },
            lumbar: (mm(back.lumbar_mm), mm(back.lumbar_height_mm)),
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
const BELOW: f64 = mm(3.0);

fn shell(part: &SeatPart) -> Form {
    let m = Measures::of(part);
    let [s, k] = &m.frames;
    let (c, b) = (&m.cushion, &m.back);
    let mut blocks = Vec::new();
    // The pan and the back plate, under a part of their foam.
    let (pan_low, pan_high) = (-c.foam - m.wall, -c.foam * 0.5 - mm(2.0));
    let (back_low, back_high) = (-b.foam - m.wall, -b.foam * 0.5 - mm(2.0));
    blocks.push(block(
        s,
        Flat::Upward,
        Vec3::new(back_low, -c.outer(), pan_low),
        Vec3::new(c.length, c.outer(), pan_high.max(pan_low + mm(8.0))),
        mm(30.0),
        mm(8.0),
    ));
    blocks.push(block(
        k,
        Flat::Forward,
        Vec3::new(back_low, -b.outer(), pan_low),
        Vec3::new(back_high.max(back_low + mm(8.0)), b.outer(), b.length),
        mm(90.0),
        mm(8.0),
    ));
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
                Vec3::new(c.from, low, pan_low),
                Vec3::new(c.to, high, c.out - BELOW),
                mm(28.0),
                mm(12.0),
            ));
        }
        if b.out > 0.0 {
            let (low, high) = beside(b.half + b.wide * 0.35, b.outer());
            blocks.push(block(
                k,
                Flat::Sideways,
                Vec3::new(back_low, low, b.from),
                Vec3::new(b.out - BELOW, high, b.to),
                mm(28.0),
                mm(12.0),
            ));
        }
        if let Some([from, to, depth, half]) = m.wings {
            let (low, high) = beside(half + mm(7.0), half + mm(22.0));
            blocks.push(block(
                k,
                Flat::Sideways,
                Vec3::new(back_low, low, from),
                Vec3::new(depth - BELOW, high, to),
                mm(32.0),
                mm(7.0),
            ));
        }
    }
    if let Some([from, to, _, half]) = m.wings {
        // The plate that carries the wings, wider than the back.
        blocks.push(block(
            k,
            Flat::Forward,
            Vec3::new(back_low, -half - mm(22.0), from - mm(40.0)),
            Vec3::new(back_high.max(back_low + mm(8.0)), half + mm(22.0), to),
            mm(60.0),
            mm(8.0),
        ));
    }
    Form { blocks, cuts: cuts(&m), blend: SHELL_BLEND }
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
            Vec3::new(mm(-4.0), -c.half + mm(1.0), -c.foam),
            Vec3::new(c.length - mm(5.0), c.half - mm(1.0), 0.0),
            mm(24.0),
            edge.min(c.foam * 0.48),
        );
        pad.seams = [c.length * 0.62 - pad.pose.translation.x, f64::INFINITY];
        blocks.push(pad);
    }
    if b.foam > 0.0 {
        let top = b.length - mm(8.0);
        let mut pad = block(
            k,
            Flat::Forward,
            Vec3::new(-b.foam, -b.half + mm(1.0), mm(-4.0)),
            Vec3::new(0.0, b.half - mm(1.0), top),
            mm(84.0),
            edge.min(b.foam * 0.48),
        );
        let middle = (top - mm(4.0)) / 2.0;
        pad.seams = [mm(300.0).min(top * 0.5) - middle, top * 0.74 - middle];
        blocks.push(pad);
        let (lumbar, height) = m.lumbar;
        if lumbar > 0.0 {
            blocks.push(block(
                k,
                Flat::Forward,
                Vec3::new(-b.foam, -b.half * 0.8, height - mm(62.0)),
                Vec3::new(lumbar, b.half * 0.8, height + mm(62.0)),
                mm(50.0),
                (lumbar + b.foam) * 0.49,
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
                Vec3::new(c.from - mm(20.0), low, -c.foam),
                Vec3::new(c.to - mm(6.0), high, c.out),
                mm(26.0),
                mm(13.0),
            ));
        }
        if b.out > 0.0 && b.foam > 0.0 {
            let (low, high) = beside(b.half, b.half + b.wide * PADDED);
            blocks.push(block(
                k,
                Flat::Sideways,
                Vec3::new(-b.foam, low, b.from),
                Vec3::new(b.out, high, b.to - mm(6.0)),
                mm(26.0),
                mm(13.0),
            ));
        }
        if let Some([from, to, depth, half]) = m.wings {
            let (low, high) = beside(half, half + mm(12.0));
            blocks.push(block(
                k,
                Flat::Sideways,
                Vec3::new(-b.foam * 0.5, low, from + mm(6.0)),
                Vec3::new(depth - mm(2.0), high, to - mm(6.0)),
                mm(28.0),
                mm(5.5),
            ));
        }
    }
    Form { blocks, cuts: cuts(&m), blend: FOAM_BLEND }
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
                Vec3::new(-mm(150.0), middle - mm(36.0), up - mm(13.0)),
                Vec3::new(mm(100.0), middle + mm(36.0), up + mm(13.0)),
                mm(12.0),
                mm(2.0),
            )
        })
        .collect()
}
