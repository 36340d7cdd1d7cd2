"""How high the surfaces are on the upright line through a point: levels to stand on, and the top."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import NamedTuple

import numpy as np

from stationpoint.scene.rays import free_distance_m
from stationpoint.scene.types import Node, Scene
from stationpoint.scene.under import floor_under, is_inside

SLACK_M = 2e-3  # surfaces nearer in height than that are one
DOWN, UP = (0.0, -1.0, 0.0), (0.0, 1.0, 0.0)


class Level(NamedTuple):
    """A surface that can be stood on: its height, how much is free above it, metres, and its node."""

    y_m: float
    free_m: float
    node: str


def levels_at(scene: Scene, x: float, z: float, but: Collection[str] = ()) -> Iterator[Level]:
    """Levels on the upright line at x, z, from high to low, without those inside a solid.

    but: names of nodes to look past. A level is at most as steep as `floor_under` says.
    """
    over = (scene.nodes[k].name for k in _over(scene, x, z))
    names = [name for name in over if name not in but]
    if not names:
        return
    y, above = float(scene.bounds(names)[1, 1]) + 1.0, np.inf
    while (found := floor_under(scene, (x, y, z), names)) is not None:
        body = (x, found + SLACK_M, z)
        if not any(_is_within(scene.node(name), body) for name in names):
            free = min(free_distance_m(scene, body, UP, but) + SLACK_M, above - found)
            yield Level(found, free, _owner(scene, names, (x, found, z)))
        y, above = found - SLACK_M, found


def level_at(scene: Scene, x: float, z: float, height_m: float, but: Collection[str] = ()) -> Level | None:
    """The lowest level with that much free height above it; None where there is none."""
    found = None
    for level in levels_at(scene, x, z, but):
        found = level if level.free_m >= height_m else found
    return found


def top_at(scene: Scene, x: float, z: float, but: Collection[str] = ()) -> float | None:
    """Height of the highest surface, however steep; None over a void."""
    high = float(scene.bounds()[1, 1]) + 1.0
    free = free_distance_m(scene, (x, high, z), DOWN, but)
    names = [node.name for node in scene.nodes if node.name not in but]
    level = floor_under(scene, (x, high, z), names)  # of nodes with open backs, too
    heights = [y for y in (high - free, level) if y is not None and np.isfinite(y)]
    return max(heights, default=None)


def _is_within(node: Node, point: tuple[float, float, float]) -> bool:
    """Whether a point is inside a node's material: not in the air of a room, whose faces look inward."""
    if not is_inside(node, point):
        return False
    a, b, c = (node.vertices[node.faces[:, k]] - node.bounds[0] for k in range(3))
    return float((a * np.cross(b, c)).sum()) > 0.0


def _over(scene: Scene, x: float, z: float) -> list[int]:
    """The nodes, by number, whose bounds the upright line through x, z meets."""
    low, high = scene.node_bounds[:, 0], scene.node_bounds[:, 1]
    edge = 1e-6 * (1.0 + abs(x) + abs(z))
    across = (low[:, 0] - edge <= x) & (x <= high[:, 0] + edge)
    found: list[int] = np.flatnonzero(across & (low[:, 2] - edge <= z) & (z <= high[:, 2] + edge)).tolist()
    return found


def _owner(scene: Scene, names: list[str], point: tuple[float, float, float]) -> str:
    """The node whose surface is at a level that was found: the last of those that touch there."""
    touching = (name for name in reversed(names) if floor_under(scene, point, [name]) == point[1])
    return next(touching, names[-1])
