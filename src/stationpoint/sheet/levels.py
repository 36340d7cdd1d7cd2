"""The sheet of many levels: a row a study, the worst first, with flag, worst picture and margin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import CELL_WIDTH_PX, INK, PAPER
from stationpoint.ink import (
    Group,
    Line,
    Page,
    Picture,
    Shape,
    Weight,
    box,
    cap_height_px,
    cut_text,
    text_shape,
    text_width,
    wrap_text,
)
from stationpoint.sheet.flag import Flag, flag_shapes, flag_width, picture_cut_px, picture_frame
from stationpoint.sheet.header import title_lines
from stationpoint.sheet.headings import balanced, page_head, rule
from stationpoint.sheet.scale import MARGIN, Scale, scale_for

WIDTH_PX, PICTURE_PX, ROW_PX = 1600, 320, 180
GAP, ROW_GAP = 30, 26
TITLE, ANSWER, NAME, WHERE, SAYS, MARGIN_SIZE, FOOT = 54, 30, 34, 20, 24, 42, 16
FLAG_PX = 40
MARGIN_ROOM = 190
ROWS_A_PAGE = 40
NO_PICTURE = "no picture"
MARGIN_SAYS = "Margin: distance to the limit over the limit; below 0 a must fails. The worst decides."


@dataclass(frozen=True, slots=True)
class LevelRow:
    """A study among others. where: the variant and place that decide. margin: as written, "" without one.
    picture: (h, w, 3) of that cell, None where there is none. since: what got worse, "" where nothing did."""

    name: str
    where: str
    flag: Flag
    margin: str = ""
    picture: NDArray[np.uint8] | None = None
    since: str = ""


def levels_pages(rows: Sequence[LevelRow], title: str, answer: str, record_hash: str) -> list[Page]:
    """The pages of many levels, in the rows' order."""
    parts = [rows[k : k + ROWS_A_PAGE] for k in range(0, len(rows), ROWS_A_PAGE)]
    return [
        _page(part, title, answer, record_hash, (number, len(parts))) for number, part in enumerate(parts, 1)
    ]


def _page(rows: Sequence[LevelRow], title: str, answer: str, record_hash: str, page: tuple[int, int]) -> Page:
    scale = scale_for(CELL_WIDTH_PX, WIDTH_PX)
    head: list[Shape] = []
    y = _head(head, title, answer, page, scale)
    shapes: list[Shape] = [Group("header", (0.0, 0.0), tuple(head))]
    for row in rows:
        shapes.append(Group("level", (float(MARGIN), float(y)), tuple(_row(row, scale))))
        y += ROW_PX + ROW_GAP + 14
    foot, height = _foot(y, record_hash, scale)
    shapes.append(Group("foot", (0.0, 0.0), tuple(foot)))
    return Page((WIDTH_PX, y + height), PAPER, tuple(shapes))


def _head(shapes: list[Shape], title: str, answer: str, page: tuple[int, int], scale: Scale) -> int:
    inner = WIDTH_PX - 2 * MARGIN
    size, lines = title_lines(title, inner, TITLE, scale)
    y = MARGIN + cap_height_px(size) + 2
    for k, line in enumerate(lines):
        y += round(size * 1.18) if k else 0
        shapes.append(text_shape((MARGIN, round(y)), line, size, "bold"))
    y += 0.3 * size
    small = scale.page_type(ANSWER)
    for line in balanced(answer, small, "semibold", inner, 3):
        y += round(small * 1.5)
        shapes.append(text_shape((MARGIN, round(y)), line, small, "semibold"))
    number, count = page
    if count > 1:
        y += round(scale.page_type(34) * 1.65)
        shapes += page_head(str(number), "worst first", count, MARGIN, round(y), scale)
    return round(y + 34)


def _row(row: LevelRow, scale: Scale) -> list[Shape]:
    """A rule, the worst picture, name over flag and words over where that is, the margin at the right."""
    inner = WIDTH_PX - 2 * MARGIN
    top = 14.0
    shapes: list[Shape] = [rule(0, inner, 0.0), *_picture(row, top, scale)]
    left, right = float(PICTURE_PX + GAP), inner - MARGIN_ROOM
    big, small, says = (scale.page_type(px) for px in (NAME, WHERE, SAYS))
    baseline = top + cap_height_px(big) + 2
    shapes.append(text_shape((left, baseline), cut_text(row.name, big, "bold", right - left), big, "bold"))
    y = baseline + 20
    flag_size = min(scale.page_type(27), round(FLAG_PX * 0.75))
    shapes += flag_shapes(row.flag.kind, left, y, FLAG_PX, flag_size, scale)
    beside = left + flag_width(row.flag.kind, FLAG_PX, flag_size) + 16
    lead = round(1.3 * says)
    first, foot = y + (FLAG_PX + cap_height_px(says)) / 2, top + ROW_PX - 2
    last_of_words = foot - round(1.6 * small) if row.where or row.since else foot
    room = 1 + int((last_of_words - first) / lead)
    lines = wrap_text(row.flag.words, says, "semibold", right - beside, room)
    words: list[tuple[str, Weight]] = [(line, "semibold") for line in lines]
    if row.flag.fails and row.flag.why and len(words) < room:
        words.append((cut_text(row.flag.why, says, "regular", right - beside), "regular"))
    shapes += [
        text_shape((beside, first + k * lead), line, says, weight) for k, (line, weight) in enumerate(words)
    ]
    if row.since:
        said = cut_text(row.since, small, "bold", right - left)
        shapes.append(text_shape((left, foot), said, small, "bold"))
        left += text_width(said, small, "bold") + small
    if row.where and left < right:
        shapes.append(text_shape((left, foot), cut_text(row.where, small, "regular", right - left), small))
    if row.margin:
        large = scale.page_type(MARGIN_SIZE)
        number = row.margin.replace("-", "\N{MINUS SIGN}")
        at = top + cap_height_px(large) + 2
        shapes.append(text_shape((inner, at), number, large, "bold", anchor="right"))
        shapes.append(text_shape((inner, at + 1.5 * small), "margin", small, anchor="right"))
    return shapes


def _picture(row: LevelRow, top: float, scale: Scale) -> list[Shape]:
    """The picture within its room, framed as its flag says; without one a dotted frame that says so."""
    if row.picture is None:
        size = scale.page_type(WHERE)
        frame = box(0.0, top, float(PICTURE_PX), top + ROW_PX)
        at = (PICTURE_PX / 2, top + (ROW_PX + cap_height_px(size)) / 2)
        return [
            Line(frame, scale.line(2.4), INK, dash=(0.0, 5.0), closed=True),
            text_shape(at, NO_PICTURE, size, anchor="middle"),
        ]
    height, width = row.picture.shape[:2]
    cut = picture_cut_px(row.flag, scale)
    return [
        Picture((0.0, top, float(width), top + height), row.picture, cut),
        *picture_frame(row.flag, 0.0, top, float(width), top + height, scale),
    ]


def _foot(top: int, record_hash: str, scale: Scale) -> tuple[list[Shape], int]:
    size = scale.page_type(FOOT)
    y = top + round(size * 1.75)
    right = WIDTH_PX - MARGIN
    shapes: list[Shape] = [
        rule(MARGIN, right, top),
        text_shape((MARGIN, y), MARGIN_SAYS, size),
        text_shape((right, y), f"record {record_hash}", size, "semibold", anchor="right"),
    ]
    return shapes, round(size * 1.75) + MARGIN - 8
