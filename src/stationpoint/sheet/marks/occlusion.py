"""Cue O, occlusion: ticks along the border where the nearer thing covers the farther one."""

from __future__ import annotations

import numpy as np

from stationpoint.base.look import INK, PALE
from stationpoint.ink import Area, Line, Shape, box
from stationpoint.sheet.marks.cue import NAME_OF_ALL, Points, around, cues_shown, place_tag, positions, stroke
from stationpoint.sheet.marks.drawing import Drawing
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 41, "occlusion"
EVERY, OFF, LONG = 10.0, 3.0, 6.0


def draw(look: Drawing) -> list[Shape]:
    """Ticks of 6 px on the covered side, 3 px off the border, every 10 px; teeth where it misleads.

    Positions: spots of the border, then as many a pixel to the covered side of each.
    """
    at = positions(look, CUE)
    if at is None or len(at) < 2:
        return []
    scale = look.scale
    border, covered = at[: len(at) // 2], at[len(at) // 2 :]
    kept = spaced(border, scale.long(EVERY))
    border, ways = border[kept], (covered - border)[kept]
    ways = ways / np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-9)[:, None]
    starts, ends = border + ways * scale.long(OFF), border + ways * scale.long(OFF + LONG)
    if cues_shown(look)[CUE] == "misleads":
        shapes: list[Shape] = [_teeth(p, w, scale) for p, w in zip(border, ways, strict=True)]
    else:
        shapes = [stroke(np.array([p, q]), scale) for p, q in zip(starts, ends, strict=True)]
    room = look.space
    clear = [
        not (room.over_feet(p, q) or room.boxed[room.along(p, q)].any())
        for p, q in zip(starts, ends, strict=True)
    ]
    shapes = [shape for shape, is_clear in zip(shapes, clear, strict=True) if is_clear]
    starts, ends = starts[clear], ends[clear]
    if not shapes:
        return []
    spots = [spot for k in _order(len(ends)) for spot in around(ends[k], scale, 14.0)]
    return place_tag(look, CUE, zip(starts, ends, strict=True), shapes, spots)


def spaced(spots: Points, apart_px: float) -> list[int]:
    """Indices of spots at least `apart_px` from each other, taken in their order."""
    kept: list[int] = []
    for k, spot in enumerate(spots):
        if not kept or float(np.hypot(*(spots[kept] - spot).T).min()) >= apart_px:
            kept.append(k)
    return kept


def _order(count: int) -> list[int]:
    """A few indices, the middle ones first."""
    return list(dict.fromkeys(int(share * (count - 1)) for share in (0.5, 0.25, 0.75, 0.0, 1.0)))


def _teeth(spot: Points, way: Points, scale: Scale) -> Line:
    """One saw tooth on the covered side."""
    along = way[::-1] * (1.0, -1.0) * scale.long(EVERY / 2)
    low, high = spot + way * scale.long(OFF), spot + way * scale.long(OFF + LONG)
    return Line(np.array([low - along, high, low + along]), scale.line(1.6), INK, scale.halo)


def icon(scale: Scale) -> list[Shape]:
    """One box before another, ticks on the covered one."""
    line = scale.line(1.25)
    back = Area((box(20, 1, 46, 14),), None, edge_ink=INK, edge_width_px=line)
    front = Area((box(8, 7, 32, 19),), PALE, edge_ink=INK, edge_width_px=line)
    ticks = [Line(((x, 10.0), (x + 4.0, 7.0)), line, INK) for x in (34.5, 38.0)]
    return [back, front, *ticks]
