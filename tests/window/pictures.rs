//! Off-screen pictures against kept ones, by the command line as a user would make them.
//!
//! Kept pictures are renewed on purpose: `UPDATE=1 cargo test --test window`.

use std::{
    path::{Path, PathBuf},
    process::Command,
};

use image::{GenericImageView, RgbImage, imageops::FilterType};

/// Pictures are compared at this width and height: what differs between drivers in an edge pixel averages out.
const COMPARED: (u32, u32) = (160, 100);
/// A pixel differs where any channel is further apart than this.
const TOLERANCE: u8 = 24;
/// So many of the 16,000 pixels may differ: about one per cent.
const DIFFERENT: usize = 160;

fn kept(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/window/pictures").join(format!("{name}.png"))
}

fn render(name: &str, demo: &str, more: &[&str]) -> RgbImage {
    let out = std::env::temp_dir().join(format!("heelpoint-picture-{}-{name}.png", std::process::id()));
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets").join(format!("{demo}.ron"));
    let ran = Command::new(env!("CARGO_BIN_EXE_heelpoint"))
        .arg("picture")
        .arg(file)
        .arg("-o")
        .arg(&out)
        .args(["--size", "640x400"])
        .args(more)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .unwrap();
    assert!(ran.status.success(), "{name}: {}", String::from_utf8_lossy(&ran.stderr));
    let picture = image::open(&out).unwrap();
    assert_eq!(picture.dimensions(), (640, 400), "{name}");
    std::fs::remove_file(&out).unwrap();
    picture.to_rgb8()
}

fn compare(name: &str, demo: &str, more: &[&str]) {
    let small = image::imageops::resize(&render(name, demo, more), COMPARED.0, COMPARED.1, FilterType::Triangle);
    let path = kept(name);
    if std::env::var_os("UPDATE").is_some() {
        small.save(&path).unwrap();
        return;
    }
    let wanted = image::open(&path).unwrap_or_else(|error| panic!("{}: {error}; UPDATE=1 makes it", path.display()));
    let wanted = wanted.to_rgb8();
    let different = small
        .pixels()
        .zip(wanted.pixels())
        .filter(|(a, b)| a.0.iter().zip(b.0).any(|(x, y)| x.abs_diff(y) > TOLERANCE))
        .count();
    if different > DIFFERENT {
        let seen = std::env::temp_dir().join(format!("heelpoint-differs-{name}.png"));
        small.save(&seen).unwrap();
        panic!("{name}: {different} pixels differ; the picture seen is {}", seen.display());
    }
}

#[test]
fn the_closed_car_from_three_quarters() {
    compare("closed_car_three_quarter", "closed_car", &[]);
}

#[test]
fn the_single_seater_from_the_side() {
    compare("formula_side", "formula", &["--view", "side"]);
}

#[test]
fn the_three_pedals_from_above_on_graphite() {
    compare("three_pedals_top_dark", "three_pedals", &["--view", "top", "--dark"]);
}

#[test]
fn what_the_right_hand_reaches_from_three_quarters() {
    compare("closed_car_reach", "closed_car", &["--reach", "right-hand"]);
}

#[test]
fn what_both_hands_reach_in_section_on_graphite() {
    let zones = "comfortable,attainable,lift,lean";
    compare("formula_reach_top_dark", "formula", &["--reach", "hands", "--zones", zones, "--view", "top", "--dark"]);
}

#[test]
fn turning_the_wheel_changes_the_picture_and_nothing_else_does() {
    let still = render("still", "closed_car", &["--view", "front"]);
    let again = render("again", "closed_car", &["--view", "front"]);
    let turned = render("turned", "closed_car", &["--view", "front", "--steer", "60"]);
    let differ = |a: &RgbImage, b: &RgbImage| {
        a.pixels().zip(b.pixels()).filter(|(a, b)| a.0.iter().zip(b.0).any(|(x, y)| x.abs_diff(y) > TOLERANCE)).count()
    };
    assert!(differ(&still, &again) < 50, "the same picture twice");
    assert!(differ(&still, &turned) > 500, "hands and rim have moved");
}

#[test]
fn a_bad_file_makes_no_picture_and_says_why() {
    let out = std::env::temp_dir().join(format!("heelpoint-none-{}.png", std::process::id()));
    let ran = Command::new(env!("CARGO_BIN_EXE_heelpoint"))
        .args(["picture", "no_such_file.ron", "-o"])
        .arg(&out)
        .output()
        .unwrap();
    assert_eq!(ran.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ran.stderr).contains("no_such_file.ron"));
    assert!(!out.exists());
}
