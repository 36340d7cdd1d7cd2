"""Solids as vertices and faces: box, ramp, stairs, cylinder, cone, sphere, capsule.

Every solid is closed, its faces counterclockwise seen from outside. `size` (3,) is its extents along
x, y, z before turning, `at` (3,) the centre of its base, `turn_deg` its turn about Y, counterclockwise
seen from above. At turn 0 a ramp and stairs rise along -Z: their low end is nearest to a camera of
yaw 0, their high end farthest from it.

Round solids have flat sides whose edges lie on the true surface, and fill `size` exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import cos, pi, radians, sin

import numpy as np
from numpy.typing import ArrayLike, NDArray

Vertices = NDArray[np.float64]
Faces = NDArray[np.int32]
Profile = Sequence[tuple[float, float]]

SHAPES = ("box", "ramp", "stairs", "cylinder", "cone", "sphere", "capsule")
WALKABLE = frozenset({"box", "ramp", "stairs"})
SIDES = 48  # round a full turn; a multiple of 4, so that the extents are met
RINGS = 12  # from a pole to the equator
STEP_RISE_M = 0.2  # how high a step is about, where the number of steps is not given
MOST_STEPS = 1000


def solid(
    shape: str, size: ArrayLike, at: ArrayLike = (0, 0, 0), turn_deg: float = 0.0, steps: int | None = None
) -> tuple[Vertices, Faces]:
    """A solid of one of SHAPES: vertices (n, 3), metres, world, and faces (m, 3). `steps`: stairs only.

    The faces are shared between solids of one shape and read-only.
    """
    x, y, z = np.asarray(size, dtype=np.float64).tolist()
    points, faces = _made(shape, x, y, z, steps)
    return turned(points * (x, y, z), turn_deg) + np.asarray(at, dtype=np.float64), faces


def solid_size(shape: str, size: Sequence[float], steps: int | None = None) -> tuple[int, int]:
    """How many vertices and faces `solid` gives."""
    x, y, z = size
    points, faces = _made(shape, x, y, z, steps)
    return len(points), len(faces)


def default_steps(height_m: float) -> int:
    """Steps of about STEP_RISE_M each: a flight 1 m high has 5."""
    return min(max(1, round(height_m / STEP_RISE_M)), MOST_STEPS)


def _made(shape: str, x: float, y: float, z: float, steps: int | None) -> tuple[Vertices, Faces]:
    """The solid of size 1 from which one of size x, y, z is made."""
    if shape == "stairs":
        return _stairs(steps or default_steps(y))
    if shape == "capsule":
        return _capsule(min(min(x, z) / 2, y / 2) / y)
    return _unit(shape)


def turned(points: Vertices, turn_deg: float) -> Vertices:
    """Points (n, 3) turned about Y; +Z goes to +X for a quarter turn. Quarter turns are exact."""
    turn = radians(turn_deg % 360.0)
    c, s = round(cos(turn), 15), round(sin(turn), 15)
    x, y, z = points.T
    found = np.empty_like(points)
    found[:, 0], found[:, 1], found[:, 2] = x * c + z * s, y, z * c - x * s
    return found


@lru_cache(maxsize=16)
def _unit(shape: str) -> tuple[Vertices, Faces]:
    """A solid of size 1 on its base centre."""
    if shape == "box":
        return extruded([(0.5, 0), (-0.5, 0), (-0.5, 1), (0.5, 1)], [(0, 1, 2), (0, 2, 3)])
    if shape == "ramp":
        return extruded([(0.5, 0), (-0.5, 0), (-0.5, 1)], [(0, 1, 2)])
    if shape == "cylinder":
        return _lathed([(0, 0), (0.5, 0), (0.5, 1), (0, 1)])
    if shape == "cone":
        return _lathed([(0, 0), (0.5, 0), (0, 1)])
    if shape == "sphere":
        return _lathed([*_quarter(0.5, below=True), *_quarter(0.5, below=False)[1:]])
    raise ValueError(f"no solid is called {shape!r}")


@lru_cache(maxsize=32)
def _stairs(steps: int) -> tuple[Vertices, Faces]:
    """Stairs of size 1: one column of points a step, rising along -Z."""
    z = [0.5 - k / steps for k in range(steps + 1)]
    h = [k / steps for k in range(steps + 1)]
    profile: list[tuple[float, float]] = [(z[k], 0.0) for k in range(steps + 1)]  # along the floor
    back_up = [point for k in range(steps, 0, -1) for point in ((z[k], h[k]), (z[k - 1], h[k]))]
    profile += back_up
    place = {point: number for number, point in reversed(list(enumerate(profile)))}
    sides: list[tuple[int, int, int]] = []
    for k in range(steps):  # a fan from the far floor corner of each column; the riser's foot is on its edge
        corner, far_top = place[z[k + 1], 0.0], place[z[k + 1], h[k + 1]]
        near_top, foot, near_floor = place[z[k], h[k + 1]], place[z[k], h[k]], place[z[k], 0.0]
        sides += [(corner, far_top, near_top), (corner, near_top, foot)]
        if foot != near_floor:
            sides.append((corner, foot, near_floor))
    return extruded(profile, sides)


@lru_cache(maxsize=32)
def _capsule(cap: float) -> tuple[Vertices, Faces]:
    """A capsule of size 1; its caps, `cap` of its height each, are as high as half its smaller width."""
    low, high = _quarter(cap, below=True), _quarter(1 - cap, below=False, cap=cap)
    return _lathed([*low, *high[1 if cap > 0.5 - 1e-9 else 0 :]])


def _quarter(equator: float, *, below: bool, cap: float | None = None) -> list[tuple[float, float]]:
    """Profile of half an ellipsoid of radius 0.5, upwards: (radius, height), from or to its pole."""
    high = equator if cap is None else cap
    turns = [pi / 2 * k / RINGS for k in range(RINGS + 1)]
    if below:
        return [(0.5 * round(sin(a), 12), equator - high * round(cos(a), 12)) for a in turns]
    return [(0.5 * round(cos(a), 12), equator + high * round(sin(a), 12)) for a in turns]


def extruded(profile: Profile, sides: Sequence[tuple[int, int, int]]) -> tuple[Vertices, Faces]:
    """A profile in (z, y), going round as (near floor, far floor, far top, ...), drawn out along x.

    `sides` are the triangles that fill it, in any winding.
    """
    count = len(profile)
    z, y = np.array(profile, dtype=np.float64).T
    half = np.full(count, 0.5)
    points = np.concatenate([np.stack([half, y, z], axis=1), np.stack([-half, y, z], axis=1)])
    right = np.array(sides, dtype=np.int64)
    a, b, c = (np.stack([z, y], axis=1)[right[:, k]] for k in range(3))
    # Seen from +x, z runs to the left and y up: outward faces go clockwise in (z, y).
    counter = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]) > 0
    right[counter] = right[counter][:, ::-1]
    here = np.arange(count)
    there = (here + 1) % count
    around = [
        np.stack([here, here + count, there], axis=1),
        np.stack([there, here + count, there + count], axis=1),
    ]
    return _frozen(points, [right, right[:, ::-1] + count, *around])


def _lathed(profile: Profile) -> tuple[Vertices, Faces]:
    """A profile of (radius, height), upwards, both ends on the axis, turned about it."""
    turns = [2 * pi * k / SIDES for k in range(SIDES)]
    circle = np.array([(round(sin(a), 12), 0.0, round(cos(a), 12)) for a in turns])
    rings = profile[1:-1]
    points = [np.array([[0.0, profile[0][1], 0.0]])]
    points += [circle * radius + (0.0, height, 0.0) for radius, height in rings]
    points.append(np.array([[0.0, profile[-1][1], 0.0]]))
    here = np.arange(SIDES)
    there = (here + 1) % SIDES
    top = 1 + SIDES * len(rings)
    last = top - SIDES
    faces = [np.stack([np.zeros(SIDES, dtype=int), 1 + there, 1 + here], axis=1)]
    for low in range(1, last, SIDES):
        high = low + SIDES
        faces.append(np.stack([low + here, low + there, high + there], axis=1))
        faces.append(np.stack([low + here, high + there, high + here], axis=1))
    faces.append(np.stack([last + here, last + there, np.full(SIDES, top)], axis=1))
    return _frozen(np.concatenate(points), faces)


def _frozen(points: Vertices, faces: Sequence[NDArray[np.int64]]) -> tuple[Vertices, Faces]:
    whole = np.ascontiguousarray(np.concatenate(faces), dtype=np.int32)
    whole.flags.writeable = False
    points.flags.writeable = False
    return points, whole
