"""False breaks: pairs of walkable surfaces near each other, by where they are nearest."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import depths, frontal_px_per_m, project_points
from stationpoint.readings.contacts.parts import Parts
from stationpoint.readings.contacts.reach import Gaps, looked_for_m
from stationpoint.readings.contacts.tops import Tops, tops
from stationpoint.readings.contacts.truth import ROUNDS, Apart, spans
from stationpoint.readings.types import Case
from stationpoint.scene import Scene

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

MOST_SURFACES = 512  # the largest in the picture
LEAST_PX = 12
Nearest = tuple[Points, Points, bool]  # nearest points (3,) of either; whether they are within reach


@dataclass(slots=True)
class _Known:
    """The nearest points of pairs that some view has asked for: they are the same in every view."""

    gaps: dict[tuple[int, int], Nearest] = field(default_factory=dict)


@lru_cache(maxsize=8)
def _known(scene: Scene, gaps: Gaps) -> _Known:
    return _Known()


def breaks(
    case: Case, whole: Parts, seen: NDArray[np.intp], joined: Collection[tuple[int, int]]
) -> list[Apart]:
    """Pairs in view, within reach where they are nearest, that share no border and look out of reach.

    whole: the scene in parts. seen: pixels of each of its nodes. joined: pairs of them, the lower first,
    that share a border. Of pictures with more than 512 surfaces the largest count.
    """
    surfaces, camera = tops(whole.scene), case.setup.camera
    reach_m = looked_for_m(case.study.gap)
    close = _near(surfaces, _visible(surfaces, seen), _farthest_m(case))
    pairs = [pair for pair in close if pair not in joined]
    known = _known(whole.scene, case.study.gap).gaps
    _learn(case.study.gap, surfaces, [pair for pair in pairs if pair not in known], known)
    pairs = [pair for pair in pairs if known[pair][2]]
    if not pairs:
        return []
    ends = np.array([[known[pair][0], known[pair][1]] for pair in pairs])
    px = project_points(camera, ends.reshape(-1, 3)).reshape(-1, 2, 2)
    z_m = depths(camera, ends.reshape(-1, 3)).reshape(-1, 2)
    # Of each pair's two ends (n, 2, 3) the one of less depth, (n, 3).
    nearer = np.take_along_axis(ends, z_m.argmin(axis=1)[:, None, None], axis=1)[:, 0]
    with np.errstate(invalid="ignore"):
        flat_m = np.hypot(*(px[:, 1] - px[:, 0]).T) / frontal_px_per_m(camera, nearer)
        inside = ((px >= 0.0) & (px <= camera.pixels)).all(axis=(1, 2))
        found = np.flatnonzero(inside & (flat_m > reach_m))
    return [
        _apart(whole, pairs[k], ends[k], px[k], float(flat_m[k]), bool(z_m[k, 0] <= z_m[k, 1])) for k in found
    ]


def _apart(
    whole: Parts, pair: tuple[int, int], ends: Points, px: Points, flat_m: float, first_is_nearer: bool
) -> Apart:
    a, b = (0, 1) if first_is_nearer else (1, 0)
    x, y, z = ends[b] - ends[a]
    return Apart(
        whole.names[pair[a]],
        whole.names[pair[b]],
        None,
        flat_m,
        float(np.hypot(x, z)),
        float(y),
        px.mean(axis=0),
        px[[a, b]],
    )


def _visible(surfaces: Tops, seen: Whole) -> Whole:
    """Indices of the surfaces of which something is seen, the largest ones, in scene order."""
    seen = np.where(surfaces.walks[1:], seen, 0)
    largest = np.argsort(-seen, kind="stable")[:MOST_SURFACES]
    return np.sort(largest[seen[largest] >= LEAST_PX])


def _farthest_m(case: Case) -> float:
    """The longest level reach at any height difference that the study's gaps know."""
    lengths = [length for gap in case.study.gap if gap.reach is not None for _, length in gap.reach]
    return max([looked_for_m(case.study.gap), *lengths])


def _near(surfaces: Tops, seen: Whole, reach_m: float) -> list[tuple[int, int]]:
    """Pairs of surfaces whose bounds are within a level reach."""
    low, high = surfaces.low[seen], surfaces.high[seen]
    gap = np.maximum(low[:, None] - high[None], low[None] - high[:, None]).clip(0.0)
    level2 = gap[:, :, 0] ** 2 + gap[:, :, 2] ** 2
    first, second = np.nonzero(np.triu(level2 <= reach_m * reach_m, 1))
    return list(zip(seen[first].tolist(), seen[second].tolist(), strict=True))


def _learn(
    gaps: Gaps, surfaces: Tops, pairs: list[tuple[int, int]], known: dict[tuple[int, int], Nearest]
) -> None:
    """Work out the nearest points of pairs."""
    if not pairs:
        return
    a, b = np.array(pairs, dtype=np.intp).T
    low = np.maximum(surfaces.low[a], surfaces.low[b])
    high = np.minimum(surfaces.high[a], surfaces.high[b])
    between = spans(gaps, surfaces, a, b, (low + high) / 2.0, ROUNDS)
    for k, pair in enumerate(pairs):
        known[pair] = between.from_m[k], between.to_m[k], bool(between.within[k])
