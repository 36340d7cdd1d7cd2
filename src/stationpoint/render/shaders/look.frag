#version 450 core
// Diffuse light with a soft shadow of fixed directions, and the metre grid; as in shading.py.
//
// Works on what surface.frag left in four samples a pixel. Every pixel is first shaded as if it showed
// its first sample's surface alone; where it shows several, the depth written lets a second pass
// (EDGES) through, which shades the others. A software driver runs both sides of every branch; what
// it does skip are pixels that fail the depth test, and loops that end early.

uniform usampler2DMS surfaces;
uniform sampler2DMS depths;         // 1 near, 0 where nothing is
uniform vec2 sample_places[4];      // in the pixel, from its centre, rows downwards
uniform vec3 origins[3];            // at pixel 0, per column, per row; depth 0, from the scene's centre
uniform vec3 directions[3];         // the same; one metre of depth
uniform vec2 depth_terms;           // as in clip.py
uniform vec3 sky;                   // sRGB 0..1
uniform bool tinted;
uniform vec3 clay;                  // the root of linear light
uniform vec3 code[2];               // of the polynomial from there to sRGB
uniform vec3 towards_light;
uniform vec3 light_curve;           // unlit, gain, knee
uniform vec3 grid_look;             // share, line m, fade m
#ifdef SHADOWED
uniform sampler2DArrayShadow suns;
uniform vec2 shears[SUNS];          // shift in the map, 0..1, per unit of its depth
uniform mat4 to_light;              // x and y in the shadow map 0..1, z its depth 0..1
uniform int every_sun;              // SUNS; not known to the compiler, so that it keeps the loop a loop
uniform float lift_m;               // a point of a thin thing is looked up so far off its surface
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
float sun(vec3 p, int k) {
    return texture(suns, vec4(p.xy + shears[k] * p.z, float(k), p.z));
}

// Share of the sun's directions that reach a point of the light's map, 0..1.
#ifdef EDGES
float sunlight(vec3 p, int part, bool asked) {
    float sum = 0.0;
    for (int k = 0; k < SUNS; k++) sum += sun(p, k);
    return sum / float(SUNS);
}
#else
// The sum over a square of four pixels. Every pixel must come by the derivatives, so no branches.
float with_neighbours(float value) {
    vec2 side = 1.0 - 2.0 * vec2(ivec2(gl_FragCoord.xy) & 1);
    value += value + side.x * dFdxFine(value);
    return value + value + side.y * dFdyFine(value);
}

// Four neighbours ask a quarter of them each; only where they disagree does each ask all. One loop,
// so that the texture is read in one place: first its own quarter, then all.
float sunlight(vec3 p, int part, bool asked) {
    const int own = SUNS / 4;
    float sum = 0.0;
    for (int turn = 0; turn < every_sun + own; turn++) {
        sum += sun(p, turn < own ? part + 4 * turn : turn - own);
        if (turn == own - 1) {
            float quad = with_neighbours(sum);
            sum = asked && quad > 0.001 && quad < float(SUNS) - 0.001 ? 0.0 : quad;
            if (sum == quad) break;
        }
    }
    return sum / float(SUNS);
}
#endif
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

// sRGB 0..1 from the root of linear light 0..1, by shading.py's polynomial.
vec3 coded(vec3 a) {
    vec3 high = (code[0].x * a + code[0].y) * a + code[0].z;
    return clamp(((high * a + code[1].x) * a + code[1].y) * a + code[1].z, 0.0, 1.0);
}

vec3 shaded(uvec2 surface, float near, vec2 pixel, int part) {
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
    bool thin = (surface.y >> 25 & 1u) != 0u;
    direct *= sunlight((to_light * vec4(at + n * (thin ? lift_m : 0.004), 1.0)).xyz, part, x > 0.0);
#endif
    vec3 paint = vec3(surface.y & 255u, surface.y >> 8 & 255u, surface.y >> 16 & 255u) / 255.0;
    if (!tinted && (surface.y >> 26 & 1u) == 0u) paint = clay;
    float light = light_curve.x + direct;
#ifdef GRID
    if ((surface.y >> 24 & 1u) != 0u && abs(n.y) > 0.99) {
        vec3 slide = along / dot(n, along);     // from where a neighbour's ray is to the surface
        vec3 right = origins[1] + directions[1] * depth, down = origins[2] + directions[2] * depth;
        right -= slide * dot(n, right);
        down -= slide * dot(n, down);
        vec2 wide = max(abs(right.xz) + abs(down.xz), vec2(1e-6));
        light *= mix(1.0, grid_look.x, lines(at.xz, wide));
    }
#endif
    return coded(min(paint * sqrt(light), 1.0));
}

bool differ(uvec2 a, uvec2 b) {
    vec2 bend = abs(unpackSnorm2x16(a.x) - unpackSnorm2x16(b.x));
    return a.y != b.y || max(bend.x, bend.y) > 0.12;
}

#ifdef EDGES
// The surfaces of a pixel other than its first sample's, which is drawn already: one after the other, each
// shaded once, at its first sample, and counted as often as it has samples. Blended over the first.
void main() {
    ivec2 place = ivec2(gl_FragCoord.xy);
    uvec2 all[4];
    int left = 0;       // a bit for each sample that is still to be counted
    for (int k = 0; k < 4; k++) {
        all[k] = texelFetch(surfaces, place, k).xy;
        left |= int(differ(all[0], all[k])) << k;
    }
    vec3 sum = vec3(0.0);
    float count = 0.0;
    for (int turn = 0; turn < 3; turn++) {
        if (left == 0) break;
        int k = findLSB(left);
        uvec2 one = k == 1 ? all[1] : k == 2 ? all[2] : all[3];
        float near = texelFetch(depths, place, k).r;
        float alike = 0.0;
        for (int j = 1; j < 4; j++) {
            bool same = (left >> j & 1) != 0 && !differ(one, all[j]);
            alike += float(same);
            left &= ~(int(same) << j);
        }
        vec3 light = shaded(one, near, gl_FragCoord.xy + sample_places[k], 0);
        sum += alike * (near == 0.0 ? sky : light);
        count += alike;
    }
    colour = vec4(sum / max(count, 1.0), count / 4.0);
}
#else
void main() {
    ivec2 place = ivec2(gl_FragCoord.xy);
    uvec2 first = texelFetch(surfaces, place, 0).xy;
    bool edge = differ(first, texelFetch(surfaces, place, 1).xy) || differ(first, texelFetch(surfaces, place, 2).xy)
             || differ(first, texelFetch(surfaces, place, 3).xy);
    gl_FragDepth = edge ? 0.0 : 1.0;
    float near = texelFetch(depths, place, 0).r;
    vec3 light = shaded(first, near, gl_FragCoord.xy + sample_places[0], (place.x & 1) + 2 * (place.y & 1));
    colour = vec4(near == 0.0 ? sky : light, 1.0);
}
#endif
