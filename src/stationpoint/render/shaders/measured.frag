#version 450 core
in vec3 facing;
flat in vec4 towards;
flat in vec4 plain;
flat in float on_glass;
#ifdef SHADOWED
uniform sampler2DArray suns;
in vec3 in_map;
flat in vec4 map_x;                     // w: the map's side
flat in vec4 map_y;                     // w: what is no shadow, of the map's depth
flat in vec3 map_z;
flat in vec4 shears_01;
flat in vec4 shears_23;

// Share of one sun that reaches a point: of four texels, each asked at the depth that the plane of the
// point's face has there. slope: of that plane, depth per unit of the map.
float sun(vec3 p, vec2 slope, vec2 shear, float k) {
    slope /= 1.0 + dot(slope, shear);
    vec2 at = (p.xy + shear * p.z) * map_x.w - 0.5, low = floor(at), part = at - low;
    vec4 depths = textureGather(suns, vec3((low + 1.0) / map_x.w, k));
    vec4 aside = p.z + (vec4(0.0, 1.0, 1.0, 0.0) - part.x) * (slope.x / map_x.w)
        + (vec4(1.0, 1.0, 0.0, 0.0) - part.y) * (slope.y / map_x.w) - map_y.w;
    vec4 lit = vec4(greaterThanEqual(depths, min(aside, 1.0)));
    vec2 mixed = mix(lit.wx, lit.zy, part.x);
    return mix(mixed.x, mixed.y, part.y);
}
#endif

out vec4 light;

void main() {
#if defined(SHADOWED) && !defined(VEIL)
    vec3 across = cross(dFdx(in_map), dFdy(in_map));
    vec2 slope = -across.xy / (across.z == 0.0 ? 1.0 : across.z);
#endif
#ifdef VEIL
    float opacity = opacity_at(uv);
    if (opacity >= rule.x || rule.z == 0.0) discard;
    light = vec4(own_colour() * (rule.w > 1.5 ? 1.0 : on_glass), opacity);
#else
#ifdef CUT
    if (gone(wandered())) discard;
#endif
    vec3 paint = rule.w == 0.0 ? plain.rgb : own_colour();
    vec3 n = normalize(facing);
    if (!gl_FrontFacing) n = plain.w != 0.0 ? -n : -towards.xyz;    // no light inside a solid
    float x = max(dot(n, towards.xyz), 0.0);
#ifdef SHADOWED
    if (x > 0.0) {
        vec3 lift = n * 0.004;          // LIFT_M of shade.py
        vec3 p = in_map + map_x.xyz * lift.x + map_y.xyz * lift.y + map_z * lift.z;
        x *= (sun(p, slope, shears_01.xy, 0.0) + sun(p, slope, shears_01.zw, 1.0)
            + sun(p, slope, shears_23.xy, 2.0) + sun(p, slope, shears_23.zw, 3.0)) / 4.0;
    }
#endif
    light = vec4(paint * (rule.w > 1.5 ? 1.0 : towards.w + (1.0 - towards.w) * x), 1.0);
#endif
}
