"""From variant and place to camera: the one door from a study's camera to matrices.

`from_file` writes out what a file's camera says, `fields` turns fields into lens, pose and projection,
`hold` keeps the subject's size; here they meet.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import LIGHT_TOWARDS, LIGHT_YAW_DEG
from stationpoint.base.words import matching_names
from stationpoint.camera.aim.fields import (
    DEFAULT_DISTANCE_M,
    Lens,
    Vector,
    depth_along_sight_m,
    lens_of,
    pose_of,
    projection_of,
    ratio_of,
)
from stationpoint.camera.aim.from_file import falls_at, shift_at, with_fields
from stationpoint.camera.aim.hold import held
from stationpoint.camera.camera import Camera, depths
from stationpoint.camera.lens import (
    angles_of_view_deg,
    other_aspect_focal,
    picture_on_gate_mm,
)
from stationpoint.camera.pose import backward_axis, eye_of, turned_by, view_from, yaw_pitch_roll
from stationpoint.camera.shot import Setup
from stationpoint.scene import Scene, SceneCamera
from stationpoint.study import (
    CameraFields,
    Place,
    Study,
    Variant,
    anchor_over_foot_m,
    aspect_ratio,
    body_height_m,
)


@dataclass(frozen=True, slots=True)
class Shape:
    """The shape of a picture: words ("16:9"), aspect (width / height), pixels of its cell."""

    words: str
    aspect: float
    cell_px: tuple[int, int]


def subject_foot_m(study: Study, scene: Scene, place: Place) -> Vector:
    """The subject's foot at a place, (3,): where the place or the study puts it, its node's foot,
    or the middle of the scene on its floor where the study has no subject.

    scene: as the place has arranged it.
    """
    subject = study.subject
    if place.at is not None:
        return np.array(place.at, dtype=float)
    if subject is not None and subject.at is not None:
        names = {*scene.names, subject.name}  # in first person it is not in the scene
        moved = [by for pattern, by in place.move.items() if subject.name in matching_names(pattern, names)]
        foot: Vector = np.array(subject.at, dtype=float) + np.sum([(0.0, 0.0, 0.0), *moved], axis=0)
        return foot
    if subject is not None and subject.node is not None:
        return scene.node(subject.node).foot
    return middle_on_floor(scene)


def aimed_at_m(
    study: Study, scene: Scene, place: Place, camera: CameraFields, body_m: float
) -> tuple[Vector, float]:
    """What the anchor is raised from, (3,), and by how much: the subject's foot; of several subjects the
    middle of their bounds, at the level of the lowest, to half their height unless the study says how high.

    body_m: the subject's height at the place.
    """
    if not study.others:
        return subject_foot_m(study, scene, place), anchor_over_foot_m(camera, body_m)
    low, high = scene.bounds([one.node or one.name for one in study.subjects])
    middle = (low + high) / 2.0
    foot = np.array([middle[0], low[1], middle[2]])
    if "anchor_height_m" in camera.model_fields_set:
        return foot, camera.anchor_height_m
    return foot, float(middle[1] - low[1])


def bodies_m(study: Study, scene: Scene, place: Place, body_m: float) -> Vector:
    """Foot and top of each subject, (n, 2, 3), the player's own first. scene: as the place has arranged it;
    body_m: the height of the player's own there."""
    foot = subject_foot_m(study, scene, place)
    axes = [(foot, foot + np.array([0.0, body_m, 0.0]))]
    for one in study.others:
        node = scene.node(one.node or one.name)
        x, y, z = node.foot
        axes.append((np.array([x, y, z]), np.array([x, node.bounds[1][1], z])))
    return np.array(axes)


def middle_on_floor(scene: Scene, height_m: float = 1.7) -> Vector:
    """The spot nearest to the middle of the scene's bounds where something of that height stands free
    on a floor; else the highest level surface at the middle; else its lowest point there, (3,)."""
    from stationpoint.scene import floor_under, standing_place

    spot = standing_place(scene, height_m)
    if spot is not None:
        return np.array(spot)
    solids = [node.name for node in scene.nodes if node.kind != "ground"]
    low, high = scene.bounds(solids or None)
    middle = (low + high) / 2.0
    floor = floor_under(scene, np.array([middle[0], high[1] + 1e-6, middle[2]]))
    return np.array([middle[0], low[1] if floor is None else floor, middle[2]])


def aim_camera(
    variant: Variant,
    place: Place,
    study: Study,
    scene: Scene,
    shape: Shape,
    pixels: tuple[int, int],
    cameras: Mapping[str, SceneCamera] | None = None,
) -> Setup:
    """The solved set-up of a variant, in a scene as the place has arranged it.

    shape: the picture's shape and cell. pixels: the picture of the first viewing, for the record.
    cameras: those that `from` may name, by what the study writes. StudyWrong where no camera holds
    what is asked.
    """
    body_m = body_height_m(study, scene, place)
    foot, height_m = aimed_at_m(study, scene, place, variant.camera, body_m)
    anchor = foot + np.array([0.0, height_m, 0.0])
    own_aspect = aspect_of(variant, study, cameras)
    found = None
    if variant.camera.from_ is not None:
        found = found_camera(variant.camera.from_, cameras)
        variant = with_fields(variant, study, place, found, anchor, own_aspect)
    if found is not None and variant.camera.distance_m is None:
        placed = placed_by_file(variant.camera, found, anchor, own_aspect)
    elif variant.camera.first_person:
        placed = placed_at_eyes(variant.camera, anchor, own_aspect)
    else:
        bodies = bodies_m(study, scene, place, body_m)
        placed = placed_by_numbers(variant, body_m, anchor, own_aspect, bodies)
    camera = variant.camera
    lens = at_aspect(placed.lens, own_aspect, shape.aspect, camera.aspect_policy)
    near_m, far_m = planes_m(camera, placed.view, scene)
    built = Camera(
        view=placed.view,
        projection=projection_of(
            camera, lens, shape.aspect, near_m, far_m, placed.shift, depth_along_sight_m(placed.view, anchor)
        ),
        pixels=shape.cell_px,
        kind=camera.projection,
        near_m=near_m,
        far_m=far_m,
    )
    gate_w = picture_on_gate_mm(camera.gate_mm, shape.aspect, camera.fit)[0]
    angles: tuple[float | None, ...] = (None, None, None)
    if lens.over_width is not None:  # of the picture itself, in picture widths
        angles = angles_of_view_deg(lens.over_width, (1.0, 1.0), shape.aspect)
    is_oblique = camera.projection == "oblique"
    return Setup(
        camera=built,
        projection=camera.projection,
        focal_mm=None if lens.over_width is None else lens.over_width * gate_w,
        hfov_deg=angles[0],
        vfov_deg=angles[1],
        dfov_deg=angles[2],
        view_height_m=None if lens.view_width_m is None else lens.view_width_m / shape.aspect,
        distance_m=placed.distance_m,
        pitch_deg=placed.pitch_deg,
        yaw_deg=placed.yaw_deg,
        roll_deg=placed.roll_deg,
        offset=offset_on(camera, placed, lens, own_aspect, shape.aspect),
        offset_by=None if placed.offset is None else camera.offset_by,
        aspect=shape.aspect,
        aspect_words=shape.words,
        pixels=pixels,
        anchor_m=(float(anchor[0]), float(anchor[1]), float(anchor[2])),
        gate_mm=camera.gate_mm,
        fit=camera.fit,
        focal_over_width=lens.over_width,
        oblique_ratio=ratio_of(camera) if is_oblique else None,
        oblique_angle_deg=camera.oblique_angle_deg if is_oblique else None,
        towards_light=towards_light(variant, study, cameras),
        anchor_height_m=height_m,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A camera placed at its own aspect: pose, lens, and what the record says of it.

    distance_m is None where the anchor is not in front of a file's camera, offset where it falls nowhere.
    """

    view: NDArray[np.float64]
    lens: Lens
    distance_m: float | None
    pitch_deg: float
    yaw_deg: float
    roll_deg: float
    offset: tuple[float, float] | None
    shift: tuple[float, float]


def aspect_of(variant: Variant, study: Study, cameras: Mapping[str, SceneCamera] | None) -> float:
    """Width over height of the study's own picture: as written, else the file camera's, else the
    first viewing's. A swept aspect is another screen's."""
    own = variant.base
    if own.aspect is not None:
        return aspect_ratio(own.aspect)
    if own.from_ is not None:
        from_file = found_camera(own.from_, cameras).aspect
        if from_file is not None:
            return from_file
    first = study.viewings[0]
    left, top, right, bottom = first.part
    return (right - left) * first.pixels[0] / ((bottom - top) * first.pixels[1])


def found_camera(words: str, cameras: Mapping[str, SceneCamera] | None) -> SceneCamera:
    """The file camera that `from` names; StudyWrong where it was not found."""
    if cameras is None or words not in cameras:
        raise StudyWrong(f'camera: from = "{words}" names no camera that could be read.')
    return cameras[words]


def placed_at_eyes(camera: CameraFields, eye: Vector, aspect: float) -> Placed:
    """Pose and lens of a camera that is its anchor, turned about it."""
    lens = lens_of(camera, aspect, DEFAULT_DISTANCE_M)  # in perspective no distance counts
    yaw, pitch, roll = camera.yaw_deg, camera.pitch_deg, camera.roll_deg
    return Placed(view_from(eye, turned_by(yaw, pitch, roll)), lens, 0.0, pitch, yaw, roll, None, (0.0, 0.0))


def placed_by_numbers(
    variant: Variant, body_m: float, anchor: Vector, aspect: float, bodies: Vector
) -> Placed:
    """Pose and lens from distance, pitch, yaw, offset, with `hold` applied. body_m: the subject's height.
    bodies: as of `bodies_m`."""
    camera = variant.camera
    lens, distance = held(variant, body_m, anchor, aspect, bodies)
    view, shift = pose_of(camera, lens, aspect, anchor, distance)
    return Placed(
        view, lens, distance, camera.pitch_deg, camera.yaw_deg, camera.roll_deg, camera.offset, shift
    )


def placed_by_file(camera: CameraFields, found: SceneCamera, anchor: Vector, aspect: float) -> Placed:
    """The pose of a file's camera that the anchor is not in front of, or not on the axis of where its lens is
    shifted, with the camera's lens."""
    lens = lens_of(camera, aspect, DEFAULT_DISTANCE_M)  # the lens or view height is there: no distance counts
    yaw, pitch, roll = camera.yaw_deg, camera.pitch_deg, camera.roll_deg
    view = view_from(eye_of(found.view), turned_by(yaw, pitch, roll))
    offset, shift = falls_at(found, lens, anchor, aspect), shift_at(found, lens, anchor, aspect)
    if offset is not None:
        offset = offset[0] + shift[0], offset[1] + shift[1]
    return Placed(view, lens, None, pitch, yaw, roll, offset, shift)


def offset_on(
    camera: CameraFields, placed: Placed, lens: Lens, aspect: float, new_aspect: float
) -> tuple[float, float] | None:
    """The offset in a picture of another aspect: a shifted lens keeps it there, else the anchor falls
    where the lens draws it. lens: the one at `new_aspect`."""
    if placed.offset is None or camera.offset_by == "shift" or lens is placed.lens:
        return placed.offset
    wider = _scale(lens) / _scale(placed.lens)
    x, y = placed.offset
    return x * wider, y * wider * new_aspect / aspect


def _scale(lens: Lens) -> float:
    """Picture widths of a metre, at one metre where there is a lens."""
    if lens.over_width is not None:
        return lens.over_width
    assert lens.view_width_m is not None
    return 1.0 / lens.view_width_m


def at_aspect(lens: Lens, aspect: float, new_aspect: float, policy: str) -> Lens:
    """The lens in a picture of another aspect, by the study's aspect policy."""
    if abs(new_aspect / aspect - 1.0) < 1e-9:
        return lens
    scale = other_aspect_focal(_scale(lens), aspect, new_aspect, policy)
    return Lens(scale, None) if lens.over_width is not None else Lens(None, 1.0 / scale)


def planes_m(camera: CameraFields, view: NDArray[np.float64], scene: Scene) -> tuple[float, float]:
    """Near and far plane in metres: as written, else far behind all that there is.

    A parallel view's near plane stands before everything (its depth may be negative) unless the
    study writes one.
    """
    low, high = scene.bounds()
    corners = np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )
    trial = Camera(view, np.eye(4), (1, 1), camera.projection, 0.0, 1.0)
    z = depths(trial, corners)
    nearest, farthest = float(z.min()), float(z.max())
    if camera.projection == "perspective":
        near = camera.near_m
        far = camera.far_m if camera.far_m is not None else max(100.0, 1.05 * farthest)
    else:
        margin = 1.0 + farthest - nearest  # what a shot moves stays in front, too
        near = camera.near_m if "near_m" in camera.model_fields_set else min(nearest - margin, camera.near_m)
        far = camera.far_m if camera.far_m is not None else max(farthest + margin, near + 1.0)
    if far <= near:
        if camera.far_m is None:
            raise StudyWrong(
                f"camera: near_m is {near:g}, and nothing in the scene is so far away; give a smaller one."
            )
        raise StudyWrong(f"camera: far_m is {far:g}, must be above near_m ({near:g}).")
    return near, far


def towards_light(
    variant: Variant, study: Study, cameras: Mapping[str, SceneCamera] | None
) -> tuple[float, float, float]:
    """Unit direction to the light: the study's, or the house light turned with the study's camera."""
    light = variant.light or study.light
    if light is not None:
        towards = backward_axis(light.yaw_deg, light.pitch_deg)
    else:
        yaw = study.camera.yaw_deg
        found = (cameras or {}).get(study.camera.from_ or "")
        if found is not None and "yaw_deg" not in study.camera.model_fields_set:
            yaw = yaw_pitch_roll(found.view[:3, :3])[0]
        turn = radians(yaw - LIGHT_YAW_DEG)
        x, y, z = LIGHT_TOWARDS
        towards = np.array([x * cos(turn) + z * sin(turn), y, -x * sin(turn) + z * cos(turn)])
    towards = towards / np.linalg.norm(towards)
    return (float(towards[0]), float(towards[1]), float(towards[2]))


def pulled_in(setup: Setup, distance_m: float) -> Setup:
    """The set-up with its eye brought to that distance from the anchor on the straight line between them:
    the same rotation, lens and planes."""
    camera, anchor = setup.camera, np.array(setup.anchor_m)
    eye = camera.eye_m
    to = anchor + (eye - anchor) * (distance_m / float(np.linalg.norm(eye - anchor)))
    nearer = replace(camera, view=view_from(to, camera.view[:3, :3]))
    return replace(setup, camera=nearer, asked_eye_m=(float(eye[0]), float(eye[1]), float(eye[2])))


def with_notes(setup: Setup, notes: tuple[str, ...]) -> Setup:
    """The set-up with further warnings."""
    return replace(setup, notes=setup.notes + notes)
