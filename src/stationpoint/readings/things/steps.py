"""How far things move on screen for a small step in the world: shared by axes and gaps."""

from __future__ import annotations

from functools import lru_cache
from math import hypot, isfinite
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.camera import Camera, Seat, jacobian_px_per_m, resized_camera
from stationpoint.readings.types import Case

Matrix = NDArray[np.float64]

ARCMIN_PER_RADIAN = 180.0 * 60.0 / np.pi
UP = np.array([0.0, 1.0, 0.0])


def finite(value: float | np.floating | None) -> float | None:
    """A number, or None where it is not finite."""
    return None if value is None or not isfinite(value) else float(value)


@lru_cache(maxsize=8)
def record_camera(case: Case, seat: Seat | None = None) -> Camera:
    """The case's camera with the pixels of a seat's picture; the first seat's unless given."""
    return resized_camera(case.setup.camera, cast("tuple[int, int]", (seat or case.seats[0]).picture_px))


def heading(camera: Camera) -> Matrix:
    """The camera's level heading in the world, unit (3,); straight down it is the picture's up."""
    x, y, z = camera.forward.tolist()
    if hypot(x, z) < 1e-9:
        x, _, z = (camera.up * (-1.0 if y > 0 else 1.0)).tolist()
    size = hypot(x, z)
    return np.array([x / size, 0.0, z / size])


def level_right(camera: Camera) -> Matrix:
    """The camera's level right in the world, unit (3,)."""
    x, _, z = heading(camera)
    return np.array([-z, 0.0, x])


def arcmin_jacobian(seat: Seat, camera: Camera, point_m: ArrayLike, at_px: ArrayLike) -> Matrix:
    """Derivative of the direction at the seat by the world position, (3, 3), arc minutes a metre.

    camera: with the seat's pixels. at_px: (2,) where the point is drawn. A column is how the
    sightline from the player's eye turns for one metre along that world axis.
    """
    scale = seat.pixel_m / seat.eye_distance_m
    sight = np.append((np.asarray(at_px, dtype=float) - seat.centre_px) * scale, 1.0)
    length = hypot(*sight.tolist())
    unit = sight / length
    moved = np.zeros((3, 3))
    moved[:2] = jacobian_px_per_m(camera, point_m) * scale
    turned: Matrix = (moved - unit[:, None] * (unit @ moved)) * (ARCMIN_PER_RADIAN / length)
    return turned


def arcmin_per_m(jacobian_arcmin: Matrix, direction: ArrayLike) -> float | None:
    """Arc minutes that a point moves at the seat per metre along a world direction (3,).

    jacobian_arcmin: from `arcmin_jacobian`. None where the point is behind the eye. Source: definition, a
    derivative. Worked: story landing 4.1 m off, 36.36 px a metre, couch: 29.28' a metre.
    """
    return finite(hypot(*(jacobian_arcmin @ np.asarray(direction, dtype=float)).tolist()))
