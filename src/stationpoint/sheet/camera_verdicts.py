"""What the brief says of a camera that is judged more than once: in words, and at its head."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from stationpoint.base.words import TIMES
from stationpoint.ink import Shape, cap_height_px, cut_text, text_shape, text_width, wrap_text
from stationpoint.readings import CameraVerdict
from stationpoint.sheet.flag import Kind, flag_shapes, flag_width
from stationpoint.sheet.grid import Arrangement
from stationpoint.sheet.scale import LEAST_TYPE_PX, ROW_HEAD, Scale
from stationpoint.sheet.wording import axis_words
from stationpoint.study import LIGHT, Study, Variant

ROW_PX = 16  # type, where there is room for it
COLUMN_PX = 18
HIGH = 1.5  # a flag over its type
THINGS = re.compile(r"^(at \d+(?: of \d+)?) [^,]+")  # what is counted, and what is said of it
MOST_LINES = 4  # of words in a row's head
APART = 8


def worst_words(judged: CameraVerdict, variants: Mapping[str, Variant], study: Study) -> str:
    """Where a camera is at its worst, by what there is more than one of: "ledge, phone"."""
    bound, variant = judged.binds, variants.get(judged.variant or "")
    if bound is None or variant is None:
        return ""
    viewing = variant.viewing or bound.viewing
    said = [
        bound.place if len(study.places) > 1 else "",
        viewing if viewing is not None and len(study.viewings) > 1 else "",
        axis_words(variant, LIGHT),
        "" if bound.option is None else bound.option.words,
    ]
    return ", ".join(one for one in said if one)


def count_words(judged: CameraVerdict, variants: Mapping[str, Variant], study: Study) -> str:
    """At how many places, viewings and lights a camera fails, and where most: "at 3 of 40 places, worst:
    ledge"; of one that holds "at 40 places"."""
    what = counted_things(judged, variants, study)
    if judged.holds:
        return f"at {judged.of} {what}"
    worst = worst_words(judged, variants, study)
    return f"at {judged.failed_at} of {judged.of} {what}{f', worst: {worst}' if worst else ''}"


def counted_things(judged: CameraVerdict, variants: Mapping[str, Variant], study: Study) -> str:
    """What there is more than one of, and so is counted: "places", "seats"; together "places × seats"."""
    lights = {axis_words(variants[label], LIGHT) for label in judged.camera.variants if label in variants}
    counts = {
        "places": len(study.places),
        "seats": len(study.viewings),
        "lights": len(lights),
        "settings": 1 + len(study.options.ends),
    }
    return f" {TIMES} ".join(name for name, count in counts.items() if count > 1) or "places"


def camera_lines(cameras: Sequence[CameraVerdict], variants: Sequence[Variant], study: Study) -> list[str]:
    """A line a camera: "A fails at 3 of 40 places, worst: ledge"."""
    by_label = {variant.label: variant for variant in variants}
    return [
        f"{one.camera.head} {'holds' if one.holds else 'fails'} {count_words(one, by_label, study)}"
        for one in cameras
        if one.holds is not None
    ]


def cells_failing(cameras: Sequence[CameraVerdict]) -> dict[str, str]:
    """Variant label -> "fails at 3 of 40", of cameras that are one cell each."""
    return {
        one.camera.variants[0]: f"fails at {one.failed_at} of {one.of}"
        for one in cameras
        if one.holds is False and len(one.camera.variants) == 1
    }


class LineFlags(NamedTuple):
    """The cameras that are whole rows or columns of a page, by number, each with what is said of it."""

    rows: Mapping[int, tuple[CameraVerdict, str]]
    columns: Mapping[int, tuple[CameraVerdict, str]]


def line_flags(
    cameras: Sequence[CameraVerdict], variants: Sequence[Variant], arrangement: Arrangement, study: Study
) -> LineFlags:
    """What stands at the heads of a page: nothing where cells flow, or all of it is one camera."""
    rows: dict[int, tuple[CameraVerdict, str]] = {}
    columns: dict[int, tuple[CameraVerdict, str]] = {}
    by_label, at = {variant.label: variant for variant in variants}, arrangement.at
    for one in cameras if arrangement.matrix else ():
        spots = [at[label] for label in one.camera.variants if label in at]
        if one.holds is None or len(spots) == len(at):
            continue
        said = (one, count_words(one, by_label, study))
        in_rows, in_columns = ({spot[axis] for spot in spots} for axis in (0, 1))
        if len(in_rows) == 1 and len(spots) == arrangement.columns:
            rows[min(in_rows)] = said
        elif len(in_columns) == 1 and len(spots) == arrangement.lines:
            columns[min(in_columns)] = said
    return LineFlags(rows, columns)


def column_flag_px(scale: Scale) -> int:
    """How much higher columns' heads are with a flag."""
    return round(scale.page_type(COLUMN_PX) * HIGH) + APART


def column_flag(
    judged: CameraVerdict, words: str, left: float, top: float, width: float, scale: Scale
) -> list[Shape]:
    """A camera's flag under its column's value, and beside it where it fails: in one line."""
    size, kind = scale.page_type(COLUMN_PX), _kind(judged)
    height = size * HIGH
    shapes = flag_shapes(kind, left, top, height, size, scale)
    small = max(LEAST_TYPE_PX, size - 2)
    x = left + flag_width(kind, height, size) + APART
    room = left + width - x
    words = _counted_within(words, small, room)
    if text_width(words, small, "semibold") > room:  # by its cell, where names are too long
        words = f"{words.partition(', worst: ')[0]}, worst: {judged.variant}"
    said = cut_text(words, small, "semibold", room)
    baseline = top + (height + cap_height_px(small)) / 2
    return [*shapes, text_shape((x, baseline), said, small, "semibold")]


def row_flag(
    judged: CameraVerdict, words: str, left: float, top: float, scale: Scale
) -> tuple[list[Shape], float]:
    """The same under its row's letter, in a few short lines, the worst by its cell where its words are
    too long; and where that ends."""
    kind, room = _kind(judged), ROW_HEAD - 2.0 * APART
    size = scale.page_type(ROW_PX)
    while size > LEAST_TYPE_PX and flag_width(kind, size * HIGH, size) > room:
        size -= 1
    height = size * HIGH
    shapes = flag_shapes(kind, left, top, height, size, scale)
    lead = round(LEAST_TYPE_PX * 1.2)
    counted, _, worst = words.partition(", worst: ")
    lines = [_counted_within(counted, LEAST_TYPE_PX, room)]
    if worst:
        where = wrap_text(worst, LEAST_TYPE_PX, "semibold", room, MOST_LINES - 2)
        fits = "".join("".join(where).split()) == "".join(worst.split())
        lines += ["worst:", *(where if fits else (str(judged.variant),))]
    y = top + height + lead
    for k, line in enumerate(lines):
        said = cut_text(line, LEAST_TYPE_PX, "semibold", room)
        shapes.append(text_shape((left, y + k * lead), said, LEAST_TYPE_PX, "semibold"))
    return shapes, y + (len(lines) - 1) * lead


def _counted_within(words: str, size: int, room_px: float) -> str:
    """ "at 3 of 40 places, worst: ledge", without what is counted where that has no room."""
    return words if text_width(words, size, "semibold") <= room_px else THINGS.sub(r"\1", words)


def _kind(judged: CameraVerdict) -> Kind:
    return "holds" if judged.holds else "fails"
