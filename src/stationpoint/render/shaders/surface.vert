#version 450 core
// What of a surface its look needs: the normal and the tint; the depth buffer keeps where it is.
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 normal;
layout(location = 2) in vec4 tint;  // sRGB; w: 1 gridded, 2 ground, 4 round, 8 not thin
layout(location = 3) in uint id;

uniform mat4 to_clip;
uniform vec3 towards_light;

out vec3 at;
out vec3 facing;
flat out uint paint;                // the root of linear light, 8 bits a channel; bits 24: gridded, 25: thin, 26: ground
flat out uvec2 whose;               // the node's id, 1 if round
flat out vec3 from_light;           // handed on: a uniform costs more in a fragment shader (look.vert)

vec3 linear(vec3 c) {
    return mix(c / 12.92, pow((c + 0.055) / 1.055, vec3(2.4)), greaterThan(c, vec3(0.04045)));
}

void main() {
    uint flags = uint(tint.w * 255.0 + 0.5);
    uvec3 root = uvec3(sqrt(linear(tint.rgb)) * 255.0 + 0.5);
    paint = root.r | root.g << 8 | root.b << 16 | (flags & 1u) << 24 | (~flags >> 3 & 1u) << 25 | (flags >> 1 & 1u) << 26;
    whose = uvec2(id, flags >> 2 & 1u);
    from_light = -towards_light;
    at = position;
    facing = normal;
    gl_Position = to_clip * vec4(position, 1.0);
}
