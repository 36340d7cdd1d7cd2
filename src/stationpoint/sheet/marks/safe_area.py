"""Safe areas: within 93 % action is safe, within 90 % titles are (SMPTE ST 2046-1)."""

from __future__ import annotations

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape, box
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale

NAME, LAYER = "safe-areas", 5
ACTION, TITLE = 0.93, 0.90


def draw(look: Drawing) -> list[Shape]:
    """Two thin rectangles: action solid, title dashed."""
    look.used.add("safe-areas")
    width, height = look.size_px
    return [
        _frame(width, height, ACTION, (), look.scale),
        _frame(width, height, TITLE, (look.scale.long(4), look.scale.long(4)), look.scale),
    ]


def _frame(width: float, height: float, share: float, dash: tuple[float, ...], scale: Scale) -> Line:
    x, y = width * (1 - share) / 2, height * (1 - share) / 2
    return Line(box(x, y, width - x, height - y), scale.line(1.25), INK, scale.halo, dash, closed=True)


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Both rectangles in small."""
    if "safe-areas" not in used:
        return []
    solid = Line(box(8, 1, 48, 19), scale.line(1.25), INK, scale.halo, closed=True)
    dashed = Line(box(12, 4, 44, 16), scale.line(1.25), INK, scale.halo, (4.0, 4.0), closed=True)
    return [((solid, dashed), "action safe (93 %), dashed: title safe (90 %)")]
