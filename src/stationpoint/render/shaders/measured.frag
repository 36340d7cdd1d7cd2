#version 450 core
in vec3 facing;
flat in vec4 towards;
flat in vec4 plain;
flat in float on_glass;
#ifdef SHADOWED
uniform sampler2DArrayShadow suns;
in vec3 in_map;
flat in vec4 map_x;
flat in vec3 map_y;
flat in vec3 map_z;
flat in vec4 shears_01;
flat in vec4 shears_23;

float sun(vec3 p, vec2 shear, float k) {
    return texture(suns, vec4(p.xy + shear * p.z, k, p.z));
}
#endif

out vec4 light;

void main() {
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
        vec3 lift = n * (plain.w != 0.0 ? map_x.w : 0.004);
        vec3 p = in_map + map_x.xyz * lift.x + map_y * lift.y + map_z * lift.z;
        x *= (sun(p, shears_01.xy, 0.0) + sun(p, shears_01.zw, 1.0)
            + sun(p, shears_23.xy, 2.0) + sun(p, shears_23.zw, 3.0)) / 4.0;
    }
#endif
    light = vec4(paint * (rule.w > 1.5 ? 1.0 : towards.w + (1.0 - towards.w) * x), 1.0);
#endif
}
