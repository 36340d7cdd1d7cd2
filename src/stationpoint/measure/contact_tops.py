"""Walkable surfaces: the upper faces of nodes, and the nearest point on them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from stationpoint.measure.twin_place import rests_on
from stationpoint.scene.types import GROUND_NAME, Node, Scene

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

LEVEL_DEG = 45.0
LEAST_M2 = 0.05  # of upper faces, of a node that no flag calls walkable
FEW = 64  # triangles: up to here all are tried, else blocks of that many by their bounds
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
        is_one = node.walkable or (not flagged and node.kind not in ("subject", GROUND_NAME))
        upper, area_m2 = _upper(node) if is_one else (np.zeros((0, 3, 3)), 0.0)
        faces.append(upper if node.walkable or area_m2 >= LEAST_M2 else upper[:0])
    counts = np.array([len(one) for one in faces], dtype=np.intp)
    low = np.array([one.min(axis=(0, 1)) if len(one) else np.full(3, np.inf) for one in faces])
    high = np.array([one.max(axis=(0, 1)) if len(one) else np.full(3, -np.inf) for one in faces])
    return Tops(np.concatenate([[False], counts > 0]), tuple(faces), low, high, counts)


@lru_cache(maxsize=4096)
def _upper(node: Node) -> tuple[Points, float]:
    """The upper faces of a node, (m, 3, 3), of an open one those that look down as well; their area."""
    corners: Points = node.vertices.astype(np.float64)[node.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.sqrt((normals * normals).sum(axis=1))
    up = normals[:, 1] if node.closed else np.abs(normals[:, 1])
    chosen = (up >= cos(radians(LEVEL_DEG)) * size) & (size > 1e-12)
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
        found[here] = _nearest_of_many(_blocks(those, node), points_m[here])
    return found


def _nearest_of_few(those: Tops, nodes: Whole, points: Points, most: int) -> Points:
    place, padded = _few(those, most)
    at = _on_triangles(points[:, None], padded[place[nodes]])
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
    numbers = np.minimum(np.arange(most), those.counts[chosen, None] - 1)
    return place, np.array([those.faces[node][row] for node, row in zip(chosen, numbers, strict=True)])


@lru_cache(maxsize=64)
def _blocks(those: Tops, node: int) -> tuple[Points, Points, Points]:
    """Faces of a node in blocks of neighbours, (b, FEW, 3, 3), and the bounds of each block."""
    faces, count = those.faces[node], len(those.faces[node])
    middle = faces.mean(axis=1)
    spread = np.ptp(middle, axis=0)
    cells = max(1, round((count / FEW) ** 0.5))
    column = ((middle[:, 0] - middle[:, 0].min()) / max(spread[0], 1e-9) * cells).astype(int)
    ordered = faces[np.lexsort((middle[:, 2], column))]
    blocks = -(-count // FEW)
    ordered = np.concatenate([ordered, np.repeat(ordered[-1:], blocks * FEW - count, axis=0)])
    grouped = ordered.reshape(blocks, FEW, 3, 3)
    return grouped, grouped.min(axis=(1, 2)), grouped.max(axis=(1, 2))


def _nearest_of_many(blocks: tuple[Points, Points, Points], points: Points) -> Points:
    """Nearest points, (n, 3): the block whose bounds are nearest, then all that could be nearer still."""
    grouped, low, high = blocks
    found = np.empty_like(points)
    for k, point in enumerate(points):
        gap = np.maximum(np.maximum(low - point, point - high), 0.0)
        bound = (gap * gap).sum(axis=1)
        best, best2 = point, np.inf
        first = int(bound.argmin())
        for chosen in (grouped[first], None):
            faces = chosen
            if faces is None:
                rest = np.flatnonzero(bound < best2)
                faces = grouped[rest[rest != first]].reshape(-1, 3, 3)
            if not len(faces):
                continue
            at = _on_triangles(point[None, None], faces[None])[0]
            squared = ((at - point) ** 2).sum(axis=1)
            j = int(squared.argmin())
            if squared[j] < best2:
                best, best2 = at[j], float(squared[j])
        found[k] = best
    return found


def _on_triangles(points: Points, triangles: Points) -> Points:
    """Nearest points on triangles (..., 3, 3) to points (..., 3), broadcast (Ericson 2005, 5.1.5)."""
    a, b, c = triangles[..., 0, :], triangles[..., 1, :], triangles[..., 2, :]
    ab, ac = b - a, c - a

    def dot(u: Points, v: Points) -> Points:
        product: Points = (u * v).sum(axis=-1)
        return product

    d1, d2 = dot(ab, points - a), dot(ac, points - a)
    d3, d4 = dot(ab, points - b), dot(ac, points - b)
    d5, d6 = dot(ab, points - c), dot(ac, points - c)
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    with np.errstate(divide="ignore", invalid="ignore"):
        whole = va + vb + vc
        v, w = vb / whole, vc / whole
        on_ab, on_ac = d1 / (d1 - d3), d2 / (d2 - d6)
        on_bc = (d4 - d3) / ((d4 - d3) + (d5 - d6))
    for where, v_there, w_there in (  # the later ones outrank the earlier
        ((va <= 0) & (d4 >= d3) & (d5 >= d6), 1.0 - on_bc, on_bc),
        ((vb <= 0) & (d2 >= 0) & (d6 <= 0), 0.0, on_ac),
        ((vc <= 0) & (d1 >= 0) & (d3 <= 0), on_ab, 0.0),
        ((d6 >= 0) & (d5 <= d6), 0.0, 1.0),
        ((d3 >= 0) & (d4 <= d3), 1.0, 0.0),
        ((d1 <= 0) & (d2 <= 0), 0.0, 0.0),
    ):
        v, w = np.where(where, v_there, v), np.where(where, w_there, w)
    at: Points = a + v[..., None] * ab + w[..., None] * ac
    return at


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
