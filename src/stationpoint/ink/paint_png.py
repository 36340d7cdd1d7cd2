"""Page -> pixels. Decides nothing: every place, size and ink comes with the shapes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import floor
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from stationpoint.base.look import RGB
from stationpoint.ink.coverage import Mask, PixelBox, area, around, disc, empty, segments, strokes
from stationpoint.ink.letters import extent_px, words_set
from stationpoint.ink.shapes import Area, Disc, Group, Line, Page, Picture, Point, Shape, Text

Pixels: TypeAlias = NDArray[np.uint8]  # (h, w, 3) sRGB
SMALL_PX = 16384  # so few are all mixed; of more, only those that the ink touches are looked up


def paint(page: Page) -> Image.Image:
    """The page as an RGB image of its size."""
    return Image.fromarray(paint_rows(page))


class Canvas(NamedTuple):
    """Rows of a page, from its row `top` on. Shapes are worked out as on the whole page, so that the
    rows are the same however a page is divided."""

    pixels: Pixels
    top: int

    def kept(self, box: PixelBox) -> PixelBox:
        """The part of a box of the page that lies on the canvas."""
        height, width = self.pixels.shape[:2]
        return _shared(box, (0, self.top, width, self.top + height))

    def rows(self, box: PixelBox) -> Pixels:
        """The pixels of a box that lies on the canvas, to be written to."""
        place: Pixels = self.pixels[box[1] - self.top : box[3] - self.top, box[0] : box[2]]
        return place


def paint_rows(page: Page, rows: range | None = None) -> Pixels:
    """The page as (h, w, 3) uint8 sRGB pixels, or some rows of it."""
    width, height = page.size_px
    rows = range(height) if rows is None else rows
    pixels = np.empty((len(rows), width, 3), dtype=np.uint8)
    pixels[:1] = page.paper
    pixels[1:] = pixels[:1]
    _paint_all(Canvas(pixels, rows.start), page.shapes, (0.0, 0.0), (0, 0, width, height))
    return pixels


def _paint_all(canvas: Canvas, shapes: Sequence[Shape], offset: Point, clip: PixelBox) -> None:
    run: list[Line] = []
    for shape in shapes:
        if run and not (isinstance(shape, Line) and _alike(shape, run[0])):
            _paint_lines(canvas, run, offset, clip)
            run = []
        match shape:
            case Line():
                run.append(shape)
            case Area():
                _paint_area(canvas, shape, offset, clip)
            case Disc():
                _paint_disc(canvas, shape, offset, clip)
            case Text():
                _paint_text(canvas, shape, offset, clip)
            case Picture():
                _paint_picture(canvas, shape, offset, clip)
            case Group():
                inner = (offset[0] + shape.offset_px[0], offset[1] + shape.offset_px[1])
                within = _clipped(clip, shape, inner)
                if not empty(canvas.kept(within)):
                    _paint_all(canvas, shape.shapes, inner, within)
    if run:
        _paint_lines(canvas, run, offset, clip)


def _clipped(clip: PixelBox, group: Group, offset: Point) -> PixelBox:
    """The clip within a group: whole pixels, so that a picture's own edge is kept sharp."""
    if group.clip_px is None:
        return clip
    left, top, right, bottom = group.clip_px
    x, y = offset
    inner = (_near(left + x), _near(top + y), _near(right + x), _near(bottom + y))
    return _shared(clip, inner)


def _shared(one: PixelBox, other: PixelBox) -> PixelBox:
    return (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )


def _near(value: float) -> int:
    """The nearest whole number, halves upwards (Python's own rounding alternates)."""
    return floor(value + 0.5)


def _lay(
    canvas: Canvas, ink: RGB | Pixels, mask: Mask, at: tuple[int, int], clip: PixelBox, opacity: float = 1.0
) -> None:
    """Lay ink, or pixels of the mask's size, through a mask (h, w) with its upper left pixel at `at`."""
    left, top = at
    box = canvas.kept(_shared((left, top, left + mask.shape[1], top + mask.shape[0]), clip))
    if empty(box):
        return
    inked = mask[box[1] - top : box[3] - top, box[0] - left : box[2] - left]
    if isinstance(ink, np.ndarray):
        ink = ink[box[1] - top : box[3] - top, box[0] - left : box[2] - left]
    place = canvas.rows(box)
    if opacity == 1.0 and inked.min() == 255:
        place[:] = ink
    elif inked.size <= SMALL_PX:
        inks = ink.astype(np.uint16) if isinstance(ink, np.ndarray) else _row(ink, inked.shape[1])
        place[:] = _mixed(place, inks, inked, opacity)
    else:
        some = np.flatnonzero(inked != 0)  # of truths: numpy looks for those eight at a time
        row, column = np.divmod(some, inked.shape[1])
        inks = ink[row, column].astype(np.uint16) if isinstance(ink, np.ndarray) else _row(ink, len(some))
        wide = canvas.pixels.shape[1]
        which = (row + (box[1] - canvas.top)) * wide + (column + box[0])
        whole = canvas.pixels.reshape(-1, 3)
        whole[which] = _mixed(whole[which], inks, inked.ravel()[some], opacity)


@lru_cache(maxsize=1024)
def _row(ink: RGB, count: int) -> NDArray[np.uint16]:
    """One ink, (count, 3)."""
    return np.tile(np.array(ink, dtype=np.uint16), (count, 1))


def _mixed(under: Pixels, inks: NDArray[np.uint16], mask: Mask, opacity: float) -> NDArray[np.uint16]:
    """Inks over pixels (..., 3) by a mask (...), rounded.

    Worked on as rows of numbers: numpy is slow where the last axis has but three.
    """
    share = np.repeat(mask, 3, axis=-1).astype(np.uint16)
    if opacity < 1.0:
        share = (share * np.float32(opacity) + np.float32(0.5)).astype(np.uint16)
    # 255 x 255 + 127 is the largest sum: it fits into 16 bits.
    mixed = under.reshape(share.shape) * (255 - share)
    share *= inks.reshape(-1 if inks.ndim == 2 else share.shape)
    mixed += share
    mixed += 127
    mixed //= 255
    result: NDArray[np.uint16] = mixed.reshape(under.shape)
    return result


def _alike(one: Line, other: Line) -> bool:
    """Whether two lines are of one style, so that they are painted as one stroke."""
    return (one.width_px, one.ink, one.halo, one.opacity) == (
        other.width_px,
        other.ink,
        other.halo,
        other.opacity,
    )


def _paint_lines(canvas: Canvas, lines: Sequence[Line], offset: Point, clip: PixelBox) -> None:
    first = lines[0]
    inks, layers = [first.ink], [(first.width_px, first.opacity)]
    if first.halo is not None:
        inks.insert(0, first.halo.ink)
        wide = first.width_px + 2.0 * first.halo.width_px
        layers.insert(0, (wide, first.halo.opacity * first.opacity))
    reach = layers[0][0] / 2.0 + 1.0
    ends = np.array([point for line in lines for point in line.points_px]) + offset
    if empty(canvas.kept(around(ends, reach, clip))):
        return
    parts = segments(lines, offset, clip)
    if not len(parts):
        return
    box = canvas.kept(around(parts[:, :4].reshape(-1, 2), reach, clip))
    if not empty(box):
        for ink, mask in zip(inks, strokes(parts, layers, box), strict=True):
            _lay(canvas, ink, mask, box[:2], clip)


def _paint_area(canvas: Canvas, shape: Area, offset: Point, clip: PixelBox) -> None:
    rings = [np.asarray(ring) + offset for ring in shape.rings if len(ring) > 2]
    if not rings:
        return
    box = around(np.vstack(rings), 0.0, clip)
    if shape.fill is not None and not empty(canvas.kept(box)):
        _lay(canvas, shape.fill, area(rings, box, shape.edge_ink is None), box[:2], clip, shape.opacity)
    if shape.edge_ink is not None and shape.edge_width_px > 0.0:
        edges = [
            Line(ring, shape.edge_width_px, shape.edge_ink, dash=shape.edge_dash, closed=True)
            for ring in rings
        ]
        _paint_lines(canvas, edges, (0.0, 0.0), clip)


def _paint_disc(canvas: Canvas, shape: Disc, offset: Point, clip: PixelBox) -> None:
    centre = (shape.centre_px[0] + offset[0], shape.centre_px[1] + offset[1])
    edge = shape.edge_width_px if shape.edge_ink is not None else 0.0
    outer = shape.radius_px + edge / 2.0
    layers: list[tuple[RGB, float, float | None, float]] = []
    if shape.halo is not None and shape.fill is not None:
        layers.append((shape.halo.ink, outer + shape.halo.width_px, None, shape.halo.opacity))
    elif shape.halo is not None:
        layers.append((shape.halo.ink, shape.radius_px, edge + 2 * shape.halo.width_px, shape.halo.opacity))
    if shape.fill is not None:
        layers.append((shape.fill, shape.radius_px, None, 1.0))
    if shape.edge_ink is not None and edge > 0.0:
        layers.append((shape.edge_ink, shape.radius_px, edge, 1.0))
    for ink, radius, width, opacity in layers:
        box = around(np.array([centre]), radius + (width or 0.0) / 2.0 + 1.0, clip)
        if not empty(canvas.kept(box)):
            _lay(canvas, ink, disc(centre, radius, width, box), box[:2], clip, opacity)


def _paint_text(canvas: Canvas, shape: Text, offset: Point, clip: PixelBox) -> None:
    """Words, snapped to whole pixels: letters stay crisp and their masks can be kept."""
    if not shape.words:
        return
    back = {"left": 0.0, "middle": 0.5, "right": 1.0}[shape.anchor] * shape.width_px
    x, y = shape.baseline_px[0] + offset[0], shape.baseline_px[1] + offset[1]
    inset = -extent_px(shape.words, shape.size_px, shape.weight)[0]
    layers: list[tuple[RGB, int, float]] = [(shape.ink, 0, 1.0)]
    if shape.halo is not None:
        layers.insert(0, (shape.halo.ink, max(1, _near(shape.halo.width_px)), shape.halo.opacity))
    for ink, stroke_px, opacity in layers:
        mask, left, top = words_set(shape.words, shape.size_px, shape.weight, stroke_px)
        if shape.turn_deg == 0:
            at = (_near(x - back + inset) + int(left), _near(y) + int(top))
        else:
            mask = np.rot90(mask)
            at = (_near(x) + int(top), _near(y + back - inset) - int(left) - mask.shape[0])
        _lay(canvas, ink, mask, at, clip, opacity)


def _paint_picture(canvas: Canvas, shape: Picture, offset: Point, clip: PixelBox) -> None:
    height, width = shape.pixels.shape[:2]
    left, top = _near(shape.box_px[0] + offset[0]), _near(shape.box_px[1] + offset[1])
    whole = _shared((left, top, left + width, top + height), clip)
    box = canvas.kept(whole)
    if empty(box):
        return
    if shape.mask is not None:
        _lay(canvas, shape.pixels, shape.mask, (left, top), clip)
        return
    x, y = box[0] - left, box[1] - top
    right, cut_px = left + width, shape.cut_px
    corner = np.array([(right - cut_px, top), (right + 1.0, top), (right + 1.0, top + cut_px + 1.0)])
    cut = around(corner, 0.0, whole)
    kept = canvas.kept(cut)
    under = canvas.rows(kept).copy()
    canvas.rows(box)[:] = shape.pixels[y : y + box[3] - box[1], x : x + box[2] - box[0]]
    if cut_px > 0.0 and not empty(kept):
        mask = area([corner], cut)[kept[1] - cut[1] : kept[3] - cut[1], kept[0] - cut[0] : kept[2] - cut[0]]
        _lay(canvas, under, mask, kept[:2], clip)
