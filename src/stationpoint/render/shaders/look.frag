#version 450 core
// Diffuse light with a soft shadow of four fixed directions, and the metre grid; as in shading.py, which
// also gives the constants in capitals.
//
// Works on what surface.frag left, SINGLE: at each pixel's middle, else in four samples a pixel. Then every
// pixel is first shaded as if it showed its first sample's surface alone; where it shows several, the depth
// written lets a second pass (EDGES) through, which shades the others. A software driver runs both sides of
// every branch; what it does skip are pixels that fail the depth test, and loops that end early.

#ifdef SINGLE
uniform usampler2D surfaces;        // 0 where nothing is
uniform sampler2D depths;           // 1 near
#else
uniform usampler2DMS surfaces;
uniform sampler2DMS depths;
#endif
#ifdef OWN_LOOK
uniform usampler2DMS owns;          // as in surface.frag
uint own;                           // of the sample that is shaded
#endif
uniform uint palette[128];          // by number: the root of linear light in 8 bits a channel; 24 gridded, 25 thin, 26 ground, 28 filled

in vec3 from;                       // as in look.vert
in vec3 along;
flat in vec4 right_from;
flat in vec4 right_along;
flat in vec4 down_from;
flat in vec4 down_along;
flat in vec4 towards;
#ifdef SHADOWED
uniform sampler2DArrayShadow suns;
in vec3 map_from;
in vec3 map_along;
flat in vec3 map_x;
flat in vec3 map_y;
flat in vec3 map_z;
flat in vec4 shears_01;
flat in vec4 shears_23;
#endif
#ifdef SOFT
flat in vec4 about;                 // what the picture is about; w: where haze begins, depth in metres
flat in vec4 ground;                // as in soft.py's Air
flat in float haze_per_m;
#ifdef SHADOWED
uniform sampler2DArray near_suns;
flat in float near_px;              // its side
flat in vec4 shear_axes;            // of near_suns: two vectors in the map per unit of its depth
#ifdef TWO_MAPS
flat in vec3 far_scale;             // from near_suns' map to suns'
flat in vec3 far_start;
#endif
#endif
layout(location = 1) out uint which;    // of which surface a pixel is, 0 for several, 255 for none
#endif

layout(location = 0) out vec4 colour;

ivec2 normal_of(uint surface) {
    return ivec2(int(surface << 22), int(surface << 12)) >> 22;
}

vec3 unfolded(uint surface) {
    vec2 p = vec2(normal_of(surface)) / 511.0;
    vec3 n = vec3(p, 1.0 - abs(p.x) - abs(p.y));
    float fold = max(-n.z, 0.0);
    n.xy += mix(vec2(fold), vec2(-fold), greaterThanEqual(n.xy, vec2(0.0)));
    return normalize(n);
}

#ifdef SOFT
#ifdef SHADOWED
ivec2 spread(ivec2 place) {
    return ((place & 1) << 1) + (place >> 1 & 1);
}

// Of the sun in a column and row of its square of directions, as in soft.py.
float sun(vec3 p, ivec2 place) {
#ifdef FEW
    vec2 at = vec2(place >> ivec2(1, 0)) - 0.5;
    int layer = (place.x >> 1) + 2 * place.y;
#else
    vec2 at = (vec2(place) + (vec2(place.y, spread(place).x) + 0.5) / vec2(2.0, 4.0)) * vec2(0.5, 1.0) - 1.0;
    int layer = place.x + 4 * place.y;
#endif
    at *= sqrt(1.0 - 0.5 * at.yx * at.yx);
    vec2 shear = shear_axes.xy * at.x + shear_axes.zw * at.y;
    vec2 moved = p.xy + shear * p.z;
    vec2 out_of = abs(moved - 0.5);
    ivec2 texel = ivec2(clamp(moved, 0.0, 0.9999) * near_px);
    float blocked = texelFetch(near_suns, ivec3(texel, layer), 0).r;
    float near = float(max(out_of.x, out_of.y) > 0.5 || blocked >= min(p.z, 1.0));
#ifdef TWO_MAPS
    vec3 q = p * far_scale + far_start;
    int k = (place.x >> 1) + 2 * place.y;
    vec2 far_shear = k == 0 ? shears_01.xy : k == 1 ? shears_01.zw : k == 2 ? shears_23.xy : shears_23.zw;
    float far = texture(suns, vec4(q.xy + far_shear * q.z, float(k), q.z));
    out_of = abs(p.xy - 0.5);
    return max(out_of.x, out_of.y) < 0.47 && abs(p.z - 0.5) < 0.5 ? near : far;
#else
    return near;
#endif
}

#ifdef EDGES
// Two suns across the disc from each other.
float sunlight(vec3 p) {
    ivec2 place = ivec2(gl_FragCoord.xy) >> 1 & 1;
    float sum = 0.0;
    for (int k = 0; k < int(towards.w) / 2; k++) sum += sun(p, ivec2(place.x + 2 * (k ^ place.y), k));
    return sum / 2.0;
}
#else
float sunlight(vec3 p) {
    ivec2 place = ivec2(gl_FragCoord.xy) & 3;
    int doubled = (((place.y ^ place.y >> 1) & 1) << 1) + (place.y >> 1);
    return sun(p, spread(place.x ^ ivec2(place.y, doubled)) >> ivec2(0, 1));
}
#endif
#endif

vec3 sky(vec3 way) {
    float share = 1.0 - clamp(way.y * inversesqrt(dot(way, way)) / SKY_SINE, 0.0, 1.0);
    return mix(ZENITH, HORIZON, share * share);
}
#elif defined(SHADOWED)
float sun(vec3 p, int k) {
    vec2 shear = k == 0 ? shears_01.xy : k == 1 ? shears_01.zw : k == 2 ? shears_23.xy : shears_23.zw;
    return texture(suns, vec4(p.xy + shear * p.z, float(k), p.z));
}

// Share of the sun's directions that reach a point of the light's map, 0..1.
#ifdef EDGES
float sunlight(vec3 p, bool asked) {
    float sum = 0.0;
    for (int k = 0; k < int(towards.w); k++) sum += sun(p, k);
    return sum / 4.0;
}
#else
// The sum over a square of four pixels. Every pixel must come by the derivatives, so no branches.
float with_neighbours(float value) {
    vec2 side = 1.0 - 2.0 * vec2(ivec2(gl_FragCoord.xy) & 1);
    value += value + side.x * dFdxFine(value);
    return value + value + side.y * dFdyFine(value);
}

// Four neighbours ask one of them each; only where they disagree does each ask all. One loop, so that
// the texture is read in one place: first its own, then all.
float sunlight(vec3 p, bool asked) {
    int own = (int(gl_FragCoord.x) & 1) + 2 * (int(gl_FragCoord.y) & 1);
    float sum = 0.0;
    for (int turn = 0; turn <= int(towards.w); turn++) {
        sum += sun(p, turn == 0 ? own : turn - 1);
        if (turn == 0) {
            float quad = with_neighbours(sum);
            sum = asked && quad > 0.001 && quad < 3.999 ? 0.0 : quad;
            if (sum == quad) break;
        }
    }
    return sum / 4.0;
}
#endif
#endif

vec2 lines_up_to(vec2 x) {
    vec2 whole = floor(x);
    return whole * LINE_M + min(x - whole, vec2(LINE_M));
}

float lines(vec2 at, vec2 wide) {
    vec2 start = at + LINE_M / 2.0 - wide / 2.0;
    vec2 covered = (lines_up_to(start + wide) - lines_up_to(start)) / wide;
    float fade = clamp((FADE_M - max(wide.x, wide.y)) / (FADE_M * 2.0 / 3.0), 0.0, 1.0);
    return (1.0 - (1.0 - covered.x) * (1.0 - covered.y)) * fade * fade * (3.0 - 2.0 * fade);
}

// sRGB 0..1 from the root of linear light 0..1.
vec3 coded(vec3 a) {
    return clamp(((((CODED_5 * a + CODED_4) * a + CODED_3) * a + CODED_2) * a + CODED_1) * a + CODED_0, 0.0, 1.0);
}

// The look of a surface `aside` pixels from the pixel's first sample. SOFT: w is what its shadow leaves of
// it.
#ifdef SOFT
vec4 shaded(uint surface, float near, vec2 aside) {
#else
vec3 shaded(uint surface, float near, vec2 aside) {
#endif
    vec3 n = unfolded(surface);
    uint word = palette[surface >> 20 & 127u];
#ifdef PARALLEL
    float depth = (right_along.w - near) / right_from.w;
#else
    float depth = right_along.w / (near + right_from.w);
#endif
    vec3 way = along, start = from;
#ifdef EDGES
    way += right_along.xyz * aside.x + down_along.xyz * aside.y;
    start += right_from.xyz * aside.x + down_from.xyz * aside.y;
#endif
#ifdef SOFT
    float x = dot(n, towards.xyz), sunny = 1.0;
    float wrap = max((x + WRAP) / (1.0 + WRAP), 0.0), around = UNLIT + UP * n.y + FILL * (x - FILL_FROM);
    float direct = SOFT_GAIN * wrap * wrap / (wrap * wrap + SOFT_KNEE);
    float hidden = clamp(x / GRAZED, 0.0, 1.0);
    hidden = direct * hidden * hidden * (3.0 - 2.0 * hidden);
#else
    float x = max(dot(n, towards.xyz), 0.0);
    float direct = GAIN * x / (x + KNEE);
#endif
#ifdef SHADOWED
    bool thin = (word >> 25 & 1u) != 0u;
#ifdef EDGES
    vec3 point = start + way * depth;
    vec3 in_map = map_from + map_along * depth;
    point -= from + along * depth;
    in_map += map_x * point.x + map_y * point.y + map_z * point.z;
#else
    vec3 in_map = map_from + map_along * depth;
#endif
    vec3 lift = n * (thin ? down_along.w : 0.004);
    in_map += map_x * lift.x + map_y * lift.y + map_z * lift.z;
#ifdef SOFT
    sunny = sunlight(in_map);
#else
    direct *= sunlight(in_map, x > 0.0);
#endif
#endif
    vec3 paint = vec3(word & 255u, word >> 8 & 255u, word >> 16 & 255u) / 255.0;
    if (down_from.w == 0.0 && (word >> 26 & 1u) == 0u) paint = CLAY;
#ifdef OWN_LOOK
    bool is_own = own >> 24 != 0u;
    if (is_own) paint = vec3(own & 255u, own >> 8 & 255u, own >> 16 & 255u) / 255.0;
#else
    const bool is_own = false;
#endif
#ifdef SOFT
    vec3 there = start + way * depth, apart = there - about.xyz;
    float high = apart.y / RISE_M, low = 1.0 - min(abs(dot(n, way)) * inversesqrt(dot(way, way)), 1.0);
    float light = (1.0 - FALL_OFF * min(log2(1.0 + dot(apart, apart) / (FALL_OFF_M * FALL_OFF_M)), 8.0))
                * (1.0 + RISE * high / (1.0 + abs(high))) * (1.0 + SHEEN * low * low * low);
#else
    float light = UNLIT + direct;
#endif
#ifdef GRID
    if (!is_own && (word >> 24 & 1u) != 0u && abs(n.y) > 0.99) {
        vec2 at = start.xz + way.xz * depth;
        vec3 slide = way / dot(n, way);         // from where a neighbour's ray is to the surface
        vec3 right = right_from.xyz + right_along.xyz * depth, down = down_from.xyz + down_along.xyz * depth;
        right -= slide * dot(n, right);
        down -= slide * dot(n, down);
        vec2 wide = max(abs(right.xz) + abs(down.xz), vec2(1e-6));
        light *= mix(1.0, LINE_SHARE, lines(at, wide));
    }
#endif
#ifdef SOFT
    float deep = max(depth - about.w, 0.0) * haze_per_m;
    float haze = 1.0 - exp2(-deep * deep);
    vec2 out_of = abs(there.xz - ground.xy) * ground.zw;
    float fade = clamp((max(out_of.x, out_of.y) - FADE_FROM) / (1.0 - FADE_FROM), 0.0, 1.0);
    fade *= fade * (3.0 - 2.0 * fade);
    haze = max(haze, (word >> 26 & 1u) != 0u ? fade : 0.0);
    float filled = !is_own && down_from.w != 0.0 && (word >> 28 & 1u) != 0u ? SUBJECT_FILL : 0.0;
    vec2 levels = mix(light * (around + direct - vec2(0.0, hidden)), vec2(1.0), filled);
    vec3 lit = mix(coded(min(paint * sqrt(levels.x), 1.0)), HORIZON, haze);
    vec3 dark = mix(coded(min(paint * sqrt(levels.y), 1.0)), HORIZON, haze);
    return vec4(lit, 1.0 - (1.0 - (dark.g + CODE_FOOT) / (lit.g + CODE_FOOT)) * (1.0 - sunny));
#else
    return coded(min(paint * sqrt(light), 1.0));
#endif
}

bool differ(uint a, uint b) {
    ivec2 bend = abs(normal_of(a) - normal_of(b));
    return (a ^ b) >> 20 != 0u || max(bend.x, bend.y) > 61;
}

#ifdef EDGES
#ifdef SOFT
#define FIRST 0
#else
#define FIRST 1
#endif
// The surfaces of a pixel other than its first sample's, which is drawn already: one after the other, each
// shaded once, at its first sample, and counted as often as it has samples. Blended over the first.
void main() {
    ivec2 place = ivec2(gl_FragCoord.xy);
    uint all[4];
    int left = 0;       // a bit for each sample that is still to be counted
    for (int k = 0; k < 4; k++) {
        all[k] = texelFetch(surfaces, place, k).x;
        left |= int(differ(all[0], all[k])) << k;
    }
    vec3 sum = vec3(0.0);
    float count = 0.0, dark = 0.0;
#ifdef SOFT
    left = 15;          // the first pass asked one sun alone
#endif
    for (int turn = FIRST; turn < int(towards.w); turn++) {
        if (left == 0) break;
        int k = findLSB(left);
        uint one = k == 0 ? all[0] : k == 1 ? all[1] : k == 2 ? all[2] : all[3];
        vec2 aside = (k == 0 ? PLACE_0 : k == 1 ? PLACE_1 : k == 2 ? PLACE_2 : PLACE_3) - PLACE_0;
        float near = texelFetch(depths, place, k).r;
        float alike = 0.0;
        for (int j = FIRST; j < 4; j++) {
            bool same = (left >> j & 1) != 0 && !differ(one, all[j]);
            alike += float(same);
            left &= ~(int(same) << j);
        }
#ifdef OWN_LOOK
        own = texelFetch(owns, place, k).x;
#endif
#ifdef SOFT
        vec4 light = shaded(one, near, aside);
        if (one == 0u) light = vec4(sky(along), 1.0);
        sum += alike * light.rgb;
        dark += alike * (light.g + CODE_FOOT) * light.a;
#else
        vec3 light = shaded(one, near, aside);
        sum += alike * (one == 0u ? SKY : light);
#endif
        count += alike;
    }
#ifdef SOFT
    colour = vec4(sum / 4.0, dark / (sum.g + 4.0 * CODE_FOOT));
    which = 0u;
#else
    colour = vec4(sum / max(count, 1.0), count / 4.0);
#endif
}
#else
void main() {
    ivec2 place = ivec2(gl_FragCoord.xy);
    uint first = texelFetch(surfaces, place, 0).x;
#ifdef SINGLE
    const bool edge = false;
#else
    bool edge = differ(first, texelFetch(surfaces, place, 1).x) || differ(first, texelFetch(surfaces, place, 2).x)
             || differ(first, texelFetch(surfaces, place, 3).x);
    gl_FragDepth = edge ? 0.0 : 1.0;
#endif
    float near = texelFetch(depths, place, 0).r;
#ifdef OWN_LOOK
    own = texelFetch(owns, place, 0).x;
#endif
#ifdef SOFT
    vec4 light = shaded(first, near, vec2(0.0));
    colour = first == 0u ? vec4(sky(along), 1.0) : light;
    uint word = first >> 20;
    which = edge ? 0u : first == 0u ? 255u : 1u + (word * 167u >> 3) % 254u;
#else
    vec3 light = shaded(first, near, vec2(0.0));
    colour = vec4(first == 0u ? SKY : light, 1.0);   // by the word: plain light asks for no depth
#endif
}
#endif
