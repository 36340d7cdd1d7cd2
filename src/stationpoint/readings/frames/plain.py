"""The picture as the game shows it: no tints, and of grid and shadow only what the game ships."""

from __future__ import annotations

from functools import lru_cache

from stationpoint.camera import COLOUR, Shot, ShotKey
from stationpoint.readings.types import Case

PLAIN: ShotKey = ("plain",)


@lru_cache(maxsize=4)
def plain_shot(case: Case) -> Shot:
    """Colour at the cell's own pixels; what the cues of light are measured on."""
    return Shot(
        case.setup.camera,
        frozenset({COLOUR}),
        moves=case.moves,
        towards_light=case.setup.towards_light,
        tinted=False,
        grid="ground-texture" in case.study.aids,
        shadow="cast-shadow" in case.study.aids,
    )
