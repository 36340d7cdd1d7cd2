"""Meshes that hold several things in one node, taken apart: a level is often a single mesh."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import TriangleBlocks, nearest_face, triangle_blocks
from stationpoint.camera import unproject_pixels
from stationpoint.readings.frames.borders import Borders, borders
from stationpoint.readings.types import Case
from stationpoint.scene import Node, Scene, unique_names

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

WELD_M = 1e-4  # vertices nearer than this are one
APART_M = 0.5  # of depth, between two pixels of one node that may show two parts of it
SAME_PX = 4  # pixels of one node on one side of a border are one part within blocks of this size
LOOSE = "loose"  # kind of the node that holds what is too small to count
LEAST_FACES_M2 = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """A scene with its meshes taken apart.

    scene: every connected part of a mesh is a node; what is under 0.05 m2 in all is one node of kind
    LOOSE. names: what a person calls each of its nodes. own: (nodes,) place of each of the whole scene's
    nodes, -1 for one in parts. faces: those in parts, by their place in the whole scene: all their faces in
    blocks, and the place of the part that each belongs to.
    """

    scene: Scene
    names: tuple[str, ...]
    own: Whole
    faces: dict[int, tuple[TriangleBlocks, Whole]]


@lru_cache(maxsize=8)
def parts(scene: Scene) -> Parts:
    """The scene with its meshes taken apart; the same scene where there is nothing to take apart."""
    nodes: list[Node] = []
    names: list[str] = []
    own = np.zeros(len(scene.nodes), dtype=np.intp)
    faces: dict[int, tuple[TriangleBlocks, Whole]] = {}
    for k, node in enumerate(scene.nodes):
        several, label = _taken_apart(node) if node.kind == "mesh" else ((node,), np.zeros(0, dtype=np.intp))
        own[k] = len(nodes) if len(several) == 1 else -1
        if len(several) > 1:
            faces[k] = triangle_blocks(node.vertices.astype(np.float64)[node.faces]), label + len(nodes)
        nodes += several
        names += [node.name] * len(several)
    return Parts(scene if not faces else Scene(_told_apart(nodes)), tuple(names), own, faces)


def _told_apart(nodes: list[Node]) -> tuple[Node, ...]:
    """The nodes, each with a name of its own: another may be called as a part is."""
    names = unique_names([node.name for node in nodes], "part")
    return tuple(
        node if node.name == name else replace(node, name=name)
        for node, name in zip(nodes, names, strict=True)
    )


@lru_cache(maxsize=4096)
def _taken_apart(node: Node) -> tuple[tuple[Node, ...], Whole]:
    """The connected parts of a node, and the place of each face's part among them."""
    label = _connected(node)
    corners = node.vertices.astype(np.float64)[node.faces]
    area = (
        np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2.0
    )
    whole = np.bincount(label, area)
    large = np.flatnonzero(whole >= LEAST_FACES_M2)
    if len(whole) == 1 or not len(large):
        return (node,), np.zeros(0, dtype=np.intp)
    place = np.full(len(whole), len(large), dtype=np.intp)
    place[large] = np.arange(len(large))
    found = []
    for k in range(int(place[label].max()) + 1):
        chosen = node.faces[place[label] == k]
        used, renumbered = np.unique(chosen, return_inverse=True)
        kind = node.kind if k < len(large) else LOOSE
        part = replace(
            node,
            name=f"{node.name}\x1f{k}",
            vertices=node.vertices[used],
            faces=renumbered.reshape(-1, 3).astype(np.int32),
            kind=kind,
            walkable=node.walkable and kind != LOOSE,
        )
        found.append(part)
    return tuple(found), place[label]


def _connected(node: Node) -> Whole:
    """A number for each face, from 0: the same for faces that are joined by common corners."""
    _, welded = np.unique(np.round(node.vertices / WELD_M).astype(np.int64), axis=0, return_inverse=True)
    corners = welded.reshape(-1)[node.faces]
    label = np.arange(int(corners.max(initial=0)) + 1)
    while True:
        low = label[corners].min(axis=1)
        before = label.copy()
        # Every corner takes the lowest number of its faces (unbuffered, since corners recur) and then that
        # number's own, which halves the ways: a few rounds join a mesh of any length.
        for k in range(3):
            np.minimum.at(label, before[corners[:, k]], low)
        label = label[label]
        if np.array_equal(label, before):
            break
    _, number = np.unique(label[corners[:, 0]], return_inverse=True)
    return number.reshape(-1).astype(np.intp)


def part_borders(case: Case, ids: NDArray[np.uint32], depth_m: NDArray[np.float32]) -> Borders:
    """All borders of the picture, between parts: their ids are those of `parts(case.scene).scene`.

    Where two pixels of one node are half a metre apart in depth, they may show two parts of it.
    """
    whole = parts(case.scene)
    sides = borders(ids)
    if not whole.faces:
        return sides
    several = np.zeros(len(case.scene.nodes) + 1, dtype=bool)
    several[np.array(list(whole.faces)) + 1] = True
    sides = _joined(sides, _steps(ids, depth_m, several[ids]))
    named = np.column_stack([_named(case, sides, k, ids, depth_m) for k in (0, 1)])
    sides = replace(sides, ids=named.astype(np.uint32))
    return sides.chosen(np.flatnonzero(named[:, 0] != named[:, 1]))


def _steps(ids: NDArray[np.uint32], depth_m: NDArray[np.float32], several: Bits) -> Borders:
    """Sides between two pixels of one node in parts whose depths are far from each other."""
    width = ids.shape[1]
    found = []
    for step, a, b in (
        (1, np.s_[:, :-1], np.s_[:, 1:]),
        (width, np.s_[:-1], np.s_[1:]),
    ):
        with np.errstate(invalid="ignore"):
            far = several[a] & (ids[a] == ids[b]) & (np.abs(depth_m[a] - depth_m[b]) > APART_M)
        y, x = np.nonzero(far)
        pixel = y * width + x
        px = np.column_stack([x + (1.0 if step == 1 else 0.5), y + (0.5 if step == 1 else 1.0)])
        both = np.column_stack([ids[y, x], ids[y, x]])
        upright = np.full(len(x), step == 1)
        found.append(Borders(both, px, upright, pixel, pixel + step, pixel, pixel + step))
    return _joined(*found)


def _joined(one: Borders, other: Borders) -> Borders:
    fields = ("ids", "px", "upright", "pixel", "other", "inner", "beyond")
    return Borders(*(np.concatenate([getattr(one, name), getattr(other, name)]) for name in fields))


def _named(
    case: Case, sides: Borders, which: int, ids: NDArray[np.uint32], depth_m: NDArray[np.float32]
) -> Whole:
    """Ids in the scene of parts, (n,), of what the first (0) or second (1) pixel of each side shows."""
    whole, camera = parts(case.scene), case.setup.camera
    node = sides.ids[:, which].astype(np.intp) - 1
    found = whole.own[node] + 1
    pixel = sides.pixel if which == 0 else sides.other
    width = ids.shape[1]
    for place, (faces, label) in whole.faces.items():
        mine = np.flatnonzero(node == place)
        if not len(mine):
            continue
        other = sides.ids[mine, 1 - which].astype(np.int64)
        cell = (sides.px[mine] / SAME_PX).astype(np.int64)
        depth = np.clip(np.round(depth_m.ravel()[pixel[mine]] / APART_M), -32768, 32767).astype(np.int64)
        # One look-up for all sides that have the neighbour, the block of the picture and the depth in common.
        codes = ((other * 4096 + cell[:, 1]) * 4096 + cell[:, 0]) * 65536 + depth + 32768
        _, first, inverse = np.unique(codes, return_index=True, return_inverse=True)
        at = pixel[mine][first]
        px = np.column_stack([at % width, at // width]) + 0.5
        points = unproject_pixels(camera, px, depth_m.ravel()[at].astype(np.float64))
        found[mine] = label[nearest_face(faces, points)[1]][inverse.reshape(-1)] + 1
    return found
