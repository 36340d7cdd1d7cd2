"""Heads: the swept values, big, at rows, columns and pages."""

from __future__ import annotations

import re
from collections.abc import Sequence

from stationpoint.base.look import INK
from stationpoint.ink import (
    Line,
    Shape,
    Weight,
    cap_height_px,
    shorter_names,
    text_shape,
    text_width,
    wrap_text,
)
from stationpoint.sheet.scale import LEAST_TYPE_PX, Scale

RULE_PX = 1.5
COLUMN, ROW, LIGHT_PX = 46, 42, 46
LEAST_HEAD_PX = 20


def heading_height(scale: Scale) -> int:
    """A column head with the space under it."""
    return round(scale.page_type(COLUMN) * 66 / COLUMN)


def rule(left: float, right: float, y: float) -> Line:
    """A thin line across."""
    return Line(((left, y), (right, y)), RULE_PX, INK, round_ends=False)


def balanced(words: str, size: int, weight: Weight, within_px: float, most_lines: int) -> tuple[str, ...]:
    """`words` wrapped into as few lines as they need, these about equally long: no lone last word."""
    lines = wrap_text(words, size, weight, within_px, most_lines)
    while len(lines) > 1:
        widest = max(text_width(line, size, weight) for line in lines)
        tried = wrap_text(words, size, weight, widest - 1, most_lines + 1)
        if len(tried) > len(lines) or " ".join(tried) != " ".join(lines):
            break
        lines = tried
    return lines


def shrunk(words: str, size: int, within_px: float, least: int = LEAST_HEAD_PX) -> int:
    """The largest size from `size` down to `least` at which `words` fit in bold."""
    while size > least and text_width(words, size, "bold") > within_px:
        size -= 1
    return size


def column_heading_size(headings: Sequence[tuple[str, str]], width: float, scale: Scale) -> int:
    """The size at which every one of these headings, (number, words), fits its column; 0 if none does."""
    big = scale.page_type(COLUMN)
    rooms = [(words, width - _number_px(number, scale)) for number, words in headings]
    size = min((shrunk(words, big, room, round(big * 0.55)) for words, room in rooms), default=big)
    return size if all(text_width(words, size, "bold") <= room for words, room in rooms) else 0


def _number_px(number: str, scale: Scale) -> float:
    return text_width(number, scale.page_type(LIGHT_PX), "light") + scale.page_type(COLUMN) * 0.36


def column_heading(
    number: str, words: str, left: float, top: float, width: float, size: int, scale: Scale
) -> list[Shape]:
    """A rule, the light number and the bold value at `size`; where that is 0, small and in two lines, names
    in it cut before its numbers."""
    big = scale.page_type(COLUMN)
    baseline = top + round(big * 48 / COLUMN)
    light = text_shape((left, baseline), number, scale.page_type(LIGHT_PX), "light")
    shapes: list[Shape] = [rule(left, left + width, top), light]
    x = left + _number_px(number, scale)
    small = size or max(LEAST_HEAD_PX, round(big * 0.48))
    lines = (words,) if size else value_lines(words, small, left + width - x, 2)
    for k, line in enumerate(reversed(lines)):
        shapes.append(text_shape((x, baseline - k * small * 1.12), line, small, "bold"))
    return shapes


def value_lines(words: str, size: int, within_px: float, most_lines: int) -> tuple[str, ...]:
    """A head's words in so many lines, of which the longest names are cut before any number is.

    Numbers and short words stay: a name is a stretch of six letters or more.
    """
    lines = balanced(words, size, "bold", within_px, most_lines)
    if _whole(lines, words):
        return lines
    names = sorted(re.findall(r"[^\W\d_][^,;\d]{4,}[^\W\d_]", words), key=len, reverse=True)
    for name in names[:1]:
        for shorter in shorter_names(name):
            tried = words.replace(name, shorter, 1)
            lines = wrap_text(tried, size, "bold", within_px, most_lines)
            if _whole(lines, tried):
                return lines
    return lines


def _whole(lines: Sequence[str], words: str) -> bool:
    """Whether lines hold all of these words."""
    return "".join("".join(lines).split()) == "".join(words.split())


def letter_baseline(top: float, scale: Scale) -> float:
    """The baseline of a row's letter, whose head begins at `top`."""
    return top + 8 + cap_height_px(scale.page_type(LIGHT_PX))


def row_heading(
    letter: str,
    words: str,
    left: float,
    top: float,
    picture_bottom: float,
    bottom: float,
    width: float,
    scale: Scale,
    below: float | None = None,
) -> list[Shape]:
    """A rule and the light letter at the top; the bold value runs upwards, in the middle between the letter
    and the picture's bottom.

    A value too long for that room ends lower, then shrinks, then takes two or three lines. below: where
    what stands under the letter ends.
    """
    light, big = scale.page_type(LIGHT_PX), scale.page_type(ROW)
    baseline = letter_baseline(top, scale)
    shapes: list[Shape] = [
        rule(left, left + width, top),
        text_shape((left + 2, baseline), letter, light, "light"),
    ]
    ceiling = (baseline if below is None else below) + 18
    room = bottom - ceiling
    size = shrunk(words, big, max(room, 1.0), round(big * 0.6))
    lines: tuple[str, ...] = (words,)
    if text_width(words, size, "bold") > room:
        for size in range(round(big * 0.52), LEAST_TYPE_PX - 1, -1):
            lines = value_lines(words, size, room, max(1, int((width - 6) / (size * 1.15))))
            if _whole(lines, words):
                break
    longest = max((text_width(line, size, "bold") for line in lines), default=0.0)
    y = ceiling + longest + max(picture_bottom - ceiling - longest, 0.0) / 2
    x = (
        left
        + 4
        + cap_height_px(size)
        + (width - 8 - cap_height_px(size)) * 0.5
        - (len(lines) - 1) * size * 0.6
    )
    for k, line in enumerate(lines):
        shapes.append(text_shape((x + k * size * 1.15, y), line, size, "bold", turn_deg=90))
    return shapes


def page_head(number: str, words: str, count: int, left: float, baseline: float, scale: Scale) -> list[Shape]:
    """Which page this is: light number, bold value, and how many there are."""
    big = scale.page_type(34)
    first = text_shape((left, baseline), number, big, "light")
    second = text_shape((left + first.width_px + big * 0.36, baseline), words, big, "bold")
    x = second.baseline_px[0] + second.width_px + big * 0.5
    small = text_shape((x, baseline), f"page {number} of {count}", scale.page_type(20), "regular")
    return [first, second, small]
