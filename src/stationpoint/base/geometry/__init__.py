"""One function for each question of plane, pixels, triangles and nearest points."""
