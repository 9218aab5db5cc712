//! The pedal set, placed: plate, faces and their arcs.

use crate::{
    geometry::{Pose, RoundedBox, TaperedCapsule},
    project::{PedalKind, PedalSet},
};

/// One placed pedal.
#[derive(Clone, Debug)]
pub struct PedalPart {
    /// What it does.
    pub kind: PedalKind,
    /// Sideways in P, m.
    pub sideways: f64,
    /// Centre of the face at rest in P: (forward, up), m.
    pub face: [f64; 2],
    /// Pivot in P: (forward, up), m.
    pub pivot: [f64; 2],
    /// Tilt of the face at rest from the vertical of the plate, top forward, rad.
    pub tilt: f64,
    /// Width and height of the face, m.
    pub size: [f64; 2],
    /// Full travel of the face's centre along its arc, m.
    pub travel: f64,
    /// Travel at the working force, m.
    pub working_travel: f64,
    /// Working force, N.
    pub working_force: f64,
}

/// The face of a pedal at some travel, in the side plane of the pedal set: (forward, up) in P.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Centre of the pressed surface.
    pub centre: [f64; 2],
    /// Tilt from the vertical of the plate, top forward, rad.
    pub tilt: f64,
}

/// The placed pedal set.
#[derive(Clone, Debug)]
pub struct Pedals {
    /// Pedal set frame P in W.
    pub X_WP: Pose,
    /// Height of the heel plate over the plate, m.
    pub heel_rest: f64,
    /// The pedals.
    pub list: Vec<PedalPart>,
    /// The heel plate and base plate, W.
    pub base: RoundedBox,
}

impl Pedals {
    /// Places a pedal set.
    pub fn place(_set: &PedalSet) -> Self {
        todo!()
    }

    /// The pedal of a kind, if the set has it.
    pub fn get(&self, kind: PedalKind) -> Option<&PedalPart> {
        self.list.iter().find(|pedal| pedal.kind == kind)
    }
}

impl PedalPart {
    /// The face after `travel` (m) along its arc; pressing moves it forward.
    pub fn face_at(&self, _travel: f64) -> Face {
        todo!()
    }

    /// Solids at a travel, W: the face plate and the arm.
    pub fn solids(&self, _pedals: &Pedals, _travel: f64) -> (RoundedBox, TaperedCapsule) {
        todo!()
    }
}
