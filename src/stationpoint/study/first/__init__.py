"""The first study of a scene or mesh: what `start` writes."""
