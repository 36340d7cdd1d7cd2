"""Drop lines: from a target's foot straight down to the floor under it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK
from stationpoint.ink import Disc, Line, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale

NAME, LAYER = "drop", 30
LEAST_PX = 4.0


def draw(look: Drawing) -> list[Shape]:
    """A dotted line and a dot on the floor, for each target that stands above its floor."""
    shapes: list[Shape] = []
    for target in look.study.target:
        ends = look.extra("drop", target.name)
        if ends is None or len(ends) < 2 or float(np.hypot(*(ends[1] - ends[0]))) < LEAST_PX:
            continue
        shapes += drop_line(ends[0], ends[1], look.scale)
        look.space.take_line(ends[0], ends[1])
        look.used.add("drop")
    return shapes


def drop_line(foot: NDArray[np.float64], floor: NDArray[np.float64], scale: Scale) -> list[Shape]:
    """Dotted from the foot down to a dot."""
    dots = (0.0, scale.long(4.5))
    return [
        Line(np.array([foot, floor]), scale.line(1.8), INK, scale.halo, dots),
        Disc((float(floor[0]), float(floor[1])), scale.long(3.2), INK, halo=scale.halo),
    ]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """The line in small."""
    if "drop" not in used:
        return []
    return [
        (tuple(drop_line(np.array([28.0, 1.0]), np.array([28.0, 18.0]), scale)), "straight down to the floor")
    ]
