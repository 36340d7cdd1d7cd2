"""Polygons cut into triangles: quads by their better diagonal, larger ones by ears where they are bent in."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.scene.imported import Part, Unreadable, is_closed

Points = NDArray[np.float64]
Indices = NDArray[np.int64]


def part_of(name: str, points: Points, corners: Indices, counts: Indices) -> Part | None:
    """Polygons as a part with the vertices that they use; None where there is no face at all.

    points: (n, 3). corners: vertex numbers from 0, polygon after polygon; counts: how many each has.
    """
    if len(corners) and not (corners.min() >= 0 and corners.max() < len(points)):
        asked = int(corners.max()) + 1 if corners.max() >= len(points) else "0 or one before the first"
        raise Unreadable(f"is cut off or wrong: a face asks for vertex {asked} of {len(points)}.")
    cut = triangles(points, corners, counts)
    if not len(cut):
        return None
    first = int(cut.min())  # a part's vertices mostly lie together in its file
    used = np.zeros(int(cut.max()) - first + 1, dtype=bool)
    used[cut - first] = True
    faces = (np.cumsum(used) - 1)[cut - first].astype(np.int32)
    vertices = points[first:][: len(used)][used]
    if not np.isfinite(vertices).all():
        raise Unreadable("has a vertex whose position is not a finite number.")
    return Part(name, vertices, faces, is_closed(vertices, faces))


def triangles(points: Points, corners: Indices, counts: Indices) -> Indices:
    """Triangles (m, 3) of polygons in file order.

    points: (n, 3). corners: vertex numbers, polygon after polygon; counts: how many each has.
    Polygons of fewer than three corners have no area and are left out.
    """
    starts = np.cumsum(counts) - counts
    found: list[Indices] = []
    order: list[Indices] = []
    for count in np.unique(counts[counts >= 3]):
        rows = np.flatnonzero(counts == count)
        polygons = corners[starts[rows][:, None] + np.arange(count)]
        cut = polygons[:, None, :] if count == 3 else _cut(points, polygons)
        found.append(cut.reshape(-1, 3))
        order.append(np.repeat(rows, cut.shape[1]))
    if not found:
        return np.zeros((0, 3), dtype=np.int64)
    if len(found) == 1:
        return found[0]
    return np.concatenate(found)[np.argsort(np.concatenate(order), kind="stable")]


def _cut(points: Points, polygons: Indices) -> Indices:
    """Polygons (k, c) of one size as triangles (k, c - 2, 3)."""
    count = polygons.shape[1]
    fan = np.stack(
        [np.zeros(count - 2, dtype=np.int64), np.arange(1, count - 1), np.arange(2, count)], axis=1
    )
    cut = polygons[:, fan]
    a, b, c = (points[cut[:, :, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    whole = normals.sum(axis=1, keepdims=True)
    bent = ((normals * whole).sum(axis=2) < 0).any(axis=1)
    for row in np.flatnonzero(bent):
        cut[row] = polygons[row][_ears(_flat(points[polygons[row]], whole[row, 0]))]
    return cut


def _flat(polygon: Points, normal: Points) -> Points:
    """A polygon (c, 3) in its own plane, (c, 2), counterclockwise."""
    axis = int(np.argmax(np.abs(normal)))
    keep = [(1, 2), (2, 0), (0, 1)][axis]
    flat: Points = polygon[:, keep]
    return flat if normal[axis] > 0 else flat[:, ::-1]


def _ears(polygon: Points) -> Indices:
    """Ear clipping of a counterclockwise polygon (c, 2): c - 2 triples of corners."""
    left = list(range(len(polygon)))
    found: list[tuple[int, int, int]] = []
    while len(left) > 3:
        best = next((k for k in range(len(left)) if _is_ear(polygon, left, k)), 0)  # 0: crosses itself
        found.append((left[best - 1], left[best], left[(best + 1) % len(left)]))
        del left[best]
    found.append((left[0], left[1], left[2]))
    return np.array(found, dtype=np.int64)


def _is_ear(polygon: Points, left: list[int], k: int) -> bool:
    a, b, c = left[k - 1], left[k], left[(k + 1) % len(left)]
    corner = polygon[[a, b, c]]
    if _turn(corner[0], corner[1], corner[2]) <= 0:
        return False
    others = polygon[[n for n in left if n not in (a, b, c)]]
    inside = np.ones(len(others), dtype=bool)
    for start, end in ((0, 1), (1, 2), (2, 0)):
        inside &= _turns(corner[start], corner[end], others) >= 0
    return not inside.any()


def _turn(a: Points, b: Points, c: Points) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _turns(a: Points, b: Points, others: Points) -> Points:
    turns: Points = (b[0] - a[0]) * (others[:, 1] - a[1]) - (b[1] - a[1]) * (others[:, 0] - a[0])
    return turns
