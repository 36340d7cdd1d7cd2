"""A sphere swept through a scene, and the solids that hold a point."""

from __future__ import annotations

from collections.abc import Collection
from functools import lru_cache
from math import cos, radians

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.swept import crossed, meets, near_segment, touched
from stationpoint.base.geometry.triangles import crossings
from stationpoint.scene.types import Scene
from stationpoint.scene.under import is_inside

Floats = NDArray[np.float64]

ON_M = 1e-6  # what a sphere is this near to it touches
GOES_ON_DEG = 30.0  # a face that goes on from another lies within this angle of it
LEVEL = 1e-6  # of a way's length: what it rises by, if it runs along a plane
THREE_WAYS = np.array([(0.83, 0.41, 0.38), (-0.36, 0.87, 0.33), (0.29, -0.44, -0.85)])  # along no wall


def first_touch(
    scene: Scene, start_m: ArrayLike, end_m: ArrayLike, radius_m: float, but: Collection[str] = ()
) -> tuple[float, str | None]:
    """How far a sphere's centre gets from a point (3,) to another before it touches a face, metres, and
    the node of that face; the whole way and None where it touches none.

    but: names of nodes to look past. Faces count from both sides; of nodes whose backs are open, only
    those that show their front to the way's end. What is touched at the start does not count, nor, before
    all of that has been left, what goes on from it (within 30 degrees) and does not rise against the way:
    a floor in triangles stops nothing that starts on it. Source: geometry. Worked: radius .1283 from
    0, 0, 0 along 0, .342, .9397 to a wall in the plane z = 3: (3 - .1283) / .9397 = 3.056.
    """
    start, end = (np.asarray(one, dtype=np.float64) for one in (start_m, end_m))
    length = float(np.linalg.norm(end - start))
    if length <= ON_M:
        return length, None
    way = (end - start) / length
    room = radius_m + ON_M
    low, high = np.minimum(start, end) - room, np.maximum(start, end) + room
    bounds = scene.node_bounds
    names, found = list[str](), list[Floats]()
    near = np.flatnonzero(((bounds[:, 0] <= high) & (bounds[:, 1] >= low)).all(axis=1))
    for k in near[meets(bounds[near, 0] - room, bounds[near, 1] + room, start, end)].tolist():
        node = scene.nodes[k]
        if node.name in but or not len(node.faces):
            continue
        corners = near_segment(node.blocks, start, end, room)
        if node.backs_open:
            corners = corners[_normals(corners) @ way > 0.0]
        names += [node.name] * len(corners)
        found.append(corners)
    if not names:
        return length, None
    corners = np.concatenate(found)
    first, last = touched(start, way, radius_m, corners)
    met = _first_that_counts(first, last, corners, start, way, length)
    return (length, None) if met is None else (float(first[met]), names[met])


def _first_that_counts(
    first: Floats, last: Floats, corners: Floats, start: Floats, way: Floats, length: float
) -> int | None:
    """Which face stops a sphere. first, last: from where to where each is touched."""
    at_start = (first <= ON_M) & (last >= 0.0)
    left_m = float(last[at_start].max(initial=-np.inf))
    later = np.flatnonzero((first > ON_M) & (first <= length))
    later = later[np.argsort(first[later], kind="stable")]
    if not len(later) or first[later[0]] > left_m:
        return int(later[0]) if len(later) else None
    own = _outwards(_normals(corners[at_start]), corners[at_start], start, way)
    for k in later:
        if first[k] > left_m:
            return int(k)
        normal = _normals(corners[k : k + 1])[0]
        turned = own @ normal
        near = int(np.abs(turned).argmax())
        rises = float(normal @ way) * (1.0 if turned[near] > 0.0 else -1.0)
        if abs(turned[near]) < cos(radians(GOES_ON_DEG)) or rises < -LEVEL:
            return int(k)
        own = np.vstack([own, normal if turned[near] > 0.0 else -normal])
        left_m = max(left_m, float(last[k]))
    return None


def _outwards(normals: Floats, corners: Floats, start: Floats, way: Floats) -> Floats:
    """Normals (n, 3) turned to where a way leads off their planes, or to where it runs along them."""
    off = normals @ way
    side = np.where(np.abs(off) > LEVEL, off, ((start - corners[:, 0]) * normals).sum(axis=1))
    return normals * np.where(side < 0.0, -1.0, 1.0)[:, None]


def _normals(corners: Floats) -> Floats:
    """Unit normals (n, 3) of triangles; zero where one has no area."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.sqrt((normal * normal).sum(axis=1))[:, None]
    unit: Floats = normal / np.where(size > 0.0, size, 1.0)
    return unit


def rectangle_cuts(scene: Scene, middle_m: ArrayLike, across_m: ArrayLike, up_m: ArrayLike) -> bool:
    """Whether a flat rectangle crosses a face of a scene. As in `crossed`: (3,) each, world."""
    middle, across, up = (np.asarray(one, dtype=np.float64) for one in (middle_m, across_m, up_m))
    reach = np.abs(across) + np.abs(up)
    bounds = scene.node_bounds
    near = ((bounds[:, 0] <= middle + reach) & (bounds[:, 1] >= middle - reach)).all(axis=1)
    for k in np.flatnonzero(near):
        node = scene.nodes[k]
        room = float(np.linalg.norm(across) + np.linalg.norm(up))
        if (
            len(node.faces)
            and crossed(middle, across, up, near_segment(node.blocks, middle, middle, room)).any()
        ):
            return True
    return False


@lru_cache(maxsize=1024)
def solids_round(scene: Scene, point_m: tuple[float, float, float]) -> tuple[str, ...]:
    """Names of the closed solids that hold a point, in scene order."""
    point = np.array(point_m)
    return tuple(scene.nodes[k].name for k in _round(scene, point) if is_inside(scene.nodes[k], point))


def may_be_within(scene: Scene, point_m: ArrayLike) -> bool:
    """Whether a point (3,) lies among the faces of an open mesh so that nobody can say if it is inside:
    not each of three rays from it crosses an even number of them."""
    point = np.asarray(point_m, dtype=np.float64)
    starts = np.broadcast_to(point, (3, 3))
    return any(
        (crossings(scene.nodes[k].blocks, starts, THREE_WAYS, ON_M) % 2).any()
        for k in _round(scene, point)
        if not scene.nodes[k].closed and len(scene.nodes[k].faces)
    )


def _round(scene: Scene, point: Floats) -> list[int]:
    """The nodes whose bounds hold a point, by number."""
    bounds = scene.node_bounds
    within = ((bounds[:, 0] < point) & (point < bounds[:, 1])).all(axis=1)
    found: list[int] = np.flatnonzero(within).tolist()
    return found
