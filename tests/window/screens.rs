//! The pages of the window against kept pictures, at the size of a small and of a common screen.
//!
//! Kept pictures are renewed on purpose: `UPDATE=1 cargo test --test window screens`. They are kept whole, in as many
//! colours as a palette has, so that a person can look at them.

use std::{collections::HashMap, fs::File, io::BufWriter, path::Path};

use heelpoint::viewer::{Screen, screens};
use image::{RgbImage, RgbaImage, imageops::FilterType};

const SIZES: [(u32, u32); 2] = [(1280, 800), (1920, 1080)];
/// Pictures are compared at a quarter of their width and height: what differs between drivers in an edge pixel averages
/// out.
const SHRUNK: u32 = 4;
/// A pixel differs where any channel is further apart than this.
const TOLERANCE: u8 = 28;
/// So many pixels in a thousand may differ; a word of a column that is another is about one.
const DIFFERENT: usize = 6;

fn kept(screen: Screen, (width, height): (u32, u32)) -> std::path::PathBuf {
    let name = format!("{}_{width}x{height}.png", screen.word());
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/window/pictures/screens").join(name)
}

fn shrunk(picture: &RgbImage) -> RgbImage {
    let (width, height) = picture.dimensions();
    image::imageops::resize(picture, width / SHRUNK, height / SHRUNK, FilterType::Triangle)
}

/// Writes a picture with the 200 colours that it has most of, 55 more that are far from all of these, and for every other
/// the nearest.
fn keep(picture: &RgbImage, path: &Path) {
    // To 5 bits a channel: shades that no eye tells apart count as one.
    let coarse = |pixel: &image::Rgb<u8>| pixel.0.map(|channel| channel & 0xF8);
    let mut counts: HashMap<[u8; 3], (usize, [u64; 3])> = HashMap::new();
    for pixel in picture.pixels() {
        let (count, sum) = counts.entry(coarse(pixel)).or_default();
        *count += 1;
        for (sum, channel) in sum.iter_mut().zip(pixel.0) {
            *sum += u64::from(channel);
        }
    }
    let mut common: Vec<_> = counts.into_iter().collect();
    common.sort_by_key(|(colour, (count, _))| (std::cmp::Reverse(*count), *colour));
    let mut rest: Vec<(usize, [u8; 3])> = common
        .iter()
        .map(|(_, (count, sum))| (*count, sum.map(|sum| u8::try_from(sum / *count as u64).unwrap())))
        .collect();
    let mut palette: Vec<[u8; 3]> = rest.drain(..rest.len().min(200)).map(|(_, colour)| colour).collect();
    let off =
        |a: &[u8; 3], b: &[u8; 3]| -> u32 { a.iter().zip(b).map(|(a, b)| u32::from(a.abs_diff(*b)).pow(2)).sum() };
    // Small marks have colours of their own.
    while palette.len() < 255 && !rest.is_empty() {
        let far = |(count, colour): &(usize, [u8; 3])| {
            let nearest = palette.iter().map(|known| off(known, colour)).min().unwrap_or(0);
            u64::from(nearest) * *count as u64
        };
        let next = (0..rest.len()).max_by_key(|&index| far(&rest[index])).unwrap();
        palette.push(rest.remove(next).1);
    }
    let mut nearest: HashMap<[u8; 3], u8> = HashMap::new();
    let indices: Vec<u8> = picture
        .pixels()
        .map(|pixel| {
            *nearest.entry(coarse(pixel)).or_insert_with(|| {
                let best = (0..palette.len()).min_by_key(|&index| off(&palette[index], &pixel.0));
                u8::try_from(best.unwrap()).unwrap()
            })
        })
        .collect();
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    let (width, height) = picture.dimensions();
    let mut encoder = png::Encoder::new(BufWriter::new(File::create(path).unwrap()), width, height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::High);
    encoder.write_header().unwrap().write_image_data(&indices).unwrap();
}

#[test]
fn every_page_of_the_window_looks_as_it_was_kept() {
    let project = heelpoint::project::parse(crate::DEMOS[0].1).unwrap();
    let mut changed = (*project).clone();
    changed.wheel.centre_mm[2] += 40.0;
    let mut differ = Vec::new();
    screens(&project, &changed, &SIZES, &mut |screen, size, rows| {
        let picture = RgbaImage::from_raw(size.0, size.1, rows).expect("as large as the window");
        let picture = image::DynamicImage::from(picture).into_rgb8();
        let path = kept(screen, size);
        if std::env::var_os("UPDATE").is_some() {
            keep(&picture, &path);
            return;
        }
        let wanted =
            image::open(&path).unwrap_or_else(|error| panic!("{}: {error}; UPDATE=1 makes it", path.display()));
        let (small, wanted) = (shrunk(&picture), shrunk(&wanted.into_rgb8()));
        assert_eq!(small.dimensions(), wanted.dimensions(), "{}", path.display());
        let different = small
            .pixels()
            .zip(wanted.pixels())
            .filter(|(a, b)| a.0.iter().zip(b.0).any(|(x, y)| x.abs_diff(y) > TOLERANCE))
            .count();
        let share = 1000 * different / (small.len() / 3);
        if share > DIFFERENT {
            let seen = std::env::temp_dir().join(format!("heelpoint-differs-{}-{}.png", screen.word(), size.0));
            picture.save(&seen).unwrap();
            differ.push(format!("{}: {share} in a thousand differ; seen: {}", path.display(), seen.display()));
        }
    })
    .unwrap();
    assert!(differ.is_empty(), "{}", differ.join("\n"));
}
