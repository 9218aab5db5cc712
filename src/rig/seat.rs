//! The seat, placed: its frames, its surfaces and its solids.

use nalgebra::{Translation3, UnitQuaternion};

use crate::{
    geometry::{Pose, RoundedBox, Side, Vec3},
    project::Seat,
    units::{deg, mm, mm_point},
};

/// The placed seat.
#[derive(Clone, Debug)]
pub struct SeatPart {
    /// What the user wrote.
    pub seat: Seat,
    /// Seat frame S in W.
    pub X_WS: Pose,
    /// Seat back frame K in W.
    pub X_WK: Pose,
    /// Solids with their names: "cushion", "back", "left bolster", …
    pub solids: Vec<(&'static str, RoundedBox)>,
}

/// Where the side bolsters of the back begin over the cushion, m: common practice, no published source.
const BOLSTER_FROM: f64 = mm(70.0);
/// Radius of bolster edges, m: common practice, no published source.
const BOLSTER_ROUND: f64 = mm(14.0);
/// Thickness of the wings, m: common practice, no published source.
const WING_THICKNESS: f64 = mm(22.0);

impl SeatPart {
    /// Places a seat.
    pub fn place(seat: &Seat) -> Self {
        let mut p_WS = mm_point(seat.position_mm);
        p_WS.x += mm(seat.slider.at_mm);
        let about_y = |angle: f64| UnitQuaternion::from_axis_angle(&Vec3::y_axis(), angle);
        // Front edge up turns x towards z: a negative turn about y. Leaning back turns z towards −x: also negative.
        let X_WS = Pose::from_parts(Translation3::from(p_WS), about_y(-deg(seat.cushion_deg())));
        let X_WK = Pose::from_parts(Translation3::from(p_WS), about_y(-deg(seat.back_from_vertical_deg())));
        let mut part = Self { seat: seat.clone(), X_WS, X_WK, solids: Vec::new() };
        part.solids = solids(&part);
        part
    }

    /// The lumbar pad, if it stands out: height of its middle along the back and half its length, m.
    pub fn pad(&self) -> Option<(f64, f64)> {
        let back = &self.seat.back;
        (back.lumbar_mm > 0.0).then_some((mm(back.lumbar_height_mm), mm(back.lumbar_length_mm) / 2.0))
    }

    /// The same seat further forward, m; what the user wrote stays.
    #[must_use]
    pub fn moved(&self, forward: f64) -> Self {
        let shift = Translation3::new(forward, 0.0, 0.0);
        let solids = self.solids.iter().map(|&(name, solid)| {
            let pose = shift * solid.pose;
            (name, RoundedBox { pose, ..solid })
        });
        Self { seat: self.seat.clone(), X_WS: shift * self.X_WS, X_WK: shift * self.X_WK, solids: solids.collect() }
    }

    /// How far the back surface stands out of its plane at a height along it, m: the lumbar pad.
    pub fn back_surface(&self, height: f64) -> f64 {
        let Some((middle, half)) = self.pad() else { return 0.0 };
        let off = (height - middle) / half;
        if off.abs() >= 1.0 {
            return 0.0;
        }
        mm(self.seat.back.lumbar_mm) * 0.5 * (1.0 + (std::f64::consts::PI * off).cos())
    }

    /// Heights between which side bolsters stand beside the back, m.
    pub fn bolsters(&self) -> [f64; 2] {
        let top = mm(self.seat.back.bolster_top_mm);
        [BOLSTER_FROM.min(top - mm(20.0)), top]
    }

    /// Height of the top edge along the back, m.
    pub fn top(&self) -> f64 {
        mm(self.seat.back.length_mm)
    }
}

fn solids(part: &SeatPart) -> Vec<(&'static str, RoundedBox)> {
    let SeatPart { seat, X_WS, X_WK, .. } = part;
    let (X_WS, X_WK, [bolster_from, bolster_to]) = (*X_WS, *X_WK, part.bolsters());
    let (cushion, back) = (&seat.cushion, &seat.back);
    let mut out = Vec::new();
    // A box given by its least and greatest corner in a frame.
    let mut put = |name, frame: Pose, low: Vec3, high: Vec3, round: f64| {
        let half = (high - low) / 2.0;
        let pose = frame * Pose::from_parts(Translation3::from((low + high) / 2.0), UnitQuaternion::identity());
        out.push((name, RoundedBox { pose, half, round: round.min(half.min()) }));
    };
    let wall = mm(seat.shell_mm);
    let (c_half, b_half) = (mm(cushion.width_mm) / 2.0, mm(back.width_mm) / 2.0);
    let (c_length, b_length) = (mm(cushion.length_mm), mm(back.length_mm));
    put(
        "cushion",
        X_WS,
        Vec3::new(0.0, -c_half, -mm(cushion.foam_mm) - wall),
        Vec3::new(c_length, c_half, 0.0),
        mm(8.0),
    );
    put("back", X_WK, Vec3::new(-mm(back.foam_mm) - wall, -b_half, 0.0), Vec3::new(0.0, b_half, b_length), mm(8.0));
    // One side's box, mirrored for the other: from the inner face outward.
    let beside = |side: Side, inner: f64, width: f64| {
        let (a, b) = (side.sign() * inner, side.sign() * (inner + width));
        (a.min(b), a.max(b))
    };
    for (side, names) in [
        (Side::Left, ["left cushion bolster", "left bolster", "left wing"]),
        (Side::Right, ["right cushion bolster", "right bolster", "right wing"]),
    ] {
        if cushion.bolster_height_mm > 0.0 {
            let (low, high) = beside(side, c_half, mm(cushion.bolster_width_mm));
            let base = -mm(cushion.foam_mm) - wall;
            put(
                names[0],
                X_WS,
                Vec3::new(0.0, low, base),
                Vec3::new(c_length, high, mm(cushion.bolster_height_mm)),
                BOLSTER_ROUND,
            );
        }
        let base = -mm(back.foam_mm) - wall;
        if back.bolster_depth_mm > 0.0 {
            let (low, high) = beside(side, b_half, mm(back.bolster_width_mm));
            put(
                names[1],
                X_WK,
                Vec3::new(base, low, bolster_from),
                Vec3::new(mm(back.bolster_depth_mm), high, bolster_to),
                BOLSTER_ROUND,
            );
        }
        if let Some(wings) = &seat.wings {
            let (low, high) = beside(side, mm(wings.width_mm) / 2.0, WING_THICKNESS);
            put(
                names[2],
                X_WK,
                Vec3::new(base, low, mm(wings.from_mm)),
                Vec3::new(mm(wings.depth_mm), high, mm(wings.to_mm)),
                mm(10.0),
            );
        }
    }
    out
}
