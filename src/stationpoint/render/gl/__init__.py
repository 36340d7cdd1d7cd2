"""Pictures through OpenGL."""
