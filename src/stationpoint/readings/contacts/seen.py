"""Which walkable surface a pixel shows, asked where two of them meet in the picture."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.columns import heights_over, spots_over
from stationpoint.base.geometry.nearest import TriangleBlocks, first_of_each, nearest_face, triangle_blocks
from stationpoint.camera import unproject_pixels
from stationpoint.readings.contacts.surfaces import NONE, SEVERAL, Surfaces
from stationpoint.readings.frames.borders import Borders, borders, sides_at
from stationpoint.readings.types import Case

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

APART_M = 0.5  # of depth, between two pixels of one node that may show two surfaces of it
ABOVE_M = 0.05  # what is seen higher over a surface than that is not of it
ASIDE_M = 0.3  # how far a side may lean out from under its surface's edge
SAME_PX = 4  # pixels of one node on one side of a border show one surface within blocks of this size


def surface_borders(
    case: Case, those: Surfaces, ids: NDArray[np.uint32], depth_m: NDArray[np.float32]
) -> Borders:
    """All borders of the picture between two walkable surfaces: their ids are places among the surfaces.

    A pixel shows its node's surface; of several, the nearest within a step. Where two pixels of one node with
    several surfaces are half a metre apart in depth, they may show two of them.
    """
    own = np.concatenate([[NONE], those.own])
    sides = borders(ids)
    first, second = own[sides.ids[:, 0]], own[sides.ids[:, 1]]
    sides = sides.chosen(np.flatnonzero((first != NONE) & (second != NONE)))
    many = [k for k, (_, _, some) in those.several.items() if len(some) > 1]
    if many:
        sides = _joined(sides, _steps(ids, depth_m, np.array(many) + 1))
    named = np.column_stack([_named(case, those, sides, k, depth_m) for k in (0, 1)])
    chosen = np.flatnonzero((named[:, 0] >= 0) & (named[:, 1] >= 0) & (named[:, 0] != named[:, 1]))
    return replace(sides.chosen(chosen), ids=named[chosen].astype(np.uint32))


def _steps(ids: NDArray[np.uint32], depth_m: NDArray[np.float32], several: Whole) -> Borders:
    """Sides between two pixels of one node with several surfaces whose depths are far from each other.
    several: ids of such nodes."""
    width = ids.shape[1]
    flat, flat_m = ids.ravel(), depth_m.ravel()
    found = []
    for step in (1, width):
        with np.errstate(invalid="ignore"):
            far = np.flatnonzero(np.abs(flat_m[:-step] - flat_m[step:]) > APART_M)
        far = far[(flat[far] == flat[far + step]) & np.isin(flat[far], several)]
        found.append(far)
    beside, below = found
    return sides_at(ids, beside[beside % width != width - 1], below)


def _joined(one: Borders, other: Borders) -> Borders:
    return Borders(
        *(np.concatenate([getattr(one, each.name), getattr(other, each.name)]) for each in fields(Borders))
    )


@lru_cache(maxsize=64)
def _blocks(those: Surfaces, place: int) -> TriangleBlocks:
    return triangle_blocks(those.several[place][0])


@dataclass(frozen=True, slots=True, eq=False)
class _Columns:
    """Heights of a node's upper faces over a grid of spots. xs, zs: of the grid. beside: how many spots to
    either side are looked at. start: (spots + 1,) where each spot's heights start, of a grid that is so many
    spots wider on all sides. height_m: (n,). surface: (n,)."""

    xs: Points
    zs: Points
    beside: tuple[int, int]
    start: Whole
    height_m: Points
    surface: Whole

    def above(self, points_m: Points, step_m: float) -> Whole:
        """The surface that lies over each point, (n,), by a step at most, right there or a little aside: NONE
        where none does, SEVERAL where one must look closer."""
        wide, deep = (np.arange(2 * count) for count in self.beside)
        i = np.searchsorted(self.xs, points_m[:, 0])[:, None] + wide
        j = np.searchsorted(self.zs, points_m[:, 2])[:, None] + deep
        spot = (i * (len(self.zs) + 2 * self.beside[1]))[:, :, None] + j[:, None]
        here, end = self.start[spot].ravel(), self.start[spot + 1].ravel()
        who = np.repeat(np.arange(len(points_m)), len(wide) * len(deep))
        low, high = points_m[:, 1] - ABOVE_M, points_m[:, 1] + step_m
        least, most = np.full(len(points_m), len(self.surface)), np.full(len(points_m), NONE)
        while len(left := np.flatnonzero(here < end)):  # one height of every spot after the other
            here, end, who = here[left], end[left], who[left]
            height_m = self.height_m[here]
            some = np.flatnonzero((height_m >= low[who]) & (height_m <= high[who]))
            found, of = self.surface[here[some]], who[some]
            first = first_of_each(of)
            of = of[first]
            if len(of):
                least[of] = np.minimum(least[of], np.minimum.reduceat(found, first))
                most[of] = np.maximum(most[of], np.maximum.reduceat(found, first))
            here = here + 1
        named: Whole = np.where(least < most, SEVERAL, most)
        return named


@lru_cache(maxsize=64)
def _columns(those: Surfaces, place: int) -> _Columns:
    corners, label, _ = those.several[place]
    xs, zs = spots_over(corners, ASIDE_M / 2.0)
    spot, height_m, face = heights_over(corners, xs, zs)
    beside = _beside(xs), _beside(zs)
    i, j = np.divmod(spot, len(zs))
    deep = len(zs) + 2 * beside[1]
    spot = (i + beside[0]) * deep + j + beside[1]
    order = np.argsort(spot, kind="stable")
    counts = np.bincount(spot, minlength=(len(xs) + 2 * beside[0]) * deep)
    start = np.concatenate([[0], np.cumsum(counts)])
    return _Columns(xs, zs, beside, start, height_m[order], label[face[order]])


def _beside(line: Points) -> int:
    """How many spots to either side are looked at."""
    apart = float(line[1] - line[0]) if len(line) > 1 else ASIDE_M
    return max(1, ceil(ASIDE_M / apart))


def _named(case: Case, those: Surfaces, sides: Borders, which: int, depth_m: NDArray[np.float32]) -> Whole:
    """The surface, (n,), that the first (0) or second (1) pixel of each side shows, NONE without one."""
    node = sides.ids[:, which].astype(np.intp) - 1
    found = those.own[node]
    pixel = sides.pixel if which == 0 else sides.other
    width = case.setup.camera.pixels[0]
    for place, (_, label, _) in those.several.items():
        mine = np.flatnonzero((node == place) & (found == SEVERAL))
        if not len(mine):
            continue
        other = sides.ids[mine, 1 - which].astype(np.int64)
        cell = (sides.px[mine] / SAME_PX).astype(np.int64)
        depth = np.clip(np.round(depth_m.ravel()[pixel[mine]] / APART_M), -32768, 32767).astype(np.int64)
        # One look-up for all sides that have the neighbour, the block of the picture and the depth in common.
        codes = ((other * 4096 + cell[:, 1]) * 4096 + cell[:, 0]) * 65536 + depth + 32768
        _, first, inverse = np.unique(codes, return_index=True, return_inverse=True)
        at = pixel[mine][first]
        px = np.column_stack([at % width, at // width]) + 0.5
        points = unproject_pixels(case.setup.camera, px, depth_m.ravel()[at].astype(np.float64))
        named = _columns(those, place).above(points, those.step_m)
        closer = np.flatnonzero(named == SEVERAL)
        on, face = nearest_face(_blocks(those, place), points[closer], those.step_m)
        near = np.linalg.norm(on - points[closer], axis=1) <= those.step_m
        named[closer] = np.where(near, label[face], NONE)
        found[mine] = named[inverse.reshape(-1)]
    return found
