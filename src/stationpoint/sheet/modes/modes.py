"""The modes by name: what each needs, says and draws. Whole sheets, one layout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings import Result
from stationpoint.sheet.modes.depth import Bands, band_ladder, bands_for, depth_bands
from stationpoint.sheet.modes.ladder import Ladder
from stationpoint.sheet.modes.silhouette import silhouette
from stationpoint.sheet.modes.values import (
    first_glance,
    grey,
    step_bounds,
    three_values,
    values_ladder,
)
from stationpoint.sheet.roles import Owner
from stationpoint.study import Study

Pixels = NDArray[np.uint8]
OWN_MARKS = frozenset({"outlines", "targets"})  # on pictures in the level's own colours


@dataclass(frozen=True, slots=True)
class Mode:
    """What a mode needs and shows.

    ids, depth, hidden, glances: what results must hold. own: it is of the level's own colours, where there
    are any; paired: its pictures are drawn twice, in clay and below in own colours. marks: names of those
    that are drawn, None for what the sheet takes unasked; marked: `--marks` names others. tinted: role
    tints are seen; grid: so is the metre grid.
    """

    ids: bool = False
    depth: bool = False
    hidden: bool = False
    glances: bool = False
    own: bool = False
    paired: bool = False
    marked: bool = False
    marks: frozenset[str] | None = frozenset()
    tinted: bool = False
    grid: bool = False


BY_NAME: dict[str, Mode] = {
    "marks": Mode(ids=True, marked=True, marks=None, tinted=True, grid=True),
    "clean": Mode(tinted=True, grid=True),
    "own": Mode(ids=True, own=True, marked=True, marks=OWN_MARKS, tinted=True, grid=True),
    "clay-over-own": Mode(ids=True, own=True, paired=True, marked=True, marks=None, tinted=True, grid=True),
    "grey": Mode(),
    "own-grey": Mode(own=True),
    "three-values": Mode(own=True),
    "silhouette": Mode(ids=True, hidden=True, marks=frozenset({"edges"}), tinted=True),
    "first-glance": Mode(own=True, glances=True, marks=frozenset({"glances"})),
    "depth": Mode(ids=True, depth=True, marks=frozenset({"outlines"})),
}
MODES = tuple(BY_NAME)
NONE = "No own colours here:"
# Short, so that they mostly stand beside the answer: in own colours, and where pictures show none.
WORDS = {
    "marks": ("", ""),
    "clean": ("Clean: the pictures without marks.",) * 2,
    "own": ("Own colours, under this sheet's light.", f"{NONE} clay and tints."),
    "clay-over-own": ("Clay, and below it the level's own colours.", f"{NONE} clay and tints."),
    "grey": ("Grey of the level's own colours.", "Grey of clay and tints, not of your level."),
    "own-grey": ("Grey of the level's own colours.", f"{NONE} grey of clay and tints."),
    "three-values": (
        "Three values of the level's own colours.",
        "Three values of clay and tints, not of your level.",
    ),
    "silhouette": ("Silhouette: striped where hidden, all else flat.",) * 2,
    "first-glance": ("First glance: blurred by one degree.", f"{NONE} clay, blurred by one degree."),
    "depth": ("Depth: bands of distance from the subject.",) * 2,
}
AIM = "Depth: bands of distance from what is aimed at."


def mode_words(mode: str, in_own: bool, study: Study) -> str:
    """What the header says of a mode, one sentence. in_own: whether the pictures show own colours."""
    if mode == "depth" and study.subject is None:
        return AIM
    return WORDS[mode][0 if in_own else 1]


def all_mode_words(study: Study) -> list[str]:
    """What the header may say of any mode: a sheet has room for each, so that modes flip."""
    return [mode_words(mode, in_own, study) for mode in MODES for in_own in (True, False)]


@dataclass(frozen=True, slots=True)
class Common:
    """What a mode takes from all cells together, so that one exposure holds for all. bands: of depth.
    bounds_l: L* from which a pixel is middle, and from which light."""

    bands: Bands | None = None
    bounds_l: tuple[float, float] | None = None

    @property
    def ladder(self) -> Ladder | None:
        """The steps as the legend has them, None for a mode without."""
        if self.bands is not None:
            return band_ladder(self.bands)
        return None if self.bounds_l is None else values_ladder(self.bounds_l)


def common_of(mode: str, results: Iterable[Result], study: Study) -> Common:
    """What a mode takes from all results, each with its picture. results: gone through several times."""
    if mode == "depth":
        return Common(bands=bands_for(results, study))
    if mode == "three-values":
        return Common(bounds_l=step_bounds(r.picture for r in results if r.picture is not None))
    return Common()


def picture_in_mode(result: Result, mode: str, owner_by_id: Mapping[int, Owner], common: Common) -> Pixels:
    """The pixels that a cell shows in a mode. ValueError where the result lacks what it needs."""
    assert result.picture is not None
    if mode in ("grey", "own-grey"):
        return grey(result.picture)
    if mode == "three-values" and common.bounds_l is not None:
        return three_values(result.picture, common.bounds_l)
    if mode == "first-glance":
        return first_glance(result.picture, result.seats[0])
    if mode == "silhouette":
        if result.ids is None:
            raise ValueError("the silhouette mode needs results with ids")
        return silhouette(result.ids, owner_by_id, result.hidden)
    if mode == "depth":
        if result.depth_m is None or common.bands is None:
            raise ValueError("the depth mode needs results with depth")
        return depth_bands(result, common.bands)
    return result.picture
