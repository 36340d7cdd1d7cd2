"""Page -> pixels. Decides nothing: every place, size and ink comes with the shapes."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from stationpoint.ink.coverage import Mask, PixelBox, area, around, disc, empty, segments, strokes
from stationpoint.ink.letters import words_set
from stationpoint.ink.shapes import Area, Disc, Group, Line, Page, Picture, Point, Shape, Text
from stationpoint.ink.type import extent_px
from stationpoint.look import RGB

Pixels: TypeAlias = NDArray[np.uint8]  # (h, w, 3) sRGB


def paint(page: Page) -> Image.Image:
    """The page as an RGB image of its size."""
    return Image.fromarray(painted(page))


def painted(page: Page) -> Pixels:
    """The page as (h, w, 3) uint8 sRGB pixels."""
    width, height = page.size_px
    canvas = np.empty((height, width, 3), dtype=np.uint8)
    canvas[:1] = page.paper
    canvas[1:] = canvas[0]
    _paint_all(canvas, page.shapes, (0.0, 0.0), (0, 0, width, height))
    return canvas


def _paint_all(canvas: Pixels, shapes: Sequence[Shape], offset: Point, clip: PixelBox) -> None:
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
                _paint_all(canvas, shape.shapes, inner, _clipped(clip, shape, inner))
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
    canvas: Pixels, ink: RGB | Pixels, mask: Mask, at: Point, clip: PixelBox, opacity: float = 1.0
) -> None:
    """Lay ink, or pixels of the mask's size, through a mask (h, w) with its upper left pixel at `at`."""
    left, top = int(at[0]), int(at[1])
    box = _shared((left, top, left + mask.shape[1], top + mask.shape[0]), clip)
    if empty(box):
        return
    width = box[2] - box[0]
    inked = mask[box[1] - top : box[3] - top, box[0] - left : box[2] - left]
    some = inked != 0
    share = inked[some].astype(np.uint16)[:, None]
    if opacity < 1.0:
        share = (share * opacity + 0.5).astype(np.uint16)
    if isinstance(ink, np.ndarray):
        ink = ink[box[1] - top : box[3] - top, box[0] - left : box[2] - left][some]
    which = np.flatnonzero(some)
    which += which // width * (canvas.shape[1] - width) + (box[1] * canvas.shape[1] + box[0])
    whole = canvas.reshape(-1, 3)
    # 255 x 255 + 127 is the largest sum: it fits into 16 bits.
    mixed = np.asarray(ink, dtype=np.uint16) * share
    mixed += whole[which] * (255 - share)
    mixed += 127
    mixed //= 255
    whole[which] = mixed


def _alike(one: Line, other: Line) -> bool:
    """Whether two lines are of one style, so that they are painted as one stroke."""
    return (one.width_px, one.ink, one.halo, one.opacity) == (
        other.width_px,
        other.ink,
        other.halo,
        other.opacity,
    )


def _paint_lines(canvas: Pixels, lines: Sequence[Line], offset: Point, clip: PixelBox) -> None:
    first = lines[0]
    inks, layers = [first.ink], [(first.width_px, first.opacity)]
    if first.halo is not None:
        inks.insert(0, first.halo.ink)
        wide = first.width_px + 2.0 * first.halo.width_px
        layers.insert(0, (wide, first.halo.opacity * first.opacity))
    parts = segments(lines, offset, clip)
    if not len(parts):
        return
    box = around(parts[:, :4].reshape(-1, 2), layers[0][0] / 2.0 + 1.0, clip)
    if not empty(box):
        for ink, mask in zip(inks, strokes(parts, layers, box), strict=True):
            _lay(canvas, ink, mask, box[:2], clip)


def _paint_area(canvas: Pixels, shape: Area, offset: Point, clip: PixelBox) -> None:
    rings = [np.asarray(ring) + offset for ring in shape.rings if len(ring) > 2]
    if not rings:
        return
    box = around(np.vstack(rings), 0.0, clip)
    if shape.fill is not None and not empty(box):
        _lay(canvas, shape.fill, area(rings, box), box[:2], clip, shape.opacity)
    if shape.edge_ink is not None and shape.edge_width_px > 0.0:
        edges = [
            Line(ring, shape.edge_width_px, shape.edge_ink, dash=shape.edge_dash, closed=True)
            for ring in rings
        ]
        _paint_lines(canvas, edges, (0.0, 0.0), clip)


def _paint_disc(canvas: Pixels, shape: Disc, offset: Point, clip: PixelBox) -> None:
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
        if not empty(box):
            _lay(canvas, ink, disc(centre, radius, width, box), box[:2], clip, opacity)


def _paint_text(canvas: Pixels, shape: Text, offset: Point, clip: PixelBox) -> None:
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
            at = (_near(x - back + inset) + left, _near(y) + top)
        else:
            mask = np.rot90(mask)
            at = (_near(x) + top, _near(y + back - inset) - left - mask.shape[0])
        _lay(canvas, ink, mask, at, clip, opacity)


def _paint_picture(canvas: Pixels, shape: Picture, offset: Point, clip: PixelBox) -> None:
    height, width = shape.pixels.shape[:2]
    left, top = _near(shape.box_px[0] + offset[0]), _near(shape.box_px[1] + offset[1])
    box = _shared((left, top, left + width, top + height), clip)
    if empty(box):
        return
    if shape.mask is not None:
        _lay(canvas, shape.pixels, shape.mask, (left, top), clip)
        return
    place = canvas[box[1] : box[3], box[0] : box[2]]
    x, y = box[0] - left, box[1] - top
    right, cut_px = left + width, shape.cut_px
    corner = np.array([(right - cut_px, top), (right + 1.0, top), (right + 1.0, top + cut_px + 1.0)])
    cut = around(corner, 0.0, box)
    under = canvas[cut[1] : cut[3], cut[0] : cut[2]].copy()
    place[:] = shape.pixels[y : y + box[3] - box[1], x : x + box[2] - box[0]]
    if cut_px > 0.0 and not empty(cut):
        _lay(canvas, under, area([corner], cut), cut[:2], clip)
