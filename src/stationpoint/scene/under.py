"""What lies under a point, at what height, and which closed node it is inside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from math import cos, radians

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.nearest import first_of_each
from stationpoint.base.geometry.triangles import height_over
from stationpoint.scene.types import Node, Scene

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

LEVEL_DEG = 50.0  # a face steeper than this is no floor
ABOVE_M = 0.01  # a point counts as lying on a face that is at most this much above it
BESIDE_M = 1e-4  # and over a face whose edge it misses by this much
FEW_FACES = 64  # of a node: up to here all are tried, with no index
AT_ONCE = 1 << 20  # bounds of nodes that are tried at once
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
    still = np.tile(at[:3], (1, len(scene.nodes), 1)) if matrices else at[None, None, :3]
    for name, matrix in matrices.items():
        if name in scene:
            still[0, scene.id_of(name) - 1] = (matrix @ at)[:3]
    return _right_under(scene, still, [ignoring])[0]


def all_under(
    scene: Scene, points: Points, ignoring: Sequence[tuple[str, ...]]
) -> list[tuple[str, float] | None]:
    """The same of each of many points (n, 3), asked at once. ignoring: of each point names of nodes."""
    step = max(1, AT_ONCE // max(1, len(scene.nodes)))
    return [
        one
        for k in range(0, len(points), step)
        for one in _right_under(scene, points[k : k + step, None], ignoring[k : k + step])
    ]


def _right_under(
    scene: Scene, still: Points, ignoring: Sequence[tuple[str, ...]]
) -> list[tuple[str, float] | None]:
    """What is right under each of k points. still: (k, n, 3) where each is over each of the n nodes, before
    these moved; (k, 1, 3) where none did. ignoring: of each point names of nodes."""
    low, high = scene.node_bounds[:, 0], scene.node_bounds[:, 1]
    x, y, z = still[..., 0], still[..., 1], still[..., 2]
    near = (x >= low[:, 0] - BESIDE_M) & (x <= high[:, 0] + BESIDE_M) & (low[:, 1] <= y + ABOVE_M)
    near &= (z >= low[:, 2] - BESIDE_M) & (z <= high[:, 2] + BESIDE_M)
    passed = [
        (k, scene.id_of(name) - 1) for k, names in enumerate(ignoring) for name in names if name in scene
    ]
    if passed:
        near[tuple(np.array(passed).T)] = False
    place, who = np.nonzero(near.T)
    best, least_m = np.full(len(still), -1), np.full(len(still), np.inf)
    starts = [*first_of_each(place).tolist(), len(place)]
    for start, end in pairwise(starts):
        number, those = int(place[start]), who[start:end]
        drops = drops_m(scene.nodes[number], still[those, number if still.shape[1] > 1 else 0])
        nearer = drops < least_m[those]
        least_m[those[nearer]], best[those[nearer]] = drops[nearer], number
    return [
        None if number < 0 else (scene.nodes[number].name, drop)
        for number, drop in zip(best.tolist(), least_m.tolist(), strict=True)
    ]


def drop_m(node: Node, point: Points) -> float | None:
    """Metres from a point (3,) straight down to the nearest face of a node; None if none is there."""
    drop = float(drops_m(node, point[None])[0])
    return drop if drop < np.inf else None


def drops_m(node: Node, points: Points) -> Points:
    """Metres from points (n, 3) straight down to the nearest face of a node, (n,); infinity where none is.

    Of a closed node only faces that look up count: what stands on a point does not lie under it.
    """
    who, corners = _faces_at(node, points)
    u, v = (corners[:, k][:, [0, 2]] - corners[:, 0][:, [0, 2]] for k in (1, 2))
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    good = area < -1e-12 if node.closed else np.abs(area) > 1e-12
    who, u, v, area, corners = who[good], u[good], v[good], area[good], corners[good]
    x, level, z = points[who].T
    s, t, y = height_over(corners[:, 0], corners[:, 1], corners[:, 2], x, z)
    slack = BESIDE_M * np.sqrt((u**2).sum(axis=1) + (v**2).sum(axis=1)) / np.abs(area)
    drops = level - y
    met = (s >= -slack) & (t >= -slack) & (s + t <= 1.0 + slack) & (drops >= -ABOVE_M)
    found = np.full(len(points), np.inf)
    np.minimum.at(found, who[met], np.where(drops[met] > 0.0, drops[met], 0.0))
    return found


def _faces_at(node: Node, points: Points) -> tuple[Whole, Points]:
    """The faces, (m, 3, 3), whose bounds the upright lines through points (n, 3) meet or nearly meet, and
    the number of the point that each is of, (m,)."""
    if len(node.faces) > FEW_FACES:
        each = [_over_and_under(node, x, z, BESIDE_M) for x, _, z in points.tolist()]
        return np.repeat(np.arange(len(each)), [len(one) for one in each]), np.concatenate(each)
    corners = node.vertices[node.faces].astype(np.float64)
    low, high = corners.min(axis=1) - BESIDE_M, corners.max(axis=1) + BESIDE_M
    x, z = points[:, 0, None], points[:, 2, None]
    over = (x >= low[:, 0]) & (x <= high[:, 0]) & (z >= low[:, 2]) & (z <= high[:, 2])
    who, face = np.nonzero(over)
    return who, corners[face]


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
