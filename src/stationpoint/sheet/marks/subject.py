"""The subject's own pixels, pasted back: a mark may pass behind the subject, never over it."""

from __future__ import annotations

import numpy as np

from stationpoint.ink.shapes import Picture, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale

NAME, LAYER = "subject", 50


def draw(look: Drawing) -> list[Shape]:
    """The subject's pixels where its ids are, nothing without ids."""
    if look.seen is None or look.take.picture is None:
        return []
    rows, columns = np.nonzero(look.seen == -1)
    if not len(rows):
        return []
    width, height = look.size_px
    top, bottom = int(rows.min()) * 2, min(height, int(rows.max()) * 2 + 2)
    left, right = int(columns.min()) * 2, min(width, int(columns.max()) * 2 + 2)
    part = np.s_[top:bottom, left:right]
    mask = np.zeros((bottom - top, right - left), dtype=np.uint8)
    half = look.seen[top // 2 : -(-bottom // 2), left // 2 : -(-right // 2)] == -1
    whole = np.repeat(np.repeat(half, 2, axis=0), 2, axis=1)[: bottom - top, : right - left]
    mask[whole] = 255
    pixels = np.ascontiguousarray(look.take.picture[part])
    return [Picture((left, top, right, bottom), pixels, mask=mask)]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Nothing: the subject stands with the tints."""
    return []
