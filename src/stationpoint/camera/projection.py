"""Projection matrices: perspective, orthographic, oblique; lens shift; a window on a picture.

Perspective and orthographic: glTF 2.0, section 3.10.3 "Projection Matrices". Lens shift is the
off-axis frustum of R. Kooima, "Generalized perspective projection". Oblique: the receding axis is
drawn at an angle with a ratio (cavalier 1, cabinet 1/2), geometry.
"""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.float64]


def perspective(
    focal_over_width: float,
    aspect: float,
    near_m: float,
    far_m: float | None,
    offset: tuple[float, float] = (0.0, 0.0),
) -> Matrix:
    """Perspective projection, (4, 4), camera to clip.

    focal_over_width: focal length over picture width, no unit. aspect: width / height. near_m > 0;
    far_m > near_m, or None for infinite. offset: where the optical axis lands, fractions from the
    picture's centre, right and up. Worked: 35 mm on 36 mm, 16:9: m00 1.9444, m11 3.4568.
    """
    m = np.zeros((4, 4))
    m[0, 0] = 2.0 * focal_over_width
    m[1, 1] = 2.0 * focal_over_width * aspect
    m[0, 2] = -2.0 * offset[0]
    m[1, 2] = -2.0 * offset[1]
    if far_m is None:
        m[2, 2], m[2, 3] = -1.0, -2.0 * near_m
    else:
        m[2, 2] = (far_m + near_m) / (near_m - far_m)
        m[2, 3] = 2.0 * far_m * near_m / (near_m - far_m)
    m[3, 2] = -1.0
    return m


def orthographic(
    view_height_m: float,
    aspect: float,
    near_m: float,
    far_m: float,
    offset: tuple[float, float] = (0.0, 0.0),
) -> Matrix:
    """Orthographic projection, (4, 4), camera to clip.

    view_height_m: whole height of what is seen (glTF's ymag is half of it). near_m may be negative.
    offset: where the axis lands, fractions from the picture's centre, right and up.
    """
    m = np.eye(4)
    m[0, 0] = 2.0 / (view_height_m * aspect)
    m[1, 1] = 2.0 / view_height_m
    m[2, 2] = 2.0 / (near_m - far_m)
    m[2, 3] = (far_m + near_m) / (near_m - far_m)
    m[0, 3] = 2.0 * offset[0]
    m[1, 3] = 2.0 * offset[1]
    return m


def oblique(
    view_height_m: float,
    aspect: float,
    near_m: float,
    far_m: float,
    ratio: float,
    angle_deg: float,
    still_depth_m: float,
    offset: tuple[float, float] = (0.0, 0.0),
) -> Matrix:
    """Oblique parallel projection, (4, 4), camera to clip.

    One metre farther than `still_depth_m` is drawn `ratio` metres along `angle_deg` on screen (0
    right, 90 up). Cavalier: ratio 1, angle 45; cabinet: ratio 1/2. What lies at `still_depth_m`
    is drawn as the orthographic view draws it.
    Worked: cabinet at 45 degrees draws one metre of depth as (.35355, .35355) m.
    """
    m = orthographic(view_height_m, aspect, near_m, far_m, offset)
    across, up = ratio * cos(radians(angle_deg)), ratio * sin(radians(angle_deg))
    m[0, 2] = -across * m[0, 0]
    m[1, 2] = -up * m[1, 1]
    m[0, 3] -= across * still_depth_m * m[0, 0]
    m[1, 3] -= up * still_depth_m * m[1, 1]
    return m


def windowed_projection(projection: Matrix, box: tuple[float, float, float, float]) -> Matrix:
    """The projection whose whole picture is the part `box` of the present one, (4, 4).

    box: left, top, right, bottom as fractions of the picture from its top-left; may lie outside
    0..1 (a wider picture). Depth is untouched.
    """
    left, top, right, bottom = box
    sx, sy = 1.0 / (right - left), 1.0 / (bottom - top)
    cx, cy = (left + right) - 1.0, 1.0 - (top + bottom)  # the box's centre in ndc
    crop = np.array(
        [[sx, 0.0, 0.0, -cx * sx], [0.0, sy, 0.0, -cy * sy], [0.0, 0.0, 1.0, 0.0], [0.0, 0.0, 0.0, 1.0]]
    )
    return crop @ projection
