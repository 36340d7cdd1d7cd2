"""A map of the worst margin over two fields, drawn through matplotlib as a chart is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, PALE, PAPER, SHADE, WHITE
from stationpoint.ink import is_settable
from stationpoint.sheet.chart.frame import field_words
from stationpoint.sheet.chart.own import figure_bytes, hex_of, own_settings
from stationpoint.sheet.chart.plot import DPI, HEIGHT_PX, WIDTH_PX

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FAR = 2.0  # a margin that is out of reach
STEEP = 0.3  # what fails by more is drawn as this: lines between points are straight
HATCHES = ("///", "...", "\\\\\\", "---", "xxx", "|||", "ooo", "+++")
STEPS = 3  # of grey within what holds
STEPS_SAY = ("every must holds, barely", "by more", "by most")
SPOTS_SAY = "a set-up that is proposed"
LEGEND_LETTERS = 30
MOST_LEGEND = 8
MAP_SAYS = "Where every must holds (light), and which one fails by most where one does not (hatched)"
CAUTION = "A map screens set-ups; it does not replace players."


@dataclass(frozen=True, slots=True)
class MarginMap:
    """A map, decided. fields: across, then up. xs, ys: values along them. limits: each must in words, and
    its margin at each point, (ys, xs), nan where it meets nothing. spots: set-ups found, label and place."""

    title: str
    fields: tuple[str, str]
    xs: tuple[float, ...]
    ys: tuple[float, ...]
    limits: tuple[tuple[str, NDArray[np.float64]], ...]
    spots: tuple[tuple[str, float, float], ...]
    foot: str


def draw_margin_map(made: MarginMap, ending: str) -> bytes:
    """The map as PNG or SVG. ending: ".png" or ".svg". Same map, same bytes."""
    with own_settings():
        import matplotlib
        from matplotlib.figure import Figure

        matplotlib.rcParams["hatch.linewidth"] = 0.7
        matplotlib.rcParams["hatch.color"] = hex_of(INK)
        figure = Figure(figsize=(WIDTH_PX / DPI, HEIGHT_PX / DPI), dpi=DPI, facecolor=hex_of(PAPER))
        _fill(figure, made)
        return figure_bytes(figure, ending.lower())


def leading(margins: Sequence[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    """For each limit a field that is above 0 where it is the one that fails by most."""
    worst = np.minimum.reduce(margins)
    others = [
        np.minimum.reduce([m for j, m in enumerate(margins) if j != k] or [np.full_like(worst, FAR)])
        for k in range(len(margins))
    ]
    return [np.minimum(other - own, -worst) for own, other in zip(margins, others, strict=True)]


def _fill(figure: Figure, made: MarginMap) -> None:
    from matplotlib.patheffects import withStroke

    ink = hex_of(INK)
    axes: Axes = figure.add_axes((0.09, 0.15, 0.56, 0.64), facecolor=hex_of(SHADE))
    margins = [np.clip(np.nan_to_num(m, nan=FAR), -FAR, FAR) for _, m in made.limits]
    worst = np.maximum(np.minimum.reduce(margins), -STEEP)
    xs, ys = np.array(made.xs), np.array(made.ys)
    top = float(worst.max())
    if top > 0.0:
        levels = np.linspace(0.0, top, STEPS + 1)
        shades = [_mixed(k / (STEPS - 1)) for k in range(STEPS)]
        axes.contourf(xs, ys, worst, levels=levels, colors=shades, extend="max")
    named: list[tuple[str, str]] = []
    for (words, _), lead in zip(made.limits, leading(margins), strict=True):
        if float(lead.max()) <= 0.0:
            continue
        hatch = HATCHES[len(named) % len(HATCHES)]
        axes.contourf(xs, ys, lead, levels=[0.0, FAR * 3], colors="none", hatches=[hatch])
        named.append((hatch, words))
    if float(worst.min()) < 0.0 < top:
        axes.contour(xs, ys, worst, levels=[0.0], colors=[ink], linewidths=2.2)
    for label, x, y in made.spots:
        axes.plot(
            [x],
            [y],
            marker="o",
            markersize=8,
            markerfacecolor=hex_of(WHITE),
            markeredgecolor=ink,
            markeredgewidth=1.6,
            linestyle="none",
            clip_on=False,
            zorder=5,
        )
        left = x > xs[0] + 0.9 * (xs[-1] - xs[0])
        axes.annotate(
            is_settable(label),
            (x, y),
            xytext=(-8 if left else 8, 6 if y < ys[0] + 0.9 * (ys[-1] - ys[0]) else -14),
            textcoords="offset points",
            ha="right" if left else "left",
            size=11,
            weight="bold",
            color=ink,
            zorder=6,
            path_effects=[withStroke(linewidth=3.0, foreground=hex_of(WHITE), alpha=0.85)],
        )
    axes.set_xlim(xs[0], xs[-1])
    axes.set_ylim(ys[0], ys[-1])
    axes.minorticks_off()
    axes.set_xlabel(field_words(made.fields[0], True), color=ink)
    axes.set_ylabel(field_words(made.fields[1], True), color=ink)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    _legend(figure, named, top > 0.0, bool(made.spots))
    title = is_settable(made.title)
    size = 19 if len(title) <= 66 else 19 * 66 / len(title)
    figure.text(0.03, 0.92, title, size=size, weight="bold", color=ink, va="center")
    figure.text(0.03, 0.85, MAP_SAYS, size=13, weight="semibold", color=ink, va="center")
    figure.text(0.03, 0.04, CAUTION, size=9.5, color=ink)
    figure.text(0.97, 0.04, made.foot, size=9.5, weight="semibold", color=ink, ha="right")


def _legend(figure: Figure, named: Sequence[tuple[str, str]], holds: bool, spots: bool) -> None:
    """What each grey, hatch and circle says, right of the map."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    rows: list[tuple[str, str, str]] = []
    if holds:
        rows = [(_mixed(k / (STEPS - 1)), "", said) for k, said in zip(range(STEPS), STEPS_SAY, strict=True)]
    rows += [(hex_of(SHADE), hatch, f"fails: {words}") for hatch, words in named[:MOST_LEGEND]]
    if len(named) > MOST_LEGEND:
        rows.append((hex_of(SHADE), "", f"and {len(named) - MOST_LEGEND} more musts"))
    y = 0.79
    for shade, hatch, words in rows:
        lines = wrap(is_settable(words), LEGEND_LETTERS)
        height = max(0.05, 0.036 * len(lines))
        swatch = Rectangle(
            (0.68, y - 0.045),
            0.032,
            0.045,
            transform=figure.transFigure,
            facecolor=shade,
            edgecolor=hex_of(INK),
            linewidth=0.8,
            hatch=hatch,
        )
        figure.add_artist(swatch)
        figure.text(0.725, y, "\n".join(lines), size=10.5, color=hex_of(INK), va="top")
        y -= height + 0.025
    if spots:
        ring = Line2D(
            [0.696],
            [y - 0.02],
            transform=figure.transFigure,
            marker="o",
            markersize=8,
            markerfacecolor=hex_of(WHITE),
            markeredgecolor=hex_of(INK),
            markeredgewidth=1.6,
            linestyle="none",
        )
        figure.add_artist(ring)
        figure.text(0.725, y, SPOTS_SAY, size=10.5, color=hex_of(INK), va="top")


def _mixed(share: float) -> str:
    """A grey between the chart's ground and white."""
    mixed = [round(a + share * (b - a)) for a, b in zip(PALE, WHITE, strict=True)]
    return hex_of((mixed[0], mixed[1], mixed[2]))
