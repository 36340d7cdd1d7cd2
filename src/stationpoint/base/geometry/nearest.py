"""Nearest points on triangles, however many: blocks of neighbours are looked at by their bounds first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.order import distinct, stable_order
from stationpoint.base.geometry.vectors import dot

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

LEAST_BLOCK, MOST_BLOCKS = 8, 4096
GROUP = 32  # neighbouring blocks whose common bounds are looked at first
AT_ONCE = 1 << 22  # bounds, or triangles, that are tried at once


@dataclass(frozen=True, slots=True, eq=False)
class TriangleBlocks:
    """Triangles in blocks of neighbours. corners: (b, size, 3, 3), the last one of all repeated to fill up.
    face: (b, size) the number of each triangle. each_low, each_high: (b, size, 3) its bounds. low, high:
    (b, 3) bounds of the blocks. group_low, group_high: (g, 3) bounds of every 32 of them. part: (g,) of which
    of several sets of triangles they are."""

    corners: Points
    face: Whole
    each_low: Points
    each_high: Points
    low: Points
    high: Points
    group_low: Points
    group_high: Points
    part: Whole


def triangle_blocks(corners: Points) -> TriangleBlocks:
    """Triangles (n, 3, 3) in blocks of neighbours."""
    face = _neighbours(corners, len(corners))
    return _bounded(corners, face, np.zeros(-(-len(face) // GROUP), dtype=np.intp))


def joined_blocks(parts: Sequence[Points]) -> TriangleBlocks:
    """Several sets of triangles (n, 3, 3), numbered through, in blocks. For nearest_face alone: a set's last
    block may stand there more than once."""
    faces, start = list[Whole](), 0
    for corners in parts:
        face = _neighbours(corners, max(map(len, parts)))
        faces.append(start + face[np.minimum(np.arange(-(-len(face) // GROUP) * GROUP), len(face) - 1)])
        start += len(corners)
    part = np.repeat(np.arange(len(parts)), [len(face) // GROUP for face in faces])
    return _bounded(np.concatenate(parts), np.concatenate(faces), part)


def _neighbours(corners: Points, most: int) -> Whole:
    """The numbers of triangles in blocks of a size for `most` of them, (b, size)."""
    size = max(LEAST_BLOCK, -(-most // MOST_BLOCKS))
    order = _sorted(np.stack([(a + b + c) / 3.0 for a, b, c in corners.transpose(2, 1, 0)]))
    count = -(-len(order) // size)
    filled = np.concatenate([order, np.repeat(order[-1:], count * size - len(order))])
    return filled.reshape(count, size)


def _bounded(corners: Points, face: Whole, part: Whole) -> TriangleBlocks:
    grouped = corners[face]
    each_low, each_high = np.empty((3, *face.shape)), np.empty((3, *face.shape))
    for axis in range(3):  # numbers of an axis side by side in memory, as numpy is quick with
        a, b, c = (grouped[:, :, k, axis] for k in range(3))
        np.minimum(np.minimum(a, b), c, out=each_low[axis])
        np.maximum(np.maximum(a, b), c, out=each_high[axis])
    low, high = each_low.min(axis=2), each_high.max(axis=2)
    starts = np.arange(0, len(face), GROUP)
    group_low, group_high = (
        np.minimum.reduceat(low, starts, axis=1),
        np.maximum.reduceat(high, starts, axis=1),
    )
    each_low, each_high, low, high, group_low, group_high = (
        np.moveaxis(each, 0, -1) for each in (each_low, each_high, low, high, group_low, group_high)
    )
    return TriangleBlocks(grouped, face, each_low, each_high, low, high, group_low, group_high, part)


def _sorted(middles: Points) -> Whole:
    """Order in which neighbours (3, n) stand together: along a Z-shaped curve through 1024 cells a side
    (Morton 1966)."""
    low = middles.min(axis=1, keepdims=True)
    size = max(float((middles.max(axis=1, keepdims=True) - low).max()), 1e-30)
    cell = ((middles - low) / size * 1023.0).astype(np.uint32)
    for shift, kept in ((16, 0x030000FF), (8, 0x0300F00F), (4, 0x030C30C3), (2, 0x09249249)):
        cell = (cell | cell << shift) & kept  # two zeros between the bits of each
    return stable_order(cell[0] | cell[1] << 1 | cell[2] << 2)


def faces_meeting(those: TriangleBlocks, low: Points, high: Points) -> Whole:
    """The numbers of the triangles whose bounds meet a box from low to high (3,), rising."""
    block = np.flatnonzero(((those.low <= high) & (those.high >= low)).all(axis=1))
    near = ((those.each_low[block] <= high) & (those.each_high[block] >= low)).all(axis=2)
    found: Whole = distinct(those.face[block][near])  # the last one of all stands there more than once
    return found


def nearest_face(
    those: TriangleBlocks, points: Points, within: float = np.inf, part: Whole | None = None
) -> tuple[Points, Whole]:
    """The nearest point on any of the triangles to each point (n, 3), and the number of that triangle.

    within: how far is looked; where nothing is so near, any one that is farther is given. part: (n,) of which
    set of triangles it must be, of joined ones.
    """
    found, face = np.empty_like(points), np.zeros(len(points), dtype=np.intp)
    step = max(1, AT_ONCE // (GROUP + len(those.group_low)))
    for start in range(0, len(points), step):
        some = slice(start, start + step)
        of = None if part is None else part[some]
        found[some], face[some] = _nearest_of_some(those, points[some], within, of)
    return found, face


def _nearest_of_some(
    those: TriangleBlocks, points: Points, within: float, part: Whole | None
) -> tuple[Points, Whole]:
    size, row = those.corners.shape[1], np.arange(len(points))
    bound = _squared_gap(points, those.group_low, those.group_high)
    if part is not None:
        bound[those.part != part[:, None]] = np.inf
    # A first guess, from the nearest block of the nearest group: what is farther is never looked at.
    member = members(those, bound.argmin(axis=1))
    first = member[row, _squared_gap(points, those.low, those.high, member).argmin(axis=1)]
    found = _Found(np.empty_like(points), np.full(len(points), np.inf), np.zeros(len(points), dtype=np.intp))
    found.try_blocks(those, points, row, first)
    limit2 = np.minimum(found.squared, within * within)
    who, group = np.nonzero(bound < limit2[:, None])
    member = members(those, group)
    gap = _squared_gap(points[who], those.low, those.high, member)
    near = (gap < limit2[who][:, None]) & (member != first[who][:, None])
    pair, place = once(near, member)
    who, block, gap = who[pair], member[pair, place], gap[pair, place]
    # The nearest of these leave few of the others, and of their triangles.
    lead = least_of_each(who, gap)
    found.try_blocks(those, points, who[lead], block[lead])
    left = gap < np.minimum(found.squared, limit2)[who]
    left[lead] = False
    who, block = who[left], block[left]
    for start in range(0, len(who), max(1, AT_ONCE // 8 // size)):
        w, b = (one[start : start + max(1, AT_ONCE // 8 // size)] for one in (who, block))
        # Single triangles by their bounds as well, the nearest first.
        each = _squared_gap(points[w], those.each_low, those.each_high, b)
        pair, k = np.nonzero(each < np.minimum(found.squared, limit2)[w][:, None])
        w, b, each = w[pair], b[pair], each[pair, k]
        lead = least_of_each(w, each)
        found.try_faces(those, points, w[lead], b[lead], k[lead])
        left = each < found.squared[w]
        left[lead] = False
        found.try_faces(those, points, w[left], b[left], k[left])
    return found.at, found.face


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """The nearest so far to n points. at: (n, 3). squared: (n,) its squared distance. face: (n,)."""

    at: Points
    squared: Points
    face: Whole

    def try_blocks(self, those: TriangleBlocks, points: Points, who: Whole, block: Whole) -> None:
        """Try all triangles of a block for each of some points, each once."""
        size = those.corners.shape[1]
        w, b = np.repeat(who, size), np.repeat(block, size)
        self.try_faces(those, points, w, b, np.tile(np.arange(size), len(who)))

    def try_faces(self, those: TriangleBlocks, points: Points, who: Whole, block: Whole, k: Whole) -> None:
        """Try the k-th triangle of a block for each of some points, which may recur, in order."""
        if not len(who):
            return
        at = nearest_on_triangles(points[who], those.corners[block, k])
        away = at - points[who]
        squared = dot(away, away)
        leads = least_of_each(who, squared)
        leads = leads[squared[leads] < self.squared[who[leads]]]
        one = who[leads]
        self.squared[one], self.at[one] = squared[leads], at[leads]
        self.face[one] = those.face[block[leads], k[leads]]


def least_of_each(who: Whole, value: Points) -> Whole:
    """Where the least value of each one stands, of several the first. who: (n,) in order."""
    if not len(who):
        return np.zeros(0, dtype=np.intp)
    starts = first_of_each(who)
    least = np.minimum.reduceat(value, starts)
    some = np.flatnonzero(~(value > np.repeat(least, np.diff(starts, append=len(who)))))
    found: Whole = some[first_of_each(who[some])]
    return found


def first_of_each(who: Whole) -> Whole:
    """Where each one stands first. who: (n,) in order, none empty."""
    new = np.empty(len(who), dtype=bool)
    new[:1] = True
    np.not_equal(who[1:], who[:-1], out=new[1:])
    return np.flatnonzero(new)


def members(those: TriangleBlocks, group: Whole) -> Whole:
    """The blocks of each group, (n, 32), the last one of all repeated to fill up."""
    found: Whole = np.minimum(group[:, None] * GROUP + np.arange(GROUP), len(those.low) - 1)
    return found


def once(near: Bits, member: Whole) -> tuple[Whole, Whole]:
    """Rows and columns of the `members` (n, 32) that are near: the last block, which stands for those that
    a last, smaller group lacks, once."""
    rows, columns = np.nonzero(near)
    single = (columns == 0) | (member[rows, columns] != member[rows, columns - 1])
    return rows[single], columns[single]


def _squared_gap(points: Points, low: Points, high: Points, box: Whole | None = None) -> Points:
    """Squared distances, (n, m), from each point (n, 3) to m boxes, 0 inside. low, high: (m, 3), or of more
    boxes than these; box: numbers of each one's, (n, m), or (n,) of such as hold m boxes each."""
    total: Points | None = None
    for axis in range(3):
        at, least, most = points[:, axis, None], low[..., axis], high[..., axis]
        if box is not None:
            least, most = least.take(box, axis=0), most.take(box, axis=0)
        gap = np.maximum(at, least)
        np.minimum(gap, most, out=gap)
        gap -= at
        gap *= gap
        total = gap if total is None else np.add(total, gap, out=total)
    assert total is not None
    return total


def nearest_on_triangles(points: Points, triangles: Points) -> Points:
    """Nearest points on triangles (..., 3, 3) to points (..., 3), broadcast (Ericson 2005, 5.1.5)."""
    shape = np.broadcast_shapes(points.shape, (*triangles.shape[:-2], 3))
    p = np.broadcast_to(points, shape).reshape(-1, 3).T
    t = np.broadcast_to(triangles, (*shape, 3)).reshape(-1, 3, 3).transpose(1, 2, 0)
    return nearest_in_rows(np.ascontiguousarray(p), np.ascontiguousarray(t)).T.reshape(shape)


def nearest_in_rows(points: Points, triangles: Points) -> Points:
    """Nearest points (3, n) on n triangles (3 corners, 3, n) to n points (3, n): long rows of numbers, as
    numpy is quick with."""
    a = triangles[0]
    edges = triangles[1:] - a
    along = edges[:, None] * (points - triangles)
    (d1, d3, d5), (d2, d4, d6) = along[:, :, 0] + along[:, :, 1] + along[:, :, 2]
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    with np.errstate(divide="ignore", invalid="ignore"):
        whole = va + vb + vc
        v, w = vb / whole, vc / whole
        # The edges, then the corners: the later ones outrank the earlier.
        k = np.flatnonzero((va <= 0) & (d4 >= d3) & (d5 >= d6))
        w[k] = (d4[k] - d3[k]) / ((d4[k] - d3[k]) + (d5[k] - d6[k]))
        v[k] = 1.0 - w[k]
        k = np.flatnonzero((vb <= 0) & (d2 >= 0) & (d6 <= 0))
        v[k], w[k] = 0.0, d2[k] / (d2[k] - d6[k])
        k = np.flatnonzero((vc <= 0) & (d1 >= 0) & (d3 <= 0))
        v[k], w[k] = d1[k] / (d1[k] - d3[k]), 0.0
    for there, v_there, w_there in (
        ((d6 >= 0) & (d5 <= d6), 0.0, 1.0),
        ((d3 >= 0) & (d4 <= d3), 1.0, 0.0),
        ((d1 <= 0) & (d2 <= 0), 0.0, 0.0),
    ):
        k = np.flatnonzero(there)
        v[k], w[k] = v_there, w_there
    at: Points = a + v * edges[0] + w * edges[1]
    return at
