"""What lies under a point, at what height, and which closed node it is inside."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from math import cos, radians

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.triangles import height_over
from stationpoint.scene.types import Node, Scene

Points = NDArray[np.float64]

LEVEL_DEG = 50.0  # a face steeper than this is no floor
ABOVE_M = 0.01  # a point counts as lying on a face that is at most this much above it
BESIDE_M = 1e-4  # and over a face whose edge it misses by this much
Moved = tuple[tuple[str, tuple[float, ...]], ...]


@lru_cache(maxsize=1024)
def under(
    scene: Scene,
    point: tuple[float, float, float],
    moved: Moved = (),
    ignoring: tuple[str, ...] = (),
) -> tuple[str, float] | None:
    """Name of the node right under a world point and how far below it is, metres; None over a void.

    scene: as the place moves it. moved: the moves (name, 16 numbers) that it already has; the point
    is taken to be given before them. A point on a face lies 0 m above it.
    """
    matrices = {name: np.array(matrix).reshape(4, 4) for name, matrix in moved}
    at = np.array([*point, 1.0])
    bounds = scene.node_bounds
    still = np.broadcast_to(at[:3], (len(scene.nodes), 3)).copy()
    for name, matrix in matrices.items():
        if name in scene:
            still[scene.id_of(name) - 1] = (matrix @ at)[:3]
    low, high = bounds[:, 0], bounds[:, 1]
    over = (still >= low - BESIDE_M) & (still <= high + BESIDE_M)
    near = over[:, 0] & over[:, 2] & (low[:, 1] <= still[:, 1] + ABOVE_M)
    best: tuple[str, float] | None = None
    for k in np.flatnonzero(near):
        node = scene.nodes[k]
        drop = None if node.name in ignoring else drop_m(node, still[k])
        if drop is not None and (best is None or drop < best[1]):
            best = (node.name, drop)
    return best


def drop_m(node: Node, point: Points) -> float | None:
    """Metres from a point (3,) straight down to the nearest face of a node; None if none is there.

    Of a closed node only faces that look up count: what stands on a point does not lie under it.
    """
    corners = _over_and_under(node, float(point[0]), float(point[2]), BESIDE_M)
    u, v = (corners[:, k][:, [0, 2]] - corners[:, 0][:, [0, 2]] for k in (1, 2))
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    good = area < -1e-12 if node.closed else np.abs(area) > 1e-12
    u, v, area, corners = u[good], v[good], area[good], corners[good]
    s, t, y = height_over(corners[:, 0], corners[:, 1], corners[:, 2], float(point[0]), float(point[2]))
    slack = BESIDE_M * np.sqrt((u**2).sum(axis=1) + (v**2).sum(axis=1)) / np.abs(area)
    y = y[(s >= -slack) & (t >= -slack) & (s + t <= 1.0 + slack)]
    drops = point[1] - y
    drops = drops[drops >= -ABOVE_M]
    return max(0.0, float(drops.min())) if len(drops) else None


def floor_under(scene: Scene, point: ArrayLike, names: Iterable[str] | None = None) -> float | None:
    """Height of the highest surface straight under a point (3,) that is level enough to stand on, or None.

    A surface at the point's own height counts, and one up to a millimetre above it. Faces count
    from both sides; those steeper than LEVEL_DEG do not. names: the nodes to look at, all if None.
    """
    x, y, z = (float(n) for n in np.asarray(point, dtype=np.float64))
    slack = 1e-3
    best: float | None = None
    for node in scene.nodes if names is None else [scene.node(name) for name in names]:
        low, high = node.bounds
        edge = 1e-6 * (1.0 + abs(x) + abs(z))
        if not (low[0] - edge <= x <= high[0] + edge and low[2] - edge <= z <= high[2] + edge):
            continue
        if low[1] > y + slack or (best is not None and high[1] <= best):
            continue
        heights = _level_heights(node, x, z)
        heights = heights[heights <= y + slack]
        if len(heights):
            best = max(float(heights.max()), best if best is not None else -np.inf)
    return best


def _level_heights(node: Node, x: float, z: float) -> Points:
    """Where the level-ish faces of a node meet the vertical line at x, z."""
    # A point beside a face by 1e-7 of its sides is over it: that is less than is looked beside it.
    corners = _over_and_under(node, x, z, 1e-6 * (1.0 + float((node.bounds[1] - node.bounds[0]).max())))
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    length = np.sqrt((normal * normal).sum(axis=1))
    level = (np.abs(normal[:, 1]) >= cos(radians(LEVEL_DEG)) * length) & (length > 0)
    s, t, heights = height_over(a[level], b[level], c[level], x, z)
    return heights[np.minimum(np.minimum(s, t), 1.0 - s - t) >= -1e-7]


def _over_and_under(node: Node, x: float, z: float, beside_m: float) -> Points:
    """The faces (n, 3, 3) whose bounds the upright line at x, z meets, or misses by no more than that."""
    line = np.array([[x, -np.inf, z], [x, np.inf, z]])
    return node.faces_within(line[0] - beside_m, line[1] + beside_m)


def is_inside(node: Node, point: ArrayLike) -> bool:
    """Whether a point (3,) lies within a closed node; False for an open one, of which it cannot be said.

    Winding number from the solid angles of all faces (van Oosterom and Strackee 1983): 1 inside a
    closed surface, 0 outside.
    """
    here = np.asarray(point, dtype=np.float64)
    low, high = node.bounds
    if not node.closed or (here < low).any() or (here > high).any():
        return False
    a, b, c = (node.vertices[node.faces[:, k]].astype(np.float64) - here for k in range(3))
    la, lb, lc = (np.sqrt((v * v).sum(axis=1)) for v in (a, b, c))
    triple = (a * np.cross(b, c)).sum(axis=1)
    rest = la * lb * lc + (a * b).sum(axis=1) * lc + (b * c).sum(axis=1) * la + (c * a).sum(axis=1) * lb
    turns = float(np.arctan2(triple, rest).sum()) / (2 * np.pi)
    return abs(turns) > 0.5
