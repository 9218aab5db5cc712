//! Where rails meet.

use nalgebra::Matrix3;

use crate::{
    geometry::Vec3,
    project::{Rail, RailSection},
    units::{deg, mm, mm_point},
};

/// A gap over which two rails still count as touching, m: what saws and eyes leave.
pub(super) const GAP: f64 = mm(3.0);
/// The least width of a contact that can be joined, m: a slot bolt and its washer.
const LEAST: f64 = mm(10.0);

/// An end that is cut further from square is held by no bracket of the usual form, rad.
pub(super) const SQUARE: f64 = deg(4.0);
/// A saw cuts no steeper than this from square, rad; what meets at more lies beside.
const STEEPEST: f64 = deg(70.0);

/// A rail as a box.
#[derive(Clone, Debug)]
pub(super) struct Bar {
    pub from: Vec3,
    pub to: Vec3,
    /// Across, upright, along as columns.
    pub axes: Matrix3<f64>,
    /// Half of the section and of the length, m.
    pub half: Vec3,
    pub section: RailSection,
}

impl Bar {
    pub(super) fn of(rail: &Rail) -> Self {
        let (from, to) = (mm_point(rail.from_mm), mm_point(rail.to_mm));
        let [across, upright] = rail.section_mm.map(mm);
        let half = Vec3::new(across, upright, (to - from).norm()) / 2.0;
        Self { from, to, axes: rail.axes(), half, section: RailSection::of(rail) }
    }

    pub(super) fn along(&self) -> Vec3 {
        self.axes.column(2).into_owned()
    }

    pub(super) fn length(&self) -> f64 {
        2.0 * self.half.z
    }

    fn middle(&self) -> Vec3 {
        (self.from + self.to) / 2.0
    }

    /// A point seen from the middle, in the rail's axes.
    fn inside(&self, p: Vec3) -> Vec3 {
        self.axes.transpose() * (p - self.middle())
    }

    /// The nearest point of the rail, and how far it is.
    pub(super) fn nearest(&self, p: Vec3) -> (Vec3, f64) {
        let own = self.inside(p);
        let held = own.zip_map(&self.half, |v, half| v.clamp(-half, half));
        (self.middle() + self.axes * held, (own - held).norm())
    }

    /// How far along its middle line the point nearest to `p` is, m from its first end.
    pub(super) fn station(&self, p: Vec3) -> f64 {
        (p - self.from).dot(&self.along()).clamp(0.0, self.length())
    }

    /// The lowest height of the rail.
    pub(super) fn underside(&self) -> f64 {
        self.middle().z - (0..3).map(|i| self.axes[(2, i)].abs() * self.half[i]).sum::<f64>()
    }

    /// True where it lies level, to 6°.
    pub(super) fn is_level(&self) -> bool {
        self.along().z.abs() < 0.1
    }

    fn corner(&self, index: usize) -> Vec3 {
        let sign = |bit: usize| if index & (1 << bit) == 0 { -1.0 } else { 1.0 };
        self.middle() + self.axes * Vec3::new(sign(0), sign(1), sign(2)).component_mul(&self.half)
    }

    /// The corners of the part of this rail's edges that lies within another rail's box, grown by `grow`.
    fn edges_within(&self, other: &Self, grow: f64, out: &mut Vec<Vec3>) {
        for start in 0..8 {
            for bit in 0..3 {
                if start & (1 << bit) != 0 {
                    continue;
                }
                let (p, q) = (other.inside(self.corner(start)), other.inside(self.corner(start | (1 << bit))));
                let d = q - p;
                // Liang and Barsky's clipping.
                let (mut from, mut to) = (0.0_f64, 1.0_f64);
                for axis in 0..3 {
                    let half = other.half[axis] + grow;
                    if d[axis].abs() < 1e-12 {
                        if p[axis].abs() > half {
                            to = -1.0;
                        }
                    } else {
                        let (a, b) = ((-half - p[axis]) / d[axis], (half - p[axis]) / d[axis]);
                        from = from.max(a.min(b));
                        to = to.min(a.max(b));
                    }
                }
                if from <= to {
                    out.extend([from, to].map(|t| other.middle() + other.axes * (p + d * t)));
                }
            }
        }
    }
}

/// Two rails that touch.
#[derive(Clone, Debug)]
pub(super) struct Touch {
    /// The one whose joint it is: whose cut end stands against the other, else the later one of the list.
    pub guest: usize,
    /// The other one.
    pub host: usize,
    /// The middle of the contact.
    pub at: Vec3,
    /// Axes of the contact as rows: normal, then two across it.
    pub axes: Matrix3<f64>,
    /// Size of the contact along those two, m.
    pub size: [f64; 2],
    /// Which end of the guest is cut to lie against the host, and how far from square, rad.
    pub cut: Option<(usize, f64)>,
    /// True where more than half of one rail lies inside the other.
    pub is_double: bool,
}

/// Every pair of rails that touch.
pub(super) fn touches(bars: &[Bar]) -> Vec<Touch> {
    let mut out = Vec::new();
    // How far a rail reaches along each axis of the world.
    let reach: Vec<Vec3> = bars.iter().map(|bar| bar.axes.abs() * bar.half).collect();
    for a in 0..bars.len() {
        for b in a + 1..bars.len() {
            let apart = (bars[a].middle() - bars[b].middle()).abs() - reach[a] - reach[b];
            if apart.max() < GAP {
                out.extend(touch(bars, a, b));
            }
        }
    }
    out
}

fn touch(bars: &[Bar], a: usize, b: usize) -> Option<Touch> {
    let (one, two) = (&bars[a], &bars[b]);
    let mut points = Vec::new();
    one.edges_within(two, GAP, &mut points);
    two.edges_within(one, GAP, &mut points);
    if points.is_empty() {
        return None;
    }
    // The guest's cut end lies on the other one.
    let ends_on = |own: &Bar, other: &Bar| [own.from, own.to].map(|end| other.nearest(end).1 <= GAP);
    let (guest, host) =
        if ends_on(one, two).contains(&true) && !ends_on(two, one).contains(&true) { (a, b) } else { (b, a) };
    // The extent of the contact along the host's axes; the thinnest is its normal.
    let axes = bars[host].axes;
    let mut low = Vec3::repeat(f64::INFINITY);
    let mut high = -low;
    for p in &points {
        let own = axes.transpose() * p;
        low = low.inf(&own);
        high = high.sup(&own);
    }
    let sizes = high - low;
    let normal = sizes.imin();
    let (u, v) = ((normal + 1) % 3, (normal + 2) % 3);
    if sizes[u].min(sizes[v]) < LEAST {
        return None;
    }
    let volume = |bar: &Bar| 8.0 * bar.half.x * bar.half.y * bar.half.z;
    let is_double = sizes.product() > 0.5 * volume(one).min(volume(two)) && sizes.min() > 2.5 * GAP;
    let row = |axis: usize| axes.column(axis).transpose();
    let lean = axes.column(normal).dot(&bars[guest].along()).abs().min(1.0).acos();
    let end = ends_on(&bars[guest], &bars[host]).iter().position(|&on| on);
    Some(Touch {
        guest,
        host,
        at: axes * ((low + high) / 2.0),
        axes: Matrix3::from_rows(&[row(normal), row(u), row(v)]),
        size: [sizes[u], sizes[v]],
        is_double,
        cut: end.filter(|_| lean < STEEPEST).map(|end| (end, lean)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bars(rails: &[Rail]) -> Vec<Bar> {
        rails.iter().map(Bar::of).collect()
    }

    /// By hand: a cross member's end (40 × 40, middle 60 mm high) against a base rail (40 × 80, inner face at 230): the
    /// contact is 40 × 40 at (520, 230, 60), facing sideways.
    #[test]
    fn an_end_against_a_face_touches_with_its_whole_section() {
        let found = touches(&bars(&[
            Rail::between("base", [40.0, 80.0], [0.0, 250.0, 40.0], [1400.0, 250.0, 40.0]),
            Rail::between("cross", [40.0, 40.0], [520.0, -230.0, 60.0], [520.0, 230.0, 60.0]),
            Rail::between("far", [40.0, 40.0], [520.0, -230.0, 90.0], [520.0, 219.0, 190.0]),
        ]));
        let touch = &found[0];
        assert_eq!((touch.guest, touch.host), (1, 0));
        assert!((touch.at - Vec3::new(0.52, 0.23, 0.06)).norm() < mm(4.0));
        assert!(touch.axes.row(0)[1].abs() > 0.99);
        assert!(touch.size.iter().all(|size| (size - 0.04).abs() < mm(6.1)), "{:?}", touch.size);
        assert!(!touch.is_double);
    }

    /// An upright beside a base rail touches with 80 × 80; a strip 10 mm above a rail touches nothing; rails that meet
    /// along an edge only cannot be joined there.
    #[test]
    fn sides_touch_sides_and_edges_do_not_count() {
        let base = Rail::between("base", [40.0, 80.0], [0.0, 250.0, 40.0], [1400.0, 250.0, 40.0]);
        let upright = Rail::between("upright", [40.0, 80.0], [800.0, 290.0, 0.0], [800.0, 290.0, 755.0]);
        let above = Rail::between("above", [40.0, 40.0], [1000.0, 0.0, 110.0], [1000.0, 300.0, 110.0]);
        let edge = Rail::between("edge", [40.0, 40.0], [0.0, 290.0, 100.0], [600.0, 290.0, 100.0]);
        let found = touches(&bars(&[base, upright, above, edge]));
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].guest, found[0].host), (1, 0));
        assert!(found[0].size.iter().all(|size| (size - 0.08).abs() < mm(6.1)), "{:?}", found[0].size);
        assert!((found[0].at.y - 0.27).abs() < mm(3.0));
    }

    #[test]
    fn a_rail_drawn_twice_is_noticed() {
        let rail = |name: &str, x: f64| Rail::between(name, [40.0, 80.0], [x, 0.0, 40.0], [x + 900.0, 0.0, 40.0]);
        assert!(touches(&bars(&[rail("one", 0.0), rail("again", 0.0)]))[0].is_double);
        assert!(touches(&bars(&[rail("one", 0.0), rail("most", 200.0)]))[0].is_double);
        // End to end they are a joint.
        let found = touches(&bars(&[rail("one", 0.0), rail("next", 900.0)]));
        assert!(!found[0].is_double);
        assert!((found[0].at - Vec3::new(0.9, 0.0, 0.04)).norm() < mm(2.0));
    }

    /// A brace at 45° whose end stands against a base rail.
    #[test]
    fn a_brace_touches_where_its_end_is() {
        let base = Rail::between("base", [40.0, 80.0], [0.0, 0.0, 40.0], [1400.0, 0.0, 40.0]);
        let brace = Rail::between("brace", [40.0, 40.0], [400.0, 0.0, 80.0], [700.0, 0.0, 380.0]);
        let found = touches(&bars(&[base, brace]));
        assert_eq!(found.len(), 1);
        assert!((found[0].at - Vec3::new(0.4, 0.0, 0.08)).norm() < mm(16.0), "{}", found[0].at);
        let (end, lean) = found[0].cut.unwrap();
        assert!(end == 0 && (lean - deg(45.0)).abs() < 1e-9, "its first end is cut at 45°");
    }
}
