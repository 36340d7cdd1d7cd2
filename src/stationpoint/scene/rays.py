"""Rays through a scene, by the index that each node keeps of its faces (`Node.blocks`).

The index is numpy alone, exact, and the same on every machine: Embree's answers are float32, its threads
survive no fork, and its wheels are not everywhere.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.triangles import first_on_ways
from stationpoint.scene.types import Node, Scene

Floats = NDArray[np.float64]

OFF_M = 1e-6  # a surface nearer than this is the one that the ray starts on
OFF_SHARE, END_SHARE = 1e-5, 1.0 - 1e-9  # of a segment: only what is crossed between them blocks it


def free_distance_m(
    scene: Scene, start_m: ArrayLike, direction: ArrayLike, but: Collection[str] = ()
) -> float:
    """Metres from a point (3,) along a direction (3,) to the first surface; infinity where there is none.

    but: names of nodes to look past; those whose backs are open are too. Faces
    count from both sides.
    """
    start = np.asarray(start_m, dtype=np.float64)
    way = np.asarray(direction, dtype=np.float64) / np.linalg.norm(np.asarray(direction, dtype=np.float64))
    nearest = np.inf
    for k in np.flatnonzero(_meet(scene.node_bounds, start, way)).tolist():
        node = scene.nodes[k]
        if len(node.faces) and not node.backs_open and node.name not in but:
            nearest = min(nearest, float(first_on_ways(node.blocks, start[None], way[None], OFF_M)[0]))
    return float(nearest)


def turned_to(scene: Scene, eye_m: ArrayLike, but: Collection[str] = ()) -> Scene:
    """The scene with the faces alone that are turned to an eye (3,): what it sees where backs are open.

    but: names of nodes that are not there.
    """
    eye = np.asarray(eye_m, dtype=np.float64)
    nodes = []
    for node in scene.nodes:
        corners = node.vertices.astype(np.float64)[node.faces]
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        turned = np.einsum("ij,ij->i", normals, eye - corners[:, 0]) > 0.0
        if node.name not in but and turned.any():
            nodes.append(replace(node, faces=node.faces[turned], own=None, backs_open=False))
    return replace(scene, nodes=tuple(nodes))


def share_in_sight(scene: Scene, eye_m: ArrayLike, points_m: ArrayLike, name: str) -> float:
    """Of the rays from an eye (3,) through some points (n, 3) that meet a node, the share of those that meet
    nothing before it; 0 where none meets it."""
    own = replace(scene, nodes=tuple(node for node in scene.nodes if node.name == name))
    ways = np.asarray(points_m, dtype=np.float64) - np.asarray(eye_m, dtype=np.float64)
    away = [(way, free_distance_m(own, eye_m, way)) for way in ways]
    met = [free_distance_m(scene, eye_m, way, {name}) >= m for way, m in away if np.isfinite(m)]
    return sum(met) / len(met) if met else 0.0


def is_indoors(scene: Scene, point_m: ArrayLike, towards_light: ArrayLike, but: Collection[str] = ()) -> bool:
    """Whether a point (3,) is closed in: something above it, all around it, and before the light.

    but: names of nodes to look past, such as the subject's own.
    """
    around = [(np.sin(turn), 0.0, np.cos(turn)) for turn in np.radians(np.arange(0, 360, 45))]
    ways = [(0.0, 1.0, 0.0), towards_light, *around]
    return all(np.isfinite(free_distance_m(scene, point_m, way, but)) for way in ways)


def _meet(bounds: Floats, start: Floats, way: Floats) -> NDArray[np.bool_]:
    """Which boxes (n, 2, 3) a ray meets, (n,), by slabs."""
    safe = np.where(np.abs(way) < 1e-12, 1e-12, way)
    ends = np.sort((bounds - start) / safe, axis=1)
    met: NDArray[np.bool_] = ends[:, 1].min(axis=1) >= np.maximum(ends[:, 0].max(axis=1), 0.0) - 1e-6
    return met


def blocked(node: Node, starts_m: Floats, towards_m: Floats, endless: bool = False) -> NDArray[np.bool_]:
    """Which segments from `starts_m` (n, 3) along `towards_m` (n, 3) the node's faces cross, (n,).

    endless: the segments go on for ever. A face at either end of a segment does not count.
    """
    far = first_on_ways(node.blocks, starts_m, towards_m, OFF_SHARE)
    return np.isfinite(far) if endless else far < END_SHARE
