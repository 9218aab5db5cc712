//! The seat, placed: its frames and its solids.

use crate::{
    geometry::{Pose, RoundedBox},
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

impl SeatPart {
    /// Places a seat.
    pub fn place(seat: &Seat) -> Self {
        use nalgebra::{Translation3, UnitQuaternion, Vector3};
        let mut p_WS = mm_point(seat.position_mm);
        p_WS.x += mm(seat.slider.at_mm);
        let about_y = |angle: f64| UnitQuaternion::from_axis_angle(&Vector3::y_axis(), angle);
        // Front edge up turns x towards z: a negative turn about y. Leaning back turns z towards −x: also negative.
        let X_WS = Pose::from_parts(Translation3::from(p_WS), about_y(-deg(seat.cushion_angle_deg)));
        let X_WK = Pose::from_parts(Translation3::from(p_WS), about_y(-deg(seat.back_angle_deg.from_vertical_deg())));
        Self { seat: seat.clone(), X_WS, X_WK, solids: Vec::new() }
    }
}
