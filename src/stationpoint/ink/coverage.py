"""How much of each pixel an area or a disc covers: the masks that ink is laid through.

Boxes are (left, top, right, bottom) in whole pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from stationpoint.ink.shapes import Point

Mask = NDArray[np.uint8]
PixelBox = tuple[int, int, int, int]

FAR_PX = 1e9
FINE, COARSE, FINE_AREA_PX = 8, 4, 64 * 64  # samples a pixel and side for areas, small and large


def around(low: Point, high: Point, margin_px: float, within: PixelBox) -> PixelBox:
    """The smallest whole box round what lies between two corners and a margin, cut to `within`; may be
    empty."""
    return (
        max(within[0], floor(max(low[0] - margin_px, -FAR_PX))),
        max(within[1], floor(max(low[1] - margin_px, -FAR_PX))),
        min(within[2], ceil(min(high[0] + margin_px, FAR_PX))),
        min(within[3], ceil(min(high[1] + margin_px, FAR_PX))),
    )


def empty(box: PixelBox) -> bool:
    """Whether the box holds no pixel."""
    return box[2] <= box[0] or box[3] <= box[1]


def disc(centre_px: tuple[float, float], radius_px: float, edge_px: float | None, box: PixelBox) -> Mask:
    """Coverage (h, w) of a disc, or of its edge, `edge_px` wide and centred on the radius."""
    x = np.arange(box[0], box[2]) + 0.5 - centre_px[0]
    y = np.arange(box[1], box[3]) + 0.5 - centre_px[1]
    distance = np.sqrt(x * x + (y * y)[:, None])
    if edge_px is None:
        covered, most = radius_px + 0.5 - distance, 1.0
    else:
        covered, most = edge_px / 2 + 0.5 - np.abs(distance - radius_px), min(1.0, edge_px)
    result: Mask = (np.minimum(np.maximum(covered, 0.0), most) * 255.0 + 0.5).astype(np.uint8)
    return result


def area(rings: Sequence[NDArray[np.float64]], box: PixelBox, fine: bool = True) -> Mask:
    """Coverage (h, w) of the box by rings (n, 2); holes by the even-odd rule.

    fine: small areas are sampled finely; not needed where a line lies over the border.
    """
    width, height = box[2] - box[0], box[3] - box[1]
    if len(rings) == 1 and _upright(rings[0]):
        return _rectangle(rings[0], box)
    from PIL import Image, ImageChops, ImageDraw  # late: not every call paints

    scale = FINE if fine and width * height <= FINE_AREA_PX else COARSE
    whole: Image.Image | None = None
    for ring in rings:
        one = Image.new("L", (width * scale, height * scale))
        corners = np.rint((_cut_to(ring, box) - box[:2]) * scale - 0.5)
        if len(corners) > 2:
            ImageDraw.Draw(one).polygon([(x, y) for x, y in corners.tolist()], fill=255)
        whole = one if whole is None else ImageChops.difference(whole, one)
    assert whole is not None
    result: Mask = np.asarray(whole.reduce(scale))
    return result


def _upright(ring: NDArray[np.float64]) -> bool:
    """Whether a ring is a rectangle with level and plumb sides: they take turns."""
    if len(ring) != 4:
        return False
    corners = ring.tolist()
    level, plumb = ([p[axis] == q[axis] for p, q in pairwise([*corners, corners[0]])] for axis in (1, 0))
    return level in ([True, False] * 2, [False, True] * 2) and plumb == [not one for one in level]


def _rectangle(ring: NDArray[np.float64], box: PixelBox) -> Mask:
    """Exact coverage of a box by an upright rectangle that has a share of each of its pixels."""
    low, high = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
    across, down = (np.ones(box[axis + 2] - box[axis]) for axis in (0, 1))
    for axis, shares in enumerate((across, down)):
        for k, edge in ((0, box[axis]), (-1, box[axis + 2] - 1)):
            shares[k] = min(edge + 1.0, high[axis]) - max(edge, low[axis])
    mask = np.empty((len(down), len(across)), dtype=np.uint8)
    mask[:] = (across * 255.0 + 0.5).astype(np.uint8)
    for k in (0, -1):
        mask[k] = (across * down[k] * 255.0 + 0.5).astype(np.uint8)
    return mask


def _cut_to(ring: NDArray[np.float64], box: PixelBox) -> NDArray[np.float64]:
    """The ring cut to a box 2 px larger (Sutherland and Hodgman 1974), unchanged if it lies within."""
    low, high = np.array(box[:2]) - 2.0, np.array(box[2:]) + 2.0
    if np.all(ring >= low) and np.all(ring <= high):
        return ring
    corners = [(float(x), float(y)) for x, y in ring]
    for axis, bound, sign in ((0, low[0], 1), (0, high[0], -1), (1, low[1], 1), (1, high[1], -1)):
        kept: list[tuple[float, float]] = []
        for k, q in enumerate(corners):
            p = corners[k - 1]
            p_in, q_in = sign * (p[axis] - bound) >= 0.0, sign * (q[axis] - bound) >= 0.0
            if p_in != q_in:
                share = (bound - p[axis]) / (q[axis] - p[axis])
                kept.append((p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share))
            if q_in:
                kept.append(q)
        corners = kept
    return np.array(corners, dtype=np.float64).reshape(-1, 2)
