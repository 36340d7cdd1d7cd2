"""Polygons cut into triangles: fans where they bulge out, along other diagonals where they are bent in."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.order import distinct
from stationpoint.scene.meshes.part import MeshPart, Unreadable, check_size, is_closed, used_vertices

MOST_CORNERS = 10_000  # of one polygon; above, cutting it takes seconds and starts threads
AT_ONCE = 1_000_000  # corners worked on at once, for the memory that they take

Points = NDArray[np.float64]
Indices = NDArray[np.int64]


def part_of(name: str, points: Points, corners: Indices, counts: Indices) -> MeshPart | None:
    """Polygons as a part with the vertices that they use; None where there is no face at all.

    points: (n, 3). corners: vertex numbers from 0, polygon after polygon; counts: how many each has.
    """
    if len(corners) and not (corners.min() >= 0 and corners.max() < len(points)):
        asked = int(corners.max()) + 1 if corners.max() >= len(points) else "0 or one before the first"
        raise Unreadable(f"is cut off or wrong: a face asks for vertex {asked} of {len(points)}.")
    most = int(counts.max(initial=0))
    if most > MOST_CORNERS:
        raise Unreadable(
            f"has a polygon of {most} corners; at most {MOST_CORNERS} are read. Export it as triangles."
        )
    check_size(1, min(len(points), len(corners)), int(np.maximum(counts - 2, 0).sum()))
    if not np.isfinite(points).all():
        drawn = corners[np.repeat(counts >= 3, counts)]
        if not np.isfinite(points[drawn]).all():
            raise Unreadable("has a vertex whose position is not a finite number.")
    cut = triangles(points, corners, counts)
    if not len(cut):
        return None
    used, faces = used_vertices(cut)
    vertices = points[used]
    return MeshPart(name, vertices, faces, is_closed(vertices, faces))


def triangles(points: Points, corners: Indices, counts: Indices) -> Indices:
    """Triangles (m, 3) of polygons in file order.

    points: (n, 3). corners: vertex numbers, polygon after polygon; counts: how many each has.
    Polygons of fewer than three corners have no area and are left out.
    """
    if (counts == 3).all():
        return corners.reshape(-1, 3)
    starts = np.cumsum(counts) - counts
    found: list[Indices] = []
    order: list[Indices] = []
    for count in distinct(counts[counts >= 3]):
        rows = np.flatnonzero(counts == count)
        for some in np.array_split(rows, len(rows) * count // AT_ONCE + 1):
            polygons = corners[starts[some][:, None] + np.arange(count)]
            cut = polygons[:, None, :] if count == 3 else _cut(points, polygons)
            found.append(cut.reshape(-1, 3))
            order.append(np.repeat(some, cut.shape[1]))
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
    arms = points[polygons[:, 1:]] - points[polygons[:, :1]]
    normals = np.cross(arms[:, :-1], arms[:, 1:])
    whole = normals.sum(axis=1, keepdims=True)
    bent = ((normals * whole).sum(axis=2) < 0).any(axis=1)
    if count == 4:  # bent in at an end of one diagonal: that one is right
        cut[bent] = polygons[bent][:, np.array([(3, 0, 1), (1, 2, 3)])]
        return cut
    for row in np.flatnonzero(bent):
        cut[row] = polygons[row][_diagonals(_flat(points[polygons[row]], whole[row, 0]))]
    return cut


def _flat(polygon: Points, normal: Points) -> Points:
    """A polygon (c, 3) in its own plane, (c, 2), counterclockwise."""
    axis = int(np.argmax(np.abs(normal)))
    keep = [(1, 2), (2, 0), (0, 1)][axis]
    flat: Points = polygon[:, keep]
    return flat if normal[axis] > 0 else flat[:, ::-1]


def _diagonals(polygon: Points) -> Indices:
    """A counterclockwise polygon (c, 2) as c - 2 triples of its corners; it may touch itself."""
    import manifold3d  # late: most files have no such polygon

    triples: Indices = manifold3d.triangulate([np.ascontiguousarray(polygon)]).astype(np.int64)
    return triples
