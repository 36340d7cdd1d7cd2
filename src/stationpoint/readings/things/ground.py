"""What an eye reads that takes everything to stand on one level."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, pixel_rays, project_points
from stationpoint.readings.things.ends import Ends

Vector = NDArray[np.float64]

SAME_LEVEL_M = 1e-6


def ground_point(camera: Camera, at: Ends) -> Vector | None:
    """Where the sightline through the landing meets the take-off's level plane, (3,), or None."""
    seen = project_points(camera, at.to_m)
    if not np.isfinite(seen).all():
        return None
    origin, direction = (part[0] for part in pixel_rays(camera, seen))
    rise = at.from_m[1] - origin[1]
    if abs(at.to_m[1] - at.from_m[1]) < SAME_LEVEL_M:
        return at.to_m
    if abs(direction[1]) < 1e-12:
        return None
    along = rise / direction[1]
    if along <= 0.0 and not camera.parallel:
        return None
    point: Vector = origin + along * direction
    return point


def ground_span_m(camera: Camera, at: Ends) -> float | None:
    """Metres that the gap looks long to an eye that believes both ends stand on one level.

    Level distance from the take-off to where the sightline through the landing meets the take-off's
    level plane; None if it misses it. Source: definition. Worked: landing 1 m up, 4.1 m off,
    8 m at pitch 20: 10.79 m.
    """
    point = ground_point(camera, at)
    if point is None:
        return None
    return float(np.hypot(point[0] - at.from_m[0], point[2] - at.from_m[2]))
