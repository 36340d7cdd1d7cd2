"""Vanishing directions: at the anchor, which way one metre along each axis of the world runs."""

from __future__ import annotations

import numpy as np

from stationpoint.ink.figures import arrow_head
from stationpoint.ink.shapes import Line, Shape
from stationpoint.look import INK
from stationpoint.sheet.marks.drawing import Drawing, Entry, label, padded, set_label
from stationpoint.sheet.marks.horizon import clipped
from stationpoint.sheet.scale import Scale

NAME, LAYER = "vanishing", 60
WORDS = {"x": "x", "y": "y, up", "z": "z"}


def draw(look: Drawing) -> list[Shape]:
    """One metre along x, y and z from the anchor; a thin line on to the vanishing point if it is near."""
    tips = look.extra("axes")
    if tips is None or len(tips) < 4:
        return []
    shapes: list[Shape] = []
    start = tips[0]
    for axis, tip in zip(WORDS, tips[1:4], strict=True):
        way = tip - start
        length = float(np.hypot(*way))
        if length < 4.0:
            continue
        far = look.extra("vanishing", axis)
        if far is not None:
            end = _within(look, start, far[0])
            shapes.append(_thin(start, end, look.scale))
            if np.allclose(end, far[0]):
                shapes += _point(far[0], look.scale)
        shapes.append(Line((start, tip), look.scale.line(1.5), INK, look.scale.halo))
        head = min(look.scale.long(8), length / 2)
        shapes.append(arrow_head((float(tip[0]), float(tip[1])), (float(way[0]), float(way[1])), head, head, INK))
        those = label(WORDS[axis], look.scale, 80)
        w, h = those.width, those.height
        at = tip + way / length * look.scale.long(9)
        box = (at[0] - w / 2, at[1] - h / 2, at[0] + w / 2, at[1] + h / 2)
        if look.room.inside(box, 3) and look.room.free(box):
            look.room.take(padded(box, 3))
            shapes += set_label(those, box, look.scale)
    if shapes:
        look.used.add("vanishing")
    return shapes


def _within(look: Drawing, start: np.ndarray, end: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    """`end`, or where the way to it leaves the picture."""
    width, height = look.size_px
    if 0 <= end[0] <= width and 0 <= end[1] <= height:
        return end
    part = clipped(start, end, width, height)
    if part is None:
        return start
    ahead = [p for p in part if (p - start) @ (end - start) > 0]
    return ahead[0] if ahead else start


def _thin(p: np.ndarray, q: np.ndarray, scale: Scale) -> Line:  # type: ignore[type-arg]
    return Line((p, q), scale.line(1.25), INK, scale.halo, (scale.long(2), scale.long(4)))


def _point(at: np.ndarray, scale: Scale) -> list[Shape]:  # type: ignore[type-arg]
    r = scale.long(5)
    return [
        Line((at + (-r, -r), at + (r, r)), scale.line(1.5), INK, scale.halo),
        Line((at + (-r, r), at + (r, -r)), scale.line(1.5), INK, scale.halo),
    ]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """An arrow and its dotted way on."""
    if "vanishing" not in used:
        return []
    a, b, c = np.array([0.0, 10.0]), np.array([30.0, 10.0]), np.array([48.0, 10.0])
    shapes: tuple[Shape, ...] = (
        _thin(b, c, scale),
        Line((a, b), scale.line(1.5), INK, scale.halo),
        arrow_head((30.0, 10.0), (1.0, 0.0), scale.long(8), scale.long(8), INK),
        *_point(c, scale),
    )
    return [(shapes, "1 m along an axis, and on to where it vanishes")]
