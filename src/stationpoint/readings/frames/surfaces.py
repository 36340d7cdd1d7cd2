"""World points and normals of the surfaces that a frame shows."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.vectors import cross
from stationpoint.camera import Camera, pixel_rays

Points = NDArray[np.float64]
Whole = NDArray[np.intp]


def world_points(camera: Camera, depth_m: NDArray[np.float32], rows: Whole, columns: Whole) -> Points:
    """World points, (n, 3), at the middles of pixels. depth_m: (h, w) of the camera's frame."""
    starts, ways = _sightlines(camera, rows, columns)
    points: Points = (depth_m.ravel()[rows * depth_m.shape[1] + columns].astype(np.float64) * ways + starts).T
    return points


def _sightlines(camera: Camera, rows: Whole, columns: Whole) -> tuple[Points, Points]:
    """Where the sightlines of pixels start and which way they go, (3, n), or (3, 1) where all start in one
    point."""
    starts, ways = _first_sightlines(camera)
    spread = [one[0] + one[1] * columns + one[2] * rows for one in (starts, ways)[not camera.parallel :]]
    return (spread[0], spread[1]) if camera.parallel else (starts[0], spread[0])


@lru_cache(maxsize=8)
def _first_sightlines(camera: Camera) -> tuple[Points, Points]:
    """Start and way, (3, 3, 1) each, of the sightline through the first pixel's middle, and by how much they
    change a pixel to the right and one down: evenly, so that these give all the others."""
    found = np.array(pixel_rays(camera, [(0.5, 0.5), (1.5, 0.5), (0.5, 1.5)]))[..., None]
    found[:, 1:] -= found[:, :1]
    return found[0], found[1]


def surface(
    camera: Camera, ids: NDArray[np.uint32], depth_m: NDArray[np.float32], rows: Whole, columns: Whole
) -> tuple[Points, Points, NDArray[np.bool_]]:
    """World points and normals of any length towards the camera, (m, 3), at those pixels (n,) whose right
    and lower neighbours show the same node, and which they are, (n,)."""
    (height, width), flat = ids.shape, ids.ravel()
    good = (rows < height - 1) & (columns < width - 1)
    here = rows * width + columns
    own = flat[here]
    good &= (flat[here + good] == own) & (flat[here + good * width] == own)
    rows, columns = rows[good], columns[good]
    points = world_points(camera, depth_m, rows, columns)
    across = world_points(camera, depth_m, rows, columns + 1) - points
    down = world_points(camera, depth_m, rows + 1, columns) - points
    return points, cross(down, across), good
