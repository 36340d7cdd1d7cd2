#version 450 core
// Diffuse light with a soft shadow of fixed directions, and the metre grid; as in shading.py.
//
// Works on what surface.frag left in four samples a pixel: shaded once where they show one surface,
// else one by one. Loops that end early are the branches that a software driver really skips.

uniform usampler2DMS surfaces;
uniform sampler2DMS depths;         // 1 near, 0 where nothing is
uniform vec2 sample_places[4];      // in the pixel, from its centre, rows downwards
uniform vec3 origins[3];            // at pixel 0, per column, per row; depth 0, from the scene's centre
uniform vec3 directions[3];         // the same; one metre of depth
uniform vec2 depth_terms;           // as in clip.py
uniform vec2 one_surface;           // depths that differ by less (relative, absolute) may be one surface
uniform vec3 sky;                   // sRGB 0..1
uniform vec3 towards_light;
uniform vec3 light_curve;           // unlit, gain, knee
uniform vec3 grid_look;             // share, line m, fade m
#ifdef SHADOWED
uniform sampler2DArrayShadow suns;
uniform vec2 shears[SUNS];          // shift in the map, 0..1, per unit of its depth
uniform mat4 to_light;              // x and y in the shadow map 0..1, z its depth 0..1
uniform float lift_m;               // a point is looked up so far off its surface
#endif

out vec4 colour;

vec3 unfolded(uint word) {
    vec2 p = unpackSnorm2x16(word);
    vec3 n = vec3(p, 1.0 - abs(p.x) - abs(p.y));
    float fold = max(-n.z, 0.0);
    n.xy += mix(vec2(fold), vec2(-fold), greaterThanEqual(n.xy, vec2(0.0)));
    return normalize(n);
}

#ifdef SHADOWED
float sunlight(vec3 p, int most) {
    float sum = 0.0;
    int k = 0;
    while (k < most) {
        sum += texture(suns, vec4(p.xy + shears[k] * p.z, float(k), p.z));
        k++;
        if (k == FIRST_SUNS && (sum < 0.001 || sum > float(FIRST_SUNS) - 0.001)) break;
    }
    return sum / float(max(k, 1));
}
#endif

vec2 lines_up_to(vec2 x) {
    vec2 whole = floor(x);
    return whole * grid_look.y + min(x - whole, vec2(grid_look.y));
}

float lines(vec2 at, vec2 wide) {
    vec2 start = at + grid_look.y / 2.0 - wide / 2.0;
    vec2 covered = (lines_up_to(start + wide) - lines_up_to(start)) / wide;
    float fade = clamp((grid_look.z - max(wide.x, wide.y)) / (grid_look.z * 2.0 / 3.0), 0.0, 1.0);
    return (1.0 - (1.0 - covered.x) * (1.0 - covered.y)) * fade * fade * (3.0 - 2.0 * fade);
}

vec3 shaded(uvec2 surface, float near, vec2 pixel) {
    vec3 n = unfolded(surface.x);
    #ifdef PARALLEL
    float depth = (depth_terms.y - near) / depth_terms.x;
#else
    float depth = depth_terms.y / (near + depth_terms.x);
#endif
    vec3 along = directions[0] + directions[1] * pixel.x + directions[2] * pixel.y;
    vec3 at = origins[0] + origins[1] * pixel.x + origins[2] * pixel.y + along * depth;
    float x = max(dot(n, towards_light), 0.0);
    float direct = light_curve.y * x / (x + light_curve.z);
#ifdef SHADOWED
    direct *= sunlight((to_light * vec4(at + n * lift_m, 1.0)).xyz, x > 0.0 ? SUNS : 0);
#endif
    vec3 paint = vec3(surface.y & 1023u, surface.y >> 10 & 1023u, surface.y >> 20 & 1023u) / 1023.0;
    vec3 light = paint * paint * (light_curve.x + direct);
#ifdef GRID
    if (surface.y >> 30 != 0u && abs(n.y) > 0.99) {
        vec3 slide = along / dot(n, along);     // from where a neighbour's ray is to the surface
        vec3 right = origins[1] + directions[1] * depth, down = origins[2] + directions[2] * depth;
        right -= slide * dot(n, right);
        down -= slide * dot(n, down);
        vec2 wide = max(abs(right.xz) + abs(down.xz), vec2(1e-6));
        light *= mix(1.0, grid_look.x, lines(at.xz, wide));
    }
#endif
    light = clamp(light, 0.0, 1.0);
    return mix(light * 12.92, 1.055 * pow(light, vec3(1.0 / 2.4)) - 0.055, greaterThan(light, vec3(0.0031308)));
}

void main() {
    ivec2 place = ivec2(gl_FragCoord.xy);
    uvec2 first = texelFetch(surfaces, place, 0).xy;
    vec4 near = vec4(texelFetch(depths, place, 0).r, texelFetch(depths, place, 1).r,
                     texelFetch(depths, place, 2).r, texelFetch(depths, place, 3).r);
    bool one = first == texelFetch(surfaces, place, 1).xy && first == texelFetch(surfaces, place, 2).xy
            && first == texelFetch(surfaces, place, 3).xy;
    float low = min(min(near.x, near.y), min(near.z, near.w));
    float high = max(max(near.x, near.y), max(near.z, near.w));
    one = one && high - low <= one_surface.x * high + one_surface.y;
    int todo = high == 0.0 ? 0 : one ? 1 : 4;
    vec3 sum = vec3(0.0);
    for (int k = 0; k < todo; k++) {
        vec2 within = one ? vec2(0.0) : sample_places[k];
        float at = one ? dot(near, vec4(0.25)) : near[k];
        uvec2 surface = texelFetch(surfaces, place, k).xy;
        sum += at == 0.0 ? sky : shaded(surface, at, gl_FragCoord.xy + within);
    }
    colour = vec4(todo == 0 ? sky : sum / float(max(todo, 1)), 1.0);
}
