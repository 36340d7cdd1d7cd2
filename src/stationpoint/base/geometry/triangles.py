"""Triangles: their height over a point of the plan, and where rays cross them, a few or a level of them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import TriangleBlocks, members, once
from stationpoint.base.geometry.vectors import cross, dot

Points = NDArray[np.float64]
Bits = NDArray[np.bool_]
Whole = NDArray[np.intp]

ON_EDGE = 1e-9  # of a triangle's sides: a ray that misses by no more crosses it
FLAT = 1e-15  # a ray this near to a triangle's plane crosses none
AT_ONCE = 1 << 18  # triangles that rays are tried on at once


def height_over(
    a: Points, b: Points, c: Points, x: Points | float, z: Points | float
) -> tuple[Points, Points, Points]:
    """Where the upright line at x, z meets the plane of triangles with corners a, b, c (..., 3), y up.

    The shares of b and c there (a has the rest; a negative share of any is outside), and the height. Not
    finite for upright triangles. Source: definition. Worked: corners (0, 0, 0), (2, 2, 0), (0, 0, 2) at
    .5, .5: shares .25 and .25, height .5.
    """
    u, v = b - a, c - a
    to_x, to_z = x - a[..., 0], z - a[..., 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        area = u[..., 0] * v[..., 2] - u[..., 2] * v[..., 0]
        s = (to_x * v[..., 2] - to_z * v[..., 0]) / area
        t = (u[..., 0] * to_z - u[..., 2] * to_x) / area
        return s, t, a[..., 1] + s * u[..., 1] + t * v[..., 1]


def ray_meets(starts: Points, ways: Points, corners: Points, slack: float = ON_EDGE) -> Points:
    """How far along rays they cross triangles (..., 3, 3), in lengths of the way; infinity where none.

    starts, ways: (..., 3), broadcast with the triangles. Crossings behind the start come out negative;
    faces count from both sides. slack: how far beside a triangle a ray may pass, in shares of its sides.
    Source: Möller and Trumbore 1997. Worked: from 0, 2, 0 along 0, -1, 0 to a triangle on the ground round
    the origin: 2.
    """
    a = corners[..., 0, :]
    u, v, to = corners[..., 1, :] - a, corners[..., 2, :] - a, starts - a
    across, turned = cross(ways, v), cross(to, u)
    with np.errstate(divide="ignore", invalid="ignore"):
        size = dot(u, across)
        s, t = dot(to, across) / size, dot(turned, ways) / size
        far = dot(v, turned) / size
        hit = (np.abs(size) >= FLAT) & (s >= -slack) & (t >= -slack) & (s + t <= 1.0 + slack)
    return np.where(hit, far, np.inf)


def first_on_ways(those: TriangleBlocks, starts: Points, ways: Points, beyond: float) -> Points:
    """How far along each ray (n, 3) the first crossing lies that is more than `beyond` along it, (n,), in
    lengths of the way; infinity where there is none. The same as `ray_meets` on every triangle.
    """
    nearest = np.full(len(starts), np.inf)
    for ray, far in _met(those, starts, ways):
        np.minimum.at(nearest, ray, np.where(far > beyond, far, np.inf).min(axis=1))
    return nearest


def crossings(those: TriangleBlocks, starts: Points, ways: Points, beyond: float) -> Whole:
    """How often each ray (n, 3) crosses the triangles more than `beyond` along it, (n,). Crossings at one
    spot, as on an edge that two triangles share, are one."""
    rays, fars = [np.empty(0, dtype=np.intp)], [np.empty(0)]
    for ray, far in _met(those, starts, ways):
        hit = np.isfinite(far) & (far > beyond)
        rays.append(np.broadcast_to(ray[:, None], far.shape)[hit])
        fars.append(far[hit])
    every, at = np.concatenate(rays), np.concatenate(fars)
    order = np.lexsort((at, every))
    every, at = every[order], at[order]
    new = np.ones(len(at), dtype=bool)
    new[1:] = (np.diff(every) > 0) | (np.diff(at) > ON_EDGE * (1.0 + at[1:]))
    found: Whole = np.bincount(every[new], minlength=len(starts))
    return found


def _met(those: TriangleBlocks, starts: Points, ways: Points) -> Iterator[tuple[Whole, Points]]:
    """Rays (k,) by number, and how far along each the triangles of a block lie, (k, size); infinity where
    they are missed. Blocks whose bounds a ray misses are left out."""
    safe = np.where(np.abs(ways) < 1e-12, 1e-12, ways)
    room = 1e-6 * (1.0 + np.abs(those.low).max(initial=0.0))

    def meets(ray: Whole, low: Points, high: Points) -> Bits:
        first, last = np.full(np.broadcast_shapes(ray.shape, low.shape[:-1]), -np.inf), np.array(np.inf)
        for axis in range(3):
            start, way = starts[ray, axis], safe[ray, axis]
            one, other = (low[..., axis] - room - start) / way, (high[..., axis] + room - start) / way
            first, last = np.maximum(first, np.minimum(one, other)), np.minimum(last, np.maximum(one, other))
        result: Bits = last >= np.maximum(first, 0.0)
        return result

    ray, group = np.nonzero(meets(np.arange(len(starts))[:, None], those.group_low, those.group_high))
    member = members(those, group)
    pair, place = once(meets(ray[:, None], those.low[member], those.high[member]), member)
    ray, block = ray[pair], member[pair, place]
    step = max(1, AT_ONCE // those.corners.shape[1])
    for k in range(0, len(ray), step):
        r, b = ray[k : k + step], block[k : k + step]
        yield r, ray_meets(starts[r, None], ways[r, None], those.corners[b])
