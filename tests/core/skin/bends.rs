//! The skin bends without folding, thinning or opening, and looks like a person.

use heelpoint::{
    body::{Body, Skin, SkinDetail, SkinPart},
    geometry::Vec3,
    posture::Posture,
    project::Population,
};

use super::{
    TUBE, body,
    raster::{Sheet, View},
    skin, with_arm, with_leg,
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
    of.map(f64::to_radians)
}

fn sheet() -> Sheet {
    let man = body(Population::Men, 1755.0, 84.6);
    let woman = body(Population::Women, 1626.0, 66.8);
    let mut sheet = Sheet::new(4 * TILE, 4 * TILE);
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
