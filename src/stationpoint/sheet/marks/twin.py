"""Ambiguous targets: a second dot beside the dot, for the other place that draws the same picture."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Disc, Line, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import span_words

NAME, LAYER = "twins", 72
APART, RADIUS = 17.0, 5.0
Spot = NDArray[np.float64]


def other_place(look: Drawing, name: str) -> str:
    """Where else a target could be in words, "" where the picture tells: "or 3.0 m farther"."""
    if NAME not in look.wanted:
        return ""
    if look.value("twins", name, "slide", "ambiguous") is True:
        shift = look.value("twins", name, "slide", "shift_m")
        if isinstance(shift, float | int):
            return f"or {span_words(abs(shift))} {'farther' if shift > 0 else 'nearer'}"
    return "or mirrored" if look.value("twins", name, "mirror", "ambiguous") is True else ""


def second_dot(spot: Spot, towards: Spot, scale: Scale) -> list[Shape]:
    """A dashed ring beside a dot, a short dash between them. towards: where the target's name is."""
    way = towards - spot
    unit = way / max(float(np.hypot(*way)), 1e-9)
    at = spot + unit * scale.long(APART)
    radius = scale.long(RADIUS)
    angle = np.linspace(0.0, 2.0 * np.pi, 25)[:-1]
    ring = at + radius * np.column_stack([np.cos(angle), np.sin(angle)])
    piece = 2.0 * np.pi * radius / 14
    link = np.array([spot, at - unit * radius])
    return [
        Line(link, scale.line(2.0), INK, scale.halo, round_ends=False),
        Disc((float(at[0]), float(at[1])), radius + scale.long(1.6), WHITE),
        Line(ring, scale.line(1.6), INK, dash=(piece, piece), closed=True, round_ends=False),
    ]


def draw(look: Drawing) -> list[Shape]:
    """Nothing: the second dot is drawn with the target's own."""
    return []


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Both dots in small."""
    if NAME not in used:
        return []
    spot = np.array([18.0, 10.0])
    own = [Disc((18.0, 10.0), scale.long(6.2), WHITE), Disc((18.0, 10.0), scale.long(4.4), INK)]
    both = [*second_dot(spot, np.array([50.0, 10.0]), scale), *own]
    return [(tuple(both), "ambiguous: drawn the same if it stood elsewhere")]
