"""What a page for review takes from a sheet: its pages at a finer scale, each cell's marks as a close-up has
them, the words of its caption, and a plan whose cameras can be picked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stationpoint.base.look import CELL_WIDTH_PX
from stationpoint.ink import Group, Shape
from stationpoint.readings import CUE_RULES, Result
from stationpoint.sheet.caption import caption_lines
from stationpoint.sheet.cues import grade_of, measured
from stationpoint.sheet.flag import WORDS, Flag
from stationpoint.sheet.marks import CLOSE, known_marks, named_marks
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.marks.gap import clearer_sides
from stationpoint.sheet.marks.outline import NAME as OUTLINES
from stationpoint.sheet.plan.data import PlanData
from stationpoint.sheet.plan.frame import filling_height, frame_plan
from stationpoint.sheet.plan.view import plan_shapes
from stationpoint.sheet.roles import Owner
from stationpoint.sheet.scale import Scale, scale_for
from stationpoint.sheet.settings import confused_in_all
from stationpoint.sheet.wording import axis_words, caption_words, fields_on, swept_fields
from stationpoint.study import Study

PLAN_WIDTH_PX, LEAST_PLAN_PX, MOST_PLAN_PX = 1000, 420, 1100
# What follows the name of marks that are drawn only where asked for, and of those on own colours alone.
FURTHER, OF_OWN = "further", "of-own"


@dataclass(frozen=True, slots=True)
class PlanSpot:
    """A camera on the plan: its variant's label, and where it stands, pixels of the plan."""

    label: str
    x: float
    y: float


def page_scale(cell_width: int) -> Scale:
    """The scale of a sheet whose cells are so wide: the usual sheet enlarged, letters and lines too."""
    share = cell_width / CELL_WIDTH_PX
    return Scale(share, share, share, False)


def close_up_marks(
    results: Sequence[Result],
    study: Study,
    owner_by_id: Mapping[int, Owner],
    mark_m: float,
    own_ids: frozenset[int],
) -> list[list[Group]]:
    """The marks of each result with a picture, a group a kind, as a close-up has them; then those that a
    sheet draws only where they are asked for; then outlines of what has no tint in own colours.

    own_ids: of what is drawn in own colours there. A result without a picture has none.
    """
    looks = [
        None if result.picture is None else _look(result, study, owner_by_id, mark_m) for result in results
    ]
    sides = clearer_sides([look for look in looks if look is not None], study) if study.gap else {}
    further = frozenset(known_marks()) - CLOSE
    outlined = own_ids & frozenset(owner_by_id)
    made: list[list[Group]] = []
    for result, look in zip(results, looks, strict=True):
        if look is None:
            made.append([])
            continue
        look.sides.update(sides)
        groups = named_marks(look, CLOSE)
        names = {f"mark {name}" for name in further}
        more = [group for group in named_marks(look, further) if group.name in names]
        groups += [replace(group, name=f"{group.name} {FURTHER}") for group in more]
        if outlined:
            eye = result if result.own_picture is None else replace(result, picture=result.own_picture)
            own = named_marks(_look(eye, study, owner_by_id, mark_m, outlined), frozenset({OUTLINES}))
            groups += [replace(g, name=f"{g.name} {OF_OWN}") for g in own if g.name == f"mark {OUTLINES}"]
        made.append(groups)
    return made


def _look(
    result: Result,
    study: Study,
    owner_by_id: Mapping[int, Owner],
    mark_m: float,
    outlined: frozenset[int] = frozenset(),
) -> Drawing:
    assert result.picture is not None
    scale = scale_for(result.picture.shape[1])
    return drawing(result, study, scale, owner_by_id, True, mark_m=mark_m, outlined=outlined)


def caption_texts(
    results: Sequence[Result], study: Study, flags: Mapping[str, Flag]
) -> list[list[list[str]]]:
    """The lines of each result's caption, a list of pieces each, nothing cut; its label and what differs in
    it are left out, since they stand over it."""
    swept = swept_fields(study, [result.variant for result in results])
    headed = [*fields_on(study, "columns"), *fields_on(study, "rows"), *fields_on(study, "pages")]
    headings = [field for field in headed if field in swept]
    everywhere = frozenset(confused_in_all(results))
    scale, wide = page_scale(CELL_WIDTH_PX), float("inf")
    at_one = study.model_copy(update={"place": (), "here": True})  # each place has a cell of its own
    made = []
    for result in results:
        flag = flags.get(result.variant.label)
        lines = caption_lines(result, at_one, headings, scale, wide, flag, said_of_all=everywhere)
        head = (result.variant.label, caption_words(result.variant, headings, result.setup.camera.parallel))
        lines[0] = [part for part in lines[0] if part.words not in head]
        said = [[part.words + "".join(words for words, _ in part.tail) for part in line] for line in lines]
        made.append([line for line in said if line])
    return made


def head_words(result: Result, study: Study) -> str:
    """What differs in a variant: "orthographic, 35 mm"."""
    axes = [field for axis in ("rows", "columns", "pages") for field in fields_on(study, axis)]
    return axis_words(result.variant, axes)


def flag_word(flag: Flag) -> str:
    """The word on a flag."""
    return WORDS[flag.kind]


def cue_grades(result: Result, pair: str) -> dict[str, str]:
    """Cue -> its grade for a pair; empty where that was not measured."""
    if not measured(result, pair):
        return {}
    return {name: grade_of(result, pair, cue) for name, cue in CUE_RULES.items()}


def picking_plan(
    data: PlanData, labels: Mapping[str, str]
) -> tuple[list[Shape], tuple[int, int], list[PlanSpot]]:
    """Plan and side view, their size in pixels, and where each camera that they show stands in the plan.
    labels: what stands at a camera, by its variant's label."""
    height = round(min(max(filling_height(data, PLAN_WIDTH_PX), LEAST_PLAN_PX), MOST_PLAN_PX))
    frame = frame_plan(data, PLAN_WIDTH_PX, height)
    spots = []
    for camera in data.cameras:
        x, y = frame.plan(camera.at[None, :2])[0].tolist()
        if 0 <= x <= frame.width and 0 <= y <= frame.plan_height:
            spots.append(PlanSpot(camera.label, x, y))
    shapes = plan_shapes(data, PLAN_WIDTH_PX, height, scale_for(CELL_WIDTH_PX), labels, "")
    return shapes, (PLAN_WIDTH_PX, height), spots
