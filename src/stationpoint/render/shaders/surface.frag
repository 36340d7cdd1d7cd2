#version 450 core
in vec3 facing;
flat in uint paint;
out uvec2 surface;

// A unit vector on an octahedron, unfolded: two numbers of 16 bits.
uint folded(vec3 n) {
    vec2 p = n.xy / (abs(n.x) + abs(n.y) + abs(n.z));
    if (n.z < 0.0) p = (1.0 - abs(p.yx)) * mix(vec2(-1.0), vec2(1.0), greaterThanEqual(p, vec2(0.0)));
    return packSnorm2x16(p);
}

void main() {
    surface = uvec2(folded(gl_FrontFacing ? facing : -facing), paint);
}
