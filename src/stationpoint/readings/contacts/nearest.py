"""The nearest point on walkable surfaces, however many faces they have."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import (
    TriangleBlocks,
    joined_blocks,
    nearest_face,
    nearest_on_triangles,
)
from stationpoint.readings.contacts.surfaces import Surfaces

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

FEW = 64  # triangles: up to here all are tried
SIZES = (2, 8, FEW)


def nearest(those: Surfaces, which: Whole, points_m: Points, within_m: float = np.inf) -> Points:
    """The nearest point, (n, 3), on each of some surfaces, to points (n, 3).

    which: (n,) places among the surfaces. Exact where that is within_m off or less; else it is farther too.
    """
    found = np.empty((len(which), 3))
    counts = those.counts[which]
    for least, most in pairwise((0, *SIZES)):
        here = np.flatnonzero((counts > least) & (counts <= most))
        if len(here):
            found[here] = _nearest_of_few(those, which[here], points_m[here], most)
    here = np.flatnonzero(counts > FEW)
    if len(here):
        place, blocks = _many(those)
        found[here] = nearest_face(blocks, points_m[here], within_m, place[which[here]])[0]
    return found


def _nearest_of_few(those: Surfaces, which: Whole, points: Points, most: int) -> Points:
    place, padded = _few(those, most)
    # (n, most, 3): each point against all faces of its own surface, padded to one count for a single call.
    at = nearest_on_triangles(points[:, None], padded[place[which]])
    k = ((at - points[:, None]) ** 2).sum(axis=2).argmin(axis=1)
    best: Points = at[np.arange(len(points)), k]
    return best


@lru_cache(maxsize=24)
def _few(those: Surfaces, most: int) -> tuple[Whole, Points]:
    """Faces of all surfaces that have at most so many, and more than a smaller class, (n, most, 3, 3), the
    last one repeated; and where each one's are."""
    least = max((size for size in SIZES if size < most), default=0)
    chosen = np.flatnonzero((those.counts > least) & (those.counts <= most))
    place = np.zeros(len(those.counts), dtype=np.intp)
    place[chosen] = np.arange(len(chosen))
    # Row numbers (n, most) that stop at a surface's last face, which thus pads the row.
    numbers = np.minimum(np.arange(most), those.counts[chosen, None] - 1)
    return place, np.array([those.faces[one][row] for one, row in zip(chosen, numbers, strict=True)])


@lru_cache(maxsize=4)
def _many(those: Surfaces) -> tuple[Whole, TriangleBlocks]:
    """The faces of all surfaces that have more, in blocks, and which part of these is each one's."""
    chosen = np.flatnonzero(those.counts > FEW)
    place = np.zeros(len(those.counts), dtype=np.intp)
    place[chosen] = np.arange(len(chosen))
    return place, joined_blocks([those.faces[one] for one in chosen])
