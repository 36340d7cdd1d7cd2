"""Shapes in a plane: hulls, areas, smallest rectangles, what is inside, what is cut off."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Bits = NDArray[np.bool_]

FEW_POINTS, MANY_POINTS = 64, 128
TURNS = np.pi / 8 * np.arange(8)
WAYS = np.column_stack([np.cos(TURNS), np.sin(TURNS)])  # (8, 2): half of sixteen directions, counterclockwise
NEXT = np.arange(1, 17) % 16  # of a ring of sixteen
SURELY_INSIDE = 1e-13  # of a turn between points within -1..1: far beyond its rounding
SURELY = 4.0 * np.finfo(np.float64).eps  # a turn is certain beyond this share of the products that make it


def convex_hull(points: Points) -> Points:
    """Corners (m, 2) of the convex hull of points (n, 2): some of the points themselves, none twice.

    From the lowest of the leftmost, counterclockwise where y is up; the two ends of points on a line, one
    of points that are all the same. However near to each other or to a line points lie, none is
    outside by more than rounding. Source: Andrew 1979. Worked: a circle of 40 points, each twice: the 40.
    """
    exponent = -int(np.frexp(float(np.abs(points).max(initial=0.0)))[1])
    if len(points) > MANY_POINTS:
        points = points[_outer(np.ldexp(points, exponent))]
    if 0 < len(points) <= FEW_POINTS:
        return _hull_of_few(points, exponent)
    scaled = np.ldexp(points, exponent)  # exact, within -1..1: no product overflows
    order = np.lexsort((scaled[:, 1], scaled[:, 0]))
    x, y = scaled[order].T
    new = np.ones(len(x), dtype=bool)
    new[1:] = (x[1:] != x[:-1]) | (y[1:] != y[:-1])
    order, x, y = order[new], x[new], y[new]
    lowest, highest = np.flatnonzero(np.diff(x, prepend=-1.0)), np.flatnonzero(np.diff(x, append=2.0))
    below = lowest[_chain(x[lowest], y[lowest])]
    above = highest[_chain(x[highest], -y[highest])]
    corners = list(dict.fromkeys([*below.tolist(), *above[::-1].tolist()]))
    hull: Points = points[order[corners]]
    return hull


def _outer(points: Points) -> NDArray[np.intp]:
    """Which of points (n, 2) within -1..1 may be corners of their hull: those not well inside the polygon of
    the outermost in a few directions."""
    ends = outermost(points)
    ring = points[ends]
    way = ring[NEXT] - ring
    # The turn from a side to a point, without the product of the side's own start, which is one number.
    turns = np.column_stack([-way[:, 1], way[:, 0]]) @ points.T
    limit = way[:, 0] * ring[:, 1] - way[:, 1] * ring[:, 0] + SURELY_INSIDE
    limit[(way == 0.0).all(axis=1)] = -np.inf
    kept = ~np.asarray((turns > limit[:, None]).all(axis=0))
    kept[ends] = True
    return np.flatnonzero(kept)


def outermost(points: Points) -> NDArray[np.intp]:
    """Which of points (n, 2) lie farthest out in sixteen directions, in order round them: their polygon is as
    large as their hull, or a little smaller."""
    along = WAYS @ points.T
    return np.concatenate([along.argmax(axis=1), along.argmin(axis=1)])


def _hull_of_few(points: Points, exponent: int) -> Points:
    """The same of few points, one by one: arrays cost more to set up than they save. exponent: of the power
    of two that brings the points within -1..1."""
    scaled = np.ldexp(points, exponent).tolist()
    lowest: list[tuple[float, float, int]] = []
    highest: list[tuple[float, float, int]] = []
    for at in sorted((x, y, k) for k, (x, y) in enumerate(scaled)):
        if not lowest or at[0] != lowest[-1][0]:
            lowest.append(at)
            highest.append(at)
        elif at[1] != highest[-1][1]:
            highest[-1] = at
    below = lower_chain(lowest)
    above = lower_chain([(x, -y, k) for x, y, k in highest])
    hull: Points = points[np.array(list(dict.fromkeys([*below, *above[::-1]])), dtype=np.intp)]
    return hull


def _chain(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.intp]:
    """Which of points (n,), each farther right than the last, are corners of their hull's lower side.

    A point goes in favour of its neighbours only where rounding cannot have made it seem above their line:
    of two that nearly coincide each would else go in favour of the other. In the scan that follows, what
    goes lies within rounding of a line between two that stay, or were there in its place.
    """
    kept = np.arange(len(x))
    while len(kept) > FEW_POINTS:  # most go here, all at once
        right, up = np.diff(x[kept]), np.diff(y[kept])
        one, other = right[:-1] * up[1:], up[:-1] * right[1:]
        above = other - one > SURELY * (np.abs(one) + np.abs(other))
        kept = kept[np.concatenate([[True], ~above, [True]])]
        if 4 * np.count_nonzero(above) < len(above):
            break
    return np.array(
        lower_chain(zip(x[kept].tolist(), y[kept].tolist(), kept.tolist(), strict=True)), dtype=np.intp
    )


def lower_chain(points: Iterable[tuple[float, float, int]]) -> list[int]:
    """Of points (x, y, name), each farther right than the last, the names of their hull's lower corners."""
    chain: list[tuple[float, float, int]] = []
    for px, py, k in points:
        while len(chain) > 1:
            (ax, ay, _), (bx, by, _) = chain[-2], chain[-1]
            if (bx - ax) * (py - ay) - (by - ay) * (px - ax) > 0:
                break
            chain.pop()
        chain.append((px, py, k))
    return [k for _, _, k in chain]


def polygon_area(corners: Points) -> float:
    """Area inside a polygon (n, 2), whichever way round."""
    x, y = (corners - corners[0]).T
    return abs(float(x[:-1] @ y[1:] - y[:-1] @ x[1:])) / 2.0


def smallest_rectangle(hull: Points) -> Points:
    """Corners (4, 2), in order, of the smallest-area rectangle round a convex polygon (n, 2).

    One of its sides lies on a side of the polygon (Freeman and Shapira 1975), so all are tried.
    """
    if len(hull) < 3:
        return np.concatenate([hull, hull[::-1]])[[0, 0, -1, -1]] if len(hull) == 1 else hull[[0, 1, 1, 0]]
    sides = np.concatenate([hull[1:], hull[:1]]) - hull
    along = sides / np.hypot(sides[:, 0], sides[:, 1])[:, None]
    across = along[:, ::-1] * (-1.0, 1.0)
    reach = hull @ np.concatenate([along, across]).T
    (u0, v0), (u1, v1) = reach.min(axis=0).reshape(2, -1), reach.max(axis=0).reshape(2, -1)
    k = int(np.argmin((u1 - u0) * (v1 - v0)))
    corners = [(u0[k], v0[k]), (u1[k], v0[k]), (u1[k], v1[k]), (u0[k], v1[k])]
    return np.array([a * along[k] + b * across[k] for a, b in corners])


def inside_convex(ring: Points, points: Points) -> Bits:
    """Which points (..., 2) lie in a convex polygon (n, 2), whichever way round; those on its edge do.

    Worked: the square from 0, 0 to 2, 2: (1, 1) and (2, 1) do, (3, 1) does not.
    """
    way, off = np.roll(ring, -1, axis=0) - ring, points[..., None, :] - ring
    turns = way[:, 0] * off[..., 1] - way[:, 1] * off[..., 0]
    return np.asarray((turns >= 0).all(axis=-1) | (turns <= 0).all(axis=-1))


def clipped(
    start: Points, end: Points, size: tuple[float, float], endless: bool = False
) -> tuple[Points, Points] | None:
    """The part of a stroke, (2,) to (2,), that lies in the box from 0, 0 to `size`; None if none does.

    endless: of the whole line through both. Source: Liang and Barsky 1984. Worked: from -10, 0 to
    110, 120 in 100 x 100: from 0, 10 to 90, 100.
    """
    way = end - start
    low, high = (-np.inf, np.inf) if endless else (0.0, 1.0)
    for k in (0, 1):
        if abs(way[k]) < 1e-9:
            if not 0.0 <= start[k] <= size[k]:
                return None
            continue
        near, far = sorted((-start[k] / way[k], (size[k] - start[k]) / way[k]))
        low, high = max(low, near), min(high, far)
    return (start + way * low, start + way * high) if low < high else None
