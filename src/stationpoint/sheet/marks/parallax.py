"""Cue P, parallax: how far either end slides on the picture while the eye moves sideways."""

from __future__ import annotations

import numpy as np

from stationpoint.ink import Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, around, arrow, cues_shown, pair_of, place_tag, positions
from stationpoint.sheet.marks.drawing import Drawing
from stationpoint.sheet.marks.gap import own_rail_first
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 36, "parallax"
BEYOND = 1.5  # times as far from the gap as its rails


def draw(look: Drawing) -> list[Shape]:
    """An arrow at either depth, beside the gap where there is one. Positions: start and end of one, then
    of the other."""
    at = positions(look, CUE)
    if at is None or len(at) < 4:
        return []
    slides = (at[1] - at[0], at[3] - at[2])
    kind, _, name = pair_of(look).partition(":")
    rails = own_rail_first(look, name)[::-1] if kind == "gap" else []
    beyond = [
        tuple(foot + (end - foot) * BEYOND for foot, end in ((at[0], rail.start), (at[2], rail.end)))
        for rail in rails
    ]
    for feet in beyond or [(at[0], at[2])]:
        arrows = [(foot, foot + slide) for foot, slide in zip(feet, slides, strict=True)]
        shapes = [s for start, end in arrows for s in arrow(start, end, cues_shown(look)[CUE], look.scale)]
        spots = [s for start, end in arrows for s in around(start, look.scale) + around(end, look.scale)]
        found = place_tag(look, CUE, arrows, shapes, spots)
        if found:
            return found
    return []


def icon(scale: Scale) -> list[Shape]:
    """A short arrow over a long one."""
    short = arrow(np.array([44.0, 5.0]), np.array([26.0, 5.0]), "reads", scale)
    return [*short, *arrow(np.array([44.0, 15.0]), np.array([10.0, 15.0]), "reads", scale)]
