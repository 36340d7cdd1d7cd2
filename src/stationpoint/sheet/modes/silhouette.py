"""Silhouette: who is where, in flat tints, and in stripes what hides."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import PALE, ROLE_TINT, SKY
from stationpoint.sheet.roles import Owner

FLAT, EMPTY = PALE, SKY
STEPS, LEAST_STEP_PX, STRIPE_SHARE = 64, 6, 0.5  # stripes across a picture, their least distance, and width
Pixels = NDArray[np.uint8]


def silhouette(
    ids: NDArray[np.uint32], owner_by_id: Mapping[int, Owner], hidden: NDArray[np.uint32] | None = None
) -> Pixels:
    """Targets and the subject in their tints, other things flat, nothing as sky; over these in stripes what
    is hidden. hidden: (h, w), ids of that."""
    most = max([int(ids.max(initial=0)), int(0 if hidden is None else hidden.max(initial=0)), *owner_by_id])
    # A table of tints by id, looked up for the whole plane at once.
    table = np.empty((most + 1, 3), dtype=np.uint8)
    table[:] = FLAT
    table[0] = EMPTY
    for number, one in owner_by_id.items():
        table[number] = ROLE_TINT[one.role]
    result: Pixels = table.take(ids, axis=0)
    if hidden is not None:
        down, across = np.ogrid[: ids.shape[0], : ids.shape[1]]
        step = max(LEAST_STEP_PX, round(ids.shape[1] / STEPS))
        at = (hidden > 0) & ((down + across) % step < STRIPE_SHARE * step)
        result[at] = table[hidden[at]]
    return result


def stripes_sample(role: str, size_px: tuple[int, int]) -> Pixels:
    """A flat patch whose right half hides something of a role, drawn as pictures are."""
    across, down = size_px
    ids = np.ones((down, across), dtype=np.uint32)
    return silhouette(ids, {2: Owner(role)}, np.full_like(ids, 2))
