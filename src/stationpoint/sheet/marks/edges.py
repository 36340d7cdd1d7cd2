"""Edges of a silhouette sheet: the sky line, and the outlines of what hides subject and targets."""

from __future__ import annotations

import numpy as np

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.marks.outline import line_of, loops
from stationpoint.sheet.scale import Scale

NAME, LAYER = "edges", 2
SKY_LINE, OCCLUDER = 1.25, 2.25
LEAST_HIDES_PX = 4  # a node that covers fewer pixels of anything hides nothing


def draw(look: Drawing) -> list[Shape]:
    """The sky line in a thin line of ink, the outlines of occluders in a thicker one."""
    ids, hidden = look.result.ids, look.result.hidden
    if ids is None:
        return []
    shapes: list[Shape] = []
    sky = loops(ids == 0)
    if sky:
        look.used.add("sky line")
        shapes += [line_of(loop, look.scale.line(SKY_LINE), INK) for loop in sky]
    if hidden is None:
        return shapes
    covering, pixels = np.unique(ids[hidden > 0], return_counts=True)
    for number in covering[(pixels >= LEAST_HIDES_PX) & (covering > 0)].tolist():
        look.used.add("occluder")
        shapes += [line_of(loop, look.scale.line(OCCLUDER), INK) for loop in loops(ids == number)]
    return shapes


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Both lines, where used."""
    entries: list[Entry] = []
    for name, width, said in (
        ("occluder", OCCLUDER, "outline of what hides the subject or a target"),
        ("sky line", SKY_LINE, "sky line"),
    ):
        if name in used:
            entries.append(((Line(((2.0, 10.0), (54.0, 10.0)), scale.line(width), INK),), said))
    return entries
