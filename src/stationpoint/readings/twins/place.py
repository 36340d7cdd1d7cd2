"""Where a target's twin would be, as matrices, and whether it could stand there at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import depths, pixel_rays, project_points
from stationpoint.readings.contacts.reach import longest_reach_m
from stationpoint.readings.frames.drawn import Box
from stationpoint.readings.things.things import (
    SceneObject,
    body_m,
    hull_points,
    target_object,
    target_objects,
)
from stationpoint.readings.twins.cut import cut_by
from stationpoint.readings.types import Case
from stationpoint.scene import Node, Scene, all_under, drop_m
from stationpoint.study import Target

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]
Moves = tuple[tuple[str, Matrix], ...]
Rests = tuple[tuple[str, str], ...]

SLIDE, MIRROR = "slide", "mirror"
RESTS_M = 0.05  # a base that is at most this far over a surface, or sunk into it, rests on it
STAYS_M = 0.01  # a slide that lifts or lowers a thing by less than this leaves it on its floor
INSET = 0.9  # of the half extents of a base: where it is tried besides its middle
BASE = np.array([(0, 1, 0), (1, 1, 1), (1, 1, -1), (-1, 1, 1), (-1, 1, -1)])


@dataclass(frozen=True, slots=True, eq=False)
class Twin:
    """A target's twin. kind: "slide" or "mirror". shift_m: metres of depth, None for a mirror.

    matrix: (4, 4) world, of all that moves; None where the target is behind the eye. why: in words why
    it is no plausible twin, None if it is one.
    """

    kind: str
    shift_m: float | None
    matrix: Matrix | None
    why: str | None


@lru_cache(maxsize=64)
def twin_of(case: Case, target: Target, kind: str, shift_m: float | None = None) -> Twin:
    """The twin of a target, plausible or not."""
    matrix = twin_matrix(case, target, kind, shift_m)
    if matrix is None:
        return Twin(kind, shift_m, None, "it would pass the camera")
    held = held_by(case, target, kind, matrix)
    if held is not None:
        return Twin(kind, shift_m, matrix, f"it stands on {held}")
    cut = cut_by(case.scene, twin_group(case, target), matrix)
    return Twin(kind, shift_m, matrix, None if cut is None else f"it would cut {cut}")


def default_shift_m(case: Case) -> float:
    """How far a slide twin goes unless told: the study's own, the longest reach, else one body length."""
    return case.study.twin_shift_m or longest_reach_m(case.study.gap) or body_m(case)


@lru_cache(maxsize=512)
def group_of(scene: Scene, target: Target) -> tuple[str, ...]:
    """Names of the nodes that move: the target's own, and what it stands on and carries."""
    own = target_object(scene, target).nodes
    carried = (name for pattern in target.with_ for name in scene.matching(pattern))
    return tuple(dict.fromkeys((*own, *carried)))


def twin_group(case: Case, target: Target) -> tuple[str, ...]:
    """The same for a case."""
    return group_of(case.scene, target)


def twin_matrix(case: Case, target: Target, kind: str, shift_m: float | None = None) -> Matrix | None:
    """World matrix (4, 4) of a twin; None where it would be at or behind the eye.

    Slide: along the sightline (the projector in parallel views) through the target's foot, so that the
    foot stays at its place in the picture, to a depth that is shift_m greater: drawn z / (z + shift)
    as large. Mirror: through the plane through the target's centre parallel to the picture.
    Worked: 35 mm at 15 m, +3 m: 124.4 px/m become 103.7.
    """
    moving, matrix = moving_of(case)[target.name], np.eye(4)
    if kind == MIRROR:
        n, deep_m = case.setup.camera.forward, moving.centre_deep_m
        matrix[:3, :3] -= 2.0 * n[:, None] * n
        matrix[:3, 3] = moving.mirrored_m
        nearest_m = min(moving.nearest_m, 2.0 * deep_m - moving.farthest_m)
    else:
        if not np.isfinite(moving.away).all():
            return None
        by_m = default_shift_m(case) if shift_m is None else shift_m
        matrix[:3, 3] = by_m * moving.away
        nearest_m = moving.nearest_m + min(0.0, by_m)
    return matrix if case.setup.camera.parallel or nearest_m > case.setup.camera.near_m else None


class Moving(NamedTuple):
    """What moves with a target, before a camera. nearest_m, farthest_m: depths of its points; centre_deep_m:
    that of the target's centre. box_px: left, top, right, bottom of it in the cell, nan where some of it is
    not before the eye. away: (3,) world, along the sightline through its foot to one metre more of depth, nan
    where that is not before the eye. mirrored_m: (3,) where a mirror through its centre takes the origin."""

    nearest_m: float
    farthest_m: float
    centre_deep_m: float
    box_px: Box
    away: Points
    mirrored_m: Points


@lru_cache(maxsize=4)
def moving_of(case: Case) -> dict[str, Moving]:
    """What moves with each target, by its name, all of it projected at once."""
    camera, targets = case.setup.camera, case.study.target
    if not targets:
        return {}
    groups = tuple(twin_group(case, target) for target in targets)
    points, starts, feet, centres = _points_of_all(case.scene, target_objects(case), groups)
    z, px = depths(camera, points), project_points(camera, points)
    bounds = (np.minimum.reduceat(px, starts), np.maximum.reduceat(px, starts))
    return {
        target.name: Moving(near, far, middle, (left, top, right, bottom), away, mirrored_m)
        for target, near, far, middle, (left, top, right, bottom), away, mirrored_m in zip(
            targets,
            np.minimum.reduceat(z, starts).tolist(),
            np.maximum.reduceat(z, starts).tolist(),
            depths(camera, centres).tolist(),
            np.concatenate(bounds, axis=1).tolist(),
            pixel_rays(camera, project_points(camera, feet))[1],
            2.0 * (centres @ camera.forward)[:, None] * camera.forward,
            strict=True,
        )
    }


@lru_cache(maxsize=16)
def _points_of_all(
    scene: Scene, things: tuple[SceneObject, ...], groups: tuple[tuple[str, ...], ...]
) -> tuple[Points, NDArray[np.intp], Points, Points]:
    """Points (n, 3) of what moves with each of some targets, and where those of each begin; the targets' feet
    and centres, (m, 3)."""
    each = [_group_points(scene, thing, names) for thing, names in zip(things, groups, strict=True)]
    starts = np.cumsum([0, *map(len, each[:-1])])
    feet, centres = ([getattr(thing, of) for thing in things] for of in ("foot_m", "centre_m"))
    return np.concatenate(each), starts, np.array(feet), np.array(centres)


def group_points(case: Case, target: Target) -> Points:
    """Points (n, 3) with the same convex hull as all that moves with the target."""
    return _group_points(case.scene, target_object(case.scene, target), twin_group(case, target))


def _group_points(scene: Scene, own: SceneObject, names: tuple[str, ...]) -> Points:
    return _points(scene, names) if own.nodes else own.points_m


@lru_cache(maxsize=512)
def _points(scene: Scene, names: tuple[str, ...]) -> Points:
    return np.concatenate([hull_points(scene.node(name)) for name in names])


def carried_nodes(points_m: Points, matrix: Matrix) -> Points:
    """Points (n, 3) through a (4, 4) matrix."""
    moved: Points = points_m @ matrix[:3, :3].T + matrix[:3, 3]
    return moved


def twin_moves(case: Case, target: Target, kind: str, shift_m: float | None = None) -> Moves:
    """All moves of a Shot that shows the twin: the place's own, and the twin's on top of them.

    kind: "slide" or "mirror". shift_m: metres of depth, signed, of a slide; the study's if None. The
    moves are the place's alone where the target is a point or a box that is not drawn, or would pass
    the camera.
    """
    matrix = twin_matrix(case, target, kind, shift_m)
    thing = target_object(case.scene, target)
    if matrix is None or not thing.nodes:
        return case.moves
    return moves_with(case, twin_group(case, target), matrix)


def moves_with(case: Case, names: tuple[str, ...], matrix: Matrix) -> Moves:
    """The place's moves, those nodes moved on by a matrix."""
    made = dict(case.moves)
    made |= {name: matrix @ made[name] if name in made else matrix for name in names}
    return tuple(made.items())


def held_by(case: Case, target: Target, kind: str, matrix: Matrix) -> str | None:
    """Name of the surface that pins a target to its place, or None.

    It rests, itself or with something that moves along, on ground or on a node that does not move along
    and lies under its other place as well. A twin that still stands as high, as in views from the side,
    is pinned by nothing.
    """
    for member, support in rests_on(case.scene, twin_group(case, target)):
        if kind == SLIDE:
            rises_m = float(matrix[1, 3])
        else:
            points = hull_points(case.scene.node(member))
            rises_m = float(carried_nodes(points, matrix)[:, 1].min() - points[:, 1].min())
        if abs(rises_m) < STAYS_M:
            continue
        node = case.scene.node(support)
        if kind == MIRROR or node.kind == "ground":
            return support
        x, _, z = case.scene.node(member).foot + matrix[:3, 3]
        if drop_m(node, np.array([x, float(node.bounds[1, 1]) + 1.0, z])) is not None:
            return support
    return None


def rests_on(scene: Scene, names: tuple[str, ...]) -> Rests:
    """(node of the group, node outside it that it rests on), each pair once.

    The middle of its base and four spots near the corners of its bounds are tried.
    """
    return all_rests(scene, [names])[0]


def all_rests(scene: Scene, groups: Sequence[tuple[str, ...]]) -> list[Rests]:
    """The same of each of many groups of nodes, asked at once."""
    known = _known_rests(scene)
    new = [names for names in dict.fromkeys(groups) if names not in known]
    members = [(names, name) for names in new for name in names]
    if members:
        spots = np.concatenate([_spots(scene.node(name)) for _, name in members])
        below = all_under(scene, spots, [names for names, _ in members for _ in BASE])
        known.update((names, ()) for names in new)
        for k, (names, name) in enumerate(members):
            under_it = below[k * len(BASE) : (k + 1) * len(BASE)]
            found = [(name, one[0]) for one in under_it if one is not None and one[1] <= 2.0 * RESTS_M]
            known[names] = tuple(dict.fromkeys((*known[names], *found)))
    return [known[names] for names in groups]


@lru_cache(maxsize=64)
def _known_rests(scene: Scene) -> dict[tuple[str, ...], Rests]:
    """What groups of nodes rest on, of those that have been asked about."""
    return {}


def _spots(node: Node) -> Points:
    """Where it is asked what a node rests on, (5, 3), a little over its base."""
    low, high = node.bounds
    half = INSET * (high - low) / 2.0
    half[1] = RESTS_M
    spots: Points = node.foot + BASE * half
    return spots
