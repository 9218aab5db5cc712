//! The page of reach: what hands and feet reach, as surfaces on the stage and as curves in a plane, point by point and
//! control by control.
//!
//! [`ReachPage`] holds what is chosen and what has been worked out for it; [`work`] has it worked out behind the scenes,
//! `touch` asks what lies under the pointer, [`film`] puts the surfaces on the stage, [`draw`] draws over the view. The
//! panel is `panels/reach.rs`.

pub mod choice;
pub mod draw;
pub mod film;
mod touch;
pub mod work;

pub use choice::{Choice, Cut, Sheath, Tint, Who};

use std::sync::Arc;

use bevy::prelude::Resource;

use super::{camera::View, scene::Shown};
use crate::{
    geometry::{Side, Vec3},
    posture::{Arm, Leg, Sitting},
    reach::{
        Answer, ControlReach, Curve, Limb, LimbPose, PedalReach, Plane, Reach, Sharing, Spot, Surface, Zone, section,
    },
    study::Study,
};

/// One boundary's curves in the plane of the section.
#[derive(Clone, Debug)]
pub struct Line {
    /// How it is drawn.
    pub tint: Tint,
    /// The curves.
    pub curves: Vec<Curve>,
}

/// The limb as it goes to a point.
#[derive(Clone, Debug)]
pub enum Going {
    /// Trunk and arm.
    Arm(Side, Box<Sitting>, Box<Arm>),
    /// Leg.
    Leg(Side, Box<Leg>),
}

/// What is known of the point under the pointer.
#[derive(Clone, Debug)]
pub struct Touched {
    /// The point, W.
    pub at: Vec3,
    /// Whose colour it has: of the boundary that it lies on, or of what holds it; `None` where it is out of reach.
    pub tint: Option<Tint>,
    /// In a few words.
    pub title: String,
    /// How it lies to the boundaries.
    pub lines: Vec<String>,
    /// What ends the zone there, or is in the way, in words.
    pub cause: String,
    /// The limb going there, where it is one person's reach.
    pub going: Option<(LimbPose, Going)>,
}

/// How something lies to the zones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nobody knows, or nothing is said of zones.
    Unknown,
    /// Out of reach.
    Out,
    /// In this zone.
    In(Zone),
}

impl From<Option<Zone>> for Standing {
    fn from(zone: Option<Zone>) -> Self {
        zone.map_or(Self::Out, Self::In)
    }
}

/// How a control lies to what all drivers reach.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Common {
    /// The innermost zone in which all of them reach it.
    pub zone: Option<Zone>,
    /// Signed distance to the boundary of the attainable one, or else of the first that is looked at, m.
    pub margin: Option<f64>,
}

impl Common {
    /// Takes a zone in, the inner ones first.
    fn take(&mut self, zone: Zone, surface: &Surface, at: Vec3) {
        let Some((on, _)) = surface.nearest(at) else { return };
        let (holds, off) = (surface.holds(at), (on - at).norm());
        if holds {
            self.zone = self.zone.or(Some(zone));
        }
        if self.margin.is_none() || zone == Zone::Attainable {
            self.margin = Some(if holds { off } else { -off });
        }
    }
}

/// How far the work is.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Stage {
    /// Nothing was asked for.
    #[default]
    Idle,
    /// Words for what is being done, and its share from 0 to 1.
    Working(&'static str, f32),
    /// The user stopped it.
    Stopped,
    /// All done.
    Done,
    /// It could not be worked out.
    Failed,
}

/// The search for the best place of a control, by its index.
#[derive(Clone, Debug, Default)]
pub enum Placing {
    /// Nobody asks.
    #[default]
    No,
    /// It is being looked for.
    Looking(usize),
    /// There is none.
    Nowhere(usize),
    /// It was found.
    At(usize, Arc<Spot>),
}

impl Placing {
    /// The control.
    pub const fn control(&self) -> Option<usize> {
        match self {
            Self::No => None,
            Self::Looking(control) | Self::Nowhere(control) | Self::At(control, _) => Some(*control),
        }
    }
}

/// What is chosen on the page and what has been worked out for it.
#[derive(Debug, Default, Resource)]
pub struct ReachPage {
    /// True while the page is open.
    pub open: bool,
    /// What is chosen.
    pub choice: Choice,
    /// How far the work is.
    pub stage: Stage,
    /// The boundaries that are there, the innermost first, each zone of each limb or each share.
    pub sheaths: Vec<Sheath>,
    /// The reach of the limbs that were worked out.
    pub reaches: Vec<Arc<Reach>>,
    /// The project's controls, each with its answer.
    pub rows: Vec<(ControlReach, Answer)>,
    /// The project's pedals, each with its answers released and pressed.
    pub treads: Vec<(PedalReach, [Answer; 2])>,
    /// How the controls lie to what all drivers reach, once it was asked for; `None` of a hand that is not looked at.
    pub common: Vec<Option<Common>>,
    /// What people reach, once it was asked for.
    pub sharing: Option<Arc<Sharing>>,
    /// The control whose numbers are shown.
    pub control: Option<usize>,
    /// The pedal whose numbers are shown.
    pub pedal: Option<usize>,
    /// The control that is being dragged, and where it has got to, W.
    pub dragged: Option<(usize, Vec3)>,
    /// The control whose best place is looked for or shown.
    pub placing: Placing,
    /// How far that search is, 0 to 1.
    pub searched: f32,
    /// What lies under the pointer, once it is known.
    pub touched: Option<Touched>,
    /// What the pointer points along in the view, if it rests there: a point and a direction, W.
    pub ray: Option<(Vec3, Vec3)>,
    /// The plane in which the pointer is looked for, if not on the boundaries.
    pub pointed_plane: Option<Plane>,
    /// The section that is being dragged.
    pub dragged_cut: Option<Cut>,
    /// What the user asked of the work in this frame.
    pub wish: Option<Wish>,
    /// The curves of the section, kept.
    pub lines: Vec<Line>,
    /// What they are of.
    pub lines_of: Option<(Vec<u64>, Plane)>,
}

/// What the user asks of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// To stop.
    Stop,
    /// To go on.
    GoOn,
}

impl ReachPage {
    /// The same as it is shown, without what is under way: for a picture.
    pub fn as_shown(&self) -> Self {
        Self {
            open: self.open,
            choice: self.choice.clone(),
            sheaths: self.sheaths.clone(),
            reaches: self.reaches.clone(),
            rows: self.rows.clone(),
            treads: self.treads.clone(),
            common: self.common.clone(),
            sharing: self.sharing.clone(),
            control: self.control,
            pedal: self.pedal,
            placing: self.placing.clone(),
            ..Self::default()
        }
    }

    /// The limbs that are looked at.
    pub fn limbs(&self) -> Vec<Limb> {
        self.choice.limbs()
    }

    /// The boundaries that are to be seen.
    pub fn seen(&self) -> impl Iterator<Item = &Sheath> {
        self.sheaths.iter().filter(|sheath| self.open && self.choice.shows(sheath))
    }

    /// The reach of a limb, once there is one.
    pub fn reach(&self, limb: Limb) -> Option<&Arc<Reach>> {
        self.reaches.iter().find(|reach| reach.limb == limb)
    }

    /// The section that a view shows: its own in a standard view, else the one that is chosen.
    pub fn cut_in(&self, view: &View) -> Option<Cut> {
        view.standard.and_then(Cut::of).or(self.choice.cut)
    }

    /// The plane of a section.
    pub fn plane(&self, cut: Cut, study: &Study) -> Plane {
        let at = self.choice.offset(cut).unwrap_or_else(|| self.usual_offset(cut, study));
        match cut {
            Cut::Side => Plane::side(at),
            Cut::Top => Plane::top(at),
            Cut::Front => Plane::front(at),
        }
    }

    /// Where a section lies that nobody has moved: through the shoulder or the hip of the limb, or midway between both.
    pub fn usual_offset(&self, cut: Cut, study: &Study) -> f64 {
        let sitting = &study.solved.rest.sitting;
        let sides: Vec<Side> = self.limbs().iter().map(|limb| limb.side()).collect();
        let roots = if self.choice.hands { sitting.shoulders } else { sitting.hips };
        let middle: Vec3 = sides.iter().map(|side| roots[side.index()]).sum::<Vec3>() / sides.len().max(1) as f64;
        // To a whole millimetre, as it is shown.
        (cut.along(middle) * 1e3).round() / 1e3
    }

    /// The curves of what is seen in a plane; kept until either changes.
    pub fn section(&mut self, plane: &Plane) -> &[Line] {
        let of: Vec<u64> = self.seen().map(|sheath| sheath.id).collect();
        if self.lines_of.as_ref() != Some(&(of.clone(), *plane)) {
            self.lines =
                self.seen().map(|sheath| Line { tint: sheath.tint, curves: section(&sheath.surface, plane) }).collect();
            self.lines_of = Some((of, *plane));
        }
        &self.lines
    }

    /// Whose reach is looked at.
    pub const fn who(&self) -> Who {
        if self.choice.hands { self.choice.who } else { Who::You }
    }

    /// The step of the lattices on which the boundaries lie that are seen, the longest, m; 0 before there are any.
    pub fn step(&self) -> f64 {
        let steps = self.seen().filter(|sheath| matches!(sheath.tint, Tint::Zone(_))).map(|sheath| sheath.surface.step);
        steps.fold(0.0, f64::max)
    }

    /// The litres that a zone holds, of the limbs that are looked at together.
    pub fn litres(&self, tint: Tint) -> Option<f64> {
        let limbs = self.limbs();
        let mut of =
            self.sheaths.iter().filter(|sheath| sheath.tint == tint && limbs.contains(&sheath.limb)).peekable();
        of.peek()?;
        Some(of.map(|sheath| sheath.litres).sum())
    }

    /// Whether a zone of the limbs that are looked at has been worked out and is empty.
    pub fn is_empty(&self, tint: Tint) -> bool {
        let there = self.limbs().iter().all(|limb| self.reach(*limb).is_some_and(|reach| reach.step().is_some()));
        let of_zone = matches!(tint, Tint::Zone(_)) && self.choice.who == Who::You;
        of_zone && there && self.litres(tint).is_none()
    }

    /// The words for a control's zone.
    pub fn zone_words(zone: Option<Zone>) -> &'static str {
        zone.map_or("out of reach", Zone::word)
    }

    /// Forgets what lay under the pointer.
    pub fn leave(&mut self) {
        self.ray = None;
        self.touched = None;
    }

    /// The posture that shows the limb going to the point under the pointer, and which bones of it.
    pub fn going(&self, shown: &Shown) -> Option<(crate::posture::Posture, Vec<crate::posture::Bone>)> {
        use crate::posture::Bone;
        let touched = self.touched.as_ref().filter(|_| self.open)?;
        let mut posture = shown.posture.clone()?;
        let (pose, going) = touched.going.as_ref()?;
        let bones = match going {
            Going::Arm(side, sitting, arm) => {
                let mut bones =
                    vec![Bone::UpperArm(*side), Bone::Forearm(*side), Bone::ForearmTwist(*side), Bone::Hand(*side)];
                // A trunk that leans is shown too.
                if pose.lean > 0.01 {
                    bones.extend([Bone::Abdomen, Bone::Thorax, Bone::Neck, Bone::Head]);
                    bones.extend(Side::BOTH.map(Bone::Clavicle));
                } else if arm.protraction > 0.005 {
                    bones.push(Bone::Clavicle(*side));
                }
                posture.sitting = (**sitting).clone();
                posture.arms[side.index()] = **arm;
                bones
            }
            Going::Leg(side, leg) => {
                posture.legs[side.index()] = **leg;
                vec![Bone::Thigh(*side), Bone::Shank(*side), Bone::Foot(*side)]
            }
        };
        Some((posture, bones))
    }
}
