//! A frame of 60 rails: built, solved, its first frequency, and everything that `heelpoint frame` asks of it.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use heelpoint::{
    frame::{Built, Duty, Loads, Stiff, answers, check_and_stiffen},
    geometry::Vec3,
    project::{Rail, parse},
};

/// Two base rails and two upper ones, eight uprights a side, sixteen cross members below and above, eight deck rails.
fn sixty() -> Vec<Rail> {
    let mut rails = Vec::new();
    let mut add = |size: [f64; 2], from: [f64; 3], to: [f64; 3]| {
        rails.push(Rail::between(&format!("rail {}", rails.len()), size, from, to));
    };
    for y in [-250.0, 250.0] {
        add([40.0, 80.0], [0.0, y, 40.0], [1600.0, y, 40.0]);
        add([40.0, 40.0], [0.0, y, 720.0], [1600.0, y, 720.0]);
        for i in 0..8 {
            let x = 100.0 + 200.0 * f64::from(i);
            add([40.0, 80.0], [x, y, 80.0], [x, y, 700.0]);
        }
    }
    for i in 0..16 {
        let x = 50.0 + 100.0 * f64::from(i);
        add([40.0, 80.0], [x, -230.0, 40.0], [x, 230.0, 40.0]);
        add([40.0, 40.0], [x, -230.0, 720.0], [x, 230.0, 720.0]);
    }
    for i in 0..8 {
        let x = 70.0 + 200.0 * f64::from(i);
        add([40.0, 40.0], [x, 0.0, 40.0], [x + 60.0, 0.0, 40.0]);
    }
    rails
}

fn frame(c: &mut Criterion) {
    let project = parse(include_str!("../assets/club_rig.ron")).expect("the demo is sound");
    let rails = sixty();
    assert_eq!(rails.len(), 60);
    let duty = Duty { rails, ..Duty::of(&project) };
    let built = Built::of(&duty);
    let node = built.model.nodes.len() / 2;
    let loads = Loads { nodes: vec![(node, Vec3::new(900.0, 0.0, 0.0), Vec3::zeros())], ..Loads::default() };
    let stiff = Stiff::of(&built.model);
    assert!(!stiff.is_loose());
    let mut group = c.benchmark_group("frame of 60 rails");
    group.bench_function("built from rails", |b| b.iter(|| Built::of(black_box(&duty))));
    group.bench_function("factored and solved for one load", |b| {
        b.iter(|| Stiff::of(black_box(&built.model)).under(&loads));
    });
    group.bench_function("one more load", |b| b.iter(|| stiff.under(black_box(&loads))));
    group.bench_function("first frequency", |b| b.iter(|| black_box(&stiff).first_frequency()));
    group.bench_function("all answers", |b| b.iter(|| answers(black_box(&duty), &built)));
    group.finish();
    c.bench_function("the demo of 23 rails, stiffenings looked for", |b| {
        b.iter(|| check_and_stiffen(black_box(&project)));
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = frame
}
criterion_main!(benches);
