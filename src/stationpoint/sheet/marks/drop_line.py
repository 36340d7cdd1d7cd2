"""Cue D, drop line: from the foot straight down to the floor, where the game ships a marker."""

from __future__ import annotations

from stationpoint.base.look import INK
from stationpoint.ink import Disc, Line, Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, around, place_tag, positions
from stationpoint.sheet.marks.drawing import Drawing
from stationpoint.sheet.marks.drop import drop_line
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 46, "drop_line"


def draw(look: Drawing) -> list[Shape]:
    """Dotted down to a dot on the floor. Positions: the foot, the floor."""
    at = positions(look, CUE)
    if at is None or len(at) < 2:
        return []
    return place_tag(
        look, CUE, [(at[0], at[1])], drop_line(at[0], at[1], look.scale), around(at[1], look.scale)
    )


def icon(scale: Scale) -> list[Shape]:
    """The line in small."""
    dots = (0.0, 4.0)
    return [Line(((28.0, 1.0), (28.0, 15.0)), scale.line(1.6), INK, dash=dots), Disc((28.0, 17.0), 3.0, INK)]
