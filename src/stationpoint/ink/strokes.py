"""Strokes as pixels: many at once, each pixel with how much of it a stroke covers.

Coverage is computed from the distance of pixel centres, so that any width and place is antialiased
exactly alike. Lines become straight parts, dashed and cut to what is seen; parts become pieces, no longer
than PIECE_PX; pieces become rows of the pixels that their ink can reach. Each step is done for all strokes
at once. Boxes are (left, top, right, bottom) in whole pixels.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, pairwise
from math import ceil, floor
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import RGB
from stationpoint.ink.coverage import Mask, PixelBox
from stationpoint.ink.shapes import Line, Point

Floats: TypeAlias = NDArray[np.float64]
Whole: TypeAlias = NDArray[np.int64]

PIECE_PX = 16.0  # so that 32 bits tell places along a piece well enough
PIXELS_AT_ONCE = 1 << 16  # about so many stay in a processor's cache
LEAST_RISE = 1e-6  # a flatter piece is level


class Layer(NamedTuple):
    """What is laid along a stroke. width_px: the whole width."""

    ink: RGB
    width_px: float
    opacity: float


class Stroke(NamedTuple):
    """Lines of one style, moved by an offset and clipped. layers: lowest first; none of one line lies on a
    higher one of another."""

    lines: Sequence[Line]
    offset_px: Point
    clip: PixelBox
    layers: tuple[Layer, ...]


class Parts(NamedTuple):
    """Straight parts, in the order of their strokes.

    ends: (n, 4), x, y, x, y. blunt: (n, 2), whether the start and the end are. of: (n,), the numbers of
    the strokes.
    """

    ends: Floats
    blunt: NDArray[np.bool_]
    of: Whole


class Covered(NamedTuple):
    """Pixels of a box, counted row by row from its upper left, and how much of each is covered, 0 to 255.
    One comes once for every piece whose ink can reach it: the most counts."""

    pixels: Whole
    mask: Mask


def stroke_of(lines: Sequence[Line], offset_px: Point, clip: PixelBox) -> Stroke:
    """Lines of one style as a stroke: their ink, and their halo below."""
    first = lines[0]
    layers: tuple[Layer, ...] = (Layer(first.ink, first.width_px, first.opacity),)
    if first.halo is not None:
        wide, opacity = first.width_px + 2.0 * first.halo.width_px, first.halo.opacity * first.opacity
        layers = (Layer(first.halo.ink, wide, opacity), *layers)
    return Stroke(lines, offset_px, clip, layers)


def reached(stroke: Stroke) -> PixelBox:
    """The part of a stroke's clip above and below which none of its ink lies."""
    reach, down = stroke.layers[0].width_px / 2.0 + 2.0, stroke.offset_px[1]
    heights = [y for line in stroke.lines for _, y in line.points_px]
    left, _, right, _ = stroke.clip
    return left, floor(min(heights) + down - reach), right, ceil(max(heights) + down + reach)


def stroke_pixels(strokes: Sequence[Stroke], box: PixelBox) -> Iterator[list[Covered]]:
    """For each layer of each stroke the pixels that it covers, in one lot, or several if they are many."""
    if not strokes:
        return
    layers = np.array([(width, opacity) for one in strokes for _, width, opacity in one.layers])
    stroke = np.repeat(np.arange(len(strokes)), [len(one.layers) for one in strokes])
    reach = np.array([one.layers[0].width_px / 2.0 + 1.0 for one in strokes])
    clips = np.array([one.clip for one in strokes], dtype=np.int64)
    clips = np.hstack([np.maximum(clips[:, :2], box[:2]), np.minimum(clips[:, 2:], box[2:])])
    pieces = _pieces(_seen(_parts(strokes), clips, reach))
    first, last = (np.searchsorted(pieces.of, stroke, side) for side in ("left", "right"))
    till = np.cumsum(last - first)  # of the layers' pieces, one layer after the other
    layer = np.repeat(np.arange(len(stroke)), last - first)
    which = np.arange(len(layer)) + (last - till)[layer]
    wide = layers[layer, 0] + 2.0
    most = np.cumsum(wide * (wide + PIECE_PX))  # pixels so far
    cuts = np.flatnonzero(np.diff(most // PIXELS_AT_ONCE)) + 1
    lots: list[Covered] = []
    done = 0
    for a, b in pairwise([0, *cuts.tolist(), len(layer)]):
        these, of = which[a:b], stroke[layer[a:b]]
        some = Parts(pieces.ends[these], pieces.blunt[these], of)
        pixels, covered, ends = _pixels(some, reach[of], layers[layer[a:b]], clips[of], box)
        at = 0
        while done < len(till) and till[done] <= b:
            to = int(ends[till[done] - a])
            yield [*lots, Covered(pixels[at:to], covered[at:to])]
            lots, at, done = [], to, done + 1
        lots.append(Covered(pixels[at:], covered[at:]))


def _parts(strokes: Sequence[Stroke]) -> Parts:
    """The straight parts of strokes, dashed; what lies outside of a stroke's clip is left out."""
    lines = [line for one in strokes for line in one.lines]
    each = np.repeat(np.arange(len(strokes)), [len(one.lines) for one in strokes])
    runs = [_corners(line) for line in lines]
    counts = np.array([len(run) for run in runs])
    corners = np.array(list(chain.from_iterable(runs)), dtype=np.float64).reshape(-1, 2)
    corners += np.repeat(np.array([one.offset_px for one in strokes])[each], counts, axis=0)
    after = np.cumsum(counts)
    goes_on = np.ones(len(corners), dtype=bool)
    goes_on[after[counts > 0] - 1] = False
    p, q = corners[goes_on], corners[1:][goes_on[:-1]]
    line = np.repeat(np.arange(len(lines)), np.maximum(counts - 1, 0))
    of = each[line]
    margin = np.array([(one.layers[0].width_px + one.layers[-1].width_px) / 2.0 + 1.0 for one in strokes])
    bounds = np.array([one.clip for one in strokes]) + margin[:, None] * (-1.0, -1.0, 1.0, 1.0)
    a, b = _inside(p, q, bounds[of])
    step = q - p
    length = np.hypot(step[:, 0], step[:, 1])
    along = step / np.where(length > 0.0, length, 1.0)[:, None]
    begin, end = a * length, b * length

    dashed = np.array([bool(one.dash) for one in lines])
    plain = np.flatnonzero((b >= a) & ~dashed[line])
    which, s, t = plain.tolist(), begin[plain].tolist(), end[plain].tolist()
    for k in np.flatnonzero(dashed).tolist():
        run = 0.0
        for m in range(*np.searchsorted(line, (k, k + 1)).tolist()):
            if b[m] >= a[m]:
                for first, last in dashes(run, float(begin[m]), float(end[m]), lines[k].dash):
                    which.append(m)
                    s.append(first)
                    t.append(last)
            run += float(length[m])
    at, since, until = np.array(which, dtype=np.int64), np.array(s), np.array(t)
    order = np.argsort(at, kind="stable")
    at, since, until = at[order], since[order], until[order]

    ends = np.hstack([p[at] + along[at] * since[:, None], p[at] + along[at] * until[:, None]])
    blunt = np.array([not one.round_ends for one in lines])[line]
    open_ = np.array([not one.closed for one in lines])[line]
    begins, stops = np.diff(line, prepend=-1) > 0, np.diff(line, append=len(lines)) > 0
    first = (since > begin[at]) | ((begins & open_)[at] & (since == 0.0))
    final = (until < end[at]) | (stops & open_ & (b == 1.0))[at]
    return Parts(ends, blunt[at, None] & np.column_stack([first, final]), of[at])


def _corners(line: Line) -> Sequence[Point]:
    """The points of a line, the first once more where it ends there; a dot goes from itself to itself."""
    points: Sequence[Point] = line.points_px  # type: ignore[assignment]
    return (*points, *points[:1]) if line.closed or len(points) == 1 else points


def _inside(p: Floats, q: Floats, bounds: Floats) -> tuple[Floats, Floats]:
    """The shares of the ways from p to q (n, 2) between which they lie in their bounds (n, 4): from the
    first to the second, nowhere if that is less (Liang and Barsky 1984)."""
    step = q - p
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (bounds[:, :2] - p) / step, (bounds[:, 2:] - p) / step
    still = (step == 0.0) & (bounds[:, :2] <= p) & (p <= bounds[:, 2:])
    one[still], two[still] = 0.0, 1.0  # where it never leaves; where it never enters they are alike infinite
    a = np.minimum(one, two).max(axis=1)
    b = np.maximum(one, two).min(axis=1)
    return np.clip(a, 0.0, 2.0), np.clip(b, -1.0, 1.0)  # finite where they are nowhere


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


def _seen(parts: Parts, clips: Whole, reach: Floats) -> Parts:
    """The parts whose ink may reach into their strokes' clips."""
    low = np.minimum(parts.ends[:, :2], parts.ends[:, 2:]) - reach[parts.of, None]
    high = np.maximum(parts.ends[:, :2], parts.ends[:, 2:]) + reach[parts.of, None]
    near = np.all((high > clips[parts.of, :2]) & (low < clips[parts.of, 2:]), axis=1)
    return Parts(parts.ends[near], parts.blunt[near], parts.of[near])


def _pieces(parts: Parts) -> Parts:
    """The same parts, none longer than PIECE_PX; ends are blunt where the whole one's were."""
    step = parts.ends[:, 2:] - parts.ends[:, :2]
    count = np.maximum(1, np.ceil(np.hypot(step[:, 0], step[:, 1]) / PIECE_PX)).astype(np.int64)
    index = np.repeat(np.arange(len(count)), count)
    which = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    share, whole = which / count[index], 1.0 / count[index]
    start = parts.ends[index, :2] + step[index] * share[:, None]
    end = parts.ends[index, :2] + step[index] * (share + whole)[:, None]
    at_ends = np.column_stack([which == 0, which == count[index] - 1])
    return Parts(np.hstack([start, end]), parts.blunt[index] & at_ends, parts.of[index])


def _pixels(
    pieces: Parts, reach: Floats, layers: Floats, clips: Whole, box: PixelBox
) -> tuple[Whole, Mask, Whole]:
    """The pixels that the ink of pieces can reach, how much of each is covered, and where in the list those
    of each piece begin, and the last ones end.

    reach: (n,), of the lowest layer. layers: (n, 2), width and opacity. clips: (n, 4), within the box.
    """
    low, high = (f(pieces.ends[:, :2], pieces.ends[:, 2:]) for f in (np.minimum, np.maximum))
    corner = np.floor(low - reach[:, None])  # what is near it is told well by 32 bits
    x0, y0, x1, y1 = (pieces.ends - np.tile(corner, 2)).astype(np.float32).T
    dx, dy = x1 - x0, y1 - y0
    length = np.sqrt(dx * dx + dy * dy)
    scale = np.maximum(length, np.float32(1e-6))
    ux, uy = np.where(length == 0.0, np.float32(1.0), dx / scale), dy / scale  # a dot: any direction does
    half = layers[:, 0] / 2.0 + 0.5

    # The rows of pixels whose centres lie within `half` of a piece's height, and how much of each does of the
    # piece, its sides taken for endless, and of its width.
    top = np.maximum(np.ceil(low[:, 1] - half - 0.5), clips[:, 1]).astype(np.int64)
    bottom = np.minimum(np.floor(high[:, 1] + half + 0.5), clips[:, 3]).astype(np.int64)
    rows = np.maximum(bottom - top, 0)
    piece = np.repeat(np.arange(len(rows)), rows)
    row = np.arange(len(piece)) + (top - (np.cumsum(rows) - rows))[piece]
    rise = np.where(np.abs(uy) < LEAST_RISE, LEAST_RISE, uy).astype(np.float64)
    middle = pieces.ends[piece, 0] + (row + 0.5 - pieces.ends[piece, 1]) * (ux / rise)[piece]
    beside = (half / np.abs(rise))[piece]
    left = np.ceil(np.maximum(middle - beside, (low[:, 0] - half)[piece]) - 0.5)
    right = np.floor(np.minimum(middle + beside, (high[:, 0] + half)[piece]) + 0.5)
    left = np.maximum(left, clips[piece, 0]).astype(np.int64)
    right = np.minimum(right, clips[piece, 2]).astype(np.int64)
    counts = np.maximum(right - left, 0)

    span = np.repeat(np.arange(len(counts)), counts)
    number = np.arange(len(span))
    after = np.cumsum(counts)
    left -= after - counts
    pixels = number + (left + (row - box[1]) * (box[2] - box[0]) - box[0])[span]

    y = (row - corner[piece, 1]).astype(np.float32) + np.float32(0.5) - y0[piece]
    x = (number + (left - corner[piece, 0].astype(np.int64))[span]).astype(np.float32)
    x += np.float32(0.5)
    x -= x0[piece][span]
    of = piece[span]
    along, across = x * ux[of], x * uy[of]
    along += (y * uy[piece])[span]
    across -= (y * ux[piece])[span]
    beyond = along - np.minimum(np.maximum(along, np.float32(0.0)), length[of])
    beyond *= beyond
    across *= across
    beyond += across
    covered = half.astype(np.float32)[of] - np.sqrt(beyond)
    some = np.flatnonzero(np.any(pieces.blunt, axis=1)[of])
    free = np.where(pieces.blunt, np.float32(0.5), np.float32(np.inf))[of[some]]
    before = np.minimum(along[some] + free[:, 0], length[of[some]] - along[some] + free[:, 1])
    covered[some] = np.minimum(covered[some], before)
    np.maximum(covered, np.float32(0.0), out=covered)
    np.minimum(covered, np.minimum(layers[:, 0], 1.0).astype(np.float32)[of], out=covered)
    covered *= (255.0 * layers[:, 1]).astype(np.float32)[of]
    covered += np.float32(0.5)
    ends = np.concatenate([[0], after])[np.concatenate([[0], np.cumsum(rows)])]
    return pixels, covered.astype(np.uint8), ends
