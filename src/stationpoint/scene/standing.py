"""How far it is from a point to the next surface, and whether a point is closed in."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.scene.types import Scene

Floats = NDArray[np.float64]

CHUNK = 1 << 18


def free_distance_m(
    scene: Scene, start_m: ArrayLike, direction: ArrayLike, but: Collection[str] = ()
) -> float:
    """Metres from a point (3,) along a direction (3,) to the first surface; infinity where there is none.

    but: names of nodes to look past; those whose backs are open are too. Möller and Trumbore 1997,
    faces from both sides.
    """
    start = np.asarray(start_m, dtype=np.float64)
    way = np.asarray(direction, dtype=np.float64) / np.linalg.norm(np.asarray(direction, dtype=np.float64))
    nearest = np.inf
    for node in scene.nodes:
        if node.backs_open or node.name in but or not _meets(node.bounds, start, way):
            continue
        for first in range(0, len(node.faces), CHUNK):
            faces = node.faces[first : first + CHUNK]
            a, b, c = (node.vertices[faces[:, k]].astype(np.float64) for k in range(3))
            nearest = min(nearest, _first_hit(a, b - a, c - a, start, way))
    return float(nearest)


def is_indoors(scene: Scene, point_m: ArrayLike, towards_light: ArrayLike, but: Collection[str] = ()) -> bool:
    """Whether a point (3,) is closed in: something above it, all around it, and before the light.

    but: names of nodes to look past, such as the subject's own.
    """
    around = [(np.sin(turn), 0.0, np.cos(turn)) for turn in np.radians(np.arange(0, 360, 45))]
    ways = [(0.0, 1.0, 0.0), towards_light, *around]
    return all(np.isfinite(free_distance_m(scene, point_m, way, but)) for way in ways)


def _meets(bounds: Floats, start: Floats, way: Floats) -> bool:
    """Whether a ray meets a box (2, 3), by slabs."""
    safe = np.where(np.abs(way) < 1e-12, 1e-12, way)
    ends = np.sort((bounds - start) / safe, axis=0)
    return bool(ends[1].min() >= max(ends[0].max(), 0.0) - 1e-6)


def _first_hit(a: Floats, ab: Floats, ac: Floats, start: Floats, way: Floats) -> float:
    across = np.cross(way, ac)
    size = (ab * across).sum(axis=1)
    flat = np.abs(size) < 1e-15
    size = np.where(flat, 1.0, size)
    to = start - a
    u = (to * across).sum(axis=1) / size
    turned = np.cross(to, ab)
    v = (turned @ way) / size
    t = (ac * turned).sum(axis=1) / size
    hit = ~flat & (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9) & (t > 1e-6)
    return float(t[hit].min()) if hit.any() else float("inf")
