"""The mistakes that ports make: for each, where it would draw the check points.

A mistake belongs to a stage of the way from world to picture; two of different stages make a pair. What each
draws is made from the camera that was handed off, with the one thing wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from stationpoint.record import HandedBack
from stationpoint.run.port.mistakes.lens import lens_mistakes
from stationpoint.run.port.mistakes.picture import picture_mistakes
from stationpoint.run.port.mistakes.pose import pose_mistakes
from stationpoint.run.port.mistakes.trial import MATRIX, Mistake, Trial
from stationpoint.run.port.mistakes.world import matrix_mistakes, world_mistakes


def mistakes_of(handed: HandedBack) -> list[Mistake]:
    """Every mistake that could be made with a camera, those first that are made oftenest."""
    return [
        *picture_mistakes(),
        *lens_mistakes(handed),
        *pose_mistakes(handed),
        *world_mistakes(handed),
        *matrix_mistakes(handed),
    ]


def pairs_of(mistakes: list[Mistake]) -> Iterator[Mistake]:
    """Two common mistakes of different stages at once."""
    common = [one for one in mistakes if one.common and one.stage != MATRIX]
    for k, one in enumerate(common):
        for other in common[k + 1 :]:
            if one.stage != other.stage:
                yield Mistake(
                    f"{one.name} and {other.name}", f"{one.says}; and {other.says}", "pair", _both(one, other)
                )


def _both(one: Mistake, other: Mistake) -> Callable[[Trial], Trial]:
    return lambda trial: other.alters(one.alters(trial))
