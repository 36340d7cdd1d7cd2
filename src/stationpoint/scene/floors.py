"""Where people would stand in a scene that says nothing of it: its floors, and spots on the best one."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from math import cos, radians
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.columns import heights_over
from stationpoint.base.geometry.linked import linked
from stationpoint.scene.types import Node, Scene

Floats = NDArray[np.float64]
Spot = tuple[float, float, float]

LEAST_STEP_M, MOST_SPOTS = 0.25, 48  # distance of the spots that are tried; at most so many a side
LEVEL_DEG = 35.0  # nobody stands on what is steeper
RISE_M, RISE_SHARE = (
    0.1,
    1.2,
)  # neighbours of one floor: so much apart in height beyond what their slopes give
HUMAN_M = 1.7  # what the lengths here are for; they shrink with a smaller body
COVER_M = 10.0  # a ceiling is no farther up
UNDER_SHARE = 0.8  # of a floor that lies under an open surface: that one is its roof
ROOF_SHARE = 0.1  # a roof is left for floors of this size, of the roof's
ALIKE_SHARE = 0.8  # of several floors of about one size the lowest is taken
ELBOWS_M = (1.2, 0.8, 0.4)  # room around whoever stands there, the first that is to be had
STEEP = 0.02  # upright faces are looked past: they have no area from above
SLACK_M = 1e-3
CHUNK = 1 << 18


class _Places(NamedTuple):
    """Where something can stand, lowest first in each column: column (i, j), height, tangent of the
    slope, whether it is inside a solid (ground runs on under it), whether a ceiling is above."""

    i: NDArray[np.int64]
    j: NDArray[np.int64]
    y: Floats
    slope: Floats
    buried: NDArray[np.bool_]
    covered: NDArray[np.bool_]

    def kept(self, which: NDArray[np.bool_]) -> _Places:
        return self._replace(**{name: column[which] for name, column in self._asdict().items()})


def standing_place(scene: Scene, height_m: float) -> Spot | None:
    """The spot nearest to the middle of the scene's best floor, where something of that height stands
    free, or None."""
    spots = standing_spots(scene, height_m)
    return spots[0] if spots else None


@lru_cache(maxsize=4)
def standing_spots(scene: Scene, height_m: float) -> tuple[Spot, ...]:
    """Spots on the scene's best floor where something of that height stands free, nearest to its middle
    first.

    A floor is a surface without steps, as a grid of vertical lines meets it: up to 35 degrees steep,
    with the body's height free above. The largest one is the best; of several of nearly its size the
    lowest. What lies open over other places to stand is a roof, and comes last. On a floor those spots
    count that have most room around them; steep ones come last.
    """
    xs, zs = _lines(scene)
    places = _places(scene, xs, zs, height_m)
    if places is None:
        return ()
    if not places.buried.all():
        places = places.kept(~places.buried)
    step = max(xs[1] - xs[0] if len(xs) > 1 else 0.0, zs[1] - zs[0] if len(zs) > 1 else 0.0)
    shrunk = min(height_m / HUMAN_M, 1.0)
    floor = places.kept(_best(places, _floors(places, step, shrunk)))
    middle = xs[[floor.i.min(), floor.i.max()]].mean(), zs[[floor.j.min(), floor.j.max()]].mean()
    there = np.zeros((len(xs), len(zs)), dtype=bool)
    there[floor.i, floor.j] = True
    room = np.zeros(len(floor.i), dtype=np.int64)
    for elbow in ELBOWS_M:
        roomy = there
        for _ in range(round(elbow * shrunk / step) if step else 0):
            roomy = _eroded(roomy)
        room += roomy[floor.i, floor.j]
    away = np.round(np.hypot(xs[floor.i] - middle[0], zs[floor.j] - middle[1]), 6)
    level = np.floor(floor.slope / np.tan(radians(12.0)))
    best = np.flatnonzero(room == room.max())
    order = best[np.lexsort((away[best], level[best]))]
    return tuple((float(xs[floor.i[k]]), float(floor.y[k]), float(zs[floor.j[k]])) for k in order)


def _lines(scene: Scene) -> tuple[Floats, Floats]:
    """x and z of the vertical lines, a grid over all but the ground that holds its middle."""
    things = [node.name for node in scene.nodes if node.kind != "ground"]
    low, high = scene.bounds(things or None)
    lines = []
    for axis in (0, 2):
        half = (high[axis] - low[axis]) / 2
        count = int(min(MOST_SPOTS // 2, half // LEAST_STEP_M))
        step = half / (count + 0.5)  # the outermost spots lie within
        lines.append((low[axis] + high[axis]) / 2 + step * np.arange(-count, count + 1))
    return lines[0], lines[1]


def _places(scene: Scene, xs: Floats, zs: Floats, height_m: float) -> _Places | None:
    """All places to stand, column by column, lowest first; None where there is none."""
    parts = [part for k, node in enumerate(scene.nodes) for part in _surfaces(k, node, xs, zs)]
    if not parts:
        return None
    # A line through the edge of two triangles meets both: each surface once.
    surfaces = np.unique(np.concatenate(parts), axis=0, return_index=True)[0]  # asked so, it spares numpy.ma
    cell, y, sign, slope = surfaces[:, 0].astype(int), surfaces[:, 1], surfaces[:, 3], surfaces[:, 4]
    ends = np.searchsorted(cell, cell, "right")
    found: list[tuple[int, bool, bool]] = []
    for k in np.flatnonzero(slope >= 0):
        above = k + int(np.searchsorted(y[k : ends[k]], y[k] + SLACK_M, "right"))
        free = y[above] - y[k] if above < ends[k] else np.inf
        if free < height_m or (found and cell[found[-1][0]] == cell[k] and y[k] - y[found[-1][0]] < SLACK_M):
            continue
        # Leaving a solid once more than entering it, on the way up: the spot is inside it.
        left = np.bincount(surfaces[above : ends[k], 2].astype(int), sign[above : ends[k]])
        found.append((int(k), bool((left > 0).any()), free <= COVER_M * min(height_m / HUMAN_M, 1.0)))
    if not found:
        return None
    at = np.array([k for k, _, _ in found])
    buried, covered = np.array([b for _, b, _ in found]), np.array([c for _, _, c in found])
    return _Places(cell[at] // len(zs), cell[at] % len(zs), y[at], slope[at], buried, covered)


def _floors(places: _Places, step: float, shrunk: float) -> NDArray[np.int64]:
    """The number of the floor that each place is part of: what neighbours join without a step."""
    columns: dict[tuple[int, int], list[int]] = {}
    for k, column in enumerate(zip(places.i.tolist(), places.j.tolist(), strict=True)):
        columns.setdefault(column, []).append(k)
    ys, slopes = places.y.tolist(), places.slope.tolist()
    pairs = [
        (k, other)
        for (i, j), here in columns.items()
        for beside in ((i + 1, j), (i, j + 1))
        for other in columns.get(beside, ())
        for k in here
        if abs(ys[k] - ys[other]) <= RISE_M * shrunk + RISE_SHARE * step * max(slopes[k], slopes[other])
    ]
    first, second = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    return linked(len(ys), first, second)


def _best(places: _Places, floors: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which places are on the floor that people would stand on.

    The top place of a column is open; where nearly all of another floor lies under one open floor, that
    one is a roof.
    """
    sizes = np.bincount(floors)
    order = np.lexsort((places.y, places.j, places.i))
    is_next = (np.diff(places.i[order]) != 0) | (np.diff(places.j[order]) != 0)
    column = np.concatenate([[0], np.cumsum(is_next)])
    tops = np.searchsorted(column, column, "right") - 1
    lower = tops != np.arange(len(order))
    pairs, counts = np.unique(
        np.stack([floors[order[lower]], floors[order[tops[lower]]]]), axis=1, return_counts=True
    )
    roofs = [
        top
        for (floor, top), count in zip(pairs.T.tolist(), counts.tolist(), strict=True)
        if count >= UNDER_SHARE * sizes[floor] and sizes[floor] >= ROOF_SHARE * sizes[top]
    ]
    if len(set(roofs)) < len(sizes):  # a roof may be the floor of another roof: never are all of them
        sizes[roofs] = 0
    large = np.flatnonzero(sizes >= ALIKE_SHARE * sizes.max())
    bottoms = [places.y[floors == number].min() for number in large]
    chosen: NDArray[np.bool_] = floors == large[int(np.argmin(bottoms))]
    return chosen


def _surfaces(number: int, node: Node, xs: Floats, zs: Floats) -> Iterator[Floats]:
    """Where a node's faces lie over or under the spots, (n, 5): number of the spot, height, number of
    the node, 1 or -1 where a closed node's face looks up or down, tangent of its slope where it
    can be stood on, else -1."""
    level = cos(radians(LEVEL_DEG))
    for start in range(0, len(node.faces), CHUNK):
        corners = node.vertices[node.faces[start : start + CHUNK]].astype(np.float64)
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        size = np.sqrt((normal * normal).sum(axis=1))
        lying = np.flatnonzero(np.abs(normal[:, 1]) > STEEP * size)
        if not len(lying):
            continue
        spot, y, place = heights_over(corners[lying], xs, zs)
        face = lying[place]
        slope = normal[:, 1] if node.closed else np.abs(normal[:, 1])
        stands = (slope >= level * size) & (size > 0)
        run = np.hypot(normal[:, 0], normal[:, 2])
        steep = np.where(stands, run / np.where(stands, np.abs(normal[:, 1]), 1.0), -1.0)
        sign = np.sign(normal[face, 1]) * node.closed
        columns = (spot, np.round(y, 6), np.full(len(y), number), sign, steep[face])
        yield np.stack([np.asarray(column, dtype=np.float64) for column in columns], axis=1)


def _eroded(cells: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The cells whose eight neighbours are all set."""
    padded = np.pad(cells, 1)
    kept = cells.copy()
    for di in (0, 1, 2):
        for dj in (0, 1, 2):
            kept &= padded[di : di + cells.shape[0], dj : dj + cells.shape[1]]
    return kept
