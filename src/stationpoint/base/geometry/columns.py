"""Heights of triangles over a grid of spots, and which of them are a step apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.order import distinct
from stationpoint.base.geometry.triangles import height_over

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

EDGE = 1e-9
MOST_SPOTS = 1024
AROUND = ((0, 0), (1, 0), (0, 1), (1, 1), (1, -1))  # a spot and half of those around it: the rest is the same


def spots_over(corners: Points, apart: float) -> tuple[Points, Points]:
    """The x and z of a grid of spots over triangles (m, 3, 3), about so far apart: at most 1024 a side."""
    lines = []
    for axis in (0, 2):
        low, high = float(corners[..., axis].min()), float(corners[..., axis].max())
        count = int(min(MOST_SPOTS, (high - low) // apart + 1))
        lines.append(low + (np.arange(count) + 0.5) * (high - low) / count)
    return lines[0], lines[1]


def heights_over(corners: Points, xs: Points, zs: Points) -> tuple[Whole, Points, Whole]:
    """Where triangles lie over or under the spots of a grid, n times: the spot (its place in xs times
    len(zs), plus that in zs), the height, and the triangle.

    corners: (m, 3, 3). xs, zs: rising. Upright triangles have no height.
    """
    face, i, j = spots_within(corners, xs, zs)
    a, b, c = corners[face].swapaxes(0, 1)
    s, t, y = height_over(a, b, c, xs[i], zs[j])
    hit = np.minimum(np.minimum(s, t), 1.0 - s - t) >= -EDGE
    spot: Whole = (i * len(zs) + j)[hit]
    return spot, y[hit], face[hit]


def spots_within(corners: Points, xs: Points, zs: Points) -> tuple[Whole, Whole, Whole]:
    """The spots of a grid within the bounds of triangles, seen from above: the triangle, and the spot's
    places in xs and zs, (n,) each, one triangle after another. corners: (m, 3, 3). xs, zs: rising."""
    low, high = corners.min(axis=1), corners.max(axis=1)
    first = np.array([np.searchsorted(xs, low[:, 0]), np.searchsorted(zs, low[:, 2])])
    stop = np.array([np.searchsorted(xs, high[:, 0], "right"), np.searchsorted(zs, high[:, 2], "right")])
    across, along = (stop - first).clip(0)
    each = across * along
    face = np.repeat(np.arange(len(corners)), each)
    turn = np.arange(len(face)) - np.repeat(np.cumsum(each) - each, each)
    return face, first[0, face] + turn // along[face], first[1, face] + turn % along[face]


def step_by_step(spot: Whole, height: Points, owner: Whole, across: int, step: float) -> tuple[Whole, Whole]:
    """Pairs of owners, (n,) each, of which the one is at most `step` higher at a spot or beside it.

    spot, height, owner: (n,), as from `heights_over`. across: how many spots a row of z has.
    """
    if not len(spot):
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    low = float(height.min())
    room = float(height.max()) - low + 4.0 * step + 1.0
    key = spot * room + height - low
    order = np.argsort(key, kind="stable")
    key, owner, spot, height = key[order], owner[order], spot[order], height[order] - low
    changes = np.concatenate([[0], np.cumsum(owner[1:] != owner[:-1])])
    row, column = spot // across, spot % across
    pairs: list[tuple[Whole, Whole]] = []
    for down, right in AROUND:
        inside = (column + right >= 0) & (column + right < across)
        some = np.flatnonzero(inside)
        there = ((row[some] + down) * across + column[some] + right) * room + height[some]
        start, end = np.searchsorted(key, there - step), np.searchsorted(key, there + step, "right")
        met = end > start
        some, start, end = some[met], start[met], end[met]
        single = changes[start] == changes[end - 1]  # one owner all along: the usual case, cheaply
        pairs.append((owner[some[single]], owner[start[single]]))
        some, start, end = some[~single], start[~single], end[~single]
        each = end - start
        turn = np.arange(int(each.sum())) - np.repeat(np.cumsum(each) - each, each)
        pairs.append((owner[np.repeat(some, each)], owner[np.repeat(start, each) + turn]))
    first, second = (np.concatenate([pair[k] for pair in pairs]) for k in (0, 1))
    other = first != second
    count = int(owner.max()) + 1
    codes = distinct(first[other] * count + second[other])
    return codes // count, codes % count
