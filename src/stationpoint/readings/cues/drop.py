"""D: the line that a game draws from a thing straight down to the floor below it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import arcmin_between, project_points
from stationpoint.readings.cues.rules import Cue, graded, none_of
from stationpoint.readings.things.pairs import End, Pair, drop_to_floor_m
from stationpoint.readings.things.steps import UP, record_camera
from stationpoint.readings.types import Case, Field

Points = NDArray[np.float64]

FIELDS = (
    Field(
        ("cues", "*", "drop_line", "floor_m"),
        "m",
        5,
        "From its foot straight down to the floor below it.",
        null="no floor: it is over a void",
    ),
)


def drop_line(case: Case, pair: Pair) -> Cue:
    """Angle at the seat between the second one's foot and the floor below it, arc minutes.

    A landing's line goes from its top to the floor below its slab. Absent without the aid drop-marker,
    over a void, and where either end of the line is out of the picture; the game is taken to draw the
    line over what stands before it. None where either of the two is behind the eye or out of the picture.
    Source: as height in the field. Worked: 1 m upright, 8 m off, pitch 20, couch: 219.26 px, 177'.
    """
    camera, seat = record_camera(case), case.seats[0]
    ends = drop_ends_m(case, pair.b) if "drop-marker" in case.study.aids else None
    if ends is None:
        return none_of("drop_line")
    top, floor = project_points(camera, ends)
    shown = (top >= 0.0).all() and (top < camera.pixels).all()
    if not (shown and (floor >= 0.0).all() and (floor < camera.pixels).all()):
        return none_of("drop_line")
    value = float(arcmin_between(seat, top, floor)[0])
    return graded("drop_line", value, case.study.glance_factor)


def floor_m(case: Case, pair: Pair) -> float | None:
    """Metres from the second one's foot straight down to the floor below it; None over a void.

    Source: definition. Worked: a slab 0.8 m thick that floats 2 m over the ground: 2.8 m from its top.
    """
    return drop_to_floor_m(case.scene, pair.b)


def drop_ends_m(case: Case, end: End) -> Points | None:
    """The ends of its drop line, (2, 3) world; None over a void."""
    drop = drop_to_floor_m(case.scene, end)
    return None if drop is None else np.array([end.foot_m, end.foot_m - drop * UP])


def drop_line_mark(case: Case, pair: Pair) -> Points | None:
    """Foot and floor, (2, 2)."""
    ends = drop_ends_m(case, pair.b)
    return None if ends is None else project_points(case.setup.camera, ends)
