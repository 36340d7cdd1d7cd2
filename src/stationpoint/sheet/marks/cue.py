"""What the marks of depth cues share: which ones a picture shows, their lines, and their letters."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape, arrow_head
from stationpoint.readings import CUE_RULES, CueRule
from stationpoint.sheet.cues import grade_of, pairs_of, tag_box, tag_half_px
from stationpoint.sheet.marks.drawing import Drawing, Grade, graded_line
from stationpoint.sheet.scale import Scale

NAME_OF_ALL = "cues"
DRAWN_AMOUNTS = "SHDCTV"  # cues that give an amount in a still and have a mark of their own
MOST_AMOUNTS = 3
MOST_BOXED = 0.34  # of a cue's lines, under words
Points = NDArray[np.float64]


@lru_cache(maxsize=1)
def pair_of(look: Drawing) -> str:
    """The pair that the picture's cues are about, "" without one."""
    if look.about:
        return look.about
    pairs = pairs_of(look.result, look.study)
    return pairs[0] if pairs else ""


@lru_cache(maxsize=1)
def cues_shown(look: Drawing) -> dict[str, Grade]:
    """The cues whose marks a picture shows, with their grades.

    A close-up shows all that are not absent. A cell: the three strongest that give an amount, by value
    over threshold, then every misleading one; where nothing gives an amount, all others instead.
    """
    pair = pair_of(look)
    graded: dict[str, Grade] = {}
    for cue in CUE_RULES.values():
        grade = grade_of(look.result, pair, cue)
        if pair and grade != "absent":
            graded[cue.name] = grade
    if look.close_up:
        return graded
    honest = [cue for cue in CUE_RULES.values() if graded.get(cue.name, "misleads") != "misleads"]
    amounts = [cue for cue in honest if cue.letter in DRAWN_AMOUNTS]
    kept = sorted(amounts, key=lambda cue: -_strength(look, pair, cue))[:MOST_AMOUNTS]
    if not any(cue.gives == "amount" for cue in honest):
        kept = honest
    wanted = {cue.name for cue in kept} | {name for name, grade in graded.items() if grade == "misleads"}
    return {name: grade for name, grade in graded.items() if name in wanted}


def _strength(look: Drawing, pair: str, cue: CueRule) -> float:
    value = look.value("cues", pair, cue.name, "value")
    return float(value) / cue.least if isinstance(value, float | int) else 0.0


def positions(look: Drawing, cue: str) -> Points | None:
    """Where a shown cue's mark lies, (n, 2) px, None where it is not shown or cannot be placed."""
    return look.extra("cue", pair_of(look), cue) if cue in cues_shown(look) else None


def place_tag(
    look: Drawing,
    cue: str,
    strokes: Iterable[tuple[Points, Points]],
    shapes: list[Shape],
    spots: Sequence[Points | tuple[float, float]],
) -> list[Shape]:
    """A cue's shapes with its letter; nothing where they would cover a foot or a landing, cross a gap's
    line, lie under words, or where the letter finds no room (the strip still has it), except that what
    misleads is always drawn.

    strokes: the mark's lines, by their ends. spots: centres that the letter may take, the best first.
    """
    grade = cues_shown(look)[cue]
    lines = [(np.asarray(p, dtype=float), np.asarray(q, dtype=float)) for p, q in strokes]
    if any(look.space.over_feet(p, q) for p, q in lines):
        return []
    if grade != "misleads" and (crossing(look, lines) or _boxed(look, lines) > MOST_BOXED):
        return []
    spot = _free_spot(look, lines, spots, grade)
    if spot is None and grade != "misleads":
        return []
    for p, q in lines:
        look.space.take_line(p, q)
    look.used.add(f"cue {cue}")
    if spot is not None:
        reach = tag_half_px(look.scale) + 3
        look.space.occupy((spot[0] - reach, spot[1] - reach, spot[0] + reach, spot[1] + reach))
        look.on_top.extend(tag_box(CUE_RULES[cue].letter, grade, spot, look.scale))
    return shapes


def crossing(look: Drawing, lines: Iterable[tuple[Points, Points]]) -> bool:
    """Whether any of these lines crosses a gap's own."""
    return any(look.space.over_measured(p, q) for p, q in lines)


def _boxed(look: Drawing, lines: Sequence[tuple[Points, Points]]) -> float:
    """Which share of some lines, what is on the picture, lies under words and letters."""
    under = [look.space.boxed[look.space.along(p, q)] for p, q in lines]
    return float(np.concatenate(under).mean()) if sum(map(len, under)) else 0.0


def _free_spot(
    look: Drawing,
    lines: Sequence[tuple[Points, Points]],
    spots: Sequence[Points | tuple[float, float]],
    grade: Grade,
) -> tuple[float, float] | None:
    """The first spot where a letter's box has room and lies on none of its own lines; else on no end of
    theirs, so that an arrow keeps its tip."""
    ways = [p + (q - p) * np.linspace(0.0, 1.0, 24)[:, None] for p, q in lines]
    for own in (ways, [way[[0, -1]] for way in ways]):
        found = _spot_off(look, np.concatenate(own) if own else np.empty((0, 2)), spots, grade)
        if found is not None:
            return found
    return None


def _spot_off(
    look: Drawing, points: Points, spots: Sequence[Points | tuple[float, float]], grade: Grade
) -> tuple[float, float] | None:
    half = tag_half_px(look.scale) + (look.scale.long(2.5) if grade == "misleads" else 0.0) + 1
    for x, y in spots:
        box = (float(x) - half, float(y) - half, float(x) + half, float(y) + half)
        on = (np.abs(points - (float(x), float(y))) < half).all(axis=1)
        if not on.any() and look.space.inside(box, 3) and look.space.free(box):
            return float(x), float(y)
    return None


def around(spot: Points, scale: Scale, off: float = 18.0) -> list[Points]:
    """Spots for a letter round a point: right, left, above, below, then the corners."""
    ways = ((1, 0), (-1, 0), (0, -1), (0, 1), (0.8, -0.8), (-0.8, -0.8), (0.8, 0.8), (-0.8, 0.8))
    return [spot + np.array(way) * scale.long(reach) for reach in (off, 1.5 * off) for way in ways]


def arrow(start: Points, end: Points, grade: Grade, scale: Scale) -> list[Shape]:
    """An arrow in the line style of its grade."""
    way = end - start
    length = float(np.hypot(*way))
    if length < 1e-6:
        return []
    head = min(scale.long(11), 0.5 * length)
    back = end - way / length * head * 0.85
    tip = (float(end[0]), float(end[1]))
    return [
        graded_line(np.array([start, back]), scale.line(1.6), grade, scale),
        arrow_head(tip, (float(way[0]), float(way[1])), head, scale.long(9), INK),
    ]


def stroke(points: Points, scale: Scale, width: float = 1.6) -> Line:
    """A solid line."""
    return Line(points, scale.line(width), INK, scale.halo)
