"""The header: the question, its answer, what all cells share, and plan over side."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from stationpoint.ink import (
    Group,
    Shape,
    Weight,
    cap_height_px,
    is_settable,
    text_shape,
    text_width,
    wrap_text,
)
from stationpoint.sheet.headings import balanced, page_head, rule
from stationpoint.sheet.plan.data import PlanData
from stationpoint.sheet.plan.frame import FEW_CAMERAS, filling_height, standing
from stationpoint.sheet.plan.view import plan_shapes
from stationpoint.sheet.scale import LEAST_TYPE_PX, MARGIN, Scale
from stationpoint.sheet.settings import Row

TITLE, CLOSE_UP_TITLE, LEAST_TITLE, ANSWER = 62, 54, 46, 30
TABLE, TABLE_LEAD = 20, 32
PLAN_SHARE, LEAST_PLAN, MOST_PLAN, PLAN_GAP = 0.367, 480, 1100, 48
PLAN_HEIGHT, LEAST_PLAN_HEIGHT = 448, 300
SENTENCE_GAP, LEAST_SHARE = 0.5, 0.6  # of the answer's size: to a second sentence, and its least size
CROWDED_SHARE = 0.75  # of its width, what a plan of many cameras may be high
BESIDE, UNDER = 1700, 1000  # page widths from which the plan stands beside title or table
Wrap = Callable[[str, int, Weight, float, int], Sequence[str]]


def header_shapes(
    width: int,
    title: str,
    answer: Sequence[str],
    page: tuple[str, str, int] | None,
    rows: Sequence[Row],
    plan: PlanData | None,
    labels: Mapping[str, str],
    plan_note: str,
    scale: Scale,
    close_up: bool = False,
    others: Sequence[Sequence[str]] = (),
) -> tuple[list[Shape], int]:
    """The header and its height. answer: sentences under the title. page: number, words and count of
    pages. labels, plan_note: what stands at the plan's cameras. others: what the answer would be in other
    modes, for which there is room, so that all are as high."""
    inner = width - 2 * MARGIN
    beside = plan is not None and width >= BESIDE
    plan_width = min(max(inner * PLAN_SHARE, LEAST_PLAN), MOST_PLAN) if plan is not None else 0.0
    within_px = inner - plan_width - PLAN_GAP if beside else inner
    shapes: list[Shape] = []
    y = _title(shapes, title, within_px, CLOSE_UP_TITLE if close_up else TITLE, scale)
    size = scale.page_type(ANSWER)
    lines = _answer_lines(answer, size, within_px)
    for line in lines:
        y += round(size * 1.55)
        x = float(MARGIN)
        for words, px in line:
            shapes.append(text_shape((x, y), words, px, "semibold"))
            x += text_width(words, px, "semibold") + SENTENCE_GAP * size
    most = max((len(_answer_lines(other, size, within_px, wrap_text)) for other in others), default=0)
    spare = max(0, most - len(lines)) * round(size * 1.55)
    if page is not None:
        number, words, count = page
        y += round(scale.page_type(34) * 1.65)
        shapes += page_head(number, words, count, MARGIN, y, scale)
    y += 32
    shapes.append(rule(MARGIN, MARGIN + within_px, y))
    table_top = y
    under = plan is not None and not beside and width >= UNDER
    table_width = inner - plan_width - PLAN_GAP if under else within_px
    y = _table(shapes, rows, y, table_width, scale) + spare
    if plan is not None:
        if beside:
            top, height = float(MARGIN), max(LEAST_PLAN_HEIGHT, min(PLAN_HEIGHT * scale.page_t, y - MARGIN))
            height = max(height, min(PLAN_HEIGHT * scale.page_t, 0.5 * plan_width))
        elif under:
            top = table_top + spare + 16.0
            height = max(LEAST_PLAN_HEIGHT, y - top)
        else:
            top, height, plan_width = y + 16.0, 0.62 * inner, float(inner)
        if len(standing(plan.cameras)) > FEW_CAMERAS:
            height = max(height, min(filling_height(plan, plan_width), CROWDED_SHARE * plan_width))
        drawn = plan_shapes(plan, round(plan_width), round(height), scale, labels, plan_note)
        left = float(round(width - MARGIN - plan_width))
        shapes.append(Group("plans", (left, round(top)), tuple(drawn)))
        y = max(y, round(top + height))
    return shapes, y


def _answer_lines(
    answer: Sequence[str], size: int, within_px: float, wrapped: Wrap = balanced
) -> list[list[tuple[str, int]]]:
    """The sentences on one line, each part with its size; the second of two smaller where they do not fit,
    and where they still do not, each begins a line of its own. wrapped: which wraps such a one; where only
    the number of lines counts they need not be balanced."""
    whole = " ".join(answer)
    if not whole:
        return []
    if text_width(whole, size, "semibold") <= within_px:
        return [[(whole, size)]]
    if len(answer) == 2:
        left = within_px - text_width(answer[0], size, "semibold") - SENTENCE_GAP * size
        for small in range(size - 1, max(LEAST_TYPE_PX, round(LEAST_SHARE * size)) - 1, -1):
            if text_width(answer[1], small, "semibold") <= left:
                return [[(answer[0], size), (answer[1], small)]]
    return [[(line, size)] for one in answer for line in wrapped(one, size, "semibold", within_px, 2)]


def title_lines(title: str, within_px: float, largest: int, scale: Scale) -> tuple[int, tuple[str, ...]]:
    """The title's size and lines: one line, shrunk down to 46 px, else two lines, else two smaller."""
    least = scale.page_type(LEAST_TITLE)
    size = scale.page_type(largest)
    while size > least and text_width(title, size, "bold") > within_px:
        size -= 1
    if text_width(title, size, "bold") <= within_px:
        return size, (title,)
    while size > 24 and len(wrap_text(title, size, "bold", within_px, 99)) > 2:
        size -= 1
    return size, balanced(title, size, "bold", within_px, 3)


def _title(shapes: list[Shape], title: str, within_px: float, largest: int, scale: Scale) -> int:
    size, lines = title_lines(title, within_px, largest, scale)
    y = MARGIN + cap_height_px(size) + 2
    for k, line in enumerate(lines):
        y += round(size * 1.18) if k else 0
        shapes.append(text_shape((MARGIN, round(y)), line, size, "bold"))
    return round(y + 0.3 * size)


def table_lines(value: str, size: int, within_px: float) -> list[str]:
    """A value in lines that keep a number and its unit together: "10 %" is never broken, nor is "0.81
    arcmin a pixel"."""
    if text_width(value, size) <= within_px:
        return list(wrap_text(value, size, "regular", within_px, 3))
    value = is_settable(value).replace("arcmin a pixel", "arcmin\0a\0pixel")
    value = re.sub(r"\b(pitch|yaw|roll) (?=[^a-z])", "\\1\0", value)
    value = re.sub(r"(?<=°) (?=(?:down|up|left|right)\b)", "\0", value)
    pieces = re.sub(r"(?<=\d) (?=(?:%|m|mm|in|px|arcmin)\b|%)", "\0", value).split(" ")
    lines = [""]
    for piece in pieces:
        longer = f"{lines[-1]} {piece}".strip()
        if not lines[-1] or text_width(longer.replace("\0", " "), size) <= within_px:
            lines[-1] = longer
        else:
            lines.append(piece)
    whole = [line.replace("\0", " ") for line in lines]
    return [part for line in whole for part in wrap_text(line, size, "regular", within_px, 3)]


def _table(shapes: list[Shape], rows: Sequence[Row], top: float, within_px: float, scale: Scale) -> int:
    size = scale.page_type(TABLE)
    lead = round(size * TABLE_LEAD / TABLE)
    label_px = max([text_width(label, size, "semibold") for label, _ in rows], default=0.0) + 24
    y = top + lead + 4
    for label, value in rows:
        shapes.append(text_shape((MARGIN, y), label, size, "semibold"))
        for k, line in enumerate(table_lines(value, size, within_px - label_px)):
            y += round(size * 1.3) if k else 0
            shapes.append(text_shape((MARGIN + label_px, y), line, size))
        y += lead
    return round(y - lead + 12)
