//! What is in line: each leg with its pedal, shoulders with the wheel.

use super::{Figure, Place};
use crate::{
    geometry::{Side, Vec3},
    posture::{Leg, Moment},
    project::PedalKind,
    study::Solved,
    units::{Unit, to_deg, to_mm},
};

/// How a leg stands to the travel of its pedal, seen from above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegLine {
    /// From the pedal's line of travel to the line from hip to ball of the foot, rad; positive where the ball stands
    /// to the left of the hip.
    pub angle: f64,
    /// The ball to the left of the hip, across the travel, m: moving the pedal right by this brings it in line, or
    /// moving the body left.
    pub sideways: f64,
}

impl LegLine {
    /// From hip and ball and the direction in which the pedal travels.
    pub fn of(hip: Vec3, ball: Vec3, travel: Vec3) -> Self {
        let ahead = Vec3::new(travel.x, travel.y, 0.0).try_normalize(1e-12).unwrap_or_else(Vec3::x);
        let left = Vec3::new(-ahead.y, ahead.x, 0.0);
        let line = ball - hip;
        let sideways = line.dot(&left);
        Self { angle: sideways.atan2(line.dot(&ahead).max(1e-6)), sideways }
    }
}

/// The figures.
pub(super) fn figures(study: &Solved) -> Vec<Figure> {
    let mut out = Vec::new();
    for sweep in &study.motion.pedals {
        if let Some((_, leg)) = sweep.steps.first() {
            out.push(leg_figure(study, sweep.side, sweep.kind, leg));
        }
    }

    let sitting = &study.rest.sitting;
    let centre = study.rig.wheel.X_WR.translation.vector;
    let middle = (sitting.shoulders[0] + sitting.shoulders[1]) / 2.0;
    let value = to_mm(centre.y - middle.y);
    let side = if value > 0.0 { "left" } else { "right" };
    out.push(Figure {
        id: "shoulders_wheel",
        side: None,
        item: None,
        value,
        sentence: if value.abs() < 0.5 {
            "The wheel stands straight ahead of the middle of your shoulders.".to_owned()
        } else {
            format!(
                "The wheel stands {} to the {side} of the middle of your shoulders.",
                Unit::Millimetre.show(value.abs())
            )
        },
        place: Place::Gap { from: Vec3::new(centre.x, middle.y, centre.z), to: centre },
        moment: Moment::REST,
        parts: vec!["shoulders".into(), "wheel".into()],
    });
    out
}

fn leg_figure(study: &Solved, side: Side, kind: PedalKind, leg: &Leg) -> Figure {
    let travel = study.rig.pedals.X_WP.rotation * Vec3::x();
    let line = LegLine::of(leg.hip(), leg.ball, travel);
    let value = to_deg(line.angle);
    let (ball_side, pedal_move, body_move) =
        if value > 0.0 { ("left", "right", "left") } else { ("right", "left", "right") };
    let aside = Unit::Millimetre.show(to_mm(line.sideways).abs());
    let sentence = if to_mm(line.sideways).abs() < 1.0 {
        format!("Your {} hip, knee and the {} are in line.", side.word(), kind.word())
    } else {
        format!(
            "Your {} foot on the {} stands {aside} to the {ball_side} of your hip, {} off the line of travel: move the \
             pedal {aside} to the {pedal_move}, or sit {aside} further {body_move}.",
            side.word(),
            kind.word(),
            Unit::Degree.show(value.abs())
        )
    };
    let ahead = Vec3::new(leg.ball.x, leg.hip().y, leg.ball.z);
    Figure {
        id: "leg_angle",
        side: Some(side),
        item: Some(kind.word().to_owned()),
        value,
        sentence,
        place: Place::Angle { at: leg.hip(), from: ahead, to: leg.ball },
        moment: Moment::REST,
        parts: vec![format!("{} leg", side.word()), kind.word().to_owned()],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// atan(80/850) = 5.38°, worked by hand in the reference table of pedal offsets.
    #[test]
    fn eighty_millimetres_off_line_over_850_is_5_38_degrees() {
        let line = LegLine::of(Vec3::new(0.0, 0.09, 0.3), Vec3::new(0.85, 0.17, 0.2), Vec3::x());
        assert!((to_deg(line.angle) - 5.38).abs() < 0.005);
        assert!((line.sideways - 0.08).abs() < 1e-9);
    }
}
