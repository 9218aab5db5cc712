// Drawing paper under and behind the rig: a metric grid that fades with distance, and the shadow of what stands on it.

#import bevy_pbr::{
    forward_io::VertexOutput,
    mesh_view_bindings::{lights, view},
    mesh_view_types::DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT,
    shadows::fetch_directional_shadow,
}

struct Paper {
    paper: vec4<f32>,
    // Every 100 mm; a: 1 where the shadow lies on this sheet.
    fine: vec4<f32>,
    // Every 500 mm; a: depth of the shadow.
    strong: vec4<f32>,
    // Where the shadow's picture lies on the sheet: corner and size, m.
    shadow_at: vec4<f32>,
    // Middle of the grid on the sheet and the radius at which it has faded, m.
    fade: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> sheet: Paper;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var shadow_picture: texture_2d<f32>;
@group(#{MATERIAL_BIND_GROUP}) @binding(2) var shadow_sampler: sampler;

// Share of a pixel covered by lines `step` apart; where they crowd they give way.
fn lines(at: vec2<f32>, step: f32, pixel: vec2<f32>) -> f32 {
    let off = abs(fract(at / step + 0.5) - 0.5) * step;
    let cover = clamp(1.0 - off / pixel, vec2(0.0), vec2(1.0)) * smoothstep(vec2(0.34), vec2(0.10), pixel / step);
    return max(cover.x, cover.y);
}

@fragment
fn fragment(in: VertexOutput) -> @location(0) vec4<f32> {
    // The sheet's own coordinates, m.
    let at = in.uv;
    let pixel = max(fwidth(at), vec2(1e-5));
    let away = length(at - sheet.fade.xy) / sheet.fade.z;
    let near = smoothstep(1.0, 0.25, away);
    var colour = sheet.paper.rgb;
    colour = mix(colour, sheet.fine.rgb, lines(at, 0.1, pixel) * near);
    colour = mix(colour, sheet.strong.rgb, lines(at, 0.5, pixel) * near);

    // Only the floor has a shadow. No branch asks for it: some drivers would make a shader anew for each answer.
    let has_shadow = step(0.5, sheet.fine.a);
    let on = (at - sheet.shadow_at.xy) / sheet.shadow_at.zw;
    let inside = all(on >= vec2(0.0)) && all(on <= vec2(1.0));
    let covered = select(0.0, textureSampleLevel(shadow_picture, shadow_sampler, on, 0.0).r, inside);
    var light = 1.0 - sheet.strong.a * covered;
#ifndef SHADOW_FILTER_METHOD_HARDWARE_2X2
    if ((lights.directional_lights[0].flags & DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT) != 0u) {
        let depth = dot(
            vec4(view.view_from_world[0].z, view.view_from_world[1].z, view.view_from_world[2].z, view.view_from_world[3].z),
            in.world_position,
        );
        let lit = fetch_directional_shadow(0u, in.world_position, vec3(0.0, 1.0, 0.0), depth, in.position.xy);
        // Seen from straight above it would be taken for a part: there the shadow right below is enough.
        let slant = 1.0 - smoothstep(0.7, 0.95, view.world_from_view[2].y);
        light *= mix(1.0 - 0.24 * sheet.strong.a * near * slant, 1.0, lit);
    }
#endif
    colour *= mix(1.0, light, has_shadow);
    return vec4(colour, 1.0);
}
