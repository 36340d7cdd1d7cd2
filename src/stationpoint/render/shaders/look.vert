#version 450 core
// One triangle that covers the picture, half way in depth, and all that a pixel's look needs of the
// camera and the light. Mesa's software driver reads uniforms pixel by pixel in a fragment shader, at a
// dozen times the price of what a vertex hands on.

uniform vec3 origins[3];            // of the rays, at pixel 0, per column, per row; depth 0, from the scene's centre
uniform vec3 directions[3];         // the same; one metre of depth
uniform vec2 size;                  // pixels
uniform vec2 depth_terms;           // as in clip.py
uniform bool tinted;
uniform vec3 towards_light;

out vec3 from;                      // a pixel's ray, through its first sample
out vec3 along;
flat out vec4 right_from;           // what a column more adds to it; w: the first depth term
flat out vec4 right_along;          // w: the second depth term
flat out vec4 down_from;            // the same for a row; w: 1 if tinted
flat out vec4 down_along;           // w: lift_m
flat out vec4 towards;              // w: 4, which the compiler does not know, so that it keeps loops loops

#ifdef SHADOWED
uniform mat4 to_light;              // x and y in the shadow map 0..1, z its depth 0..1
uniform float lift_m;               // a point of a thin thing is looked up so far off its surface
uniform vec2 shears[4];             // shift in the map, 0..1, per unit of its depth

out vec3 map_from;                  // the ray in the light's map
out vec3 map_along;
flat out vec3 map_x;                // columns of the map's matrix
flat out vec3 map_y;
flat out vec3 map_z;
flat out vec4 shears_01;
flat out vec4 shears_23;
#endif

#ifdef SOFT
uniform vec4 about_and_start;       // as in soft.py's Air
uniform vec4 ground_place;
uniform float per_m;
flat out vec4 about;
flat out vec4 ground;
flat out float haze_per_m;
#ifdef SHADOWED
uniform vec2 near_axes[2];
uniform float near_side;
flat out float near_px;
flat out vec4 shear_axes;
#ifdef TWO_MAPS
uniform vec3 far_terms[2];
flat out vec3 far_scale;
flat out vec3 far_start;
#endif
#endif
#endif

void main() {
    vec2 corner = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0);
    vec2 pixel = vec2(0.5 + 0.5 * corner.x, 0.5 - 0.5 * corner.y) * size + PLACE_0;    // rows from the top
    from = origins[0] + origins[1] * pixel.x + origins[2] * pixel.y;
    along = directions[0] + directions[1] * pixel.x + directions[2] * pixel.y;
    right_from = vec4(origins[1], depth_terms.x);
    right_along = vec4(directions[1], depth_terms.y);
    down_from = vec4(origins[2], tinted ? 1.0 : 0.0);
    down_along = vec4(directions[2], 0.0);
    towards = vec4(towards_light, 4.0);
#ifdef SHADOWED
    down_along.w = lift_m;
    map_from = (to_light * vec4(from, 1.0)).xyz;
    map_along = mat3(to_light) * along;
    map_x = to_light[0].xyz;
    map_y = to_light[1].xyz;
    map_z = to_light[2].xyz;
    shears_01 = vec4(shears[0], shears[1]);
    shears_23 = vec4(shears[2], shears[3]);
#endif
#ifdef SOFT
    about = about_and_start;
    ground = ground_place;
    haze_per_m = per_m;
#ifdef SHADOWED
    near_px = near_side;
    shear_axes = vec4(near_axes[0], near_axes[1]);
#ifdef TWO_MAPS
    far_scale = far_terms[0];
    far_start = far_terms[1];
#endif
#endif
#endif
    gl_Position = vec4(corner, 0.5, 1.0);
}
