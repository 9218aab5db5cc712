//! The screens as a weight on the frame: only an arm brings them onto a rail, feet of their own stand on the floor.

use super::Carried;
use crate::{
    geometry::{RoundedBox, Vec3},
    project::Checked,
    rig::Rig,
    units::mm,
};

/// An arm that nobody weighed is a tube of steel with this wall, m, and a plate with its screws for each screen, kg:
/// common practice, no published source.
const WALL: f64 = mm(2.0);
const STEEL: f64 = 7850.0;
const PLATE_KG: f64 = 1.0;

/// Screens and arm as a rail carries them; `None` where no rail does.
pub(super) fn carried(project: &Checked, rig: &Rig) -> Option<Carried> {
    let (screens, placed) = (project.screens.as_ref()?, rig.screens.as_ref()?);
    if placed.bolted_at.is_empty() {
        return None;
    }
    let plates = PLATE_KG * f64::from(screens.count());
    let arm_kg = screens.stand_kg.unwrap_or_else(|| plates + placed.arm().map_or(0.0, tube));
    let screens_kg = screens.each_kg() * f64::from(screens.count());
    let middle = placed.centre();
    let arm_at = placed.arm().map_or(middle, |arm| arm.pose.translation.vector);
    let mass = screens_kg + arm_kg;
    let at: Vec3 = if mass > 0.0 { (middle * screens_kg + arm_at * arm_kg) / mass } else { middle };
    Some(Carried {
        name: format!("the {}", screens.kind.word()),
        at,
        mass,
        bolted_at: placed.bolted_at.clone(),
        within: mm(60.0),
    })
}

/// Mass of a square tube of that size, kg.
fn tube(arm: &RoundedBox) -> f64 {
    let [length, across, upright] = [arm.half.x, arm.half.y, arm.half.z].map(|half| 2.0 * half);
    let hollow = (across - 2.0 * WALL).max(0.0) * (upright - 2.0 * WALL).max(0.0);
    STEEL * length * (across * upright - hollow)
}
