"""The close-up of a twin: picture and twin side by side, what differs, and how unlike the layouts are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from stationpoint.base.look import PAPER
from stationpoint.ink import Group, Page, Picture, Shape, cap_height_px, text_shape, text_width, wrap_text
from stationpoint.readings import CUE_RULES, Result, Value, told_words
from stationpoint.sheet.cues import (
    BOX_HEIGHT,
    GRADES,
    Grade,
    grade_of,
    measured,
    missing_in_game,
    pairs_of,
    strip_of,
    told_counts,
)
from stationpoint.sheet.flag import picture_frame
from stationpoint.sheet.header import title_lines
from stationpoint.sheet.headings import balanced, rule
from stationpoint.sheet.legend.legend import Uses, columns_of, legend_shapes
from stationpoint.sheet.marks import CALM, named_marks
from stationpoint.sheet.marks.drawing import drawing
from stationpoint.sheet.roles import Owner
from stationpoint.sheet.scale import CLOSE_UP_PX, COLUMN_GUTTER, MARGIN, Scale, scale_for
from stationpoint.sheet.twin.difference import SAYS, difference_picture
from stationpoint.sheet.twin.plan import Layouts, twin_views
from stationpoint.sheet.twin.words import (
    MIRROR,
    changed_words,
    difference,
    is_same,
    twin_answer,
    twin_title,
)
from stationpoint.sheet.wording import span_words
from stationpoint.study import Study

TITLE, ANSWER, HEAD, SUB = 54, 30, 38, 25
CAUTION = "A still picture of geometry: what moves or is heard may tell more. Try it in the game."


@dataclass(frozen=True, slots=True, eq=False)
class Pictures:
    """Both pictures under one camera. built: as it stands, with its readings. twin: with the target
    elsewhere, with readings of its own where there are any."""

    built: Result
    twin: Result


def twin_page(
    pictures: Pictures,
    study: Study,
    target: str,
    kind: str,
    layouts: Layouts,
    *,
    owner_by_id: Mapping[int, Owner],
    record_hash: str,
    cell_width: int = CLOSE_UP_PX,
    renderer_note: str = "",
    mark_m: float = 1.0,
) -> Page:
    """The close-up of a target's twin. kind: "slide" or "mirror". owner_by_id: the scene's. mark_m: length
    in metres of marks that stand beside the subject."""
    built = pictures.built
    scale = scale_for(cell_width, 2 * cell_width + COLUMN_GUTTER + 2 * MARGIN)
    width = 2 * MARGIN + 2 * cell_width + COLUMN_GUTTER
    inner = width - 2 * MARGIN
    lefts = (MARGIN, MARGIN + cell_width + COLUMN_GUTTER)
    shapes: list[Shape] = []
    said = twin_answer(built, target, kind, layouts)
    y = _head(shapes, twin_title(target, kind), said, renderer_note, inner, scale)
    label = built.variant.label
    moved = f"moved {span_words(float(np.linalg.norm(layouts.way)))} along the sightline"
    titles = (
        (label, "as built", ""),
        (f"{label} twin", "mirrored in depth" if kind == MIRROR else moved, ""),
    )
    top = y
    for left, (name, sub, right) in zip(lefts, titles, strict=True):
        y = _picture_head(shapes, name, sub, right, left, top, cell_width, scale)
    used: set[str] = set()
    pair = pair_for(built, study, target)
    bottom = y
    for left, result, is_twin in ((lefts[0], built, False), (lefts[1], pictures.twin, True)):
        marked, marks = _picture(result, study, target, pair, owner_by_id, is_twin, scale, mark_m)
        used |= marks
        shapes.append(Group("cell", (float(left), float(y)), tuple(marked)))
        bottom = max(bottom, y + (result.picture.shape[0] if result.picture is not None else 0))
    y = bottom
    if pair:
        y += scale.space(16)
        high = scale.space(BOX_HEIGHT)
        words = (_summary(built, pair), _compared(pictures, pair, is_same(built, target, kind)))
        for left, said_here in zip(lefts, words, strict=True):
            result = pictures.twin if left != lefts[0] and measured(pictures.twin, pair) else built
            strip = strip_of(
                result, pair, (said_here,) if said_here else (), 0.0, float(cell_width), float(high), scale
            )
            shapes.append(Group("strip", (float(left), float(y)), tuple(strip)))
        y += high
    y += 34
    told = (changed_words(built, target, kind), difference(built, target, kind))
    differs = _difference(shapes, pictures, told, y, lefts[0], cell_width, scale)
    y = max(
        differs, _plans(shapes, layouts, y, lefts[1], cell_width, _plan_height(pictures, cell_width), scale)
    )
    columns = columns_of(replace(_uses(pictures, study, target, pair, used), mark_m=mark_m), scale)
    legend, height = legend_shapes(columns, MARGIN, y + 30, inner, lefts[1:], scale)
    shapes += legend
    y += 30 + round(height)
    y = _foot(shapes, y, width, record_hash, scale)
    return Page((width, y), PAPER, tuple(shapes))


def pair_for(built: Result, study: Study, target: str) -> str:
    """The pair whose cues are shown: the target's own, else the study's first, "" without cues."""
    own = f"target:{target}"
    pairs = pairs_of(built, study)
    return own if own in pairs else pairs[0] if pairs else ""


def _head(shapes: list[Shape], title: str, said: str, note: str, inner: float, scale: Scale) -> int:
    size, lines = title_lines(title, inner, TITLE, scale)
    y = MARGIN + cap_height_px(size) + 2
    for k, line in enumerate(lines):
        y += round(size * 1.18) if k else 0
        shapes.append(text_shape((MARGIN, round(y)), line, size, "bold"))
    y += 0.3 * size
    small = scale.page_type(ANSWER)
    for line in balanced(said, small, "semibold", inner, 2):
        y += round(small * 1.5)
        shapes.append(text_shape((MARGIN, round(y)), line, small, "semibold"))
    if note:
        y += round(small * 1.2)
        shapes.append(text_shape((MARGIN, round(y)), f"Drawn by {note}", scale.page_type(20)))
    return round(y + 30)


def _picture_head(
    shapes: list[Shape], name: str, sub: str, right: str, left: int, top: int, width: int, scale: Scale
) -> int:
    """A rule, the bold name, what it is, and at the right what differs, without its level where that is
    too long."""
    big, small = scale.page_type(HEAD), scale.page_type(SUB)
    baseline = top + round(big * 1.25)
    first = text_shape((left, baseline), name, big, "bold")
    x = left + first.width_px + big * 0.45
    shapes += [rule(left, left + width, top), first, text_shape((x, baseline), sub, small)]
    room = left + width - x - text_width(sub, small) - 20
    for said in (right, right.rpartition(": ")[2]):
        if said and text_width(said, small, "semibold") <= room:
            shapes.append(text_shape((left + width, baseline), said, small, "semibold", anchor="right"))
            break
    return baseline + round(big * 0.42)


def _picture(
    result: Result,
    study: Study,
    target: str,
    pair: str,
    owner_by_id: Mapping[int, Owner],
    is_twin: bool,
    scale: Scale,
    mark_m: float,
) -> tuple[list[Shape], set[str]]:
    """A picture with its marks, the same on both, gaps only where the cues are about one; of a twin without
    readings its name alone."""
    assert result.picture is not None
    height, width = result.picture.shape[:2]
    wanted = CALM - ({"twins"} if pair.startswith("gap:") else {"twins", "gaps"})
    if is_twin and pair and not measured(result, pair):
        own = tuple(one for one in study.target if one.name == target)
        study = study.model_copy(update={"target": own, "gap": ()})
        owner_by_id = {k: one for k, one in owner_by_id.items() if one.target in (None, target)}
        wanted = frozenset({"targets"})
    look = drawing(
        result,
        study,
        scale,
        owner_by_id,
        close_up=True,
        about=pair,
        moved=target if is_twin else "",
        after=", elsewhere",
        mark_m=mark_m,
    )
    marks = named_marks(look, wanted)
    clip = (0.0, 0.0, float(width), float(height))
    shapes: list[Shape] = [Picture((0, 0, width, height), result.picture)]
    shapes.append(Group("marks", (0.0, 0.0), tuple(marks), clip))
    return shapes + picture_frame(None, 0, 0, width, height, scale), look.used


def _summary(result: Result, pair: str) -> str:
    return f"{pair.partition(':')[2]}: {told_words(*told_counts(result, pair))}"


def _compared(pictures: Pictures, pair: str, is_same: bool) -> str:
    """Which cues grade the twin otherwise. is_same: whether the pictures are, so that no grade shows."""
    if not measured(pictures.twin, pair):
        return ""
    other = [
        cue.letter
        for cue in CUE_RULES.values()
        if grade_of(pictures.built, pair, cue) != grade_of(pictures.twin, pair, cue)
    ]
    if other:
        return f"{'not shown by the picture' if is_same else 'graded otherwise'}: {' '.join(other)}"
    values = [
        [result.reading.values.get(("cues", pair, cue.name, "value")) for cue in CUE_RULES.values()]
        for result in (pictures.built, pictures.twin)
    ]
    return "graded alike, the same values" if _alike(*values) else "graded alike"


def _alike(one: list[Value], other: list[Value]) -> bool:
    """Whether values agree to a hundredth."""
    return all(
        a == b or (isinstance(a, float | int) and isinstance(b, float | int) and abs(a - b) <= 0.01 * abs(a))
        for a, b in zip(one, other, strict=True)
    )


def _plan_height(pictures: Pictures, width: int) -> int:
    """How high plan and side are together: as the picture beside them, within sense."""
    assert pictures.built.picture is not None
    shown = int(pictures.built.picture.shape[0])
    return min(max(shown, round(0.45 * width)), width)


def _difference(
    shapes: list[Shape],
    pictures: Pictures,
    told: tuple[str, str],
    top: int,
    left: int,
    width: int,
    scale: Scale,
) -> int:
    """The picture of what differs, under its head, and what its hatches mean. told: how much differs, and
    what tells it."""
    y = _picture_head(shapes, "What differs", *told, left, top, width, scale)
    pixels = difference_picture(pictures.built, pictures.twin, width / CLOSE_UP_PX)
    high, wide = int(pixels.shape[0]), int(pixels.shape[1])
    drawn = [Picture((0, 0, wide, high), pixels), *picture_frame(None, 0, 0, wide, high, scale)]
    shapes.append(Group("difference", (float(left), float(y)), tuple(drawn)))
    small = scale.page_type(18)
    y += high + round(small * 1.3)
    for k, line in enumerate(wrap_text(SAYS, small, "regular", width, 2)):
        y += round(1.3 * small) if k else 0
        shapes.append(text_shape((left, y), line, small))
    return y


def _plans(
    shapes: list[Shape], layouts: Layouts, top: int, left: int, width: int, height: int, scale: Scale
) -> int:
    """The head and both views of the two layouts, plan over side."""
    sub = "solid: as built, dashed: twin"
    y = _picture_head(shapes, "Where it is", sub, "", left, top, width, scale)
    drawn = twin_views(layouts, width, height, scale)
    shapes.append(Group("plan and side", (float(left), float(y)), tuple(drawn)))
    return y + height


def _uses(pictures: Pictures, study: Study, target: str, pair: str, used: set[str]) -> Uses:
    """What the legend must explain."""
    roles: list[tuple[str, tuple[str, ...]]] = []
    roles += [("subject", tuple(one.name for one in study.subjects))] if study.subjects else []
    for role in ("primary", "secondary", "tertiary"):
        names = tuple(one.name for one in study.target if one.role == role)
        roles += [(role, names)] if names else []
    both = [result for result in (pictures.built, pictures.twin) if pair and measured(result, pair)]
    shown = {grade_of(result, pair, cue) for result in both for cue in CUE_RULES.values()}
    grades: tuple[Grade, ...] = tuple(grade for grade in GRADES if grade in shown)
    return Uses(
        marks=frozenset(used),
        roles=tuple(roles),
        cues_for=pair.partition(":")[2],
        grades=grades,
        not_shipped=frozenset(cue.name for cue in CUE_RULES.values() if missing_in_game(cue, study)),
        glance=study.glance_factor,
    )


def _foot(shapes: list[Shape], top: int, width: int, record_hash: str, scale: Scale) -> int:
    size = scale.page_type(16)
    said = f"record {record_hash}"
    shapes.append(rule(MARGIN, width - MARGIN, top))
    y = top + round(size * 1.75)
    shapes.append(text_shape((width - MARGIN, y), said, size, "semibold", anchor="right"))
    room = width - 2 * MARGIN - text_width(said, size, "semibold") - 40
    for k, line in enumerate(wrap_text(CAUTION, size, "regular", room, 2)):
        shapes.append(text_shape((MARGIN, y + k * round(1.4 * size)), line, size))
        y = y if k == 0 else y + round(1.4 * size)
    return y + MARGIN - 8
