#version 450 core
in float depth;
flat in uint node;
layout(location = 0) out uint id;
layout(location = 1) out float depth_m;
void main() {
#ifdef CUT
    if (gone(wandered())) discard;
#endif
    id = node;
    depth_m = depth;
}
