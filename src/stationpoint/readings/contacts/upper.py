"""Upper faces of nodes: what is level enough to stand on, in pieces that hang together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.linked import linked, numbered
from stationpoint.base.geometry.vectors import cross
from stationpoint.base.once import once_among_many
from stationpoint.scene import Node

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

LEVEL_DEG = 45.0
WELD_M = 1e-4  # vertices nearer than this are one
UPWARD_SHARE = (
    0.25  # of the level faces of an open mesh: if so many look up, those that look down do not count
)


@dataclass(frozen=True, slots=True, eq=False)
class Upper:
    """A node's upper faces. face: (m,) their numbers, rising. corners: (m, 3, 3) world. area_m2: (m,).
    piece: (m,) the number of the piece that each belongs to, from 0; those of one piece are joined by common
    corners. pieces: how many."""

    face: Whole
    corners: Points
    area_m2: Points
    piece: Whole
    pieces: int


@once_among_many(kept=8192)
def upper_faces(nodes: Sequence[Node]) -> list[Upper]:
    """The faces of nodes that are within 45 degrees of level and look up.

    Of an open node also those that look down, unless its faces are wound as faces should be.
    """
    counts = np.array([len(node.faces) for node in nodes])
    ends = np.cumsum(counts)
    of_node = np.repeat(np.arange(len(nodes)), counts)
    before = np.cumsum([0, *(len(node.vertices) for node in nodes)])  # vertices of the nodes before each
    vertices = np.concatenate([node.vertices for node in nodes])
    faces = np.concatenate([node.faces for node in nodes]) + before[of_node, None]
    corners: Points = vertices.astype(np.float64)[faces]
    normals = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.sqrt((normals * normals).sum(axis=1))
    steep = cos(radians(LEVEL_DEG)) * np.maximum(size, 1e-12)
    chosen, down = normals[:, 1] >= steep, normals[:, 1] <= -steep
    for k, node in enumerate(nodes):
        if not node.closed:
            own = slice(ends[k] - counts[k], ends[k])
            up, level = chosen[own], chosen[own] | down[own]
            if size[own][up].sum() < UPWARD_SHARE * size[own][level].sum():
                chosen[own] = level
    of_node = of_node[chosen]
    piece, pieces = _pieces(vertices, faces[chosen], of_node, before)
    face = np.flatnonzero(chosen) - (ends - counts)[of_node]
    parts = np.searchsorted(of_node, np.arange(1, len(nodes)))
    each = (np.split(one, parts) for one in (face, corners[chosen], size[chosen] / 2.0, piece))
    return [Upper(*one) for one in zip(*each, pieces.tolist(), strict=True)]


def _pieces(
    vertices: NDArray[np.float32], faces: Whole, of_node: Whole, before: Whole
) -> tuple[Whole, Whole]:
    """The piece of each face within its node: those that are joined by common corners have one; and how many
    pieces each node has. before: how many vertices those before each node have."""
    used = np.zeros(len(vertices), dtype=bool)
    used[faces] = True
    where = np.round(vertices[used] / WELD_M).astype(np.int64)
    owner = np.searchsorted(before, np.flatnonzero(used), side="right") - 1
    at = numbered(np.column_stack([owner, where]))[(np.cumsum(used) - 1)[faces]]
    count = int(at.max(initial=-1)) + 1
    # Each vertex is used, so that each group has faces, and those of a node come before those of the next.
    first, second = np.concatenate([at[:, 0], at[:, 1]]), np.concatenate([at[:, 1], at[:, 2]])
    group = linked(count, first, second)[at[:, 0]]
    node_of = np.zeros(int(group.max(initial=-1)) + 1, dtype=np.intp)
    node_of[group] = of_node
    pieces = np.bincount(node_of, minlength=len(before) - 1)
    return group - (np.cumsum(pieces) - pieces)[of_node], pieces
