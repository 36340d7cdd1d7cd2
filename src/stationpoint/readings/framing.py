"""Framing: the subject, room round it, its limbs, horizon, ground in view, pushes of the stick."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import hypot, isfinite

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import (
    Camera,
    Frames,
    depths,
    horizon_fraction,
    jacobian_px_per_m,
    pixel_rays,
    project_points,
)
from stationpoint.readings.boom import solid_round
from stationpoint.readings.frames.drawn import outline_on_picture
from stationpoint.readings.things.steps import heading, level_right, record_camera
from stationpoint.readings.things.things import (
    SceneObject,
    anchor_m,
    limbs_m,
    subject_foot_m,
    subject_heading,
    subject_object,
)
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value
from stationpoint.scene import Scene

Vector = NDArray[np.float64]

FIELDS = (
    Field(
        ("framing", "subject_xy"),
        "",
        7,
        "Where the subject's anchor is drawn, fractions from top-left.",
        null="the anchor is behind the eye, or is the eye itself (first person)",
        holds="numbers",
    ),
    Field(
        ("framing", "horizon_y"),
        "",
        7,
        "Row of the horizon at the middle column, fraction from the top; may lie outside 0..1.",
        null="a parallel view has none, and straight up or down there is no row",
    ),
    Field(
        ("framing", "headroom"),
        "",
        5,
        "Room above the subject's top, fraction of the height; negative if it is cut.",
        null="no subject is drawn, or it reaches behind the camera",
    ),
    Field(
        ("framing", "headroom_at_apex", "*"),
        "",
        5,
        "The same with the subject raised by the apex of a gap's jump, the camera staying where it is.",
        null="the gap has no jump, no subject is drawn, or it reaches behind the camera",
    ),
    Field(
        ("framing", "lead_room"),
        "",
        5,
        "Room on the picture ahead of the subject's centre, the way it faces, less that behind it, over "
        "both: 1 is all ahead, -1 all behind.",
        plain="how much more of the picture lies ahead of the subject than behind it, from -1 to 1",
        null="no subject is drawn, its centre is off the picture, or 1 m of its heading is drawn shorter "
        "than 5 px",
    ),
    Field(
        ("framing", "limb_spread"),
        "",
        5,
        "Largest over smallest depth of the subject's parts, of its bounds where none are named; 1 in "
        "parallel views.",
        plain="how much larger its nearest limb is drawn than its farthest; 1 is alike",
        null="no subject is drawn, or it reaches behind the camera",
    ),
    Field(
        ("framing", "ground_near_m"),
        "m",
        5,
        "Level distance from the subject's foot, along the heading, seen at the bottom centre.",
        null="no ground of that level is seen there",
    ),
    Field(
        ("framing", "ground_far_m"),
        "m",
        5,
        'The same at the top centre, or "horizon".',
        null="no ground of that level is seen",
        words=("horizon",),
    ),
    Field(
        ("framing", "stick_error_deg", "*"),
        "deg",
        4,
        "Largest angle between eight pushes of the stick and what they look like on screen.",
        null="a push moves nothing on screen; in first person, where what is pushed is the eye",
    ),
    Field(
        ("framing", "camera_inside"),
        "",
        0,
        "Name of the closed solid that the camera is inside.",
        null="it is in none, or the view is parallel",
        holds="word",
    ),
)
INPUT_FRAMES = ("camera", "world")
LEAST_WAY_PX = 5.0  # drawn shorter, a metre has no direction that anyone sees
EIGHT_WAYS = np.radians(45.0 * np.arange(8))
PUSHES = np.array([np.cos(EIGHT_WAYS), np.sin(EIGHT_WAYS)])  # (2, 8): right, away


def subject_xy(camera: Camera, anchor_m: Vector) -> tuple[float, float] | None:
    """Where the anchor is drawn, fractions from top-left; None behind the eye.

    Source: definition. Worked: C3, offset (.10, -.12): (.6, .62).
    """
    x, y = (project_points(camera, anchor_m)[0] / camera.pixels).tolist()
    return (x, y) if isfinite(x) else None


def horizon_y(camera: Camera) -> float | None:
    """Row of the horizon at the middle column, fraction from the top; None in parallel views.

    Source: definition. Worked: C2: -.129084.
    """
    return horizon_fraction(camera)


def headroom(camera: Camera, subject: SceneObject | None) -> float | None:
    """Room between the subject's drawn top and the picture's, fraction of the height.

    None where no subject is drawn, or it reaches behind the camera. Source: definition. Worked: C2, box
    .6 x 1.8 x .6 m: 318.004 / 1080.
    """
    box = None if subject is None else outline_on_picture(camera, subject).box_px
    return None if box is None else box[1] / camera.pixels[1]


def headroom_at_apex(camera: Camera, subject: SceneObject | None, apex_m: float | None) -> float | None:
    """Room above the subject's top at the apex of a jump, fraction of the height; None without a jump.

    apex_m: how far it is raised; the camera stays. Source: definition. Worked: orthographic, level,
    9 m high, aimed at the foot of a subject of 1.8 m, apex 1.25 m: (4.5 - 3.05) / 9.
    """
    if subject is None or apex_m is None:
        return None
    return headroom(camera, replace(subject, points_m=subject.points_m + np.array([0.0, apex_m, 0.0])))


def lead_room(camera: Camera, subject: SceneObject | None, heading: Vector) -> float | None:
    """Room ahead of the subject's centre less that behind it, over both, from -1 to 1.

    To the picture's edges along the screen direction of its heading. camera: in pixels of record. heading:
    unit (3,) world. None where no subject is drawn, its centre is off the picture or behind the eye, or 1 m
    of heading is drawn shorter than 5 px. Source: definition. Worked: x = .35, moving right: (.65 - .35) / 1.
    """
    if subject is None:
        return None
    at = project_points(camera, subject.centre_m)[0].tolist()
    if not all(
        0.0 <= here <= size for here, size in zip(at, camera.pixels, strict=True)
    ):  # nan behind the eye
        return None
    way = (jacobian_px_per_m(camera, subject.centre_m) @ heading).tolist()
    if hypot(*way) < LEAST_WAY_PX:
        return None
    ends = [
        sorted((-here / moves, (size - here) / moves))
        for here, size, moves in zip(at, camera.pixels, way, strict=True)
        if abs(moves) > 1e-9
    ]
    ahead, behind = min(last for _, last in ends), -max(first for first, _ in ends)
    return (ahead - behind) / (ahead + behind) if ahead + behind > 0.0 else None


def limb_spread(camera: Camera, limbs_m: Vector) -> float | None:
    """Largest over smallest depth along the camera's axis of the points that bound the subject.

    How much larger its nearest limb is drawn than its farthest. limbs_m: (n, 3) world. None where there are
    none, or one is not before the eye. Source: definition. Worked: 3.2 m away, limbs .6 m before and behind:
    3.8 / 2.6 = 1.462; parallel: 1.
    """
    if not len(limbs_m):
        return None
    if camera.parallel:
        return 1.0
    z = depths(camera, limbs_m)
    return float(z.max() / z.min()) if z.min() > 0.0 else None


def _ground_m(camera: Camera, foot_m: Vector, row: float) -> float | str | None:
    """Level distance from the foot along the heading to the foot's level plane, seen in the middle
    column at a row (fraction); "horizon" if the sightline stays above; None from below."""
    origin, direction = _middle_ray(camera, row)
    falls, above_m = float(direction[1]), float(origin[1] - foot_m[1])
    if camera.parallel:
        if falls >= -1e-12:
            return None
    elif above_m <= 0.0:
        return None
    elif falls >= -1e-12:
        return "horizon"
    met = origin - direction * (above_m / falls)
    return float((met - foot_m) @ heading(camera))


@lru_cache(maxsize=8)
def _middle_ray(camera: Camera, row: float) -> tuple[Vector, Vector]:
    """Origin and direction, (3,) each, of the sightline in the middle column at a row (fraction)."""
    width, height = camera.pixels
    origins, directions = pixel_rays(camera, (width / 2.0, row * height))
    return origins[0], directions[0]


def ground_near_m(camera: Camera, foot_m: Vector) -> float | None:
    """Level distance from the subject's foot, along the heading, seen at the bottom centre, metres.

    Negative: nearer than the subject. None where no ground is seen there. Source: definition.
    Worked: C2: 4.9801 from under the eye.
    """
    found = _ground_m(camera, foot_m, 1.0)
    return None if isinstance(found, str) else found


def ground_far_m(camera: Camera, foot_m: Vector) -> float | str | None:
    """The same at the top centre: metres, or "horizon"; None where no ground is in the picture.

    Source: definition. Worked: C2: 53.8133 from under the eye; C1: "horizon".
    """
    found = _ground_m(camera, foot_m, 0.0)
    if found is None or isinstance(_ground_m(camera, foot_m, 1.0), str):
        return None
    return found


def stick_error_deg(camera: Camera, anchor_m: Vector, frame: str) -> float | None:
    """Largest angle in degrees between eight pushes of the stick and the way they move on screen.

    frame: "camera" (up is away, right is right) or "world" (up is -Z, right is +X). None where a push
    moves nothing. Source: definition. Worked: parallel, pitch 30, camera frame: 18.4; world frame at yaw
    45: 63.4.
    """
    right, away = level_right(camera), heading(camera)
    if frame == "world":
        right, away = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, -1.0])
    pushed_x, pushed_y = PUSHES
    drawn_x, down = jacobian_px_per_m(camera, anchor_m) @ np.array([right, away]).T @ PUSHES
    if not (np.hypot(drawn_x, down) > 1e-9).all():
        return None
    cross, dot = pushed_x * -down - pushed_y * drawn_x, pushed_x * drawn_x + pushed_y * -down
    return float(np.degrees(np.arctan2(np.abs(cross), dot)).max())


def camera_inside(camera: Camera, anchor_m: Vector, scene: Scene) -> str | None:
    """Name of the closed solid that the eye is inside, as `boom.inside` finds it; else None.

    None in parallel views, which have no eye. Source: definition. Worked: eye at (0, 1.6, 8), a wall
    4 x 4 x 1 m there: the wall.
    """
    return None if camera.parallel else solid_round(camera, anchor_m, scene)


def read(case: Case, frames: Frames) -> Reading:
    """Framing from geometry alone. Extras: ("horizon",) its ends at the cell's sides."""
    camera, anchor = case.setup.camera, anchor_m(case)
    foot = subject_foot_m(case)
    values: dict[Path, Value] = {
        ("framing", "subject_xy"): subject_xy(camera, anchor),
        ("framing", "horizon_y"): horizon_y(camera),
        ("framing", "headroom"): headroom(camera, subject_object(case)),
        ("framing", "lead_room"): lead_room(record_camera(case), _faced(case), subject_heading(case)),
        ("framing", "limb_spread"): limb_spread(camera, limbs_m(case)),
        ("framing", "ground_near_m"): ground_near_m(camera, foot),
        ("framing", "ground_far_m"): ground_far_m(camera, foot),
        ("framing", "camera_inside"): camera_inside(camera, anchor, case.scene),
    }
    for gap in case.study.gap:
        apex_m = None if gap.jump is None else gap.jump.apex_m
        values["framing", "headroom_at_apex", gap.name] = headroom_at_apex(
            camera, subject_object(case), apex_m
        )
    for frame in INPUT_FRAMES:
        values["framing", "stick_error_deg", frame] = stick_error_deg(camera, anchor, frame)
    return Reading(values, extras=_extras(camera))


def _faced(case: Case) -> SceneObject | None:
    """The subject where the study says, or leaves it, which way it faces: not one of the scene's own."""
    return None if case.study.subject is None else subject_object(case)


def _extras(camera: Camera) -> dict[Path, Vector]:
    width, height = camera.pixels
    ends = [horizon_fraction(camera, at_x) for at_x in (0.0, 1.0)]
    if ends[0] is None or ends[1] is None:
        return {}
    return {("horizon",): np.array([[0.0, ends[0] * height], [width, ends[1] * height]])}


KIND = Kind("framing-geometry", FIELDS, read)
