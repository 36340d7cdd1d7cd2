#version 450 core
// Diffuse light with a soft shadow of fixed directions, and the metre grid. As in shading.py.
centroid in vec3 at;
centroid in vec3 facing;
flat in vec3 paint;
flat in int gridded;

uniform vec3 towards_light;
uniform vec3 light_curve;       // unlit, gain, knee
uniform bool shadowed;
uniform sampler2DArrayShadow suns;
uniform vec2 shears[SUNS];      // shift in the map, 0..1, per unit of its depth
uniform mat4 to_light;          // x and y in the shadow map 0..1, z its depth 0..1
uniform float lift_m;           // a point is looked up so far off its surface
uniform bool grid;
uniform vec3 grid_look;         // share, line m, fade m

out vec4 colour;

float sun(int k, vec3 p) {
    return texture(suns, vec4(p.xy + shears[k] * p.z, float(k), p.z));
}

float sunlight(vec3 p) {
    float sum = 0.0;
    for (int k = 0; k < FIRST_SUNS; k++) sum += sun(k, p);
    if (sum < 0.001 || sum > float(FIRST_SUNS) - 0.001) return sum / float(FIRST_SUNS);
    for (int k = FIRST_SUNS; k < SUNS; k++) sum += sun(k, p);
    return sum / float(SUNS);
}

vec2 lines_up_to(vec2 x) {
    vec2 whole = floor(x);
    return whole * grid_look.y + min(x - whole, vec2(grid_look.y));
}

void main() {
    vec2 wide = max(abs(dFdx(at.xz)) + abs(dFdy(at.xz)), vec2(1e-6));
    vec3 n = normalize(gl_FrontFacing ? facing : -facing);
    float x = max(dot(n, towards_light), 0.0);
    float direct = light_curve.y * x / (x + light_curve.z);
    if (shadowed && x > 0.0) direct *= sunlight((to_light * vec4(at + n * lift_m, 1.0)).xyz);
    vec3 light = paint * (light_curve.x + direct);
    if (grid && gridded != 0 && abs(n.y) > 0.99) {
        vec2 start = at.xz + grid_look.y / 2.0 - wide / 2.0;
        vec2 covered = (lines_up_to(start + wide) - lines_up_to(start)) / wide;
        float share = 1.0 - (1.0 - covered.x) * (1.0 - covered.y);
        float fade = clamp((grid_look.z - max(wide.x, wide.y)) / (grid_look.z * 2.0 / 3.0), 0.0, 1.0);
        light *= mix(1.0, grid_look.x, share * fade * fade * (3.0 - 2.0 * fade));
    }
    light = clamp(light, 0.0, 1.0);
    colour = vec4(mix(light * 12.92, sqrt(light),
                      greaterThan(light, vec3(0.0031308))), 1.0);
}
