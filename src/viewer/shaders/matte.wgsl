// Matte matter in a studio: a soft key light, a sky above and a floor below that gives light back.
//
// A vertex carries its colour (rgb, linear) and how open it lies (a: 0 in a fold, 1 in the open), and in its first
// texture coordinate how glossy and how soft it is.

#import bevy_pbr::{
    forward_io::VertexOutput,
    mesh_view_bindings::{lights, view},
    mesh_view_types::DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT,
    shadows::fetch_directional_shadow,
}

struct Studio {
    sky: vec4<f32>,
    bounce: vec4<f32>,
    // A plane beyond which nothing is drawn: normal and place along it.
    cut: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> studio: Studio;

// Straight up to 0.7, then bent so that it never passes 1.
fn shoulder(c: vec3<f32>) -> vec3<f32> {
    let over = max(c - 0.7, vec3(0.0));
    return min(c, vec3(0.7)) + 0.3 * (1.0 - exp(-over / 0.3));
}

@fragment
fn fragment(in: VertexOutput, @builtin(front_facing) front: bool) -> @location(0) vec4<f32> {
    if (dot(studio.cut.xyz, in.world_position.xyz) > studio.cut.w) {
        discard;
    }
    var n = normalize(in.world_normal);
    n = select(-n, n, front);
    let to_key = lights.directional_lights[0].direction_to_light;
    let open = in.color.a;
    let soft = in.uv.y;
    // Light creeps round a soft edge, the red farther than the blue.
    let wrap = vec3(0.42, 0.30, 0.22) * soft + 0.08;
    let facing = dot(n, to_key);
    let up = 0.5 + 0.5 * n.y;
    let lit = max((vec3(facing) + wrap) / (1.0 + wrap), vec3(0.0)) * mix(0.7, 1.0, open);
    let sky = mix(studio.bounce.rgb, studio.sky.rgb, up * up * (3.0 - 2.0 * up)) * open;
#ifdef PLAIN
    return vec4(min(in.color.rgb * (0.74 * lit + 0.50 * sky), vec3(1.0)), studio.sky.a);
#else
    // The projection's lower right corner is 1 where it is parallel.
    let parallel = view.clip_from_view[3].w == 1.0;
    let to_eye = select(
        normalize(view.world_position - in.world_position.xyz),
        normalize(view.world_from_view[2].xyz),
        parallel,
    );
    let gloss = in.uv.x;

    var shade = 1.0;
#ifndef SHADOW_FILTER_METHOD_HARDWARE_2X2
    if ((lights.directional_lights[0].flags & DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT) != 0u) {
        let depth = dot(
            vec4(view.view_from_world[0].z, view.view_from_world[1].z, view.view_from_world[2].z, view.view_from_world[3].z),
            in.world_position,
        );
        shade = fetch_directional_shadow(0u, in.world_position, n, depth, in.position.xy);
    }
#endif

    let key = lit * mix(0.38, 1.0, shade);
    let fill = sky * mix(0.8, 1.0, shade);
    let diffuse = in.color.rgb * (0.74 * key + 0.50 * fill);

    // The sky is a wide soft box: what mirrors it shines, more at a grazing angle.
    let mirrored = reflect(-to_eye, n);
    let grazing = pow(1.0 - max(dot(n, to_eye), 0.0), 4.0);
    let box = smoothstep(-0.35 + 0.3 * gloss, 0.9 - 0.2 * gloss, mirrored.y);
    let half_way = normalize(to_key + to_eye);
    let glint = pow(max(dot(n, half_way), 0.0), mix(6.0, 70.0, gloss)) * shade;
    let shine = studio.sky.rgb * open * gloss * (0.34 * box * (0.35 + grazing) + 0.28 * glint) + studio.sky.rgb * (0.05 * grazing * open);
    return vec4(shoulder(diffuse + shine), studio.sky.a);
#endif
}
