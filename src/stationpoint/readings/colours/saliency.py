"""Saliency: how far each spot of a picture is from the picture's mean colour, and where that is most.

Frequency-tuned saliency: Achanta, Hemami, Estrada and Suesstrunk, CVPR 2009. A ranking screen (common
practice), and no model of attention: it knows colour and size, and neither faces, motion, tasks nor meaning.
"""

from __future__ import annotations

from math import ceil, log, sqrt
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import linear_light, srgb_encoded
from stationpoint.base.colour_difference import lab
from stationpoint.base.geometry.pixels import piece_at
from stationpoint.camera import Seat, arcmin_between

MOST_ACROSS_PX = 640
BINOMIAL = (1 / 16, 4 / 16, 6 / 16, 4 / 16, 1 / 16)
GLANCE_ARCMIN = 60.0  # one degree: full width at half height of the blur, and the least way between two
GLANCES = 3
NOTICED = 2.3  # a step in CIELAB that is just noticeable: Mahy, Van Eycken and Oosterlinck 1994

Plane = NDArray[np.float64]
Precision = TypeVar("Precision", np.float32, np.float64)


def reduced(light: NDArray[np.float32]) -> Plane:
    """Linear light (h, w, 3) at most MOST_ACROSS_PX wide, each pixel the mean over its area."""
    height, width = light.shape[:2]
    across = min(MOST_ACROSS_PX, width)
    down = max(1, round(height * across / width))
    return _shrunk(_shrunk(light, down, 0), across, 1)


def _shrunk(values: NDArray[np.floating], count: int, axis: int) -> Plane:
    """Means over `count` equal stretches of an axis, parts of pixels counted as such."""
    whole = values.shape[axis]
    if whole == count:
        return values.astype(np.float64)
    if whole % count == 0:
        shape = (*values.shape[:axis], count, whole // count, *values.shape[axis + 1 :])
        found: Plane = values.reshape(shape).mean(axis=axis + 1, dtype=np.float64)
        return found
    total = np.cumsum(values, axis=axis, dtype=np.float64)
    total = np.concatenate([np.zeros_like(np.take(total, [0], axis)), total], axis=axis)
    ends = np.arange(count + 1) * (whole / count)
    low = np.minimum(ends.astype(np.intp), whole - 1)
    part = (ends - low).reshape([-1 if k == axis else 1 for k in range(values.ndim)])
    below, above = np.take(total, low, axis), np.take(total, low + 1, axis)
    means: Plane = np.diff(below + part * (above - below), axis=axis) * (count / whole)
    return means


def saliency(light: Plane) -> Plane:
    """|| mean Lab of the picture - Lab of the picture blurred by the 5 x 5 binomial ||, (h, w).

    light: linear, (h, w, 3). The blur is of the picture as it is coded, in sRGB. Source: Achanta et al. 2009.
    Worked: a disc (220, 40, 40) of radius 60 and one (64, 64, 64) of 20 on (128, 128, 128), 640 x 360:
    76.096 and 25.308 in the mean over them.
    """
    blurred = convolved(srgb_encoded(light), np.array(BINOMIAL))
    found: Plane = np.linalg.norm(lab(light).mean(axis=(0, 1)) - lab(linear_light(255.0 * blurred)), axis=2)
    return found


def convolved(values: NDArray[Precision], kernel: NDArray[Precision]) -> NDArray[Precision]:
    """Values (h, w, ...) blurred by a kernel along both axes, mirrored at the border's pixels."""
    for axis in (0, 1):
        half = len(kernel) // 2
        padding = [(half, half) if k == axis else (0, 0) for k in range(values.ndim)]
        wide = np.pad(values, padding, mode="reflect" if values.shape[axis] > 1 else "edge")
        count = values.shape[axis]
        values, part = np.zeros_like(values), np.empty_like(values)
        for k, share in enumerate(kernel):
            values += np.multiply(wide[(slice(None),) * axis + (slice(k, k + count),)], share, out=part)
    return values


def degree_px(seat: Seat, width: int) -> float:
    """One degree at the seat, at the screen's centre, in pixels of a picture drawn `width` px wide."""
    return GLANCE_ARCMIN / seat.arcmin_per_px * width / seat.picture_px[0]


def glance_blurred(values: NDArray[Precision], seat: Seat) -> NDArray[Precision]:
    """A picture's values (h, w, ...) blurred by one degree at the seat: a Gaussian of that full width at
    half height."""
    sigma = degree_px(seat, values.shape[1]) / (2.0 * sqrt(2.0 * log(2.0)))
    at = np.arange(-ceil(3.0 * sigma), ceil(3.0 * sigma) + 1)
    kernel = np.exp(-0.5 * (at / sigma) ** 2)
    return convolved(values, (kernel / kernel.sum()).astype(values.dtype))


def glances(found: Plane, seat: Seat) -> list[tuple[float, float]]:
    """The strongest local maxima, at most GLANCES, of saliency (h, w) blurred by one degree at the seat,
    (x, y) as fractions of the picture, at least a degree apart.

    A maximum rises by a step that can be noticed over all ways to a higher one: what differs less is one
    plateau, whose midst is given.
    """
    height, width = found.shape
    blurred = glance_blurred(found, seat)
    padded = np.pad(blurred, 1)
    around = [
        padded[1 + y : 1 + y + height, 1 + x : 1 + x + width]
        for y in (-1, 0, 1)
        for x in (-1, 0, 1)
        if x or y
    ]
    is_top = (blurred >= np.max(around, axis=0)) & (blurred > NOTICED)
    scale = np.array(seat.picture_px) / (width, height)
    spots: list[Plane] = []
    while len(spots) < GLANCES and is_top.any():
        peak = blurred[is_top].max()
        highest = int(np.flatnonzero(is_top & (blurred == peak))[0])
        hill = piece_at(blurred > peak - NOTICED, divmod(highest, width))
        is_top &= ~hill
        if blurred[hill].max() > peak:  # part of a higher one
            continue
        rows, columns = np.nonzero(hill)
        middle = ((rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2).argmin()
        spot = np.array([columns[middle], rows[middle]]) + 0.5
        if spots and arcmin_between(seat, np.array(spots) * scale, spot * scale).min() < GLANCE_ARCMIN:
            continue
        spots.append(spot)
        rows, columns = np.nonzero(is_top)
        px = (np.column_stack([columns, rows]) + 0.5) * scale
        close = arcmin_between(seat, px, spot * scale) < GLANCE_ARCMIN
        is_top[rows[close], columns[close]] = False
    return [(float(x) / width, float(y) / height) for x, y in spots]
