//! Zones in closed form: two links with nothing in their way.

use std::f64::consts::PI;

use super::{
    Watch,
    field::{FIRST, Field, Looks},
    judge::{Found, Judge, Query},
    lanes::Lanes,
    limb::{Chain, Seeds},
    obstacle::Balls,
    surface::{Surface, surface},
    zone::{Angles, MOST},
};
use crate::{body::Range, geometry::Vec3, units::deg};

/// A joint that turns all ways round has stops that no limb has, and more ways to come to rest at them: every point is
/// looked at from more poses.
struct Thorough<'a>(Judge<'a>);

impl Looks for Thorough<'_> {
    fn look(&self, queries: &[Query]) -> Vec<Found> {
        let mut queries = queries.to_vec();
        for query in &mut queries {
            (query.more, query.thorough) = (8, true);
        }
        self.0.look(&queries)
    }

    fn begin(&self) -> Vec<(Vec3, Angles)> {
        self.0.begin()
    }
}

/// The zone of two links whose ball joint turns all ways and whose hinge bends between two angles, to a step of 10 mm.
fn zone_of(first: f64, second: f64, hinge: Range) -> Surface {
    let chain = Chain::two_links(first, second);
    let mut ranges = [Range { low: 0.0, high: 0.0 }; MOST];
    // A joint without stops: its turns overlap, so that it never comes to an end of them.
    ranges[..3].fill(Range { low: -3.9, high: 3.9 });
    ranges[3] = hinge;
    let seeds = Seeds::over(&chain, &ranges, 2048);
    let balls = Balls::none();
    let judge = Thorough(Judge {
        chain: &chain,
        lanes: Lanes::of(&chain, &ranges),
        seeds: &seeds,
        balls: &balls,
        around: None,
    });
    let extent = (Vec3::repeat(-0.7), Vec3::repeat(0.7));
    let mut field = Field::flood(&judge, None, extent, FIRST, &Watch::NOBODY).unwrap();
    for _ in 0..3 {
        field.refine(&judge, None, extent, &Watch::NOBODY).unwrap();
    }
    surface(field.finest(), false, &|_| unreachable!("nothing is in the way"))
}

/// A ball joint and a hinge reach a shell between two spheres: r² = a² + b² + 2 a b cos θ at the hinge's ends; its volume
/// is 4/3 π (R³ − r³). Volume and boundary are right to 0.5 % of the greater sphere.
#[test]
fn two_links_reach_the_shell_between_two_spheres() {
    for (a, b, low, high) in [(0.30, 0.25, 2.0, 150.0), (0.30, 0.25, 20.0, 140.0), (0.28, 0.33, 2.0, 120.0)] {
        let radius = |bend: f64| (a * a + b * b + 2.0 * a * b * deg(bend).cos()).sqrt();
        let (inner, outer) = (radius(high), radius(low));
        let zone = zone_of(a, b, Range::degrees(low, high));
        let volume = 4.0 / 3.0 * PI * (outer.powi(3) - inner.powi(3));
        assert!((zone.volume() - volume).abs() < 0.005 * volume, "{} for {volume}", zone.volume());
        let off = |at: &Vec3| (at.norm() - inner).abs().min((at.norm() - outer).abs());
        let worst = zone.mesh.positions.iter().map(off).fold(0.0, f64::max);
        let beyond = zone.mesh.positions.iter().filter(|at| off(at) >= 0.005 * outer).count();
        assert!(beyond == 0, "{a} {b} {low} {high}: {beyond} of {} corners, worst {worst}", zone.mesh.positions.len());
        // Both spheres are there.
        let near = |radius: f64| zone.mesh.positions.iter().filter(|at| (at.norm() - radius).abs() < 0.003).count();
        assert!(near(outer) > 1000 && near(inner) > 20);
    }
}

/// Every edge of the mesh belongs to two triangles, one each way round.
#[test]
fn a_zones_surface_is_closed() {
    let zone = zone_of(0.30, 0.25, Range::degrees(20.0, 140.0));
    let mut edges = std::collections::HashMap::new();
    for &[a, b, c] in &zone.mesh.triangles {
        for edge in [(a, b), (b, c), (c, a)] {
            *edges.entry(edge).or_insert(0) += 1;
        }
    }
    assert!(edges.iter().all(|(&(a, b), &uses)| edges.get(&(b, a)) == Some(&uses)));
}
