#version 450 core
layout(location = 0) in vec3 position;
uniform mat4 to_clip;
invariant gl_Position;  // the depth pass and the colour pass must agree to the bit
void main() {
    gl_Position = to_clip * vec4(position, 1.0);
}
