#version 450 core
// A surface in its own colours and the light of measured.py, in one sample a pixel.
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 normal;
layout(location = 2) in uvec4 paint;    // flags: 2 thin, 4 ground

uniform mat4 to_clip;
uniform vec3 towards_light;
uniform vec2 ambients;                  // ambient light; the light on glass
uniform vec3 plains[2];                 // linear colours of what has none: a node, the ground

out vec3 facing;
flat out vec4 towards;                  // handed on: a uniform costs more in a fragment shader (look.vert)
flat out vec4 plain;                    // w: 1 if thin
flat out float on_glass;
#ifdef SHADOWED
uniform mat4 to_light;                  // as in look.vert
uniform vec2 grain;                     // of the map: its side, what is no shadow
uniform vec2 shears[4];
out vec3 in_map;
flat out vec4 map_x;                    // w: grain
flat out vec4 map_y;
flat out vec3 map_z;
flat out vec4 shears_01;
flat out vec4 shears_23;
#endif

void main() {
    hand_on();
    facing = normal;
    towards = vec4(towards_light, ambients.x);
    on_glass = ambients.y;
    plain = vec4(plains[paint.y >> 2 & 1u], float(paint.y >> 1 & 1u));
#ifdef SHADOWED
    in_map = (to_light * vec4(position, 1.0)).xyz;
    map_x = vec4(to_light[0].xyz, grain.x);
    map_y = vec4(to_light[1].xyz, grain.y);
    map_z = to_light[2].xyz;
    shears_01 = vec4(shears[0], shears[1]);
    shears_23 = vec4(shears[2], shears[3]);
#endif
    gl_Position = to_clip * vec4(position, 1.0);
}
