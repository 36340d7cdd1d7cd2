"""A gap's ends in the scene as the place moves it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings.things.things import subject_name
from stationpoint.readings.types import Case
from stationpoint.scene import Moved, Scene, under
from stationpoint.study import Gap

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """A gap's take-off and landing, (3,) each, moved with the nodes that they lie on.

    takeoff, landing: names of those nodes, None over a void.
    """

    from_m: Points
    to_m: Points
    takeoff: str | None
    landing: str | None


def ends(case: Case, gap: Gap) -> Ends:
    """The gap's ends: a place that lifts the landing's node lifts the landing with it."""
    moved = tuple((name, tuple(matrix.ravel().tolist())) for name, matrix in case.moves)
    return _ends(case.scene, gap, moved, subject_name(case))


@lru_cache(maxsize=512)
def _ends(scene: Scene, gap: Gap, moved: Moved, subject: str | None) -> Ends:
    ignoring = () if subject is None else (subject,)
    takeoff = under(scene, gap.from_, moved, ignoring)
    found = under(scene, gap.to, moved, ignoring)
    landing = gap.landing if gap.landing is not None else found and found[0]
    start = takeoff and takeoff[0]
    return Ends(_carried(gap.from_, start, moved), _carried(gap.to, landing, moved), start, landing)


def _carried(point: tuple[float, float, float], node: str | None, moved: Moved) -> Points:
    at = np.array([*point, 1.0])
    for name, matrix in moved:
        if name == node:
            at = np.array(matrix).reshape(4, 4) @ at
    return at[:3]
