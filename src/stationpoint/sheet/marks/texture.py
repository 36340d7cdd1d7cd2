"""Cue T, texture gradient: steps of the ground's pattern in a row at either depth."""

from __future__ import annotations

import numpy as np

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, Points, around, cues_shown, pair_of, place_tag
from stationpoint.sheet.marks.drawing import Drawing, Grade, graded_line
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 30, "texture_gradient"
TICK = 7.0  # half a tick, px


def draw(look: Drawing) -> list[Shape]:
    """A line with ticks at even steps at either depth.

    Positions: the ticks at one depth, a nan row, the ticks at the other.
    """
    at = look.result.reading.extras.get(("cue", pair_of(look), CUE)) if CUE in cues_shown(look) else None
    rows = [] if at is None else [row for row in parted(at) if len(row) > 1]
    if not rows:
        return []
    grade = cues_shown(look)[CUE]
    shapes = [shape for row in rows for shape in ticked(row, grade, look.scale)]
    ends = [spot for row in rows for spot in (row[0], row[-1])]
    spots = [place for end in ends for place in around(end, look.scale)]
    return place_tag(look, CUE, [(row[0], row[-1]) for row in rows], shapes, spots)


def parted(at: Points) -> list[Points]:
    """Rows of positions, parted where they are nan."""
    gaps = np.flatnonzero(~np.isfinite(at).all(axis=1))
    return [part[np.isfinite(part).all(axis=1)] for part in np.split(at, gaps)]


def ticked(row: Points, grade: Grade, scale: Scale) -> list[Shape]:
    """A row in the line style of its grade, an upright tick at each of its marks."""
    tick = np.array([0.0, scale.long(TICK)])
    ticks = [Line(np.array([spot - tick, spot + tick]), scale.line(1.5), INK, scale.halo) for spot in row]
    return [graded_line(np.array([row[0], row[-1]]), scale.line(1.5), grade, scale), *ticks]


def icon(scale: Scale) -> list[Shape]:
    """A wide row under a narrow one."""
    line = scale.line(1.25)
    shapes: list[Shape] = []
    for y, step, half in ((5.0, 6.0, 3.0), (15.0, 9.0, 4.0)):
        shapes.append(Line(((28 - 2 * step, y), (28 + 2 * step, y)), line, INK))
        shapes += [
            Line(((28 + k * step, y - half), (28 + k * step, y + half)), line, INK) for k in range(-2, 3)
        ]
    return shapes
