"""Directions: at the subject a metre along x, up and z, as drawn here; what tells it is the line's style."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Box, Disc, Shape, arrow_head
from stationpoint.sheet.marks.drawing import Drawing, Entry, Grade, Label, graded_line, label, set_label
from stationpoint.sheet.scale import Scale

NAME, LAYER = "axes", 80
NAMES = {"x": "x", "y": "up", "z": "z"}
TOLD: tuple[tuple[Grade, str], ...] = (("reads", "told by its place"), ("weak", "told by its size only"))
LEAST_PX, WITHIN = 4.0, 0.35
Points = NDArray[np.float64]


def draw(look: Drawing) -> list[Shape]:
    """Three arms of a metre as they are drawn at the anchor, set down on free ground beside it: solid
    where place tells that metre, dashed where size alone does; no arm where nothing does."""
    tips = look.extra("axes")
    if tips is None or len(tips) < 4:
        return []
    arms: list[tuple[str, Points, Grade]] = []
    for (axis, name), tip in zip(NAMES.items(), tips[1:4], strict=True):
        tells = look.value("axes", axis, "reads")
        if float(np.hypot(*(tip - tips[0]))) >= LEAST_PX and tells != "none":
            arms.append((name, tip - tips[0], "weak" if tells == "size only" else "reads"))
    if not arms:
        return []
    names = [label(name, look.scale, 80) for name, _, _ in arms]
    boxes = [_name_box(way, those, look.scale) for (_, way, _), those in zip(arms, names, strict=True)]
    ends = np.array([(0.0, 0.0), *(way for _, way, _ in arms)])
    corners = np.vstack([ends, np.array(boxes).reshape(-1, 2)])
    low, high = corners.min(axis=0) - 4.0, corners.max(axis=0) + 4.0
    around = look.space.calm(
        (float(high[0] - low[0]), float(high[1] - low[1])),
        tips[0],
        WITHIN * look.size_px[0],
        look.scale.long(6),
    )
    if not around:
        look.unplaced.append(NAME)
        return []
    look.space.occupy(around[0])
    at = np.array(around[0][:2]) - low
    shapes: list[Shape] = []
    for (_, way, grade), those, (left, top, right, bottom) in zip(arms, names, boxes, strict=True):
        look.used.add(f"axes {grade}")
        shapes += arm_shapes(at, at + way, grade, look.scale)
        box = (left + at[0], top + at[1], right + at[0], bottom + at[1])
        shapes += set_label(those, box, look.scale)
    middle = (float(at[0]), float(at[1]))
    return [*shapes, Disc(middle, look.scale.long(2.8), WHITE, INK, look.scale.line(1.25))]


def _name_box(way: Points, those: Label, scale: Scale) -> Box:
    """Where an arm's name goes, beyond its tip."""
    w, h = those.width, those.height
    x, y = way + way / float(np.hypot(*way)) * (scale.long(6) + np.abs(way / np.hypot(*way)) @ (w / 2, h / 2))
    return (float(x) - w / 2, float(y) - h / 2, float(x) + w / 2, float(y) + h / 2)


def arm_shapes(start: Points, tip: Points, grade: Grade, scale: Scale) -> list[Shape]:
    """A thin arrow in the line style of its grade."""
    way = tip - start
    head = min(scale.long(8), float(np.hypot(*way)) / 2)
    back = tip - way / float(np.hypot(*way)) * head * 0.8
    return [
        graded_line(np.array([start, back]), scale.line(1.5), grade, scale),
        arrow_head((float(tip[0]), float(tip[1])), (float(way[0]), float(way[1])), head, head, INK),
    ]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """An arm of each style."""
    entries: list[Entry] = []
    for grade, said in TOLD:
        if f"axes {grade}" in used:
            arm = arm_shapes(np.array([2.0, 10.0]), np.array([52.0, 10.0]), grade, scale)
            entries.append((tuple(arm), f"1 m at the subject, {said}"))
    return entries
