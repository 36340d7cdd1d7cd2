#version 450 core
// One bit of one byte; the bits of all groups are joined by glLogicOp(GL_OR).
uniform vec4 bits;
out vec4 whole;
void main() {
    whole = bits;
}
