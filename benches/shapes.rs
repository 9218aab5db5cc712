//! Shapes from files: two million triangles read, and a person over the whole motion against a shell of two hundred
//! thousand; one distance beside parry3d's triangle mesh.

use std::{fs, hint::black_box, sync::Arc};

use criterion::{Criterion, criterion_group, criterion_main};
use heelpoint::{
    body::Body,
    clearance,
    geometry::{MeshSolid, Pose, Solid, TaperedCapsule, TriangleMesh, Vec3, distance},
    posture::{at_rest, sweep},
    project::{Axis, Checked, LengthUnit, Loaded, Shape, StandsFor, parse, read_shape},
    rig::Rig,
};
use parry3d::{
    math::{Pose as ParryPose, Vector},
    query::distance as parry_distance,
    shape::{Capsule, TriMesh},
};

#[path = "../tests/core/shell.rs"]
mod shell;

/// Rows and columns of a shell of some two hundred thousand triangles, and of two million.
const LARGE: [usize; 2] = [320, 156];
const HUGE: [usize; 2] = [1010, 495];

fn import(c: &mut Criterion) {
    let (points, triangles) = shell::bucket(HUGE[0], HUGE[1]);
    let file = std::env::temp_dir().join(format!("heelpoint-bench-{}.stl", std::process::id()));
    fs::write(&file, shell::binary_stl(&points, &triangles, 1000.0)).expect("there is room for a file");
    let mut group = c.benchmark_group("shapes");
    group.sample_size(10);
    group.bench_function(format!("import of {} triangles", triangles.len()), |b| {
        b.iter(|| read_shape(black_box(&file), LengthUnit::Mm, Axis::PlusX, Axis::PlusZ).expect("a sound file"));
    });
    group.finish();
    let _ = fs::remove_file(file);
}

fn project(mesh: Option<TriangleMesh>) -> Checked {
    let mut project = parse(include_str!("../assets/closed_car.ron")).expect("the demo is sound").into_inner();
    project.shapes.extend(mesh.map(|mesh| Shape {
        name: "shell".to_owned(),
        file: String::new(),
        unit: LengthUnit::M,
        forward: Axis::PlusX,
        up: Axis::PlusZ,
        stands_for: StandsFor::Seat,
        at_mm: [0.0; 3],
        turn_deg: [0.0; 3],
        mesh: Loaded(Some(Arc::new(mesh))),
    }));
    Checked::new(project).expect("still sound")
}

fn motion(c: &mut Criterion) {
    let (points, triangles) = shell::bucket(LARGE[0], LARGE[1]);
    let mut group = c.benchmark_group("shapes");
    for (name, mesh) in [("without a shape", None), ("against a shell", Some(TriangleMesh::new(&points, &triangles)))] {
        let project = project(mesh);
        let body = Body::of(&project.driver);
        let rig = Rig::place(&project);
        let rest = at_rest(&body, &rig, project.driver.brakes_with);
        let motion = sweep(&body, &rig, &rest, &project);
        group.bench_function(format!("motion, {name}"), |b| b.iter(|| sweep(&body, black_box(&rig), &rest, &project)));
        group.bench_function(format!("clearances over the motion, {name}"), |b| {
            b.iter(|| clearance::over(&body, black_box(&rig), &rest, &motion));
        });
    }
    let solid =
        Solid::Mesh(MeshSolid { mesh: Arc::new(TriangleMesh::new(&points, &triangles)), pose: Pose::identity() });
    let vector = |p: &[f32; 3]| Vector::new(f64::from(p[0]), f64::from(p[1]), f64::from(p[2]));
    let peer = TriMesh::new(points.iter().map(vector).collect(), triangles.clone()).expect("a sound mesh");
    let (a, b) = (Vec3::new(0.05, 0.3, 0.2), Vec3::new(0.3, 0.26, 0.3));
    let own = TaperedCapsule { a, b, radius_a: 0.04, radius_b: 0.04 };
    let parrys = Capsule::new(Vector::new(a.x, a.y, a.z), Vector::new(b.x, b.y, b.z), 0.04);
    group.bench_function("one distance", |bench| bench.iter(|| distance(black_box(&own), &solid)));
    group.bench_function("one distance, parry3d", |bench| {
        bench.iter(|| parry_distance(&ParryPose::IDENTITY, black_box(&parrys), &ParryPose::IDENTITY, &peer));
    });
    group.finish();
}

criterion_group!(benches, import, motion);
criterion_main!(benches);
