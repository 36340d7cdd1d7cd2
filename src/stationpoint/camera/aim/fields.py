"""A camera's fields as written -> lens, pose and projection matrix, one at a time; nothing is solved."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, cos, degrees, hypot, radians, sin

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.camera.lens import focal_for_angle_mm, picture_on_gate_mm
from stationpoint.camera.pose import backward_axis, turned_by, view_from
from stationpoint.camera.projection import oblique, orthographic, perspective
from stationpoint.study import CameraFields

Vector = NDArray[np.float64]

DEFAULT_FOCAL_MM = 35.0
DEFAULT_DISTANCE_M = 8.0
LENS_FIELDS = ("focal_mm", "hfov_deg", "vfov_deg", "dfov_deg")
NAMED_RATIO = {"cavalier": 1.0, "cabinet": 0.5}


@dataclass(frozen=True, slots=True)
class Lens:
    """What decides scale. over_width: F / W (perspective) or None; view_width_m: parallel or None."""

    over_width: float | None
    view_width_m: float | None


def focal_mm_of(camera: CameraFields, aspect: float) -> float:
    """Focal length in mm that the camera's lens field asks for; 35 mm where it has none.

    A horizontal, vertical or diagonal angle counts over the picture on its gate.
    """
    width, height = picture_on_gate_mm(camera.gate_mm, aspect, camera.fit)
    if camera.focal_mm is not None:
        return camera.focal_mm
    for angle, side in (
        (camera.hfov_deg, width),
        (camera.vfov_deg, height),
        (camera.dfov_deg, hypot(width, height)),
    ):
        if angle is not None:
            return focal_for_angle_mm(angle, side)
    return DEFAULT_FOCAL_MM


def lens_of(camera: CameraFields, aspect: float, distance_m: float) -> Lens:
    """The lens of a camera as written, before any hold.

    A parallel view with no view_height_m gets the height that the lens sees at the distance.
    """
    over_width = focal_mm_of(camera, aspect) / picture_on_gate_mm(camera.gate_mm, aspect, camera.fit)[0]
    if camera.projection == "perspective":
        return Lens(over_width, None)
    if camera.view_height_m is not None:
        return Lens(None, camera.view_height_m * aspect)
    return Lens(None, distance_m / over_width)


def pose_of(
    camera: CameraFields, lens: Lens, aspect: float, anchor: Vector, distance_m: float
) -> tuple[NDArray[np.float64], tuple[float, float]]:
    """View matrix (4, 4) and lens shift that put the anchor at the camera's offset."""
    rotation = turned_by(camera.yaw_deg, camera.pitch_deg, camera.roll_deg)
    eye = anchor + distance_m * backward_axis(camera.yaw_deg, camera.pitch_deg)
    if camera.offset == (0.0, 0.0):
        return view_from(eye, rotation), (0.0, 0.0)
    if camera.offset_by == "shift":
        return view_from(eye, rotation), camera.offset
    # Where the anchor must lie before the eye, in metres right and up at its distance.
    if lens.view_width_m is not None:
        width = lens.view_width_m
    else:
        assert lens.over_width is not None
        width = distance_m / lens.over_width
    right_m, up_m = camera.offset[0] * width, camera.offset[1] * width / aspect
    if camera.offset_by == "slide":
        return view_from(eye - right_m * rotation[0] - up_m * rotation[1], rotation), (0.0, 0.0)
    away = distance_m
    if lens.view_width_m is not None:
        rest = distance_m**2 - right_m**2 - up_m**2
        if rest <= 0.0:
            raise StudyWrong(
                'camera: offset_by = "turn" cannot bring the subject so far aside in a parallel view '
                f'from {distance_m:g} m; use "shift" or "slide".'
            )
        away = rest**0.5
    yaw, pitch = _turned_to(camera, np.array([right_m, up_m, away]))
    return view_from(eye, turned_by(yaw, pitch, camera.roll_deg)), (0.0, 0.0)


def _turned_to(camera: CameraFields, seen: Vector) -> tuple[float, float]:
    """Yaw and pitch at which the sightline to the anchor has the camera coordinates `seen`.

    seen: (3,) right, up, away. The roll stays; the eye stays.
    """
    roll = radians(camera.roll_deg)
    right, up, away = seen / np.linalg.norm(seen)
    right, up = cos(roll) * right + sin(roll) * up, -sin(roll) * right + cos(roll) * up
    reach = hypot(up, away)
    sink = -sin(radians(camera.pitch_deg))  # vertical part of the sightline
    if abs(sink) > reach:
        raise StudyWrong(
            f'camera: offset_by = "turn" cannot bring the subject to {list(camera.offset)} at a pitch of '
            f'{camera.pitch_deg:g} degrees; use "shift" or "slide".'
        )
    pitch = atan2(up, away) - asin(sink / reach)
    ahead = up * sin(pitch) + away * cos(pitch)
    return camera.yaw_deg + degrees(atan2(right, ahead)), degrees(pitch)


def projection_of(
    camera: CameraFields,
    lens: Lens,
    aspect: float,
    near_m: float,
    far_m: float,
    shift: tuple[float, float],
    still_m: float,
) -> NDArray[np.float64]:
    """Projection matrix (4, 4) of a camera with a solved lens. still_m: the depth at which an oblique
    view draws things where the orthographic one does: the anchor's."""
    if lens.over_width is not None:
        return perspective(lens.over_width, aspect, near_m, far_m, shift)
    assert lens.view_width_m is not None
    height = lens.view_width_m / aspect
    if camera.projection == "oblique":
        return oblique(
            height, aspect, near_m, far_m, ratio_of(camera), camera.oblique_angle_deg, still_m, shift
        )
    return orthographic(height, aspect, near_m, far_m, shift)


def ratio_of(camera: CameraFields) -> float:
    """Metres drawn for one metre of depth in an oblique view: cavalier 1, cabinet 1/2."""
    ratio = camera.oblique_ratio
    return NAMED_RATIO[ratio] if isinstance(ratio, str) else float(ratio)


def depth_along_sight_m(view: NDArray[np.float64], point_m: Vector) -> float:
    """Depth in metres along the axis of a view (4, 4), of one world point (3,)."""
    return -float(view[2, :3] @ point_m + view[2, 3])
