"""Names of reserved areas, placed once all that is in the picture has its words."""

from __future__ import annotations

from collections.abc import Iterator

from stationpoint.ink import Box, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry, Label, label, padded, set_label
from stationpoint.sheet.marks.reserved import NAME, rects_px
from stationpoint.sheet.scale import Scale

__all__ = ["LAYER", "NAME", "draw", "legend"]

LAYER = 88
INSET_PX = 5.0
LEAST_NAME_SHARE = 0.25  # of the picture's width, that a name may take beside a narrow area


def draw(look: Drawing) -> list[Shape]:
    """The name of each area in a corner of it, else beside it, rather on no line, where there is room."""
    shapes: list[Shape] = []
    for area, rect in zip(look.study.reserved, rects_px(look), strict=True):
        inset = look.scale.long(INSET_PX)
        room = max(rect[2] - rect[0] - 2 * inset, LEAST_NAME_SHARE * look.size_px[0])
        those = label(area.name, look.scale, room)
        spots = [spot for spot in _spots(rect, those, inset) if look.space.inside(spot, 2)]
        words = look.space.boxed | look.space.kept
        free = [spot for spot in spots if look.space.free(padded(spot, 2))]
        on_lines = [spot for spot in spots if not look.space.over(padded(spot, 2), words)]
        spot = next(iter([*free, *on_lines]), None)
        if spot is None:
            look.unplaced.append(area.name)
            continue
        look.space.occupy(padded(spot, 3))
        shapes += set_label(those, spot, look.scale)
    return shapes


def _spots(rect: Box, those: Label, inset: float) -> Iterator[Box]:
    """Boxes for a name: the area's corners, then along its rows, then above and below it."""
    left, top, right, bottom = rect
    w, h = those.width, those.height
    fits = bottom - top > h + 2
    rows = (top + inset, bottom - inset - h, (top + bottom - h) / 2) if fits else ()
    for y in (*rows, top - inset - h, bottom + inset):
        for x in (left + inset, right - inset - w, (left + right - w) / 2):
            yield (x, y, x + w, y + h)


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Nothing: it stands with the area."""
    return []
