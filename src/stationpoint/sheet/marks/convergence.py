"""Cue V, convergence: a second rail along the gap; the gap's own line is its partner."""

from __future__ import annotations

import numpy as np

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.sheet.marks.cue import (
    NAME_OF_ALL,
    Points,
    around,
    cues_shown,
    pair_of,
    place_tag,
    positions,
)
from stationpoint.sheet.marks.drawing import Drawing, graded_line
from stationpoint.sheet.marks.gap import own_rail_first
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 35, "convergence"
LEAST_INSIDE = 0.5  # of a rail: a corner of one shows no convergence


def draw(look: Drawing) -> list[Shape]:
    """The rail to the other side of the gap; both rails where the pair is no gap.

    Positions: ends of the rail to the left, then of that to the right.
    """
    at = positions(look, CUE)
    if at is None or len(at) < 4:
        return []
    grade = cues_shown(look)[CUE]
    lines = _other_rail(look) or [at[:2], at[2:4]]
    if grade != "misleads" and any(_inside(look, line) < LEAST_INSIDE for line in lines):
        return []
    shapes: list[Shape] = [graded_line(line, look.scale.line(1.8), grade, look.scale) for line in lines]
    spots = [
        spot
        for line in lines
        for share in (0.5, 0.3, 0.7, 0.1, 0.9)
        for spot in around(line[0] + (line[1] - line[0]) * share, look.scale, 14.0)
    ]
    return place_tag(look, CUE, [(line[0], line[1]) for line in lines], shapes, spots)


def _inside(look: Drawing, line: Points) -> float:
    """Which share of a rail is on the picture."""
    way = line[0] + (line[1] - line[0]) * np.linspace(0.0, 1.0, 33)[:, None]
    return float(((way >= 0) & (way <= look.size_px)).all(axis=1).mean())


def _other_rail(look: Drawing) -> list[Points]:
    """The rail of a gap on the side where its dimension line is not."""
    kind, _, name = pair_of(look).partition(":")
    lines = own_rail_first(look, name) if kind == "gap" else []
    return [np.array([rail.start, rail.end]) for rail in lines[1:]]


def icon(scale: Scale) -> list[Shape]:
    """Two rails that converge."""
    line = scale.line(1.4)
    return [Line(((19.0, 18.0), (25.0, 2.0)), line, INK), Line(((37.0, 18.0), (31.0, 2.0)), line, INK)]
