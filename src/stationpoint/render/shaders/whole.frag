#version 450 core
// One bit of one byte; the bits of all groups are joined by glLogicOp(GL_OR).
flat in vec4 one;
out vec4 whole;
void main() {
    whole = one;
}
