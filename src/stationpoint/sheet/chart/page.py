"""A page of a chart: lines, areas, markers and words put on matplotlib's figure, in pixels, y down."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from stationpoint.base.look import INK
from stationpoint.ink import Weight, text_width
from stationpoint.sheet.chart.names import Box, Point

WEIGHTS: dict[Weight, int] = {"light": 300, "regular": 400, "semibold": 600, "bold": 700}
POINTS = 72.0  # an inch
INK_HEX = "#{:02x}{:02x}{:02x}".format(*INK)


class Page:
    """A figure of width x height px; matplotlib must be set up (`own_settings`)."""

    def __init__(self, width: float, height: float, dpi: int, paper: str) -> None:
        from matplotlib.figure import Figure

        self.width, self.height, self._dpi = width, height, dpi
        self.figure = Figure(figsize=(width / dpi, height / dpi), dpi=dpi, facecolor=paper)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size_px: float,
        weight: Weight = "regular",
        at: Literal["left", "center", "right"] = "left",
        halo: str = "",
    ) -> None:
        """Words on one line, their baseline at y. halo: a ground under words at the left, over
        thin lines and under all others."""
        if halo:
            wide = text_width(words, size_px, weight)
            self.area((x - 3, y - 0.86 * size_px, x + wide + 3, y + 0.26 * size_px), halo, 2.8, 0.85)
        how: dict[str, Any] = {"ha": at, "va": "baseline", "zorder": 6, "color": INK_HEX}
        size = self._points(size_px)
        self.figure.text(*self._at(x, y), words, size=size, weight=WEIGHTS[weight], **how)

    def turned(self, x: float, y: float, words: str, size_px: float) -> None:
        """Words that read upwards, their middle at x, y."""
        how: dict[str, Any] = {"ha": "center", "va": "center", "rotation": 90, "rotation_mode": "anchor"}
        self.figure.text(*self._at(x, y), words, size=self._points(size_px), color=INK_HEX, **how)

    def line(
        self, points: Sequence[Point], color: str, width_pt: float, dashes: Any = "-", zorder: float = 2.0
    ) -> None:
        """A line through points."""
        self._line(points, color=color, linewidth=width_pt, linestyle=dashes, zorder=zorder)

    def marker(self, point: Point, **how: Any) -> None:
        """A marker over lines."""
        self._line([point], linestyle="none", zorder=4, **how)

    def area(self, box: Box, color: str, zorder: float, alpha: float = 1.0, hatch: str = "") -> None:
        """A filled box; hatch: matplotlib's pattern, in ink, on no ground."""
        from matplotlib.patches import Rectangle

        (left, bottom), (right, top) = self._at(box[0], box[3]), self._at(box[2], box[1])
        ground = "none" if hatch else color
        rectangle = Rectangle((left, bottom), right - left, top - bottom, transform=self.figure.transFigure)
        rectangle.set(facecolor=ground, edgecolor=color, linewidth=0, alpha=alpha, zorder=zorder)
        if hatch:
            rectangle.set_hatch(hatch)
        self.figure.add_artist(rectangle)

    def _line(self, points: Sequence[Point], **how: Any) -> None:
        from matplotlib.lines import Line2D

        xs, ys = zip(*(self._at(x, y) for x, y in points), strict=True)
        self.figure.add_artist(Line2D(xs, ys, transform=self.figure.transFigure, **how))

    def _at(self, x: float, y: float) -> Point:
        return x / self.width, 1.0 - y / self.height

    def _points(self, size_px: float) -> float:
        return size_px * POINTS / self._dpi
