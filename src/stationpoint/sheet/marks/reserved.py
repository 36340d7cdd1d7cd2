"""Reserved areas: hatched, where the game's interface will cover the picture."""

from __future__ import annotations

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Box, Halo, Line, Shape, box
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale

NAME, LAYER = "reserved", 51  # over the subject, as the interface will be
STEP_PX = 9.0
QUIET, QUIET_HALO = 0.5, 0.3


def claim(look: Drawing) -> None:
    """Words of other marks leave the areas free where they can."""
    for rect in rects_px(look):
        look.space.show(rect)


def draw(look: Drawing) -> list[Shape]:
    """Each area hatched and framed by a thin line."""
    shapes: list[Shape] = []
    for rect in rects_px(look):
        shapes += hatched(rect, look.scale)
        look.used.add(NAME)
    return shapes


def rects_px(look: Drawing) -> list[Box]:
    """The areas, pixels."""
    width, height = look.size_px
    sides = (area.rect for area in look.study.reserved)
    return [(left * width, top * height, right * width, low * height) for left, top, right, low in sides]


def hatched(rect: Box, scale: Scale) -> list[Shape]:
    """Thin slanting lines across a box, pixels, and its frame; at the same places in all cells."""
    left, top, right, bottom = rect
    halo = Halo(WHITE, max(1.0, 0.8 * scale.u), QUIET_HALO)
    step = scale.long(STEP_PX)
    lines: list[Shape] = []
    for k in range(int((left + top) // step) + 1, int((right + bottom) // step) + 1):
        at = k * step  # x + y along this line
        ends = (
            (max(left, at - bottom), min(bottom, at - left)),
            (min(right, at - top), max(top, at - right)),
        )
        lines.append(Line(ends, 1.0, INK, halo, round_ends=False, opacity=QUIET))
    frame = Line(box(left, top, right, bottom), scale.line(1.25), INK, halo, closed=True, round_ends=False)
    return [*lines, frame]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """A small hatched box."""
    if NAME not in used:
        return []
    return [(tuple(hatched((8.0, 1.0, 48.0, 19.0), scale)), "reserved: the game's interface will cover it")]
