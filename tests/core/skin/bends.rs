//! The skin bends without folding, thinning or opening, and looks like a person.

use heelpoint::{
    body::{Body, Range, Skin, SkinDetail, SkinPart},
    geometry::{Pose, Side, Vec3},
    posture::{ArmAngles, Bone, LegAngles, Posture},
    project::Population,
    units::{deg, to_deg},
};

use super::{
    TUBE, body, main_bone,
    raster::{Sheet, View},
    skin, surfaces, tape, with_arm, with_leg,
};

fn towards(x: f64, y: f64, z: f64) -> Vec3 {
    Vec3::new(x, y, z).normalize()
}

const TILE: usize = 360;

fn draw(sheet: &mut Sheet, [column, row]: [usize; 2], skin: &Skin, posture: &Posture, view: View) {
    let (positions, normals) = skin.posed(&posture.bones());
    let tint = |at: u32| if skin.parts[at as usize] == SkinPart::Shoe { 0.62 } else { 1.0 };
    sheet.draw([column * TILE, row * TILE], TILE, view, (&positions, &normals, &skin.triangles), tint);
}

/// Angles in degrees.
fn angles(of: [f64; 7]) -> [f64; 7] {
    of.map(deg)
}

fn sheet() -> Sheet {
    let man = body(Population::Men, 1755.0, 84.6);
    let woman = body(Population::Women, 1626.0, 66.8);
    let mut sheet = Sheet::new(4 * TILE, 5 * TILE);
    let whole = |body: &Body, from: Vec3, across: f64| View {
        towards: from,
        middle: Vec3::new(0.25, 0.0, 0.13 * body.dimensions.m("stature")),
        across,
    };
    let skins = [&man, &woman].map(|body| skin(body, SkinDetail::Fine));
    for (row, (body, skin)) in [&man, &woman].into_iter().zip(&skins).enumerate() {
        let posture = Posture::for_skin(body, TUBE);
        for (column, from) in
            [towards(1.0, 0.9, 0.45), towards(0.0, 1.0, 0.0), towards(1.0, 0.0, 0.0), towards(-1.0, 0.7, 0.5)]
                .into_iter()
                .enumerate()
        {
            draw(&mut sheet, [column, row], skin, &posture, whole(body, from, 1.5));
        }
    }
    let at_rest = Posture::for_skin(&man, TUBE);
    let near = |middle: Vec3, from: Vec3, across: f64| View { towards: from, middle, across };
    let hand = at_rest.arms[0].hand.translation.vector;
    let foot = at_rest.legs[0].ball;
    draw(
        &mut sheet,
        [0, 2],
        &skins[0],
        &at_rest,
        near(at_rest.sitting.eyes - Vec3::new(0.05, 0.0, 0.08), towards(1.0, 0.8, 0.15), 0.6),
    );
    draw(&mut sheet, [1, 2], &skins[0], &at_rest, near(hand, towards(0.3, 1.0, 0.5), 0.28));
    draw(&mut sheet, [2, 2], &skins[0], &at_rest, near(hand, towards(-0.2, -1.0, 0.3), 0.28));
    draw(&mut sheet, [3, 2], &skins[0], &at_rest, near(foot - Vec3::new(0.06, 0.0, 0.0), towards(0.5, 1.0, 0.4), 0.45));

    let reach = with_arm(&man, at_rest.clone(), angles([80.0, 5.0, 0.0, 15.0, 40.0, 0.0, 0.0]));
    let crossed = with_arm(&man, at_rest.clone(), angles([60.0, -10.0, 40.0, 110.0, -60.0, 30.0, 10.0]));
    let stretched = with_leg(&man, at_rest.clone(), angles([60.0, 3.0, 0.0, 10.0, -25.0, 0.0, 0.0]));
    let drawn = with_leg(&man, at_rest.clone(), angles([105.0, 15.0, 0.0, 115.0, 15.0, 10.0, 0.0]));
    let poses = [&reach, &crossed, &stretched, &drawn];
    for (column, posture) in poses.into_iter().enumerate() {
        draw(&mut sheet, [column, 3], &skins[0], posture, whole(&man, towards(0.6, 1.0, 0.35), 1.5));
    }
    let coarse = skin(&man, SkinDetail::Coarse);
    let knee = drawn.legs[0].shank.translation.vector;
    let elbow = crossed.arms[0].forearm.translation.vector;
    let shoulder = at_rest.sitting.shoulders[0] - Vec3::new(0.0, 0.05, 0.08);
    draw(&mut sheet, [0, 4], &skins[0], &drawn, near(knee, towards(1.0, 0.7, 0.4), 0.5));
    draw(&mut sheet, [1, 4], &skins[0], &crossed, near(elbow, towards(0.4, 1.0, 0.2), 0.5));
    draw(&mut sheet, [2, 4], &skins[0], &at_rest, near(shoulder, towards(-1.0, 0.6, 0.5), 0.6));
    draw(&mut sheet, [3, 4], &coarse, &at_rest, near(foot - Vec3::new(0.06, 0.0, 0.0), towards(-0.2, 1.0, 0.3), 0.4));
    sheet
}

#[test]
fn picture_sheet_is_as_kept() {
    let sheet = sheet();
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/core/pictures/skin.png");
    if std::env::var_os("UPDATE").is_some() {
        sheet.save(&path);
        return;
    }
    let kept = image::open(&path).unwrap().into_luma8();
    assert_eq!(kept.dimensions(), (sheet.width as u32, sheet.height as u32));
    let apart: f64 = kept.as_raw().iter().zip(&sheet.shades).map(|(&a, &b)| (f64::from(a) - f64::from(b)).abs()).sum();
    let mean = apart / sheet.shades.len() as f64;
    assert!(mean < 0.5, "the sheet differs from the kept one by {mean} grey levels in the mean; UPDATE=1 renews it");
}

/// A joint of the left side: the bones that it joins and how far along them the skin is cut, in shares of their lengths.
struct Joint {
    name: &'static str,
    bones: [Bone; 2],
    lengths: [f64; 2],
}

fn joints(body: &Body) -> [Joint; 6] {
    let (b, l) = (&body.skeleton, Side::Left);
    let joint = |name, from, to, lengths| Joint { name, bones: [from, to], lengths };
    [
        joint("shoulder", Bone::Clavicle(l), Bone::UpperArm(l), [0.0, b.upper_arm]),
        joint("elbow", Bone::UpperArm(l), Bone::Forearm(l), [b.upper_arm, b.forearm]),
        joint("wrist", Bone::ForearmTwist(l), Bone::Hand(l), [b.forearm, 0.0]),
        joint("hip", Bone::Pelvis, Bone::Thigh(l), [0.0, b.thigh]),
        joint("knee", Bone::Thigh(l), Bone::Shank(l), [b.thigh, b.shank]),
        joint("ankle", Bone::Shank(l), Bone::Foot(l), [b.shank, 0.0]),
    ]
}

/// Areas of the cuts through a limb near a joint, mm²: square to the limb beside the joint and, where two limbs meet, through
/// it across the plane that halves their angle.
fn areas(skin: &Skin, positions: &[Vec3], bones: &[Pose; Bone::COUNT], joint: &Joint) -> Vec<(f64, f64)> {
    let of_limb = |bone: Bone| match bone {
        Bone::Forearm(side) | Bone::ForearmTwist(side) => {
            vec![Bone::Forearm(side), Bone::ForearmTwist(side), Bone::Hand(side)]
        }
        Bone::Shank(side) => vec![Bone::Shank(side), Bone::Foot(side)],
        other => vec![other],
    };
    let surfaces = surfaces(skin);
    let cut = |plane: Pose, limb: &[Bone]| {
        let which = |triangle: [u32; 3]| {
            triangle.iter().all(|&at| {
                let near = (plane.translation.vector - positions[at as usize]).norm() < 0.2;
                surfaces[at as usize] == 0 && near && limb.contains(&main_bone(skin, at as usize))
            })
        };
        tape::cut(positions, &skin.triangles, &plane, which).map_or(0.0, |cut| cut.area)
    };
    let mut areas = Vec::new();
    for (at, (&bone, length)) in joint.bones.iter().zip(joint.lengths).enumerate() {
        if length > 0.0 {
            let limb = of_limb(bone);
            let from = bones[bone.index()];
            let shares: &[f64] =
                if joint.name == "shoulder" || joint.name == "hip" { &[0.4, 0.5] } else { &[0.15, 0.2] };
            for &share in shares {
                let z = if at == 0 { share - 1.0 } else { -share };
                areas.push((share, cut(from * Pose::translation(0.0, 0.0, z * length), &limb)));
            }
        }
    }
    if joint.lengths.iter().all(|&length| length > 0.0) {
        let [from, to] = joint.bones.map(|bone| bones[bone.index()]);
        let (a, b) = (from.rotation * Vec3::z(), to.rotation * Vec3::z());
        let turn = nalgebra::UnitQuaternion::rotation_between(&a, &(a + b).normalize()).unwrap_or_default();
        let plane = Pose::from_parts(to.translation, turn * from.rotation);
        let limb = [of_limb(joint.bones[0]), of_limb(joint.bones[1])].concat();
        areas.push((0.0, cut(plane, &limb)));
    }
    areas
}

/// Volume inside the body's surface, m³, and the share of the skin's area that faces the wrong way.
fn volume_and_folds(skin: &Skin, (positions, normals): &(Vec<Vec3>, Vec<Vec3>)) -> (f64, f64) {
    let (mut volume, mut area, mut wrong) = (0.0, 0.0, 0.0);
    for triangle in &skin.triangles {
        let [p, q, r] = triangle.map(|at| positions[at as usize]);
        let facing = (q - p).cross(&(r - p)) / 2.0;
        volume += p.dot(&q.cross(&r)) / 6.0;
        area += facing.norm();
        if triangle.iter().all(|&at| normals[at as usize].dot(&facing) < 0.0) {
            wrong += facing.norm();
        }
    }
    (volume, wrong / area)
}

#[test]
fn limbs_keep_their_flesh_through_the_range_of_every_joint() {
    let mut table = String::new();
    let mut failures = 0;
    for (population, stature, mass) in
        [(Population::Men, 1755.0, 84.6), (Population::Women, 1626.0, 66.8), (Population::Men, 1755.0, 120.0)]
    {
        let body = body(population, stature, mass);
        let skin = skin(&body, SkinDetail::Coarse);
        let rest = Posture::for_skin(&body, TUBE);
        let (arm, leg) = (rest.arms[0].angles.array(), rest.legs[0].angles.array());
        // What driving uses: flesh on flesh, as in a deep squat, is left out.
        let within = |range: Range, low: f64, high: f64| [range.low.max(deg(low)), range.high.min(deg(high))];
        let ranges = |names: [&'static str; 7], of: [Range; 7]| names.into_iter().zip(of);
        let driving = |name: &str, range: Range| match name {
            "shoulder_flexion" => within(range, 0.0, 100.0),
            "shoulder_abduction" => within(range, -15.0, 75.0),
            "elbow_flexion" => within(range, -2.0, 120.0),
            "hip_flexion" => within(range, 45.0, 105.0),
            "knee_flexion" => within(range, -2.0, 110.0),
            "hip_abduction" => within(range, -12.0, 35.0),
            _ => within(range, -180.0, 180.0),
        };
        let (still, bones) = (skin.posed(&rest.bones()), rest.bones());
        let (volume, _) = volume_and_folds(&skin, &still);
        let joints = joints(&body);
        let full: Vec<_> = joints.iter().map(|joint| areas(&skin, &still.0, &bones, joint)).collect();
        let arms = ranges(ArmAngles::NAMES, ArmAngles::ranges(&body.limits));
        let legs = ranges(LegAngles::NAMES, LegAngles::ranges(&body.limits));
        for (at, (name, range)) in arms.chain(legs).enumerate() {
            let [low, high] = driving(name, range);
            let (mut least, mut where_least) = (f64::INFINITY, String::new());
            let (mut folds, mut change) = (0.0_f64, 0.0_f64);
            for step in 0..=4 {
                let angle = low + (high - low) * f64::from(step) / 4.0;
                let posture = if at < 7 {
                    let mut angles = arm;
                    angles[at] = angle;
                    with_arm(&body, rest.clone(), angles)
                } else {
                    let mut angles = leg;
                    angles[at - 7] = angle;
                    with_leg(&body, rest.clone(), angles)
                };
                let bones = posture.bones();
                let moved = skin.posed(&bones);
                let (inside, wrong) = volume_and_folds(&skin, &moved);
                folds = folds.max(wrong);
                change = if (inside / volume - 1.0).abs() > change.abs() { inside / volume - 1.0 } else { change };
                for (joint, full) in joints.iter().zip(&full) {
                    for ((share, area), (_, full)) in areas(&skin, &moved.0, &bones, joint).into_iter().zip(full) {
                        if area / full < least {
                            least = area / full;
                            where_least = format!("{} {share:.2} at {:.0}°", joint.name, to_deg(angle));
                        }
                    }
                }
            }
            let holds = least > 0.7 && folds < 0.01 && change.abs() < 0.05;
            failures += usize::from(!holds);
            table += &format!(
                "{name:20} least section {least:.2} ({where_least}), volume {:+.1} %, folded {:.2} %{}\n",
                1e2 * change,
                1e2 * folds,
                if holds { "" } else { "  <--" }
            );
        }
    }
    println!("{table}");
    assert_eq!(failures, 0, "the skin loses flesh\n{table}");
}
