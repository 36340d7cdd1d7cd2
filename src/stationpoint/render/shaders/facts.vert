#version 450 core
// Depth in metres along the camera's axis, and the node's id.
layout(location = 0) in vec3 position;
layout(location = 3) in uint id;
uniform mat4 to_clip;
uniform vec4 axis;      // depth = axis . (position, 1)
out float depth;
flat out uint node;
void main() {
#ifdef HAND_ON
    hand_on();
#endif
    depth = dot(axis, vec4(position, 1.0));
    node = id;
    gl_Position = to_clip * vec4(position, 1.0);
}
