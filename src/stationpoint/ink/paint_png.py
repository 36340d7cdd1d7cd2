"""Page -> pixels. Decides nothing: every place, size and ink comes with the shapes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import RGB
from stationpoint.ink.coverage import Mask, PixelBox, area, around, disc, empty
from stationpoint.ink.letters import rows_px, words_set
from stationpoint.ink.painting import (
    clip_within,
    disc_layers,
    halo_px,
    joined_lines,
    moved,
    nearest_px,
    shared_box,
    ungrouped,
    words_origin,
)
from stationpoint.ink.shapes import Area, Disc, Group, Line, Page, Picture, Point, Shape, Text
from stationpoint.ink.strokes import Covered, Stroke, reached, stroke_of, stroke_pixels

if TYPE_CHECKING:
    from PIL import Image

Pixels: TypeAlias = NDArray[np.uint8]  # (h, w, 3) sRGB
Inks: TypeAlias = NDArray[np.uint16]
SMALL_PX = 16384  # so few are all mixed; of more, only those that the ink touches are looked up
PIXEL = np.dtype("V3")  # the three bytes of a pixel as one thing: numpy takes and puts those fastest
AT_ONCE = 1024  # shapes
ROW_PX = 4096  # rows of one ink, no longer, are kept


def paint(page: Page) -> Image.Image:
    """The page as an RGB image of its size."""
    from PIL import Image  # late: not every call paints

    return Image.fromarray(paint_rows(page))


class Canvas(NamedTuple):
    """Rows of a page, from its row `top` on. Shapes are worked out as on the whole page, so that the
    rows are the same however a page is divided."""

    pixels: Pixels
    top: int

    def kept(self, box: PixelBox) -> PixelBox:
        """The part of a box of the page that lies on the canvas."""
        height, width = self.pixels.shape[:2]
        return shared_box(box, (0, self.top, width, self.top + height))

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
    _paint_all(Canvas(pixels, rows.start), page)
    return pixels


def _paint_all(canvas: Canvas, page: Page) -> None:
    """Lay the shapes of a page in their order; what strokes cover is worked out for many at once."""
    height, width = canvas.pixels.shape[:2]
    box = (0, canvas.top, width, canvas.top + height)
    most = np.zeros(height * width, dtype=np.uint8)
    placed = _placed(canvas, page.shapes, (0.0, 0.0), (0, 0, *page.size_px))
    while some := list(islice(placed, AT_ONCE)):
        pixels = stroke_pixels([one for one in some if isinstance(one, Stroke)], box)
        for one in some:
            if isinstance(one, Stroke):
                for ink, _, _ in one.layers:
                    _lay_stroke(canvas, ink, next(pixels), most)
            else:
                _paint(canvas, *one)


def _placed(
    canvas: Canvas, shapes: Sequence[Shape], offset: Point, clip: PixelBox
) -> Iterator[Stroke | tuple[Shape, Point, PixelBox]]:
    """Shapes in order, each with its offset and its clip; lines, and the edges of areas, as strokes. Lines
    above or below the canvas are left out."""
    is_within = canvas.kept(clip) == clip
    for shape in joined_lines(ungrouped(shapes)):
        if isinstance(shape, list):
            stroke = stroke_of(shape, offset, clip)
            if is_within or not empty(canvas.kept(reached(stroke))):
                yield stroke
        elif isinstance(shape, Group):
            inner = moved(offset, shape)
            within = clip_within(clip, shape, inner)
            if not empty(canvas.kept(within)):
                yield from _placed(canvas, shape.shapes, inner, within)
        else:
            if not isinstance(shape, Area) or shape.fill is not None:
                yield shape, offset, clip
            if isinstance(shape, Area) and shape.edge_ink is not None and shape.edge_width_px > 0.0:
                width_px, ink, dash = shape.edge_width_px, shape.edge_ink, shape.edge_dash
                rings = (ring for ring in shape.rings if len(ring) > 2)
                edges = [Line(ring, width_px, ink, dash=dash, closed=True) for ring in rings]
                if edges:
                    yield stroke_of(edges, offset, clip)


def _paint(canvas: Canvas, shape: Shape, offset: Point, clip: PixelBox) -> None:
    match shape:
        case Area():
            _paint_area(canvas, shape, offset, clip)
        case Disc():
            _paint_disc(canvas, shape, offset, clip)
        case Text():
            _paint_text(canvas, shape, offset, clip)
        case Picture():
            _paint_picture(canvas, shape, offset, clip)


def _lay_stroke(canvas: Canvas, ink: RGB, lots: Sequence[Covered], most: Mask) -> None:
    """Lay ink on pixels of the canvas, once on each. most: a zero for every pixel, to work in."""
    for pixels, mask in lots:
        np.maximum.at(most, pixels, mask)
    for pixels, _ in lots:
        mask = most.take(pixels)
        most[pixels] = 0  # so that nothing is laid on those that come again in another lot
        _lay_on(canvas, pixels, _row(ink, len(pixels)), mask)


def _lay_on(canvas: Canvas, pixels: NDArray[np.int64], inks: Inks, mask: Mask) -> None:
    """Lay inks (3 n,) on pixels (n,) of the canvas, counted row by row."""
    whole = canvas.pixels.reshape(-1).view(PIXEL)
    whole[pixels] = _mixed(whole.take(pixels).view(np.uint8), inks, mask).astype(np.uint8).view(PIXEL)


def _lay(
    canvas: Canvas, ink: RGB | Pixels, mask: Mask, at: tuple[int, int], clip: PixelBox, opacity: float = 1.0
) -> None:
    """Lay ink, or pixels of the mask's size, through a mask (h, w) with its upper left pixel at `at`."""
    left, top = at
    box = canvas.kept(shared_box((left, top, left + mask.shape[1], top + mask.shape[0]), clip))
    if empty(box):
        return
    mask = mask[box[1] - top : box[3] - top, box[0] - left : box[2] - left]
    if opacity < 1.0:
        mask = (mask * np.float32(opacity) + np.float32(0.5)).astype(np.uint8)
    inks: Inks
    if isinstance(ink, np.ndarray):
        inks = ink[box[1] - top : box[3] - top, box[0] - left : box[2] - left].astype(np.uint16)
        inks = inks.reshape(mask.shape[0], -1)
    else:
        inks = _row(ink, mask.shape[1])
    place = canvas.rows(box)
    if mask.min() == 255:
        place[:] = inks.reshape(-1, *place.shape[1:])
    elif mask.size <= SMALL_PX:
        place[:] = _mixed(place.reshape(len(place), -1), inks, mask).reshape(place.shape)
    else:
        some = np.flatnonzero(mask != 0)  # of truths: numpy looks for those eight at a time
        row, column = np.divmod(some, mask.shape[1])
        inks = np.broadcast_to(inks, (len(mask), inks.shape[-1])).reshape(*mask.shape, 3)[row, column].ravel()
        wide = canvas.pixels.shape[1]
        pixels = (row + (box[1] - canvas.top)) * wide + (column + box[0])
        _lay_on(canvas, pixels, inks, mask.ravel()[some])


def _row(ink: RGB, count: int) -> Inks:
    """One ink (3 count,)."""
    return _long_row(ink)[: 3 * count] if count <= ROW_PX else np.tile(_long_row(ink)[:3], count)


@lru_cache(maxsize=64)
def _long_row(ink: RGB) -> Inks:
    return np.tile(np.array(ink, dtype=np.uint16), ROW_PX)


def _mixed(under: Pixels, inks: Inks, mask: Mask) -> Inks:
    """Inks (..., 3 w) over pixels (..., 3 w) by a mask (..., w), rounded.

    Rows of numbers: numpy is slow where the last axis has but three.
    """
    share = mask.repeat(3, axis=-1).astype(np.uint16)
    # 255 x 255 + 127 is the largest sum: it fits into 16 bits.
    mixed: Inks = under * (255 - share)
    share *= inks
    mixed += share
    mixed += 127
    mixed //= 255
    return mixed


def _paint_area(canvas: Canvas, shape: Area, offset: Point, clip: PixelBox) -> None:
    rings = [np.asarray(ring) + offset for ring in shape.rings if len(ring) > 2]
    if not rings:
        return
    every = np.vstack(rings)
    box = around(every.min(axis=0).tolist(), every.max(axis=0).tolist(), 0.0, clip)
    if shape.fill is not None and not empty(canvas.kept(box)):
        _lay(canvas, shape.fill, area(rings, box, shape.edge_ink is None), box[:2], clip, shape.opacity)


def _paint_disc(canvas: Canvas, shape: Disc, offset: Point, clip: PixelBox) -> None:
    centre = (shape.centre_px[0] + offset[0], shape.centre_px[1] + offset[1])
    for ink, radius, width, opacity in disc_layers(shape):
        box = around(centre, centre, radius + (width or 0.0) / 2.0 + 1.0, clip)
        if not empty(canvas.kept(box)):
            _lay(canvas, ink, disc(centre, radius, width, box), box[:2], clip, opacity)


def _paint_text(canvas: Canvas, shape: Text, offset: Point, clip: PixelBox) -> None:
    """Words, snapped to whole pixels: letters stay crisp and their masks can be kept."""
    if not shape.words:
        return
    x, y = words_origin(shape, offset)
    layers: list[tuple[RGB, int, float]] = [(shape.ink, 0, 1.0)]
    if shape.halo is not None:
        layers.insert(0, (shape.halo.ink, halo_px(shape.halo), shape.halo.opacity))
    for ink, stroke_px, opacity in layers:
        if shape.turn_deg == 0:
            first, last = rows_px(shape.words, shape.size_px, shape.weight, stroke_px)
            if empty(canvas.kept((clip[0], y + first, clip[2], y + last))):
                continue
        mask, left, top = words_set(shape.words, shape.size_px, shape.weight, stroke_px)
        if shape.turn_deg == 0:
            at = (x + left, y + top)
        else:
            mask = np.rot90(mask)
            at = (x + top, y - left - mask.shape[0])
        _lay(canvas, ink, mask, at, clip, opacity)


def _paint_picture(canvas: Canvas, shape: Picture, offset: Point, clip: PixelBox) -> None:
    height, width = shape.pixels.shape[:2]
    left, top = nearest_px(shape.box_px[0] + offset[0]), nearest_px(shape.box_px[1] + offset[1])
    whole = shared_box((left, top, left + width, top + height), clip)
    box = canvas.kept(whole)
    if empty(box):
        return
    if shape.mask is not None:
        _lay(canvas, shape.pixels, shape.mask, (left, top), clip)
        return
    x, y = box[0] - left, box[1] - top
    right, cut_px = left + width, shape.cut_px
    corner = np.array([(right - cut_px, top), (right + 1.0, top), (right + 1.0, top + cut_px + 1.0)])
    cut = around((right - cut_px, top), (right + 1.0, top + cut_px + 1.0), 0.0, whole)
    kept = canvas.kept(cut)
    under = canvas.rows(kept).copy()
    canvas.rows(box)[:] = shape.pixels[y : y + box[3] - box[1], x : x + box[2] - box[0]]
    if cut_px > 0.0 and not empty(kept):
        mask = area([corner], cut)[kept[1] - cut[1] : kept[3] - cut[1], kept[0] - cut[0] : kept[2] - cut[0]]
        _lay(canvas, under, mask, kept[:2], clip)
