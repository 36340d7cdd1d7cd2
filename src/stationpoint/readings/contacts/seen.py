"""Which walkable surface a pixel shows, asked where two of them meet in the picture."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.columns import heights_over, spots_over
from stationpoint.base.geometry.nearest import TriangleBlocks, nearest_face, triangle_blocks
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

    A pixel shows its node's surface; of several,
    the nearest within a step. Where two pixels of one node with several
    surfaces are half a metre apart in depth, they may show two of them.
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
    """Heights of a node's upper faces over a grid of spots. xs, zs: of the grid. key: (n,) rising, spot x
    room + height over `low`. surface: (n,). changes: (n,) how often the surface has changed up to there."""

    xs: Points
    zs: Points
    key: Points
    room: float
    low: float
    surface: Whole
    changes: Whole

    def above(self, points_m: Points, step_m: float) -> Whole:
        """The surface that lies over each point, (n,), by a step at most, right there or a little aside: NONE
        where none does, SEVERAL where one must look closer."""
        i = np.searchsorted(self.xs, points_m[:, 0])[:, None] + self._aside(self.xs)
        j = np.searchsorted(self.zs, points_m[:, 2])[:, None] + self._aside(self.zs)
        inside = ((i >= 0) & (i < len(self.xs)))[:, :, None] & ((j >= 0) & (j < len(self.zs)))[:, None]
        spot = i[:, :, None] * len(self.zs) + j[:, None]
        height = (points_m[:, 1] - self.low).clip(-step_m, self.room - 3.0 * step_m)[:, None, None]
        first = np.searchsorted(self.key, spot * self.room + height - ABOVE_M)
        last = np.searchsorted(self.key, spot * self.room + height + step_m, "right") - 1
        some = inside & (last >= first)
        first, last = first.clip(0, len(self.key) - 1), last.clip(0, None)
        found = np.where(some, self.surface[first], NONE - 2)
        most = found.reshape(len(points_m), -1).max(axis=1)
        least = np.where(some, found, len(self.key)).reshape(len(points_m), -1).min(axis=1)
        mixed = (some & (self.changes[first] != self.changes[last])).any(axis=(1, 2))
        any_ = some.any(axis=(1, 2))
        named: Whole = np.where(~any_, NONE, np.where(mixed | (most != least), SEVERAL, most))
        return named

    @staticmethod
    def _aside(line: Points) -> Whole:
        """How many spots to either side are looked at."""
        apart = float(line[1] - line[0]) if len(line) > 1 else ASIDE_M
        count = max(1, ceil(ASIDE_M / apart))
        return np.arange(-count, count)


@lru_cache(maxsize=64)
def _columns(those: Surfaces, place: int) -> _Columns:
    corners, label, _ = those.several[place]
    xs, zs = spots_over(corners, ASIDE_M / 2.0)
    spot, height, face = heights_over(corners, xs, zs)
    low = float(height.min(initial=0.0))
    room = float(height.max(initial=0.0)) - low + 6.0 * those.step_m
    key = spot * room + height - low
    order = np.argsort(key, kind="stable")
    surface = label[face][order]
    changes = np.concatenate([[0], np.cumsum(surface[1:] != surface[:-1])]).astype(np.intp)
    return _Columns(xs, zs, key[order], room, low, surface, changes)


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
