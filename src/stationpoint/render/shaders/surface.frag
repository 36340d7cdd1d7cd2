#version 450 core
in vec3 at;
in vec3 facing;
flat in uint paint;
flat in uvec2 whose;
flat in vec3 from_light;
out uvec2 surface;  // a normal; a tint, and 5 bits by which two surfaces of a kind are told apart

// A unit vector on an octahedron, unfolded: two numbers of 15 bits.
uint folded(vec3 n) {
    vec2 p = n.xy / (abs(n.x) + abs(n.y) + abs(n.z));
    if (n.z < 0.0) p = (1.0 - abs(p.yx)) * mix(vec2(-1.0), vec2(1.0), greaterThanEqual(p, vec2(0.0)));
    return packSnorm2x16(p);
}

void main() {
    // How far the face's plane is from the centre, in steps of no round size; none on round things.
    int plane = whose.y != 0u ? 0 : int(floor(dot(facing, at) * 28.37 + 0.5));
    uint kind = (whose.x * 37u + uint(plane)) & 31u;
    vec3 back = (paint >> 25 & 1u) != 0u ? -facing : from_light;  // no light inside a solid
    surface = uvec2(folded(gl_FrontFacing ? facing : back), paint | kind << 27);
}
