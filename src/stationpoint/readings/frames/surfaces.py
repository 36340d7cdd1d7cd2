"""World points and normals of the surfaces that a frame shows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, pixel_rays

Points = NDArray[np.float64]
Whole = NDArray[np.intp]


def world_points(camera: Camera, depth_m: NDArray[np.float32], rows: Whole, columns: Whole) -> Points:
    """World points, (n, 3), at the middles of pixels. depth_m: (h, w) of the camera's frame."""
    # Sightlines change evenly from pixel to pixel: three of them give all the others.
    starts, ways = pixel_rays(camera, [(0.5, 0.5), (1.5, 0.5), (0.5, 1.5)])
    starts[1:] -= starts[0]
    ways[1:] -= ways[0]
    cells = np.column_stack([columns, rows])
    depth = depth_m[rows, columns].astype(np.float64)[:, None]
    points: Points = depth * (ways[0] + cells @ ways[1:]) + starts[0]
    return points + cells @ starts[1:] if camera.parallel else points


def surface(
    camera: Camera, ids: NDArray[np.uint32], depth_m: NDArray[np.float32], rows: Whole, columns: Whole
) -> tuple[Points, Points, NDArray[np.bool_]]:
    """World points and unit normals towards the camera, (m, 3), at those pixels (n,) whose right and
    lower neighbours show the same node, and which they are, (n,)."""
    height, width = ids.shape
    good = (rows < height - 1) & (columns < width - 1)
    right, below = np.minimum(columns + 1, width - 1), np.minimum(rows + 1, height - 1)
    own = ids[rows, columns]
    good &= (ids[rows, right] == own) & (ids[below, columns] == own)
    rows, columns = rows[good], columns[good]
    here = world_points(camera, depth_m, rows, columns)
    across = world_points(camera, depth_m, rows, columns + 1) - here
    down = world_points(camera, depth_m, rows + 1, columns) - here
    normals = np.cross(down, across)
    return here, normals / np.maximum(np.linalg.norm(normals, axis=1), 1e-12)[:, None], good
