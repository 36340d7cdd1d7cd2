"""Edited copies of scenes, nodes made by hand, and two questions asked of geometry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import cos, radians

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import CLAY, RGB, ROLE_TINT
from stationpoint.scene.assemble import digest_of
from stationpoint.scene.meshes.part import flipped, mirrors, transformed
from stationpoint.scene.solids import solid
from stationpoint.scene.types import Node, Scene

BODY_RADIUS_M = 0.25
LEVEL_DEG = 50.0  # a face steeper than this is no floor


def tinted_scene(scene: Scene, tints: Mapping[str, RGB]) -> Scene:
    """The scene with the named nodes in other colours (8-bit sRGB)."""
    nodes = tuple(replace(n, tint=tints[n.name]) if n.name in tints else n for n in scene.nodes)
    return replace(scene, nodes=nodes)


def in_own_colours(scene: Scene, shown: bool) -> Scene:
    """The scene with all that has colours of its own shown in them, or nothing."""
    nodes = tuple(
        replace(n, shows_own=shown) if n.own is not None and n.shows_own != shown else n for n in scene.nodes
    )
    return replace(scene, nodes=nodes)


def own_colour_notes(scene: Scene) -> tuple[str, ...]:
    """What a person should know of the own colours that are shown, each sentence once."""
    shown = {id(node.own): node.own for node in scene.nodes if node.shows_own and node.own is not None}
    return tuple(dict.fromkeys(note for own in shown.values() for note in own.notes))


def moved_scene(scene: Scene, moves: Mapping[str, NDArray[np.float64]]) -> Scene:
    """The scene with the named nodes through (4, 4) world matrices; ids stay, mirrored faces stay outward."""
    for name in moves:
        scene.node(name)
    nodes = tuple(moved_node(n, moves[n.name]) if n.name in moves else n for n in scene.nodes)
    return replace(scene, nodes=nodes, digest=digest_of(nodes))


def moved_node(node: Node, matrix: NDArray[np.float64]) -> Node:
    """A node through a (4, 4) world matrix."""
    vertices = transformed(node.vertices, np.asarray(matrix, dtype=np.float64))
    faces = flipped(node.faces) if mirrors(matrix) else node.faces
    return replace(node, vertices=vertices.astype(np.float32), faces=faces)


def with_node(scene: Scene, node: Node) -> Scene:
    """The scene with one more node, the last; StudyWrong if the name is taken."""
    if node.name in scene:
        raise StudyWrong(f'"{node.name}" is the name of a node of the scene already; choose another.')
    nodes = (*scene.nodes, node)
    return replace(scene, nodes=nodes, digest=digest_of(nodes))


def stand_in(name: str, foot_m: ArrayLike, height_m: float, heading_deg: float = 0.0) -> Node:
    """The stand-in subject: a capsule on `foot_m` (3,), radius 0.25 m, or half its height if that is less."""
    width = 2 * min(BODY_RADIUS_M, height_m / 2)
    vertices, faces = solid("capsule", (width, height_m, width), foot_m, heading_deg)
    return Node(name, vertices.astype(np.float32), faces, tint=ROLE_TINT["subject"], kind="subject")


def box_node(name: str, base_m: ArrayLike, size: ArrayLike) -> Node:
    """A box on its base centre (3,) with extents (3,) along x, y, z."""
    vertices, faces = solid("box", size, base_m)
    return Node(name, vertices.astype(np.float32), faces, tint=CLAY, walkable=True, kind="box")


def floor_under(scene: Scene, point: ArrayLike, names: Iterable[str] | None = None) -> float | None:
    """Height of the highest surface straight under a point (3,) that is level enough to stand on, or None.

    A surface at the point's own height counts, and one up to a millimetre above it. Faces count
    from both sides; those steeper than LEVEL_DEG do not. names: the nodes to look at, all if None.
    """
    x, y, z = (float(n) for n in np.asarray(point, dtype=np.float64))
    slack = 1e-3
    best: float | None = None
    for node in scene.nodes if names is None else [scene.node(name) for name in names]:
        low, high = node.vertices.min(axis=0), node.vertices.max(axis=0)
        edge = 1e-6 * (1.0 + abs(x) + abs(z))
        if not (low[0] - edge <= x <= high[0] + edge and low[2] - edge <= z <= high[2] + edge):
            continue
        if low[1] > y + slack or (best is not None and high[1] <= best):
            continue
        heights = _heights(node, x, z)
        heights = heights[heights <= y + slack]
        if len(heights):
            best = max(float(heights.max()), best if best is not None else -np.inf)
    return best


def _heights(node: Node, x: float, z: float) -> NDArray[np.float64]:
    """Where the level-ish faces of a node meet the vertical line at x, z."""
    corners: NDArray[np.float64] = node.vertices[node.faces].astype(np.float64)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    length = np.sqrt((normal * normal).sum(axis=1))
    level = (np.abs(normal[:, 1]) >= cos(radians(LEVEL_DEG)) * length) & (length > 0)
    a, b, c, area = a[level], b[level], c[level], normal[level, 1]

    def portion(p: NDArray[np.float64], q: NDArray[np.float64]) -> NDArray[np.float64]:
        """Area of p, q, (x, z) over the face's own, seen from above."""
        part: NDArray[np.float64] = (p[:, 2] - z) * (q[:, 0] - x) - (p[:, 0] - x) * (q[:, 2] - z)
        share: NDArray[np.float64] = part / area
        return share

    u, v, w = portion(b, c), portion(c, a), portion(a, b)
    hit = np.minimum(np.minimum(u, v), w) >= -1e-7
    heights: NDArray[np.float64] = (u * a[:, 1] + v * b[:, 1] + w * c[:, 1])[hit]
    return heights


def is_inside(node: Node, point: ArrayLike) -> bool:
    """Whether a point (3,) lies within a closed node; False for an open one, of which it cannot be said.

    Winding number from the solid angles of all faces (van Oosterom and Strackee 1983): 1 inside a
    closed surface, 0 outside.
    """
    here = np.asarray(point, dtype=np.float64)
    low, high = node.bounds
    if not node.closed or (here < low).any() or (here > high).any():
        return False
    a, b, c = (node.vertices[node.faces[:, k]].astype(np.float64) - here for k in range(3))
    la, lb, lc = (np.sqrt((v * v).sum(axis=1)) for v in (a, b, c))
    triple = (a * np.cross(b, c)).sum(axis=1)
    rest = la * lb * lc + (a * b).sum(axis=1) * lc + (b * c).sum(axis=1) * la + (c * a).sum(axis=1) * lb
    turns = float(np.arctan2(triple, rest).sum()) / (2 * np.pi)
    return abs(turns) > 0.5
