#version 450 core
// One bit of one byte; the bits of all groups are joined by glLogicOp(GL_OR).
flat in vec4 one;
out vec4 whole;
void main() {
#ifdef CUT
    if (gone(wandered())) discard;
#endif
    whole = one;
}
