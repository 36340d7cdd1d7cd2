"""What lies off the picture: a triangle at the edge and a name beside it; no mark of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape, arrow_head, wrap_text
from stationpoint.sheet.marks.drawing import Drawing, Label, Row, padded, set_label
from stationpoint.sheet.scale import Scale

NAME_SHARE = 0.34
NEAR_SHARE = 0.2  # of the picture, by which a name moves off targets
SIDES = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, -1.0), "bottom": (0.0, 1.0)}
SIDES |= {"above": SIDES["top"], "below": SIDES["bottom"]}
EDGE_PX, ARROW_LONG, ARROW_WIDE = 5.0, 12.0, 11.0
Spot = NDArray[np.float64]


def name_label(name: str, look: Drawing, below: str = "") -> Label:
    """A target's name: wrapped at a third of the picture, cut only as the last resort. below: a further
    line."""
    px = look.scale.type(14)
    lines = wrap_text(name, px, "semibold", NAME_SHARE * look.size_px[0], 2) or ("?",)
    rows: list[Row] = [(line, px, "semibold") for line in lines]
    return Label((*rows, (below, px, "semibold")) if below else tuple(rows))


def edge_arrow(look: Drawing, name: str, side: str, towards: Spot | None) -> list[Shape]:
    """A triangle at an edge and a name beside it, as near as there is room to where `towards` lies, rather on
    no target."""
    if side not in SIDES:  # behind the camera: told at the lower edge
        name, side = f"{name}, {side}", "below"
    out = SIDES[side]
    width, height = look.size_px
    scale = look.scale
    middle_x, middle_y = width / 2, height / 2
    at_x, at_y = (middle_x, middle_y) if towards is None else np.clip(towards, 0, look.size_px).tolist()
    those = name_label(name, look)
    w, h = those.width, those.height
    long, wide, edge, gap = (scale.long(v) for v in (ARROW_LONG, ARROW_WIDE, EDGE_PX, 5.0))
    aside_px = [0.0] + [sign * k * (h + 8) for k in range(1, 40) for sign in (1, -1)]
    near = [off_px for off_px in aside_px if abs(off_px) <= NEAR_SHARE * max(look.size_px)]
    inset = max(edge + wide, edge + h / 2)  # an arrow and all lines of its name are on the picture
    for off_px, beside in (*((off_px, True) for off_px in near), *((off_px, False) for off_px in aside_px)):
        if out[0]:
            y = min(max(at_y + off_px, inset), height - inset)
            tip = (edge if out[0] < 0 else width - edge, y)
            left = tip[0] + long + gap if out[0] < 0 else tip[0] - long - gap - w
            box = (left, y - h / 2, left + w, y + h / 2)
            whole = (min(tip[0], left), y - h / 2, max(tip[0], left + w), y + h / 2)
        else:
            x = min(max(at_x + off_px, edge + wide), width - edge - wide - gap - w)
            tip = (x, edge if out[1] < 0 else height - edge)
            middle = tip[1] - out[1] * max(long, h) / 2
            left = x + wide / 2 + gap
            box = (left, middle - h / 2, left + w, middle + h / 2)
            whole = (x - wide / 2, middle - max(long, h) / 2, left + w, middle + max(long, h) / 2)
        if look.space.free(padded(whole, 3), beside):
            break
    else:
        look.unplaced.append(name)
        return []
    look.space.occupy(padded(whole, 4))
    look.used.add("off")
    return [*off_arrow(tip, out, scale), *set_label(those, box, scale)]


def off_arrow(tip: tuple[float, float], out: tuple[float, float], scale: Scale) -> tuple[Shape, ...]:
    """A solid triangle that points off the picture."""
    head = arrow_head(tip, out, scale.long(ARROW_LONG), scale.long(ARROW_WIDE), INK)
    ring = head.rings[0]
    return (Line(ring, max(1.0, scale.long(0.8)), INK, scale.halo, closed=True), head)
