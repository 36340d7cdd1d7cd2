"""What a sheet says of the decision that its study keeps, and of its notes."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from stationpoint.base.words import decision_words
from stationpoint.ink import Shape, ascent_px, text_shape, wrap_text
from stationpoint.sheet.caption import SIZE, leading
from stationpoint.sheet.flag import Flag
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import AXES, caption_words, fields_on
from stationpoint.study import Study, Variant, note_on

MOST_NOTE_LINES = 2


def chosen_words(
    study: Study, chosen: Variant | None, flags: Mapping[str, Flag], shown: Collection[str]
) -> str:
    """The decision for the header's table: "A2, 35 mm, by AK on 2026-11-12: because it reads best; it holds",
    as `judge` says of that variant, whatever its camera does elsewhere; "" without one.

    chosen: its variant, None where the sweep has none of that key. shown: labels of the variants drawn.
    """
    made = study.decision
    if made is None:
        return ""
    if chosen is None:
        words = decision_words(made.chosen, made.by, made.on, made.because).rstrip(".")
        return f"{words}; but no variant of this sweep has that key"
    fields = [field for axis in (AXES[1], AXES[0], AXES[2]) for field in fields_on(study, axis)]
    values = caption_words(chosen, fields, chosen.camera.projection != "perspective")
    who = f"{chosen.label}, {values}" if values else chosen.label
    words = decision_words(who, made.by, made.on, made.because).rstrip(".")
    flag = flags.get(chosen.label)
    if flag is not None and flag.fails:
        words += f"; it fails: {flag.limit}"
    elif flag is not None and flag.limit:
        words += "; it holds"
    return words if chosen.label in shown else f"{words}; not drawn here"


def note_lines(study: Study, variant: Variant, width: float, scale: Scale) -> tuple[str, ...]:
    """What the study notes of a variant, in lines that a cell holds; none without a note."""
    note = note_on(study, variant)
    return wrap_text(f"Note: {note}", scale.type(SIZE), "semibold", width, MOST_NOTE_LINES) if note else ()


def note_shapes(lines: tuple[str, ...], top: float, scale: Scale) -> list[Shape]:
    """The lines of a note, the first one's letters beginning at `top`."""
    size = scale.type(SIZE)
    first = top + ascent_px(size) * 0.78
    return [
        text_shape((0.0, first + k * leading(scale)), line, size, "semibold") for k, line in enumerate(lines)
    ]
