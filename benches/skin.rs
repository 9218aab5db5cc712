//! A new body's skin and its bending to a posture, each on one core and on all.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use heelpoint::{
    body::{Body, Skin, SkinDetail},
    posture::at_rest,
    project::parse,
    rig::Rig,
    units::mm,
};

fn skin(c: &mut Criterion) {
    let project = parse(include_str!("../assets/closed_car.ron")).expect("the demo is sound");
    let rig = Rig::place(&project);
    let body = Body::of(&project.driver);
    let bones = at_rest(&body, &rig, project.driver.brakes_with).bones();
    let tube = mm(15.0);
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("one thread can be had");
    let mut group = c.benchmark_group("skin");
    group.sample_size(20);
    for (name, detail) in [("coarse", SkinDetail::Coarse), ("fine", SkinDetail::Fine)] {
        let skin = Skin::of(&body, tube, detail);
        group.bench_function(format!("new body, {name}"), |b| {
            b.iter(|| Skin::of(&Body::of(black_box(&project.driver)), tube, detail));
        });
        group.bench_function(format!("new body, {name}, one core"), |b| {
            b.iter(|| one.install(|| Skin::of(&Body::of(black_box(&project.driver)), tube, detail)));
        });
        group.bench_function(format!("new pose, {name} ({} vertices), one core", skin.positions.len()), |b| {
            b.iter(|| one.install(|| skin.posed(black_box(&bones))));
        });
    }
    group.finish();
}

criterion_group!(benches, skin);
criterion_main!(benches);
