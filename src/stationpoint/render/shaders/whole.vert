#version 450 core
layout(location = 0) in vec3 position;
uniform mat4 to_clip;
void main() {
#ifdef HAND_ON
    hand_on();
#endif
    gl_Position = to_clip * vec4(position, 1.0);
}
