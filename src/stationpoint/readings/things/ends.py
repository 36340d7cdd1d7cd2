"""A gap's ends in the scene as the place moves it, and what lies under a point."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings.things.things import subject_name
from stationpoint.readings.types import Case
from stationpoint.scene import Node, Scene
from stationpoint.study import Gap

Points = NDArray[np.float64]

ABOVE_M = 0.01  # a point counts as lying on a face that is at most this much above it
BESIDE_M = 1e-4  # and over a face whose edge it misses by this much
Moved = tuple[tuple[str, tuple[float, ...]], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """A gap's take-off and landing, (3,) each, moved with the nodes that they lie on.

    takeoff, landing: names of those nodes, None over a void.
    """

    from_m: Points
    to_m: Points
    takeoff: str | None
    landing: str | None


def ends(case: Case, gap: Gap) -> Ends:
    """The gap's ends: a place that lifts the landing's node lifts the landing with it."""
    moved = tuple((name, tuple(matrix.ravel().tolist())) for name, matrix in case.moves)
    return _ends(case.scene, gap, moved, subject_name(case))


@lru_cache(maxsize=512)
def _ends(scene: Scene, gap: Gap, moved: Moved, subject: str | None) -> Ends:
    ignoring = () if subject is None else (subject,)
    takeoff = under(scene, gap.from_, moved, ignoring)
    found = under(scene, gap.to, moved, ignoring)
    landing = gap.landing if gap.landing is not None else found and found[0]
    start = takeoff and takeoff[0]
    return Ends(_carried(gap.from_, start, moved), _carried(gap.to, landing, moved), start, landing)


def _carried(point: tuple[float, float, float], node: str | None, moved: Moved) -> Points:
    at = np.array([*point, 1.0])
    for name, matrix in moved:
        if name == node:
            at = np.array(matrix).reshape(4, 4) @ at
    return at[:3]


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
    bounds = node_bounds(scene)
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


@lru_cache(maxsize=16)
def node_bounds(scene: Scene) -> Points:
    """Lowest and highest corner of every node, (n, 2, 3), in scene order."""
    return np.array([node.bounds for node in scene.nodes]).reshape(-1, 2, 3)


def drop_m(node: Node, point: Points) -> float | None:
    """Metres from a point (3,) straight down to the nearest face of a node; None if none is there.

    Of a closed node only faces that look up count: what stands on a point does not lie under it.
    """
    vertices, faces = node.vertices, node.faces
    flat = vertices[:, [0, 2]].astype(np.float64) - point[[0, 2]]
    a, b, c = (flat[faces[:, k]] for k in range(3))
    near = (np.minimum(np.minimum(a, b), c) <= BESIDE_M).all(axis=1)
    near &= (np.maximum(np.maximum(a, b), c) >= -BESIDE_M).all(axis=1)
    a, b, c, chosen = a[near], b[near], c[near], faces[near]
    u, v = b - a, c - a
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    good = area < -1e-12 if node.closed else np.abs(area) > 1e-12
    u, v, a, area, chosen = u[good], v[good], a[good], area[good], chosen[good]
    s = (-a[:, 0] * v[:, 1] + a[:, 1] * v[:, 0]) / area
    t = (-u[:, 0] * a[:, 1] + u[:, 1] * a[:, 0]) / area
    slack = BESIDE_M * np.sqrt((u**2).sum(axis=1) + (v**2).sum(axis=1)) / np.abs(area)
    hit = (s >= -slack) & (t >= -slack) & (s + t <= 1.0 + slack)
    heights = vertices[:, 1].astype(np.float64)[chosen[hit]]
    s, t = s[hit], t[hit]
    y = heights[:, 0] + s * (heights[:, 1] - heights[:, 0]) + t * (heights[:, 2] - heights[:, 0])
    drops = point[1] - y
    drops = drops[drops >= -ABOVE_M]
    return max(0.0, float(drops.min())) if len(drops) else None
