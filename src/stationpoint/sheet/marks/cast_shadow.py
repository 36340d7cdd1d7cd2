"""Cue C, cast shadow: an arrow from the base to the shadow's far end."""

from __future__ import annotations

import numpy as np

from stationpoint.ink.shapes import Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, around, arrow, positions, put, shown
from stationpoint.sheet.marks.drawing import Drawing
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 47, "cast_shadow"
LEAST_PX, MOST_SHARE = 14.0, 0.3  # a longer arrow would part the picture


def draw(look: Drawing) -> list[Shape]:
    """The arrow; a zigzag from a hanging thing's foot to its shadow where that misleads.

    Positions: the foot, the shadow's far end (its middle where it hangs).
    """
    at = positions(look, CUE)
    if at is None or len(at) < 2:
        return []
    length = float(np.hypot(*(at[1] - at[0])))
    longest = MOST_SHARE * look.size_px[0]
    if length < look.scale.long(LEAST_PX) or (length > longest and shown(look)[CUE] != "misleads"):
        return []
    way = (at[1] - at[0]) / length
    spots = [at[1] + way * look.scale.long(18), *around(at[1], look.scale), *around(at[0], look.scale)]
    shapes = arrow(at[0], at[1], shown(look)[CUE], look.scale)
    return put(look, CUE, [(at[0], at[1])], shapes, spots)


def icon(scale: Scale) -> list[Shape]:
    """The arrow in small."""
    return arrow(np.array([14.0, 16.0]), np.array([44.0, 5.0]), "reads", scale)
