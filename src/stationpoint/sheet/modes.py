"""Modes: what a picture is turned into before anything is drawn on it. Whole sheets, one layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import WEIGHTS, linear_light, srgb_encoded
from stationpoint.base.look import INK, PALE, RGB, ROLE_TINT, SKY, WHITE
from stationpoint.readings import Result
from stationpoint.sheet.roles import Owner

MODES = ("marks", "clean", "grey", "silhouette", "depth")
SAYS = {
    "marks": "",
    "clean": "Clean: the pictures without marks.",
    "grey": "Grey: luminance alone, to judge values.",
    "silhouette": "Silhouette: targets and subject in their tints, hatched where hidden, all else flat.",
    "depth": "Depth: bands of distance along the camera's axis, near ones light.",
}
FLAT, EMPTY = PALE, SKY
BANDS = 7
STEPS, LEAST_STEP_PX, STRIPE_SHARE = 64, 6, 0.5  # stripes across a picture, their least distance, and width
Pixels = NDArray[np.uint8]


def planes_needed(mode: str) -> tuple[bool, bool, bool]:
    """Whether a mode needs ids, depth and what is hidden in its results. Marks are better with ids."""
    return mode in ("marks", "silhouette"), mode == "depth", mode == "silhouette"


def grey(picture: Pixels) -> Pixels:
    """The picture in grey of equal luminance: linear light weighed as in relative luminance,
    and back (IEC 61966-2-1). Pure red becomes 127."""
    light = linear_light(np.arange(256)).astype(np.float32)
    y: NDArray[np.float32] = light[picture] @ np.array(WEIGHTS, dtype=np.float32)
    value = np.clip(srgb_encoded(y) * 255.0 + 0.5, 0, 255).astype(np.uint8)
    return np.repeat(value[..., None], 3, axis=2)


def silhouette(
    ids: NDArray[np.uint32], owner_by_id: Mapping[int, Owner], hidden: NDArray[np.uint32] | None = None
) -> Pixels:
    """Targets and the subject in their tints, other things flat, nothing as sky; over these in stripes what
    is hidden. hidden: (h, w), ids of that."""
    most = max([int(ids.max(initial=0)), int(0 if hidden is None else hidden.max(initial=0)), *owner_by_id])
    # A table of tints by id, looked up for the whole plane at once.
    table = np.empty((most + 1, 3), dtype=np.uint8)
    table[:] = FLAT
    table[0] = EMPTY
    for number, one in owner_by_id.items():
        table[number] = ROLE_TINT[one.role]
    result: Pixels = table[ids]
    if hidden is not None:
        down, across = np.indices(ids.shape)
        step = max(LEAST_STEP_PX, round(ids.shape[1] / STEPS))
        at = (hidden > 0) & ((down + across) % step < STRIPE_SHARE * step)
        result[at] = table[hidden[at]]
    return result


def band_edges_m(results: Sequence[Result]) -> tuple[float, ...]:
    """The distances between bands, metres, common to all cells: round numbers, each twice the last."""
    depths = [result.depth_m[::8, ::8] for result in results if result.depth_m is not None]
    those = np.concatenate([d[np.isfinite(d) & (d > 0)].ravel() for d in depths]) if depths else np.zeros(0)
    if not len(those):
        return (1.0, 2.0, 4.0, 8.0, 16.0)
    near, far = np.percentile(those, [2, 96])
    step = max((far / max(near, 1e-3)) ** (1 / (BANDS - 1)), 1.25)
    edges: list[float] = []
    for k in range(BANDS - 1):
        edge = rounded(float(near * step ** (k + 0.5)))
        if not edges or edge > edges[-1]:
            edges.append(edge)
    return tuple(edges)


def rounded(metres: float) -> float:
    """The nearest of 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten."""
    power = 10.0 ** np.floor(np.log10(max(metres, 1e-6)))
    round_numbers = np.array([1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10])
    return float(round(round_numbers[int(np.argmin(np.abs(round_numbers - metres / power)))] * power, 6))


def band_inks(count: int) -> list[RGB]:
    """Greys from white (near) to ink (far), evenly spaced in code values, well apart in lightness."""
    shares = np.linspace(0.04, 0.88, count)
    return [
        (
            round(WHITE[0] + (INK[0] - WHITE[0]) * s),
            round(WHITE[1] + (INK[1] - WHITE[1]) * s),
            round(WHITE[2] + (INK[2] - WHITE[2]) * s),
        )
        for s in shares.tolist()
    ]


def depth_bands(depth_m: NDArray[np.float32], edges_m: Sequence[float]) -> Pixels:
    """The picture as bands of distance; the sky as nothing."""
    inks = np.array([*band_inks(len(edges_m) + 1), EMPTY], dtype=np.uint8)
    bands = np.searchsorted(np.array(edges_m, dtype=np.float32), depth_m)
    bands[~np.isfinite(depth_m)] = len(edges_m) + 1
    result: Pixels = inks[bands]
    return result


def picture_in_mode(
    result: Result, mode: str, owner_by_id: Mapping[int, Owner], edges_m: Sequence[float]
) -> Pixels:
    """The pixels that a cell shows in a mode. ValueError where the result lacks what it needs."""
    assert result.picture is not None
    if mode == "grey":
        return grey(result.picture)
    if mode == "silhouette":
        if result.ids is None:
            raise ValueError("the silhouette mode needs results with ids")
        return silhouette(result.ids, owner_by_id, result.hidden)
    if mode == "depth":
        if result.depth_m is None:
            raise ValueError("the depth mode needs results with depth")
        return depth_bands(result.depth_m, edges_m)
    return result.picture
