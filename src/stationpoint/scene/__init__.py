"""Scenes: geometry from TOML solids and imported meshes, and edited copies of it."""
