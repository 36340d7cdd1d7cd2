#version 450 core
// One bit of one byte; the bits of all groups are joined by glLogicOp(GL_OR). A uniform, though a vertex hands
// it on cheaper (look.vert): Mesa compiles what sets triangles up anew in each process for each list of things
// handed on, and so shares what it has for shadow maps.
uniform vec4 bits;
out vec4 whole;
void main() {
#ifdef CUT
    if (gone(wandered())) discard;
#endif
    whole = bits;
}
