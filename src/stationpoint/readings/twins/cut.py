"""Whether moved nodes would cut the rest of the scene: bounds first, then triangles."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.triangles import ray_meets
from stationpoint.scene import GROUND_NAME, Node, Scene, is_inside, moved_node

Points = NDArray[np.float64]
Bits = NDArray[np.bool_]

TOUCH_M = 0.005  # things may touch: what moves is made this much smaller on every side
MOST_TESTS = 4_000_000  # edges against triangles; past that, overlapping bounds count as a cut


def cut_by(scene: Scene, names: tuple[str, ...], matrix: NDArray[np.float64]) -> str | None:
    """Name of the first node, in scene order, that the named ones would cut once moved; None if none.

    matrix: (4, 4) world. Ground counts as solid all the way down.
    """
    every = scene.node_bounds
    ground, still = _ground(scene), np.ones(len(scene.nodes), dtype=bool)
    still[[scene.id_of(name) - 1 for name in names]] = False
    moved = [_smaller(moved_node(scene.node(name), matrix)) for name in names]
    hit = np.zeros(len(scene.nodes), dtype=bool)
    for node in moved:
        low, high = node.bounds
        near = still & (every[:, 0] <= high).all(axis=1) & (every[:, 1] >= low).all(axis=1)
        for k in np.flatnonzero(still & ground):
            hit[k] |= _sinks(node, every[k])
        for k in np.flatnonzero(near & ~ground & ~hit):
            hit[k] = _cut(node, scene.nodes[k])
    found = np.flatnonzero(hit)
    return scene.nodes[found[0]].name if len(found) else None


@lru_cache(maxsize=16)
def _ground(scene: Scene) -> Bits:
    return np.array([node.kind == GROUND_NAME for node in scene.nodes])


def _smaller(node: Node) -> Node:
    low, high = node.bounds
    extent = high - low
    scale = np.where(extent > 4 * TOUCH_M, (extent - 2 * TOUCH_M) / np.maximum(extent, 1e-12), 0.5)
    middle = (low + high) / 2.0
    vertices = (middle + (node.vertices.astype(np.float64) - middle) * scale).astype(np.float32)
    return Node(node.name, vertices, node.faces, closed=node.closed, kind=node.kind)


def _sinks(node: Node, ground: Points) -> bool:
    """Whether a vertex lies under level ground, or under what is around it."""
    at = node.vertices.astype(np.float64)
    over = (at[:, [0, 2]] >= ground[0, [0, 2]]).all(axis=1) & (at[:, [0, 2]] <= ground[1, [0, 2]]).all(axis=1)
    return bool((over & (at[:, 1] < ground[1, 1])).any())


def _cut(a: Node, b: Node) -> bool:
    # What moves is made anew for every twin, and never asked again: an index of it would not pay.
    triangles_a, triangles_b = _within(_triangles(a), *b.bounds), b.faces_within(*a.bounds)
    if len(triangles_a) * len(triangles_b) * 6 > MOST_TESTS:
        return True
    if _edges_meet(triangles_a, triangles_b) or _edges_meet(triangles_b, triangles_a):
        return True
    return is_inside(b, a.vertices[0]) or is_inside(a, b.vertices[0])


def _triangles(node: Node) -> Points:
    corners: Points = node.vertices.astype(np.float64)[node.faces]
    return corners


def _within(triangles: Points, low: Points, high: Points) -> Points:
    """Those of the triangles (n, 3, 3) whose bounds meet a box."""
    near = (triangles.min(axis=1) <= high).all(axis=1) & (triangles.max(axis=1) >= low).all(axis=1)
    kept: Points = triangles[near]
    return kept


def _edges_meet(edged: Points, faced: Points) -> bool:
    """Whether an edge of some triangles (n, 3, 3) passes through others (m, 3, 3)."""
    if not len(edged) or not len(faced):
        return False
    # (3 n, m, 3): every edge of the first against every face of the second; MOST_TESTS bounds the memory.
    start = edged.reshape(-1, 1, 3)
    way = (np.roll(edged, -1, axis=1) - edged).reshape(-1, 1, 3)
    far = ray_meets(start, way, faced, slack=0.0)
    return bool(((far >= 0.0) & (far <= 1.0)).any())
