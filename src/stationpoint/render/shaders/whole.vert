#version 450 core
layout(location = 0) in vec3 position;
uniform mat4 to_clip;
uniform vec4 bits;
flat out vec4 one;
void main() {
#ifdef HAND_ON
    hand_on();
#endif
    one = bits;
    gl_Position = to_clip * vec4(position, 1.0);
}
