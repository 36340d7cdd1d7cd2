"""Size: how large a target is drawn, in each viewing's pixels and at its seat."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, Frames, Seat, arcmin_between
from stationpoint.readings.frames.drawn import OnPicture, measured_on_picture
from stationpoint.readings.things.things import ANY, and_subject, asks_for
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value

NO_SIZE = "a bare point, or it reaches behind the camera"
FIELDS = (
    Field(
        ("targets", "*", "size_px", "*"),
        "px",
        3,
        "Width and height of the box round its silhouette, in the viewing's pixels.",
        null=NO_SIZE,
        holds="numbers",
    ),
    Field(
        ("targets", "*", "size_arcmin", "*"),
        "'",
        3,
        "Width and height of that box at the seat, across its middle.",
        plain="drawn width and height at the seat; a full moon has 30 arcmin",
        null=NO_SIZE,
        holds="numbers",
    ),
)


def size_px(camera: Camera, seat: Seat, at: OnPicture) -> tuple[float, float] | None:
    """Width and height of the box round the target's silhouette, pixels of the seat's picture.

    None for a bare point, and where it reaches behind the camera. Source: definition. Worked: C2, .6 x
    1.8 x .6 m at the anchor: 442.558 px high.
    """
    if at.box_px is None or not _has_size(at):
        return None
    (left, top, right, bottom), (width, height) = at.box_px, camera.pixels
    return (right - left) * (seat.picture_px[0] / width), (bottom - top) * (seat.picture_px[1] / height)


def size_arcmin(camera: Camera, seat: Seat, several: Sequence[OnPicture]) -> list[tuple[float, float] | None]:
    """Width and height of each target's box at the seat, arc minutes, across its middle.

    None for a bare point, and where it reaches behind the camera. Source: definition. Worked: 1.7 m at 12
    m, split screen, 97.1 px on the couch: 78.4'.
    """
    boxes = [at.box_px or (0.0,) * 4 for at in several]
    left, top, right, bottom = np.reshape(boxes, (-1, 4)).T * np.tile(_scale(camera, seat), 2)[:, None]
    x, y = (left + right) / 2, (top + bottom) / 2
    wide = arcmin_between(seat, np.column_stack([left, y]), np.column_stack([right, y])).tolist()
    high = arcmin_between(seat, np.column_stack([x, top]), np.column_stack([x, bottom])).tolist()
    return [
        pair if _has_size(at) else None
        for at, pair in zip(several, zip(wide, high, strict=True), strict=True)
    ]


def _scale(camera: Camera, seat: Seat) -> NDArray[np.float64]:
    """Pixels of the seat's picture a pixel of the cell, (2,)."""
    scale: NDArray[np.float64] = np.asarray(seat.picture_px) / camera.pixels
    return scale


def _has_size(at: OnPicture) -> bool:
    return at.box_px is not None and not at.thing.is_point


def read(case: Case, frames: Frames) -> Reading:
    """All targets and the subject in each viewing. Extras: ("size", NAME), of the subject ("size",):
    corners of the box, pixels of the cell."""
    camera, several = case.setup.camera, measured_on_picture(case)
    sized = [asks_for(case, at.thing, "size_px", ANY) for at in several]
    asked = any(asks_for(case, at.thing, "size_arcmin", ANY) for at in several)
    values: dict[Path, Value] = {}
    for seat in case.seats:
        arcmins = size_arcmin(camera, seat, several) if asked else ()
        for k, at in enumerate(several):
            if sized[k]:
                values[*at.thing.path, "size_px", seat.name] = size_px(camera, seat, at)
            if asked:
                values[*at.thing.path, "size_arcmin", seat.name] = arcmins[k]
    extras: dict[Path, NDArray[np.float64]] = {
        ("size", *at.thing.path[1:]): np.reshape(at.box_px, (2, 2))
        for at in several
        if case.marked and at.box_px is not None and _has_size(at) and not at.thing.further
    }
    return Reading(values, extras=extras)


KIND = Kind("size", and_subject(FIELDS), read)
