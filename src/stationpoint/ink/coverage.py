"""How much of each pixel a stroke, an area or a disc covers: the masks that ink is laid through.

Strokes and discs are computed from the distance of pixel centres, so that any width and place is
antialiased exactly alike. Boxes are (left, top, right, bottom) in whole pixels.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor, hypot

import numpy as np
from numpy.typing import NDArray

from stationpoint.ink.shapes import Line

Mask = NDArray[np.uint8]
PixelBox = tuple[int, int, int, int]
Distances = NDArray[np.float32]
Segments = NDArray[np.float64]  # (n, 6): x, y, x, y, blunt at the start, blunt at the end (0 or 1)

FAR_PX = 1e9
PIECE_PX = 16.0  # longer segments are worked in pieces, so that masks stay small
PATCH_ELEMENTS = 2_000_000  # so many numbers at once
FINE, COARSE, FINE_AREA_PX = 8, 4, 64 * 64  # samples a pixel and side for areas, small and large


def around(points_px: NDArray[np.float64], margin_px: float, within: PixelBox) -> PixelBox:
    """The smallest whole box round points (n, 2) and a margin, cut to `within`; may be empty."""
    left, top = points_px.min(axis=0).tolist()
    right, bottom = points_px.max(axis=0).tolist()
    return (
        max(within[0], floor(max(left - margin_px, -FAR_PX))),
        max(within[1], floor(max(top - margin_px, -FAR_PX))),
        min(within[2], ceil(min(right + margin_px, FAR_PX))),
        min(within[3], ceil(min(bottom + margin_px, FAR_PX))),
    )


def empty(box: PixelBox) -> bool:
    """Whether the box holds no pixel."""
    return box[2] <= box[0] or box[3] <= box[1]


def dashes(run_px: float, begin: float, end: float, dash: Sequence[float]) -> list[tuple[float, float]]:
    """The drawn stretches between `begin` and `end` of a segment that starts `run_px` along its line."""
    lengths = tuple(dash) * (1 + len(dash) % 2)
    period = sum(lengths)
    if period < 0.25:
        return [(begin, end)]
    at, result = floor((run_px + begin) / period) * period - run_px, []
    while at < end:
        for k in range(0, len(lengths), 2):
            first, last = max(begin, at), min(end, at + lengths[k])
            if last > first or (lengths[k] == 0.0 and begin <= at < end):
                result.append((first, last))
            at += lengths[k] + lengths[k + 1]
    return result


def segments(lines: Iterable[Line], offset_px: tuple[float, float], within: PixelBox) -> Segments:
    """The straight parts of lines, dashed, moved by `offset_px`; what lies outside is left out."""
    parts: list[tuple[float, float, float, float, bool, bool]] = []
    for line in lines:
        margin = line.width_px + (line.halo.width_px if line.halo else 0.0) + 1.0
        bounds = (within[0] - margin, within[1] - margin, within[2] + margin, within[3] + margin)
        corners = [(x + offset_px[0], y + offset_px[1]) for x, y in line.points_px]
        corners += corners[:1] if line.closed or len(corners) == 1 else []
        blunt, last = not line.round_ends, len(corners) - 2
        run = 0.0
        for k in range(last + 1):
            p, q = corners[k], corners[k + 1]
            length = hypot(q[0] - p[0], q[1] - p[1])
            a, b = _inside(p, q, bounds)
            if b >= a:
                ux, uy = ((q[0] - p[0]) / length, (q[1] - p[1]) / length) if length else (0.0, 0.0)
                begin, end = a * length, b * length
                drawn = dashes(run, begin, end, line.dash) if line.dash else [(begin, end)]
                for s, t in drawn:
                    first = blunt and (s > begin or (k == 0 and s == 0.0 and not line.closed))
                    final = blunt and (t < end or (k == last and b == 1.0 and not line.closed))
                    parts.append((p[0] + ux * s, p[1] + uy * s, p[0] + ux * t, p[1] + uy * t, first, final))
            run += length
    return np.array(parts, dtype=np.float64).reshape(-1, 6)


def _inside(
    p: tuple[float, float], q: tuple[float, float], bounds: tuple[float, float, float, float]
) -> tuple[float, float]:
    """The shares of the way from p to q between which it lies in the bounds (Liang and Barsky 1984)."""
    a, b = 0.0, 1.0
    for axis in (0, 1):
        low, high, at, step = bounds[axis], bounds[axis + 2], p[axis], q[axis] - p[axis]
        if low <= at <= high and low <= q[axis] <= high:
            continue
        if step == 0.0:
            return 1.0, 0.0
        one, two = sorted(((low - at) / step, (high - at) / step))
        a, b = max(a, one), min(b, two)
    return a, b


def strokes(parts: Segments, layers: Sequence[tuple[float, float]], box: PixelBox) -> list[Mask]:
    """Coverage (h, w) of the box by strokes along `parts`, for each (width in pixels, opacity)."""
    width, height = box[2] - box[0], box[3] - box[1]
    reach = max(width_px for width_px, _ in layers) / 2.0 + 1.0
    parts = _pieces(parts)
    long, thin = ceil(PIECE_PX + 2.0 * reach + 1.0), ceil(2.0 * reach + 1.0)
    masks = [np.zeros((height + 2 * long, width + 2 * long), dtype=np.uint8) for _ in layers]
    level, plumb = parts[:, 1] == parts[:, 3], parts[:, 0] == parts[:, 2]
    askew = ~(level | plumb)
    for these, patch in ((level, (long, thin)), (plumb & ~level, (thin, long)), (askew, (long, long))):
        if these.any():
            _stroke(masks, parts[these], layers, box, reach, patch)
    return [mask[long : long + height, long : long + width] for mask in masks]


def _stroke(
    masks: Sequence[Mask],
    parts: Segments,
    layers: Sequence[tuple[float, float]],
    box: PixelBox,
    reach: float,
    patch: tuple[int, int],
) -> None:
    """Add parts that each lie, with `reach` around them, in a patch (w, h) to masks wider than the box."""
    across, down = patch
    margin = (masks[0].shape[1] - (box[2] - box[0])) // 2
    corner = np.floor(np.minimum(parts[:, :2], parts[:, 2:4]) - reach)
    near = np.all((corner + patch > box[:2]) & (corner < box[2:]), axis=1)
    if not near.all():
        parts, corner = parts[near], corner[near]
    most = max(1, PATCH_ELEMENTS // (across * down))
    for k in range(0, len(parts), most):
        origin = corner[k : k + most]
        distance, over = _distances(parts[k : k + most], origin, patch)
        places = (origin - (box[0] - margin, box[1] - margin)).astype(int).tolist()
        for mask, (width_px, opacity) in zip(masks, layers, strict=True):
            for (x, y), one in zip(places, _covered(distance, over, width_px, opacity), strict=True):
                area = mask[y : y + down, x : x + across]
                np.maximum(area, one, out=area)


def _covered(distance: Distances, over: Distances | None, width_px: float, opacity: float) -> Mask:
    """Coverage of pixels at a distance from the middle of a stroke and `over` before a blunt end."""
    covered = np.float32(width_px / 2.0 + 0.5) - distance
    if over is not None:
        np.minimum(covered, over, out=covered)
    np.clip(covered, 0.0, min(1.0, width_px), out=covered)
    covered *= np.float32(255.0 * opacity)
    covered += np.float32(0.5)
    result: Mask = covered.astype(np.uint8)
    return result


def _pieces(parts: Segments) -> Segments:
    """The same strokes, none longer than PIECE_PX; ends are blunt where the whole one's were."""
    step = parts[:, 2:4] - parts[:, :2]
    count = np.maximum(1, np.ceil(np.hypot(step[:, 0], step[:, 1]) / PIECE_PX)).astype(int)
    if np.all(count == 1):
        return parts
    index = np.repeat(np.arange(len(parts)), count)
    which = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    share = (which / count[index])[:, None]
    start = parts[index, :2] + step[index] * share
    end = parts[index, :2] + step[index] * (share + 1.0 / count[index][:, None])
    blunt = parts[index, 4:] * np.column_stack([which == 0, which == count[index] - 1])
    return np.hstack([start, end, blunt])


def _distances(
    parts: Segments, corner: NDArray[np.float64], patch: tuple[int, int]
) -> tuple[Distances, Distances | None]:
    """Distances (n, h, w) of pixel centres from each part, and how far before blunt ends.

    corner: (n, 2), the patches' upper left pixels. patch: their width and height.
    """
    local = (parts[:, :4] - corner[:, [0, 1, 0, 1]]).astype(np.float32)[:, :, None, None]
    x0, y0 = local[:, 0], local[:, 1]
    dx, dy = local[:, 2] - x0, local[:, 3] - y0
    length = np.sqrt(dx * dx + dy * dy)
    scale = np.maximum(length, np.float32(1e-6))
    ux, uy = dx / scale, dy / scale
    ux[length == 0.0] = 1.0  # a dot: any direction does
    columns, rows = (np.arange(side, dtype=np.float32) + np.float32(0.5) for side in patch)
    x, y = columns - x0, rows[:, None] - y0
    along = x * ux + y * uy
    across = x * uy - y * ux
    beyond = along - np.clip(along, np.float32(0.0), length)
    distance: Distances = np.sqrt(beyond * beyond + across * across)
    if not parts[:, 4:].any():
        return distance, None
    free = np.where(parts[:, 4:] > 0.0, 0.5, 1e6).astype(np.float32)[:, :, None, None]
    return distance, np.minimum(along + free[:, 0], length - along + free[:, 1])


def disc(centre_px: tuple[float, float], radius_px: float, edge_px: float | None, box: PixelBox) -> Mask:
    """Coverage (h, w) of a disc, or of its edge, `edge_px` wide and centred on the radius."""
    x = np.arange(box[0], box[2]) + 0.5 - centre_px[0]
    y = np.arange(box[1], box[3]) + 0.5 - centre_px[1]
    distance = np.sqrt(x[None, :] ** 2 + y[:, None] ** 2)
    if edge_px is None:
        covered = np.clip(radius_px + 0.5 - distance, 0.0, 1.0)
    else:
        covered = np.clip(edge_px / 2 + 0.5 - np.abs(distance - radius_px), 0.0, min(1.0, edge_px))
    result: Mask = (covered * 255.0 + 0.5).astype(np.uint8)
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
    """Whether a ring is a rectangle with level and plumb sides."""
    if len(ring) != 4:
        return False
    low, high = ring.min(axis=0), ring.max(axis=0)
    turns = np.any(ring != np.roll(ring, -1, axis=0), axis=1)
    level = np.any(ring == np.roll(ring, -1, axis=0), axis=1)
    corners = np.all((ring == low) | (ring == high))
    return bool(corners and np.all(turns) and np.all(level))


def _rectangle(ring: NDArray[np.float64], box: PixelBox) -> Mask:
    """Exact coverage of an upright rectangle."""
    shares = []
    for axis in (0, 1):
        edge = np.arange(box[axis], box[axis + 2] + 1, dtype=np.float64)
        shares.append(np.diff(np.clip(edge, ring[:, axis].min(), ring[:, axis].max())))
    result: Mask = (np.outer(shares[1], shares[0]) * 255.0 + 0.5).astype(np.uint8)
    return result


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
