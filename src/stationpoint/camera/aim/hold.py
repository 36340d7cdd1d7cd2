"""What `hold` keeps equal while lens or distance change: the subject's scale, or its drawn height."""

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
from stationpoint.study import CameraFields, Variant


def held(variant: Variant, body_m: float, anchor: Vector, aspect: float) -> tuple[Lens, float]:
    """Lens and distance once `hold` has been kept.

    subject-scale: pixels per metre at the anchor stay those of the study's own lens and distance
    (d = d0 f / f0; parallel views get the view height that matches; where only the distance is
    swept, the lens gives way). subject-height: the same for the drawn height of the subject, `body_m` high.
    """
    camera = variant.camera
    distance = camera.distance_m if camera.distance_m is not None else DEFAULT_DISTANCE_M
    lens = lens_of(camera, aspect, distance)
    if variant.hold == "nothing":
        return lens, distance
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


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """What a hold keeps: the drawn size of the subject in picture widths."""

    body_m: float
    anchor: Vector
    hold: str

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
