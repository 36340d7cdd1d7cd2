"""On what the pictures of a sheet show the metre grid, if on anything."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.pixels import id_counts
from stationpoint.base.look import CLAY, GRID_FADE_M, GROUND, RGB
from stationpoint.readings import Result
from stationpoint.scene import Node, Scene

AT_ONCE = 16384  # faces
LEVEL_COS = 0.99  # as the renderers have it: the grid is drawn on faces no steeper
Corners = NDArray[np.float64]


def grid_tint(scene: Scene, results: Iterable[Result], own_too: bool) -> RGB | None:
    """The tint under the metre grid as pictures show it: the ground's, else clay; None where none shows it.

    own_too: whether things are gridded that are drawn in their own colours somewhere on the sheet.
    """
    unseen = {
        number: node
        for number, node in enumerate(scene.nodes, start=1)
        if node.gridded and (own_too or not node.shows_own)
    }
    found = set()
    for result in results:
        ids = None if result.ids is None else id_counts(result.ids, 1).nonzero()[0].tolist()
        for number, node in list(unseen.items()):
            if (ids is None or number in ids) and _shows_lines(result, node):
                del unseen[number]
                found.add(GROUND if scene.nodes[number - 1].kind == "ground" else CLAY)
        if GROUND in found or not unseen:
            break
    return GROUND if GROUND in found else CLAY if found else None


def _shows_lines(result: Result, node: Node) -> bool:
    """Whether a picture shows lines of the grid on any face of a node: of many, few are looked at."""
    return any(_is_wide(result, _lined(node, start)) for start in range(0, len(node.faces), AT_ONCE))


@lru_cache(maxsize=256)
def _lined(node: Node, start: int) -> Corners:
    """Corners, (n, 3, 3), of those of a node's faces from `start` on that are level and over which a line of
    whole metres runs."""
    corners = node.vertices[node.faces[start : start + AT_ONCE]].astype(np.float64)
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    is_level = np.abs(normal[:, 1]) > LEVEL_COS * np.linalg.norm(normal, axis=1)
    flat = corners[is_level][:, :, [0, 2]]
    is_crossed = (np.ceil(flat.min(axis=1)) <= np.floor(flat.max(axis=1))).any(axis=1)
    lined: Corners = corners[is_level][is_crossed]
    return lined


def _is_wide(result: Result, faces: Corners) -> bool:
    """Whether a picture has pixels fine enough for the grid's lines on the nearest of these faces."""
    camera = result.setup.camera
    if not len(faces):
        return False
    wide = 2.0 / (float(camera.projection[0, 0]) * camera.pixels[0])
    if camera.parallel:
        return wide < GRID_FADE_M
    eye = -camera.view[:3, :3].T @ camera.view[:3, 3]
    off = np.maximum(np.maximum(faces.min(axis=1) - eye, eye - faces.max(axis=1)), 0.0)
    return wide * float(np.linalg.norm(off, axis=1).min()) < GRID_FADE_M
