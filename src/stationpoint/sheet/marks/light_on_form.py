"""Cue L, light on form: a short normal on each face that the light sets apart."""

from __future__ import annotations

import numpy as np

from stationpoint.base.look import CLAY, INK, PALE, WHITE
from stationpoint.ink import Area, Disc, Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, around, place_tag, positions, stroke
from stationpoint.sheet.marks.drawing import Drawing
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 48, "light_on_form"


def draw(look: Drawing) -> list[Shape]:
    """A ring on each face and its normal. Positions: a spot of a face and the end of its normal, by
    turns."""
    at = positions(look, CUE)
    if at is None or len(at) < 2:
        return []
    pairs = [(at[k], at[k + 1]) for k in range(0, len(at) - 1, 2)]
    near = look.scale.long(9)
    pairs = [
        (start, end)
        for start, end in pairs
        if not look.space.over_feet(start, end)
        and look.space.free((start[0] - near, start[1] - near, start[0] + near, start[1] + near))
    ]
    if not pairs:
        return []
    scale = look.scale
    shapes: list[Shape] = [stroke(np.array([start, end]), scale) for start, end in pairs]
    shapes += [
        Disc((float(p[0]), float(p[1])), scale.long(2.8), WHITE, INK, scale.line(1.25)) for p, _ in pairs
    ]
    spots = [spot for _, end in pairs for spot in around(end, scale, 14.0)]
    return place_tag(look, CUE, pairs, shapes, spots)


def icon(scale: Scale) -> list[Shape]:
    """A box with a lit top."""
    line = scale.line(1.25)
    top = ((16.0, 7.0), (28.0, 2.0), (40.0, 7.0), (28.0, 11.5))
    left = ((16.0, 7.0), (28.0, 11.5), (28.0, 19.0), (16.0, 14.0))
    right = ((28.0, 11.5), (40.0, 7.0), (40.0, 14.0), (28.0, 19.0))
    return [
        Area((ring,), fill, edge_ink=INK, edge_width_px=line)
        for ring, fill in ((top, WHITE), (left, PALE), (right, CLAY))
    ]
