"""What must be drawn of the picture as the game shows it: no more than the cues look at."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from stationpoint.camera import PartPx, Shot, ShotKey
from stationpoint.readings.cues.form import lit_end
from stationpoint.readings.cues.occlusion import border_parts
from stationpoint.readings.cues.shadow_shots import UNCAST, shadow_plan
from stationpoint.readings.frames.plain import PLAIN, plain_shot
from stationpoint.readings.frames.shots import MAIN, main_shot
from stationpoint.readings.frames.sight import part_round
from stationpoint.readings.things.pairs import pairs
from stationpoint.readings.types import Case


@lru_cache(maxsize=4)
def seen_shot(case: Case) -> Shot:
    """The picture as the game shows it where the cues of any pair look at its colour: at the second one's own
    pixels, at borders between the two, and as far as shadows reach."""
    width, height = case.setup.camera.pixels
    shadows = shadow_plan(case).shots.get(UNCAST)
    parts = set[PartPx]() if shadows is None else {*(shadows.parts_px or ())}
    for pair in pairs(case):
        end = lit_end(case, pair)
        parts |= {
            *border_parts(case, pair),
            *((part_round(case.setup.camera, end.thing),) if end.own else ()),
        }
    inside = {
        (left, top, min(right, width), min(bottom, height))
        for left, top, right, bottom in parts
        if left < min(right, width) and top < min(bottom, height)
    }
    largest = sorted(one for one in inside if not any(_holds(other, one) for other in inside - {one}))
    return replace(plain_shot(case), parts_px=tuple(largest))


def _holds(outer: PartPx, inner: PartPx) -> bool:
    """Whether a part lies within another."""
    starts = outer[0] <= inner[0] and outer[1] <= inner[1]
    return starts and outer[2] >= inner[2] and outer[3] >= inner[3]


def shadow_shots(case: Case, name: str | None = None) -> dict[ShotKey, Shot]:
    """The shots that the shadow of one pair needs, of all if none is named; the picture's included."""
    plan = shadow_plan(case)
    looks = [look for pair, look in plan.looks.items() if name in (None, pair)]
    shots = {one: plan.shots[one] for look in looks for one in (look.cast, look.uncast) if one in plan.shots}
    return {MAIN: main_shot(case), PLAIN: seen_shot(case), **shots} if looks else {}
