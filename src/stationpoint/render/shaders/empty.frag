#version 450 core
void main() {}
