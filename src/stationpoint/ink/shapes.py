"""The shapes that a sheet is made of, decided once and painted by any painter.

Pixels, x right, y down, pixel (0, 0) covers 0..1 on both axes. Floats, never rounded here. Whatever
comes later in a list lies on top. Consecutive lines of one style are one stroke: no halo of theirs
lies on their ink.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from math import isfinite
from operator import attrgetter
from typing import Literal, NamedTuple, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import RGB

Point: TypeAlias = tuple[float, float]
Points: TypeAlias = tuple[Point, ...]
PointsLike: TypeAlias = Sequence[Sequence[float]] | NDArray[np.floating]
Box: TypeAlias = tuple[float, float, float, float]  # left, top, right, bottom
Weight: TypeAlias = Literal["light", "regular", "semibold", "bold"]
Kind = TypeVar("Kind")
Anchor: TypeAlias = Literal["left", "middle", "right"]


class Halo(NamedTuple):
    """What lies under ink so that it is seen on any ground. width_px: on each side of the ink."""

    ink: RGB
    width_px: float
    opacity: float


def points(those: PointsLike) -> Points:
    """`those`, (n, 2) as an array or as pairs, as a tuple of pairs; ValueError unless all are finite."""
    result = tuple((float(x), float(y)) for x, y in those)
    if not all(isfinite(x) and isfinite(y) for x, y in result):
        raise ValueError("a shape has a point that is not finite")
    return result


def handed_fast(kind: type[Kind]) -> type[Kind]:
    """A kind of shape that processes hand to each other in a fifth of the time: the standard library's own
    way looks up the fields for each shape anew."""
    names = [field.name for field in fields(kind)]  # type: ignore[arg-type]
    values, setters = attrgetter(*names), [getattr(kind, name).__set__ for name in names]

    def put(shape: Kind, state: tuple[object, ...]) -> None:
        for setter, value in zip(setters, state, strict=True):
            setter(shape, value)

    kind.__getstate__ = lambda shape: values(shape)  # type: ignore[assignment, method-assign]
    kind.__setstate__ = put  # type: ignore[attr-defined]
    return kind


@handed_fast
@dataclass(frozen=True, slots=True)
class Line:
    """A stroke along points. dash: lengths drawn and left out by turns, in pixels; (0, 4) with round
    ends gives dots. One point with round ends gives a dot."""

    points_px: PointsLike
    width_px: float
    ink: RGB
    halo: Halo | None = None
    dash: tuple[float, ...] = ()
    closed: bool = False
    round_ends: bool = True
    opacity: float = 1.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "points_px", points(self.points_px))


@handed_fast
@dataclass(frozen=True, slots=True)
class Area:
    """A filled region of one or several rings, holes by the even-odd rule. fill None: the edge alone."""

    rings: Sequence[PointsLike]
    fill: RGB | None
    opacity: float = 1.0
    edge_ink: RGB | None = None
    edge_width_px: float = 0.0
    edge_dash: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "rings", tuple(points(ring) for ring in self.rings))


@handed_fast
@dataclass(frozen=True, slots=True)
class Disc:
    """A disc, or a ring where fill is None. The edge is centred on the radius."""

    centre_px: Point
    radius_px: float
    fill: RGB | None
    edge_ink: RGB | None = None
    edge_width_px: float = 0.0
    halo: Halo | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre_px", points([self.centre_px])[0])


@handed_fast
@dataclass(frozen=True, slots=True)
class Text:
    """One line of words; made with `stationpoint.ink.type.text`, which measures width_px.

    baseline_px: where the baseline begins, has its middle or ends, as anchor says. turn_deg: 0, or
    90 for words that run upwards.
    """

    baseline_px: Point
    words: str
    size_px: float
    weight: Weight
    ink: RGB
    width_px: float
    halo: Halo | None = None
    anchor: Anchor = "left"
    turn_deg: Literal[0, 90] = 0

    def __post_init__(self) -> None:
        object.__setattr__(self, "baseline_px", points([self.baseline_px])[0])


@handed_fast
@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """Pixels, laid down one to one, never resampled.

    box_px: left, top, right, bottom; its rounded corner is where the first pixel goes, its size the
    picture's. pixels: (h, w, 3) uint8 sRGB. cut_px: legs of the triangle that is cut off the upper
    right corner. mask: (h, w) uint8, 255 where the pixels are laid down, or None for everywhere.
    """

    box_px: Box
    pixels: NDArray[np.uint8]
    cut_px: float = 0.0
    mask: NDArray[np.uint8] | None = None

    def __post_init__(self) -> None:
        left, top, right, bottom = self.box_px
        height, width = self.pixels.shape[:2]
        if abs(right - left - width) > 0.5 or abs(bottom - top - height) > 0.5:
            raise ValueError(f"a picture of {width} x {height} px in a box of another size")


@handed_fast
@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Shapes that belong together. offset_px moves them; clip_px is in the group's own pixels.

    name: lowercase words, the same for the same kind of thing everywhere on a page.
    """

    name: str
    offset_px: Point
    shapes: tuple[Shape, ...]
    clip_px: Box | None = None


Shape: TypeAlias = Line | Area | Disc | Text | Picture | Group


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """A whole page. size_px: width, height, whole pixels."""

    size_px: tuple[int, int]
    paper: RGB
    shapes: tuple[Shape, ...]
