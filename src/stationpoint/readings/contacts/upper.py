"""Upper faces of nodes: what is level enough to stand on, in pieces that hang together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.linked import linked, numbered
from stationpoint.base.geometry.vectors import cross
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


@lru_cache(maxsize=8192)
def upper_faces(node: Node) -> Upper:
    """The faces of a node that are within 45 degrees of level and look up.

    Of an open one also those that look down, unless its faces are wound as faces should be.
    """
    corners: Points = node.vertices.astype(np.float64)[node.faces]
    normals = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.sqrt((normals * normals).sum(axis=1))
    steep = cos(radians(LEVEL_DEG)) * np.maximum(size, 1e-12)
    chosen, down = normals[:, 1] >= steep, normals[:, 1] <= -steep
    if not node.closed and size[chosen].sum() < UPWARD_SHARE * size[chosen | down].sum():
        chosen = chosen | down
    piece = _pieces(node, chosen)
    face = np.flatnonzero(chosen)
    return Upper(face, corners[chosen], size[chosen] / 2.0, piece, int(piece.max(initial=-1)) + 1)


def _pieces(node: Node, chosen: NDArray[np.bool_]) -> Whole:
    """The piece of each chosen face: those that are joined by common corners have one."""
    faces = node.faces[chosen]
    if len(faces) < 2:
        return np.zeros(len(faces), dtype=np.intp)
    used = np.zeros(len(node.vertices), dtype=bool)
    used[faces] = True
    welded = numbered(np.round(node.vertices[used] / WELD_M).astype(np.int64))
    at = welded[(np.cumsum(used) - 1)[faces]]
    # Each vertex is used, so that each group has faces.
    group = linked(
        int(at.max()) + 1, np.concatenate([at[:, 0], at[:, 1]]), np.concatenate([at[:, 1], at[:, 2]])
    )
    found: Whole = group[at[:, 0]]
    return found
