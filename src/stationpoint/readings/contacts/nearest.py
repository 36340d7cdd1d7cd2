"""The nearest point on walkable surfaces, however many faces they have."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import (
    TriangleBlocks,
    joined_blocks,
    least_of_each,
    nearest_face,
    nearest_in_rows,
)
from stationpoint.readings.contacts.surfaces import Surfaces

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

FEW = 64  # triangles: up to here all are tried
AT_ONCE = 8192  # points, so that half a million triangles at most are tried at once


def nearest(those: Surfaces, which: Whole, points_m: Points, within_m: float = np.inf) -> Points:
    """The nearest point, (n, 3), on each of some surfaces, to points (n, 3).

    which: (n,) places among the surfaces. Exact where that is within_m off or less; else it is farther too.
    """
    is_few = those.counts[which] <= FEW
    if is_few.all() and len(which) <= AT_ONCE:
        return _nearest_of_few(those, which, points_m)
    found = np.empty((len(which), 3))
    few, many = np.flatnonzero(is_few), np.flatnonzero(~is_few)
    for start in range(0, len(few), AT_ONCE):
        some = few[start : start + AT_ONCE]
        found[some] = _nearest_of_few(those, which[some], points_m[some])
    if len(many):
        place, blocks = _many(those)
        # Ways to and fro between two surfaces soon meet in a few points: each of these is looked up once.
        asked = np.column_stack([place[which[many]], points_m[many]])
        single, each = np.unique(asked, axis=0, return_inverse=True)
        at = nearest_face(blocks, single[:, 1:], within_m, single[:, 0].astype(np.intp))[0]
        found[many] = at[each.reshape(-1)]
    return found


def _nearest_of_few(those: Surfaces, which: Whole, points: Points) -> Points:
    start, corners = _few(those)
    # Each point against every face of its own surface, one such pair after another.
    counts = those.counts[which]
    ends = np.cumsum(counts)
    who = np.repeat(np.arange(len(which)), counts)
    face = np.arange(len(who)) + (start[which] - ends + counts)[who]
    from_m = np.ascontiguousarray(points.T)[:, who]
    at = nearest_in_rows(from_m, corners.take(face, axis=2))
    x, y, z = at - from_m
    return np.ascontiguousarray(at[:, least_of_each(who, x * x + y * y + z * z)].T)


@lru_cache(maxsize=8)
def _few(those: Surfaces) -> tuple[Whole, Points]:
    """Of all surfaces that have few faces where each one's start, (n,), and the faces, (3 corners, 3, m)."""
    chosen = np.flatnonzero(those.counts <= FEW)
    start = np.zeros(len(those.counts), dtype=np.intp)
    start[chosen] = np.cumsum(those.counts[chosen]) - those.counts[chosen]
    faces = np.concatenate([np.zeros((0, 3, 3)), *(those.faces[one] for one in chosen)])
    return start, np.ascontiguousarray(faces.transpose(1, 2, 0))


@lru_cache(maxsize=4)
def _many(those: Surfaces) -> tuple[Whole, TriangleBlocks]:
    """The faces of all surfaces that have more, in blocks, and which part of these is each one's."""
    chosen = np.flatnonzero(those.counts > FEW)
    place = np.zeros(len(those.counts), dtype=np.intp)
    place[chosen] = np.arange(len(chosen))
    return place, joined_blocks([those.faces[one] for one in chosen])
