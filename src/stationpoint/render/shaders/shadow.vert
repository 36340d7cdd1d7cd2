#version 450 core
// Depth from one of the sun's directions: the light's map, sheared.
layout(location = 0) in vec3 position;
uniform mat4 to_light;
uniform vec2 shear;
void main() {
#ifdef HAND_ON
    hand_on();
#endif
    vec3 p = (to_light * vec4(position, 1.0)).xyz;
    gl_Position = vec4((p.xy + shear * p.z) * 2.0 - 1.0, p.z, 1.0);
}
