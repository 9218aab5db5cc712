//! What hands reach: coarse, at 20 mm, after an obstacle was moved.

use criterion::{Criterion, criterion_group, criterion_main};
use heelpoint::{
    geometry::Side,
    project::parse,
    reach::{Grip, Limb, Reach, USUAL_LEAN, Watch},
    study::Solved,
};
use rayon::prelude::*;

fn hands(c: &mut Criterion) {
    let project = parse(include_str!("../assets/three_pedals.ron")).expect("the demo is sound");
    let solved = Solved::of(&project);
    let begin = |side: Side| {
        let limb = Limb::Hand(side, Grip::Full);
        Reach::of(&solved.body, &solved.rig, &solved.rest, limb, USUAL_LEAN, &[])
    };
    let both = |step: f64| -> Vec<Reach> {
        Side::BOTH
            .into_par_iter()
            .map(|side| {
                let mut reach = begin(side);
                reach.to_step(step, &Watch::NOBODY).expect("nobody stops it");
                reach
            })
            .collect()
    };
    let mut group = c.benchmark_group("reach, both hands, all zones, obstacles on");
    group.sample_size(10);
    group.bench_function("surroundings alone", |b| b.iter(|| Side::BOTH.map(begin)));
    group.bench_function("40 mm", |b| b.iter(|| both(0.040)));
    group.bench_function("20 mm", |b| b.iter(|| both(0.020)));
    group.finish();
}

criterion_group!(benches, hands);
criterion_main!(benches);
