"""The depth range that a renderer draws in, and big pictures cut into tiles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from math import isfinite
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, Frame, PartPx, Shot, windowed_camera

Matrix = NDArray[np.float64]
Number = TypeVar("Number", bound=np.generic)


def depth_range_m(
    camera: Camera, low: NDArray[np.float64], high: NDArray[np.float64], centre_m: NDArray[np.float64]
) -> tuple[float, float]:
    """Near and far in metres for a camera and all that is drawn, bounds low, high (3,) from centre_m.

    The camera's own, near_m negative in a parallel view that must lose nothing behind its plane; a
    parallel far plane at infinity stands behind everything.
    """
    if not camera.parallel or isfinite(camera.far_m):
        return camera.near_m, camera.far_m
    along = camera.forward
    start = view_from_centre(camera, centre_m)[2, 3]  # depth = along . p - start
    farthest = float(np.maximum(along * low, along * high).sum()) - start
    return camera.near_m, max(farthest, camera.near_m) + 1.0


def depth_terms(camera: Camera, near_m: float, far_m: float) -> tuple[float, float]:
    """(a, b) of a reversed depth buffer: a z + b before the divide is 1 at near_m and 0 at far_m.

    Reversed depth keeps the same relative precision everywhere in a float buffer. Metres come back
    as b / (buffer + a) in perspective, (b - buffer) / a in parallel views.
    """
    span = far_m - near_m
    if camera.parallel:
        return 1.0 / span, far_m / span
    if isfinite(far_m):
        return near_m / span, near_m * far_m / span
    return 0.0, near_m


def clip_matrix(camera: Camera, terms: tuple[float, float], centre_m: NDArray[np.float64]) -> Matrix:
    """World (counted from centre_m) to clip space with depth_terms' depth, (4, 4)."""
    m = np.array(camera.projection)
    m[2] = [0.0, 0.0, *terms]
    return m @ view_from_centre(camera, centre_m)


def view_from_centre(camera: Camera, centre_m: NDArray[np.float64]) -> Matrix:
    """The view matrix for coordinates counted from centre_m (3,)."""
    view = np.array(camera.view)
    view[:3, 3] += view[:3, :3] @ centre_m
    return view


def reached(to_clip: Matrix, low: NDArray[np.float64], high: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which boxes with corners low, high (n, 3) may reach into the clip volume of depth 0..1, (n,)."""
    rows = to_clip
    planes = np.array(
        [rows[3] + rows[0], rows[3] - rows[0], rows[3] + rows[1], rows[3] - rows[1], rows[3] - rows[2]]
    )
    normals = planes[:, :3]
    best = np.maximum(normals, 0.0) @ high.T + np.minimum(normals, 0.0) @ low.T + planes[:, 3:]
    return np.asarray((best >= 0.0).all(axis=0))


def in_tiles(draw: Callable[[Shot], Frame], shot: Shot, most_px: int) -> Frame:
    """The shot's frame, drawn in tiles of at most `most_px` a side, so that memory stays bounded."""
    width, height = shot.camera.pixels
    if width <= most_px and height <= most_px:
        return draw(shot)
    frames: list[list[Frame]] = []
    for top in range(0, height, most_px):
        bottom = min(top + most_px, height)
        frames.append([])
        for left in range(0, width, most_px):
            right = min(left + most_px, width)
            camera = windowed_camera(shot.camera, (left, top, right, bottom), (right - left, bottom - top))
            parts = shot.parts_px and tuple(
                (part[0] - left, part[1] - top, part[2] - left, part[3] - top) for part in shot.parts_px
            )
            frames[-1].append(draw(replace(shot, camera=camera, parts_px=parts)))
    names = [field.name for field in fields(frames[0][0])]
    planes = {name: _stitched([[getattr(tile, name) for tile in row] for row in frames]) for name in names}
    return type(frames[0][0])(**planes)


def parts_drawn(shot: Shot) -> tuple[PartPx, ...]:
    """The parts of a picture whose colour must be drawn, to whole squares of four pixels, which ask for the
    sun together; one of all of it where none are named."""
    width, height = shot.camera.pixels
    if shot.parts_px is None:
        return ((0, 0, width, height),)
    parts = [
        (
            max(left - left % 2, 0),
            max(top - top % 2, 0),
            min(right + right % 2, width),
            min(bottom + bottom % 2, height),
        )
        for left, top, right, bottom in shot.parts_px
    ]
    return tuple(part for part in parts if part[0] < part[2] and part[1] < part[3])


def _stitched(rows: list[list[NDArray[Number] | None]]) -> NDArray[Number] | None:
    """Rows of tiles as one plane; None where the tiles have none."""
    planes = [[tile for tile in row if tile is not None] for row in rows]
    return np.concatenate([np.concatenate(row, axis=1) for row in planes]) if planes[0] else None
