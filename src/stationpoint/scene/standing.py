"""Where something can stand in a scene that says nothing of it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.triangles import height_over
from stationpoint.scene.types import Node, Scene
from stationpoint.scene.under import LEVEL_DEG

Floats = NDArray[np.float64]

LEAST_STEP_M, MOST_SPOTS = 0.25, 48  # distance of the spots that are tried; at most so many a side
SAME_FLOOR_M = 0.15  # surfaces nearer in height than that are one floor
FLOOR_SHARE = 0.5  # a lower floor is preferred if it is this large, of the largest one
ELBOW_M = 0.4  # room wanted around whoever stands there
STEEP = 0.02  # upright faces are looked past: they have no area from above
SLACK_M = 1e-3
CHUNK = 1 << 18


@lru_cache(maxsize=4)
def standing_place(scene: Scene, height_m: float) -> tuple[float, float, float] | None:
    """The spot nearest to the scene's middle where something of that height stands free, or None.

    It is on the lowest large floor: level surfaces with that much free height above them, counted
    over a grid of spots; of those at about one height the largest wins, and a lower one with at
    least half as many spots wins over it (a room's floor over its roof, over a table).
    """
    xs, zs, middle = _spots(scene)
    every = list(_floors(scene, xs, zs, height_m))
    found = [(i, j, y) for i, j, y, is_buried in every if not is_buried] or [spot[:3] for spot in every]
    if not found:
        return None
    spots = np.array([(i, j) for i, j, _ in found])
    heights = np.array([y for _, _, y in found])
    levels = _levels(heights)
    sizes = np.bincount(levels)
    bottoms = [heights[levels == level].min() for level in range(len(sizes))]
    large = [level for level in range(len(sizes)) if sizes[level] >= FLOOR_SHARE * sizes.max()]
    chosen = levels == min(large, key=lambda level: bottoms[level])
    spots, heights = spots[chosen], heights[chosen]
    is_floor = np.zeros((len(xs), len(zs)), dtype=bool)
    is_floor[spots[:, 0], spots[:, 1]] = True
    step = max(xs[1] - xs[0] if len(xs) > 1 else 1.0, zs[1] - zs[0] if len(zs) > 1 else 1.0)
    roomy = is_floor
    for _ in range(round(ELBOW_M / step)):
        roomy = _eroded(roomy)
    free = roomy[spots[:, 0], spots[:, 1]]
    if free.any():
        spots, heights = spots[free], heights[free]
    away = np.hypot(xs[spots[:, 0]] - middle[0], zs[spots[:, 1]] - middle[1])
    best = int(np.argmin(np.round(away, 6)))
    return float(xs[spots[best, 0]]), float(heights[best]), float(zs[spots[best, 1]])


def _spots(scene: Scene) -> tuple[Floats, Floats, tuple[float, float]]:
    """x and z of the spots, a grid over all but the ground that holds its middle, and that middle."""
    things = [node.name for node in scene.nodes if node.kind != "ground"]
    low, high = scene.bounds(things or None)
    lines = []
    for axis in (0, 2):
        half = (high[axis] - low[axis]) / 2
        count = int(min(MOST_SPOTS // 2, half // LEAST_STEP_M))
        step = half / (count + 0.5)  # the outermost spots lie within
        lines.append((low[axis] + high[axis]) / 2 + step * np.arange(-count, count + 1))
    middle = (low + high) / 2
    return lines[0], lines[1], (float(middle[0]), float(middle[2]))


def _floors(scene: Scene, xs: Floats, zs: Floats, height_m: float) -> Iterator[tuple[int, int, float, bool]]:
    """Spots (i, j) and heights at which something can stand, spot by spot, lowest first, and whether
    that is inside a solid: ground runs on under it."""
    parts = [part for k, node in enumerate(scene.nodes) for part in _surfaces(k, node, xs, zs)]
    if not parts:
        return
    # A spot on the edge of two triangles meets both: each surface once.
    surfaces = np.unique(np.concatenate(parts), axis=0, return_index=True)[0]  # asked so, it spares numpy.ma
    cell, y, sign, stands = surfaces[:, 0].astype(int), surfaces[:, 1], surfaces[:, 3], surfaces[:, 4] > 0
    ends = np.searchsorted(cell, cell, "right")
    for k in np.flatnonzero(stands):
        above = k + int(np.searchsorted(y[k : ends[k]], y[k] + SLACK_M, "right"))
        if above < ends[k] and y[above] - y[k] < height_m:
            continue
        # Leaving a solid once more than entering it, on the way up: the spot is inside it.
        left = np.bincount(surfaces[above : ends[k], 2].astype(int), sign[above : ends[k]])
        yield int(cell[k] // len(zs)), int(cell[k] % len(zs)), float(y[k]), bool((left > 0).any())


def _surfaces(number: int, node: Node, xs: Floats, zs: Floats) -> Iterator[Floats]:
    """Where a node's faces lie over or under the spots, (n, 5): number of the spot, height, number of
    the node, 1 or -1 where a closed node's face looks up or down, 1 where it can be stood on."""
    level = cos(radians(LEVEL_DEG))
    for start in range(0, len(node.faces), CHUNK):
        a, b, c = (node.vertices[node.faces[start : start + CHUNK, k]].astype(np.float64) for k in range(3))
        low = np.minimum(np.minimum(a, b), c)
        high = np.maximum(np.maximum(a, b), c)
        first = np.array([np.searchsorted(xs, low[:, 0]), np.searchsorted(zs, low[:, 2])])
        stop = np.array([np.searchsorted(xs, high[:, 0], "right"), np.searchsorted(zs, high[:, 2], "right")])
        across, along = (stop - first).clip(0)
        normal = np.cross(b - a, c - a)
        size = np.sqrt((normal * normal).sum(axis=1))
        some = np.flatnonzero(across * along * (np.abs(normal[:, 1]) > STEEP * size))
        if not len(some):
            continue
        face = np.repeat(some, (across * along)[some])
        turn = np.arange(len(face)) - np.repeat(
            np.cumsum((across * along)[some]) - (across * along)[some], (across * along)[some]
        )
        i, j = first[0, face] + turn // along[face], first[1, face] + turn % along[face]
        s, t, y = height_over(a[face], b[face], c[face], xs[i], zs[j])
        hit = np.minimum(np.minimum(s, t), 1.0 - s - t) >= -1e-9
        y = y[hit]
        slope = normal[:, 1] if node.closed else np.abs(normal[:, 1])
        stands = (slope >= level * size) & (size > 0)
        sign = np.sign(normal[face, 1]) * node.closed
        cell = i * len(zs) + j
        columns = (cell[hit], np.round(y, 6), np.full(len(y), number), sign[hit], stands[face][hit])
        yield np.stack([np.asarray(column, dtype=np.float64) for column in columns], axis=1)


def _levels(heights: Floats) -> NDArray[np.int64]:
    """The number of the floor that each height belongs to, from the lowest; a step apart is another."""
    order = np.argsort(heights, kind="stable")
    numbers = np.zeros(len(heights), dtype=np.int64)
    level, bottom = 0, heights[order[0]]
    for k in order:
        if heights[k] - bottom > SAME_FLOOR_M:
            level, bottom = level + 1, heights[k]
        numbers[k] = level
    return numbers


def _eroded(cells: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The cells whose eight neighbours are all set."""
    padded = np.pad(cells, 1)
    kept = cells.copy()
    for di in (0, 1, 2):
        for dj in (0, 1, 2):
            kept &= padded[di : di + cells.shape[0], dj : dj + cells.shape[1]]
    return kept
