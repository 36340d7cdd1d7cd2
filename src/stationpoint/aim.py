"""From variant and place to camera: all that is solved, including lens, hold and offset.

This is the one file that knows how a study's camera becomes matrices.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import asin, atan2, cos, degrees, hypot, radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from stationpoint.errors import StudyWrong
from stationpoint.look import LIGHT_TOWARDS, LIGHT_YAW_DEG
from stationpoint.optics.camera import Camera, depths, project
from stationpoint.optics.lens import (
    angle_of_view_deg,
    focal_for_angle_mm,
    other_aspect_focal,
    picture_on_gate_mm,
)
from stationpoint.optics.pose import backwards, eye_of, look_at, turned, view_from
from stationpoint.optics.projection import oblique, orthographic, perspective
from stationpoint.scene.types import Scene, SceneCamera
from stationpoint.shot import Setup
from stationpoint.study.models import CameraFields, Place, Study, aspect_ratio
from stationpoint.study.sweep import Variant

Vector = NDArray[np.float64]

DEFAULT_FOCAL_MM = 35.0
DEFAULT_DISTANCE_M = 8.0
LENS_FIELDS = ("focal_mm", "hfov_deg", "vfov_deg", "dfov_deg")
NAMED_RATIO = {"cavalier": 1.0, "cabinet": 0.5}


@dataclass(frozen=True, slots=True)
class Shape:
    """The shape of a picture: words ("16:9"), aspect (width / height), pixels of its cell."""

    words: str
    aspect: float
    cell_px: tuple[int, int]


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


def subject_foot_m(study: Study, scene: Scene, place: Place) -> Vector:
    """The subject's foot at a place, (3,): where the place or the study puts it, its node's foot,
    or the middle of the scene on its floor where the study has no subject.

    scene: as the place has arranged it.
    """
    subject = study.subject
    if place.at is not None:
        return np.array(place.at, dtype=float)
    if subject is not None and subject.at is not None:
        moved = [by for pattern, by in place.move.items() if subject.name in scene.matching(pattern)]
        foot: Vector = np.array(subject.at, dtype=float) + np.sum([(0.0, 0.0, 0.0), *moved], axis=0)
        return foot
    if subject is not None and subject.node is not None:
        return scene.node(subject.node).foot
    return middle_on_floor(scene)


def middle_on_floor(scene: Scene, height_m: float = 1.7) -> Vector:
    """The spot nearest to the middle of the scene's bounds where something of that height stands free
    on a floor; else the highest level surface at the middle; else its lowest point there, (3,)."""
    from stationpoint.scene.edit import floor_under
    from stationpoint.scene.standing import standing_place

    spot = standing_place(scene, height_m)
    if spot is not None:
        return np.array(spot)
    things = [node.name for node in scene.nodes if node.kind != "ground"]
    low, high = scene.bounds(things or None)
    middle = (low + high) / 2.0
    floor = floor_under(scene, np.array([middle[0], high[1] + 1e-6, middle[2]]))
    return np.array([middle[0], low[1] if floor is None else floor, middle[2]])


def aim(
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
    camera = variant.camera
    anchor = subject_foot_m(study, scene, place) + np.array([0.0, camera.anchor_height_m, 0.0])
    own_aspect = aspect_of(camera, study, cameras)
    if camera.from_ is not None:
        found = found_camera(camera.from_, cameras)
        placed = placed_by_file(variant, found, anchor, own_aspect)
    else:
        placed = placed_by_numbers(variant, study, anchor, own_aspect)
    lens = at_aspect(placed.lens, own_aspect, shape.aspect, camera.aspect_policy)
    near_m, far_m = planes_m(camera, placed.view, scene)
    built = Camera(
        view=placed.view,
        projection=projection_of(camera, lens, shape.aspect, near_m, far_m, placed.shift, placed.distance_m),
        pixels=shape.cell_px,
        kind=camera.projection,
        near_m=near_m,
        far_m=far_m,
    )
    gate_w = picture_on_gate_mm(camera.gate_mm, shape.aspect, camera.fit)[0]
    angles = angles_deg(lens, shape.aspect)
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
        offset=placed.offset,
        offset_by=camera.offset_by,
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
    )


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A camera placed at its own aspect: pose, lens, and what the record says of it."""

    view: NDArray[np.float64]
    lens: Lens
    distance_m: float
    pitch_deg: float
    yaw_deg: float
    roll_deg: float
    offset: tuple[float, float]
    shift: tuple[float, float]


def aspect_of(camera: CameraFields, study: Study, cameras: Mapping[str, SceneCamera] | None) -> float:
    """Width over height of the study's own picture: as written, else the file camera's, else the
    first viewing's."""
    if camera.aspect is not None:
        return aspect_ratio(camera.aspect)
    if camera.from_ is not None:
        from_file = found_camera(camera.from_, cameras).aspect
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


def placed_by_numbers(variant: Variant, study: Study, anchor: Vector, aspect: float) -> Placed:
    """Pose and lens from distance, pitch, yaw, offset, with `hold` applied."""
    camera = variant.camera
    lens, distance = held(variant, study, anchor, aspect)
    view, shift = posed(camera, lens, aspect, anchor, distance)
    return Placed(
        view, lens, distance, camera.pitch_deg, camera.yaw_deg, camera.roll_deg, camera.offset, shift
    )


def placed_by_file(variant: Variant, found: SceneCamera, anchor: Vector, aspect: float) -> Placed:
    """Pose and lens from a file's camera; swept lens, distance and projection override.

    Distance, pitch, yaw and offset are measured against the anchor; another distance moves the
    camera along the line from the anchor to its eye, turned as it was.
    """
    camera = variant.camera
    swept = {name for name, _ in variant.changes}
    rotation, eye = found.view[:3, :3], eye_of(found.view)
    if float(np.linalg.norm(eye - anchor)) < 1e-6:
        raise StudyWrong(
            f'camera: from = "{camera.from_}" stands exactly on the subject; '
            "move the subject or raise anchor_height_m."
        )
    yaw, pitch, distance = look_at(eye, anchor)
    file_depth = float(rotation[2] @ (eye - anchor))
    file_lens = lens_of_file(found, aspect)
    written = camera.model_fields_set
    lens_written = (swept | written) & {*LENS_FIELDS, "view_height_m"}
    lens = lens_of(camera, aspect, max(file_depth, 1e-3)) if lens_written else file_lens
    if camera.projection == "perspective" and lens.over_width is None:
        lens = Lens(file_depth / lens.view_width_m if lens.view_width_m else None, None)
    if camera.projection != "perspective" and lens.view_width_m is None and lens.over_width:
        lens = Lens(None, max(file_depth, 1e-3) / lens.over_width)
    new_distance = camera.distance_m if camera.distance_m is not None else distance
    if variant.hold != "nothing" and lens_written and "distance_m" not in swept | written:
        if lens.over_width is not None and file_lens.over_width is not None:
            new_distance = distance * lens.over_width / file_lens.over_width
        elif lens.view_width_m is not None and file_lens.over_width is not None:
            lens = Lens(None, file_depth / file_lens.over_width)
    moved_eye = anchor + (eye - anchor) * (new_distance / distance)
    view = view_from(moved_eye, rotation)
    trial = Camera(
        view, projection_of(camera, lens, aspect, 0.1, 100.0, (0.0, 0.0), new_distance), (1, 1),
        camera.projection, 0.1, 100.0,
    )  # fmt: skip
    at = project(trial, anchor)[0]
    offset = (float(at[0]) - 0.5, 0.5 - float(at[1])) if np.all(np.isfinite(at)) else (0.0, 0.0)
    roll = degrees(atan2(rotation[0, 1], rotation[1, 1])) if abs(rotation[2, 1]) < 1 - 1e-9 else 0.0
    return Placed(view, lens, new_distance, pitch, yaw, roll, offset, (0.0, 0.0))


def lens_of_file(found: SceneCamera, aspect: float) -> Lens:
    """The lens of a file's camera at `aspect`: its vertical angle (or view height) stays."""
    if found.view_height_m is not None:
        return Lens(None, found.view_height_m * aspect)
    assert found.vfov_deg is not None
    return Lens(1.0 / (2.0 * aspect * tan(radians(found.vfov_deg) / 2.0)), None)


def held(variant: Variant, study: Study, anchor: Vector, aspect: float) -> tuple[Lens, float]:
    """Lens and distance once `hold` has been kept.

    subject-scale: pixels per metre at the anchor stay those of the study's own lens and distance
    (d = d0 f / f0; parallel views get the view height that matches; where only the distance is
    swept, the lens gives way). subject-height: the same for the drawn height of the subject.
    """
    camera = variant.camera
    distance = camera.distance_m if camera.distance_m is not None else DEFAULT_DISTANCE_M
    lens = lens_of(camera, aspect, distance)
    if variant.hold == "nothing":
        return lens, distance
    swept = {name for name, _ in variant.changes}
    kept = variant.base.model_copy(update={"distance_m": study.camera.distance_m})
    kept_distance = kept.distance_m if kept.distance_m is not None else DEFAULT_DISTANCE_M
    kept_aspect = aspect_ratio(kept.aspect) if kept.aspect is not None else aspect
    kept_lens = lens_of(kept, kept_aspect, kept_distance)
    lens_swept = bool(swept & {*LENS_FIELDS, "view_height_m"})
    if lens_swept and "distance_m" in swept and camera.projection == "perspective":
        raise StudyWrong(
            f'sweep: hold = "{variant.hold}" cannot be kept while the lens and distance_m are both swept; '
            'sweep one of them, or set hold = "nothing".'
        )
    measure = _Held(study, anchor, variant.hold)
    goal = measure.size(kept, kept_lens, kept_aspect, kept_distance)
    if camera.projection == "perspective" and "distance_m" not in swept:
        return lens, measure.distance_for(goal, camera, lens, aspect)
    if camera.projection != "perspective" and "view_height_m" in swept:
        return lens, distance
    return measure.lens_for(goal, camera, aspect, distance), distance


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """What a hold keeps: the drawn size of the subject in picture widths."""

    study: Study
    anchor: Vector
    hold: str

    def size(self, camera: CameraFields, lens: Lens, aspect: float, distance_m: float) -> float:
        """Picture widths a metre at the anchor, or the subject's drawn height in picture widths."""
        view, shift = posed(camera, lens, aspect, self.anchor, distance_m)
        if self.hold == "subject-scale":
            if lens.view_width_m is not None:
                return 1.0 / lens.view_width_m
            assert lens.over_width is not None
            depth = -float(view[2, :3] @ self.anchor + view[2, 3])
            return lens.over_width / depth
        height = self.study.subject.height_m if self.study.subject else 1.7
        foot = self.anchor - np.array([0.0, camera.anchor_height_m, 0.0])
        trial = Camera(
            view, projection_of(camera, lens, aspect, 0.1, 100.0, shift, distance_m), (10000, 10000),
            camera.projection, 0.1, 100.0,
        )  # fmt: skip
        pixels = project(trial, np.array([foot, foot + np.array([0.0, height, 0.0])]))
        drawn = (pixels[1] - pixels[0]) / 10000.0
        return hypot(drawn[0], drawn[1] / aspect)

    def distance_for(self, goal: float, camera: CameraFields, lens: Lens, aspect: float) -> float:
        """The distance at which a perspective camera draws the subject at the goal's size."""
        if self.hold == "subject-scale":
            return self.size(camera, lens, aspect, 1.0) / goal
        return _bisected(lambda d: self.size(camera, lens, aspect, d), goal, self.hold)

    def lens_for(self, goal: float, camera: CameraFields, aspect: float, distance_m: float) -> Lens:
        """The lens that draws the subject at the goal's size from the distance."""
        if camera.projection != "perspective":
            unit = self.size(camera, Lens(None, 1.0), aspect, distance_m)
            if unit < 1e-9:
                raise StudyWrong(
                    f'sweep: hold = "{self.hold}" cannot be kept in a view straight down: '
                    "the subject has no height there."
                )
            return Lens(None, unit / goal)
        width = _bisected(
            lambda w: self.size(camera, Lens(1.0 / w, None), aspect, distance_m), goal, self.hold
        )
        return Lens(1.0 / width, None)


def _bisected(size_at: Callable[[float], float], goal: float, hold: str) -> float:
    """Where a falling function of a positive number meets the goal; StudyWrong where it never does."""
    low, high = 1e-3, 1e6

    def over(x: float) -> bool:
        value = size_at(x)
        return not np.isfinite(value) or value > goal

    if goal <= 0.0 or over(high):
        raise StudyWrong(
            f'sweep: hold = "{hold}" finds no camera that draws the subject at the size that it has now.'
        )
    for _ in range(200):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if over(middle) else (low, middle)
        if high / low - 1.0 < 1e-13:
            break
    return float((low * high) ** 0.5)


def posed(
    camera: CameraFields, lens: Lens, aspect: float, anchor: Vector, distance_m: float
) -> tuple[NDArray[np.float64], tuple[float, float]]:
    """View matrix (4, 4) and lens shift that put the anchor at the camera's offset."""
    rotation = turned(camera.yaw_deg, camera.pitch_deg, camera.roll_deg)
    eye = anchor + distance_m * backwards(camera.yaw_deg, camera.pitch_deg)
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
    return view_from(eye, turned(yaw, pitch, camera.roll_deg)), (0.0, 0.0)


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


def at_aspect(lens: Lens, aspect: float, new_aspect: float, policy: str) -> Lens:
    """The lens in a picture of another aspect, by the study's aspect policy."""
    if abs(new_aspect / aspect - 1.0) < 1e-9:
        return lens
    if lens.over_width is not None:
        return Lens(other_aspect_focal(lens.over_width, aspect, new_aspect, policy), None)
    assert lens.view_width_m is not None
    return Lens(None, 1.0 / other_aspect_focal(1.0 / lens.view_width_m, aspect, new_aspect, policy))


def projection_of(
    camera: CameraFields,
    lens: Lens,
    aspect: float,
    near_m: float,
    far_m: float,
    shift: tuple[float, float],
    distance_m: float,
) -> NDArray[np.float64]:
    """Projection matrix (4, 4) of a camera with a solved lens."""
    if lens.over_width is not None:
        return perspective(lens.over_width, aspect, near_m, far_m, shift)
    assert lens.view_width_m is not None
    height = lens.view_width_m / aspect
    if camera.projection == "oblique":
        return oblique(
            height, aspect, near_m, far_m, ratio_of(camera), camera.oblique_angle_deg, distance_m, shift
        )
    return orthographic(height, aspect, near_m, far_m, shift)


def ratio_of(camera: CameraFields) -> float:
    """Metres drawn for one metre of depth in an oblique view: cavalier 1, cabinet 1/2."""
    ratio = camera.oblique_ratio
    return NAMED_RATIO[ratio] if isinstance(ratio, str) else float(ratio)


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
        raise StudyWrong(f"camera: far_m is {far:g}, must be above near_m ({near:g}).")
    return near, far


def angles_deg(lens: Lens, aspect: float) -> tuple[float | None, float | None, float | None]:
    """Horizontal, vertical and diagonal angle of view in degrees; None in parallel views."""
    if lens.over_width is None:
        return None, None, None
    w, h = 1.0, 1.0 / aspect
    return (
        angle_of_view_deg(lens.over_width, w),
        angle_of_view_deg(lens.over_width, h),
        angle_of_view_deg(lens.over_width, hypot(w, h)),
    )


def towards_light(
    variant: Variant, study: Study, cameras: Mapping[str, SceneCamera] | None
) -> tuple[float, float, float]:
    """Unit direction to the light: the study's, or the house light turned with the study's camera."""
    light = variant.light or study.light
    if light is not None:
        towards = backwards(light.yaw_deg, light.pitch_deg)
    else:
        yaw = study.camera.yaw_deg
        if study.camera.from_ is not None and cameras and study.camera.from_ in cameras:
            back = cameras[study.camera.from_].view[2, :3]
            yaw = degrees(atan2(back[0], back[2]))
        turn = radians(yaw - LIGHT_YAW_DEG)
        x, y, z = LIGHT_TOWARDS
        towards = np.array([x * cos(turn) + z * sin(turn), y, -x * sin(turn) + z * cos(turn)])
    towards = towards / np.linalg.norm(towards)
    return (float(towards[0]), float(towards[1]), float(towards[2]))


def with_notes(setup: Setup, notes: tuple[str, ...]) -> Setup:
    """The set-up with further warnings."""
    return replace(setup, notes=setup.notes + notes)
