#version 450 core
// What of a surface its look needs: the normal and the paint; the depth buffer keeps where it is. FACTS: also
// depth in metres along the camera's axis.
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 normal;
layout(location = 2) in uvec4 paint;    // its number; flags: 2 thin, 8 round
layout(location = 3) in uint id;

uniform mat4 to_clip;
uniform vec3 towards_light;

#ifdef FACTS
uniform vec4 axis;                      // depth = axis . (position, 1)
out float depth;
#endif
flat out uvec4 whose;                   // as in surface.glsl
#ifdef FLAT
flat out uvec2 sides;                   // what surface.frag leaves of a face's front and back
#else
out vec3 facing;
out vec3 at;
flat out vec3 from_light;               // handed on: a uniform costs more in a fragment shader (look.vert)
#endif

void main() {
#ifdef HAND_ON
    hand_on();
#endif
    whose = uvec4(id, paint.x, paint.y >> 3 & 1u, paint.y >> 1 & 1u);
#ifdef FACTS
    depth = dot(axis, vec4(position, 1.0));
#endif
#ifdef FLAT
    sides = uvec2(folded(normal), folded(back_of(normal, -towards_light, whose))) | kind(normal, position, whose);
#else
    facing = normal;
    at = position;
    from_light = -towards_light;
#endif
    gl_Position = to_clip * vec4(position, 1.0);
}
