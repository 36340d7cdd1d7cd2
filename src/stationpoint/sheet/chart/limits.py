"""Limits on a chart: across a panel where they hold for all its lines, else as long as their own words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from stationpoint.base.look import INK, PALE, SHADE
from stationpoint.ink import text_width, wrap_text
from stationpoint.readings import bounds_of
from stationpoint.sheet.chart.frame import Frame
from stationpoint.sheet.chart.names import LEADING, Box, Room
from stationpoint.sheet.chart.own import hex_of
from stationpoint.sheet.chart.page import Page
from stationpoint.sheet.chart.panels import Panel
from stationpoint.sheet.chart.series import Chart
from stationpoint.study import Limit

HATCH_PX = 14.0  # how far a short limit's hatching reaches to the side that fails
SHADED = 0.75
FAILING = {"min": (1,), "max": (-1,), "is": (-1, 1), "not": ()}  # sides, down is 1


class Drawing(NamedTuple):
    """Where limits are drawn: page, frame, what is taken there, size of type."""

    page: Page
    frame: Frame
    room: Room
    size: float


def draw_limits(on: Drawing, chart: Chart, panel: Panel, words: Sequence[str]) -> None:
    """The limits that are about a panel's lines.

    One that is about all of them is a line across, what fails it shaded. One that is about some is a short
    line, hatched to the side that fails, with whose it is; which points fail it is told by the points.
    """
    for number, (limit, whose) in enumerate(chart.limits):
        about = [number in line.limits for line in panel.lines]
        if not any(about):
            continue
        if words:
            brief = chart.brief[number] if number < len(chart.brief) else whose
            _draw_words(on, limit, words, brief, all(about))
            continue
        known = (
            not whose
            or len(chart.lines) == 1
            or (all(about) and (whose in panel.title or chart.says.startswith(f"{whose}:")))
        )
        for bound in bounds_of(limit, chart.unit):
            said = bound.words if known else f"{whose}: {bound.words}"
            _draw_bound(on, bound.value, FAILING[bound.key], said, all(about))


def _draw_bound(on: Drawing, value: float, sides: tuple[int, ...], said: str, whole: bool) -> None:
    left, top, right, bottom = on.frame.box
    y = on.frame.y(value)
    if whole:
        for side in sides:
            on.page.area(
                (left, y, right, bottom) if side > 0 else (left, top, right, y), hex_of(SHADE), 1.0, SHADED
            )
        on.page.line([(left, y), (right, y)], hex_of(INK), 1.2, zorder=2.2)
    holds = -1 if 1 in sides else 1  # words stand rather on the side that holds
    lines, wide, tall = _set(on, said)

    def boxes() -> Iterator[Box]:
        for way in (holds, -holds):
            off = 5.0 + (HATCH_PX if way in sides and not whole else 0.0)
            up = y - off - tall if way < 0 else y + off
            yield from _across(on, up, wide, tall)

    box = _write(on, lines, list(boxes()), y if whole else None, sides)
    if not whole:
        on.page.line([(box[0], y), (box[2], y)], hex_of(INK), 2.0, zorder=3.6)
        for side in sides:
            low, high = sorted((y, y + side * HATCH_PX))
            on.page.area((box[0], low, box[2], high), hex_of(INK), 3.5, 0.7, "////")


def _draw_words(on: Drawing, limit: Limit, words: Sequence[str], brief: str, whole: bool) -> None:
    """The words that fail a limit: their bands shaded, or hatched at the axis where it is not about all."""
    wrong = [k for k, word in enumerate(words) if _is_wrong(limit, word)]
    left, _, right, _ = on.frame.box
    for k in wrong:
        band = (left, on.frame.y(k + 0.5), right if whole else left + HATCH_PX, on.frame.y(k - 0.5))
        on.page.area(band, hex_of(SHADE if whole else INK), 1.0, SHADED, "" if whole else "////")
    lines, wide, tall = _set(on, brief)
    boxes: list[Box] = []
    for k in (*wrong[::-1], *(n for n in range(len(words)) if n not in wrong)):
        band_px = on.frame.y(k - 0.5) - on.frame.y(k + 0.5)
        for up in (4.0, band_px - tall - 4):
            boxes += _across(on, on.frame.y(k + 0.5) + up, wide, tall)
    _write(on, lines, boxes, None, ())


def _set(on: Drawing, said: str) -> tuple[tuple[str, ...], float, float]:
    """A limit's words in lines that a panel holds, with the width and the height of them all."""
    left, _, right, _ = on.frame.box
    lines = wrap_text(said, on.size, "semibold", right - left - HATCH_PX - 24, 3)
    wide = max((text_width(line, on.size, "semibold") for line in lines), default=0.0) + 8
    return lines, wide, on.size * (1.1 + LEADING * (len(lines) - 1))


def _across(on: Drawing, up: float, wide: float, tall: float) -> Iterator[Box]:
    """Boxes at a height, from the left side of a panel to its right."""
    left, right = on.frame.box[0] + HATCH_PX + 4, on.frame.box[2] - 6
    for k in range(21):
        x = left + (right - left - wide) * k / 20
        yield (x, up, x + wide, up + tall)


def _write(
    on: Drawing, lines: Sequence[str], boxes: Sequence[Box], shaded_from: float | None, sides: tuple[int, ...]
) -> Box:
    """Words in the best of these boxes, or the first where none is free, over the ground that is there."""
    box = on.room.best(boxes) or boxes[0]
    below = shaded_from is not None and box[1] > shaded_from
    dark = shaded_from is not None and (1 if below else -1) in sides
    ground = (
        tuple(round(SHADED * s + (1 - SHADED) * p) for s, p in zip(SHADE, PALE, strict=True))
        if dark
        else PALE
    )
    for k, line in enumerate(lines):
        y = box[1] + (0.86 + LEADING * k) * on.size
        on.page.text(box[0] + 4, y, line, on.size, "semibold", halo=hex_of((ground[0], ground[1], ground[2])))
    return box


def _is_wrong(limit: Limit, word: str) -> bool:
    return (
        (limit.not_ is not None and word == str(limit.not_).lower())
        or (limit.is_ is not None and word != str(limit.is_).lower())
        or (limit.one_of is not None and word not in [str(one).lower() for one in limit.one_of])
    )
