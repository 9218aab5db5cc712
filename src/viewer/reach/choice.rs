//! What is looked at on the page of reach, and how each boundary is told from the others.

use std::sync::{
    Arc,
    atomic::{AtomicU64, Ordering},
};

use crate::{
    geometry::{Mesh, Side, Vec3},
    reach::{Footing, Grip, Limb, Surface, USUAL_LEAN, Zone},
    rig::Rig,
    units::mm,
    viewer::{
        camera::{Bounds, StandardView},
        thin,
    },
};

/// Whose reach it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Who {
    /// The one who sits.
    #[default]
    You,
    /// All drivers of the project: what every one of them reaches.
    Drivers,
    /// A population: what 50, 90 and 95 % of people reach.
    People,
}

impl Who {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::You, Self::Drivers, Self::People];

    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::You => "You",
            Self::Drivers => "All drivers",
            Self::People => "People",
        }
    }
}

/// What a boundary bounds; it decides colour, line and name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Tint {
    /// A zone.
    Zone(Zone),
    /// What at least so many percent of people reach.
    Share(u8),
    /// Where a control can stand.
    Place,
}

impl Tint {
    /// What each of a person's zones is drawn with, the innermost first.
    pub const ZONES: [Self; 4] = [
        Self::Zone(Zone::Comfortable),
        Self::Zone(Zone::Attainable),
        Self::Zone(Zone::ShoulderLift),
        Self::Zone(Zone::Leaning),
    ];
    /// What the shares of people are drawn with, the innermost first.
    pub const SHARES: [Self; 3] = [Self::Share(95), Self::Share(90), Self::Share(50)];

    /// Its place among colours and lines, 0 the innermost.
    pub const fn index(self) -> usize {
        match self {
            Self::Zone(Zone::Comfortable) | Self::Share(95..) => 0,
            Self::Zone(Zone::Attainable) | Self::Share(90..) => 1,
            Self::Zone(Zone::ShoulderLift) | Self::Share(_) => 2,
            Self::Zone(Zone::Leaning) => 3,
            Self::Place => 4,
        }
    }

    /// In words.
    pub fn words(self) -> String {
        match self {
            Self::Zone(zone) => zone.word().to_owned(),
            Self::Share(percent) => format!("{percent} % of people"),
            Self::Place => "free to stand".to_owned(),
        }
    }

    /// Strokes and gaps of its line, points; empty where it has none. Told apart without colour.
    pub const fn dashes(self) -> (&'static [f32], &'static [f32]) {
        match self.index() {
            0 | 4 => (&[], &[]),
            1 => (&[13.0], &[4.0]),
            2 => (&[13.0, 2.0], &[4.0, 4.0]),
            _ => (&[2.5], &[4.0]),
        }
    }
}

/// A boundary on the stage.
#[derive(Clone, Debug)]
pub struct Sheath {
    /// Whose it is.
    pub limb: Limb,
    /// What it bounds.
    pub tint: Tint,
    /// The boundary.
    pub surface: Arc<Surface>,
    /// The same with few triangles, where it has many and a processor draws what moves.
    pub draft: Option<Arc<Mesh>>,
    /// What it holds, litres.
    pub litres: f64,
    /// Its extreme points.
    pub bounds: Bounds,
    /// No other has the same.
    pub id: u64,
}

/// How many boundaries were made.
static MADE: AtomicU64 = AtomicU64::new(0);

/// Specks that are smaller than this every way are not drawn, m: a hand is wider.
const SPECK: f64 = mm(70.0);
/// Boundaries on lattices finer than this are drawn with fewer corners, m, and so far from where they were, m.
const DENSE: f64 = mm(15.0);
const OFF: f64 = mm(0.5);

impl Sheath {
    /// Of a boundary; `None` of an empty one. What is drawn has even edges and, where the lattice is finer than the eye
    /// needs, no more corners than its curvature asks for.
    pub fn of(limb: Limb, tint: Tint, surface: Surface) -> Option<Self> {
        let litres = surface.volume() * 1e3;
        let dense = surface.step < DENSE;
        let mut drawn = surface.smoothed();
        if dense {
            drawn = drawn.simplified(OFF);
        }
        drop_specks(&mut drawn.mesh);
        (!drawn.mesh.triangles.is_empty()).then(|| Self {
            limb,
            tint,
            litres,
            bounds: Bounds::around(drawn.mesh.triangles.iter().flatten().map(|&at| &drawn.mesh.positions[at as usize])),
            draft: None,
            surface: Arc::new(drawn),
            id: MADE.fetch_add(1, Ordering::Relaxed),
        })
    }
}

impl Sheath {
    /// With its draft.
    #[must_use]
    pub fn drafted(mut self) -> Self {
        self.draft = self.draft.or_else(|| thin::mesh(&self.surface.mesh).map(Arc::new));
        self
    }

    /// Whether it is a zone's boundary on a lattice of a step, m.
    pub fn is_of(&self, step: f64) -> bool {
        matches!(self.tint, Tint::Zone(_)) && self.surface.step > 0.0 && self.surface.step < step * 1.01
    }
}

/// Takes the pieces of a mesh away that are specks.
fn drop_specks(mesh: &mut Mesh) {
    // Corners that triangles join point to one of their piece.
    let mut piece: Vec<u32> = (0..mesh.positions.len() as u32).collect();
    fn root(piece: &mut [u32], mut at: u32) -> u32 {
        while piece[at as usize] != at {
            piece[at as usize] = piece[piece[at as usize] as usize];
            at = piece[at as usize];
        }
        at
    }
    for &[a, b, c] in &mesh.triangles {
        for other in [b, c] {
            let (a, b) = (root(&mut piece, a), root(&mut piece, other));
            piece[a.max(b) as usize] = a.min(b);
        }
    }
    let mut boxes = vec![(Vec3::repeat(f64::INFINITY), Vec3::repeat(f64::NEG_INFINITY)); piece.len()];
    for at in 0..mesh.positions.len() {
        let of = &mut boxes[root(&mut piece, at as u32) as usize];
        *of = (of.0.inf(&mesh.positions[at]), of.1.sup(&mesh.positions[at]));
    }
    mesh.triangles.retain(|triangle| {
        let (low, high) = boxes[root(&mut piece, triangle[0]) as usize];
        (high - low).max() >= SPECK
    });
}

/// The direction in which a section cuts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cut {
    /// The plane of the side view.
    Side,
    /// The plane of the top view.
    Top,
    /// The plane of the front view.
    Front,
}

impl Cut {
    /// The word on its button.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Side => "Side",
            Self::Top => "Top",
            Self::Front => "Front",
        }
    }

    /// What its distance is called.
    pub const fn offset_word(self) -> &'static str {
        match self {
            Self::Side => "to the left",
            Self::Top => "above the floor",
            Self::Front => "forward",
        }
    }

    /// Its normal, W, along which its distance grows.
    pub fn normal(self) -> Vec3 {
        match self {
            Self::Side => Vec3::y(),
            Self::Top => Vec3::z(),
            Self::Front => Vec3::x(),
        }
    }

    /// The distance of a point along the normal, m.
    pub fn along(self, point: Vec3) -> f64 {
        point.dot(&self.normal())
    }

    /// The section that a standard view shows.
    pub const fn of(view: StandardView) -> Option<Self> {
        match view {
            StandardView::Side => Some(Self::Side),
            StandardView::Top => Some(Self::Top),
            StandardView::Front => Some(Self::Front),
            StandardView::ThreeQuarter => None,
        }
    }

    const fn index(self) -> usize {
        self as usize
    }
}

/// What is chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Hands, or else feet.
    pub hands: bool,
    /// Left and right; one at least.
    pub sides: [bool; 2],
    /// What the hands do.
    pub grip: Grip,
    /// What the feet do.
    pub footing: Footing,
    /// The zones that are seen.
    pub zones: [bool; 4],
    /// The shares of people that are seen.
    pub shares: [bool; 3],
    /// How far the trunk leans forward, rad.
    pub lean: f64,
    /// Whose reach it is.
    pub who: Who,
    /// The section outside the standard views, if there is one.
    pub cut: Option<Cut>,
    /// Where the sections lie, m; `None` where nobody has moved them.
    pub offsets: [Option<f64>; 3],
}

impl Default for Choice {
    fn default() -> Self {
        Self {
            hands: true,
            sides: [false, true],
            grip: Grip::Full,
            footing: Footing::HeelDown,
            zones: [true, true, false, false],
            shares: [true; 3],
            lean: USUAL_LEAN,
            who: Who::You,
            cut: None,
            offsets: [None; 3],
        }
    }
}

impl Choice {
    /// The limb of one side.
    pub const fn limb(&self, side: Side) -> Limb {
        if self.hands { Limb::Hand(side, self.grip) } else { Limb::Foot(side, self.footing) }
    }

    /// The hand that works a control, by its index.
    pub fn hand_at(&self, rig: &Rig, control: usize) -> Option<Limb> {
        Some(Limb::Hand(rig.controls.get(control)?.hand, self.grip))
    }

    /// The limbs that are looked at.
    pub fn limbs(&self) -> Vec<Limb> {
        Side::BOTH.into_iter().filter(|side| self.sides[side.index()]).map(|side| self.limb(side)).collect()
    }

    /// What is listed of whom.
    pub const fn tints(&self) -> &'static [Tint] {
        match self.who {
            Who::People => &Tint::SHARES,
            _ if self.hands => &Tint::ZONES,
            _ => Tint::ZONES.split_at(Zone::OF_FEET.len()).0,
        }
    }

    /// The switch of a boundary.
    pub const fn switch(&mut self, tint: Tint) -> Option<&mut bool> {
        match tint {
            Tint::Zone(_) => Some(&mut self.zones[tint.index()]),
            Tint::Share(_) => Some(&mut self.shares[tint.index()]),
            Tint::Place => None,
        }
    }

    /// Whether a boundary is seen.
    pub fn shows(&self, sheath: &Sheath) -> bool {
        let on = match sheath.tint {
            Tint::Zone(_) => self.who != Who::People && self.zones[sheath.tint.index()],
            Tint::Share(_) => self.who == Who::People && self.shares[sheath.tint.index()],
            Tint::Place => return true,
        };
        on && self.limbs().contains(&sheath.limb)
    }

    /// Where a section lies, m, if somebody has moved it.
    pub const fn offset(&self, cut: Cut) -> Option<f64> {
        self.offsets[cut.index()]
    }

    /// Moves a section.
    pub const fn set_offset(&mut self, cut: Cut, at: Option<f64>) {
        self.offsets[cut.index()] = at;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::isosurface;

    #[test]
    fn a_speck_goes_and_what_is_wider_than_a_hand_stays() {
        let ball = |middle: Vec3, radius: f64| {
            let field = move |p: Vec3| (p - middle).norm() - radius;
            isosurface(&field, middle.add_scalar(-0.3), middle.add_scalar(0.3), 0.01)
        };
        let big = ball(Vec3::zeros(), 0.2);
        let count = big.triangles.len();
        let mut both = big;
        let speck = ball(Vec3::new(1.0, 0.0, 0.0), 0.03);
        let base = both.positions.len() as u32;
        both.positions.extend(speck.positions);
        both.triangles.extend(speck.triangles.iter().map(|triangle| triangle.map(|at| at + base)));
        drop_specks(&mut both);
        assert_eq!(both.triangles.len(), count);
    }

    #[test]
    fn every_zone_has_a_line_of_its_own() {
        for tints in [&Tint::ZONES[..], &Tint::SHARES] {
            for (at, tint) in tints.iter().enumerate() {
                assert_eq!(tint.index(), at);
                for other in &tints[..at] {
                    assert_ne!(tint.dashes(), other.dashes(), "{tint:?} {other:?}");
                    assert_ne!(tint.words(), other.words());
                }
            }
        }
    }
}
