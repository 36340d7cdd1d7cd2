#version 450 core
void main() {
#ifdef CUT
    if (gone(vec2(0.0))) discard;
#endif
}
