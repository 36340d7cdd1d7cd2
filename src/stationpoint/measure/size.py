"""Size: how large a target is drawn, in each viewing's pixels and at its seat."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from stationpoint.measure.drawn import Drawn, drawn_targets
from stationpoint.measure.types import Case, Field, Kind, Path, Reading, Value
from stationpoint.optics.camera import Camera
from stationpoint.optics.eye import Seat, arcmin_between
from stationpoint.shot import Frame

NO_SIZE = "a bare point, or it reaches behind the camera"
FIELDS = (
    Field(
        ("targets", "*", "size_px", "*"),
        "px",
        3,
        "Width and height of the box round its silhouette, in the viewing's pixels.",
        null=NO_SIZE,
    ),
    Field(
        ("targets", "*", "size_arcmin", "*"),
        "'",
        3,
        "Width and height of that box at the seat, across its middle.",
        null=NO_SIZE,
    ),
)


def box_in_seat(camera: Camera, seat: Seat, box_px: tuple[float, ...]) -> NDArray[np.float64]:
    """A box in the cell's pixels (left, top, right, bottom) as [[left, top], [right, bottom]] in the
    seat's pixels."""
    scale = np.asarray(seat.picture_px) / camera.pixels
    box: NDArray[np.float64] = np.reshape(box_px, (2, 2)) * scale
    return box


def size_px(camera: Camera, seat: Seat, at: Drawn) -> tuple[float, float] | None:
    """Width and height of the box round the target's silhouette, pixels of the seat's picture.

    Source: definition. Worked: C2, .6 x 1.8 x .6 m at the anchor: 442.558 px high.
    """
    if at.box_px is None or at.thing.is_point:
        return None
    (left, top), (right, bottom) = box_in_seat(camera, seat, at.box_px)
    return float(right - left), float(bottom - top)


def size_arcmin(camera: Camera, seat: Seat, at: Drawn) -> tuple[float, float] | None:
    """Width and height of that box at the seat, arc minutes, across its middle.

    Source: definition. Worked: 1.7 m at 12 m, split screen, 97.1 px on the couch: 78.4'.
    """
    if at.box_px is None or at.thing.is_point:
        return None
    (left, top), (right, bottom) = box_in_seat(camera, seat, at.box_px)
    x, y = (left + right) / 2, (top + bottom) / 2
    wide, high = arcmin_between(seat, [(left, y), (x, top)], [(right, y), (x, bottom)])
    return float(wide), float(high)


def read(case: Case, frames: Mapping[str, Frame]) -> Reading:
    """All targets in each viewing. Extras: ("size", NAME) corners of the box, pixels of the cell."""
    camera = case.setup.camera
    values: dict[Path, Value] = {}
    extras: dict[Path, NDArray[np.float64]] = {}
    for at in drawn_targets(case):
        name = at.thing.name
        for seat in case.seats:
            values["targets", name, "size_px", seat.name] = size_px(camera, seat, at)
            values["targets", name, "size_arcmin", seat.name] = size_arcmin(camera, seat, at)
        if at.box_px is not None and not at.thing.is_point:
            extras["size", name] = np.reshape(at.box_px, (2, 2))
    return Reading(values, extras=extras)


KIND = Kind("size", FIELDS, read)
