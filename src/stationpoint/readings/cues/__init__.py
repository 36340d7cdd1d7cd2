"""Depth cues: by what a player can tell which of two things is nearer, and by how much.

For each pair, "gap:NAME" (take-off, landing) and "target:NAME" (subject, primary target), ten cues;
each has a value, a grade and what marks need. Only what the game ships counts. What is measured how
stands at the function of the cue's name; letters, units, thresholds and words stand in rules.py.

What marks need is in Reading.extras under ("cue", PAIR, CUE), (n, 2) pixels of the cell, for cues that
are not absent and, of ticks, where the ground is free:

| cue | rows |
| --- | --- |
| occlusion | n spots on the border, then as many spots 1 px to the covered side of each |
| relative_size | foot and top of a post of 1 m at the first one, then at the second |
| height_in_field | the two feet |
| drop_line | foot, floor |
| cast_shadow | foot, and the shadow's far end; of a hanging thing, where its foot's shadow falls |
| texture_gradient | ticks 1 m apart at the first one's depth, a nan row, ticks at the second one's |
| convergence | left rail (first, second end), right rail (first, second end) |
| horizon | start and end of each open stretch of the horizon's row, in turns |
| parallax | foot of the first one and where it slides to in 0.25 s, then the same of the second |
| light_on_form | middle of each lit face and the end of a normal of 0.3 m, in turns |
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Frames, Shot, ShotKey
from stationpoint.readings.cues import drop, shadow
from stationpoint.readings.cues.convergence import convergence, convergence_mark
from stationpoint.readings.cues.drop import drop_line, drop_line_mark, floor_m
from stationpoint.readings.cues.form import light_on_form, light_on_form_mark
from stationpoint.readings.cues.height import height_in_field, height_in_field_mark
from stationpoint.readings.cues.horizon import EYE_HEIGHTS, horizon, horizon_mark
from stationpoint.readings.cues.occlusion import occlusion, occlusion_mark
from stationpoint.readings.cues.parallax import parallax, parallax_mark
from stationpoint.readings.cues.rules import (
    ABSENT,
    COUNT_FIELDS,
    CUE_NAMES,
    CUE_RULES,
    RULE_FIELDS,
    Cue,
    amount,
    order,
)
from stationpoint.readings.cues.scale import (
    relative_size,
    relative_size_mark,
    texture_gradient,
    texture_gradient_mark,
)
from stationpoint.readings.cues.seen_shots import seen_shot, shadow_shots
from stationpoint.readings.cues.shadow import cast_shadow, cast_shadow_mark, off_m
from stationpoint.readings.frames.borders import Borders, borders
from stationpoint.readings.frames.plain import PLAIN
from stationpoint.readings.frames.shots import MAIN, main_shot
from stationpoint.readings.frames.sight import Sight, ids_of, in_view, sight_of
from stationpoint.readings.gaps.landing import shots as landing_shots
from stationpoint.readings.gaps.landing import unseen
from stationpoint.readings.things.pairs import Pair, pairs
from stationpoint.readings.types import Case, Kind, Path, Reading, Value
from stationpoint.study import gap_name

__all__ = ["EYE_HEIGHTS", "KIND"]

Points = NDArray[np.float64]
FIELDS = (*RULE_FIELDS, *drop.FIELDS, *shadow.FIELDS, *COUNT_FIELDS)
Mark = Callable[[Sight, Pair, Borders], Points | None]

MARKS: Mapping[str, Mark] = {
    "occlusion": occlusion_mark,
    "relative_size": lambda sight, pair, sides: relative_size_mark(sight, pair),
    "height_in_field": lambda sight, pair, sides: height_in_field_mark(sight, pair),
    "drop_line": lambda sight, pair, sides: drop_line_mark(sight.case, pair),
    "cast_shadow": lambda sight, pair, sides: cast_shadow_mark(sight, pair),
    "texture_gradient": lambda sight, pair, sides: texture_gradient_mark(sight, pair),
    "convergence": lambda sight, pair, sides: convergence_mark(sight, pair),
    "horizon": lambda sight, pair, sides: horizon_mark(sight),
    "parallax": lambda sight, pair, sides: parallax_mark(sight, pair),
    "light_on_form": lambda sight, pair, sides: light_on_form_mark(sight, pair),
}


def shots(case: Case) -> dict[ShotKey, Shot]:
    """The picture, the picture as the game shows it, and what its shadows need; none without a pair."""
    if not pairs(case):
        return {}
    return {MAIN: main_shot(case), PLAIN: seen_shot(case), **shadow_shots(case), **landing_shots(case)}


def ends_seen(sight: Sight, pair: Pair) -> bool:
    """Whether both of a pair are in the picture: a gap's as its verdict has it, of nodes at least a pixel."""
    for gap in sight.case.study.gap:
        if pair.is_gap and pair.name == gap_name(gap.name):
            return not unseen(sight.case, gap, sight.frames)
    own = [ids_of(sight.case, end.own) for end in (pair.a, pair.b)]
    shown = all(not ids or sight.counts[ids].any() for ids in own)
    return shown and in_view(sight, pair.a) and in_view(sight, pair.b)


def cues_of(sight: Sight, pair: Pair, sides: Borders, open_horizon: Cue) -> dict[str, Cue]:
    """The ten cues of a pair, in the order of CUE_NAMES.

    Where either of the two is not seen nothing can be compared, and all are null and absent.
    """
    if not ends_seen(sight, pair):
        return {name: Cue(None, ABSENT, CUE_RULES[name].gives) for name in CUE_NAMES}
    return {
        "occlusion": occlusion(sight, pair, sides),
        "relative_size": relative_size(sight, pair),
        "height_in_field": height_in_field(sight, pair),
        "drop_line": drop_line(sight.case, pair),
        "cast_shadow": cast_shadow(sight, pair),
        "texture_gradient": texture_gradient(sight, pair),
        "convergence": convergence(sight, pair),
        "horizon": open_horizon,
        "parallax": parallax(sight, pair),
        "light_on_form": light_on_form(sight, pair),
    }


def read(case: Case, frames: Frames) -> Reading:
    """All pairs; arc minutes are the first viewing's."""
    values: dict[Path, Value] = {}
    extras: dict[Path, Points] = {}
    if not pairs(case):
        return Reading(values)
    sight = sight_of(case, frames)
    sides, open_horizon = borders(sight.ids), horizon(sight)
    for pair in pairs(case):
        cues, path = cues_of(sight, pair, sides, open_horizon), ("cues", pair.name)
        for name, cue in cues.items():
            values[*path, name, "value"] = cue.value
            values[*path, name, "share"] = cue.share
            values[*path, name, "unit"] = CUE_RULES[name].unit
            values[*path, name, "grade"] = cue.grade
            points = None if cue.grade == ABSENT else MARKS[name](sight, pair, sides)
            if points is not None:
                extras["cue", pair.name, name] = points
        values[*path, "drop_line", "floor_m"] = floor_m(case, pair)
        values[*path, "cast_shadow", "off_m"] = off_m(case, pair)
        values[*path, "order"] = order(cues.values())
        values[*path, "amount"] = amount(cues.values())
    return Reading(values, extras=extras)


KIND = Kind("depth-cues", FIELDS, read, shots)
