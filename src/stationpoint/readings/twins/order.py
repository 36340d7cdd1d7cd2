"""Whether something else could come between a target and the eye, here or at its twin's place."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, depths, pixel_rays, project_points
from stationpoint.readings.frames.drawn import Box
from stationpoint.readings.twins.place import Twin, carried_nodes, group_points, twin_group
from stationpoint.readings.types import Case
from stationpoint.scene import Scene
from stationpoint.study import Target

Points = NDArray[np.float64]
Bits = NDArray[np.bool_]

CORNERS = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)])
BESIDE_PX = 2.0
TOUCH_M = 1e-4


@lru_cache(maxsize=64)
def keeps_order(case: Case, target: Target, twin: Twin) -> bool:
    """Whether every other node is surely on the same side of what moves before and after.

    Surely: a plane across one of the world's axes parts their bounds, with the eye on one side, or their
    boxes in the picture have nothing in common, before and after. What cannot be told so may be a change
    of who covers whom.
    """
    assert twin.matrix is not None
    here = group_points(case, target)
    there = carried_nodes(here, twin.matrix)
    camera = case.setup.camera
    every = case.scene.node_bounds
    low, high = node_boxes_px(case)
    apart = np.ones(len(every), dtype=bool)
    for points in (here, there):
        left, top, right, bottom = box_of(camera, points)
        apart &= (high[:, 0] < left - BESIDE_PX) | (low[:, 0] > right + BESIDE_PX)
        apart |= (high[:, 1] < top - BESIDE_PX) | (low[:, 1] > bottom + BESIDE_PX)
    before_here, behind_here = _sides(camera, here, every)
    before_there, behind_there = _sides(camera, there, every)
    same = (before_here & before_there) | (behind_here & behind_there)
    return bool((apart | same | ~stays(case.scene, twin_group(case, target))).all())


def meets_any(case: Case, target: Target, twin: Twin, names: Iterable[str]) -> bool:
    """Whether any of the named nodes could meet what moves in the picture, before or after."""
    assert twin.matrix is not None
    low, high = node_boxes_px(case)
    chosen = [case.scene.id_of(name) - 1 for name in names]
    here = group_points(case, target)
    for points in (here, carried_nodes(here, twin.matrix)):
        left, top, right, bottom = box_of(case.setup.camera, points)
        beside = (high[chosen, 0] < left - BESIDE_PX) | (low[chosen, 0] > right + BESIDE_PX)
        beside |= (high[chosen, 1] < top - BESIDE_PX) | (low[chosen, 1] > bottom + BESIDE_PX)
        if not beside.all():
            return True
    return False


@lru_cache(maxsize=64)
def stays(scene: Scene, moving: tuple[str, ...]) -> Bits:
    """Which nodes, (n,), are none of those that move."""
    found = np.ones(len(scene.nodes), dtype=bool)
    found[[scene.id_of(name) - 1 for name in moving]] = False
    return found


def box_of(camera: Camera, points_m: Points) -> Box:
    """Left, top, right, bottom of points (n, 3) before the camera, pixels."""
    at = project_points(camera, points_m)
    left, top = at.min(axis=0).tolist()
    right, bottom = at.max(axis=0).tolist()
    return left, top, right, bottom


@lru_cache(maxsize=2)
def node_boxes_px(case: Case) -> tuple[Points, Points]:
    """Lowest and highest pixel, (n, 2) each, of every node's bounds; infinite where a node reaches to or
    behind the near plane."""
    camera, every = case.setup.camera, case.scene.node_bounds
    # (n, 8, 3): the corners of all boxes, projected in one call.
    corners = every[:, 0, None] + CORNERS * (every[:, 1] - every[:, 0])[:, None]
    at = project_points(camera, corners.reshape(-1, 3)).reshape(-1, 8, 2)
    low, high = at.min(axis=1), at.max(axis=1)
    if not camera.parallel:
        near = depths(camera, corners.reshape(-1, 3)).reshape(-1, 8).min(axis=1) <= camera.near_m
        low[near], high[near] = -np.inf, np.inf
    return low, high


def _sides(camera: Camera, points: Points, every: Points) -> tuple[Bits, Bits]:
    """Which nodes (bounds (n, 2, 3)) are surely before, and which surely behind, points (m, 3)."""
    before, behind = np.zeros(len(every), dtype=bool), np.zeros(len(every), dtype=bool)
    towards_eye = -pixel_rays(camera, project_points(camera, points[:1]))[1][
        0
    ]  # of all sightlines, in parallel views
    for axis in range(3):
        for sign in (1.0, -1.0):
            bounds = np.sort(sign * every[:, :, axis], axis=1)
            low, high = np.sort(sign * points[:, axis])[[0, -1]]
            if camera.parallel:
                eye = np.inf if sign * towards_eye[axis] >= -1e-12 else -np.inf
            else:
                eye = sign * float(camera.eye_m[axis])
            behind |= (bounds[:, 1] <= low + TOUCH_M) & (eye >= bounds[:, 1])
            before |= (bounds[:, 0] >= high - TOUCH_M) & (eye >= high)
    return before, behind
