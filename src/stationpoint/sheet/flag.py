"""Verdict flags: told by shape, weight and black against white, never by a hue."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Literal

from stationpoint.base.look import INK, PALE, WHITE
from stationpoint.ink import (
    Area,
    Line,
    PointsLike,
    Shape,
    box,
    cap_height_px,
    cut_box,
    shorter_names,
    text_shape,
    text_width,
    tick,
    wrap_text,
)
from stationpoint.sheet.headings import balanced
from stationpoint.sheet.scale import Scale

Kind = Literal["chosen", "chosen-fails", "holds", "fails", "none"]
WORDS: dict[Kind, str] = {
    "chosen": "Chosen",
    "chosen-fails": "Chosen, fails",
    "holds": "Holds",
    "fails": "Fails",
    "none": "No reading",
}
SAYS: dict[Kind, str] = {
    "chosen": "the one taken",
    "chosen-fails": "the one taken, which breaks a must: the limit that binds",
    "holds": "every must of the brief holds",
    "fails": "one does not: the limit that binds",
    "none": "nothing could be measured",
}
HEIGHT, CUT, PICTURE_CUT = 36, 16, 26


@dataclass(frozen=True, slots=True)
class Flag:
    """What the brief says of one variant.

    kind: chosen, holds, fails or none (nothing could be measured). limit: the limit that binds, in
    words; for the chosen and holding the nearest one. binding: the reading's path that the limit is
    about, so that the caption sets it in semibold. value: its value as the limit's words give it.
    """

    kind: Kind
    limit: str = ""
    binding: tuple[str, ...] = ()
    value: str = ""

    @property
    def is_chosen(self) -> bool:
        """Whether it is of the one taken."""
        return self.kind in ("chosen", "chosen-fails")

    @property
    def fails(self) -> bool:
        """Whether a must does not hold."""
        return self.kind in ("fails", "chosen-fails")


def flag_shapes(kind: Kind, left: float, top: float, height: float, size: int, scale: Scale) -> list[Shape]:
    """The flag alone, its word in it."""
    words = WORDS[kind]
    pad, ticked = 0.39 * height, kind in ("chosen", "holds")
    mark = 0.62 * height if ticked else 0.0
    width = flag_width(kind, height, size)
    right, bottom = left + width, top + height
    line = scale.line(1.5)
    shapes: list[Shape] = []
    if kind == "fails":
        shapes.append(Area((cut_box(left, top, right, bottom, height * CUT / HEIGHT),), INK))
    elif kind in ("chosen", "chosen-fails"):
        cut = height * CUT / HEIGHT if kind == "chosen-fails" else 0.0
        shapes.append(
            Area(
                (_inset(left, top, right, bottom, 0.0, cut),),
                WHITE,
                edge_ink=INK,
                edge_width_px=scale.line(2),
            )
        )
        shapes.append(
            Area(
                (_inset(left, top, right, bottom, 4.0, cut),),
                None,
                edge_ink=INK,
                edge_width_px=scale.line(1.5),
            )
        )
    elif kind == "holds":
        shapes.append(Area((box(left, top, right, bottom),), PALE, edge_ink=INK, edge_width_px=line))
    else:
        ring = box(left, top, right, bottom)
        shapes.append(Line(ring, scale.line(2.4), INK, dash=(0.0, 5.0), closed=True))
    baseline = top + (height + cap_height_px(size)) / 2
    if ticked:
        shapes.append(tick(left + pad * 0.75, baseline, cap_height_px(size) * 0.98, scale.line(2.6), INK))
    ink = WHITE if kind == "fails" else INK
    shapes.append(text_shape((left + pad + mark, baseline), words, size, "bold", ink))
    return shapes


def flag_width(kind: Kind, height: float, size: int) -> float:
    """Width of a flag of that height whose word has that size."""
    mark = 0.62 * height if kind in ("chosen", "holds") else 0.0
    end = 0.3 * height if kind in ("fails", "chosen-fails") else 0.0
    return mark + 2 * 0.39 * height + end + text_width(WORDS[kind], size, "bold")


def flag_row(flag: Flag, width: float, height: float, scale: Scale) -> list[Shape]:
    """The flag at the row's left and its limit beside it, at most two lines."""
    size = min(scale.type(27), round(height * 0.75))
    shapes = flag_shapes(flag.kind, 0.0, 0.0, height, size, scale)
    left = flag_width(flag.kind, height, size) + scale.space(12)
    small = scale.type(16)
    if width - left < 4 * small:
        return shapes
    lines = balanced(_limit_that_fits(flag, small, width - left), small, "semibold", width - left, 2)
    lead = round(small * 18 / 16)
    y = (height - lead * (len(lines) - 1) + cap_height_px(small)) / 2
    for k, line in enumerate(lines):
        shapes.append(text_shape((left, y + k * lead), line, small, "semibold"))
    return shapes


def _limit_that_fits(flag: Flag, size: int, within_px: float) -> str:
    """The limit in words, the name in it cut where two lines do not hold them all: never its numbers."""
    name = flag.binding[1] if len(flag.binding) > 1 else ""
    if not name or name not in flag.limit:
        return flag.limit
    tries = (flag.limit.replace(name, shorter, 1) for shorter in shorter_names(name))
    fitting = (words for words in tries if len(wrap_text(words, size, "semibold", within_px, 3)) <= 2)
    return next(fitting, flag.limit)


def picture_cut_px(flag: Flag | None, scale: Scale) -> float:
    """How much of the picture's upper right corner is cut off."""
    return scale.long(PICTURE_CUT) if flag is not None and flag.fails else 0.0


def picture_frame(
    flag: Flag | None, left: float, top: float, right: float, bottom: float, scale: Scale
) -> list[Shape]:
    """What frames the picture: a thin line; dotted without a reading; white between ink if chosen."""
    thin = scale.line(1.25)
    if flag is not None and flag.kind == "none":
        return [Line(box(left, top, right, bottom), scale.line(2.4), INK, dash=(0.0, 5.0), closed=True)]
    cut = picture_cut_px(flag, scale)
    if flag is not None and flag.is_chosen:
        rings = (
            (7.0 + scale.line(1.5) / 2, INK, scale.line(2.0)),
            (4.2, WHITE, 5.2),
            (0.6, INK, scale.line(1.5)),
        )
        return [
            Area((_inset(left, top, right, bottom, -off, cut),), None, edge_ink=ink, edge_width_px=px)
            for off, ink, px in rings
        ]
    ring = cut_box(left, top, right, bottom, cut) if cut else box(left, top, right, bottom)
    return [Line(ring, thin, INK, closed=True, round_ends=False)]


def _inset(left: float, top: float, right: float, bottom: float, by: float, cut: float) -> PointsLike:
    """A box whose sides are moved inwards by so much, its upper right corner cut off by `cut` and that edge
    moved as far."""
    sides = (left + by, top + by, right - by, bottom - by)
    return cut_box(*sides, cut - (2.0 - sqrt(2.0)) * by) if cut else box(*sides)
