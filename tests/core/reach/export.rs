//! Files, read back by other libraries.

use heelpoint::{
    geometry::Side,
    reach::{Drawing, Grip, Limb, Plane, Reach, Surface, USUAL_LEAN, Zone, dxf, glb, section, stl, svg},
    study::Solved,
    watch::Watch,
};

fn reach() -> (Solved, Reach) {
    let solved = Solved::of(&crate::demo("closed_car"));
    let limb = Limb::Hand(Side::Left, Grip::Full);
    let mut reach = Reach::of(&solved.body, &solved.rig, &solved.rest, limb, USUAL_LEAN, &[]);
    reach.coarse(&Watch::NOBODY).unwrap();
    (solved, reach)
}

fn span(points: impl Iterator<Item = [f64; 3]>) -> [[f64; 2]; 3] {
    points.fold([[f64::INFINITY, f64::NEG_INFINITY]; 3], |mut span, point| {
        for axis in 0..3 {
            span[axis] = [span[axis][0].min(point[axis]), span[axis][1].max(point[axis])];
        }
        span
    })
}

fn same(a: [[f64; 2]; 3], b: [[f64; 2]; 3], within: f64) {
    for (a, b) in a.iter().flatten().zip(b.iter().flatten()) {
        assert!((a - b).abs() < within, "{a} for {b}");
    }
}

fn in_mm(surface: &Surface) -> [[f64; 2]; 3] {
    span(surface.mesh.positions.iter().map(|p| [1e3 * p.x, 1e3 * p.y, 1e3 * p.z]))
}

#[test]
fn stl_is_read_back_in_millimetres() {
    let (_, reach) = reach();
    let surface = reach.surface(Zone::Attainable).unwrap();
    let read = stl_io::read_stl(&mut std::io::Cursor::new(stl(&surface.mesh))).unwrap();
    assert_eq!(read.faces.len(), surface.mesh.triangles.len());
    let points = read.vertices.iter().map(|v| [0, 1, 2].map(|i| f64::from(v[i])));
    same(span(points), in_mm(surface), 0.01);
}

#[test]
fn gltf_is_read_back_in_metres_with_y_up() {
    let (_, reach) = reach();
    let surfaces: Vec<_> =
        Zone::ALL.iter().map(|zone| (zone.word().to_owned(), *zone, reach.surface(*zone).unwrap())).collect();
    // The reader checks the whole file against the standard.
    let read = gltf::Gltf::from_slice(&glb(&surfaces)).unwrap();
    let blob = read.blob.as_deref().unwrap();
    assert_eq!(read.meshes().count(), surfaces.len());
    for (mesh, (name, _, surface)) in read.meshes().zip(&surfaces) {
        assert_eq!(mesh.name(), Some(name.as_str()));
        let primitive = mesh.primitives().next().unwrap();
        let reader = primitive.reader(|_| Some(blob));
        let points = reader
            .read_positions()
            .unwrap()
            .map(|[x, y, z]| [1e3 * f64::from(x), -1e3 * f64::from(z), 1e3 * f64::from(y)]);
        same(span(points), in_mm(surface), 0.01);
        assert_eq!(reader.read_indices().unwrap().into_u32().count(), 3 * surface.mesh.triangles.len());
    }
    let empty = Surface::default();
    gltf::Gltf::from_slice(&glb(&[("none".into(), Zone::Comfortable, &empty)])).unwrap();
}

#[test]
fn section_curves_are_read_back_at_full_size() {
    let (solved, reach) = reach();
    let surface = reach.surface(Zone::Attainable).unwrap();
    let shoulder = solved.rest.sitting.shoulders[0];
    let plane = Plane::side(shoulder.y);
    let curves = section(surface, &plane);
    assert!(!curves.is_empty() && curves.iter().all(|curve| curve.closed));
    let h_point = solved.rest.sitting.h_point;
    let drawing = Drawing {
        title: "Side section".into(),
        plane,
        axes: ["forward", "up"],
        curves: vec![("left hand, attainable".into(), Zone::Attainable, curves.clone())],
        marks: vec![("H-point".into(), h_point)],
    };
    // Read by the rule of the format: lines in pairs, a group code and its value; 0 begins an entity, 10 and 20 are right
    // and up.
    let text = dxf(&drawing);
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines.len().is_multiple_of(2) && lines.ends_with(&["0", "EOF"]));
    let mut read: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut entity = "";
    for pair in lines.chunks(2) {
        match (pair[0].trim().parse::<u16>().unwrap(), pair[1]) {
            (0, name) => {
                entity = name;
                match name {
                    "POLYLINE" => read.push(Vec::new()),
                    "VERTEX" => read.last_mut().unwrap().push([f64::NAN; 2]),
                    _ => {}
                }
            }
            (code @ (10 | 20), value) if entity == "VERTEX" => {
                read.last_mut().unwrap().last_mut().unwrap()[usize::from(code / 20)] = value.parse().unwrap();
            }
            _ => {}
        }
    }
    assert_eq!(read.len(), curves.len());
    for (line, curve) in read.iter().zip(&curves) {
        assert_eq!(line.len(), curve.points.len());
        for (vertex, point) in line.iter().zip(&curve.points) {
            assert!((vertex[0] - 1e3 * (point[0] - h_point.x)).abs() < 0.01);
            assert!((vertex[1] - 1e3 * (point[1] - h_point.z)).abs() < 0.01);
        }
    }
    let drawn = svg(&drawing);
    assert!(drawn.contains("mm\" height=") && drawn.matches("<path d=\"M").count() >= curves.len());
}
