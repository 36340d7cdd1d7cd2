// Put before the main of both shaders that draw surfaces: the vertex shader works the words of flat faces
// out, the fragment shader those of others.

// A unit vector on an octahedron, unfolded: two numbers of 10 bits.
uint folded(vec3 n) {
    vec2 p = n.xy / (abs(n.x) + abs(n.y) + abs(n.z));
    if (n.z < 0.0) p = (1.0 - abs(p.yx)) * mix(vec2(-1.0), vec2(1.0), greaterThanEqual(p, vec2(0.0)));
    ivec2 q = ivec2(floor(p * 511.0 + 0.5));
    return uint(q.x & 1023) | uint(q.y & 1023) << 10;
}

// whose: the node's id, its paint, 1 if round, 1 if thin. A paint's number in 7 bits from 20 on, and 5 by
// which two surfaces of a paint are told apart: the node, and how far the face's plane is from the centre, in
// steps of no round size; none on round things.
uint kind(vec3 normal, vec3 at, uvec4 whose) {
    int plane = whose.z != 0u ? 0 : int(floor(dot(normal, at) * 28.37 + 0.5));
    return whose.y << 20 | (whose.x * 37u + uint(plane)) << 27;
}

// What a back shows for its normal: there is no light inside a solid.
vec3 back_of(vec3 normal, vec3 from_light, uvec4 whose) {
    return whose.w != 0u ? -normal : from_light;
}
