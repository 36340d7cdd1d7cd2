"""Page -> pixels. Decides nothing: every place, size and ink comes with the shapes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import floor
from typing import NamedTuple

import numpy as np
from PIL import Image, ImageDraw

from stationpoint.ink.coverage import PixelBox, area, around, disc, empty, segments, strokes
from stationpoint.ink.shapes import Area, Disc, Group, Halo, Line, Page, Picture, Point, Shape, Text, Weight
from stationpoint.ink.type import extent_px, font
from stationpoint.look import RGB


def paint(page: Page) -> Image.Image:
    """The page as an RGB image of its size."""
    canvas = Image.new("RGB", page.size_px, page.paper)
    _paint_all(canvas, page.shapes, (0.0, 0.0), (0, 0, *page.size_px))
    return canvas


def _paint_all(canvas: Image.Image, shapes: Sequence[Shape], offset: Point, clip: PixelBox) -> None:
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
    return (
        max(clip[0], _near(left + x)),
        max(clip[1], _near(top + y)),
        min(clip[2], _near(right + x)),
        min(clip[3], _near(bottom + y)),
    )


def _near(value: float) -> int:
    """The nearest whole number, halves upwards (Python's own rounding alternates)."""
    return floor(value + 0.5)


def _alike(one: Line, other: Line) -> bool:
    """Whether two lines are of one style, so that they are painted as one stroke."""
    return (one.width_px, one.ink, one.halo, one.opacity) == (
        other.width_px,
        other.ink,
        other.halo,
        other.opacity,
    )


def _paint_lines(canvas: Image.Image, lines: Sequence[Line], offset: Point, clip: PixelBox) -> None:
    if empty(clip):
        return
    first = lines[0]
    parts = segments(lines, offset, clip)
    inks, layers = [first.ink], [(first.width_px, first.opacity)]
    if first.halo is not None:
        inks.insert(0, first.halo.ink)
        wide = first.width_px + 2.0 * first.halo.width_px
        layers.insert(0, (wide, first.halo.opacity * first.opacity))
    if not len(parts):
        return
    box = around(parts[:, :4].reshape(-1, 2), layers[0][0] / 2.0 + 1.0, clip)
    if not empty(box):
        for ink, mask in zip(inks, strokes(parts, layers, box), strict=True):
            canvas.paste(ink, box, Image.fromarray(mask))


def _paint_area(canvas: Image.Image, shape: Area, offset: Point, clip: PixelBox) -> None:
    rings = [ring for ring in shape.rings if len(ring) > 2]
    if not rings or empty(clip):
        return
    box = around(np.vstack([np.asarray(ring) for ring in rings]) + offset, 0.0, clip)
    if shape.fill is not None and not empty(box):
        mask = area(rings, offset, box)  # type: ignore[arg-type]
        if shape.opacity < 1.0:
            mask = _faded(mask, shape.opacity)
        canvas.paste(shape.fill, box, mask)
    if shape.edge_ink is not None and shape.edge_width_px > 0.0:
        edges = [
            Line(ring, shape.edge_width_px, shape.edge_ink, dash=shape.edge_dash, closed=True)
            for ring in rings
        ]
        _paint_lines(canvas, edges, offset, clip)


def _faded(mask: Image.Image, opacity: float) -> Image.Image:
    return mask.point([_near(value * opacity) for value in range(256)])


def _paint_disc(canvas: Image.Image, shape: Disc, offset: Point, clip: PixelBox) -> None:
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
            mask = Image.fromarray(disc(centre, radius, width, box))
            canvas.paste(ink, box, mask if opacity >= 1.0 else _faded(mask, opacity))


class _Glyphs(NamedTuple):
    """A mask of words and where its upper left pixel lies from the baseline's origin."""

    mask: Image.Image
    left: int
    top: int


@lru_cache(maxsize=2048)
def _glyphs(words: str, size_px: float, weight: Weight, stroke_px: int, opacity: float) -> _Glyphs:
    face = font(size_px, weight)
    left, top, right, bottom = face.getbbox(words, anchor="ls", stroke_width=stroke_px)
    x, y = floor(left) - 1, floor(top) - 1
    size = (max(1, floor(right) - x + 2), max(1, floor(bottom) - y + 2))
    mask = Image.new("L", size)
    ImageDraw.Draw(mask).text((-x, -y), words, 255, face, anchor="ls", stroke_width=stroke_px)
    return _Glyphs(mask if opacity >= 1.0 else _faded(mask, opacity), x, y)


def _paint_text(canvas: Image.Image, shape: Text, offset: Point, clip: PixelBox) -> None:
    """Words, snapped to whole pixels: letters stay crisp and their masks can be kept."""
    if not shape.words:
        return
    back = {"left": 0.0, "middle": 0.5, "right": 1.0}[shape.anchor] * shape.width_px
    x, y = shape.baseline_px[0] + offset[0], shape.baseline_px[1] + offset[1]
    origin = (x - back, y) if shape.turn_deg == 0 else (x, y + back)
    inset = -extent_px(shape.words, shape.size_px, shape.weight)[0]
    layers: list[tuple[RGB, int, float]] = [(shape.ink, 0, 1.0)]
    if shape.halo is not None:
        layers.insert(0, (shape.halo.ink, _stroke_px(shape.halo), shape.halo.opacity))
    for ink, stroke_px, opacity in layers:
        glyphs = _glyphs(shape.words, shape.size_px, shape.weight, stroke_px, opacity)
        if shape.turn_deg == 0:
            mask, at = glyphs.mask, (_near(origin[0] + inset) + glyphs.left, _near(origin[1]) + glyphs.top)
        else:
            mask = glyphs.mask.transpose(Image.Transpose.ROTATE_90)
            top = _near(origin[1] - inset) - glyphs.left - mask.height
            at = (_near(origin[0]) + glyphs.top, top)
        _lay(canvas, ink, mask, at, clip)


def _stroke_px(halo: Halo) -> int:
    return max(1, _near(halo.width_px))


def _lay(canvas: Image.Image, ink: RGB, mask: Image.Image, at: tuple[int, int], clip: PixelBox) -> None:
    """Ink through a mask whose upper left pixel lies at `at`, within the clip."""
    box = (
        max(at[0], clip[0]),
        max(at[1], clip[1]),
        min(at[0] + mask.width, clip[2]),
        min(at[1] + mask.height, clip[3]),
    )
    if empty(box):
        return
    if box != (*at, at[0] + mask.width, at[1] + mask.height):
        mask = mask.crop((box[0] - at[0], box[1] - at[1], box[2] - at[0], box[3] - at[1]))
    canvas.paste(ink, box, mask)


def _paint_picture(canvas: Image.Image, shape: Picture, offset: Point, clip: PixelBox) -> None:
    height, width = shape.pixels.shape[:2]
    left, top = _near(shape.box_px[0] + offset[0]), _near(shape.box_px[1] + offset[1])
    box = (
        max(left, clip[0]),
        max(top, clip[1]),
        min(left + width, clip[2]),
        min(top + height, clip[3]),
    )
    if empty(box):
        return
    rows, columns = slice(box[1] - top, box[3] - top), slice(box[0] - left, box[2] - left)
    pixels = Image.fromarray(np.ascontiguousarray(shape.pixels[rows, columns]))
    if shape.mask is None:
        mask = Image.new("L", pixels.size, 255) if shape.cut_px > 0.0 else None
    else:
        mask = Image.fromarray(np.ascontiguousarray(shape.mask[rows, columns]))
    if mask is not None and shape.cut_px > 0.0:
        right = left + width
        corner = ((right - shape.cut_px, top), (right + 1.0, top), (right + 1.0, top + shape.cut_px + 1.0))
        cut = around(np.array(corner), 0.0, box)
        if not empty(cut):
            at = (cut[0] - box[0], cut[1] - box[1])
            mask.paste(0, at, area((corner,), (0.0, 0.0), cut))
    canvas.paste(pixels, box, mask)
