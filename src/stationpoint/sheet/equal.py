"""Cells that show one picture: where the sweep cannot change it, the sheet says so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings import Result
from stationpoint.sheet.wording import LENS

NO_LENS = "A parallel view has no lens; only the distance moves."
TWO_LAYOUTS = "Another layout, and a parallel view cannot tell them apart."
NO_CHANGE = "What is swept here does not change this picture."
NEAR = 1e-9
STEP = 7  # of rows, for a first glance
ROUNDED_LEVELS, ROUNDED_SHARE = 16, 1 / 2000  # one of 4 samples of an edge pixel, here and there


@dataclass(frozen=True, slots=True)
class Same:
    """label: the first cell with this picture. reason: why it is the same."""

    label: str
    reason: str


def equal_cells(results: Sequence[Result], at: Mapping[str, tuple[int, int]]) -> dict[str, Same]:
    """Label -> Same, for each cell whose picture is its left neighbour's, or the one's above it.

    at: label -> (line, column). Chains lead back to the first cell: B3 is the same as B1.
    """
    by_spot = {at[result.variant.label]: result for result in results}
    found: dict[str, Same] = {}
    for (line, column), result in sorted(by_spot.items(), key=lambda pair: pair[0]):
        for spot in ((line, column - 1), (line - 1, column)):
            other = by_spot.get(spot)
            if other is not None and same_picture(result, other):
                first = found.get(other.variant.label)
                label = first.label if first else other.variant.label
                found[result.variant.label] = Same(label, reason(result, other))
                break
    return found


def same_picture(one: Result, other: Result) -> bool:
    """Whether two results show one picture: equal pixels, or parallel cameras that differ only in how
    far away they stand."""
    a, b = one.setup, other.setup
    if one.picture is None or other.picture is None or one.picture.shape != other.picture.shape:
        return False
    if one.place.name == other.place.name and a.camera.parallel and b.camera.parallel:
        alike = (
            np.allclose(a.camera.view[:3, :3], b.camera.view[:3, :3], atol=NEAR)
            and np.allclose(a.camera.view[:2, 3], b.camera.view[:2, 3], atol=1e-6)
            and np.allclose(a.camera.projection[:2], b.camera.projection[:2], atol=NEAR)
            and a.camera.kind == "orthographic" == b.camera.kind
            and np.allclose(a.towards_light, b.towards_light, atol=NEAR)
        )
        if alike:
            return True
    return _alike(one.picture, other.picture)


def _alike(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> bool:
    """Whether two pictures (h, w, 3) differ by no more than the rounding of antialiased edges."""
    at_most = ROUNDED_SHARE * len(one) * len(one[0])
    if np.count_nonzero(one[::STEP] != other[::STEP]) > 3 * at_most:  # a glance: too many pixels already
        return False
    apart = np.abs(one.astype(np.int16) - other).max(axis=2)
    return bool(apart.max() <= ROUNDED_LEVELS and np.count_nonzero(apart) <= at_most)


def reason(one: Result, other: Result) -> str:
    """Why the picture is the same, as far as the changes tell."""
    before = dict(other.variant.changes)
    moved = {field for field, value in one.variant.changes if before.get(field) != value}
    if one.setup.camera.parallel and moved and moved <= LENS | {"distance_m"}:
        return NO_LENS
    if one.setup.camera.parallel and one.place.name != other.place.name:
        return TWO_LAYOUTS
    return NO_CHANGE
