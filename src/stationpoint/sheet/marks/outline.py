"""Outlines: subject and targets that no tint tells, in a double line round what is seen of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.pixels import Mask, ends, outline
from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Line, PointsLike, Shape, box
from stationpoint.sheet.marks import subject
from stationpoint.sheet.marks.drawing import ENTRY_HEIGHT, Drawing, Entry
from stationpoint.sheet.roles import SUBJECT, showing
from stationpoint.sheet.scale import Scale

NAME, LAYER = "outlines", 1
WIDTH = 1.75  # of either line, ink next to the thing and white round it
LEAST_LOOP_PX = 3.0
Loop = tuple[NDArray[np.float64], bool]  # points (n, 2), and whether it is closed


def draw(look: Drawing) -> list[Shape]:
    """The outlines of targets, then the subject's own pixels and its outline over them."""
    if look.result.ids is None:
        return []
    ids_of: dict[str | None, list[int]] = {}
    for number, one in look.owner_by_id.items():
        if number in look.outlined:
            ids_of.setdefault(one.target, []).append(number)
    roles = {one.target: one.role for one in look.owner_by_id.values()}
    shapes: list[Shape] = []
    for name in sorted(ids_of, key=lambda name: (name is None, name or "")):  # the subject last
        around = showing(look.result.ids, ids_of[name])
        if not around.any():
            continue
        look.used.add(f"outline {roles[name]}")
        if name is None:
            shapes += subject.pasted(look)
        shapes += double_line(around, look.scale)
    if shapes and None not in ids_of and any(one.role == SUBJECT for one in look.owner_by_id.values()):
        shapes += subject.pasted(look)
    return shapes


def double_line(shown: Mask, scale: Scale) -> list[Shape]:
    """A line of ink round what is shown, (h, w), and one of white round that; none along the picture's
    edge."""
    width = scale.line(WIDTH)
    lines: list[Shape] = []
    for out, ink in ((1.5, WHITE), (0.5, INK)):
        for points, closed in loops(grown(shown, round(out * width))):
            lines.append(Line(points, width, ink, closed=closed))
    return lines


def sample(scale: Scale) -> list[Shape]:
    """A patch with its outline, for the legend."""
    width = scale.line(WIDTH)
    shapes: list[Shape] = []
    for out, ink in ((1.5, WHITE), (0.5, INK)):
        off = 2.0 * width - out * width
        shapes.append(Line(box(off, off, 34.0 - off, ENTRY_HEIGHT - off), width, ink, closed=True))
    return shapes


def grown(shown: Mask, px: int) -> Mask:
    """A mask and all pixels whose centres are within `px` of the centre of one of its own."""
    if not shown.any():
        return shown
    whole = np.zeros_like(shown)
    part = tuple(slice(max(0, first - px), last + px) for first, last in ends(shown))
    found, shown = whole[part], shown[part]
    found |= shown
    height, width = shown.shape
    for y in range(-px, px + 1):
        for x in range(-px, px + 1):
            if 0 < x * x + y * y <= px * px:
                to = np.s_[max(0, y) : height + min(0, y), max(0, x) : width + min(0, x)]
                of = np.s_[max(0, -y) : height + min(0, -y), max(0, -x) : width + min(0, -x)]
                found[to] |= shown[of]
    return whole


def loops(shown: Mask) -> list[Loop]:
    """The outlines of a mask, (h, w), without what runs along the picture's edge."""
    points = outline(shown)
    if not len(points):
        return []
    height, width = shown.shape
    found: list[Loop] = []
    for loop in np.split(points, np.flatnonzero(np.isnan(points[:, 0]))):
        ring = loop[np.isfinite(loop[:, 0])]
        if len(ring) < 3 or float(np.ptp(ring, axis=0).max()) < LEAST_LOOP_PX:
            continue
        at_edge = ((ring == 0) | (ring == (width, height))).any(axis=1)
        if not at_edge.any():
            found.append((ring[:-1], True))
            continue
        first = int(np.argmax(at_edge))
        turned = np.roll(ring[:-1], -first, axis=0)  # begin where it is left out
        off = np.roll(at_edge[:-1], -first)
        for part in np.split(np.arange(len(turned)), np.flatnonzero(off)):
            run = part[~off[part]]
            if len(run) > 1:
                found.append((turned[run], False))
    return found


def line_of(loop: Loop, width_px: float, ink: tuple[int, int, int]) -> Line:
    """A loop as one line."""
    points: PointsLike = loop[0]
    return Line(points, width_px, ink, closed=loop[1])


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Nothing: outlines stand with the tints."""
    return []
