"""The subject's own pixels, pasted back: a mark may pass behind the subject, never over it."""

from __future__ import annotations

import numpy as np

from stationpoint.base.geometry.pixels import ends
from stationpoint.ink import Picture, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.marks.free_space import BLOCK
from stationpoint.sheet.roles import SUBJECT, showing
from stationpoint.sheet.scale import Scale

NAME, LAYER = "subject", 50


def draw(look: Drawing) -> list[Shape]:
    """The subject's pixels where a line ran over them."""
    return pasted(look) if look.space.passed else []


def pasted(look: Drawing) -> list[Shape]:
    """The subject's pixels where its ids are; nothing without ids or where it is not on the picture."""
    ids, picture = look.result.ids, look.result.picture
    if ids is None or picture is None or not look.space.subject.any():
        return []
    rows, columns = ends(look.space.subject)
    width, height = look.size_px
    top, bottom = max(0, (rows[0] - 1) * BLOCK), min(height, (rows[1] + 1) * BLOCK)
    left, right = max(0, (columns[0] - 1) * BLOCK), min(width, (columns[1] + 1) * BLOCK)
    part = np.s_[top:bottom, left:right]
    own = [number for number, one in look.owner_by_id.items() if one.role == SUBJECT]
    mask = (showing(ids[part], own) * 255).astype(np.uint8)
    return [Picture((left, top, right, bottom), np.ascontiguousarray(picture[part]), mask=mask)]


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Nothing: the subject stands with the tints."""
    return []
