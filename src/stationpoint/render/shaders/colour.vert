#version 450 core
// World position (counted from the scene's centre) to clip space; tint from sRGB to linear light.
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 normal;
layout(location = 2) in vec4 tint;  // sRGB; w: 1 gridded, 2 ground, 3 both

uniform mat4 to_clip;
uniform bool tinted;
uniform vec3 clay;          // linear

centroid out vec3 at;
centroid out vec3 facing;
flat out vec3 paint;
flat out int gridded;

vec3 linear(vec3 c) {
    return mix(c / 12.92, pow((c + 0.055) / 1.055, vec3(2.4)), greaterThan(c, vec3(0.04045)));
}

void main() {
    int flags = int(tint.w * 255.0 + 0.5);
    at = position;
    facing = normal;
    paint = (tinted || (flags & 2) != 0) ? linear(tint.rgb) : clay;
    gridded = flags & 1;
    gl_Position = to_clip * vec4(position, 1.0);
}
