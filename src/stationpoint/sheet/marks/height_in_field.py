"""Cue H, height in the field: a bracket at the picture's edge between the rows of the two feet."""

from __future__ import annotations

import numpy as np

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, cues_shown, place_tag, positions
from stationpoint.sheet.marks.drawing import Drawing, Grade, graded_line
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 55, "height_in_field"
INSET, ARM, LEAST_PX = 16.0, 12.0, 4.0


def draw(look: Drawing) -> list[Shape]:
    """The bracket at the left edge, at the right one or farther in where others need that ground.

    Positions: the two feet.
    """
    at = positions(look, CUE)
    if at is None or len(at) < 2 or abs(at[0, 1] - at[1, 1]) < LEAST_PX:
        return []
    scale, (width, height) = look.scale, look.size_px
    top, bottom = (float(np.clip(y, 2, height - 2)) for y in sorted(at[:2, 1].tolist()))
    off, arm = scale.long(15), scale.long(ARM)
    for inset in (scale.long(INSET), scale.long(INSET + 28), scale.long(INSET + 56)):
        for x, inwards in ((inset, 1.0), (width - inset, -1.0)):
            box = (min(x, x + inwards * arm) - 3, top - 3, max(x, x + inwards * arm) + 3, bottom + 3)
            if not look.space.free(box):
                continue
            shapes = bracket(x, top, bottom, inwards * arm, cues_shown(look)[CUE], scale)
            spots = [(x, top - off), (x, bottom + off), (x + inwards * (arm + off), (top + bottom) / 2)]
            found = place_tag(
                look,
                CUE,
                [(np.array((x, top)), np.array((x, bottom)))],
                shapes,
                [np.array(spot) for spot in spots],
            )
            if found:
                return found
    return []


def bracket(x: float, top: float, bottom: float, arm: float, grade: Grade, scale: Scale) -> list[Shape]:
    """An upright in the line style of its grade with an arm at either end."""
    arms = [Line(((x, y), (x + arm, y)), scale.line(1.6), INK, scale.halo) for y in (top, bottom)]
    return [graded_line(((x, top), (x, bottom)), scale.line(1.6), grade, scale), *arms]


def icon(scale: Scale) -> list[Shape]:
    """The bracket in small."""
    corners = ((34.0, 2.0), (24.0, 2.0), (24.0, 18.0), (34.0, 18.0))
    return [Line(corners, scale.line(1.4), INK)]
