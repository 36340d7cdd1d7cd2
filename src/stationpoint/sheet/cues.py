"""Depth cues on a sheet: their letters and names, the strip under each cell, and its summary in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Literal

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import (
    Area,
    Line,
    Shape,
    Weight,
    box,
    cap_height_px,
    cut_text,
    saw_box,
    text_shape,
    text_width,
)
from stationpoint.readings import CUE_RULES, CueRule, Result, told_words
from stationpoint.sheet.scale import Scale
from stationpoint.study import Study

Grade = Literal["absent", "weak", "reads", "misleads"]
GRADES: tuple[Grade, ...] = ("reads", "weak", "misleads", "absent")
BOX_WIDTH, BOX_HEIGHT, PITCH = 28, 26, 32
LETTER, SUMMARY = 17, 16
NONE_TELLS = f"none of the {len(CUE_RULES)} depth cues tells which is farther"
WEIGHTS: dict[Grade, Weight] = {
    "reads": "bold",
    "misleads": "bold",
    "weak": "semibold",
    "absent": "regular",
}


def grade_of(result: Result, pair: str, cue: CueRule) -> Grade:
    """The cue's grade for a pair; absent where it was not measured."""
    found = result.reading.values.get(("cues", pair, cue.name, "grade"))
    return found if found in ("reads", "weak", "misleads") else "absent"  # type: ignore[return-value]


def measured(result: Result, pair: str) -> bool:
    """Whether the cues of a pair were measured."""
    return ("cues", pair, next(iter(CUE_RULES)), "grade") in result.reading.values


def pairs_of(result: Result, study: Study) -> tuple[str, ...]:
    """The pairs whose cues were measured, the one that strips are about first: the study's first gap,
    else its first primary target."""
    order = {"primary": 0, "secondary": 1, "tertiary": 2}
    targets = sorted(study.target, key=lambda target: order[target.role])
    pairs = [f"gap:{gap.name}" for gap in study.gap] + [f"target:{target.name}" for target in targets]
    return tuple(pair for pair in pairs if measured(result, pair))


def tells_nothing(result: Result, pair: str) -> bool:
    """Whether every cue of a pair is absent, so that a strip of crossed letters would say no more."""
    return all(grade_of(result, pair, cue) == "absent" for cue in CUE_RULES.values())


def told_counts(result: Result, pair: str) -> tuple[int, int]:
    """How many cues that read tell the order of a pair (those that give an amount among them), and how
    many an amount: readings ("cues", PAIR, "order") and ("cues", PAIR, "amount")."""
    found = [result.reading.values.get(("cues", pair, kind)) for kind in ("order", "amount")]
    order, amount = (value if isinstance(value, int) else 0 for value in found)
    return order, amount


def summary(result: Result, pair: str, named: bool, size: int, within_px: float) -> tuple[str, ...]:
    """The strip's summary in one or two lines, none where it has no room. named: whether the pair must be
    told from others; its name is left out where it does not fit, since the legend has it."""
    said = told_words(*told_counts(result, pair))
    which, _, how = said.partition(", ")
    halves = (f"{which},", how) if how else (which,)
    tell, _, rest = said.partition(" which ")
    whole = f"{pair.partition(':')[2]}: {tell}", f"which {rest}"
    tries = [(" ".join(whole),), whole] if named else []
    for lines in (*tries, (said,), halves, (tell, whole[1])):
        if all(text_width(line, size, "semibold") <= within_px for line in lines):
            return lines
    return ()


def strip_shapes(
    result: Result, study: Study, top: float, width: float, height: float, scale: Scale
) -> list[Shape]:
    """The strip under a picture: letters for the first of its pairs, and the summary at the right; one line
    of words where every cue is absent."""
    pairs = pairs_of(result, study)
    if not pairs:
        return []
    if tells_nothing(result, pairs[0]):
        size = scale.type(SUMMARY)
        said = cut_text(NONE_TELLS, size, "semibold", width)
        baseline = top + (height + cap_height_px(size)) / 2
        return [text_shape((0.0, baseline), said, size, "semibold")]
    room = width - len(CUE_RULES) * scale.space(PITCH) - scale.space(12)
    size = scale.type(SUMMARY)
    words = () if scale.narrow else summary(result, pairs[0], len(pairs) > 1, size, room)
    return strip_of(result, pairs[0], words, top, width, height, scale)


def strip_of(
    result: Result, pair: str, words: Sequence[str], top: float, width: float, height: float, scale: Scale
) -> list[Shape]:
    """Ten letters in one order, by grade, and words at the right, at most two lines."""
    shapes: list[Shape] = []
    wide, pitch = scale.space(BOX_WIDTH), scale.space(PITCH)
    size = scale.type(LETTER)
    for k, cue in enumerate(CUE_RULES.values()):
        grade = grade_of(result, pair, cue)
        shapes += letter_box(cue.letter, grade, k * pitch, top, wide, height, size, scale)
    small = scale.type(SUMMARY)
    lead = round(small * 18 / SUMMARY)
    middle = top + height / 2 - (scale.space(5) if len(words) > 1 else 0)  # clear of the caption under it
    baseline = middle + (cap_height_px(small) - lead * (len(words) - 1)) / 2
    for k, line in enumerate(words):
        shapes.append(text_shape((width, baseline + k * lead), line, small, "semibold", anchor="right"))
    return shapes


def letter_box(
    tag: str, grade: Grade, left: float, top: float, width: float, height: float, size: int, scale: Scale
) -> list[Shape]:
    """A cue's letter in a strip: filled, in a dashed outline, in a saw-toothed box, or crossed out."""
    right, bottom = left + width, top + height
    shapes: list[Shape] = []
    line = scale.line(1.5)
    whole = box(left + line / 2, top + line / 2, right - line / 2, bottom - line / 2)
    if grade == "reads":
        shapes.append(Area((box(left, top, right, bottom),), INK))
    elif grade == "weak":
        dash = (scale.long(7), scale.long(4))
        shapes.append(Line(whole, line, INK, dash=dash, closed=True, round_ends=False))
    elif grade == "misleads":
        teeth = saw_box(left, top - scale.long(2), right, bottom + scale.long(2), scale.long(4))
        shapes.append(Area((teeth,), WHITE, edge_ink=INK, edge_width_px=line))
    ink = WHITE if grade == "reads" else INK
    middle, baseline = (left + right) / 2, top + (height + cap_height_px(size)) / 2
    shapes.append(text_shape((middle, baseline), tag, size, WEIGHTS[grade], ink, anchor="middle"))
    if grade == "absent":
        x, y = 0.14 * width, 0.08 * height
        ends = ((left + x, bottom - y), (right - x, top + y))
        shapes.append(Line(ends, scale.line(1.25), INK))
    return shapes


def tag_box(tag: str, grade: Grade, centre: tuple[float, float], scale: Scale) -> list[Shape]:
    """A cue's letter on a picture, 18 px square: white on ink, ink on white if weak, saw-toothed if it
    misleads."""
    half, size = tag_half_px(scale), scale.type(14)
    x, y = centre
    square = box(x - half, y - half, x + half, y + half)
    line = scale.line(1.25)
    if grade == "reads":
        back = Area((square,), INK, edge_ink=WHITE, edge_width_px=line)
    elif grade == "misleads":
        over = half + scale.long(2.5)
        teeth = saw_box(x - half, y - over, x + half, y + over, scale.long(4.5))
        back = Area((teeth,), WHITE, edge_ink=INK, edge_width_px=line)
    else:
        back = Area((square,), WHITE, edge_ink=INK, edge_width_px=line)
    ink = WHITE if grade == "reads" else INK
    return [back, text_shape((x, y + cap_height_px(size) / 2), tag, size, "bold", ink, anchor="middle")]


def tag_half_px(scale: Scale) -> float:
    """Half the side of a letter tag on a picture, never too small for its letter."""
    return max(scale.long(9), 0.66 * scale.type(14))


def grades_used(results: Sequence[Result], study: Study) -> tuple[Grade, ...]:
    """The grades that the strips of these results show, in the legend's order."""
    seen: Counter[Grade] = Counter()
    for result in results:
        for pair in pairs_of(result, study)[:1]:
            if tells_nothing(result, pair):
                continue
            seen.update(grade_of(result, pair, cue) for cue in CUE_RULES.values())
    return tuple(grade for grade in GRADES if seen[grade])


def missing_in_game(cue: CueRule, study: Study) -> bool:
    """Whether a cue rests on an aid that the game does not ship."""
    return bool(cue.aid) and cue.aid not in study.aids
