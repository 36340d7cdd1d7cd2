#version 450 core
// Glass laid over a finished picture.
layout(location = 0) in vec3 position;
uniform mat4 to_clip;
void main() {
    hand_on();
    gl_Position = to_clip * vec4(position, 1.0);
}
