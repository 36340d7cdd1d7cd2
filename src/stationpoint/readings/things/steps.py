"""How far things move on screen for a small step in the world: shared by axes and gaps."""

from __future__ import annotations

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
    return None if value is None or not np.isfinite(value) else float(value)


def record_camera(case: Case, seat: Seat | None = None) -> Camera:
    """The case's camera with the pixels of a seat's picture; the first seat's unless given."""
    return resized_camera(case.setup.camera, cast("tuple[int, int]", (seat or case.seats[0]).picture_px))


def heading(camera: Camera) -> Matrix:
    """The camera's level heading in the world, unit (3,); straight down it is the picture's up."""
    forward = camera.forward * (1.0, 0.0, 1.0)
    if np.hypot(forward[0], forward[2]) < 1e-9:
        forward = camera.up * (1.0, 0.0, 1.0) * (-1.0 if camera.forward[1] > 0 else 1.0)
    unit: Matrix = forward / np.linalg.norm(forward)
    return unit


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
    across = (np.asarray(at_px, dtype=float) - seat.centre_px) * scale
    sight = np.array([across[0], across[1], 1.0])
    length = float(np.linalg.norm(sight))
    unit = sight / length
    moved = np.vstack([jacobian_px_per_m(camera, point_m) * scale, np.zeros((1, 3))])
    turned: Matrix = (moved - np.outer(unit, unit @ moved)) / length * ARCMIN_PER_RADIAN
    return turned


def arcmin_per_m(jacobian_arcmin: Matrix, direction: ArrayLike) -> float | None:
    """Arc minutes that a point moves at the seat per metre along a world direction (3,).

    jacobian_arcmin: from `arcmin_jacobian`. None where the point is behind the eye. Source: definition, a
    derivative. Worked: story landing 4.1 m off, 36.36 px a metre, couch: 29.28' a metre.
    """
    return finite(np.linalg.norm(jacobian_arcmin @ np.asarray(direction, dtype=float)))
