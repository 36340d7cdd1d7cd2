"""Nearest points on triangles, however many: blocks of neighbours are looked at by their bounds first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

LEAST_BLOCK, MOST_BLOCKS = 8, 4096
AT_ONCE = 1 << 22  # bounds, or triangles, that are tried at once


@dataclass(frozen=True, slots=True, eq=False)
class TriangleBlocks:
    """Triangles in blocks of neighbours. corners: (b, size, 3, 3), the last one of all repeated to fill up.
    face: (b, size) the number of each triangle. low, high: (b, 3) bounds of the blocks."""

    corners: Points
    face: Whole
    low: Points
    high: Points


def triangle_blocks(corners: Points) -> TriangleBlocks:
    """Triangles (n, 3, 3) in blocks of neighbours."""
    size = max(LEAST_BLOCK, -(-len(corners) // MOST_BLOCKS))
    order = _sorted(corners.mean(axis=1))
    count = -(-len(order) // size)
    face = np.concatenate([order, np.repeat(order[-1:], count * size - len(order))]).reshape(count, size)
    grouped = corners[face]
    return TriangleBlocks(grouped, face, grouped.min(axis=(1, 2)), grouped.max(axis=(1, 2)))


def _sorted(middles: Points) -> Whole:
    """Order in which neighbours stand together: along a Z-shaped curve through 1024 cells a side
    (Morton 1966), so that a million are sorted in a fifth of a second."""
    low = middles.min(axis=0)
    size = max(float((middles.max(axis=0) - low).max()), 1e-30)
    cell = ((middles - low) / size * 1023.0).astype(np.uint32)
    for shift, kept in ((16, 0x030000FF), (8, 0x0300F00F), (4, 0x030C30C3), (2, 0x09249249)):
        cell = (cell | cell << shift) & kept  # two zeros between the bits of each
    return np.argsort(cell[:, 0] | cell[:, 1] << 1 | cell[:, 2] << 2, kind="stable")


def nearest_face(those: TriangleBlocks, points: Points) -> tuple[Points, Whole]:
    """The nearest point on any of the triangles to each point (n, 3), and the number of that triangle."""
    found, face = np.empty_like(points), np.zeros(len(points), dtype=np.intp)
    step = max(1, AT_ONCE // len(those.low))
    for start in range(0, len(points), step):
        part = slice(start, start + step)
        found[part], face[part] = _nearest_of_some(those, points[part])
    return found, face


def _nearest_of_some(those: TriangleBlocks, points: Points) -> tuple[Points, Whole]:
    size = those.corners.shape[1]
    gap = np.maximum(np.maximum(those.low - points[:, None], points[:, None] - those.high), 0.0)
    bound = (gap * gap).sum(axis=2)
    first = bound.argmin(axis=1)
    at = nearest_on_triangles(points[:, None], those.corners[first])
    squared = ((at - points[:, None]) ** 2).sum(axis=2)
    k = squared.argmin(axis=1)
    row = np.arange(len(points))
    best, best2, face = at[row, k], squared[row, k], those.face[first, k]
    bound[row, first] = np.inf
    who, block = np.nonzero(bound < best2[:, None])
    for start in range(0, len(who), max(1, AT_ONCE // 8 // size)):
        w, b = (one[start : start + max(1, AT_ONCE // 8 // size)] for one in (who, block))
        at = nearest_on_triangles(points[w][:, None], those.corners[b])
        squared = ((at - points[w][:, None]) ** 2).sum(axis=2)
        k = squared.argmin(axis=1)
        near = squared[np.arange(len(w)), k]
        order = np.lexsort((near, w))
        leads = order[np.concatenate([[True], np.diff(w[order]) != 0])]
        leads = leads[near[leads] < best2[w[leads]]]
        best2[w[leads]], best[w[leads]] = near[leads], at[leads, k[leads]]
        face[w[leads]] = those.face[b[leads], k[leads]]
    return best, face


def nearest_on_triangles(points: Points, triangles: Points) -> Points:
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
