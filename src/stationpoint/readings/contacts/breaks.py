"""False breaks: pairs of walkable surfaces near each other, by where they are nearest."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import depths, frontal_px_per_m, project_points
from stationpoint.readings.contacts.surfaces import SEVERAL, Surfaces
from stationpoint.readings.contacts.truth import ROUNDS, Apart, spans
from stationpoint.readings.types import Case

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]
Pair = tuple[int, int]

MOST_SURFACES = 512  # the largest in the picture
LEAST_PX = 12
SAME_M, SAME_SHARE = 0.1, 0.02  # an end is seen where the picture is as deep, within a pixel of it


def breaks(
    case: Case,
    those: Surfaces,
    ids: NDArray[np.uint32],
    depth_m: NDArray[np.float32],
    joined: Collection[Pair],
) -> list[Apart]:
    """Pairs in view, within reach where they are nearest, that share no border and look out of reach.

    ids, depth_m: (h, w). joined: pairs of surfaces, the lower first, that share a border. Of pictures with
    more than 512 surfaces the largest count. Both ends must be seen, and look farther apart than they are:
    a drop that is drawn as deep as it is breaks nothing.
    """
    camera = case.setup.camera
    pairs = [pair for pair in _near(those, _visible(those, ids)) if pair not in joined]
    _learn(those, [pair for pair in pairs if pair not in those.known])
    pairs = [pair for pair in pairs if _is_way(those, pair)]
    if not pairs:
        return []
    ends = np.array([those.known[pair][:2] for pair in pairs])
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


def _is_way(those: Surfaces, pair: Pair) -> bool:
    """Whether a pair is within reach: from the surface that the subject or a take-off stands on, or both
    ways where none does."""
    _, _, there, back = those.known[pair]
    from_a, from_b = (bool(those.starts[k]) for k in pair)
    if from_a or from_b:
        return (from_a and there) or (from_b and back)
    return there and back


def _is_seen(px: Points, z_m: Points, depth_m: NDArray[np.float32]) -> Bits:
    """Whether both ends of each pair, (n, 2, 2) pixels and (n, 2) depths, are what the picture shows there:
    in one of the nine pixels around, since they lie on edges."""
    high, wide = depth_m.shape
    seen = np.zeros(z_m.shape, dtype=bool)
    for across in (-1, 0, 1):
        for down in (-1, 0, 1):
            x = (px[..., 0].astype(np.intp) + across).clip(0, wide - 1)
            y = (px[..., 1].astype(np.intp) + down).clip(0, high - 1)
            off_m = np.abs(depth_m[y, x] - z_m)
            seen[off_m <= np.maximum(SAME_M, SAME_SHARE * np.abs(z_m))] = True
    both: Bits = seen[:, 0] & seen[:, 1]
    return both


def _apart(
    those: Surfaces, pair: Pair, ends: Points, px: Points, flat_m: float, first_is_nearer: bool
) -> Apart:
    a, b = (0, 1) if first_is_nearer else (1, 0)
    x, y, z = ends[b] - ends[a]
    return Apart(
        those.names[pair[a]],
        those.names[pair[b]],
        None,
        flat_m,
        float(np.hypot(x, z)),
        float(y),
        px.mean(axis=0),
        px[[a, b]],
    )


def _visible(those: Surfaces, ids: NDArray[np.uint32]) -> Whole:
    """The surfaces of whose nodes something is seen, those of the largest ones, in order."""
    seen = np.bincount(ids.ravel(), minlength=len(those.own) + 1)[1:]
    pixels = np.zeros(len(those.names), dtype=np.int64)
    np.add.at(pixels, those.own[those.own >= 0], seen[those.own >= 0])
    for place, (_, label) in those.several.items():
        assert those.own[place] == SEVERAL
        some = np.unique(label[label >= 0])
        pixels[some] += seen[place]
    largest = np.argsort(-pixels, kind="stable")[:MOST_SURFACES]
    return np.sort(largest[pixels[largest] >= LEAST_PX])


def _near(those: Surfaces, seen: Whole) -> list[Pair]:
    """Pairs of surfaces whose bounds are within the longest reach."""
    low, high = those.low[seen], those.high[seen]
    gap = np.maximum(low[:, None] - high[None], low[None] - high[:, None]).clip(0.0)
    level2 = gap[:, :, 0] ** 2 + gap[:, :, 2] ** 2
    first, second = np.nonzero(np.triu(level2 <= those.reach.farthest_m**2, 1))
    return list(zip(seen[first].tolist(), seen[second].tolist(), strict=True))


def _learn(those: Surfaces, pairs: list[Pair]) -> None:
    """Work out the nearest points of pairs."""
    if not pairs:
        return
    a, b = np.array(pairs, dtype=np.intp).T
    low = np.maximum(those.low[a], those.low[b])
    high = np.minimum(those.high[a], those.high[b])
    between = spans(those, a, b, (low + high) / 2.0, ROUNDS)
    for k, pair in enumerate(pairs):
        ends = between.from_m[k], between.to_m[k]
        those.known[pair] = *ends, bool(between.there[k]), bool(between.back[k])
