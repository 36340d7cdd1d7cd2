"""Glances: where the eye may land first, numbered from the strongest."""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Disc, Line, Shape, cap_height_px, text_shape
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale

NAME, LAYER = "glances", 90
SPOT, PLATE, AWAY = 3.2, 10.5, 20.0  # radius of the spot and of its number's plate, and the way between
Spot = NDArray[np.float64]


def draw(look: Drawing) -> list[Shape]:
    """A spot each, with its number beside it, where that is clear of the other spots and numbers."""
    spots = [np.array(xy) * look.size_px for xy in look.result.glances]
    taken = list(spots)
    shapes: list[Shape] = []
    for number, spot in enumerate(spots, start=1):
        plate = _plate(look, spot, [other for other in taken if other is not spot])
        taken.append(plate)
        shapes += numbered(number, spot, plate, look.scale)
    if spots:
        look.used.add(f"{NAME} {len(spots)}")
    return shapes


def _plate(look: Drawing, spot: Spot, taken: list[Spot]) -> Spot:
    """Where a number goes: on the side that is farthest from all others, within the picture."""
    away, least = look.scale.long(AWAY), look.scale.long(PLATE) + 2.0
    size = np.array(look.size_px, dtype=float)
    sides = [np.array(side) / np.hypot(*side) for side in product((1.0, -1.0), (-1.0, 1.0))]
    tries = [spot + away * side for side in sides]
    inside = [at for at in tries if (at >= least).all() and (at <= size - least).all()] or tries
    return max(inside, key=lambda at: min([float(np.hypot(*(at - t))) for t in taken], default=0.0))


def numbered(number: int, spot: Spot, plate: Spot, scale: Scale) -> list[Shape]:
    """A spot tied to the plate with its number."""
    at, on = (float(spot[0]), float(spot[1])), (float(plate[0]), float(plate[1]))
    size = scale.type(15)
    return [
        Line(np.array([spot, plate]), scale.line(1.5), INK, scale.halo),
        Disc(at, scale.long(SPOT + 1.8), WHITE),
        Disc(at, scale.long(SPOT), INK),
        Disc(on, scale.long(PLATE), WHITE, INK, scale.line(1.5)),
        text_shape((on[0], on[1] + cap_height_px(size) / 2), str(number), size, "bold", anchor="middle"),
    ]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """The spot, where used, and what it is no proof of."""
    if not any(name.startswith(f"{NAME} ") for name in used):
        return []
    shapes = numbered(1, np.array([12.0, 10.0]), np.array([36.0, 10.0]), scale)
    words = "where colour and size may draw the eye first, 1 the strongest; no model of attention"
    return [(tuple(shapes), words)]
