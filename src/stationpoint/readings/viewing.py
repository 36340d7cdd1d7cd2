"""Seat: each viewing's picture, its angles, and where its centre of projection is."""

from __future__ import annotations

from math import atan, degrees, hypot

from stationpoint.camera import Camera, Frames, Seat, centre_of_projection_m, depth_stretch, picture_hfov_deg
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value

FLAT = "parallel views have no angle of view"
FIELDS = (
    Field(
        ("viewing", "*", "picture_pixels"),
        "px",
        0,
        "Width and height of the picture on that screen.",
        holds="numbers",
    ),
    Field(("viewing", "*", "hfov_deg"), "deg", 4, "Horizontal angle of view of the picture.", null=FLAT),
    Field(("viewing", "*", "vfov_deg"), "deg", 4, "Vertical angle of view of the picture.", null=FLAT),
    Field(("viewing", "*", "dfov_deg"), "deg", 4, "Diagonal angle of view of the picture.", null=FLAT),
    Field(("viewing", "*", "picture_hfov_deg"), "deg", 4, "Angle that the picture fills at the seat."),
    Field(("viewing", "*", "arcmin_per_px"), "'", 5, "Arc minutes of one pixel at the screen's centre."),
    Field(
        ("viewing", "*", "centre_of_projection_m"),
        "m",
        5,
        "Eye distance at which the picture is geometrically right, before the principal point.",
        null="parallel views have none",
    ),
    Field(
        ("viewing", "*", "depth_stretch"),
        "",
        5,
        "Eye distance over the centre of projection: geometry, not percept.",
        null="parallel views have no centre of projection",
    ),
)


def picture_pixels(seat: Seat) -> tuple[float, ...]:
    """Width and height of the viewing's picture in pixels as the game draws them, whole where they are: the
    screen's own unless its viewing has a render scale.

    Source: definition. Worked: the right half of 1920 x 1080: 960 x 1080.
    """
    return tuple(int(side) if side == int(side) else side for side in seat.picture_px)


def hfov_deg(camera: Camera) -> float | None:
    """Horizontal angle of view in degrees of the picture; None in parallel views.

    Source: 2 atan(1 / m00). A lens shift leaves it as the lens has it. Worked: 35 mm: 54.432.
    """
    return None if camera.parallel else degrees(2.0 * atan(1.0 / camera.projection[0, 0]))


def vfov_deg(camera: Camera) -> float | None:
    """Vertical angle of view in degrees of the picture; None in parallel views.

    Source: 2 atan(1 / m11). Worked: 35 mm on 36 mm, 16:9: 32.269.
    """
    return None if camera.parallel else degrees(2.0 * atan(1.0 / camera.projection[1, 1]))


def dfov_deg(camera: Camera) -> float | None:
    """Diagonal angle of view in degrees of the picture; None in parallel views.

    Source: 2 atan(hypot(1 / m00, 1 / m11)). Worked: 35 mm on 36 mm, 16:9: 61.087.
    """
    if camera.parallel:
        return None
    return degrees(2.0 * atan(hypot(1.0 / camera.projection[0, 0], 1.0 / camera.projection[1, 1])))


def read(case: Case, frames: Frames) -> Reading:
    """What holds for each viewing, whatever is drawn."""
    camera = case.setup.camera
    focal = None if camera.parallel else float(camera.projection[0, 0]) / 2.0
    values: dict[Path, Value] = {}
    for seat in case.seats:
        path = ("viewing", seat.name)
        values[*path, "picture_pixels"] = picture_pixels(seat)
        values[*path, "hfov_deg"] = hfov_deg(camera)
        values[*path, "vfov_deg"] = vfov_deg(camera)
        values[*path, "dfov_deg"] = dfov_deg(camera)
        values[*path, "picture_hfov_deg"] = picture_hfov_deg(seat)
        values[*path, "arcmin_per_px"] = seat.arcmin_per_px
        values[*path, "centre_of_projection_m"] = centre_of_projection_m(seat, focal)
        values[*path, "depth_stretch"] = depth_stretch(seat, focal)
    return Reading(values)


KIND = Kind("seat", FIELDS, read)
