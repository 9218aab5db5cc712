//! Shapes from files: what is read, how distances to them stand beside brute force, and what is said of bad files.

use std::{fs, path::PathBuf, sync::Arc};

use heelpoint::{
    clearance,
    findings::Level,
    geometry::{MeshSolid, Pose, Rot, Solid, TaperedCapsule, TriangleMesh, Vec3, distance, distance_within},
    posture::{Moment, Partner},
    project::{Axis, Checked, LengthUnit, Loaded, Shape, ShapeError, StandsFor, load, parse, read_shape, to_text},
    rig::RigPart,
    study::{Solved, check},
    units::{deg, mm, to_mm},
};
use nalgebra::Point3;
use parry3d::{math::Vector, query::PointQuery, shape::Triangle};

use super::{
    demo,
    shell::{binary_stl, bucket},
};

/// A folder of this test's own, empty.
fn folder(name: &str) -> PathBuf {
    let path = std::env::temp_dir().join(format!("heelpoint-{}-{name}", std::process::id()));
    let _ = fs::remove_dir_all(&path);
    fs::create_dir_all(&path).unwrap();
    path
}

/// A box of 300 × 200 × 100 along x, y, z with a corner in the origin, each face two triangles.
fn brick() -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
    let corner = |i: u8| [(i & 1) * 3, (i >> 1 & 1) * 2, i >> 2 & 1].map(|v| f32::from(v) * 100.0);
    let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    ((0..8).map(corner).collect(), faces.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect())
}

fn ascii_stl() -> String {
    let (points, triangles) = brick();
    let facet = |triangle: &[u32; 3]| {
        let vertex = |&at: &u32| {
            let [x, y, z] = points[at as usize];
            format!("      vertex {x:e} {y} {z}\n")
        };
        let corners: String = triangle.iter().map(vertex).collect();
        format!("  facet normal 0 0 0\n    outer loop\n{corners}    endloop\n  endfacet\n")
    };
    format!("solid a brick\n{}endsolid a brick\n", triangles.iter().map(facet).collect::<String>())
}

/// Faces of four corners, counted from 1 and from the end, with materials that are nowhere.
fn obj() -> String {
    let (points, _) = brick();
    let corners: String = points.iter().map(|[x, y, z]| format!("v {x} {y} {z}\n")).collect();
    format!(
        "# a brick\nmtllib nowhere.mtl\no brick\n{corners}usemtl blue\nf 1 3 4 2\nf 5 6 8 7\nf 1 2 6 5\nf 3 7 8 4\nf -8 -4 -2 -6\nf 2 4 8 6\n"
    )
}

/// Positions as floats and indices as 16-bit numbers, in one buffer.
fn gltf_buffer() -> Vec<u8> {
    let (points, triangles) = brick();
    let mut out: Vec<u8> = points.iter().flatten().flat_map(|value| value.to_le_bytes()).collect();
    out.extend(triangles.iter().flatten().flat_map(|&corner| (corner as u16).to_le_bytes()));
    out
}

/// The brick in a node that is moved by 1000 along x; `uri` tells where its buffer is.
fn gltf(uri: Option<&str>) -> String {
    let uri = uri.map_or_else(String::new, |uri| format!(r#","uri":"{uri}""#));
    format!(
        r#"{{"asset":{{"version":"2.0"}},"scene":0,"scenes":[{{"nodes":[0]}}],
        "nodes":[{{"children":[1]}},{{"mesh":0,"translation":[1000,0,0]}}],
        "meshes":[{{"primitives":[{{"attributes":{{"POSITION":0}},"indices":1}}]}}],
        "accessors":[{{"bufferView":0,"componentType":5126,"count":8,"type":"VEC3","min":[0,0,0],"max":[300,200,100]}},
        {{"bufferView":1,"componentType":5123,"count":36,"type":"SCALAR"}}],
        "bufferViews":[{{"buffer":0,"byteLength":96}},{{"buffer":0,"byteOffset":96,"byteLength":72}}],
        "buffers":[{{"byteLength":168{uri}}}]}}"#
    )
}

/// GLB: head, JSON part, binary part, each part padded to four bytes (glTF 2.0, chapter 4).
fn glb() -> Vec<u8> {
    let mut json = gltf(None).into_bytes();
    json.resize(json.len().next_multiple_of(4), b' ');
    let bin = gltf_buffer();
    let mut out = b"glTF".to_vec();
    for number in [2, (12 + 8 + json.len() + 8 + bin.len()) as u32, json.len() as u32, 0x4E4F_534A] {
        out.extend(number.to_le_bytes());
    }
    out.extend(json);
    out.extend((bin.len() as u32).to_le_bytes());
    out.extend(0x004E_4942_u32.to_le_bytes());
    out.extend(bin);
    out
}

fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    bytes
        .chunks(3)
        .flat_map(|three| {
            let bits = (0..3).fold(0_u32, |bits, i| bits << 8 | u32::from(*three.get(i).unwrap_or(&0)));
            (0..4).map(
                move |i| {
                    if i > three.len() { '=' } else { char::from(SIGNS[(bits >> (18 - 6 * i) & 63) as usize]) }
                },
            )
        })
        .collect()
}

#[test]
fn every_form_holds_the_same_brick() {
    let folder = folder("forms");
    let (points, triangles) = brick();
    let write = |name: &str, bytes: &[u8]| fs::write(folder.join(name), bytes).unwrap();
    write("binary.stl", &binary_stl(&points, &triangles, 1.0));
    write("text.STL", ascii_stl().as_bytes());
    write("brick.obj", obj().as_bytes());
    write(
        "inside.gltf",
        gltf(Some(&format!("data:application/octet-stream;base64,{}", base64(&gltf_buffer())))).as_bytes(),
    );
    write("beside.gltf", gltf(Some("brick.bin")).as_bytes());
    write("brick.bin", &gltf_buffer());
    write("brick.glb", &glb());
    for name in ["binary.stl", "text.STL", "brick.obj", "inside.gltf", "beside.gltf", "brick.glb"] {
        let mesh =
            read_shape(&folder.join(name), LengthUnit::Mm, Axis::PlusX, Axis::PlusZ).unwrap_or_else(|e| panic!("{e}"));
        let state = mesh.state();
        assert_eq!((state.triangles, state.points, state.is_closed(), state.flipped), (12, 8, true, 0), "{name}");
        let aside = if name.ends_with('l') || name.ends_with('L') || name.ends_with("obj") { 0.0 } else { 1.0 };
        let aside = if name.contains("gl") { 1.0 } else { aside };
        let [low, high] = mesh.extent();
        assert!((low - Vec3::new(aside, 0.0, 0.0)).norm() < 1e-6, "{name}: {low}");
        assert!((high - low - Vec3::new(0.3, 0.2, 0.1)).norm() < 1e-6, "{name}: {high}");
    }
    fs::remove_dir_all(folder).unwrap();
}

/// A file with y up and z forward, as glTF has them, in inches: 100 along z are 2.54 m forward, 200 along y 5.08 m up,
/// and its x, 300, points to the driver's left.
#[test]
fn unit_and_axes_are_taken_as_told() {
    let folder = folder("axes");
    let (points, triangles) = brick();
    let file = folder.join("brick.stl");
    fs::write(&file, binary_stl(&points, &triangles, 1.0)).unwrap();
    let mesh = read_shape(&file, LengthUnit::Inch, Axis::PlusZ, Axis::PlusY).unwrap();
    let [low, high] = mesh.extent();
    assert!(low.norm() < 1e-6 && (high - Vec3::new(2.54, 7.62, 5.08)).norm() < 1e-5, "{low} {high}");
    // Turned, not mirrored: it stays closed and faces outward.
    assert!(mesh.state().is_closed() && mesh.state().flipped == 0);
    let back = read_shape(&file, LengthUnit::Cm, Axis::MinusX, Axis::PlusZ).unwrap();
    assert!((back.extent()[0] - Vec3::new(-3.0, -2.0, 0.0)).norm() < 1e-6);
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn bad_files_are_told_with_the_way_out() {
    let folder = folder("bad");
    let (points, triangles) = brick();
    let sound = binary_stl(&points, &triangles, 1.0);
    let mut nowhere = sound.clone();
    nowhere[96..100].copy_from_slice(&f32::NAN.to_le_bytes());
    let gone = gltf(Some("gone.bin"));
    let no_triangles = binary_stl(&points, &[], 1.0);
    let no_area = binary_stl(&points, &[[0, 0, 1]], 1.0);
    let accessor = gltf(Some("brick.bin")).replace(r#""count":8"#, r#""count":9000"#);
    let cases: [(&str, &[u8], &str); 12] = [
        ("a.step", b"ISO-10303-21;", "ends in no form that is read. Save the shape as STL"),
        ("none", b"", "ends in no form"),
        ("cut.stl", &sound[..400], "its head tells 12 triangles, but it has 400 bytes"),
        ("empty.stl", b"", "STL"),
        ("words.stl", b"solid x\n facet nonsense\n", "is no sound STL file"),
        ("nowhere.stl", &nowhere, "triangle 1 has a corner that is not a number"),
        ("none.stl", &no_triangles, "holds no triangles"),
        ("flat.stl", &no_area, "holds no triangles"),
        ("faces.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 7\n", "is no sound OBJ file"),
        ("words.gltf", b"{ no json", "is no sound glTF file"),
        ("buffer.gltf", gone.as_bytes(), "its buffer is missing"),
        ("reach.gltf", accessor.as_bytes(), "reaches beyond its buffer"),
    ];
    fs::write(folder.join("brick.bin"), gltf_buffer()).unwrap();
    for (name, bytes, wanted) in cases {
        let file = folder.join(name);
        fs::write(&file, bytes).unwrap();
        let error = read_shape(&file, LengthUnit::Mm, Axis::PlusX, Axis::PlusZ).unwrap_err().to_string();
        assert!(error.contains(wanted) && error.contains(name), "{name}: {error}");
        assert!(error.ends_with('.') && error.matches(". ").count() >= 1, "what to do is told: {error}");
    }
    let missing = read_shape(&folder.join("not_there.stl"), LengthUnit::Mm, Axis::PlusX, Axis::PlusZ);
    assert!(matches!(missing, Err(ShapeError::Missing { .. })));
    assert!(matches!(
        read_shape(&folder, LengthUnit::Mm, Axis::PlusX, Axis::PlusZ),
        Err(ShapeError::UnknownForm { .. })
    ));
    fs::remove_dir_all(folder).unwrap();
}

/// Bytes left out, changed and doubled: an answer, never a panic.
#[test]
fn damaged_files_never_panic() {
    let folder = folder("damaged");
    let (points, triangles) = brick();
    fs::write(folder.join("brick.bin"), gltf_buffer()).unwrap();
    let sound = [
        ("a.stl", binary_stl(&points, &triangles, 1.0)),
        ("b.stl", ascii_stl().into_bytes()),
        ("c.obj", obj().into_bytes()),
        ("d.gltf", gltf(Some("brick.bin")).into_bytes()),
        ("e.glb", glb()),
    ];
    for (name, bytes) in &sound {
        let file = folder.join(name);
        for step in 0..150_usize {
            let at = step * 7919 % bytes.len();
            let mut damaged = bytes.clone();
            match step % 3 {
                0 => damaged[at] = damaged[at].wrapping_add(1 + step as u8),
                1 => damaged.truncate(at),
                _ => damaged.splice(at..at, [b'9', b'9']).for_each(drop),
            }
            fs::write(&file, damaged).unwrap();
            if let Ok(mesh) = read_shape(&file, LengthUnit::Mm, Axis::PlusX, Axis::PlusZ) {
                let ball = TaperedCapsule { a: Vec3::zeros(), b: Vec3::x(), radius_a: 0.1, radius_b: 0.2 };
                let solid = Solid::Mesh(MeshSolid { mesh: Arc::new(mesh), pose: Pose::identity() });
                assert!(distance(&ball, &solid).gap.is_finite(), "{name} {step}");
            }
        }
    }
    fs::remove_dir_all(folder).unwrap();
}

/// Evenly spread numbers from 0 to 1: multiples of the golden ratio and its like (Roberts 2018).
fn spread(index: usize, axis: usize) -> f64 {
    const STEPS: [f64; 8] = [0.959, 0.919, 0.881, 0.845, 0.810, 0.777, 0.745, 0.714];
    (0.5 + STEPS[axis] * index as f64).fract()
}

fn capsules(count: usize) -> Vec<TaperedCapsule> {
    let point = |i: usize, from: usize| {
        Vec3::new(spread(i, from) * 0.8 - 0.25, spread(i, from + 1) * 0.6 - 0.3, spread(i, from + 2) * 0.9 - 0.1)
    };
    (1..=count)
        .map(|i| {
            let a = point(i, 0);
            let b = a + (point(i, 3) - a) * 0.6;
            TaperedCapsule { a, b, radius_a: 0.02 + 0.04 * spread(i, 6), radius_b: 0.02 + 0.03 * spread(i, 7) }
        })
        .collect()
}

fn vector(p: Vec3) -> Vector {
    Vector::new(p.x, p.y, p.z)
}

/// Every triangle by itself, the ball looked for along the capsule by golden sections: the gap to a convex thing is a
/// convex function of the place.
fn brute(capsule: &TaperedCapsule, triangles: &[[Vec3; 3]]) -> f64 {
    let mut least = f64::INFINITY;
    for corners in triangles {
        let [a, b, c] = corners.map(vector);
        let triangle = Triangle::new(a, b, c);
        let gap = |t: f64| {
            let centre = capsule.a + (capsule.b - capsule.a) * t;
            let off = triangle.project_local_point(vector(centre), false).point - vector(centre);
            off.length() - (capsule.radius_a + (capsule.radius_b - capsule.radius_a) * t)
        };
        // Nothing within reach of the best so far.
        let length = (capsule.b - capsule.a).norm();
        if gap(0.0) - 2.0 * length >= least {
            continue;
        }
        let (mut low, mut high) = (0.0, 1.0);
        const GOLDEN: f64 = 0.618_033_988_75;
        for _ in 0..40 {
            let width = (high - low) * GOLDEN;
            if gap(high - width) <= gap(low + width) { high = low + width } else { low = high - width }
        }
        least = least.min(gap(f64::midpoint(low, high)));
    }
    least
}

fn corners_of(mesh: &TriangleMesh, pose: &Pose) -> Vec<[Vec3; 3]> {
    let place = |corner: u32| (pose * Point3::from(mesh.points()[corner as usize].map(f64::from))).coords;
    mesh.triangles().iter().map(|triangle| triangle.map(place)).collect()
}

/// The winding number of a closed surface round a point, from the solid angles of its triangles (Van Oosterom and
/// Strackee 1983): 1 inside, 0 outside.
fn winding(point: Vec3, triangles: &[[Vec3; 3]]) -> f64 {
    let angle = |[a, b, c]: &[Vec3; 3]| {
        let (a, b, c) = (a - point, b - point, c - point);
        let (na, nb, nc) = (a.norm(), b.norm(), c.norm());
        2.0 * a.dot(&b.cross(&c)).atan2(na * nb * nc + a.dot(&b) * nc + b.dot(&c) * na + c.dot(&a) * nb)
    };
    triangles.iter().map(angle).sum::<f64>() / (4.0 * std::f64::consts::PI)
}

/// A concave shell, closed and, without its outer side, open: within 0.5 mm of every triangle tried one by one.
#[test]
fn distances_to_a_concave_shell_are_those_of_brute_force() {
    let (points, triangles) = bucket(26, 22);
    let inner = triangles.len() * 2 / 5;
    let pose = Pose::from_parts(Vec3::new(0.1, -0.05, 0.02).into(), Rot::from_euler_angles(0.1, -0.4, 0.2));
    let (mut apart, mut touching) = (0, 0);
    for (closed, triangles) in [(true, &triangles[..]), (false, &triangles[..inner])] {
        let mesh = Arc::new(TriangleMesh::new(&points, triangles));
        assert_eq!(mesh.state().is_closed(), closed, "{:?}", mesh.state());
        let corners = corners_of(&mesh, &pose);
        let solid = Solid::Mesh(MeshSolid { mesh, pose });
        for capsule in capsules(90) {
            let (found, wanted) = (distance(&capsule, &solid), brute(&capsule, &corners));
            // Where the axis of a capsule goes through a closed wall the gap counts from its far side.
            if closed && wanted < -0.015 {
                assert!(found.gap <= wanted + mm(0.5), "{} {wanted}", found.gap);
                continue;
            }
            assert!((found.gap - wanted).abs() < mm(0.5), "{} {wanted}", found.gap);
            assert!(((found.on_a - found.on_b).norm() - found.gap.abs()).abs() < 1e-9);
            if wanted > 0.0 {
                apart += 1;
            } else {
                touching += 1;
            }
            // Asked only for what is nearer than a limit, it says the same, or the limit.
            for limit in [0.0, 0.01, 0.1] {
                assert_eq!(distance_within(&capsule, &solid, limit).gap, found.gap.min(limit));
            }
        }
    }
    assert!(apart > 20 && touching > 8, "{apart} apart, {touching} touching");
}

/// Inside and outside of a closed shell, told by the nearest triangle's normal, as the winding number has it; deep inside a
/// thick body the way out is that to its nearest face.
#[test]
fn inside_is_told_from_outside() {
    let (points, triangles) = bucket(20, 18);
    let mesh = Arc::new(TriangleMesh::new(&points, &triangles));
    let corners = corners_of(&mesh, &Pose::identity());
    let solid = Solid::Mesh(MeshSolid { mesh, pose: Pose::identity() });
    let mut inside = 0;
    for (at, [a, b, c]) in corners.iter().enumerate().step_by(3) {
        // 2 mm to either side of the wall's faces, and a place anywhere.
        let normal = (b - a).cross(&(c - a)).normalize();
        let middle = (a + b + c) / 3.0;
        let anywhere = Vec3::new(spread(at, 0) - 0.4, spread(at, 1) - 0.5, spread(at, 2) - 0.1);
        for point in [middle - normal * 0.002, middle + normal * 0.002, anywhere] {
            let ball = TaperedCapsule { a: point, b: point, radius_a: 0.0, radius_b: 0.0 };
            let is_inside = distance(&ball, &solid).gap < 0.0;
            assert_eq!(is_inside, winding(point, &corners) > 0.5, "{point}");
            inside += usize::from(is_inside);
        }
    }
    assert!(inside > 50, "{inside}");
    // By hand: the middle of the brick is 50 mm below its top; a ball of 20 mm has to go 70 mm to be out.
    let (points, triangles) = brick();
    let points: Vec<[f32; 3]> = points.iter().map(|point| point.map(|value| value * 1e-3)).collect();
    let brick = TriangleMesh::new(&points, &triangles);
    let solid = Solid::Mesh(MeshSolid { mesh: Arc::new(brick), pose: Pose::identity() });
    let ball = |x: f64, b: f64| TaperedCapsule {
        a: Vec3::new(x, 0.1, 0.05),
        b: Vec3::new(b, 0.1, 0.05),
        radius_a: 0.02,
        radius_b: 0.02,
    };
    assert!((distance(&ball(0.15, 0.15), &solid).gap + 0.07).abs() < 1e-6);
    // A rod through its short end: as deep as its innermost ball, 40 mm from the end face and 20 of its own.
    assert!(
        (distance(&ball(0.04, -0.3), &solid).gap + 0.06).abs() < 1e-4,
        "{}",
        distance(&ball(0.04, -0.3), &solid).gap
    );
}

fn shape(mesh: TriangleMesh, stands_for: StandsFor) -> Shape {
    Shape {
        name: "From a file".to_owned(),
        file: "shape.stl".to_owned(),
        unit: LengthUnit::M,
        forward: Axis::PlusX,
        up: Axis::PlusZ,
        stands_for,
        at_mm: [0.0; 3],
        turn_deg: [0.0; 3],
        mesh: Loaded(Some(Arc::new(mesh))),
    }
}

fn with_shape(name: &str, shape: Shape) -> Checked {
    let mut project = demo(name).into_inner();
    project.shapes.push(shape);
    Checked::new(project).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// The least over the motion is no more than that of a great many wheel angles, each posture solved and every forearm,
/// elbow and hand measured; and no less by more than what the hands move between two of them.
#[test]
fn arms_keep_from_a_shell_over_the_whole_motion_as_by_brute_force() {
    let (points, triangles) = bucket(40, 30);
    let project = with_shape("closed_car", shape(TriangleMesh::new(&points, &triangles), StandsFor::Seat));
    let solved = Solved::of(&project);
    let solid = Solid::Mesh(solved.rig.imported[0].solid.clone());
    for clearance in solved.clearances.iter().filter(|clearance| clearance.id == "arm_bolster") {
        assert_eq!(clearance.partner, Partner::Rig(RigPart::Imported(0)));
        let side = clearance.side.unwrap();
        let [left, right] = solved.motion.arms.hands_on;
        let mut least = f64::INFINITY;
        for step in 0..=400 {
            let steer = -right + (left + right) * f64::from(step) / 400.0;
            let posture = solved.posture_at(&Moment::REST.with_steer(steer));
            for part in solved.body.arm(&posture.arms[side.index()], side) {
                if !matches!(part.part, heelpoint::body::BodyPart::UpperArm(_)) {
                    least = least.min(distance(&part.shape, &solid).gap);
                }
            }
        }
        let gap = clearance.nearest.gap;
        assert!(gap <= least + clearance.within + mm(0.05), "{} {}", to_mm(gap), to_mm(least));
        assert!(gap >= least - mm(3.0), "{} {}", to_mm(gap), to_mm(least));
    }
}

/// What a shell holds by design, upper arms and thighs, is weighed as truly: no moment tried one by one is nearer or deeper
/// than told, none told is off by more than half a millimetre, and the two points told are as far apart as the gap.
#[test]
fn arms_and_thighs_held_by_a_shell_are_as_near_as_by_brute_force() {
    let (points, triangles) = bucket(40, 30);
    let project = with_shape("closed_car", shape(TriangleMesh::new(&points, &triangles), StandsFor::Seat));
    let solved = Solved::of(&project);
    let solid = Solid::Mesh(solved.rig.imported[0].solid.clone());
    let mut looked = 0;
    for clearance in solved.clearances.iter().filter(|clearance| clearance.id.ends_with("_shell")) {
        let side = clearance.side.unwrap();
        let thigh = clearance.id == "thigh_shell";
        let [left, right] = solved.motion.arms.hands_on;
        let sweeps = solved.motion.pedals.iter().filter(|sweep| sweep.side == side);
        let ends = sweeps.map(|sweep| (sweep.kind, sweep.steps.last().map_or(0.0, |(travel, _)| *travel)));
        let ends: Vec<_> = ends.collect();
        let mut least = f64::INFINITY;
        for step in 0..=300 {
            let share = f64::from(step) / 300.0;
            let moments: Vec<Moment> = if thigh {
                ends.iter().map(|(kind, end)| Moment::REST.with_travel(*kind, share * end)).collect()
            } else {
                vec![Moment::REST.with_steer(-right + (left + right) * share)]
            };
            for moment in moments {
                let posture = solved.posture_at(&moment);
                let solids = if thigh {
                    solved.body.leg(&posture.legs[side.index()], side)
                } else {
                    solved.body.arm(&posture.arms[side.index()], side)
                };
                for part in solids.into_iter().filter(|part| Some(part.part) == clearance.body) {
                    least = least.min(distance(&part.shape, &solid).gap);
                }
            }
        }
        let nearest = &clearance.nearest;
        assert!(nearest.gap <= least + mm(0.55), "{}: {} {}", clearance.id, to_mm(nearest.gap), to_mm(least));
        assert!(nearest.gap >= least - mm(0.5), "{}: {} {}", clearance.id, to_mm(nearest.gap), to_mm(least));
        assert!(((nearest.on_a - nearest.on_b).norm() - nearest.gap.abs()).abs() < 1e-9, "{}", clearance.id);
        looked += 1;
    }
    assert_eq!(looked, 4);
}

/// The demo's own flat-bottomed rim as triangles: knees and thighs come as near to it as to the rim itself.
#[test]
fn a_wheel_from_a_file_turns_as_the_described_one_does() {
    let mut project = demo("three_pedals").into_inner();
    project.wheel.rim = heelpoint::project::Rim::FlatBottomed { diameter_mm: 320.0, flat_mm: 120.0 };
    let described = Checked::new(project.clone()).unwrap();
    let wheel = heelpoint::rig::Rig::place(&described).wheel;
    let path: Vec<[f64; 2]> = wheel.path.points(400);
    let count = path.len() - 1;
    let around = 48;
    let mut points = Vec::new();
    for at in 0..count {
        let (before, after) = (path[(at + count - 1) % count], path[at + 1]);
        let along = [after[0] - before[0], after[1] - before[1]];
        let length = along[0].hypot(along[1]);
        let out = [along[1] / length, -along[0] / length];
        for step in 0..around {
            let (sin, cos) = deg(360.0 * f64::from(step) / f64::from(around)).sin_cos();
            let [left, up] = [0, 1].map(|i| path[at][i] + out[i] * wheel.tube * cos);
            points.push([wheel.tube * sin, left, up].map(|value| value as f32));
        }
    }
    let around = around as u32;
    let at = |ring: usize, step: u32| (ring % count) as u32 * around + step % around;
    let mut triangles = Vec::new();
    for ring in 0..count {
        for step in 0..around {
            let (a, b, c, d) = (at(ring, step), at(ring + 1, step), at(ring + 1, step + 1), at(ring, step + 1));
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    project.shapes.push(shape(TriangleMesh::new(&points, &triangles), StandsFor::Rim));
    let imported = Checked::new(project).unwrap();
    assert!(imported.shapes[0].mesh.0.as_ref().unwrap().state().is_closed());
    let least = |project: &Checked| -> Vec<(String, f64)> {
        let solved = Solved::of(project);
        let wheel = |c: &&clearance::Clearance| c.id == "knee_wheel" || c.id == "thigh_wheel";
        let name = |c: &clearance::Clearance| (format!("{} {:?}", c.id, c.side), c.nearest.gap);
        solved.clearances.iter().filter(wheel).map(name).collect()
    };
    for ((name, described), (_, imported)) in least(&described).into_iter().zip(least(&imported)) {
        // The hub is nearer to a thigh than the rim nowhere here.
        assert!((described - imported).abs() < mm(1.0), "{name}: {} {}", to_mm(described), to_mm(imported));
    }
}

/// The demo of an imported shell: its file is found from the project's own folder, its name stands in the findings, and
/// what is saved is what was written.
#[test]
fn the_demo_with_a_shell_loads_and_names_it() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("assets/bucket_shell.ron");
    let (points, triangles) = bucket(32, 24);
    let stl = binary_stl(&points, &triangles, 1000.0);
    let kept = path.with_file_name("shells").join("bucket.stl");
    if std::env::var_os("UPDATE").is_some() {
        fs::create_dir_all(kept.parent().unwrap()).unwrap();
        fs::write(&kept, &stl).unwrap();
    }
    assert!(fs::read(&kept).unwrap() == stl && stl.len() < 200_000, "renew it with UPDATE=1");
    let (project, text) = load(&path).unwrap_or_else(|error| panic!("{error}"));
    assert!(project.shapes[0].mesh.0.as_ref().unwrap().state().is_closed());
    let study = check(&project);
    let found = study.findings.iter().find(|finding| finding.key() == "arm_bolster.left").unwrap();
    assert!(found.sentence.contains("“Bucket shell”"), "{}", found.sentence);
    assert!(study.findings.iter().all(|finding| finding.level != Level::Outside), "as its comments promise");
    let again = parse(&to_text(&project)).unwrap_or_else(|faults| panic!("{faults:?}"));
    assert_eq!(*again, *project);
    assert!(again.shapes[0].mesh.0.is_none() && text.contains("shapes:"));
}

#[test]
fn a_shape_that_is_not_there_is_told_at_its_line() {
    let folder = folder("project");
    let text = include_str!("../../assets/bucket_shell.ron").replace("shells/bucket.stl", "gone.stl");
    let file = folder.join("rig.ron");
    fs::write(&file, &text).unwrap();
    let error = load(&file).unwrap_err().to_string();
    let line = text.lines().position(|line| line.contains("file: \"gone.stl")).unwrap() + 1;
    assert!(error.contains(&format!("rig.ron:{line}:")) && error.contains("shapes[0].file names"), "{error}");
    assert!(error.contains("there is no such file"), "{error}");
    let skewed = text.replace("up: PlusZ", "up: MinusX");
    assert_ne!(skewed, text);
    let faults = parse(&skewed).unwrap_err();
    assert!(faults[0].to_string().contains("two axes of the file that stand square"), "{}", faults[0]);
    fs::remove_dir_all(folder).unwrap();
}
