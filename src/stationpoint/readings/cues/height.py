"""H: how much higher in the picture the farther foot stands; and where that leads astray."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import project_points
from stationpoint.readings.cues.rules import GROUND_ERROR, Cue, graded, none_of
from stationpoint.readings.frames.sight import Sight, foot_visible
from stationpoint.readings.things.ends import Ends
from stationpoint.readings.things.ground import SAME_LEVEL_M, ground_span_m
from stationpoint.readings.things.pairs import Pair

Points = NDArray[np.float64]


def height_in_field(sight: Sight, pair: Pair) -> Cue:
    """Vertical part of the angle at the seat between the two feet, arc minutes, if both are visible.

    Misleads where the feet are on different levels and the ground reading, which takes them to be on one,
    errs by more than 10 %. None where either of the two is behind the eye or out of the picture. Source:
    Cutting and Vishton 1995. Worked: 220.84 px, couch: 178.2'.
    """
    if not (foot_visible(sight, pair.a) and foot_visible(sight, pair.b)):
        return none_of("height_in_field")
    feet = project_points(sight.camera, [pair.a.foot_m, pair.b.foot_m])
    feet[:, 0] = feet[:, 0].mean()
    value = float(sight.arcmin(feet[:1], feet[1:])[0])
    return graded("height_in_field", value, sight.factor, misleads=_ground_errs(sight, pair))


def _ground_errs(sight: Sight, pair: Pair) -> bool:
    """Whether who takes both feet to stand on one level is wrong about their level distance."""
    if abs(float(pair.b.foot_m[1] - pair.a.foot_m[1])) < SAME_LEVEL_M:
        return False
    read_m = ground_span_m(sight.record, Ends(pair.a.foot_m, pair.b.foot_m, None, None))
    x, _, z = pair.b.foot_m - pair.a.foot_m
    true_m = float(np.hypot(x, z))
    return read_m is None or abs(read_m - true_m) > GROUND_ERROR * true_m


def height_in_field_mark(sight: Sight, pair: Pair) -> Points:
    """The two feet, (2, 2)."""
    return project_points(sight.camera, [pair.a.foot_m, pair.b.foot_m])
