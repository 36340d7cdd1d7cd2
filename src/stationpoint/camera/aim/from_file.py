"""A camera from a file as the fields that a study would write; from there on it is like any other."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import replace
from math import atan, cos, degrees, radians, sin
from typing import Any

from stationpoint.base.errors import StudyWrong
from stationpoint.camera.aim.fields import LENS_FIELDS, Lens, Vector, depth_along_sight_m, lens_of
from stationpoint.camera.pose import yaw_pitch_roll
from stationpoint.scene import SceneCamera
from stationpoint.study import (
    FILE_FIELDS,
    HELD_FIELDS,
    HERE,
    POSE_FIELDS,
    CameraFields,
    Place,
    Study,
    Variant,
    replaced,
)

NEAREST_M = 1e-3  # what is less far before the eye is not in front of it
ON_AXIS = 1e-7  # picture widths from the axis at which a point is on it
PLACES = frozenset({"distance_m", "offset"})  # what no camera has whose anchor is not in front of it


def with_fields(
    variant: Variant, study: Study, place: Place, found: SceneCamera, anchor: Vector, aspect: float
) -> Variant:
    """The variant with what its file camera says written out in its `camera` and `base`.

    found: the file's camera. anchor: (3,) world, at that place. aspect: of the study's own picture.

    A lens or projection that the study writes beside `from` leaves the camera where it stands. A
    distance, an angle or an offset that it writes changes that one and keeps the others, as each
    swept field does. distance_m is None where the anchor is not in front of the camera and the study
    says nothing of its pose: then no fields say where it stands, the file alone does. StudyWrong where
    something is asked for that needs the anchor in front.
    """
    camera = study.camera
    beside = FILE_FIELDS & camera.model_fields_set if camera.from_ is not None else frozenset[str]()
    swept = {name: value for name, value in variant.changes if name in FILE_FIELDS}
    fields = {name: CameraFields.model_fields[name].default for name in FILE_FIELDS}
    fields |= {name: getattr(camera, name) for name in beside}
    bare = variant.camera.model_copy(update=fields)
    own = bare.model_copy(update=_own_fields(bare, found, anchor, aspect, beside))
    held = {name: value for name, value in swept.items() if name not in HELD_FIELDS}
    made = replace(variant, camera=replaced(own, swept), base=replaced(own, held))
    if own.distance_m is None:
        _check_away(made, found, anchor, beside | swept.keys(), place)
    return made


def in_front(found: SceneCamera, anchor: Vector) -> bool:
    """Whether a point (3,) lies in front of a file's camera."""
    return depth_along_sight_m(found.view, anchor) >= NEAREST_M


def falls_at(found: SceneCamera, lens: Lens, anchor: Vector, aspect: float) -> tuple[float, float] | None:
    """Where a point (3,) falls in a file camera's picture, as an offset; None where no lens draws it."""
    right_m, up_m = found.view[:2, :3] @ anchor + found.view[:2, 3]
    width = lens.view_width_m
    if lens.over_width is not None:
        width = depth_along_sight_m(found.view, anchor) / lens.over_width if in_front(found, anchor) else None
    return None if width is None else (float(right_m / width), float(up_m / width * aspect))


def shift_at(found: SceneCamera, lens: Lens, anchor: Vector, aspect: float) -> tuple[float, float]:
    """Where a file camera's axis lands at a point's depth, fractions from the picture's centre, right and up.

    That is its lens shift; an oblique view draws its axis along the receding lines.
    """
    if found.oblique is None or lens.view_width_m is None:
        return found.shift
    ratio, angle = found.oblique[0], radians(found.oblique[1])
    run = ratio * depth_along_sight_m(found.view, anchor) / lens.view_width_m
    return found.shift[0] + run * cos(angle), found.shift[1] + run * sin(angle) * aspect


def _is_zero(pair: tuple[float, float] | None) -> bool:
    return pair is not None and max(map(abs, pair)) < ON_AXIS


def _own_fields(
    camera: CameraFields, found: SceneCamera, anchor: Vector, aspect: float, beside: Set[str]
) -> dict[str, Any]:
    """What the file says, but for the fields that the study writes beside it."""
    depth = depth_along_sight_m(found.view, anchor)
    yaw, pitch, roll = yaw_pitch_roll(found.view[:3, :3])
    own: dict[str, Any] = {"yaw_deg": yaw, "pitch_deg": pitch, "roll_deg": roll, "offset_by": "slide"}
    own["projection"] = "perspective" if found.view_height_m is None else "orthographic"
    if found.oblique is not None:
        own["projection"] = "oblique"
        own |= {"oblique_ratio": found.oblique[0], "oblique_angle_deg": found.oblique[1]}
    own["view_height_m"] = found.view_height_m
    if not beside & {*LENS_FIELDS}:
        own["vfov_deg"] = found.vfov_deg
        if found.view_height_m is not None and in_front(found, anchor):  # as much of the anchor's plane
            own["vfov_deg"] = degrees(2.0 * atan(found.view_height_m / (2.0 * depth)))
    own = {name: value for name, value in own.items() if name not in beside}
    if in_front(found, anchor):
        lens = lens_of(camera.model_copy(update=own), aspect, depth)
        falls, shift = falls_at(found, lens, anchor, aspect), shift_at(found, lens, anchor, aspect)
        placed: dict[str, Any] = {"distance_m": depth, "offset": falls}
        if not _is_zero(shift):  # one offset says how the anchor left the middle: by the lens, or not at all
            placed = {"distance_m": depth, "offset": shift, "offset_by": "shift"} if _is_zero(falls) else {}
        own |= {name: value for name, value in placed.items() if name not in beside}
    return own


def _check_away(variant: Variant, found: SceneCamera, anchor: Vector, said: Set[str], place: Place) -> None:
    """StudyWrong where a camera whose pose no fields say is asked for what needs them: the anchor is not in
    front of it, or not on the axis of its shifted lens.

    said: what of the file's fields the study writes or sweeps.
    """
    at = "" if place.name == HERE else f' at "{place.name}"'
    away = (
        "not on the axis of that camera, whose lens is shifted"
        if in_front(found, anchor)
        else ("not in front of that camera")
    )
    move = "onto that axis" if in_front(found, anchor) else "before it"
    camera, base = variant.camera, variant.base
    needs = ""
    posed = [name for name in POSE_FIELDS if name in said]
    if posed and not said >= PLACES:
        needs = f"{posed[0]} alone has nothing to count from; give distance_m and offset, or"
    elif variant.hold != "nothing" and base.distance_m is None:
        needs = f'hold = "{variant.hold}" has no size to keep; use hold = "nothing", or'
    elif camera.projection == "perspective" and all(getattr(camera, key) is None for key in LENS_FIELDS):
        needs = "no lens matches its view height; give a lens such as vfov_deg, or"
    elif camera.projection != "perspective" and camera.view_height_m is None:
        needs = "no view height matches its lens; give view_height_m, or"
    if needs:
        raise StudyWrong(
            f'camera: from = "{camera.from_}": the subject{at} is {away}, and {needs} '
            f"move the subject {move}."
        )
