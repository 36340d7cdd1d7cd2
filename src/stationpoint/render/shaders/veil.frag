#version 450 core
#ifdef SINGLE
uniform sampler2D depths;       // 1 near
#define SAMPLES 1
#else
uniform sampler2DMS depths;
#define SAMPLES 4
#endif
uniform bool in_own;
uniform vec4 veil;              // sRGB of glass in clay; w: the light on glass in its own colours
out vec4 colour;
void main() {
    float opacity = opacity_at(uv);
    if (opacity >= rule.x || rule.z == 0.0) discard;
    float seen = 0.0;
    for (int k = 0; k < SAMPLES; k++) seen += float(gl_FragCoord.z > texelFetch(depths, ivec2(gl_FragCoord.xy), k).r);
    vec3 light = tint.rgb * textureLod(picture, uv, 0.0).rgb * veil.w;
    vec3 coded = mix(1.055 * pow(light, vec3(1.0 / 2.4)) - 0.055, light * 12.92, lessThanEqual(light, vec3(0.0031308)));
    colour = vec4(in_own && rule.y != 0.0 ? coded : veil.rgb, opacity * seen / float(SAMPLES));
}
