"""What `hold` keeps while lens or distance change: the subject's scale, its drawn height, or all in frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

import numpy as np

from stationpoint.base.errors import StudyWrong
from stationpoint.camera.aim.fields import (
    DEFAULT_DISTANCE_M,
    Lens,
    Vector,
    depth_along_sight_m,
    lens_of,
    pose_of,
    projection_of,
)
from stationpoint.camera.camera import Camera, project_points
from stationpoint.camera.pose import turned_by
from stationpoint.study import ALL_IN_FRAME, CameraFields, Variant

ACTION_SAFE = 0.93  # of the picture's width and of its height: SMPTE ST 2046-1:2009


def held(
    variant: Variant, body_m: float, anchor: Vector, aspect: float, bodies_m: Vector
) -> tuple[Lens, float]:
    """Lens and distance once `hold` has been kept. bodies_m: (n, 2, 3) foot and top of each subject.

    subject-scale: pixels per metre at the anchor stay those of the study's own lens and distance
    (d = d0 f / f0; parallel views get the view height that matches; where only the distance is
    swept, the lens gives way). subject-height: the same for the drawn height of the subject, `body_m` high.
    all-in-frame: the nearest distance at which all subjects are action-safe, in parallel views the smallest
    view height.
    """
    camera = variant.camera
    distance = camera.distance_m if camera.distance_m is not None else DEFAULT_DISTANCE_M
    lens = lens_of(camera, aspect, distance)
    if variant.hold == "nothing":
        return lens, distance
    if variant.hold == ALL_IN_FRAME:
        return all_in_frame(camera, lens, distance, anchor, aspect, bodies_m)
    swept = {name for name, _ in variant.changes}
    kept = variant.base
    kept_distance = kept.distance_m if kept.distance_m is not None else DEFAULT_DISTANCE_M
    kept_lens = lens_of(kept, aspect, kept_distance)
    measure = _Held(body_m, anchor, variant.hold)
    goal = measure.size(kept, kept_lens, aspect, kept_distance)
    if not np.isfinite(goal):
        raise StudyWrong(
            f'sweep: hold = "{variant.hold}" has no size to keep: the subject is not whole in front of the '
            'study\'s own camera; move it away, or use hold = "nothing".'
        )
    if camera.projection == "perspective" and "distance_m" not in swept:
        return lens, measure.distance_for(goal, camera, lens, aspect)
    return measure.lens_for(goal, camera, aspect, distance), distance


def all_in_frame(
    camera: CameraFields, lens: Lens, distance_m: float, anchor: Vector, aspect: float, bodies_m: Vector
) -> tuple[Lens, float]:
    """Lens and distance with which all subjects are just inside the action-safe area, each counted as its
    upright axis, grown by `margin_m` right, left, up and down on the picture.

    bodies_m: (n, 2, 3) foot and top of each. In perspective the distance is solved, in parallel views the
    view height. Worked: two subjects 4 m apart, a margin of .5 m, 50 mm: 5 / (.72 x .93) = 7.467 m.
    """
    right, up, _ = turned_by(camera.yaw_deg, camera.pitch_deg, camera.roll_deg)
    grown = [camera.margin_m * (across * right + along * up) for across in (-1, 1) for along in (-1, 1)]
    points = np.concatenate([bodies_m.reshape(-1, 3) + by for by in grown])

    def reach(trial_lens: Lens, trial_m: float) -> float:
        """How far out the outermost point is drawn: 0 in the middle, 1 on the picture's edge."""
        view, shift = pose_of(camera, trial_lens, aspect, anchor, trial_m)
        still = depth_along_sight_m(view, anchor)
        projection = projection_of(camera, trial_lens, aspect, 0.1, 100.0, shift, still)
        drawn = project_points(Camera(view, projection, (1, 1), camera.projection, 0.1, 100.0), points)
        return float(np.abs(2.0 * drawn - 1.0).max())  # nan of what is behind the eye

    none = (
        f'sweep: hold = "{ALL_IN_FRAME}" finds no camera that has every subject in the action-safe picture; '
        "bring offset nearer to the middle."
    )
    if camera.projection == "perspective":
        return lens, _bisected(lambda d: reach(lens, d), ACTION_SAFE, none)
    return Lens(None, _bisected(lambda w: reach(Lens(None, w), distance_m), ACTION_SAFE, none)), distance_m


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """What a hold keeps: the drawn size of the subject in picture widths."""

    body_m: float
    anchor: Vector
    hold: str

    @property
    def no_size(self) -> str:
        """The complaint where no camera keeps it."""
        return (
            f'sweep: hold = "{self.hold}" finds no camera that draws the subject at the size that it has now.'
        )

    def size(self, camera: CameraFields, lens: Lens, aspect: float, distance_m: float) -> float:
        """Picture widths a metre at the anchor, or the subject's drawn height in picture widths."""
        view, shift = pose_of(camera, lens, aspect, self.anchor, distance_m)
        if self.hold == "subject-scale":
            if lens.view_width_m is not None:
                return 1.0 / lens.view_width_m
            assert lens.over_width is not None
            return lens.over_width / depth_along_sight_m(view, self.anchor)
        foot = self.anchor - np.array([0.0, camera.anchor_height_m, 0.0])
        still = depth_along_sight_m(view, self.anchor)
        projection = projection_of(camera, lens, aspect, 0.1, 100.0, shift, still)
        trial = Camera(view, projection, (10000, 10000), camera.projection, 0.1, 100.0)
        pixels = project_points(trial, np.array([foot, foot + np.array([0.0, self.body_m, 0.0])]))
        drawn = (pixels[1] - pixels[0]) / 10000.0
        return hypot(drawn[0], drawn[1] / aspect)

    def distance_for(self, goal: float, camera: CameraFields, lens: Lens, aspect: float) -> float:
        """The distance at which a perspective camera draws the subject at the goal's size."""
        if self.hold == "subject-scale":
            return self.size(camera, lens, aspect, 1.0) / goal
        return _bisected(lambda d: self.size(camera, lens, aspect, d), goal, self.no_size)

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
            lambda w: self.size(camera, Lens(1.0 / w, None), aspect, distance_m), goal, self.no_size
        )
        return Lens(1.0 / width, None)


def _bisected(size_at: Callable[[float], float], goal: float, none: str) -> float:
    """Where a falling function of a positive number meets the goal; StudyWrong, saying so, where it never
    does."""
    low, high = 1e-3, 1e6

    def over(x: float) -> bool:
        value = size_at(x)
        return not np.isfinite(value) or value > goal

    if goal <= 0.0 or over(high):
        raise StudyWrong(none)
    for _ in range(200):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if over(middle) else (low, middle)
        if high / low - 1.0 < 1e-13:
            break
    return float((low * high) ** 0.5)
