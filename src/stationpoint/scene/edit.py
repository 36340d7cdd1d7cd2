"""Edited copies of scenes, and nodes made by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import CLAY, RGB, ROLE_TINT
from stationpoint.scene.assemble import digest_of
from stationpoint.scene.bodies import body, body_size_m
from stationpoint.scene.meshes.part import flipped, mirrors, transformed
from stationpoint.scene.solids import solid, turned
from stationpoint.scene.types import Node, Scene


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
    """The scene with the named nodes through (4, 4) world matrices; ids stay, mirrored faces stay outward. It
    has no digest: how it was moved is told beside that of the scene."""
    for name in moves:
        scene.node(name)
    nodes = tuple(moved_node(n, moves[n.name]) if n.name in moves else n for n in scene.nodes)
    return replace(scene, nodes=nodes, digest="")


def moved_node(node: Node, matrix: NDArray[np.float64]) -> Node:
    """A node through a (4, 4) world matrix."""
    vertices = transformed(node.vertices, np.asarray(matrix, dtype=np.float64))
    faces = flipped(node.faces) if mirrors(matrix) else node.faces
    foot = None if node.stands_at is None else transformed(node.stands_at[None], matrix)[0]
    return replace(node, vertices=vertices.astype(np.float32), faces=faces, stands_at=foot)


def with_node(scene: Scene, node: Node) -> Scene:
    """The scene with one more node, the last; StudyWrong if the name is taken."""
    if node.name in scene:
        raise StudyWrong(f'"{node.name}" is the name of a node of the scene already; choose another.')
    nodes = (*scene.nodes, node)
    return replace(scene, nodes=nodes, digest=digest_of(nodes))


def stand_in(
    name: str,
    foot_m: ArrayLike,
    height_m: float,
    heading_deg: float = 0.0,
    shape: str = "figure",
    size_m: tuple[float, float, float] | None = None,
) -> Node:
    """The stand-in subject on `foot_m` (3,), facing its heading (0: -Z, positive: turned left).

    shape: "figure" or "capsule" of `height_m`; "quadruped" or "vehicle" of `size_m`, width, height and
    depth before it is turned.
    """
    foot = np.array(foot_m, dtype=np.float64)
    vertices, faces = body(shape, body_size_m(shape, height_m, size_m))
    placed = turned(vertices, heading_deg) + foot
    tint = ROLE_TINT["subject"]
    return Node(name, placed.astype(np.float32), faces, tint=tint, kind="subject", stands_at=foot)


def box_node(name: str, base_m: ArrayLike, size: ArrayLike) -> Node:
    """A box on its base centre (3,) with extents (3,) along x, y, z."""
    vertices, faces = solid("box", size, base_m)
    return Node(name, vertices.astype(np.float32), faces, tint=CLAY, walkable=True, kind="box")
