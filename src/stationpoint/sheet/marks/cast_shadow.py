"""Cue C, cast shadow: an arrow from the base to the shadow's far end."""

from __future__ import annotations

import numpy as np

from stationpoint.ink import Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, Points, around, arrow, cues_shown, place_tag, positions
from stationpoint.sheet.marks.drawing import Drawing
from stationpoint.sheet.marks.free_space import BLOCK
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 47, "cast_shadow"
LEAST_PX = 14.0
MOST_SHARE, MOST_SHARE_CLOSE = 0.3, 0.5  # of the width: a longer arrow would part the picture


def draw(look: Drawing) -> list[Shape]:
    """The arrow; a zigzag from a hanging thing's foot to its shadow where that misleads.

    Positions: the foot, the shadow's far end (its middle where it hangs).
    """
    at = positions(look, CUE)
    if at is None or len(at) < 2:
        return []
    start = clear_start(look, at[0], at[1])
    length = float(np.hypot(*(at[1] - start)))
    longest = (MOST_SHARE_CLOSE if look.close_up else MOST_SHARE) * look.size_px[0]
    grade = cues_shown(look)[CUE]
    x, y = at[1]
    in_picture = look.space.inside((x, y, x, y), 4)
    if length < look.scale.long(LEAST_PX) or (grade != "misleads" and (length > longest or not in_picture)):
        return []
    way = (at[1] - start) / length
    spots = [at[1] + way * look.scale.long(18), *around(at[1], look.scale), *around(start, look.scale)]
    return place_tag(look, CUE, [(start, at[1])], arrow(start, at[1], grade, look.scale), spots)


def clear_start(look: Drawing, start: Points, end: Points) -> Points:
    """The first spot on the way from a foot that covers no landing and no gap's line, a little farther
    on."""
    rows, columns = look.space.along(start, end)
    over = np.flatnonzero((look.space.feet | look.space.measured)[rows, columns])
    if not len(over):
        return start
    after = min(int(over[-1]) + 2, len(rows) - 1)
    passed = np.array([columns[after] + 0.5, rows[after] + 0.5]) * BLOCK
    way = end - start
    found: Points = start + way * float((passed - start) @ way) / max(float(way @ way), 1e-9)
    return found


def icon(scale: Scale) -> list[Shape]:
    """The arrow in small."""
    return arrow(np.array([14.0, 16.0]), np.array([44.0, 5.0]), "reads", scale)
