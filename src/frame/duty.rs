//! What a project asks of its frame: weights, pushes and pulls, and where they go in.

#![allow(non_snake_case, reason = "frame notation: X_WS is the pose of S in W, p_WQ the point Q seen from W")]

use nalgebra::Point3;

use super::screens;
use crate::{
    body::Body,
    geometry::{Pose, RoundedBox, Vec3, unit_or},
    project::{Checked, PedalKind, Rail},
    rig::Rig,
    units::{mm, mm_point},
};

/// A part that rails carry: the seat, the wheel unit, the pedal set, screens on an arm or another weight.
#[derive(Clone, Debug, PartialEq)]
pub struct Carried {
    /// "the pedal set".
    pub name: String,
    /// Its centre of mass, W; the seat's with its driver.
    pub at: Vec3,
    /// Its mass, kg; the seat's with its driver.
    pub mass: f64,
    /// Where it may be bolted on: each place is carried by the rail nearest to it.
    pub bolted_at: Vec<Vec3>,
    /// How far the nearest rail may be, m.
    pub within: f64,
}

/// A pedal that is pushed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Push {
    /// Which.
    pub kind: PedalKind,
    /// Centre of the face at its working travel, W.
    pub at: Vec3,
    /// The working force on it, N, W: from the back of the seat straight to the face.
    pub force: Vec3,
}

/// All that a frame has to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Duty {
    /// The rails.
    pub rails: Vec<Rail>,
    /// Seat, wheel unit, pedal set, then screens on a rail and the other weights.
    pub carried: Vec<Carried>,
    /// Weights that were written for a part of the project and stand for it: the weight's name, the part's.
    pub stand_for: Vec<[String; 2]>,
    /// Pushes on pedals, the brake first.
    pub pushes: Vec<Push>,
    /// Where the driver's back takes a push back, W.
    pub back: Vec3,
    /// Top of the seat's back, W.
    pub back_top: Vec3,
    /// Mass of the driver, kg.
    pub driver: f64,
    /// Wheel centre, W.
    pub wheel: Vec3,
    /// The shaft, away from the driver, W.
    pub shaft: Vec3,
    /// Greatest torque of the wheel unit, N·m.
    pub torque: f64,
    /// Pull on the rim, N.
    pub pull: f64,
    /// Friction between feet and floor.
    pub friction: f64,
}

/// Places in [`Duty::carried`].
pub const SEAT: usize = 0;
/// The wheel unit's.
pub const WHEEL: usize = 1;
/// The pedal set's.
pub const PEDALS: usize = 2;

/// How far from a rail a part may be bolted on, m: brackets of seats and pedal plates are longer than others. Common
/// practice, no published source.
const REACH: [f64; 4] = [mm(300.0), mm(200.0), mm(150.0), mm(400.0)];
/// Seat brackets: first hole ahead of the cushion's rear edge, distance of the holes, half their distance across, m.
/// Bottom mounts have 280 to 400 fore and aft, 380 to 420 across: common practice, no published source.
const BRACKET: [f64; 3] = [mm(40.0), mm(330.0), mm(200.0)];
/// The centre of mass of somebody who sits reclined, above the H-point, m; and the H-point ahead of and above where
/// cushion and back meet, along and across the cushion, m: own estimates from segment masses, from memory.
const SITTING: [f64; 3] = [mm(190.0), mm(130.0), mm(90.0)];
/// Where the back takes a push, up along it, m: own choice, between loin and shoulder blades.
const PUSHED: f64 = mm(250.0);

impl Duty {
    /// What a project asks of its frame.
    pub fn of(project: &Checked) -> Self {
        Self::with(project, &Rig::place(project), Body::of(&project.driver).mass())
    }

    /// The same with rig and driver's mass (kg) at hand.
    pub fn with(project: &Checked, rig: &Rig, driver: f64) -> Self {
        let loads = project.loads.clone().unwrap_or_default();
        let X_WS = rig.seat.X_WS;
        let level = Pose::translation(X_WS.translation.x, X_WS.translation.y, X_WS.translation.z);
        let sitting = X_WS * Point3::new(SITTING[1], 0.0, SITTING[2]) + Vec3::z() * SITTING[0];
        let shell = X_WS * Point3::new(mm(rig.seat.seat.cushion.length_mm) / 2.0, 0.0, mm(100.0));
        let seat_mass = loads.seat_kg + driver;
        let seat = Carried {
            name: "the seat".to_owned(),
            at: (sitting.coords * driver + shell.coords * loads.seat_kg) / seat_mass.max(1e-9),
            mass: seat_mass,
            bolted_at: corners(|x, y| {
                level * Point3::new(BRACKET[0] + BRACKET[1] * (x + 1.0) / 2.0, y * BRACKET[2], 0.0)
            }),
            within: REACH[0],
        };
        let unit = Carried {
            name: "the wheel unit".to_owned(),
            at: rig.wheel.unit.pose.translation.vector,
            mass: loads.wheel_unit_kg,
            bolted_at: of_box(&rig.wheel.unit),
            within: REACH[1],
        };
        let pedals = Carried {
            name: "the pedal set".to_owned(),
            at: rig.pedals.base.pose.translation.vector,
            mass: loads.pedals_kg,
            bolted_at: of_box(&rig.pedals.base),
            within: REACH[2],
        };
        let mut carried = vec![seat, unit, pedals];
        carried.extend(screens::carried(project, rig));
        let mut stand_for = Vec::new();
        // A weight that is called like a part is that part's: the driver's comes on top.
        let mut weights = Vec::new();
        for weight in &loads.weights {
            match carried.iter().position(|part| is_called(&weight.name, &part.name)) {
                Some(part) => stand_for.push((part, weight)),
                None => weights.push(weight),
            }
        }
        for (index, part) in carried.iter_mut().enumerate() {
            let own = || stand_for.iter().filter(|(part, _)| *part == index).map(|(_, weight)| weight);
            if own().next().is_none() {
                continue;
            }
            let sitting = if index == SEAT { (driver, sitting.coords * driver) } else { (0.0, Vec3::zeros()) };
            let (mass, moment) = own().fold(sitting, |(mass, moment), weight| {
                (mass + weight.kg, moment + mm_point(weight.at_mm) * weight.kg)
            });
            part.mass = mass;
            if mass > 0.0 {
                part.at = moment / mass;
            }
        }
        let stand_for =
            stand_for.into_iter().map(|(part, weight)| [weight.name.clone(), carried[part].name.clone()]).collect();
        carried.extend(weights.into_iter().map(|weight| {
            let at = mm_point(weight.at_mm);
            Carried {
                name: format!("the weight \"{}\"", weight.name),
                at,
                mass: weight.kg,
                bolted_at: vec![at],
                within: REACH[3],
            }
        }));
        let up_back = |height: f64| (rig.seat.X_WK * Point3::new(0.0, 0.0, height)).coords;
        let back = up_back(PUSHED);
        let mut pushes: Vec<Push> = rig
            .pedals
            .list
            .iter()
            .map(|pedal| {
                let at = pedal.face_pose(&rig.pedals, pedal.working_travel).translation.vector;
                // A leg pushes from where the back leans, not square to the face.
                Push { kind: pedal.kind, at, force: unit_or(at - back, Vec3::x()) * pedal.working_force }
            })
            .collect();
        pushes.sort_by_key(|push| push.kind != PedalKind::Brake);
        Self {
            rails: project.frame.clone(),
            carried,
            stand_for,
            pushes,
            back,
            back_top: up_back(mm(rig.seat.seat.back.length_mm)),
            driver,
            wheel: rig.wheel.X_WR.translation.vector,
            shaft: rig.wheel.X_WR.rotation * Vec3::x(),
            torque: loads.wheel_torque_nm,
            pull: loads.wheel_pull_n,
            friction: loads.floor_friction,
        }
    }

    /// The brake's push, if the set has a brake.
    pub fn brake(&self) -> Option<&Push> {
        self.pushes.iter().find(|push| push.kind == PedalKind::Brake)
    }
}

/// Whether a weight was written for a part: it is called like it, however many there are of it. "screens" is any kind of
/// screen.
fn is_called(weight: &str, part: &str) -> bool {
    let weight = weight.trim().to_lowercase();
    let weight = weight.strip_prefix("the ").unwrap_or(&weight);
    let part = part.strip_prefix("the ").unwrap_or(part);
    let called = |name: &str| weight == name || weight.strip_suffix('s').is_some_and(|one| one == name);
    called(part) || (part == "pedal set" && called("pedal")) || (part.ends_with("screen") && called("screen"))
}

/// Four places, fore and aft (−1, 1) by right and left.
fn corners(place: impl Fn(f64, f64) -> Point3<f64>) -> Vec<Vec3> {
    [(-1.0, 1.0), (1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)].into_iter().map(|(x, y)| place(x, y).coords).collect()
}

/// The corners of a box at middle height, a tenth inside.
fn of_box(solid: &RoundedBox) -> Vec<Vec3> {
    corners(|x, y| solid.pose * Point3::new(0.8 * x * solid.half.x, 0.8 * y * solid.half.y, 0.0))
}
