//! The collision shapes hug the skin: a clearance is only as good as this.

use std::collections::{BTreeMap, HashMap};

use heelpoint::{
    body::{Body, BodyPart, BodySolid, Skin, SkinDetail, SkinPart},
    geometry::{Side, TaperedCapsule, Vec3},
    posture::{Bone, Posture},
    units::mm,
};

use super::{BODIES, body, main_bone, skin, surfaces};

/// Parts of the skin in a table's order.
const SEGMENTS: [&str; 10] =
    ["head", "neck", "chest", "belly", "pelvis", "upper arm", "forearm", "thigh", "shank", "shoe"];

fn segment_of(bone: Bone) -> &'static str {
    match bone {
        Bone::Head => "head",
        Bone::Neck => "neck",
        Bone::Thorax | Bone::Clavicle(_) => "chest",
        Bone::Abdomen => "belly",
        Bone::Pelvis => "pelvis",
        Bone::UpperArm(_) => "upper arm",
        Bone::Forearm(_) | Bone::ForearmTwist(_) | Bone::Hand(_) => "forearm",
        Bone::Thigh(_) => "thigh",
        Bone::Shank(_) => "shank",
        Bone::Foot(_) => "shoe",
    }
}

fn segment_of_part(part: BodyPart) -> &'static str {
    match part {
        BodyPart::Head => "head",
        BodyPart::Neck => "neck",
        BodyPart::Chest => "chest",
        BodyPart::Abdomen => "belly",
        BodyPart::Pelvis => "pelvis",
        BodyPart::UpperArm(_) | BodyPart::Elbow(_) => "upper arm",
        BodyPart::Forearm(_) | BodyPart::Hand(_) => "forearm",
        BodyPart::Thigh(_) | BodyPart::Knee(_) => "thigh",
        BodyPart::Shank(_) => "shank",
        BodyPart::Foot(_) => "shoe",
    }
}

/// What a vertex counts for: not what lies in a shoe or a glove, nor the gloves.
fn segment(body: &Body, skin: &Skin, surfaces: &[u32], vertex: usize) -> Option<&'static str> {
    let bone = main_bone(skin, vertex);
    // The top of a shoe closes it round the ankle, inside the leg.
    let at = skin.bind[bone.index()].inverse_transform_point(&skin.positions[vertex].into());
    let in_ankle = at.x.hypot(at.y) < body.dimensions.m("anklecircumference") / std::f64::consts::TAU;
    match (bone, surfaces[vertex] == 0, skin.parts[vertex]) {
        (Bone::Foot(_), false, _) if in_ankle && at.z > -mm(10.0) => None,
        (Bone::Foot(_) | Bone::Hand(_), true, _) | (_, false, SkinPart::Body) | (_, _, SkinPart::Headgear) => None,
        (_, false, SkinPart::Shoe) => Some("shoe"),
        _ => Some(segment_of(bone)),
    }
}

/// Signed distance to the hull of two balls, by looking along its side in the half plane through its axis.
fn to_capsule(at: Vec3, solid: &TaperedCapsule) -> f64 {
    let axis = solid.b - solid.a;
    let (length, narrowing) = (axis.norm(), solid.radius_a - solid.radius_b);
    let to_end = ((at - solid.a).norm() - solid.radius_a).min((at - solid.b).norm() - solid.radius_b);
    if length <= narrowing.abs() {
        return to_end;
    }
    let sin = narrowing / length;
    let cos = (1.0 - sin * sin).sqrt();
    let along = (at - solid.a).dot(&axis) / length;
    let across = ((at - solid.a).norm_squared() - along * along).max(0.0).sqrt();
    let place = along * cos - across * sin;
    if place < 0.0 {
        (at - solid.a).norm() - solid.radius_a
    } else if place > cos * length {
        (at - solid.b).norm() - solid.radius_b
    } else {
        across * cos + along * sin - solid.radius_a
    }
}

fn to_body(at: Vec3, solids: &[BodySolid]) -> f64 {
    solids.iter().map(|solid| to_capsule(at, &solid.shape)).fold(f64::INFINITY, f64::min)
}

/// Points spread over a solid's surface, with their outward directions.
fn points(solid: &TaperedCapsule) -> Vec<(Vec3, Vec3)> {
    const RINGS: u32 = 9;
    const AROUND: u32 = 14;
    let axis = (solid.b - solid.a).try_normalize(1e-9).unwrap_or_else(Vec3::z);
    let aside = axis.cross(&Vec3::new(0.31, 0.87, 0.38)).normalize();
    let other = axis.cross(&aside);
    let length = (solid.b - solid.a).norm();
    let lean = ((solid.radius_a - solid.radius_b) / length.max(1e-9)).clamp(-1.0, 1.0).asin();
    let mut out = Vec::new();
    for ring in 0..RINGS {
        let share = f64::from(ring) / f64::from(RINGS - 1);
        // Rings round the first ball, along the side and round the second ball.
        let (centre, radius, tilt) = if share < 0.25 {
            (solid.a, solid.radius_a, -1.5 + (lean + 1.5) * share / 0.25)
        } else if share > 0.75 {
            (solid.b, solid.radius_b, lean + (1.5 - lean) * (share - 0.75) / 0.25)
        } else {
            let t = (share - 0.25) / 0.5;
            (solid.a + (solid.b - solid.a) * t, solid.radius_a + (solid.radius_b - solid.radius_a) * t, lean)
        };
        for step in 0..AROUND {
            let angle = f64::from(step) / f64::from(AROUND) * std::f64::consts::TAU;
            let out_of = (aside * angle.cos() + other * angle.sin()) * tilt.cos() + axis * tilt.sin();
            out.push((centre + out_of * radius, out_of));
        }
    }
    out
}

/// Vertices by cubes of 30 mm, to look for the nearest.
struct Grid<'a> {
    positions: &'a [Vec3],
    cubes: HashMap<[i32; 3], Vec<u32>>,
}

impl<'a> Grid<'a> {
    const EDGE: f64 = mm(30.0);

    fn over(positions: &'a [Vec3]) -> Self {
        let mut cubes: HashMap<[i32; 3], Vec<u32>> = HashMap::new();
        for (at, p) in positions.iter().enumerate() {
            cubes.entry(Self::cube(p)).or_default().push(at as u32);
        }
        Self { positions, cubes }
    }

    fn cube(p: &Vec3) -> [i32; 3] {
        [p.x, p.y, p.z].map(|x| (x / Self::EDGE).floor() as i32)
    }

    /// The nearest vertex within 30 to 60 mm.
    fn nearest(&self, p: &Vec3) -> Option<usize> {
        let [i, j, k] = Self::cube(p);
        let around = (-1..=1).flat_map(|a| (-1..=1).flat_map(move |b| (-1..=1).map(move |c| [i + a, j + b, k + c])));
        let near = around.filter_map(|cube| self.cubes.get(&cube)).flatten().map(|&at| at as usize);
        near.min_by(|&a, &b| (self.positions[a] - p).norm().total_cmp(&(self.positions[b] - p).norm()))
    }
}

#[derive(Default)]
struct Tally {
    sum: f64,
    count: f64,
    least: f64,
    most: f64,
    where_least: Vec3,
    where_most: Vec3,
}

impl Tally {
    fn add(&mut self, value: f64, at: Vec3) {
        self.sum += value.abs();
        self.count += 1.0;
        if value < self.least {
            (self.least, self.where_least) = (value, at);
        }
        if value > self.most {
            (self.most, self.where_most) = (value, at);
        }
    }

    fn mean(&self) -> f64 {
        self.sum / self.count.max(1.0)
    }
}

/// For each segment: from the skin to the solids (positive: the skin is outside), and from the solids to the skin
/// (the solid is outside).
fn tally(body: &Body) -> BTreeMap<&'static str, [Tally; 2]> {
    let skin = skin(body, SkinDetail::Coarse);
    let surfaces = surfaces(&skin);
    let posture = Posture::for_skin(body, super::TUBE);
    let mut solids: Vec<BodySolid> = body.flesh.trunk(&posture.sitting);
    for side in Side::BOTH {
        solids.extend(body.flesh.arm(&posture.arms[side.index()], side));
        solids.extend(body.flesh.leg(&posture.legs[side.index()], side));
    }
    let mut tallies: BTreeMap<&str, [Tally; 2]> = BTreeMap::new();
    for (at, &p) in skin.positions.iter().enumerate() {
        if let Some(segment) = segment(body, &skin, &surfaces, at) {
            tallies.entry(segment).or_default()[0].add(to_body(p, &solids), p);
        }
    }
    let grid = Grid::over(&skin.positions);
    for solid in solids.iter().filter(|solid| !matches!(solid.part, BodyPart::Hand(_))) {
        for (p, out) in points(&solid.shape) {
            if to_body(p + out * mm(0.1), &solids) < 0.0 {
                continue;
            }
            let Some(nearest) = grid.nearest(&p) else {
                // Further out than is looked.
                tallies.entry(segment_of_part(solid.part)).or_default()[1].add(Grid::EDGE, p);
                continue;
            };
            if let Some(segment) = segment(body, &skin, &surfaces, nearest) {
                // What lies inside is seen from the skin; here it would be the bottom of a groove between two solids.
                let value = (p - skin.positions[nearest]).dot(&skin.normals[nearest]).max(0.0);
                tallies.entry(segment).or_default()[1].add(value, p);
            }
        }
    }
    tallies
}

#[test]
fn collision_shapes_hug_the_skin() {
    let mut table = String::new();
    let mut wrong = 0;
    for (name, population, stature, mass) in BODIES {
        let body = body(population, stature, mass);
        let tallies = tally(&body);
        table += &format!("{name}: skin to solids (mean, in, out), solids to skin, mm\n");
        for segment in SEGMENTS {
            table += &format!("  {segment:10}");
            for tally in &tallies[segment] {
                let holds = tally.mean() <= mm(8.0) && tally.most.max(-tally.least) <= mm(20.0);
                wrong += usize::from(!holds);
                table += &format!(" {:6.1} {:+6.1} {:+6.1}", 1e3 * tally.mean(), 1e3 * tally.least, 1e3 * tally.most);
                if !holds {
                    for far in [tally.where_least, tally.where_most] {
                        table += &format!(" {:.0?}", (far * 1e3).as_slice());
                    }
                }
                table += " |";
            }
            table += "\n";
        }
    }
    println!("{table}");
    assert_eq!(wrong, 0, "shapes and skin are apart\n{table}");
}
