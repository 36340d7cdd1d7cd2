"""False breaks: pairs of walkable surfaces near each other, by where they are nearest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import depths, frontal_px_per_m, project_points
from stationpoint.readings.contacts.surfaces import Surfaces
from stationpoint.readings.contacts.truth import ROUNDS, Apart, spans
from stationpoint.readings.frames.sight import node_pixels
from stationpoint.readings.types import Case
from stationpoint.scene import Scene

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

MOST_SURFACES = 512  # the largest in the picture
LEAST_PX = 12
SAME_M, SAME_SHARE = 0.1, 0.02  # an end is seen where the picture is as deep, within a pixel of it


def breaks(
    case: Case,
    those: Surfaces,
    ids: NDArray[np.uint32],
    depth_m: NDArray[np.float32],
    joined: Whole,
) -> list[Apart]:
    """Pairs in view, within reach where they are nearest, that share no border and look out of reach.

    ids, depth_m: (h, w). joined: (n, 2) pairs of surfaces, the lower first, that share a border. Of pictures
    with more than 512 surfaces the largest count. Both ends must be seen, and look farther apart than they
    are: a drop that is drawn as deep as it is breaks nothing.
    """
    camera = case.setup.camera
    known = _learnt(
        those, _near(those, _visible(case.scene, those, ids)), set(those.pair_codes(*joined.T).tolist())
    )
    if not known:
        return []
    pairs, ends = list(known), np.array(list(known.values()))
    px = project_points(camera, ends.reshape(-1, 3)).reshape(-1, 2, 2)
    z_m = depths(camera, ends.reshape(-1, 3)).reshape(-1, 2)
    # Of each pair's two ends (n, 2, 3) the one of less depth, (n, 3).
    nearer = np.take_along_axis(ends, z_m.argmin(axis=1)[:, None, None], axis=1)[:, 0]
    gap = ends[:, 1] - ends[:, 0]
    reach_m = np.maximum(those.reach.there_m(gap[:, 1]), those.reach.there_m(-gap[:, 1]))
    with np.errstate(invalid="ignore"):
        flat_m = np.hypot(*(px[:, 1] - px[:, 0]).T) / frontal_px_per_m(camera, nearer)
        inside = ((px >= 0.0) & (px <= camera.pixels)).all(axis=(1, 2))
        apart = inside & (flat_m > reach_m) & (flat_m > np.linalg.norm(gap, axis=1))
    found = np.flatnonzero(apart)
    found = found[_is_seen(px[found], z_m[found], depth_m)]
    return [
        _apart(those, pairs[k], ends[k], px[k], float(flat_m[k]), bool(z_m[k, 0] <= z_m[k, 1])) for k in found
    ]


def _is_seen(px: Points, z_m: Points, depth_m: NDArray[np.float32]) -> Bits:
    """Whether both ends of each pair, (n, 2, 2) pixels and (n, 2) depths, are what the picture shows there:
    in one of the nine pixels around, since they lie on edges."""
    high, wide = depth_m.shape
    aside = np.array([-1, 0, 1])
    x = (px[..., 0, None].astype(np.intp) + aside).clip(0, wide - 1)
    y = (px[..., 1, None].astype(np.intp) + aside).clip(0, high - 1)
    off_m = np.abs(depth_m[y[..., None], x[..., None, :]] - z_m[..., None, None])
    near = off_m <= np.maximum(SAME_M, SAME_SHARE * np.abs(z_m))[..., None, None]
    both: Bits = near.any(axis=(2, 3)).all(axis=1)
    return both


def _apart(
    those: Surfaces, pair: int, ends: Points, px: Points, flat_m: float, first_is_nearer: bool
) -> Apart:
    a, b = (0, 1) if first_is_nearer else (1, 0)
    x, y, z = ends[b] - ends[a]
    both = divmod(pair, len(those.names))
    return Apart(
        those.names[both[a]],
        those.names[both[b]],
        None,
        flat_m,
        float(np.hypot(x, z)),
        float(y),
        px.mean(axis=0),
        px[[a, b]],
    )


def _visible(scene: Scene, those: Surfaces, ids: NDArray[np.uint32]) -> Whole:
    """The surfaces of whose nodes something is seen, those of the largest ones, in order."""
    seen = node_pixels(ids, scene)[1:]
    pixels = np.zeros(len(those.names), dtype=np.int64)
    np.add.at(pixels, those.own[those.own >= 0], seen[those.own >= 0])
    for place, (_, _, some) in those.several.items():
        pixels[some] += seen[place]
    largest = np.argsort(-pixels, kind="stable")[:MOST_SURFACES]
    return np.sort(largest[pixels[largest] >= LEAST_PX])


def _near(those: Surfaces, seen: Whole) -> tuple[Whole, Whole]:
    """Pairs of surfaces whose bounds are within the longest reach, the lower one first."""
    level2 = np.zeros((len(seen), len(seen)))
    for axis in (0, 2):
        low, high = those.low[seen, axis], those.high[seen, axis]
        over = low[:, None] - high
        level2 += np.maximum(np.maximum(over, over.T), 0.0) ** 2
    first, second = np.nonzero(level2 <= those.reach.farthest_m**2)
    lower = first < second
    return seen[first[lower]], seen[second[lower]]


def _learnt(those: Surfaces, pairs: tuple[Whole, Whole], but: set[int]) -> dict[int, Points]:
    """The nearest points, (2, 3), of those pairs that are within reach, without some: from the surface that
    the subject or a take-off stands on, or both ways where none does."""
    codes = [code for code in those.pair_codes(*pairs).tolist() if code not in but]
    new = [code for code in codes if code not in those.known]
    if new:
        a, b = np.divmod(np.array(new), len(those.names))
        low, high = np.maximum(those.low[a], those.low[b]), np.minimum(those.high[a], those.high[b])
        between = spans(those, a, b, (low + high) / 2.0, ROUNDS)
        from_a, from_b = those.starts[a], those.starts[b]
        told = (from_a & between.there) | (from_b & between.back)
        is_way = np.where(from_a | from_b, told, between.there & between.back)
        ends = np.stack([between.from_m, between.to_m], axis=1)
        those.known.update(
            (code, one if way else None) for code, one, way in zip(new, ends, is_way.tolist(), strict=True)
        )
    found = ((code, those.known[code]) for code in codes)
    return {code: ends for code, ends in found if ends is not None}
