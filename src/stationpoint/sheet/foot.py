"""The foot of a sheet."""

from __future__ import annotations

from stationpoint.ink import Shape, text_shape, text_width, wrap_text
from stationpoint.sheet.headings import rule
from stationpoint.sheet.scale import MARGIN, Scale

CAUTION = "A sheet screens cameras; it does not replace players. Try the chosen one in the game."
FOOT = 16


def foot_shapes(top: int, width: int, record_hash: str, scale: Scale) -> tuple[list[Shape], int]:
    """The rule, the caution at the left and the record's hash at the right; the hash goes under the
    caution where they do not stand side by side."""
    size = scale.page_type(FOOT)
    lead = round(size * 1.4)
    said = f"record {record_hash}"
    right = width - MARGIN
    taken = text_width(said, size, "semibold")
    shapes: list[Shape] = [rule(MARGIN, right, top)]
    beside = text_width(CAUTION, size) + taken + 40 <= width - 2 * MARGIN
    lines = (CAUTION,) if beside else wrap_text(CAUTION, size, "regular", width - 2 * MARGIN, 4)
    y = top + round(size * 1.75)
    for k, line in enumerate(lines):
        shapes.append(text_shape((MARGIN, y + k * lead), line, size))
    last = y + (len(lines) - (1 if beside else 0)) * lead
    shapes.append(text_shape((right, last), said, size, "semibold", anchor="right"))
    return shapes, last - top + MARGIN - 8
