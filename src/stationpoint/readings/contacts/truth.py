"""How far two walkable surfaces are from each other in truth, near a place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings.contacts.nearest import nearest
from stationpoint.readings.contacts.surfaces import Surfaces

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

ROUNDS = 6  # of going to and fro between two surfaces


@dataclass(frozen=True, slots=True, eq=False)
class Spans:
    """From surface a to surface b, n of them: from_m, to_m (n, 3) world; there, back: (n,) whether the
    player gets from a to b, and from b to a."""

    from_m: Points
    to_m: Points
    there: Bits
    back: Bits

    @property
    def across_m(self) -> Points:
        """Level distances, (n,)."""
        x, _, z = (self.to_m - self.from_m).T
        level: Points = np.hypot(x, z)
        return level

    @property
    def rise_m(self) -> Points:
        """How much higher b is, (n,)."""
        height: Points = self.to_m[:, 1] - self.from_m[:, 1]
        return height

    @property
    def either(self) -> Bits:
        """Whether one way at least is within reach, (n,)."""
        return self.there | self.back


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """Two surfaces that are not as they seem. a: name of the one nearer to the camera. border_arcmin: None
    for a break. middle_px (2,), line_px (n, 2): pixels of the cell."""

    a: str
    b: str
    border_arcmin: float | None
    flat_m: float
    level_m: float
    height_m: float
    middle_px: Points
    line_px: Points


def spans(those: Surfaces, a: Whole, b: Whole, near_m: Points, rounds: int = 1) -> Spans:
    """The shortest way from each surface a to b near a point of a, (n, 3).

    To the nearest point of b, from there to the nearest of a, and back once more: between straight edges
    that is their distance there. More rounds lead to where convex surfaces are nearest of all.
    """
    return _shortened(those, a, b, near_m.copy(), nearest(those, b, near_m), rounds)


def _shortened(those: Surfaces, a: Whole, b: Whole, start: Points, end: Points, rounds: int) -> Spans:
    """Ways from surfaces a to b after more rounds. start, end: (n, 3) of each, which are written to."""
    going = np.arange(len(start))
    for _ in range(rounds):
        back = nearest(those, a[going], end[going])
        on = (back != start[going]).any(axis=1)  # what comes back to where it was would go round for ever
        going = going[on]
        if not len(going):
            break
        start[going] = back[on]
        end[going] = nearest(those, b[going], start[going])
    gap = end - start
    level = np.hypot(gap[:, 0], gap[:, 2])
    return Spans(start, end, those.reach.within(level, gap[:, 1]), those.reach.within(level, -gap[:, 1]))


def is_honest(those: Surfaces, a: Whole, b: Whole, on_a_m: Points, on_b_m: Points) -> Bits:
    """Whether one of two surfaces can be reached from the other, (n,): from the one to the other of two
    points of theirs, (n, 3) each, the shortest way near these, or from a spot within one reach of them."""
    gap = on_b_m - on_a_m
    level = np.hypot(gap[:, 0], gap[:, 2])
    honest = those.reach.within(level, gap[:, 1]) | those.reach.within(level, -gap[:, 1])
    open_ = np.flatnonzero(~honest)
    if not len(open_):
        return honest
    # Both directions: from a to b, from b to a.
    first, second = np.concatenate([a[open_], b[open_]]), np.concatenate([b[open_], a[open_]])
    points = np.concatenate([on_a_m[open_], on_b_m[open_]])
    way = spans(those, first, second, points)
    honest[open_] = way.either.reshape(2, -1).any(axis=0)
    if honest.all():
        return honest
    left = np.tile(~honest[open_], 2)
    open_, first, second, points = np.flatnonzero(~honest), first[left], second[left], points[left]
    start, end = way.from_m[left], way.to_m[left]
    way = _shortened(those, first, second, start, end, ROUNDS - 1)
    beside = np.linalg.norm(way.from_m - points, axis=1) <= those.reach.level_m
    honest[open_] = (way.either & beside).reshape(2, -1).any(axis=0)
    return honest
