"""Where things fall on the picture, from their geometry alone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import convex_hull, polygon_area
from stationpoint.camera import Camera, depths, project_points
from stationpoint.readings.things.things import SceneObject, measured_objects
from stationpoint.readings.types import Case

Points = NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, top, right, bottom

CONVEX = frozenset({"box", "ramp", "cylinder", "cone", "sphere", "capsule"})  # kinds of nodes
FRONT, REACHING, BEHIND = "front", "reaching", "behind"


@dataclass(frozen=True, slots=True, eq=False)
class OnPicture:
    """A thing as a camera draws it, pixels of the cell.

    state: "front"; "reaching" if a part lies nearer than the near plane of a perspective camera;
    "behind" if all of it does. px: (n, 2) where its points are drawn, box_px: left, top, right,
    bottom round them; both None unless it is in front.
    """

    thing: SceneObject
    state: str
    px: Points | None = None
    box_px: Box | None = None

    @property
    def hull_px(self) -> Points:
        """Convex hull of its silhouette, (m, 2); empty unless it is in front."""
        return np.zeros((0, 2)) if self.px is None else convex_hull(self.px)

    @property
    def area_px(self) -> float:
        """Area inside the hull, pixels; 0 for a point."""
        hull = self.hull_px
        return polygon_area(hull) if len(hull) > 2 else 0.0


def outline_on_picture(camera: Camera, thing: SceneObject) -> OnPicture:
    """The thing as the camera draws it."""
    if not camera.parallel:
        ahead = depths(camera, thing.points_m) > camera.near_m
        if not ahead.all():
            return OnPicture(thing, REACHING if ahead.any() else BEHIND)
    px = project_points(camera, thing.points_m)
    left, top = px.min(axis=0).tolist()
    right, bottom = px.max(axis=0).tolist()
    return OnPicture(thing, FRONT, px, (left, top, right, bottom))


@lru_cache(maxsize=4)
def measured_on_picture(case: Case) -> tuple[OnPicture, ...]:
    """The study's targets, and the subject after them, as the case's camera draws them."""
    return tuple(outline_on_picture(case.setup.camera, thing) for thing in measured_objects(case))
