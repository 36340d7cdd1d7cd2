// Put before the main of a fragment shader that draws what lets sight through, or own colours: as in own.py.
#ifdef SAMPLED
sample in vec2 uv;
sample in vec4 tint;
#else
in vec2 uv;
in vec4 tint;
#endif
flat in vec4 rule;
uniform sampler2D picture;

float opacity_at(vec2 at) {
    return tint.a * textureLod(picture, at, 0.0).a;
}

// Whether sight passes, looked up `aside` pixels from the pixel's centre.
bool gone(vec2 aside) {
    return opacity_at(uv + dFdx(uv) * aside.x + dFdy(uv) * aside.y) < rule.x;
}

// Where in a pixel its opacity is looked up.
vec2 wandered() {
    uvec2 pixel = uvec2(gl_FragCoord.xy);
    uvec2 word = uvec2(pixel.x * JITTER_XX + pixel.y * JITTER_XY, pixel.x * JITTER_YX + pixel.y * JITTER_YY);
    return vec2(word >> 8u) / 16777216.0 - 0.5;
}

// Linear own colour: of a copy of the texture as small as the pixel is wide on it.
vec3 own_colour() {
    vec2 size = vec2(textureSize(picture, 0));
    float widest = max(length(dFdx(uv) * size), length(dFdy(uv) * size));
    return tint.rgb * textureLod(picture, uv, log2(max(widest, 1.0))).rgb;
}
