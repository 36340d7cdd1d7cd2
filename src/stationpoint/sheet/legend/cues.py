"""The legend's part on depth cues: what each letter is and gives, and how strongly it tells."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stationpoint.base.look import INK
from stationpoint.base.words import plain
from stationpoint.ink import Area, Group, Shape, box, cap_height_px, text_shape
from stationpoint.readings import CUE_RULES
from stationpoint.sheet.cues import Grade, letter_box
from stationpoint.sheet.marks import cue_icon
from stationpoint.sheet.marks.drawing import ENTRY_HEIGHT, ENTRY_WIDTH, Entry, graded_line
from stationpoint.sheet.scale import Scale

CUE_LETTER, CUES_IN_COLUMN = 15, 5
GRADE_LETTERS: dict[Grade, str] = {"reads": "S", "weak": "S", "misleads": "C", "absent": "D"}
TELLS = {"order": "which is farther", "amount": "how far"}  # as the strips say it
NOT_SHIPPED = "not in the game"


@dataclass(frozen=True, slots=True)
class Column:
    """A group of entries under a head. mark_px: width that its marks take, 0 for words alone. names: set
    in semibold before what the entries say, one each, or none."""

    head: str
    entries: tuple[Entry, ...]
    mark_px: float = ENTRY_WIDTH
    names: tuple[str, ...] = ()


def cue_columns(
    about: str, not_shipped: frozenset[str], scale: Scale, lengths: Mapping[str, str]
) -> list[Column]:
    """Every cue of the strips: its letter, its mark in small, name, unit, and what it gives.

    about: the pair that the strips are about. not_shipped: cues whose aid the game lacks. lengths: cue -> how
    long its marks are.
    """
    size = scale.page_type(CUE_LETTER)
    wide, high = max(22.0, 1.5 * size), max(20.0, 1.3 * size)
    top = (ENTRY_HEIGHT - high) / 2
    columns, rules = [], tuple(CUE_RULES.values())
    for start in range(0, len(rules), CUES_IN_COLUMN):
        part = rules[start : start + CUES_IN_COLUMN]
        entries: list[Entry] = []
        for cue in part:
            lacks = cue.name in not_shipped
            letter = _letter(cue.letter, wide, top, high, size, scale, crossed=lacks)
            icon = () if lacks else (Group("icon", (wide + 8.0, 0.0), cue_icon(cue.name, scale)),)
            gives = f"{cue.unit_words}: {TELLS.get(cue.gives, cue.gives.removesuffix(' only'))}"
            gives += f", {lengths[cue.name]}" if cue.name in lengths else ""
            entries.append(((*letter, *icon), NOT_SHIPPED if lacks else gives))
        head = "" if start else f"Depth cues, {about}"
        names = tuple(cue.words for cue in part)
        columns.append(Column(head, tuple(entries), wide + 8.0 + ENTRY_WIDTH - 8.0, names))
    return columns


def _letter(
    tag: str, wide: float, top: float, high: float, size: int, scale: Scale, crossed: bool
) -> tuple[Shape, ...]:
    """A cue's letter in a thin box, crossed out where the game lacks what it rests on."""
    if crossed:
        return tuple(letter_box(tag, "absent", 0.0, top, wide, high, size, scale))
    baseline = top + (high + cap_height_px(size)) / 2
    outline = Area((box(0.5, top, wide, top + high),), None, edge_ink=INK, edge_width_px=1.0)
    return outline, text_shape((wide / 2, baseline), tag, size, "semibold", anchor="middle")


def grade_column(grades: Sequence[Grade], glance: float, scale: Scale) -> Column:
    """How strongly a cue tells: a letter's box and a line in each style. glance: thresholds from which a
    cue reads."""
    size = scale.page_type(CUE_LETTER)
    wide, high = max(22.0, 1.5 * size), max(20.0, 1.3 * size)
    top = (ENTRY_HEIGHT - high) / 2
    factor = plain(glance, 1)
    says: dict[Grade, str] = {
        "reads": f"reads: from {factor} thresholds",
        "weak": f"weak: 1 to {factor} thresholds",
        "misleads": "misleads: against the truth",
        "absent": "absent, or not in the game",
    }
    entries: list[Entry] = []
    for grade in grades:
        shapes = letter_box(GRADE_LETTERS[grade], grade, 0.0, top, wide, high, size, scale)
        if grade != "absent":
            x = wide + 10.0
            shapes.append(graded_line(((x, 10.0), (x + 44.0, 10.0)), scale.line(1.5), grade, scale))
        entries.append((tuple(shapes), says[grade]))
    return Column("How strongly it tells", tuple(entries), wide + 54.0)
