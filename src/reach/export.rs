//! Surfaces as binary STL and binary glTF, section curves as SVG and DXF.
//!
//! STL, SVG and DXF are in millimetres. glTF is in metres with y up, as its standard demands (glTF 2.0, 3.4).

use serde_json::json;

use super::{Curve, Plane, Surface, Zone};
use crate::{
    geometry::{Mesh, Vec3},
    units::to_mm,
};

/// A surface as binary STL, mm, axes of W.
pub fn stl(mesh: &Mesh) -> Vec<u8> {
    let mut out = Vec::with_capacity(84 + 50 * mesh.triangles.len());
    let mut head = [b' '; 80];
    let title = b"reach surface, millimetres, x forward y left z up";
    head[..title.len()].copy_from_slice(title);
    out.extend(head);
    out.extend((mesh.triangles.len() as u32).to_le_bytes());
    for triangle in &mesh.triangles {
        let [a, b, c] = triangle.map(|index| mesh.positions[index as usize]);
        let normal = crate::geometry::unit_or((b - a).cross(&(c - a)), Vec3::z());
        for v in [normal, a * 1e3, b * 1e3, c * 1e3] {
            for x in v.iter() {
                out.extend((*x as f32).to_le_bytes());
            }
        }
        out.extend([0; 2]);
    }
    out
}

/// Surfaces by name as binary glTF, one translucent mesh each; m, y up, −z to the driver's left… as viewers show it:
/// (x, y, z) of W becomes (x, z, −y).
pub fn glb(surfaces: &[(String, Zone, &Surface)]) -> Vec<u8> {
    let mut bin: Vec<u8> = Vec::new();
    let (mut views, mut accessors, mut meshes, mut nodes) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let turned = |v: &Vec3| [v.x as f32, v.z as f32, -v.y as f32];
    for (name, zone, surface) in surfaces.iter().filter(|(.., surface)| !surface.mesh.triangles.is_empty()) {
        let mesh = &surface.mesh;
        let first = accessors.len();
        for (points, bounds) in [(&mesh.positions, true), (&mesh.normals, false)] {
            let from = bin.len();
            let mut low = [f32::INFINITY; 3];
            let mut high = [f32::NEG_INFINITY; 3];
            for point in points {
                for (axis, x) in turned(point).into_iter().enumerate() {
                    low[axis] = low[axis].min(x);
                    high[axis] = high[axis].max(x);
                    bin.extend(x.to_le_bytes());
                }
            }
            let mut accessor =
                json!({"bufferView": views.len(), "componentType": 5126, "count": points.len(), "type": "VEC3"});
            if bounds {
                accessor["min"] = json!(low);
                accessor["max"] = json!(high);
            }
            accessors.push(accessor);
            views.push(json!({"buffer": 0, "byteOffset": from, "byteLength": bin.len() - from, "target": 34962}));
        }
        let from = bin.len();
        for index in mesh.triangles.iter().flatten() {
            bin.extend(index.to_le_bytes());
        }
        accessors.push(json!({
            "bufferView": views.len(), "componentType": 5125, "count": 3 * mesh.triangles.len(), "type": "SCALAR"
        }));
        views.push(json!({"buffer": 0, "byteOffset": from, "byteLength": bin.len() - from, "target": 34963}));
        let material = Zone::ALL.iter().position(|other| other == zone).unwrap_or(0);
        nodes.push(json!({"name": name, "mesh": meshes.len()}));
        meshes.push(json!({"name": name, "primitives": [{
            "attributes": {"POSITION": first, "NORMAL": first + 1}, "indices": first + 2, "material": material
        }]}));
    }
    let materials: Vec<_> = Zone::ALL
        .iter()
        .zip([[0.10, 0.45, 0.30], [0.15, 0.35, 0.65], [0.65, 0.50, 0.10], [0.60, 0.25, 0.15]])
        .map(|(zone, [r, g, b])| {
            json!({
                "name": zone.word(), "alphaMode": "BLEND", "doubleSided": true,
                "pbrMetallicRoughness": {"baseColorFactor": [r, g, b, 0.35], "metallicFactor": 0.0}
            })
        })
        .collect();
    let mut root = json!({
        "asset": {"version": "2.0", "generator": "Heelpoint"},
        "scene": 0,
        "scenes": [{"nodes": (0..nodes.len()).collect::<Vec<_>>()}],
        "nodes": nodes, "meshes": meshes, "materials": materials, "accessors": accessors, "bufferViews": views,
        "buffers": [{"byteLength": bin.len()}],
    });
    if meshes_empty(&root) {
        // The standard knows no empty arrays.
        root = json!({"asset": {"version": "2.0", "generator": "Heelpoint"}});
    }
    let mut text = root.to_string().into_bytes();
    while !text.len().is_multiple_of(4) {
        text.push(b' ');
    }
    while !bin.len().is_multiple_of(4) {
        bin.push(0);
    }
    let chunk = |kind: &[u8; 4], data: &[u8]| [&(data.len() as u32).to_le_bytes()[..], kind, data].concat();
    let mut body = chunk(b"JSON", &text);
    if !bin.is_empty() {
        body.extend(chunk(b"BIN\0", &bin));
    }
    [&b"glTF"[..], &2_u32.to_le_bytes(), &(12 + body.len() as u32).to_le_bytes(), &body].concat()
}

fn meshes_empty(root: &serde_json::Value) -> bool {
    root["meshes"].as_array().is_none_or(Vec::is_empty)
}

/// Section curves in one plane, to be drawn at full size.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// What it shows.
    pub title: String,
    /// The plane.
    pub plane: Plane,
    /// What its axes are called: "forward", "up".
    pub axes: [&'static str; 2],
    /// Curves with what they bound: "left hand, attainable".
    pub curves: Vec<(String, Zone, Vec<Curve>)>,
    /// Points to measure from, W: "H-point", "heel point".
    pub marks: Vec<(String, Vec3)>,
}

/// From one ordinate to the next, mm.
const ORDINATE: f64 = 100.0;

impl Drawing {
    /// Lowest and highest coordinates, mm, on whole ordinates.
    fn extent(&self) -> [[f64; 2]; 2] {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        let points = self.curves.iter().flat_map(|(.., curves)| curves).flat_map(|curve| curve.points.iter().copied());
        for point in points.chain(self.marks.iter().map(|(_, at)| self.plane.seen(*at))) {
            for axis in 0..2 {
                low[axis] = low[axis].min(to_mm(point[axis]));
                high[axis] = high[axis].max(to_mm(point[axis]));
            }
        }
        if !low[0].is_finite() {
            return [[0.0; 2], [ORDINATE; 2]];
        }
        [low.map(|x| (x / ORDINATE).floor() * ORDINATE), high.map(|x| (x / ORDINATE).ceil() * ORDINATE)]
    }

    /// The origin of ordinates: the first mark, else the plane's own.
    fn zero(&self) -> [f64; 2] {
        self.marks.first().map_or([0.0; 2], |(_, at)| self.plane.seen(*at).map(to_mm))
    }

    /// Dimensions of a curve at every ordinate from the first mark: (right, heights), mm from there.
    fn ordinates(&self, curves: &[Curve]) -> Vec<(f64, Vec<f64>)> {
        let ([low, high], zero) = (self.extent(), self.zero());
        let first = ((low[0] - zero[0]) / ORDINATE).ceil() as i32;
        let last = ((high[0] - zero[0]) / ORDINATE).floor() as i32;
        (first..=last)
            .filter_map(|step| {
                let right = f64::from(step) * ORDINATE;
                let mut heights: Vec<f64> = curves
                    .iter()
                    .flat_map(|curve| curve.heights_at((right + zero[0]) * 1e-3))
                    .map(|height| to_mm(height) - zero[1])
                    .collect();
                heights.sort_by(f64::total_cmp);
                (!heights.is_empty()).then_some((right, heights))
            })
            .collect()
    }
}

/// Stroke and dashes of a zone: told apart without colour.
const fn stroke(zone: Zone) -> (&'static str, &'static str) {
    match zone {
        Zone::Comfortable => ("#1c6b48", "none"),
        Zone::Attainable => ("#24589e", "none"),
        Zone::ShoulderLift => ("#8a6510", "12 5"),
        Zone::Leaning => ("#8d3a22", "4 4"),
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// The drawing as SVG at full size, mm: curves by zone, a grid of 100 mm from the first mark, the marks, and the heights of
/// each curve at every line of the grid.
pub fn svg(drawing: &Drawing) -> String {
    const MARGIN: f64 = 60.0;
    let ([low, high], zero) = (drawing.extent(), drawing.zero());
    let size = [high[0] - low[0] + 2.0 * MARGIN, high[1] - low[1] + 2.0 * MARGIN];
    let legend = 14.0 * (drawing.curves.len() as f64 + 2.0);
    let x = |right: f64| right - low[0] + MARGIN;
    let y = |up: f64| high[1] - up + MARGIN;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
         <style>text{{font-family:sans-serif;font-size:8px}}.grid{{stroke:#c8c8c8;stroke-width:0.3}}</style>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
        w = size[0],
        h = size[1] + legend
    );
    let lines = |axis: usize| {
        let first = ((low[axis] - zero[axis]) / ORDINATE).ceil() as i32;
        let last = ((high[axis] - zero[axis]) / ORDINATE).floor() as i32;
        (first..=last).map(|step| f64::from(step) * ORDINATE)
    };
    for right in lines(0) {
        let at = x(right + zero[0]);
        let (top, bottom) = (y(high[1]), y(low[1]));
        out += &format!("<line class=\"grid\" x1=\"{at:.2}\" y1=\"{top:.2}\" x2=\"{at:.2}\" y2=\"{bottom:.2}\"/>\n");
        out += &format!("<text x=\"{at:.2}\" y=\"{:.2}\" text-anchor=\"middle\">{right:.0}</text>\n", bottom + 12.0);
    }
    for up in lines(1) {
        let at = y(up + zero[1]);
        let (left, right) = (x(low[0]), x(high[0]));
        out += &format!("<line class=\"grid\" x1=\"{left:.2}\" y1=\"{at:.2}\" x2=\"{right:.2}\" y2=\"{at:.2}\"/>\n");
        out += &format!("<text x=\"{:.2}\" y=\"{:.2}\" text-anchor=\"end\">{up:.0}</text>\n", left - 4.0, at + 3.0);
    }
    for (_, zone, curves) in &drawing.curves {
        let (colour, dashes) = stroke(*zone);
        for curve in curves {
            let mut path = String::new();
            for (at, point) in curve.points.iter().enumerate() {
                let letter = if at == 0 { 'M' } else { 'L' };
                path += &format!("{letter}{:.2} {:.2}", x(to_mm(point[0])), y(to_mm(point[1])));
            }
            if curve.closed {
                path.push('Z');
            }
            out += &format!(
                "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1\" stroke-dasharray=\"{dashes}\"/>\n"
            );
        }
        for (right, heights) in drawing.ordinates(curves) {
            for height in heights {
                out += &format!(
                    "<text x=\"{:.2}\" y=\"{:.2}\" fill=\"{colour}\">{height:.0}</text>\n",
                    x(right + zero[0]) + 1.5,
                    y(height + zero[1]) - 1.5
                );
            }
        }
    }
    for (name, at) in &drawing.marks {
        let [right, up] = drawing.plane.seen(*at).map(to_mm);
        out += &format!(
            "<circle cx=\"{cx:.2}\" cy=\"{cy:.2}\" r=\"4\" fill=\"none\" stroke=\"#000000\"/>\
             <path d=\"M{a:.2} {cy:.2}H{b:.2}M{cx:.2} {c:.2}V{d:.2}\" stroke=\"#000000\" stroke-width=\"0.5\"/>\
             <text x=\"{e:.2}\" y=\"{f:.2}\">{name}</text>\n",
            cx = x(right),
            cy = y(up),
            a = x(right) - 7.0,
            b = x(right) + 7.0,
            c = y(up) - 7.0,
            d = y(up) + 7.0,
            e = x(right) + 8.0,
            f = y(up) - 5.0,
            name = escaped(name)
        );
    }
    let mut at = size[1] + 4.0;
    let from = drawing.marks.first().map_or("the origin", |(name, _)| name.as_str());
    out += &format!(
        "<text x=\"{MARGIN}\" y=\"{at:.2}\">{}. Full size, mm from {}: {} to the right, {} upward.</text>\n",
        escaped(&drawing.title),
        escaped(from),
        drawing.axes[0],
        drawing.axes[1]
    );
    for (name, zone, _) in &drawing.curves {
        at += 14.0;
        let (colour, dashes) = stroke(*zone);
        out += &format!(
            "<line x1=\"{MARGIN}\" y1=\"{l:.2}\" x2=\"{e}\" y2=\"{l:.2}\" stroke=\"{colour}\" stroke-dasharray=\"{dashes}\"/>\
             <text x=\"{t}\" y=\"{at:.2}\">{}</text>\n",
            escaped(name),
            l = at - 3.0,
            e = MARGIN + 40.0,
            t = MARGIN + 46.0
        );
    }
    out + "</svg>\n"
}

/// The drawing as DXF (R12, which every program reads), mm from the first mark: a layer for each curve, marks and heights
/// at every 100 mm on layers of their own.
pub fn dxf(drawing: &Drawing) -> String {
    let zero = drawing.zero();
    let mut out = String::new();
    let mut put = |code: u16, value: &str| out += &format!("{code}\n{value}\n");
    let layer = |name: &str| -> String {
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_uppercase() } else { '_' }).collect()
    };
    put(999, "millimetres");
    for (code, value) in [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (0, "ENDSEC")] {
        put(code, value);
    }
    put(0, "SECTION");
    put(2, "ENTITIES");
    for (name, _, curves) in &drawing.curves {
        let layer = layer(name);
        for curve in curves {
            for (code, value) in [(0, "POLYLINE"), (8, &*layer), (66, "1"), (70, if curve.closed { "1" } else { "0" })]
            {
                put(code, value);
            }
            for (code, value) in [(10, "0.0"), (20, "0.0"), (30, "0.0")] {
                put(code, value);
            }
            for point in &curve.points {
                put(0, "VERTEX");
                put(8, &layer);
                put(10, &format!("{:.3}", to_mm(point[0]) - zero[0]));
                put(20, &format!("{:.3}", to_mm(point[1]) - zero[1]));
                put(30, "0.0");
            }
            put(0, "SEQEND");
            put(8, &layer);
        }
        let mut text = |right: f64, up: f64, height: &str, words: &str, layer: &str| {
            put(0, "TEXT");
            put(8, layer);
            put(10, &format!("{right:.3}"));
            put(20, &format!("{up:.3}"));
            put(30, "0.0");
            put(40, height);
            put(1, words);
        };
        let of_sizes = format!("{layer}_SIZES");
        for (right, heights) in drawing.ordinates(curves) {
            for height in heights {
                text(right, height, "6.0", &format!("{height:.0}"), &of_sizes);
            }
        }
    }
    for (name, at) in &drawing.marks {
        let [right, up] = drawing.plane.seen(*at).map(to_mm);
        put(0, "CIRCLE");
        put(8, "MARKS");
        put(10, &format!("{:.3}", right - zero[0]));
        put(20, &format!("{:.3}", up - zero[1]));
        put(30, "0.0");
        put(40, "4.0");
        put(0, "TEXT");
        put(8, "MARKS");
        put(10, &format!("{:.3}", right - zero[0] + 8.0));
        put(20, &format!("{:.3}", up - zero[1] + 5.0));
        put(30, "0.0");
        put(40, "8.0");
        put(1, name);
    }
    put(0, "ENDSEC");
    put(0, "EOF");
    out
}
