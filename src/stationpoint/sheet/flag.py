"""Verdict flags: told by shape, weight and white against grey, never by a hue; what holds stands out."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Literal

from stationpoint.base.look import INK, RGB, WHITE
from stationpoint.ink import (
    Area,
    Line,
    PointsLike,
    Shape,
    Weight,
    box,
    cap_height_px,
    cross,
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
    "fails": "one does not; beside it what is wrong",
    "none": "nothing could be measured",
}
HEIGHT, CUT, PICTURE_CUT = 36, 16, 26


@dataclass(frozen=True, slots=True)
class Stated:
    """A limit of the brief with what was found, for a caption: "crate: edge stretch 1.07, at most
    1.3"; short: without whose it is."""

    words: str
    holds: bool
    short: str = ""


@dataclass(frozen=True, slots=True)
class Flag:
    """What the brief says of one variant.

    kind: chosen, holds, fails or none (nothing could be measured). limit: the limit that binds, in
    words; for the chosen and holding the nearest one. binding: the reading's path that the limit is
    about, which the caption does not say again. wrong: what is
    wrong in words of the level, said before the limit. why: the reason that the brief gives for it. others:
    what else the brief bounds, worst first.
    """

    kind: Kind
    limit: str = ""
    binding: tuple[str, ...] = ()
    wrong: str = ""
    why: str = ""
    others: tuple[Stated, ...] = ()

    @property
    def words(self) -> str:
        """What stands beside the flag, as one sentence: "slung load is out of view: seen 0 %, needs 60 %"."""
        return f"{self.wrong}: {self.limit}" if self.wrong else self.limit

    @property
    def is_chosen(self) -> bool:
        """Whether it is of the one taken."""
        return self.kind in ("chosen", "chosen-fails")

    @property
    def fails(self) -> bool:
        """Whether a must does not hold."""
        return self.kind in ("fails", "chosen-fails")


def flag_shapes(kind: Kind, left: float, top: float, height: float, size: int, scale: Scale) -> list[Shape]:
    """The flag alone, its word and its mark in it: white where the brief holds, no more than an outline with
    a cut corner where it fails."""
    pad, mark = 0.39 * height, _mark_px(kind, height)
    right, bottom = left + flag_width(kind, height, size), top + height
    whole = box(left, top, right, bottom)
    shapes: list[Shape] = []
    if kind == "fails":
        cut = cut_box(left, top, right, bottom, height * CUT / HEIGHT)
        shapes.append(Line(cut, scale.line(1.5), INK, closed=True, round_ends=False))
    elif kind in ("chosen", "chosen-fails"):
        cut_px = height * CUT / HEIGHT if kind == "chosen-fails" else 0.0
        for by, fill, px in ((0.0, WHITE, 2.0), (4.0, None, 1.5)):
            ring = _inset(left, top, right, bottom, by, cut_px)
            shapes.append(Area((ring,), fill, edge_ink=INK, edge_width_px=scale.line(px)))
    elif kind == "holds":
        shapes.append(Area((whole,), WHITE, edge_ink=INK, edge_width_px=scale.line(2)))
    else:
        shapes.append(Line(whole, scale.line(2.4), INK, dash=(0.0, 5.0), closed=True))
    cap = cap_height_px(size)
    baseline = top + (height + cap) / 2
    if kind in ("chosen", "holds"):
        shapes.append(tick(left + pad * 0.75, baseline, cap, scale.line(4.0), INK))
    elif kind == "fails":
        small = 0.78 * cap
        shapes += cross(left + pad * 0.85, baseline - (cap - small) / 2, small, scale.line(2.2), INK)
    shapes.append(text_shape((left + pad + mark, baseline), WORDS[kind], size, "bold", INK))
    return shapes


def _mark_px(kind: Kind, height: float) -> float:
    """Room for the tick or the cross before a flag's word."""
    return 0.0 if kind == "none" else 0.62 * height


def flag_width(kind: Kind, height: float, size: int) -> float:
    """Width of a flag of that height whose word has that size."""
    end = 0.2 * height if kind in ("fails", "chosen-fails") else 0.0
    return _mark_px(kind, height) + 2 * 0.39 * height + end + text_width(WORDS[kind], size, "bold")


def flag_row(flag: Flag, width: float, height: float, scale: Scale) -> list[Shape]:
    """The flag at the row's left and its limit beside it, at most two lines."""
    size = min(scale.type(27), round(height * 0.75))
    shapes = flag_shapes(flag.kind, 0.0, 0.0, height, size, scale)
    left = flag_width(flag.kind, height, size) + scale.space(12)
    small = scale.type(16)
    if width - left < 4 * small:
        return shapes
    lines = _lines_beside(flag, small, width - left)
    lead = round(small * 18 / 16)
    y = (height - lead * (len(lines) - 1) + cap_height_px(small)) / 2
    for k, (line, weight) in enumerate(lines):
        shapes.append(text_shape((left, y + k * lead), line, small, weight))
    return shapes


def _lines_beside(flag: Flag, size: int, within_px: float) -> list[tuple[str, Weight]]:
    """What is said beside a flag: what is wrong with its numbers, and why that matters where there is room
    for it; else what is wrong over its numbers; else the limit alone."""

    def fits(words: str, weight: Weight) -> bool:
        return text_width(words, size, weight) <= within_px

    if flag.kind == "fails" and fits(flag.words, "semibold"):
        has_room = flag.why and fits(flag.why, "regular")
        return [(flag.words, "semibold"), *([(flag.why, "regular")] if has_room else [])]  # type: ignore[list-item]
    if flag.wrong and fits(flag.wrong, "semibold") and fits(flag.limit, "regular"):
        return [(flag.wrong, "semibold"), (flag.limit, "regular")]
    said = _limit_that_fits(flag, size, within_px)
    return [(line, "semibold") for line in balanced(said, size, "semibold", within_px, 2)]


def _limit_that_fits(flag: Flag, size: int, within_px: float) -> str:
    """The limit in words, the name in it cut where two lines do not hold them all: never its numbers."""
    name = flag.binding[1] if len(flag.binding) > 1 else ""
    said = flag.words
    if not name or name not in said:
        return said
    tries = (said.replace(name, shorter, 1) for shorter in shorter_names(name))
    fitting = (words for words in tries if len(wrap_text(words, size, "semibold", within_px, 3)) <= 2)
    return next(fitting, said)


def picture_cut_px(flag: Flag | None, scale: Scale) -> float:
    """How much of the picture's upper right corner is cut off."""
    return scale.long(PICTURE_CUT) if flag is not None and flag.fails else 0.0


def picture_frame(
    flag: Flag | None, left: float, top: float, right: float, bottom: float, scale: Scale
) -> list[Shape]:
    """What frames the picture: a thin line; dotted without a reading; white between ink where the brief
    holds, and wider if chosen."""
    thin = scale.line(1.25)
    if flag is not None and flag.kind == "none":
        return [Line(box(left, top, right, bottom), scale.line(2.4), INK, dash=(0.0, 5.0), closed=True)]
    cut = picture_cut_px(flag, scale)
    rings: tuple[tuple[float, RGB, float], ...] = ()  # how far out, ink, width
    if flag is not None and flag.is_chosen:
        rings = (
            (7.0 + scale.line(1.5) / 2, INK, scale.line(2.0)),
            (4.2, WHITE, 5.2),
            (0.6, INK, scale.line(1.5)),
        )
    elif flag is not None and flag.kind == "holds":
        white, edge = scale.line(3.0), scale.line(1.25)
        rings = ((white + edge, INK, edge), (0.5 * (white + edge), WHITE, white), (0.0, INK, edge))
    if rings:
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
