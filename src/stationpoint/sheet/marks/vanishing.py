"""Vanishing directions: at the anchor a metre along each axis of the world, and where it vanishes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.ink.figures import arrow_head
from stationpoint.ink.shapes import Line, Shape
from stationpoint.look import INK
from stationpoint.sheet.marks.drawing import Drawing, Entry, Grade, graded_line, label, padded, set_label
from stationpoint.sheet.marks.horizon import clipped
from stationpoint.sheet.marks.target import edge_arrow
from stationpoint.sheet.scale import Scale

NAME, LAYER = "vanishing", 45
AXES = ("x", "y", "z")
TOLD: tuple[tuple[Grade, str], ...] = (("reads", "its place tells it"), ("weak", "only its size tells it"))
Points = NDArray[np.float64]


def draw(look: Drawing) -> list[Shape]:
    """Arrows of one metre along x, y and z from the anchor; a cross where an axis vanishes, or an
    arrow at the edge beyond which it does."""
    tips = look.extra("axes")
    if tips is None or len(tips) < 4:
        return []
    shapes: list[Shape] = []
    for axis, tip in zip(AXES, tips[1:4], strict=True):
        shapes += _arm(look, axis, tips[0], tip)
        far = look.extra("vanishing", axis)
        if far is not None:
            shapes += _vanishing(look, axis, tips[0], far[0])
    return shapes


def _arm(look: Drawing, axis: str, start: Points, tip: Points) -> list[Shape]:
    """One metre along an axis, its letter beyond the tip; not drawn where nothing tells that metre."""
    way = tip - start
    length = float(np.hypot(*way))
    told = look.value("axes", axis, "reads")
    if length < 4.0 or told == "none":
        return []
    grade: Grade = "weak" if told == "size only" else "reads"
    look.used.add(f"axes {grade}")
    shapes = arm_shapes(start, tip, grade, look.scale)
    look.room.take_line(start, tip)
    those = label(axis, look.scale, 80)
    w, h = those.width, those.height
    at = tip + way / length * look.scale.long(10)
    box = (at[0] - w / 2, at[1] - h / 2, at[0] + w / 2, at[1] + h / 2)
    if look.room.inside(box, 3) and look.room.free(box):
        look.room.take(padded(box, 3))
        shapes += set_label(those, box, look.scale)
    return shapes


def arm_shapes(start: Points, tip: Points, grade: Grade, scale: Scale) -> list[Shape]:
    """A thin arrow in the line style of its grade."""
    way = tip - start
    head = min(scale.long(8), float(np.hypot(*way)) / 2)
    back = tip - way / float(np.hypot(*way)) * head * 0.8
    return [
        graded_line(np.array([start, back]), scale.line(1.5), grade, scale),
        arrow_head((float(tip[0]), float(tip[1])), (float(way[0]), float(way[1])), head, head, INK),
    ]


def _vanishing(look: Drawing, axis: str, start: Points, far: Points) -> list[Shape]:
    """The cross and its words, or the arrow at the edge."""
    width, height = look.size_px
    words = f"{axis} vanishes"
    if not (0 <= far[0] <= width and 0 <= far[1] <= height):
        side = _side(start, far, width, height)
        return edge_arrow(look, words, side, far) if side else []
    look.used.add("vanishing")
    shapes = cross_shapes(far, look.scale)
    those = label(words, look.scale, width / 2)
    w, h, gap = those.width, those.height, look.scale.long(9)
    corners = ((gap, gap / 2), (-gap - w, gap / 2), (gap, -gap / 2 - h), (-gap - w, -gap / 2 - h))
    for beside, (left, top) in [(beside, corner) for beside in (True, False) for corner in corners]:
        box = (far[0] + left, far[1] + top, far[0] + left + w, far[1] + top + h)
        if look.room.inside(box, 3) and look.room.free(padded(box, 2), beside):
            look.room.take(padded(box, 4))
            return [*shapes, *set_label(those, box, look.scale)]
    return shapes


def _side(start: Points, far: Points, width: int, height: int) -> str | None:
    """The edge that the way from the anchor to the vanishing point leaves by."""
    part = clipped(start, far, width, height)
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
    """An arm, and the cross."""
    entries: list[Entry] = []
    for grade, said in TOLD:
        if f"axes {grade}" in used:
            arm = arm_shapes(np.array([2.0, 10.0]), np.array([52.0, 10.0]), grade, scale)
            entries.append((tuple(arm), f"1 m along an axis: {said}"))
    if "vanishing" in used:
        entries.append((tuple(cross_shapes(np.array([28.0, 10.0]), scale)), "where an axis vanishes"))
    return entries
