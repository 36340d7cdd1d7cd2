"""Cue P, parallax: how far either end slides on the picture while the eye moves sideways."""

from __future__ import annotations

import numpy as np

from stationpoint.ink.shapes import Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, around, arrow, positions, put, shown
from stationpoint.sheet.marks.drawing import Drawing
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 36, "parallax"


def draw(look: Drawing) -> list[Shape]:
    """An arrow at either depth. Positions: start and end of one, then of the other."""
    at = positions(look, CUE)
    if at is None or len(at) < 4:
        return []
    grade = shown(look)[CUE]
    arrows = [(at[0], at[1]), (at[2], at[3])]
    shapes = [shape for start, end in arrows for shape in arrow(start, end, grade, look.scale)]
    spots = [spot for start, end in arrows for spot in around(start, look.scale) + around(end, look.scale)]
    return put(look, CUE, arrows, shapes, spots)


def icon(scale: Scale) -> list[Shape]:
    """A short arrow over a long one."""
    short = arrow(np.array([44.0, 5.0]), np.array([26.0, 5.0]), "reads", scale)
    return [*short, *arrow(np.array([44.0, 15.0]), np.array([10.0, 15.0]), "reads", scale)]
