"""What every painter does alike: what is clipped to what, which lines are one stroke, where words begin."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import floor

from stationpoint.ink.coverage import PixelBox
from stationpoint.ink.letters import extent_px
from stationpoint.ink.shapes import Disc, Group, Halo, Line, Point, Shape, Text

BACK = {"left": 0.0, "middle": 0.5, "right": 1.0}


def nearest_px(value: float) -> int:
    """The nearest whole number, halves upwards (Python's own rounding alternates)."""
    return floor(value + 0.5)


def shared_box(one: PixelBox, other: PixelBox) -> PixelBox:
    """What two boxes have in common; its right lies left of its left, or so, where that is nothing."""
    return (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )


def moved(offset: Point, group: Group) -> Point:
    """The offset within a group."""
    return (offset[0] + group.offset_px[0], offset[1] + group.offset_px[1])


def clip_within(clip: PixelBox, group: Group, offset: Point) -> PixelBox:
    """The clip within a group: whole pixels, so that a picture's own edge is kept sharp."""
    if group.clip_px is None:
        return clip
    left, top, right, bottom = group.clip_px
    x, y = offset
    inner = (nearest_px(left + x), nearest_px(top + y), nearest_px(right + x), nearest_px(bottom + y))
    return shared_box(clip, inner)


def joined_lines(shapes: Iterable[Shape]) -> Iterator[Shape | list[Line]]:
    """Shapes in order, consecutive lines of one style as one list: they are one stroke."""
    run: list[Line] = []
    for shape in shapes:
        if run and not (isinstance(shape, Line) and _alike(shape, run[0])):
            yield run
            run = []
        if isinstance(shape, Line):
            run.append(shape)
        else:
            yield shape
    if run:
        yield run


def ungrouped(shapes: Sequence[Shape]) -> Iterator[Shape]:
    """Shapes with those of groups that only name what is in them: to pixels such a group is none."""
    for shape in shapes:
        if isinstance(shape, Group) and shape.clip_px is None and shape.offset_px == (0.0, 0.0):
            yield from ungrouped(shape.shapes)
        else:
            yield shape


def _alike(one: Line, other: Line) -> bool:
    return (one.width_px, one.ink, one.halo, one.opacity) == (
        other.width_px,
        other.ink,
        other.halo,
        other.opacity,
    )


def disc_layers(shape: Disc) -> list[tuple[tuple[int, int, int], float, float | None, float]]:
    """A disc's layers, lowest first: ink, radius, width of the ring (None for all within), opacity."""
    edge = shape.edge_width_px if shape.edge_ink is not None else 0.0
    outer = shape.radius_px + edge / 2.0
    layers: list[tuple[tuple[int, int, int], float, float | None, float]] = []
    if shape.halo is not None and shape.fill is not None:
        layers.append((shape.halo.ink, outer + shape.halo.width_px, None, shape.halo.opacity))
    elif shape.halo is not None:
        layers.append((shape.halo.ink, shape.radius_px, edge + 2 * shape.halo.width_px, shape.halo.opacity))
    if shape.fill is not None:
        layers.append((shape.fill, shape.radius_px, None, 1.0))
    if shape.edge_ink is not None and edge > 0.0:
        layers.append((shape.edge_ink, shape.radius_px, edge, 1.0))
    return layers


def words_origin(shape: Text, offset: Point) -> tuple[int, int]:
    """Where words begin: snapped to whole pixels, so that their letters stay crisp and alike."""
    x, y = shape.baseline_px[0] + offset[0], shape.baseline_px[1] + offset[1]
    inset = -extent_px(shape.words, shape.size_px, shape.weight)[0]
    back = BACK[shape.anchor] * shape.width_px
    if shape.turn_deg == 0:
        return nearest_px(x - back + inset), nearest_px(y)
    return nearest_px(x), nearest_px(y + back - inset)


def halo_px(halo: Halo) -> int:
    """How far a halo reaches round words: whole pixels, one at least."""
    return max(1, nearest_px(halo.width_px))
