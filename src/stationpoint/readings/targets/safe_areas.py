"""Safe areas and the interface: how much of a target is inside, and what will cover it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import ACTION_SAFE, Frames
from stationpoint.readings.frames.drawn import Box
from stationpoint.readings.frames.masks import Mask, Weights, measured_masks
from stationpoint.readings.frames.shots import shot_plan, shots_for
from stationpoint.readings.things.things import and_subject, asks_for
from stationpoint.readings.types import SHARE, Case, Field, Kind, Path, Reading, Value
from stationpoint.study import Reserved

ACTION, TITLE = ACTION_SAFE, 0.90  # of width and of height: SMPTE ST 2046-1:2009
OPAQUE = 0.5  # a reserved area covers from this opacity on
FLAGGED_COVER = 0.25  # of a thing, by reserved areas

NO_WHOLE = "it reaches behind the camera"
FIELDS = (
    Field(
        ("targets", "*", "action_safe"),
        SHARE,
        5,
        "Share of the whole silhouette inside the action-safe 93 %.",
        "SMPTE ST 2046-1",
        NO_WHOLE,
    ),
    Field(
        ("targets", "*", "title_safe"),
        SHARE,
        5,
        "Share of the whole silhouette inside the title-safe 90 %.",
        "SMPTE ST 2046-1",
        NO_WHOLE,
    ),
    Field(
        ("targets", "*", "reserved_cover"),
        SHARE,
        5,
        "Mean opacity of the reserved areas over what is visible of it; 0.25 and more is flagged.",
        null="nothing of it is visible, or it reaches behind the camera",
    ),
)


def safe_box(case: Case, share: float) -> Box:
    """Left, top, right, bottom of a safe area, concentric with the picture, pixels of the cell."""
    width, height = case.setup.camera.pixels
    rest = (1.0 - share) / 2.0
    return (rest * width, rest * height, (1.0 - rest) * width, (1.0 - rest) * height)


def clear_points(case: Case, px: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which pixels (n, 2) of the cell are action-safe and under no opaque reserved area; none that is nan."""
    size = np.array(case.setup.camera.pixels, dtype=float)
    with np.errstate(invalid="ignore"):
        left, top, right, bottom = safe_box(case, ACTION)
        good = np.array((px >= (left, top)).all(axis=1) & (px <= (right, bottom)).all(axis=1))
        for area in case.study.reserved:
            if area.opacity >= OPAQUE:
                low, high = np.array(area.rect[:2]) * size, np.array(area.rect[2:]) * size
                good &= ~((px >= low).all(axis=1) & (px <= high).all(axis=1))
    return good


def share_inside(mask: Mask, box_px: Box) -> float:
    """Share of the whole silhouette inside a box of the cell."""
    drawn, box = mask.at.box_px, box_px
    if drawn and drawn[0] >= box[0] and drawn[1] >= box[1] and drawn[2] <= box[2] and drawn[3] <= box[3]:
        return 1.0
    return min(1.0, float(np.sum(mask.share_in(box_px), where=mask.whole, dtype=np.float64)) / mask.count)


def action_safe(case: Case, mask: Mask) -> float:
    """Share of the whole silhouette inside the action-safe area, 93 % of width and height.

    None where it reaches behind the camera. Source: SMPTE ST 2046-1:2009. Worked: 1920 x 1080: 1785.6 x
    1004.4 px.
    """
    return share_inside(mask, safe_box(case, ACTION))


def title_safe(case: Case, mask: Mask) -> float:
    """Share of the whole silhouette inside the title-safe area, 90 % of width and height.

    None where it reaches behind the camera. Source: SMPTE ST 2046-1:2009. Worked: 1920 x 1080: 1728 x 972
    px.
    """
    return share_inside(mask, safe_box(case, TITLE))


def uncovered(case: Case, mask: Mask, area: Reserved, opacity: float) -> Weights:
    """How much of each pixel (h, w) still shows through a reserved area of that opacity."""
    width, height = case.setup.camera.pixels
    left, top, right, bottom = area.rect
    over = mask.share_in((left * width, top * height, right * width, bottom * height))
    return np.float32(1.0) - np.float32(opacity) * over


def reserved_cover(case: Case, mask: Mask) -> float | None:
    """Mean opacity of the reserved areas over the visible pixels; None where none is visible.

    Where areas overlap, their opacities add up as layers do. Source: definition. Worked: a plate
    half of whose width and .905 of whose height lie under an opaque map: .4525.
    """
    weight = mask.visible.astype(np.float32)
    if mask.frame is not None:
        weight *= mask.frame
    total = float(weight.sum(dtype=np.float64))
    if total == 0.0:
        return None
    if not case.study.reserved:
        return 0.0
    shows = np.ones_like(weight)
    for area in case.study.reserved:
        shows *= uncovered(case, mask, area, area.opacity)
    return max(0.0, 1.0 - float((weight * shows).sum(dtype=np.float64)) / total)


def areas_cover(case: Case, mask: Mask) -> NDArray[np.float64]:
    """The same of each reserved area alone, in the study's order, (n, 1); some of it must be visible.

    Source: definition. Worked: the plate above under a map, and a bar elsewhere: .4525, 0.
    """
    weight = mask.visible.astype(np.float32)
    if mask.frame is not None:
        weight *= mask.frame
    total = float(weight.sum(dtype=np.float64))
    areas = case.study.reserved
    left = [float((weight * uncovered(case, mask, one, one.opacity)).sum(dtype=np.float64)) for one in areas]
    return np.array([max(0.0, 1.0 - part / total) for part in left])[:, None]


def read(case: Case, frames: Frames) -> Reading:
    """All targets and the subject; of those under reserved areas also which of them cover how much."""
    values: dict[Path, Value] = {}
    extras: dict[Path, NDArray[np.float64]] = {}
    several = measured_masks(case, frames)
    things = {view.at.thing.path: view.at.thing for view in shot_plan(case).measured.values()}
    for path, mask in several.found.items():
        nothing, cover = 0.0 if path in several.absent else None, None
        if asks_for(case, things[path], "action_safe"):
            values[*path, "action_safe"] = nothing if mask is None else action_safe(case, mask)
        if asks_for(case, things[path], "title_safe"):
            values[*path, "title_safe"] = nothing if mask is None else title_safe(case, mask)
        if asks_for(case, things[path], "reserved_cover"):
            values[*path, "reserved_cover"] = cover = None if mask is None else reserved_cover(case, mask)
        if mask is not None and cover and case.marked:
            extras["reserved", *path] = areas_cover(case, mask)
    return Reading(values, extras=extras)


KIND = Kind("safe-areas", and_subject(FIELDS), read, shots_for(FIELDS))
