"""Size brackets: how tall a target is drawn, with its angle at the first viewing's seat."""

from __future__ import annotations

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.sheet.marks.drawing import Drawing, Entry, label, padded, set_label
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import arcmin_words

NAME, LAYER = "size", 64
FARTHER_PX = 26.0  # out of the way of a letter or a name


def draw(look: Drawing) -> list[Shape]:
    """A bracket beside each primary target that lies whole on the picture."""
    shapes: list[Shape] = []
    width, height = look.size_px
    for target in look.study.target:
        found = look.extra("size", target.name)
        if target.role != "primary" or found is None:
            continue
        left, top = found.min(axis=0)
        right, bottom = found.max(axis=0)
        arm, off = look.scale.long(7), look.scale.long(9)
        if bottom - top < 2 * arm or top < 0 or bottom > height:
            continue
        ways = [(out, side) for out in (off, off + look.scale.long(FARTHER_PX)) for side in (-1.0, 1.0)]
        sides = [(float(right) + out if side < 0 else float(left) - out, side) for out, side in ways]
        inside = [(x, side) for x, side in sides if 4 <= x <= width - 4]
        if not inside:
            continue
        clear = [one for one in inside if not look.space.over_words((one[0], top), (one[0], bottom))]
        x, inwards = (clear or inside)[0]
        shapes.append(bracket(x, float(top), float(bottom), inwards * arm, look.scale))
        look.space.take_line((x, top), (x, bottom))
        look.used.add("size")
        shapes += _words(look, target.name, x, (float(top) + float(bottom)) / 2, -inwards)
    return shapes


def bracket(x: float, top: float, bottom: float, arm: float, scale: Scale) -> Line:
    """An upright with two arms of `arm` px; negative arms point left."""
    corners = ((x + arm, top), (x, top), (x, bottom), (x + arm, bottom))
    return Line(corners, scale.line(1.5), INK, scale.halo)


def _words(look: Drawing, name: str, x: float, y: float, side: float) -> list[Shape]:
    viewing = look.result.seats[0].name if look.result.seats else ""
    found = look.value("targets", name, "size_arcmin", viewing)
    if not isinstance(found, tuple) or not isinstance(found[1], float | int):
        return []
    those = label(arcmin_words(float(found[1])), look.scale, 120)
    w, h, gap = those.width, those.height, look.scale.long(6)
    for left in (x + gap, x - gap - w) if side > 0 else (x - gap - w, x + gap):
        for step in (0.0, -h - gap, h + gap):
            box = (left, y - h / 2 + step, left + w, y + h / 2 + step)
            if look.space.inside(box, 3) and look.space.free(box):
                look.space.occupy(padded(box, 3))
                return list(set_label(those, box, look.scale))
    return []


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """The bracket in small."""
    if "size" not in used:
        return []
    return [((bracket(24.0, 2.0, 18.0, 8.0, scale),), "drawn height of a target, arcmin")]
