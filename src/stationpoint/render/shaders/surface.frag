#version 450 core
flat in uvec4 whose;                // as in surface.glsl
#ifdef FLAT
flat in uvec2 sides;                // the words of front and back
#else
in vec3 facing;
in vec3 at;
flat in vec3 from_light;
#endif
#ifdef FACTS
in float depth;
layout(location = 1) out float depth_m;
layout(location = 2) out uint id;
#endif
layout(location = 0) out uint surface;  // a normal in 20 bits, and its kind: as in surface.glsl

#ifdef OWN
layout(location = 1) out uint own;  // the root of linear own colour in 8 bits a channel; 24 to 31 if it is shown
#endif

void main() {
#ifdef CUT
#ifdef FACTS
    if (gone(wandered())) discard;
#else
    if (gone(vec2(0.0))) discard;
#endif
#endif
#ifdef FACTS
    depth_m = depth;
    id = whose.x;
#endif
#ifdef FLAT
    surface = gl_FrontFacing ? sides.x : sides.y;
#else
    surface = folded(gl_FrontFacing ? facing : back_of(facing, from_light, whose)) | kind(facing, at, whose);
#endif
#ifdef OWN
    uvec3 root = uvec3(sqrt(own_colour()) * 255.0 + 0.5);
    own = rule.y == 0.0 ? 0u : root.r | root.g << 8 | root.b << 16 | 255u << 24;
#endif
}
