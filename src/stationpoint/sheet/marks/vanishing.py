"""Vanishing points: where lines along the axes of the world meet."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import clipped
from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry, label, padded, set_label
from stationpoint.sheet.marks.edge import edge_arrow
from stationpoint.sheet.scale import Scale

NAME, LAYER = "vanishing", 45
Points = NDArray[np.float64]


def draw(look: Drawing) -> list[Shape]:
    """A cross where lines along x, y or z vanish, or an arrow at the edge beyond which they do."""
    tips = look.extra("axes")
    if tips is None or len(tips) < 4:
        return []
    shapes: list[Shape] = []
    for axis in ("x", "y", "z"):
        far = look.extra("vanishing", axis)
        if far is not None:
            shapes += _vanishing(look, axis, tips[0], far[0])
    return shapes


def _vanishing(look: Drawing, axis: str, start: Points, far: Points) -> list[Shape]:
    """The cross and its words, or the arrow at the edge."""
    width, height = look.size_px
    words = f"{axis} vanishes"
    if not (0 <= far[0] <= width and 0 <= far[1] <= height):
        side = _side(start, far, width, height)
        return edge_arrow(look, words, side, far) if side else []
    look.used.add("vanishing")
    shapes = cross_shapes(far, look.scale)
    look.space.take_line(far, far + 1.0)
    those = label(words, look.scale, width / 2)
    w, h, gap = those.width, those.height, look.scale.long(9)
    corners = ((gap, gap / 2), (-gap - w, gap / 2), (gap, -gap / 2 - h), (-gap - w, -gap / 2 - h))
    for beside, (left, top) in [(beside, corner) for beside in (True, False) for corner in corners]:
        box = (far[0] + left, far[1] + top, far[0] + left + w, far[1] + top + h)
        if look.space.inside(box, 3) and look.space.free(padded(box, 2), beside):
            look.space.occupy(padded(box, 4))
            return [*shapes, *set_label(those, box, look.scale)]
    return shapes


def _side(start: Points, far: Points, width: int, height: int) -> str | None:
    """The edge that the way from the anchor to the vanishing point leaves by."""
    part = clipped(start, far, (width, height), endless=True)
    if part is None:
        return None
    way = far - start
    end = max(part, key=lambda p: float((p - start) @ way))
    gaps = {"left": end[0], "right": width - end[0], "top": end[1], "bottom": height - end[1]}
    return min(gaps, key=lambda side: float(gaps[side]))


def cross_shapes(at: Points, scale: Scale) -> list[Shape]:
    """A cross where an axis vanishes."""
    r = scale.long(5)
    x, y = float(at[0]), float(at[1])
    return [
        Line(((x - r, y - r), (x + r, y + r)), scale.line(1.5), INK, scale.halo),
        Line(((x - r, y + r), (x + r, y - r)), scale.line(1.5), INK, scale.halo),
    ]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """The cross."""
    if "vanishing" not in used:
        return []
    return [(tuple(cross_shapes(np.array([28.0, 10.0]), scale)), "where an axis vanishes")]
