"""Depth: bands of distance along the camera's axis, counted from the subject, nearer and farther."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import SKY
from stationpoint.base.words import plain
from stationpoint.camera import depths
from stationpoint.readings import Result
from stationpoint.sheet.modes.ladder import Ladder, step_inks
from stationpoint.study import Study

EDGES = (-4, -2, -1, 0, 1, 2, 4, 8)  # units from the subject; below 0 is nearer
NEAR_PERCENT, FAR_PERCENT = 2.0, 96.0
LEAST_UNIT_M = 0.01
ROUND = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Bands:
    """unit_m: how long a step is. in_reaches: the step is the player's reach. used: numbers of the bands that
    any cell shows, 0 the nearest. sky: whether any shows nothing. start: from what they are counted."""

    unit_m: float
    in_reaches: bool
    used: frozenset[int]
    sky: bool
    start: str = "the subject"

    @property
    def edges_m(self) -> tuple[float, ...]:
        """Between the bands, metres farther than the subject."""
        return tuple(edge * self.unit_m for edge in EDGES)


def reach_m(result: Result, study: Study) -> float | None:
    """How far the player gets on one level, by the first gap that says so, in a study of this result."""
    for gap in study.gap:
        if gap.reach_m is not None:
            return gap.reach_m
        for name in ("reach_level_m", "reach_m"):
            found = result.reading.values.get(("gaps", gap.name, name))
            if isinstance(found, float | int) and found > 0:
                return float(found)
    return None


def offsets_m(result: Result) -> NDArray[np.float64]:
    """How much farther than the subject each pixel is, (h, w), metres along the camera's axis."""
    assert result.depth_m is not None
    start = float(depths(result.setup.camera, result.setup.anchor_m)[0])
    return result.depth_m.astype(np.float64) - start


def band_numbers(result: Result, edges_m: Sequence[float]) -> NDArray[np.intp]:
    """The band of each pixel, (h, w): 0 the nearest, len(edges_m) the farthest, one more where nothing is. An
    edge belongs to the farther band."""
    away = offsets_m(result)
    found = np.searchsorted(np.array(edges_m), away, side="right")
    found[~np.isfinite(away)] = len(edges_m) + 1
    return found


def bands_for(results: Iterable[Result], study: Study) -> Bands:
    """The bands of all cells together: steps of a reach, or of a round number of metres that covers them."""

    def drawn() -> Iterator[Result]:
        return (result for result in results if result.depth_m is not None)

    first = next(drawn(), None)
    reach = None if first is None else reach_m(first, study)
    unit = reach if reach is not None else _round_unit_m(drawn())
    edges = [edge * unit for edge in EDGES]
    counts = (
        np.bincount(band_numbers(result, edges).ravel(), minlength=len(EDGES) + 2) for result in drawn()
    )
    seen = set(np.flatnonzero(sum(counts)).tolist())
    sky = len(EDGES) + 1
    start = "the subject" if study.subject is not None else "what the camera is aimed at"
    return Bands(unit, reach is not None, frozenset(seen - {sky}), sky in seen, start)


def _round_unit_m(results: Iterable[Result]) -> float:
    every = [away[np.isfinite(away)] for away in (offsets_m(result)[::4, ::4] for result in results)]
    those = np.concatenate(every) if every else np.zeros(0)
    if not len(those):
        return 1.0
    near, far = np.percentile(those, [NEAR_PERCENT, FAR_PERCENT])
    return rounded(max(float(near) / EDGES[0], float(far) / EDGES[-1], LEAST_UNIT_M))


def rounded(metres: float) -> float:
    """The nearest of 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten."""
    power = 10.0 ** np.floor(np.log10(max(metres, 1e-6)))
    steps = np.array(ROUND)
    return float(round(steps[int(np.argmin(np.abs(steps - metres / power)))] * power, 6))


def depth_bands(result: Result, bands: Bands) -> Pixels:
    """The picture as bands of distance, near ones light; the sky as nothing."""
    inks = np.array([*step_inks(len(EDGES) + 1), SKY], dtype=np.uint8)
    found: Pixels = inks.take(band_numbers(result, bands.edges_m), axis=0)
    return found


def band_ladder(bands: Bands) -> Ladder:
    """The bands that cells show, for the legend, the nearest first."""
    unit = "reaches" if bands.in_reaches else "m"
    head = f"Distance from {bands.start}, " + (
        f"reaches of {plain(bands.unit_m, 2)} m" if bands.in_reaches else "metres"
    )
    steps = [abs(edge) if bands.in_reaches else abs(edge) * bands.unit_m for edge in EDGES]
    far = EDGES.index(0)
    words = [f"nearer by over {_amount(steps[0], unit)}"]
    words += [f"nearer by {_span(b, a, unit)}" for a, b in pairwise(steps[: far + 1])]
    words += [f"farther by {_span(a, b, unit)}" for a, b in pairwise(steps[far:])]
    words.append(f"farther by over {_amount(steps[-1], unit)}")
    inks = step_inks(len(EDGES) + 1)
    said = [(inks[k], words[k]) for k in sorted(bands.used)]
    return Ladder(head, (*said, *([(SKY, "nothing there: sky")] if bands.sky else [])))


def _amount(size: float, unit: str) -> str:
    return f"{plain(size, 2)} {'reach' if unit == 'reaches' and size == 1 else unit}"


def _span(least: float, most: float, unit: str) -> str:
    if not least:
        return f"under {_amount(most, unit)}"
    return f"{plain(least, 2)} to {_amount(most, unit)}"
