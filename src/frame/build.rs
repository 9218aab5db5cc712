//! From rails and what they carry to nodes, beams and joints.
//!
//! Every rail is a beam on its middle line, cut where something meets it. Where two rails touch, both are tied
//! rigidly to the middle of the contact, with the joint's springs between: rails that lie on one another keep their
//! distance. Parts are rigid pieces on springs of their own.

use nalgebra::Matrix3;

use super::{
    beam::{Material, Section},
    duty::Duty,
    loose::Loose,
    model::{Joint, Member, Model, Node},
    touch::{Bar, GAP, SQUARE, Touch, touches},
};
use crate::{
    geometry::Vec3,
    project::{JointKind, joint_row},
    units::mm,
};

/// What a joint ties together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tie {
    /// Two rails, by their places in the project: the one whose joint it is, the other one.
    Rails {
        /// Whose joint it is.
        guest: usize,
        /// The other one.
        host: usize,
        /// The kind.
        kind: JointKind,
        /// Brackets, screws or connectors.
        pieces: u32,
    },
    /// A part, by its place in [`Duty::carried`], on a rail.
    Part {
        /// The part.
        part: usize,
        /// The rail.
        rail: usize,
    },
}

/// A joint as it was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    /// What it ties.
    pub tie: Tie,
    /// The middle of the contact, W.
    pub at: Vec3,
    /// Size of the contact, m.
    pub size: [f64; 2],
}

/// A foot under the frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Foot {
    /// Its node.
    pub node: usize,
    /// The rail above it.
    pub rail: usize,
    /// Where it stands on the floor, W.
    pub at: Vec3,
}

/// A frame ready to be solved, and what each of its pieces is.
#[derive(Clone, Debug, Default)]
pub struct Built {
    /// Nodes, beams and joints.
    pub model: Model,
    /// The rail of each member.
    pub member_rail: Vec<usize>,
    /// The rail of each node; a part's own node has none.
    pub node_rail: Vec<Option<usize>>,
    /// What each joint of the model is.
    pub joints: Vec<Found>,
    /// The node of each part; `None` where no rail is near enough.
    pub parts: Vec<Option<usize>>,
    /// The feet.
    pub feet: Vec<Foot>,
    /// Rails of which one lies inside the other.
    pub doubles: Vec<[usize; 2]>,
    /// What doesn't hold together.
    pub loose: Vec<Loose>,
    /// Rail ends that nothing covers, by rail: first end, second end.
    pub open_ends: Vec<[bool; 2]>,
    /// How far from square each end is cut, rad, by rail: first end, second end.
    pub mitres: Vec<[f64; 2]>,
    /// Sections, rail by rail.
    pub(super) bars: Vec<Bar>,
}

/// Nodes nearer to each other than this are one, m.
const ONE: f64 = mm(4.0);
/// An overhang up to this length is only a weight at the rail's last node, m.
const STUB: f64 = mm(70.0);
/// Feet within this of the lowest one stand on the floor, m.
const LEVEL: f64 = mm(6.0);
/// The floor under a foot, N/m, across: it doesn't slide in this calculation.
const GRIP: f64 = 1e7;
/// A bolted plate of a part at one of its places: N/m and N·m/rad, as a screw clamps a whole face. Common practice, no
/// published source.
const PLATE: [f64; 2] = [5e7, 15e3];
/// The contact for which the table of joints holds, m, and the sizes that are counted.
const USUAL: f64 = mm(40.0);
const COUNTED: [f64; 2] = [mm(15.0), mm(160.0)];

/// A joint's springs from its table row, the number of its pieces and the size of its contact: against turning they
/// grow with the square of the lever, as bolts do that are further apart.
fn springs(turn: f64, push: f64, size: [f64; 2]) -> ([f64; 3], [f64; 3]) {
    let [u, v] = size.map(|size| (size.clamp(COUNTED[0], COUNTED[1]) / USUAL).powi(2));
    ([push; 3], [turn * f64::midpoint(u, v), turn * v, turn * u])
}

impl Built {
    /// Builds the frame of a duty.
    pub fn of(duty: &Duty) -> Self {
        let bars: Vec<Bar> = duty.rails.iter().map(Bar::of).collect();
        let mut touching = touches(&bars);
        let doubles: Vec<[usize; 2]> =
            touching.iter().filter(|touch| touch.is_double).map(|touch| [touch.host, touch.guest]).collect();
        touching.retain(|touch| bars[touch.guest].length() > ONE && bars[touch.host].length() > ONE);
        let mut open_ends = vec![[true; 2]; bars.len()];
        let mut mitres = vec![[0.0; 2]; bars.len()];
        for touch in &touching {
            if let Some((end, lean)) = touch.cut {
                mitres[touch.guest][end] = lean;
            }
            for [rail, other] in [[touch.guest, touch.host], [touch.host, touch.guest]] {
                cover(&mut open_ends[rail], &bars[rail], &bars[other]);
            }
        }
        let stands = feet(&bars, &open_ends);

        // Where each rail is cut.
        let mut cuts: Vec<Vec<f64>> = vec![Vec::new(); bars.len()];
        for touch in &touching {
            for rail in [touch.guest, touch.host] {
                cuts[rail].push(bars[rail].station(touch.at));
            }
        }
        for &(rail, station) in &stands {
            cuts[rail].push(station);
        }
        let held: Vec<Vec<(usize, Vec3, Vec3)>> = duty
            .carried
            .iter()
            .map(|part| {
                let mut places: Vec<(usize, Vec3, Vec3)> = part
                    .bolted_at
                    .iter()
                    .filter_map(|&place| Some((place, nearest(&bars, place)?)))
                    .filter(|(_, (.., gap))| *gap <= part.within)
                    .map(|(place, (rail, at, _))| (rail, at, place))
                    .collect();
                places.dedup_by(|a, b| a.0 == b.0 && (a.1 - b.1).norm() < ONE);
                for &(rail, at, _) in &places {
                    cuts[rail].push(bars[rail].station(at));
                }
                places
            })
            .collect();

        let mut built = Self { doubles, open_ends, mitres, ..Self::default() };
        let stations: Vec<Vec<(f64, usize)>> =
            bars.iter().enumerate().map(|(rail, bar)| built.cut(rail, bar, std::mem::take(&mut cuts[rail]))).collect();
        let node_at = |rail: usize, at: Vec3| {
            let station = bars[rail].station(at);
            let off = |&&(s, _): &&(f64, usize)| (s - station).abs();
            stations[rail].iter().min_by(|a, b| off(a).total_cmp(&off(b))).map(|&(_, node)| node)
        };
        for touch in &touching {
            if let (Some(host), Some(guest)) = (node_at(touch.host, touch.at), node_at(touch.guest, touch.at)) {
                built.join(duty, touch, [host, guest]);
            }
        }
        for &(rail, station) in &stands {
            let at = bars[rail].from + bars[rail].along() * station;
            let Some(node) = node_at(rail, at) else { continue };
            let own = &mut built.model.nodes[node];
            own.held[2] = true;
            own.spring[0] = GRIP;
            own.spring[1] = GRIP;
            built.feet.push(Foot { node, rail, at: Vec3::new(at.x, at.y, bars[rail].underside()) });
        }
        for (index, (part, places)) in duty.carried.iter().zip(&held).enumerate() {
            if places.is_empty() {
                let by = part.bolted_at.iter().filter_map(|&place| nearest(&bars, place));
                let by = by.min_by(|a, b| a.2.total_cmp(&b.2));
                built.loose.push(Loose::Uncarried {
                    part: part.name.clone(),
                    rail: by.map(|(rail, ..)| duty.rails[rail].name.clone()),
                    gap: by.map_or(0.0, |(.., gap)| gap),
                    within: part.within,
                });
                built.parts.push(None);
                continue;
            }
            let node = built.model.nodes.len();
            built.model.nodes.push(Node { mass: part.mass, ..Node::free(part.at) });
            built.node_rail.push(None);
            built.parts.push(Some(node));
            for &(rail, at, place) in places {
                let Some(carrier) = node_at(rail, at) else { continue };
                let (push, turn) = springs(PLATE[1], PLATE[0], [USUAL; 2]);
                let axes = plate_axes(&bars[rail], place);
                built.model.joints.push(Joint { nodes: [carrier, node], at, axes, push, turn });
                built.joints.push(Found { tie: Tie::Part { part: index, rail }, at, size: [USUAL; 2] });
            }
        }
        built.bars = bars;
        built
    }

    /// Cuts a rail at stations into members; its nodes by station.
    fn cut(&mut self, rail: usize, bar: &Bar, mut cuts: Vec<f64>) -> Vec<(f64, usize)> {
        let length = bar.length();
        if length <= ONE {
            return Vec::new();
        }
        cuts.sort_by(f64::total_cmp);
        let (first, last) = (cuts.first().copied(), cuts.last().copied());
        if first.is_none_or(|first| first > STUB) {
            cuts.push(0.0);
        }
        if last.is_none_or(|last| length - last > STUB) {
            cuts.push(length);
        }
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|later, former| *later - *former < ONE);
        let line = Material::ALUMINIUM.density * bar.section.area_mm2 * 1e-6;
        let strong = usize::from(bar.half.y >= bar.half.x);
        let section = Section {
            area: bar.section.area_mm2 * 1e-6,
            i_strong: bar.section.i_strong_mm4 * 1e-12,
            i_weak: bar.section.i_weak_mm4 * 1e-12,
            j: bar.section.j_mm4 * 1e-12,
            shear: Some([bar.section.shear_strong_mm2 * 1e-6, bar.section.shear_weak_mm2 * 1e-6]),
        };
        let mut out: Vec<(f64, usize)> = Vec::with_capacity(cuts.len());
        for (index, &station) in cuts.iter().enumerate() {
            let node = self.model.nodes.len();
            let mut stub = 0.0;
            if index == 0 {
                stub += station;
            }
            if index + 1 == cuts.len() {
                stub += length - station;
            }
            self.model.nodes.push(Node { mass: line * stub, ..Node::free(bar.from + bar.along() * station) });
            self.node_rail.push(Some(rail));
            if let Some(&(_, former)) = out.last() {
                self.model.members.push(Member {
                    ends: [former, node],
                    section,
                    material: Material::ALUMINIUM,
                    strong: bar.axes.column(strong).into_owned(),
                });
                self.member_rail.push(rail);
            }
            out.push((station, node));
        }
        out
    }

    /// Joins two rails where they touch; the nodes are the host's and the guest's.
    fn join(&mut self, duty: &Duty, touch: &Touch, nodes: [usize; 2]) {
        let own = duty.rails[touch.guest].joined();
        // No corner bracket, end screw or hidden connector holds an end that is cut at a slant.
        let slanted = touch.cut.is_some_and(|(_, lean)| lean > SQUARE);
        let kind = if slanted { JointKind::Pivot } else { own.kind };
        let row = joint_row(kind);
        let as_asked = own.kind == kind || own.kind == JointKind::Bracket;
        let pieces = own.pieces.filter(|_| as_asked).unwrap_or(row.pieces);
        let turn = own.turn_nm_per_rad.unwrap_or(row.turn_nm_per_rad * f64::from(pieces));
        let (push, mut turn) = springs(turn, row.push_n_per_m * f64::from(pieces), touch.size);
        if let Some(measured) = own.turn_nm_per_rad {
            turn = [measured; 3];
        }
        self.model.joints.push(Joint { nodes, at: touch.at, axes: touch.axes, push, turn });
        let tie = Tie::Rails { guest: touch.guest, host: touch.host, kind, pieces };
        self.joints.push(Found { tie, at: touch.at, size: touch.size });
    }
}

/// The rail nearest to a place, the nearest point of it, how far.
fn nearest(bars: &[Bar], place: Vec3) -> Option<(usize, Vec3, f64)> {
    bars.iter()
        .enumerate()
        .filter(|(_, bar)| bar.length() > ONE)
        .map(|(rail, bar)| {
            let (at, gap) = bar.nearest(place);
            (rail, at, gap)
        })
        .min_by(|a, b| a.2.total_cmp(&b.2))
}

/// Marks the ends of a rail that another one covers: whose middle lies on it.
fn cover(open: &mut [bool; 2], bar: &Bar, other: &Bar) {
    for (open, end) in open.iter_mut().zip([bar.from, bar.to]) {
        *open &= other.nearest(end).1 > GAP;
    }
}

/// The axes of what bolts a part to a rail, as rows: first the normal of the face that looks towards the part.
fn plate_axes(bar: &Bar, place: Vec3) -> Matrix3<f64> {
    let from_line = bar.axes.transpose() * (place - bar.from);
    let normal = usize::from((from_line.y / bar.half.y).abs() >= (from_line.x / bar.half.x).abs());
    let row = |axis: usize| bar.axes.column(axis).transpose();
    Matrix3::from_rows(&[row(normal), row(2), row(1 - normal) * if normal == 0 { -1.0 } else { 1.0 }])
}

/// Where feet stand: under the free ends of the lowest level rails; where they have none, under all their ends; without
/// level rails under the lower end of each that reaches as low. (rail, station)
fn feet(bars: &[Bar], open_ends: &[[bool; 2]]) -> Vec<(usize, f64)> {
    let long = |bar: &Bar| bar.length() > ONE;
    let lowest = |level: bool| {
        bars.iter()
            .filter(|bar| long(bar) && (!level || bar.is_level()))
            .map(Bar::underside)
            .fold(f64::INFINITY, f64::min)
    };
    let floor = lowest(false);
    let on_floor: Vec<usize> = (0..bars.len())
        .filter(|&rail| long(&bars[rail]) && bars[rail].is_level() && bars[rail].underside() < floor + LEVEL)
        .collect();
    if on_floor.is_empty() {
        let upright = |rail: usize| {
            let bar = &bars[rail];
            let station = if bar.along().z > 0.0 { 0.0 } else { bar.length() };
            (long(bar) && bar.underside() < floor + LEVEL).then_some((rail, station))
        };
        return (0..bars.len()).filter_map(upright).collect();
    }
    // Screwed into the slot, as far from the end as the rail is wide.
    let under = |only_open: bool| {
        let mut out = Vec::new();
        for &rail in &on_floor {
            let bar = &bars[rail];
            let inset = bar.half.x.min(bar.half.y).min(bar.length() / 4.0);
            for (end, station) in [inset, bar.length() - inset].into_iter().enumerate() {
                if !only_open || open_ends[rail][end] {
                    out.push((rail, station));
                }
            }
        }
        out
    };
    let free = under(true);
    if free.len() >= 3 { free } else { under(false) }
}
