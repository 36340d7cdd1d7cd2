"""Walkable surfaces: the upper faces of nodes, and the nearest point on them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import (
    TriangleBlocks,
    nearest_face,
    nearest_on_triangles,
    triangle_blocks,
)
from stationpoint.readings.contacts.parts import LOOSE
from stationpoint.readings.twins.place import rests_on
from stationpoint.scene import GROUND_NAME, Node, Scene

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

LEVEL_DEG = 45.0
LEAST_M2 = 0.05  # of upper faces, of a node that no flag calls walkable
FEW = 64  # triangles: up to here all are tried
UPWARD_SHARE = (
    0.25  # of the level faces of an open mesh: if so many look up, those that look down do not count
)
SIZES = (2, 8, FEW)


@dataclass(frozen=True, slots=True, eq=False)
class Tops:
    """The walkable surfaces of a scene.

    walks: (nodes + 1,) by id, whether it is one. faces: by node, (m, 3, 3) the corners of its upper
    faces, empty where it is none. low, high: (nodes, 3) their bounds. counts: (nodes,) of upper faces.
    """

    walks: Bits
    faces: tuple[Points, ...]
    low: Points
    high: Points
    counts: Whole


@lru_cache(maxsize=8)
def tops(scene: Scene) -> Tops:
    """The walkable surfaces of a scene: upper faces (within 45 degrees of level) of walkable nodes.

    Where no node but the ground is called walkable, as in meshes that say nothing of it, every node with
    upper faces of 0.05 m2 and more is one.
    """
    flagged = any(node.walkable and node.kind != GROUND_NAME for node in scene.nodes)
    faces = []
    for node in scene.nodes:
        is_one = node.walkable or (not flagged and node.kind not in ("subject", GROUND_NAME, LOOSE))
        upper, area_m2 = _upper(node) if is_one else (np.zeros((0, 3, 3)), 0.0)
        faces.append(upper if node.walkable or area_m2 >= LEAST_M2 else upper[:0])
    counts = np.array([len(one) for one in faces], dtype=np.intp)
    low = np.array([one.min(axis=(0, 1)) if len(one) else np.full(3, np.inf) for one in faces])
    high = np.array([one.max(axis=(0, 1)) if len(one) else np.full(3, -np.inf) for one in faces])
    return Tops(np.concatenate([[False], counts > 0]), tuple(faces), low, high, counts)


@lru_cache(maxsize=4096)
def _upper(node: Node) -> tuple[Points, float]:
    """The upper faces of a node, (m, 3, 3), and their area.

    Of an open one also those that look down, unless its faces are wound as faces should be.
    """
    corners: Points = node.vertices.astype(np.float64)[node.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.sqrt((normals * normals).sum(axis=1))
    steep = cos(radians(LEVEL_DEG)) * np.maximum(size, 1e-12)
    chosen, down = normals[:, 1] >= steep, normals[:, 1] <= -steep
    if not node.closed and size[chosen].sum() < UPWARD_SHARE * size[chosen | down].sum():
        chosen = chosen | down
    return corners[chosen], float(size[chosen].sum()) / 2.0


def nearest(those: Tops, nodes: Whole, points_m: Points) -> Points:
    """The nearest point, (n, 3), on the upper faces of each node, to points (n, 3).

    nodes: (n,) indices in the scene, of walkable nodes. Exact.
    """
    found = np.empty((len(nodes), 3))
    counts = those.counts[nodes]
    for least, most in pairwise((0, *SIZES)):
        here = np.flatnonzero((counts > least) & (counts <= most))
        if len(here):
            found[here] = _nearest_of_few(those, nodes[here], points_m[here], most)
    for node in np.unique(nodes[counts > FEW]).tolist():
        here = np.flatnonzero(nodes == node)
        found[here] = nearest_face(_blocks(those, node), points_m[here])[0]
    return found


def _nearest_of_few(those: Tops, nodes: Whole, points: Points, most: int) -> Points:
    place, padded = _few(those, most)
    # (n, most, 3): each point against all faces of its own node, padded to one count so that it is one call.
    at = nearest_on_triangles(points[:, None], padded[place[nodes]])
    k = ((at - points[:, None]) ** 2).sum(axis=2).argmin(axis=1)
    best: Points = at[np.arange(len(points)), k]
    return best


@lru_cache(maxsize=24)
def _few(those: Tops, most: int) -> tuple[Whole, Points]:
    """Faces of all nodes that have at most so many, and more than a smaller class, (n, most, 3, 3), the
    last one repeated; and where each node's are."""
    least = max((size for size in SIZES if size < most), default=0)
    chosen = np.flatnonzero((those.counts > least) & (those.counts <= most))
    place = np.zeros(len(those.counts), dtype=np.intp)
    place[chosen] = np.arange(len(chosen))
    # Row numbers (n, most) that stop at a node's last face, which thus pads the row.
    numbers = np.minimum(np.arange(most), those.counts[chosen, None] - 1)
    return place, np.array([those.faces[node][row] for node, row in zip(chosen, numbers, strict=True)])


@lru_cache(maxsize=64)
def _blocks(those: Tops, node: int) -> TriangleBlocks:
    return triangle_blocks(those.faces[node])


@lru_cache(maxsize=4096)
def stands_on(scene: Scene, name: str) -> frozenset[str]:
    """Names of all nodes that a node rests on, themselves resting on others and so on: box, plinth,
    ground."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        for _, support in rests_on(scene, (waiting.pop(),)):
            if support not in found and support != name:
                found.add(support)
                waiting.append(support)
    return frozenset(found)
