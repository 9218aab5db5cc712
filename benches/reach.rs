//! What hands reach: the first picture, at 40 and 20 mm, after an obstacle was moved, and of many people.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use heelpoint::{
    geometry::{Pose, RoundedBox, Side, Solid, Vec3},
    project::parse,
    reach::{Barrier, Grip, Limb, Obstacle, Reach, USUAL_LEAN, shared_reach},
    study::Solved,
    watch::Watch,
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
    group.bench_function("80 mm, the first picture", |b| {
        b.iter(|| {
            let reaches = both(0.080);
            reaches
                .iter()
                .map(|reach| reach.limb.zones().iter().filter_map(|zone| reach.surface(*zone)).count())
                .sum::<usize>()
        });
    });
    group.bench_function("40 mm", |b| b.iter(|| both(0.040)));
    group.bench_function("20 mm", |b| b.iter(|| both(0.020)));
    group.finish();

    // A screen dragged by 20 mm, and what it touches looked at again.
    let at = |x: f64| {
        let pose = Pose::translation(x, 0.15, 0.95);
        let half = Vec3::new(0.02, 0.25, 0.15);
        Obstacle::hard(Barrier::Added("screen".into()), Solid::Box(RoundedBox { pose, half, round: 0.005 }))
    };
    let limb = Limb::Hand(Side::Left, Grip::Full);
    let mut reach = Reach::of(&solved.body, &solved.rig, &solved.rest, limb, USUAL_LEAN, &[at(0.80)]);
    reach.to_step(0.020, &Watch::NOBODY).expect("nobody stops it");
    let mut group = c.benchmark_group("reach, left hand, all zones");
    group.sample_size(10);
    let mut there = false;
    group.bench_function("an obstacle dragged by 20 mm, at 20 mm", |b| {
        b.iter(|| {
            there = !there;
            reach.move_added(0, at(if there { 0.82 } else { 0.80 }), &Watch::NOBODY).expect("nobody stops it")
        });
    });
    group.bench_function("one point asked", |b| b.iter(|| reach.ask(black_box(Vec3::new(0.56, 0.33, 0.56)))));
    group.finish();

    let mut group = c.benchmark_group("reach of many people");
    group.sample_size(10);
    group.bench_function("ten people, both hands, at 40 mm", |b| {
        b.iter(|| shared_reach(&project, Grip::Full, 10, 1, &Watch::NOBODY, &|| ()));
    });
    group.finish();
}

criterion_group!(benches, hands);
criterion_main!(benches);
