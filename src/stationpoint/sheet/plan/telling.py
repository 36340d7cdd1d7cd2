"""Which cameras of a big sweep are told in plan and side view: a few that say it all, never a clump."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stationpoint.sheet.plan.data import PlanCamera
from stationpoint.sheet.plan.frame import FEW_CAMERAS, PlanFrame, distinct
from stationpoint.sheet.wording import row_letter

APART_PX = 26.0  # told cameras of a big sweep stand at least so far from each other
FEW_WEDGES, MOST_WEDGES = 5, 4  # up to so many views all show what they see; of more, so many do
CHOSEN, SWEEP_END, HOLDS, ROW_END, OTHER = range(5)


def ranks(cameras: Sequence[PlanCamera]) -> dict[str, int]:
    """How much each camera tells, by its variant's label, the least first: CHOSEN, SWEEP_END, HOLDS,
    ROW_END, OTHER. cameras: in the sweep's order."""
    rows: dict[str, list[str]] = {}
    for camera in cameras:
        rows.setdefault(row_letter(camera.label), []).append(camera.label)
    ends = {label for row in rows.values() for label in (row[0], row[-1])}
    found = {}
    for k, camera in enumerate(cameras):
        is_end = k in (0, len(cameras) - 1)
        rank = ROW_END if camera.label in ends else OTHER
        rank = HOLDS if camera.holds else rank
        rank = SWEEP_END if is_end else rank
        found[camera.label] = CHOSEN if camera.chosen else rank
    return found


def told(spots: Sequence[tuple[float, float]], how: Sequence[int]) -> list[bool]:
    """Which of the cameras drawn at these spots, px, have a triangle and a name; the others are ticks.

    All of a few; of more, those that tell most, each at least APART_PX from the others. how: their ranks.
    """
    if len(spots) <= FEW_CAMERAS:
        return [True] * len(spots)
    kept: list[int] = []
    for k in sorted(range(len(spots)), key=lambda k: (how[k], k)):
        if how[k] < OTHER and _apart(np.array(spots[k]), [np.array(spots[j]) for j in kept], APART_PX):
            kept.append(k)
    return [k in kept for k in range(len(spots))]


def with_wedges(cameras: Sequence[PlanCamera], frame: PlanFrame, how: Mapping[str, int]) -> list[PlanCamera]:
    """The cameras whose field of view is drawn, in order: all that differ where they are few, else
    MOST_WEDGES."""
    few = distinct(cameras)
    if len(few) <= FEW_WEDGES:
        return few
    kept: list[PlanCamera] = []
    for camera in sorted(few, key=lambda one: how[one.label]):
        near = [one.at for one in kept if one.parallel == camera.parallel]
        clear = camera.parallel or _apart(camera.at, near, APART_PX / frame.scale)
        if how[camera.label] < OTHER and clear and len(kept) < MOST_WEDGES:
            kept.append(camera)
    return [camera for camera in few if any(camera is one for one in kept)]


def _apart(spot: NDArray[np.float64], others: Sequence[NDArray[np.float64]], least: float) -> bool:
    return all(float(np.linalg.norm(spot - other)) >= least for other in others)
