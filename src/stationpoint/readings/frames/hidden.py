"""What of the subject and the targets the picture hides: where each would be drawn if nothing hid it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import MOST_WHOLE, WHOLE, Frames, Shot, ShotKey
from stationpoint.readings.things.things import measured_objects
from stationpoint.readings.types import Case

OUTLINES: ShotKey = ("outlines",)


def outline_shots(case: Case) -> dict[ShotKey, Shot]:
    """The shots that draw the whole silhouettes of subject and targets, pixel for pixel as the picture."""
    groups = _groups(case)
    return {
        (*OUTLINES, str(k)): Shot(
            case.setup.camera, frozenset({WHOLE}), moves=case.moves, whole=groups[k : k + MOST_WHOLE]
        )
        for k in range(0, len(groups), MOST_WHOLE)
    }


def hidden_ids(case: Case, frames: Frames, ids: NDArray[np.uint32]) -> NDArray[np.uint32]:
    """For each pixel, (h, w), the id of a node of what is hidden there, 0 where nothing is: the subject
    before targets, an earlier target before a later one.

    frames: of `outline_shots`. ids: (h, w), the picture's.
    """
    hidden = np.zeros_like(ids)
    groups = _groups(case)
    for k in reversed(range(len(groups))):
        whole = frames[(*OUTLINES, str(k - k % MOST_WHOLE))].whole
        assert whole is not None
        own = [case.scene.id_of(name) for name in groups[k]]
        covers = (whole & np.uint32(1 << k % MOST_WHOLE)) != 0
        hidden[covers & ~np.isin(ids, own)] = own[0]
    return hidden


def _groups(case: Case) -> tuple[tuple[str, ...], ...]:
    """The nodes of the subject, then of each target that has some."""
    things = sorted(measured_objects(case), key=lambda thing: thing.role != "subject")
    return tuple(thing.nodes for thing in things if thing.nodes)
