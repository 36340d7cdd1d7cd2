#version 450 core
in float depth;
flat in uint node;
out uvec2 facts;
void main() {
    facts = uvec2(node, floatBitsToUint(depth));
}
