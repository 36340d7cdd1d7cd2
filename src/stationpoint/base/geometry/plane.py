"""Shapes in a plane of pixels: hulls, areas, smallest rectangles, connected pieces, outlines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Mask = NDArray[np.bool_]

FEW_POINTS = 24
SURELY = 4.0 * np.finfo(np.float64).eps  # a turn is certain beyond this share of the products that make it


def convex_hull(points: Points) -> Points:
    """Corners (m, 2) of the convex hull of points (n, 2): some of the points themselves, none twice.

    From the lowest of the leftmost, counterclockwise where y is up; the two ends of points on a line, one
    of points that are all the same. However near to each other or to a line points lie, none is
    outside by more than rounding. Source: Andrew 1979. Worked: a circle of 40 points, each twice: the 40.
    """
    size = float(np.abs(points).max(initial=0.0))
    scaled = np.ldexp(points, -int(np.frexp(size)[1]))  # exact, within -1..1: no product overflows
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
    chain: list[tuple[float, float, int]] = []
    for px, py, k in zip(x[kept].tolist(), y[kept].tolist(), kept.tolist(), strict=True):
        while len(chain) > 1:
            (ax, ay, _), (bx, by, _) = chain[-2:]
            if (bx - ax) * (py - ay) - (by - ay) * (px - ax) > 0:
                break
            chain.pop()
        chain.append((px, py, k))
    return np.array([k for _, _, k in chain], dtype=np.intp)


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
    sides = np.diff(hull, axis=0, append=hull[:1])
    along = sides / np.hypot(sides[:, 0], sides[:, 1])[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    u, v = hull @ along.T, hull @ across.T
    u0, u1, v0, v1 = u.min(axis=0), u.max(axis=0), v.min(axis=0), v.max(axis=0)
    k = int(np.argmin((u1 - u0) * (v1 - v0)))
    corners = [(u0[k], v0[k]), (u1[k], v0[k]), (u1[k], v1[k]), (u0[k], v1[k])]
    return np.array([a * along[k] + b * across[k] for a, b in corners])


def runs(mask: Mask) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Rows, starts and ends (one past the last) of the runs of true pixels, in reading order."""
    height, width = mask.shape
    padded = np.zeros((height, width + 2), dtype=np.int8)
    padded[:, 1:-1] = mask
    step = np.diff(padded, axis=1).ravel()
    starts, ends = np.flatnonzero(step == 1), np.flatnonzero(step == -1)
    row = starts // (width + 1)
    return row, starts - row * (width + 1), ends - row * (width + 1)


def largest_piece(mask: Mask) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Runs (rows, starts, ends) of the largest 8-connected piece of a mask; the first of equals."""
    row, start, end = runs(mask)
    if len(row) < 2:
        return row, start, end
    label = _labels(row, start, end, mask.shape[1])
    sizes = np.bincount(label, weights=end - start)
    chosen = label == int(np.argmax(sizes))
    return row[chosen], start[chosen], end[chosen]


def _labels(
    row: NDArray[np.intp], start: NDArray[np.intp], end: NDArray[np.intp], width: int
) -> NDArray[np.intp]:
    """For each run the lowest index of a run in the same 8-connected piece."""
    stride = width + 2
    # Runs j of the next row touch run i if start_j <= end_i and end_j >= start_i (corners count).
    first = np.searchsorted(row * stride + end, (row + 1) * stride + start, side="left")
    last = np.searchsorted(row * stride + start, (row + 1) * stride + end, side="right")
    count = np.maximum(last - first, 0)
    above = np.repeat(np.arange(len(row)), count)
    offsets = np.arange(len(above)) - np.repeat(np.cumsum(count) - count, count)
    below = np.repeat(first, count) + offsets
    label = np.arange(len(row))
    while len(above):
        low = np.minimum(label[above], label[below])
        before = label.copy()
        np.minimum.at(label, before[above], low)
        np.minimum.at(label, before[below], low)
        label = label[label]
        if np.array_equal(before, label):
            break
    return label


def corners_of_runs(row: NDArray[np.intp], start: NDArray[np.intp], end: NDArray[np.intp]) -> Points:
    """Corners of the pixels at the ends of runs, (n, 2): same hull as all the pixels' squares."""
    x = np.concatenate([start, start, end, end])
    y = np.concatenate([row, row + 1, row, row + 1])
    return np.column_stack([x, y]).astype(np.float64)


def outline(mask: Mask) -> Points:
    """Closed outlines of all pieces and holes, (n, 2) pixels, parted by nan rows.

    They run through the middles of the pixels' outer edges, so that slanted edges come out smooth.
    """
    padded = np.zeros((mask.shape[0] + 2, mask.shape[1] + 2), dtype=bool)
    padded[1:-1, 1:-1] = mask
    inner, stride = padded[1:-1, 1:-1], mask.shape[1] + 1
    # Each outer edge of a pixel, directed so that the mask lies to its right (y is down): its pixel,
    # and from which to which corner of the pixel it runs.
    begin, finish = [], []
    for neighbour, start, end in (
        (padded[:-2, 1:-1], 0, 1),
        (padded[1:-1, 2:], 1, stride + 1),
        (padded[2:, 1:-1], stride + 1, stride),
        (padded[1:-1, :-2], stride, 0),
    ):
        pixel = np.flatnonzero(inner & ~neighbour)
        corner = pixel + pixel // mask.shape[1]
        begin.append(corner + start)
        finish.append(corner + end)
    first, last = np.concatenate(begin), np.concatenate(finish)
    if not len(first):
        return np.zeros((0, 2))
    middles = np.column_stack([first % stride + last % stride, first // stride + last // stride]) / 2.0
    # As many edges end at a vertex as begin there: the k-th end goes on with the k-th beginning.
    following = np.empty(len(first), dtype=np.intp)
    following[np.argsort(last, kind="stable")] = np.argsort(first, kind="stable")
    after, seen = following.tolist(), bytearray(len(first))
    parts: list[Points] = []
    for k in range(len(after)):
        if seen[k]:
            continue
        loop = []
        while not seen[k]:
            seen[k] = 1
            loop.append(k)
            k = after[k]
        parts += [_without_straights(middles[loop]), np.full((1, 2), np.nan)]
    return np.concatenate(parts[:-1])


def _without_straights(loop: Points) -> Points:
    """A closed loop without the points inside its straight runs, its first point repeated at the end."""
    x, y = np.diff(loop, axis=0, prepend=loop[-1:], append=loop[:1]).T
    kept = loop[x[1:] * y[:-1] != y[1:] * x[:-1]]
    return np.concatenate([kept, kept[:1]])
