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


@lru_cache(maxsize=64)
def outline_on_picture(camera: Camera, thing: SceneObject) -> OnPicture:
    """The thing as the camera draws it."""
    return outlines_on_picture(camera, (thing,))[0]


def outlines_on_picture(camera: Camera, things: tuple[SceneObject, ...]) -> tuple[OnPicture, ...]:
    """Each thing as the camera draws it, all projected at once."""
    if not things:
        return ()
    points_m, starts, ends = _points_of(things)
    states = [FRONT] * len(things)
    if not camera.parallel:
        ahead = np.add.reduceat(depths(camera, points_m) > camera.near_m, starts, dtype=np.intp).tolist()
        states = [
            FRONT if some == end - start else REACHING if some else BEHIND
            for some, start, end in zip(ahead, starts.tolist(), ends, strict=True)
        ]
    px = project_points(camera, points_m)
    low, high = np.minimum.reduceat(px, starts).tolist(), np.maximum.reduceat(px, starts).tolist()
    return tuple(
        OnPicture(thing, state, px[start:end], (left, top, right, bottom))
        if state == FRONT
        else OnPicture(thing, state)
        for thing, state, start, end, (left, top), (right, bottom) in zip(
            things, states, starts.tolist(), ends, low, high, strict=True
        )
    )


@lru_cache(maxsize=64)
def _points_of(things: tuple[SceneObject, ...]) -> tuple[Points, NDArray[np.intp], list[int]]:
    """The points of things in one array (n, 3), and where those of each begin and end."""
    ends = np.cumsum([len(thing.points_m) for thing in things])
    starts = np.concatenate([[0], ends[:-1]]).astype(np.intp)
    return np.concatenate([thing.points_m for thing in things]), starts, ends.tolist()


@lru_cache(maxsize=4)
def measured_on_picture(case: Case) -> tuple[OnPicture, ...]:
    """The study's targets, and the subject after them, as the case's camera draws them."""
    return outlines_on_picture(case.setup.camera, measured_objects(case))
