"""A sphere that moves along a straight line, and a rectangle, against triangles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import TriangleBlocks
from stationpoint.base.geometry.vectors import cross, dot, length

Points = NDArray[np.float64]
Bits = NDArray[np.bool_]
Span = tuple[Points, Points]  # from where to where along a line, (n,); nothing where the first is larger

STILL = 1e-12  # a rate this small changes nothing


def touched(start: Points, way: Points, radius: float, corners: Points) -> Span:
    """From where to where along a line a sphere touches triangles (n, 3, 3), metres from its start, (n,).

    start: (3,) its centre. way: (3,) unit. Touching goes on without a break, since a triangle is convex;
    infinity and minus infinity where it never comes to be. Faces count from both sides. Source: geometry
    (Ericson 2005, 5.5: the line against the triangle grown by the radius, which is a slab over its face, a
    cylinder round each edge and a ball round each corner). Worked: radius .5 from 0, 0, 0 along x to a
    triangle in the plane x = 3 round that axis: 2.5 to 3.5.
    """
    edges = corners[:, [1, 2, 0]] - corners  # from each corner to the one after it
    normal = cross(edges[:, 0], edges[:, 1])
    size = length(normal)
    normal = normal / np.where(size > 0.0, size, 1.0)[:, None]
    to = start - corners
    over = _between(dot(to[:, 0], normal), normal @ way, -radius, radius)
    inwards = cross(normal[:, None], edges)
    side = _between(dot(to, inwards), inwards @ way, 0.0, np.inf)
    over = np.maximum(over[0], side[0].max(axis=1)), np.minimum(over[1], side[1].min(axis=1))
    first, last = _kept(over, size > 0.0)
    squared = dot(edges, edges)
    safe = np.where(squared > 0.0, squared, 1.0)
    along, rate = dot(to, edges) / safe, edges @ way / safe
    round_edge = _within(to - along[..., None] * edges, way - rate[..., None] * edges, radius)
    beside = _between(along, rate, 0.0, 1.0)
    tube = np.maximum(round_edge[0], beside[0]), np.minimum(round_edge[1], beside[1])
    for part in (_kept(tube, squared > 0.0), _within(to, way, radius)):
        real = part[0] <= part[1]
        first = np.minimum(first, np.where(real, part[0], np.inf).min(axis=1))
        last = np.maximum(last, np.where(real, part[1], -np.inf).max(axis=1))
    return first, last


def crossed(middle: Points, across: Points, up: Points, corners: Points) -> Bits:
    """Which triangles (n, 3, 3) a flat rectangle crosses, (n,).

    middle: (3,). across, up: (3,) from there to the middle of two of its sides, at right angles. A triangle
    that lies in its plane is not crossed. Source: geometry. Worked: 2 x 2 m round the origin, facing x, and
    a triangle (-1, 0, 0), (1, 0, 0), (0, 0, 5): crossed from 0, 0, 0 to 0, 0, 5, of which 1 m is within.
    """
    to = corners - middle
    off = to @ np.cross(across, up)
    x, y = to @ across / (across @ across), to @ up / (up @ up)
    ends = np.full((2, 2, len(corners)), np.nan)  # where its sides cross the plane: end, x and y
    for k, after in ((0, 1), (1, 2), (2, 0)):
        there = np.flatnonzero((off[:, k] >= 0.0) != (off[:, after] >= 0.0))
        share = off[there, k] / (off[there, k] - off[there, after])
        end = np.isfinite(ends[0, 0, there]).astype(np.intp)
        for axis, at in enumerate((x, y)):
            ends[end, axis, there] = at[there, k] + share * (at[there, after] - at[there, k])
    first, last = np.zeros(len(corners)), np.ones(len(corners))
    for begin, end in zip(ends[0], ends[1], strict=True):
        within = _between(begin, end - begin, -1.0, 1.0)
        first, last = np.maximum(first, within[0]), np.minimum(last, within[1])
    result: Bits = first <= last
    return result


def near_segment(those: TriangleBlocks, start: Points, end: Points, room: float) -> Points:
    """The triangles (k, 3, 3) whose bounds a segment comes as near to as `room`."""
    block = np.flatnonzero(meets(those.low - room, those.high + room, start, end))
    near = meets(those.each_low[block] - room, those.each_high[block] + room, start, end)
    single = np.zeros_like(near)  # of the last block, what repeats its last triangle is left out
    single[:, 0] = True
    single[:, 1:] = those.face[block, 1:] != those.face[block, :-1]
    found: Points = those.corners[block][near & single]
    return found


def meets(low: Points, high: Points, start: Points, end: Points) -> Bits:
    """Whether a segment meets boxes (..., 3)."""
    first, last = np.zeros(low.shape[:-1]), np.ones(low.shape[:-1])
    for axis, (at, rate) in enumerate(zip(start.tolist(), (end - start).tolist(), strict=True)):
        if abs(rate) < STILL:
            last[(at < low[..., axis]) | (at > high[..., axis])] = -1.0
            continue
        into, out = (low, high) if rate > 0.0 else (high, low)
        np.maximum(first, (into[..., axis] - at) / rate, out=first)
        np.minimum(last, (out[..., axis] - at) / rate, out=last)
    result: Bits = first <= last
    return result


def _between(at: Points | float, rate: Points | float, low: Points | float, high: Points | float) -> Span:
    """Where low <= at + rate t <= high, from and to."""
    still = np.abs(rate) < STILL
    with np.errstate(invalid="ignore"):
        one, other = ((end - at) / np.where(still, 1.0, rate) for end in (low, high))
        within = (low <= np.asarray(at)) & (np.asarray(at) <= high)
    first = np.where(still, np.where(within, -np.inf, np.inf), np.minimum(one, other))
    return first, np.where(still, np.where(within, np.inf, -np.inf), np.maximum(one, other))


def _within(to: Points, way: Points, radius: float) -> Span:
    """Where |to + way t| <= radius, from and to; vectors in the last axis."""
    a, b = dot(way, way), dot(to, way)
    nearest = to - (b / np.where(a > STILL, a, 1.0))[..., None] * way  # where it is nearest to the middle
    rest = radius * radius - dot(nearest, nearest)
    still = a <= STILL
    half = np.sqrt(np.maximum(rest, 0.0) / np.where(still, 1.0, a))
    middle = -b / np.where(still, 1.0, a)
    hit = rest >= 0.0
    first = np.where(hit, np.where(still, -np.inf, middle - half), np.inf)
    return first, np.where(hit, np.where(still, np.inf, middle + half), -np.inf)


def _kept(span: Span, good: Bits) -> Span:
    """The spans that are good and not empty; infinity and minus infinity for the rest."""
    real = good & (span[0] <= span[1])
    return np.where(real, span[0], np.inf), np.where(real, span[1], -np.inf)
