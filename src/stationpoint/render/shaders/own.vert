// Put before the main of a vertex shader that draws what lets sight through, or own colours.
layout(location = 4) in vec2 place_on_texture;
layout(location = 5) in vec4 own_tint;      // factor times vertex colour, linear, and opacity
layout(location = 6) in vec4 own_rule;      // hides from that opacity on; 1 if shown in own colours; 1 if blended; 1 if it has some, 2 if unlit
#ifdef SAMPLED
sample out vec2 uv;
sample out vec4 tint;
#else
out vec2 uv;
out vec4 tint;
#endif
flat out vec4 rule;
void hand_on() {
    uv = place_on_texture;
    tint = own_tint;
    rule = own_rule;
}
