"""Straight edges of the scene that run along a pair, from its geometry."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.scene import Node, Scene

Points = NDArray[np.float64]

SHARP_COSINE = np.cos(np.radians(30.0))  # faces that meet at more than 30 degrees make an edge
ALONG_COSINE = np.cos(np.radians(15.0))
BESIDE_M = 2.0  # an edge farther than this from the line between the two is another matter
LEAST_OVERLAP = 0.5  # of the distance between the two
SAME_PLACE_M = 1e-4

Spot = tuple[float, float, float]


@lru_cache(maxsize=128)
def edges_between(scene: Scene, start_m: Spot, end_m: Spot, but: tuple[str, ...] = ()) -> Points:
    """Parts (n, 2, 3) of straight edges that run within 15 degrees of the way from one point to the
    other, at most 2 m beside it, over at least half of the distance between them.

    Edges that go on from one another count as one. but: names of nodes to leave out.
    """
    start, end = np.array(start_m), np.array(end_m)
    span = float(np.linalg.norm(end - start))
    if span < SAME_PLACE_M:
        return np.zeros((0, 2, 3))
    way = (end - start) / span
    low, high = np.minimum(start, end) - BESIDE_M, np.maximum(start, end) + BESIDE_M
    bounds = scene.node_bounds
    near = (bounds[:, 0] <= high).all(axis=1) & (bounds[:, 1] >= low).all(axis=1)
    chosen = [scene.nodes[k] for k in np.flatnonzero(near) if scene.nodes[k].name not in but]
    found = [_along(feature_edges(node), start, way, span) for node in chosen]
    return np.concatenate([np.zeros((0, 2, 3)), *found])


def _along(edges: Points, start: Points, way: Points, span: float) -> Points:
    """The parts between 0 and `span` of a node's edges (n, 2, 3) that run along a way from a point."""
    vectors = edges[:, 1] - edges[:, 0]
    length = np.linalg.norm(vectors, axis=1)
    edges = edges[(length > SAME_PLACE_M) & (np.abs(vectors @ way) >= ALONG_COSINE * length)]
    if not len(edges):
        return edges
    reach = (edges - start) @ way
    backward = reach[:, 0] > reach[:, 1]
    edges[backward], reach[backward] = edges[backward][:, ::-1], reach[backward][:, ::-1]
    edges, reach = _joined(edges, reach)
    first, last = np.clip(reach[:, 0], 0.0, span), np.clip(reach[:, 1], 0.0, span)
    overlap = last - first
    whole = np.maximum(reach[:, 1] - reach[:, 0], SAME_PLACE_M)
    share = np.stack([first - reach[:, 0], last - reach[:, 0]], axis=1) / whole[:, None]
    # (n, 2, 3): where each edge passes the start and the end of the way.
    parts = edges[:, :1] + share[:, :, None] * (edges[:, 1:] - edges[:, :1])
    middle = parts.mean(axis=1) - start
    beside = np.linalg.norm(middle - (middle @ way)[:, None] * way, axis=1)
    kept: Points = parts[(overlap >= LEAST_OVERLAP * span) & (beside <= BESIDE_M)]
    return kept


def _joined(edges: Points, reach: Points) -> tuple[Points, Points]:
    """Edges in the order of their way, with each that starts where another ends, and goes on straight,
    made one with it."""
    ends = {tuple(key): k for k, key in enumerate(_keys(edges[:, 1]).tolist())}
    starts = [tuple(key) for key in _keys(edges[:, 0]).tolist()]
    vectors = edges[:, 1] - edges[:, 0]
    ways = vectors / np.linalg.norm(vectors, axis=1)[:, None]
    head = list(range(len(edges)))  # the edge that each one's row begins with
    tail = dict.fromkeys(head, -1)  # and the one that a row ends with
    for k in np.argsort(reach[:, 0], kind="stable").tolist():
        before = ends.get(starts[k], k)
        if before != k and float(ways[before] @ ways[k]) >= SHARP_COSINE:
            head[k] = head[before]
            tail.pop(k)
        tail[head[k]] = k
    first, last = list(tail.keys()), list(tail.values())
    joined = np.stack([edges[first, 0], edges[last, 1]], axis=1)
    return joined, np.stack([reach[first, 0], reach[last, 1]], axis=1)


def _keys(points: Points) -> NDArray[np.int64]:
    return np.rint(points / SAME_PLACE_M).astype(np.int64)


@lru_cache(maxsize=1024)
def feature_edges(node: Node) -> Points:
    """Edges (n, 2, 3) of a node where two faces meet at more than 30 degrees, or where only one ends."""
    vertices, faces = node.vertices.astype(np.float64), node.faces
    _, first, same = np.unique(_keys(vertices), axis=0, return_index=True, return_inverse=True)
    place = same.reshape(-1)[faces]
    corners = vertices[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    solid = size > 1e-12
    place, normal = place[solid], normal[solid] / size[solid, None]
    count = len(first)
    # All sides of all faces, the lower corner first, as one whole number each: equal numbers lie side by side
    # once sorted, so that what two faces share, and what only one has, shows without a search.
    sides = np.sort(np.concatenate([place[:, [0, 1]], place[:, [1, 2]], place[:, [2, 0]]]), axis=1)
    face = np.tile(np.arange(len(place)), 3)
    key = sides[:, 0].astype(np.int64) * count + sides[:, 1]
    order = np.argsort(key, kind="stable")
    key, face = key[order], face[order]
    starts = np.flatnonzero(np.diff(key, prepend=-1))
    times = np.diff(np.append(starts, len(key)))
    one, other = face[starts], face[np.minimum(starts + 1, len(key) - 1)]
    bent = (normal[one] * normal[other]).sum(axis=1) < SHARP_COSINE
    sharp = starts[(times != 2) | bent]
    ends = np.column_stack([key[sharp] // count, key[sharp] % count])
    result: Points = vertices[first[ends]]
    return result
