// A boundary of reach: a film that one sees through, denser where it is seen edge on, with level lines.

#import bevy_pbr::{
    forward_io::VertexOutput,
    mesh_view_bindings::view,
}

struct Film {
    // a: how dense it is, seen squarely.
    colour: vec4<f32>,
    // The half-space before a section: beyond w along xyz; zero where there is none.
    cut: vec4<f32>,
    // Level lines: from one to the next, m; the length of their strokes, m; the strokes' share; how dense they are.
    lines: vec4<f32>,
    // The upright axis about which strokes are counted; what of it is left before a section; how dense it is, edge on.
    axis: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> film: Film;

@fragment
fn fragment(in: VertexOutput, @builtin(front_facing) front: bool) -> @location(0) vec4<f32> {
    let at = in.world_position.xyz;
    let level = at.y / film.lines.x;
    let thick = max(fwidth(level), 1e-6);
    let before = dot(film.cut.xyz, at) > film.cut.w && any(film.cut.xyz != vec3(0.0));
    let left = select(1.0, film.axis.z, before);
    if (left <= 0.0) {
        discard;
    }
    var n = normalize(in.world_normal);
    n = select(-n, n, front);
    let parallel = view.clip_from_view[3].w == 1.0;
    let to_eye = select(normalize(view.world_position - at), normalize(view.world_from_view[2].xyz), parallel);
    let grazing = pow(1.0 - abs(dot(n, to_eye)), 3.0);
    var dense = mix(film.colour.a, film.axis.w, grazing);

    // A level line is a pixel or two wide, whatever the slope; where lines crowd they give way.
    let off = abs(fract(level + 0.5) - 0.5) / thick;
    let about = at.xz - film.axis.xy;
    let along = atan2(about.y, about.x) * length(about) / film.lines.y;
    let stroke = select(0.0, 1.0, fract(along) < film.lines.z);
    let line = clamp(1.25 - off, 0.0, 1.0) * stroke * smoothstep(0.35, 0.12, thick);
    dense = max(dense, line * film.lines.w);

    // Light from above gives it form.
    let light = 0.86 + 0.22 * n.y;
    return vec4(film.colour.rgb * light, dense * left);
}
