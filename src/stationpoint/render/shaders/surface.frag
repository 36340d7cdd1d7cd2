#version 450 core
in vec3 at;
in vec3 facing;
flat in uvec4 whose;
flat in vec3 from_light;
#ifdef FACTS
in float depth;
layout(location = 1) out float depth_m;
layout(location = 2) out uint id;
#endif
layout(location = 0) out uint surface;   // a normal in 20 bits; a paint's number in 7; 5 by which two surfaces of a paint are told apart

#ifdef OWN
layout(location = 1) out uint own;  // the root of linear own colour in 8 bits a channel; 24 to 31 if it is shown
#endif

// A unit vector on an octahedron, unfolded: two numbers of 10 bits.
uint folded(vec3 n) {
    vec2 p = n.xy / (abs(n.x) + abs(n.y) + abs(n.z));
    if (n.z < 0.0) p = (1.0 - abs(p.yx)) * mix(vec2(-1.0), vec2(1.0), greaterThanEqual(p, vec2(0.0)));
    ivec2 q = ivec2(floor(p * 511.0 + 0.5));
    return uint(q.x & 1023) | uint(q.y & 1023) << 10;
}

void main() {
#ifdef CUT
#ifdef FACTS
    if (gone(wandered())) discard;
#else
    if (gone(vec2(0.0))) discard;
#endif
#endif
#ifdef FACTS
    depth_m = depth;
    id = whose.x;
#endif
    // How far the face's plane is from the centre, in steps of no round size; none on round things.
    int plane = whose.z != 0u ? 0 : int(floor(dot(facing, at) * 28.37 + 0.5));
    uint kind = (whose.x * 37u + uint(plane)) & 31u;
    vec3 back = whose.w != 0u ? -facing : from_light;   // no light inside a solid
    surface = folded(gl_FrontFacing ? facing : back) | whose.y << 20 | kind << 27;
#ifdef OWN
    uvec3 root = uvec3(sqrt(own_colour()) * 255.0 + 0.5);
    own = rule.y == 0.0 ? 0u : root.r | root.g << 8 | root.b << 16 | 255u << 24;
#endif
}
