"""Where things fall on the picture, from their geometry alone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.measure.shapes2d import convex_hull, polygon_area
from stationpoint.measure.things import Thing, things
from stationpoint.measure.types import Case
from stationpoint.optics.camera import Camera, depths, project

Points = NDArray[np.float64]

FRONT, REACHING, BEHIND = "front", "reaching", "behind"


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A thing as a camera draws it, pixels of the cell.

    state: "front"; "reaching" if a part lies nearer than the near plane of a perspective camera;
    "behind" if all of it does. hull_px: (m, 2) convex hull of its silhouette, box_px: left, top,
    right, bottom round it; both None unless it is in front.
    """

    thing: Thing
    state: str
    hull_px: Points | None
    box_px: tuple[float, float, float, float] | None

    @property
    def area_px(self) -> float:
        """Area inside the hull, pixels; 0 for a point."""
        return 0.0 if self.hull_px is None or len(self.hull_px) < 3 else polygon_area(self.hull_px)


def drawn(camera: Camera, thing: Thing) -> Drawn:
    """The thing as the camera draws it."""
    if not camera.parallel:
        ahead = depths(camera, thing.points_m) > camera.near_m
        if not ahead.all():
            return Drawn(thing, REACHING if ahead.any() else BEHIND, None, None)
    px = project(camera, thing.points_m)
    left, top = px.min(axis=0).tolist()
    right, bottom = px.max(axis=0).tolist()
    return Drawn(thing, FRONT, convex_hull(px), (left, top, right, bottom))


@lru_cache(maxsize=4)
def drawn_targets(case: Case) -> tuple[Drawn, ...]:
    """The study's targets as the case's camera draws them."""
    return tuple(drawn(case.setup.camera, thing) for thing in things(case))
