"""Optics: pure functions on arrays. The conventions, stated once:

- World: right-handed, metres, +Y up. A camera looks down its own -Z, +X right, +Y up (glTF 2.0).
- Matrices are 4 x 4 float64 for column vectors, row-major in memory. `view` takes world to camera
  space, `projection` takes camera space to clip space (OpenGL, z from -1 to 1 after the divide).
- Pixels: origin at the top-left corner of the picture, y down, pixel centres at .5.
- Screen fractions: pixels over width and height, from the top-left.
- Directions on screen: degrees, 0 right, 90 up, in (-180, 180].
- Depth: metres along the camera's axis (planar), positive in front, for every projection.
- Offsets: fractions of width and height from the picture's centre, right and **up** positive.
- What lies behind a perspective eye has no place on screen: nan, never a plausible number.
"""
